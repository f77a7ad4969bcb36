"""The whole chain for one straight facade at the surface: field of the drives, cuts, beam, category; one stage, all stages, and the loss it bears."""

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray
from scipy import special

from tunnelwright.engineering.assets.beam import ISOTROPIC_WALL, MASONRY_POISSON, beam_coefficients, total_strains
from tunnelwright.engineering.assets.categories import SERIOUS, STRAIN_IS_A_RANKING, category_of
from tunnelwright.engineering.assets.field import Facade, LineMovement, StraightDrives, line_movement
from tunnelwright.engineering.assets.sources import FACADE
from tunnelwright.engineering.assets.zones import Zones, cut_lines
from tunnelwright.engineering.movement.depth import HorizontalFocus
from tunnelwright.engineering.places import each_place
from tunnelwright.vocabulary.method import Algorithm, Remark, Require, method
from tunnelwright.vocabulary.types import Count, FloatArray, Number, Record, TextArray, Values

# Curvature below this share of the greatest is rounding, and cuts nothing.
_FLAT_SHARE: Final = 1e-12
# The face sweeps from so many widths before the first end to so many behind the last, in steps of a share of the width.
_SWEEP_WIDTHS: Final = 4.0
_SWEEP_STEP: Final = 0.05
_REFINED: Final = 40
_BLOCK: Final = 400_000


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WallModel:
    """What a facade is as a beam, and how its line is cut."""

    height_m: float
    limiting_settlement_m: float
    young_shear_ratio: float
    poisson_ratio: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Governing:
    """Worst zone of each line; strain 0 and no zone where nothing moves enough."""

    tensile_strain: FloatArray
    zone_at: NDArray[np.int64]
    is_bending: NDArray[np.bool_]
    zones: Zones


def governing_strain(facade: Facade, movement: LineMovement, wall: WallModel) -> Governing:
    """Return the greatest tensile strain of each line over its zones.

    Parameters
    ----------
    facade : the line.
    movement : rows of lines.
    wall : beam and cuts.
    """
    flat = _FLAT_SHARE * float(np.max(np.abs(movement.curvature_1_m), initial=0.0))
    zones = cut_lines(facade.distance_m, movement.settlement_m, movement.displacement_m, movement.curvature_1_m, wall.limiting_settlement_m, flat)
    for_bending, for_diagonal = beam_coefficients(zones.length_m, wall.height_m, zones.is_hogging, wall.young_shear_ratio)
    ratio = zones.deflection_m / zones.length_m
    bending, diagonal = total_strains(ratio / for_bending, ratio / for_diagonal, np.maximum(zones.horizontal_strain, 0.0), wall.poisson_ratio)
    strain = np.maximum(bending, diagonal)
    # Sorted by line and strain, the last zone of each line is its worst; of equal ones the first along the line.
    order = np.lexsort((-np.arange(strain.size), strain, zones.line))
    lines = np.arange(len(movement.settlement_m))
    place = np.searchsorted(zones.line[order], lines, side="right") - 1
    has_zone = (place >= 0) & np.isin(lines, zones.line)
    at = np.where(has_zone, order[np.maximum(place, 0)] if order.size else -1, -1)
    known = np.append(strain, 0.0), np.append(bending >= diagonal, False)
    return Governing(tensile_strain=known[0][at], zone_at=at, is_bending=known[1][at], zones=zones)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FacadeStrain(Record):
    """Worst strain of a facade and where it occurs along it."""

    tensile_strain: FloatArray
    damage_category: FloatArray
    governing_zone: TextArray
    governing_mode: TextArray
    zone_start_m: FloatArray
    zone_end_m: FloatArray
    deflection_ratio: FloatArray
    horizontal_strain: FloatArray
    settlement_max_m: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StagedFacadeStrain(FacadeStrain):
    """The same with the position of the face at which it occurs."""

    face_chainage_m: FloatArray


_RESULTS: Final = tuple(FacadeStrain.__dataclass_fields__)


def described(facade: Facade, movement: LineMovement, wall: WallModel, row: int = 0) -> tuple[Any, ...]:
    """Return the fields of the worst zone of one line, in the order of the record.

    Parameters
    ----------
    facade, movement, wall : as for ``governing_strain``.
    row : which line.
    """
    one = LineMovement(
        settlement_m=movement.settlement_m[row : row + 1],
        displacement_m=movement.displacement_m[row : row + 1],
        curvature_1_m=movement.curvature_1_m[row : row + 1],
    )
    found = governing_strain(facade, one, wall)
    at, strain = int(found.zone_at[0]), float(found.tensile_strain[0])
    deepest = float(one.settlement_m[0][np.argmax(np.abs(one.settlement_m[0]))])
    if at < 0:
        return strain, float(category_of(strain)), "none", "none", np.nan, np.nan, 0.0, 0.0, deepest
    zones = found.zones
    kind, mode = "hogging" if zones.is_hogging[at] else "sagging", "bending" if found.is_bending[0] else "diagonal"
    ratio = float(zones.deflection_m[at] / zones.length_m[at])
    category = float(category_of(strain))
    return strain, category, kind, mode, float(zones.start_m[at]), float(zones.end_m[at]), ratio, float(zones.horizontal_strain[at]), deepest


def nothing_known(count: int) -> tuple[Any, ...]:
    """Return the fields of a facade with an input that is not known."""
    return (np.nan, np.nan, "none", "none", *(np.nan,) * (count - 4))


def facade_of(numbers: tuple[float, ...], drives: StraightDrives) -> tuple[Facade, WallModel]:
    """Return line and wall from the eight numbers that every facade method takes first.

    Parameters
    ----------
    numbers : ends by chainage and offset, height, limiting settlement, E/G, Poisson's ratio.
    drives : whose narrowest trough sets the sampling.
    """
    least_width_m = float(np.min(drives.trough_width_factor * drives.axis_depth_m))
    facade = Facade.between((numbers[0], numbers[1]), (numbers[2], numbers[3]), least_width_m)
    return facade, WallModel(height_m=numbers[4], limiting_settlement_m=numbers[5], young_shear_ratio=numbers[6], poisson_ratio=numbers[7])


def is_usable(numbers: tuple[float, ...], drives: StraightDrives) -> bool:
    """Return whether nothing needed is unknown."""
    needed = (drives.axis_offset_m, drives.axis_depth_m, drives.excavation_diameter_m, drives.volume_loss, drives.trough_width_factor)
    return bool(np.all(np.isfinite(numbers)) and all(np.all(np.isfinite(one)) for one in needed))


def _has_length(values: Values) -> NDArray[np.bool_]:
    along = np.subtract(values["end_chainage_m"], values["start_chainage_m"])
    across = np.subtract(values["end_offset_m"], values["start_offset_m"])
    return np.asarray(~(np.hypot(along, across) <= 0))


def _is_short(values: Values) -> NDArray[np.bool_]:
    return np.hypot(np.subtract(values["end_chainage_m"], values["start_chainage_m"]), np.subtract(values["end_offset_m"], values["start_offset_m"])) < 3.0


FACADE_POSSIBLE: Final = {
    "height_m": (0.1, 500.0),
    "young_shear_ratio": (0.1, 200.0),
    "axis_depth_m": (0.5, 400.0),
    "settlement_ratio_at_face": (1e-6, 1 - 1e-6),
    "start_chainage_m": (-1e6, 1e7),
    "end_chainage_m": (-1e6, 1e7),
}
FACADE_REQUIRES: Final = (
    Require("end_chainage_m", _has_length, "must not lie at the first end: a facade has a length"),
    Require("drives", lambda v: v["drives"].row_count >= 1, "must hold a row"),
)
_MOVED: Final = (
    SERIOUS,
    STRAIN_IS_A_RANKING,
    Remark(_is_short, "the facade is shorter than 3 m"),
    Remark(lambda v: np.abs(v["settlement_max_m"]) > 0.05, "settlement above 50 mm: beyond the experience behind the limits"),
    Remark(lambda v: np.asarray(v["governing_zone"]) == "none", "the facade lies where the ground settles less than the limit: not assessed"),
)
_FOUND: Final = {
    "tensile_strain": Algorithm(
        "greatest of bending and diagonal strain over all zones of the line", "eps_t", {"not negative": lambda v: ~(v["tensile_strain"] < 0)}
    ),
    "damage_category": Algorithm("by limiting tensile strain 0.05, 0.075, 0.15, 0.3 %"),
    "governing_zone": Algorithm("zone of that strain"),
    "governing_mode": Algorithm("kind of that strain"),
    "zone_start_m": Algorithm("start of that zone from the first end of the facade"),
    "zone_end_m": Algorithm("its end"),
    "deflection_ratio": Algorithm("deflection over length of that zone", "DR"),
    "horizontal_strain": Algorithm("average strain of the ground along that zone", "eps_h"),
    "settlement_max_m": Algorithm("settlement of the greatest size along the facade"),
}


@method(
    "assets.building.facade_straight_drives",
    found_by=_FOUND,
    possible=FACADE_POSSIBLE,
    requires=FACADE_REQUIRES,
    remarks=_MOVED,
    kind="upper bound",
    source=FACADE,
)
def facade_straight_drives(
    start_chainage_m: Number,
    start_offset_m: Number,
    end_chainage_m: Number,
    end_offset_m: Number,
    height_m: Number,
    drives: StraightDrives,
    limiting_settlement_m: Number = 0.001,
    young_shear_ratio: Number = ISOTROPIC_WALL,
    poisson_ratio: Number = MASONRY_POISSON,
    horizontal_focus: HorizontalFocus = "of the depth model",
) -> FacadeStrain:
    """Return the worst strain of a facade at one stage of its drives.

    Parameters
    ----------
    start_chainage_m, start_offset_m : first end.
    end_chainage_m, end_offset_m : last end.
    height_m : foundation to eaves.
    drives : straight, in the direction of chainage.
    limiting_settlement_m : below it the line is not looked at.
    young_shear_ratio : E/G of the wall.
    poisson_ratio : of the wall.
    horizontal_focus : point to which the ground moves; the axis gives more strain at the surface.
    """

    def at_place(*numbers: float) -> tuple[Any, ...]:
        if not is_usable(numbers, drives):
            return nothing_known(len(_RESULTS))
        facade, wall = facade_of(numbers, drives)
        return described(facade, line_movement(facade, drives, horizontal_focus, drives.effective_face_m()[None, :]), wall)

    numbers = [start_chainage_m, start_offset_m, end_chainage_m, end_offset_m, height_m, limiting_settlement_m, young_shear_ratio, poisson_ratio]
    return FacadeStrain(**dict(zip(_RESULTS, each_place(at_place, len(_RESULTS), numbers), strict=True)))


@method(
    "assets.building.facade_worst_stage",
    found_by={**_FOUND, "face_chainage_m": Algorithm("position of the sweeping face with the greatest strain, steps refined about the worst", "x_f")},
    possible=FACADE_POSSIBLE,
    requires=(
        *FACADE_REQUIRES,
        Require("passing_drive", lambda v: 1 <= v["passing_drive"] <= v["drives"].row_count, "must be the number of a row of drives, from 1"),
    ),
    remarks=_MOVED,
    kind="upper bound",
    source=FACADE,
)
def facade_worst_stage(
    start_chainage_m: Number,
    start_offset_m: Number,
    end_chainage_m: Number,
    end_offset_m: Number,
    height_m: Number,
    drives: StraightDrives,
    limiting_settlement_m: Number = 0.001,
    young_shear_ratio: Number = ISOTROPIC_WALL,
    poisson_ratio: Number = MASONRY_POISSON,
    horizontal_focus: HorizontalFocus = "of the depth model",
    passing_drive: Count = 1,
) -> StagedFacadeStrain:
    """Return the worst strain of a facade over all positions of one face, the other drives standing as given.

    Parameters
    ----------
    start_chainage_m, start_offset_m : first end.
    end_chainage_m, end_offset_m : last end.
    height_m : foundation to eaves.
    drives : straight, in the direction of chainage.
    limiting_settlement_m : below it the line is not looked at.
    young_shear_ratio : E/G of the wall.
    poisson_ratio : of the wall.
    horizontal_focus : point to which the ground moves.
    passing_drive : row of the drive whose face sweeps, from 1.

    Notes
    -----
    A facade along the drive is straight again at the end, but was bent and stretched while the face passed; cracks do not heal. Where the
    end of the sweep is the worst the face position is that far end.
    """

    def at_place(*numbers: float) -> tuple[Any, ...]:
        if not is_usable(numbers, drives):
            return nothing_known(len(_RESULTS) + 1)
        facade, wall = facade_of(numbers, drives)
        sweep = _Sweep(facade, wall, drives, horizontal_focus, passing_drive - 1)
        face_m = sweep.worst_m()
        return *described(facade, sweep.movement(np.array([face_m])), wall), face_m

    names = (*_RESULTS, "face_chainage_m")
    numbers = [start_chainage_m, start_offset_m, end_chainage_m, end_offset_m, height_m, limiting_settlement_m, young_shear_ratio, poisson_ratio]
    return StagedFacadeStrain(**dict(zip(names, each_place(at_place, len(names), numbers), strict=True)))


@dataclass(frozen=True, slots=True)
class _Sweep:
    """One face that passes a facade."""

    facade: Facade
    wall: WallModel
    drives: StraightDrives
    horizontal_focus: HorizontalFocus
    passing: int

    def width_m(self) -> float:
        """Return the width of the passing drive's trough at the surface."""
        return float(self.drives.trough_width_factor[self.passing] * self.drives.axis_depth_m[self.passing])

    def shift_m(self) -> float:
        """Return how far its effective face lies before the real one."""
        return float(self.width_m() * special.ndtri(self.drives.ratio()[self.passing]))

    def movement(self, face_m: FloatArray) -> LineMovement:
        """Return the movement along the facade for positions of the face."""
        faces = np.repeat(self.drives.effective_face_m()[None, :], face_m.size, axis=0)
        faces[:, self.passing] = face_m + self.shift_m()
        return line_movement(self.facade, self.drives, self.horizontal_focus, faces)

    def worst_m(self) -> float:
        """Return the position of the face with the greatest strain; the first of equal ones."""
        width_m = self.width_m()
        ends = self.facade.chainage_m[0], self.facade.chainage_m[-1]
        lag_m = -self.shift_m()
        first, last = min(ends) - _SWEEP_WIDTHS * width_m + min(lag_m, 0.0), max(ends) + _SWEEP_WIDTHS * width_m + max(lag_m, 0.0)
        step_m = _SWEEP_STEP * width_m
        stages = np.linspace(first, last, int(np.ceil((last - first) / step_m)) + 1)
        best = float(stages[np.argmax(self._strains(stages))])
        close = np.linspace(max(best - step_m, first), min(best + step_m, last), _REFINED + 1)
        return float(close[np.argmax(self._strains(close))])

    def _strains(self, face_m: FloatArray) -> FloatArray:
        at_once = max(1, _BLOCK // self.facade.distance_m.size)
        parts = [face_m[first : first + at_once] for first in range(0, face_m.size, at_once)]
        return np.concatenate([governing_strain(self.facade, self.movement(part), self.wall).tensile_strain for part in parts])
