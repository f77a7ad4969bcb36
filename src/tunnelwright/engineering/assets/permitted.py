"""The volume loss that a facade bears: the number that the shift keeps below."""

from dataclasses import dataclass
from typing import Final

import numpy as np

from tunnelwright.engineering.assets.beam import ISOTROPIC_WALL, MASONRY_POISSON
from tunnelwright.engineering.assets.facade import FACADE_POSSIBLE, FACADE_REQUIRES, WallModel, facade_of, governing_strain, is_usable
from tunnelwright.engineering.assets.field import Facade, LineMovement, StraightDrives, line_movement
from tunnelwright.engineering.assets.sources import FACADE
from tunnelwright.engineering.movement.depth import HorizontalFocus
from tunnelwright.engineering.places import each_place
from tunnelwright.vocabulary.method import Algorithm, Remark, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record

_FACTORS: Final = np.geomspace(1e-3, 1e3, 241)
_BISECTIONS: Final = 50


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PermittedLoss(Record):
    """Factor on all volume losses that a facade bears."""

    volume_loss_factor: FloatArray


@method(
    "assets.building.permitted_volume_loss",
    found_by={
        "volume_loss_factor": Algorithm("least factor at which the governing strain reaches the limit, scanned over six decades, then halved down", "f_V"),
    },
    possible=FACADE_POSSIBLE,
    requires=FACADE_REQUIRES,
    remarks=(
        Remark(lambda v: np.asarray(v["volume_loss_factor"]) < 1, "the planned losses are more than the facade bears"),
        Remark(lambda v: np.isnan(v["volume_loss_factor"]), "no loss up to a thousand times the planned one reaches the limit"),
    ),
    kind="identity",
    source=FACADE,
)
def permitted_volume_loss(
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
    limiting_tensile_strain: Number = 0.0015,
) -> PermittedLoss:
    """Return the factor on all volume losses at which a facade reaches a limiting strain.

    Parameters
    ----------
    start_chainage_m, start_offset_m : first end.
    end_chainage_m, end_offset_m : last end.
    height_m : foundation to eaves.
    drives : straight, in the direction of chainage, at the stage looked at.
    limiting_settlement_m : below it the line is not looked at.
    young_shear_ratio : E/G of the wall.
    poisson_ratio : of the wall.
    horizontal_focus : point to which the ground moves.
    limiting_tensile_strain : upper limit of the category to be kept.
    """

    def at_place(*numbers: float) -> tuple[float]:
        if not is_usable(numbers, drives):
            return (np.nan,)
        facade, wall = facade_of(numbers, drives)
        planned = line_movement(facade, drives, horizontal_focus, drives.effective_face_m()[None, :])
        return (_factor_to(facade, planned, wall, numbers[8]),)

    numbers = [
        start_chainage_m, start_offset_m, end_chainage_m, end_offset_m, height_m, limiting_settlement_m, young_shear_ratio, poisson_ratio,
        limiting_tensile_strain,
    ]  # fmt: skip
    return PermittedLoss(volume_loss_factor=each_place(at_place, 1, numbers)[0])


def _factor_to(facade: Facade, planned: LineMovement, wall: WallModel, limit: float) -> float:
    def strains(factors: FloatArray) -> FloatArray:
        rows = LineMovement(**{name: factors[:, None] * getattr(planned, name) for name in ("settlement_m", "displacement_m", "curvature_1_m")})
        return governing_strain(facade, rows, wall).tensile_strain

    reached = np.flatnonzero(strains(_FACTORS) >= limit)
    if not reached.size:
        return np.nan
    if reached[0] == 0:
        return 0.0
    low, high = float(_FACTORS[reached[0] - 1]), float(_FACTORS[reached[0]])
    for _ in range(_BISECTIONS):
        middle = (low + high) / 2
        low, high = (low, middle) if strains(np.array([middle]))[0] >= limit else (middle, high)
    return high
