"""Slices that carry their own load: the vertical force follows from slice to slice, no stress in the wedge is prescribed.

On a slice of height dz at height z above the toe, with the vertical force V, a plan length z / tan(theta) and the support s on its front,
equilibrium along and across the slip plane gives

(dV/dz + gamma' B z / tan(theta)) (sin(theta) - cos(theta) tan(phi))
    = s B (cos(theta) + sin(theta) tan(phi)) + c B / sin(theta) + 2 c z / tan(theta) + 2 lambda tan(phi) V / B

a linear equation for V, solved exactly in each layer from the toe (V = 0) to the crown, where V is the load of the silo. V is linear in s,
so s follows at once.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from tunnelwright.engineering.face.angle import ABOVE_FRICTION_RAD, STEEPEST_ANGLE_RAD, angle_of_greatest
from tunnelwright.engineering.face.declared import POSSIBLE, SYMBOLS, angle_in_radians, column, high_cohesion, silo_remarks, sums_to_diameter, thickness_given
from tunnelwright.engineering.face.mechanism import FaceColumns
from tunnelwright.engineering.face.silo import Silo, SiloLayers, silo_of
from tunnelwright.engineering.face.sources import ANAGNOSTOU_2012
from tunnelwright.engineering.face.wedge import DERIVED_WIDTH, PLACES_AT_ONCE, FaceLayers, LocalWedges, face_columns, heights_grow, inner_rows, is_inner
from tunnelwright.vocabulary.method import Algorithm, method
from tunnelwright.vocabulary.types import DERIVED, FloatArray, Number, Record

_SMALL_EXPONENT: Final = 1e-3


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SelfConsistentSupport(Record):
    """Effective support of slices in equilibrium."""

    effective_support_pressure_kpa: FloatArray
    slip_angle_rad: FloatArray
    local_wedges: LocalWedges


@dataclass(frozen=True, slots=True, eq=False)
class _Slices:
    """Wedge of many places whose vertical force is followed from the toe; ``lateral`` is lambda, shape (places, 1)."""

    silo: Silo
    face: FaceColumns
    lateral: FloatArray

    def support_kpa(self, angle_rad: FloatArray) -> FloatArray:
        """Return the support pressure for angles of shape (places, angles)."""
        slope, sine, cosine = np.tan(angle_rad), np.sin(angle_rad), np.cos(angle_rad)
        width, height = self.face.width_m, self.face.height_m
        load = self.silo.stress(2 * slope / height + 2 / width) * width * height / slope
        own, per_support = np.zeros_like(load), np.zeros_like(load)
        for layer in reversed(range(self.face.top_m.shape[1])):
            at = slice(layer, layer + 1)
            friction, cohesion = np.tan(self.face.friction_rad[:, at]), self.face.cohesion_kpa[:, at]
            thickness, above_toe = self.face.base_m[:, at] - self.face.top_m[:, at], height - self.face.base_m[:, at]
            sliding = sine - friction * cosine
            growth = 2 * self.lateral * friction / (width * sliding)
            by_height = 2 * cohesion / (slope * sliding) - self.face.weight_kn_m3[:, at] * width / slope
            at_base = cohesion * width / (sine * sliding) + by_height * above_toe
            factor, first, second = _exponential_parts(growth * thickness)
            own = own * factor + at_base * thickness * first + by_height * np.square(thickness) * second
            per_support = per_support * factor + width * (cosine + friction * sine) / sliding * thickness * first
        return (load - own) / per_support


def _exponential_parts(exponent: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return exp(x), (exp(x) - 1) / x and (exp(x) - 1 - x) / x^2, the last two by their series near 0."""
    small = np.abs(exponent) < _SMALL_EXPONENT
    safe = np.where(small, 1.0, exponent)
    grown = np.expm1(exponent)
    first = np.where(small, 1 + exponent / 2 + exponent**2 / 6, grown / safe)
    second = np.where(small, 0.5 + exponent / 6 + exponent**2 / 24, (grown - exponent) / safe**2)
    return 1 + grown, first, second


@method(
    "face.effective_support.slices_selfconsistent",
    found_by={
        "effective_support_pressure_kpa": Algorithm(
            "support at which the vertical force that grows slice by slice from the toe meets the load of the silo; each layer solved exactly",
            "e",
            {"the support is a finite number": lambda values: ~np.isinf(values["effective_support_pressure_kpa"])},
        ),
        "slip_angle_rad": Algorithm(
            "least favourable angle from one degree above the greatest friction angle to 89 degrees",
            "theta",
            {"steeper than the ground would stand": lambda values: ~(values["slip_angle_rad"] < values["face_layers"].friction_angle_rad.max(axis=-1))},
        ),
        "local_wedges": Algorithm(
            "the same from the crown down to each inner boundary of the face",
            "",
            {"heights grow and stay inside the face": lambda values: heights_grow(values)},
        ),
    },
    derived={"wedge_width_m": DERIVED_WIDTH},
    symbols=SYMBOLS | {"lateral_coefficient_wedge": "lambda"},
    possible=POSSIBLE | {"lateral_coefficient_wedge": (0.0, 3.0)},
    requires=(
        thickness_given("layers"),
        sums_to_diameter("face_layers"),
        angle_in_radians("layers.friction_angle_rad"),
        angle_in_radians("face_layers.friction_angle_rad"),
    ),
    remarks=(*silo_remarks(), high_cohesion(column("face_layers", "cohesion_kpa"), column("face_layers", "friction_angle_rad"))),
    kind="mean",
    source=ANAGNOSTOU_2012,
)
def slices_selfconsistent(
    excavation_diameter_m: Number,
    layers: SiloLayers,
    face_layers: FaceLayers,
    surcharge_kpa: Number = 0.0,
    lateral_coefficient_wedge: Number = 1.0,
    wedge_width_m: Number = DERIVED,
) -> SelfConsistentSupport:
    """Return the mean effective support pressure of a layered face from slices that carry their own load.

    Parameters
    ----------
    excavation_diameter_m : over the cutters; height of the wedge.
    layers : ground above the crown, top down.
    face_layers : ground of the face, from the crown down, as thick together as the diameter.
    surcharge_kpa : effective, on the ground surface.
    lateral_coefficient_wedge : horizontal over vertical stress on the sides of the wedge.
    wedge_width_m : left out, the diameter.
    """
    diameter, width, lateral = (np.asarray(value, dtype=np.float64) for value in (excavation_diameter_m, wedge_width_m, lateral_coefficient_wedge))
    places = np.broadcast_shapes(
        layers.thickness_m.shape[:-1], face_layers.thickness_m.shape[:-1], diameter.shape, width.shape, lateral.shape, np.shape(surcharge_kpa)
    )
    slices = _Slices(
        silo_of(layers, surcharge_kpa, places), face_columns(face_layers, diameter, width, 0.0, places), np.broadcast_to(lateral, places).reshape(-1, 1)
    )
    count = len(slices.lateral)
    starts = range(0, count, PLACES_AT_ONCE) or range(1)
    parts = [_block(slices, slice(start, start + PLACES_AT_ONCE)) for start in starts]
    support, angle, *local = (np.concatenate(values) for values in zip(*parts, strict=True))
    kept = inner_rows(face_layers)
    height, local_support, local_angle = (values.reshape(*places, values.shape[1])[..., kept] for values in local)
    return SelfConsistentSupport(
        effective_support_pressure_kpa=support.reshape(places),
        slip_angle_rad=angle.reshape(places),
        local_wedges=LocalWedges(height_m=height, effective_support_pressure_kpa=local_support, slip_angle_rad=local_angle),
    )


def _block(slices: _Slices, block: slice) -> tuple[FloatArray, ...]:
    part = _Slices(slices.silo.rows(block), slices.face.rows(block), slices.lateral[block])
    support, angle = _solved(part)
    local = np.full((3, len(support), part.face.base_m.shape[1] - 1), np.nan)
    for boundary in range(1, part.face.base_m.shape[1]):
        inner = is_inner(part.face, boundary)
        if inner.any():
            upper = _Slices(part.silo.rows(inner), part.face.rows(inner).upper(boundary), part.lateral[inner])
            local[:, inner, boundary - 1] = part.face.base_m[inner, boundary - 1], *_solved(upper)
    return support, angle, local[0], local[1], local[2]


def _solved(slices: _Slices) -> tuple[FloatArray, FloatArray]:
    there = ~(slices.face.base_m <= slices.face.top_m)
    low = np.max(np.where(there, slices.face.friction_rad, 0.0), axis=1, initial=0.0) + ABOVE_FRICTION_RAD
    angle = angle_of_greatest(slices.support_kpa, low, np.full_like(low, STEEPEST_ANGLE_RAD))
    return slices.support_kpa(angle[:, None])[:, 0], angle
