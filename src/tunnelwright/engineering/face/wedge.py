"""Effective support pressure of a wedge below a silo: uniform face, and layered face with partial wedges."""

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from tunnelwright.engineering.face.angle import ABOVE_FRICTION_RAD, FULL_SEARCH, STEEPEST_ANGLE_RAD, AngleSearch
from tunnelwright.engineering.face.declared import (
    LOW_COVER_ARCHING,
    POSSIBLE,
    SYMBOLS,
    angle_in_radians,
    column,
    high_cohesion,
    silo_remarks,
    sums_to_diameter,
    thickness_given,
)
from tunnelwright.engineering.face.mechanism import FaceColumns, LayeredWedge, SideStress, least_slice_normal_kn, worst_angle
from tunnelwright.engineering.face.silo import Arching, Silo, SiloLayers, silo_of, silo_rows
from tunnelwright.engineering.face.sources import HORN_1961
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Remark, Require, Search, method
from tunnelwright.vocabulary.types import DERIVED, Count, FloatArray, Number, Record, Table, Values

# Places worked on at once: temporaries of one search stay in the processor's cache.
PLACES_AT_ONCE: Final = 400
_NEIGHBOUR_RAD: Final = math.radians(2.0)
_R_OF_WEDGE: Final = "B * D / (2 * (B * tan(theta) + D))"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FaceLayers(Table):
    """Ground of the face, from the crown down to the invert."""

    thickness_m: FloatArray
    effective_unit_weight_kn_m3: FloatArray
    cohesion_kpa: FloatArray
    friction_angle_rad: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LocalWedges(Table):
    """Partial wedges from the crown down to a boundary between two layers; NaN in a row that is no inner boundary of its place."""

    height_m: FloatArray
    effective_support_pressure_kpa: FloatArray
    slip_angle_rad: FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class WedgeOfPlaces:
    """What a search gives, each with the shape of the places."""

    effective_support_pressure_kpa: FloatArray
    slip_angle_rad: FloatArray
    silo_stress_kpa: FloatArray
    slice_normal_min_kn: FloatArray
    local_height_m: FloatArray
    local_support_kpa: FloatArray
    local_angle_rad: FloatArray


def default_side_coefficient(friction_angle_rad: FloatArray) -> FloatArray:
    """Return the mean of the coefficients at rest and active."""
    return 0.5 * (1 - np.sin(friction_angle_rad) + np.square(np.tan(np.pi / 4 - friction_angle_rad / 2)))


def search_slip_angle(
    layers: SiloLayers,
    face_layers: FaceLayers,
    excavation_diameter_m: Number,
    *,
    surcharge_kpa: Number = 0.0,
    side_coefficient: Number | None = None,
    wedge_width_m: Number | None = None,
    side_stress: SideStress = "tapering",
    arching: Arching = "on",
    slip_angle_rad: Number | None = None,
    slice_count: int = 0,
    local: bool = True,
    search: AngleSearch = FULL_SEARCH,
) -> WedgeOfPlaces:
    """Return support, angle and silo stress of all places; the work horse behind the two methods, for rings and for samples.

    Parameters
    ----------
    layers, face_layers, excavation_diameter_m, surcharge_kpa, side_coefficient, wedge_width_m, side_stress, arching, slip_angle_rad : as ``wedge_slices``.
    slice_count : slices per layer for the least normal force; 0 leaves it out.
    local : whether partial wedges are searched as well.
    search : how finely the angle is searched.

    Notes
    -----
    Leading axes (samples, rings) broadcast. Work goes in blocks of some hundred places, so memory beyond the results stays small.
    """
    diameter_m = np.asarray(excavation_diameter_m, dtype=np.float64)
    width_m = diameter_m if wedge_width_m is None else np.asarray(wedge_width_m, dtype=np.float64)
    optional = [np.shape(one) for one in (surcharge_kpa, side_coefficient, slip_angle_rad) if one is not None]
    places = np.broadcast_shapes(layers.thickness_m.shape[:-1], face_layers.thickness_m.shape[:-1], diameter_m.shape, width_m.shape, *optional)
    silo = silo_of(layers, surcharge_kpa, places, arching)
    face = face_columns(face_layers, diameter_m, width_m, side_coefficient, places)
    given_rad = None if slip_angle_rad is None else np.broadcast_to(np.asarray(slip_angle_rad, dtype=np.float64), places).reshape(-1)
    count = len(face.top_m)
    blocks = [slice(start, start + PLACES_AT_ONCE) for start in range(0, count, PLACES_AT_ONCE)] or [slice(0, 0)]
    parts = [_block(silo, face, side_stress, given_rad, slice_count, local, search, block) for block in blocks]
    joined = [np.concatenate(values) for values in zip(*parts, strict=True)]
    return WedgeOfPlaces(*(values.reshape(places) for values in joined[:4]), *(values.reshape(*places, values.shape[1]) for values in joined[4:]))


def face_columns(layers: FaceLayers, diameter_m: FloatArray, width_m: FloatArray, side_coefficient: Number | None, places: tuple[int, ...]) -> FaceColumns:
    """Return the face of each place in one row; thicknesses are stretched to the diameter, from which they differ by centimetres at most."""

    def flat(values: FloatArray) -> FloatArray:
        return np.broadcast_to(values, (*places, layers.row_count)).reshape(-1, layers.row_count)

    base_m = flat(np.cumsum(layers.thickness_m, axis=-1) * (diameter_m[..., None] / np.sum(layers.thickness_m, axis=-1, keepdims=True)))
    there = layers.thickness_m != 0
    friction_rad = flat(np.where(there, layers.friction_angle_rad, 0.0))
    side = default_side_coefficient(friction_rad) if side_coefficient is None else flat(np.asarray(side_coefficient, dtype=np.float64)[..., None])
    return FaceColumns(
        top_m=np.concatenate([np.zeros((len(base_m), 1)), base_m[:, :-1]], axis=1),
        base_m=base_m,
        weight_kn_m3=flat(np.where(there, layers.effective_unit_weight_kn_m3, 0.0)),
        cohesion_kpa=flat(np.where(there, layers.cohesion_kpa, 0.0)),
        friction_rad=friction_rad,
        side_coefficient=side,
        width_m=np.broadcast_to(width_m, places).reshape(-1, 1),
    )


def _block(
    silo: Silo, face: FaceColumns, side_stress: SideStress, given_rad: FloatArray | None, slice_count: int, local: bool, search: AngleSearch, block: slice
) -> tuple[FloatArray, ...]:
    """Return the seven arrays of ``WedgeOfPlaces`` for a block of places."""
    silo, face = silo.rows(block), face.rows(block)
    given_rad = None if given_rad is None else given_rad[block]
    support, angle, stress = _solved(silo, face, side_stress, given_rad, search)
    normal = least_slice_normal_kn(face, stress, angle, slice_count, side_stress) if slice_count else np.full_like(support, np.nan)
    partial = np.full((3, len(support), face.base_m.shape[1] - 1), np.nan)
    for boundary in range(1, face.base_m.shape[1] if local else 0):
        inner = is_inner(face, boundary)
        if inner.any():
            height_m = face.base_m[inner, boundary - 1]
            found = _solved(silo.rows(inner), face.rows(inner).upper(boundary), side_stress, None if given_rad is None else given_rad[inner], search)
            partial[:, inner, boundary - 1] = height_m, found[0], found[1]
    return support, angle, stress, normal, partial[0], partial[1], partial[2]


def is_inner(face: FaceColumns, boundary: int) -> NDArray[np.bool_]:
    """Return where the base of a layer that is really there lies above the invert; rows of no thickness make no boundary."""
    base_m, top_m = face.base_m[:, boundary - 1], face.top_m[:, boundary - 1]
    least_m = 1e-9 * face.height_m[:, 0]
    return np.asarray((base_m - top_m > least_m) & (face.height_m[:, 0] - base_m > least_m))


def _solved(
    silo: Silo, face: FaceColumns, side_stress: SideStress, given_rad: FloatArray | None, search: AngleSearch
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return support, slip angle and silo stress of one wedge of each place."""
    wedge = LayeredWedge.of(silo, face, side_stress)
    angle = worst_angle(wedge, face.least_friction_rad, search) if given_rad is None else given_rad
    support = wedge.support_kpa(angle[:, None])[:, 0]
    return support, angle, wedge.silo_stress_kpa(angle[:, None])[:, 0]


_EDGE: Final = Remark(
    lambda values: (values["slip_angle_rad"] >= STEEPEST_ANGLE_RAD - 1e-6) | (values["slip_angle_rad"] <= _least_friction(values) + ABOVE_FRICTION_RAD + 1e-6),
    "slip angle on the edge of the range searched: the mechanism does not fit this ground, or the ground stands unsupported",
)


def _least_friction(values: Values) -> FloatArray:
    face = values.get("face_layers")
    return np.asarray(values["friction_angle_rad"] if face is None else face.friction_angle_rad.min(axis=-1), dtype=np.float64)


_SUPPORT_FORMULA: Final = (
    "((gamma' * D / 2 + sigma_silo) / tan(theta) * (sin(theta) - cos(theta) * tan(phi))"
    ' - 2 / B * (K_2 * tan(phi) * ((1/3 if side_stress == "tapering" else 1/2) * sigma_silo * D + gamma\' * D^2 / 6) + c * D / 2) / tan(theta)'
    " - c / sin(theta)) / (sin(theta) * tan(phi) + cos(theta))"
)
DERIVED_SIDE: Final = Formula("K_2", "(1 - sin(phi) + tan(pi/4 - phi/2)^2) / 2")
DERIVED_WIDTH: Final = Formula("B", "D")
_SEARCH: Final = Search("slip_angle_rad", "effective_support_pressure_kpa", "max", _NEIGHBOUR_RAD)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WedgeSupport(Record):
    """Effective support that a uniform face needs."""

    effective_support_pressure_kpa: FloatArray
    slip_angle_rad: FloatArray
    silo_stress_kpa: FloatArray


@method(
    "face.effective_support.wedge_silo",
    formulas={"effective_support_pressure_kpa": Formula("e", _SUPPORT_FORMULA)},
    found_by={"slip_angle_rad": _SEARCH, "silo_stress_kpa": silo_rows(_R_OF_WEDGE)},
    derived={"side_coefficient": DERIVED_SIDE, "wedge_width_m": DERIVED_WIDTH},
    symbols=SYMBOLS,
    possible=POSSIBLE,
    requires=(thickness_given("layers"), angle_in_radians("layers.friction_angle_rad"), angle_in_radians("friction_angle_rad")),
    remarks=(*silo_remarks(), high_cohesion(lambda values: values["cohesion_kpa"], lambda values: values["friction_angle_rad"]), LOW_COVER_ARCHING, _EDGE),
    kind="mean",
    source=HORN_1961,
)
def wedge_silo(
    excavation_diameter_m: Number,
    layers: SiloLayers,
    effective_unit_weight_kn_m3: Number,
    cohesion_kpa: Number,
    friction_angle_rad: Number,
    surcharge_kpa: Number = 0.0,
    side_coefficient: Number = DERIVED,
    wedge_width_m: Number = DERIVED,
    side_stress: SideStress = "tapering",
    arching: Arching = "on",
    slip_angle_rad: Number | None = None,
) -> WedgeSupport:
    """Return the mean effective support pressure that holds a wedge of uniform ground below a silo.

    Parameters
    ----------
    excavation_diameter_m : over the cutters; height of the wedge.
    layers : ground above the crown, top down.
    effective_unit_weight_kn_m3, cohesion_kpa, friction_angle_rad : of the ground in the face.
    surcharge_kpa : effective, on the ground surface.
    side_coefficient : of earth pressure on the sides of the wedge; left out, the mean of at rest and active.
    wedge_width_m : left out, the diameter: a square face, on the safe side.
    side_stress : tapering lets the silo stress fall to nothing at the toe; full keeps it over the whole height, which asks for less.
    arching : off brings the whole weight of the cover down.
    slip_angle_rad : from the horizontal; left out, the least favourable one is searched.

    Notes
    -----
    A negative pressure means that the ground stands by itself; it is kept as it is.
    """
    face = FaceLayers(
        thickness_m=np.asarray(excavation_diameter_m, dtype=np.float64)[..., None],
        effective_unit_weight_kn_m3=np.asarray(effective_unit_weight_kn_m3)[..., None],
        cohesion_kpa=np.asarray(cohesion_kpa)[..., None],
        friction_angle_rad=np.asarray(friction_angle_rad)[..., None],
    )
    found = search_slip_angle(
        layers,
        face,
        excavation_diameter_m,
        surcharge_kpa=surcharge_kpa,
        side_coefficient=side_coefficient,
        wedge_width_m=wedge_width_m,
        side_stress=side_stress,
        arching=arching,
        slip_angle_rad=slip_angle_rad,
        local=False,
    )
    return WedgeSupport(
        effective_support_pressure_kpa=found.effective_support_pressure_kpa, slip_angle_rad=found.slip_angle_rad, silo_stress_kpa=found.silo_stress_kpa
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SlicedSupport(Record):
    """Effective support that a layered face needs, as a whole and from the crown down to each boundary."""

    effective_support_pressure_kpa: FloatArray
    slip_angle_rad: FloatArray
    silo_stress_kpa: FloatArray
    slice_normal_min_kn: FloatArray
    local_wedges: LocalWedges


@method(
    "face.effective_support.wedge_slices",
    found_by={
        "effective_support_pressure_kpa": Algorithm(
            "horizontal forces of the slices, each in equilibrium along and across the slip plane, summed exactly per layer, over the area of the face",
            "e",
            {"silo stress is not negative and the support is finite": lambda values: _is_possible(values)},
        ),
        "slip_angle_rad": _SEARCH,
        "silo_stress_kpa": silo_rows(_R_OF_WEDGE),
        "slice_normal_min_kn": Algorithm("least force across the slip plane over slices of equal thickness, as many per layer as asked for", "N_min"),
        "local_wedges": Algorithm(
            "the same wedge from the crown down to each inner boundary of the face, each with its own least favourable angle",
            "",
            {"heights grow and stay inside the face": lambda values: heights_grow(values)},
        ),
    },
    derived={"wedge_width_m": DERIVED_WIDTH},
    symbols=SYMBOLS,
    possible=POSSIBLE,
    requires=(
        thickness_given("layers"),
        sums_to_diameter("face_layers"),
        angle_in_radians("layers.friction_angle_rad"),
        angle_in_radians("face_layers.friction_angle_rad"),
        Require("slice_count", lambda values: values["slice_count"] >= 20, "must be 20 or more", "fewer slices hide tension on the slip plane"),
    ),
    remarks=(
        *silo_remarks(),
        high_cohesion(column("face_layers", "cohesion_kpa"), column("face_layers", "friction_angle_rad")),
        LOW_COVER_ARCHING,
        _EDGE,
        Remark(lambda values: values["slice_normal_min_kn"] < 0, "tension on the slip plane below a slice: the mechanism opens there, the value is doubtful"),
        Remark(
            lambda values: values["local_wedges"].effective_support_pressure_kpa > values["effective_support_pressure_kpa"][..., None],
            "a partial wedge above a boundary needs more pressure than the whole face: test it at its own level",
        ),
    ),
    kind="mean",
    source=HORN_1961,
)
def wedge_slices(
    excavation_diameter_m: Number,
    layers: SiloLayers,
    face_layers: FaceLayers,
    surcharge_kpa: Number = 0.0,
    side_coefficient: Number | None = None,
    wedge_width_m: Number = DERIVED,
    side_stress: SideStress = "tapering",
    arching: Arching = "on",
    slip_angle_rad: Number | None = None,
    slice_count: Count = 20,
) -> SlicedSupport:
    """Return the mean effective support pressure that holds a wedge through layered ground, and that of each partial wedge.

    Parameters
    ----------
    excavation_diameter_m : over the cutters; height of the wedge.
    layers : ground above the crown, top down.
    face_layers : ground of the face, from the crown down, as thick together as the diameter.
    surcharge_kpa : effective, on the ground surface.
    side_coefficient : of earth pressure on the sides; left out, the mean of at rest and active of each layer.
    wedge_width_m : left out, the diameter.
    side_stress : tapering lets the silo stress fall to nothing at the toe, full keeps it.
    arching : off brings the whole weight of the cover down.
    slip_angle_rad : from the horizontal; given, nothing is searched, for partial wedges neither.
    slice_count : per layer, for the least normal force only: the support is integrated exactly.
    """
    found = search_slip_angle(
        layers,
        face_layers,
        excavation_diameter_m,
        surcharge_kpa=surcharge_kpa,
        side_coefficient=side_coefficient,
        wedge_width_m=wedge_width_m,
        side_stress=side_stress,
        arching=arching,
        slip_angle_rad=slip_angle_rad,
        slice_count=max(1, slice_count),
    )
    return SlicedSupport(
        effective_support_pressure_kpa=found.effective_support_pressure_kpa,
        slip_angle_rad=found.slip_angle_rad,
        silo_stress_kpa=found.silo_stress_kpa,
        slice_normal_min_kn=found.slice_normal_min_kn,
        local_wedges=local_table(face_layers, found),
    )


def inner_rows(face_layers: FaceLayers) -> NDArray[np.bool_]:
    """Return which boundaries below a layer lie inside the face at one place at least, the invert left out."""
    thickness_m = face_layers.thickness_m
    total_m = np.sum(thickness_m, axis=-1, keepdims=True)
    below_m = total_m - np.cumsum(thickness_m, axis=-1)
    inner = (thickness_m > 1e-9 * total_m) & (below_m > 1e-9 * total_m)
    return np.asarray(np.any(inner.reshape(-1, inner.shape[-1]), axis=0)[:-1])


def local_table(face_layers: FaceLayers, found: WedgeOfPlaces) -> LocalWedges:
    """Return the partial wedges without the boundaries that no place has."""
    kept = inner_rows(face_layers)
    return LocalWedges(
        height_m=found.local_height_m[..., kept],
        effective_support_pressure_kpa=found.local_support_kpa[..., kept],
        slip_angle_rad=found.local_angle_rad[..., kept],
    )


def _is_possible(values: Values) -> bool:
    """Return whether silo stress and support are numbers that a wedge can have; the extreme itself is checked by the search."""
    return bool(np.all(~(values["silo_stress_kpa"] < 0)) and np.all(~np.isinf(values["effective_support_pressure_kpa"])))


def heights_grow(values: Values) -> bool:
    """Return whether the heights of partial wedges are in order and less than the diameter."""
    height_m = values["local_wedges"].height_m
    growing = np.diff(height_m, axis=-1)
    return bool(np.all(growing[~np.isnan(growing)] > 0) and np.all(np.isnan(height_m) | (height_m < values["excavation_diameter_m"][..., None])))
