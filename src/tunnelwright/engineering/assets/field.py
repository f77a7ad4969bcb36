r"""The ground along a straight line at the surface while one or several straight drives pass.

    first end (x, y) ------------------------> last end        distance along the line s
                       \ theta to the drive direction

Settlement, movement along the line and curvature of the settlement along it, summed over the drives. Rows stand for stages or samples.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy import special

from tunnelwright.engineering.movement.depth import HorizontalFocus, width_and_focus
from tunnelwright.vocabulary.types import FloatArray, Table

_ROOT_2_PI: Final = np.sqrt(2 * np.pi)
_FAR_WIDTHS: Final = 40.0
_STEPS_PER_WIDTH: Final = 40
_LEAST_STEPS: Final = 240
_MOST_STEPS: Final = 3000
CLOSED_FACE_RATIO: Final = 0.25


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StraightDrives(Table):
    """Straight drives along one direction; a face left out means that the drive has passed."""

    axis_offset_m: FloatArray
    axis_depth_m: FloatArray
    excavation_diameter_m: FloatArray
    volume_loss: FloatArray
    trough_width_factor: FloatArray
    settlement_ratio_at_face: FloatArray | None = None
    face_chainage_m: FloatArray | None = None

    def ratio(self) -> FloatArray:
        """Return the share above each face, the usual one of a closed face where none is given."""
        given = np.full(self.row_count, np.nan) if self.settlement_ratio_at_face is None else self.settlement_ratio_at_face
        return np.where(np.isnan(given), CLOSED_FACE_RATIO, given)

    def effective_face_m(self) -> FloatArray:
        """Return where each face counts as being, infinite for a drive that has passed."""
        if self.face_chainage_m is None:
            return np.full(self.row_count, np.inf)
        lagged = self.face_chainage_m + self.trough_width_factor * self.axis_depth_m * special.ndtri(self.ratio())
        return np.where(np.isnan(self.face_chainage_m), np.inf, lagged)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Facade:
    """One straight line in plan with its samples."""

    distance_m: FloatArray
    chainage_m: FloatArray
    offset_m: FloatArray
    cosine: float
    sine: float

    @classmethod
    def between(cls, start: tuple[float, float], end: tuple[float, float], least_width_m: float) -> "Facade":
        """Return the line between two points given by chainage and offset, sampled finely against the narrowest trough.

        Parameters
        ----------
        start, end : chainage and offset of the ends.
        least_width_m : of the troughs that the line meets.
        """
        along, across = end[0] - start[0], end[1] - start[1]
        length_m = float(np.hypot(along, across))
        steps = int(np.clip(np.ceil(_STEPS_PER_WIDTH * length_m / least_width_m), _LEAST_STEPS, _MOST_STEPS))
        distance_m = np.linspace(0.0, length_m, steps + 1)
        cosine, sine = along / length_m, across / length_m
        return cls(distance_m=distance_m, chainage_m=start[0] + cosine * distance_m, offset_m=start[1] + sine * distance_m, cosine=cosine, sine=sine)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LineMovement:
    """Movement at the samples of a line; rows of stages or samples by samples along the line."""

    settlement_m: FloatArray
    displacement_m: FloatArray
    curvature_1_m: FloatArray


def line_movement(
    facade: Facade,
    drives: StraightDrives,
    horizontal_focus: HorizontalFocus,
    effective_face_m: FloatArray,
    loss: FloatArray | None = None,
    factor: FloatArray | None = None,
) -> LineMovement:
    """Return the movement along a line for many stages or samples.

    Parameters
    ----------
    facade : the line.
    drives : that move the ground.
    horizontal_focus : of Mair's law of depth, or the axis.
    effective_face_m : rows by drives, infinite for a drive that has passed.
    loss, factor : volume loss and width factor, rows by drives; those of the drives where left out.
    """
    rows = len(effective_face_m)
    losses = np.broadcast_to(drives.volume_loss, (rows, drives.row_count)) if loss is None else loss
    factors = np.broadcast_to(drives.trough_width_factor, (rows, drives.row_count)) if factor is None else factor
    total = [np.zeros((rows, facade.distance_m.size)) for _ in range(3)]
    for at in range(drives.row_count):
        depth_m = drives.axis_depth_m[at]
        width, focus = (one[:, None] for one in width_and_focus("mair 1993 scaled", factors[:, at], depth_m, 0.0 * factors[:, at]))
        if horizontal_focus == "axis":
            focus = np.full_like(focus, depth_m)
        volume = (losses[:, at] * np.pi / 4 * drives.excavation_diameter_m[at] ** 2)[:, None]
        one = _of_one_drive(facade, facade.offset_m - drives.axis_offset_m[at], width, focus, volume, effective_face_m[:, at, None])
        total = [before + now for before, now in zip(total, one, strict=True)]
    return LineMovement(settlement_m=total[0], displacement_m=total[1], curvature_1_m=total[2])


def _of_one_drive(
    facade: Facade, offset_m: FloatArray, width: FloatArray, focus: FloatArray, volume: FloatArray, face_m: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return settlement, movement along the line and curvature along it, from one drive that began far away."""
    across = offset_m / width
    trough = volume / (_ROOT_2_PI * width) * np.exp(-0.5 * np.square(across))
    if np.all(np.isposinf(face_m)):
        settlement, slope_x, bend_x = trough, 0.0, 0.0
    else:
        ahead = np.clip((facade.chainage_m - face_m) / width, -_FAR_WIDTHS, _FAR_WIDTHS)
        density = np.exp(-0.5 * np.square(ahead)) / _ROOT_2_PI
        settlement, slope_x, bend_x = trough * special.ndtr(-ahead), -trough * density / width, trough * ahead * density / np.square(width)
    slope_y = -settlement * across / width
    bend_y, twist = settlement * (np.square(across) - 1) / np.square(width), -slope_x * across / width
    curvature = bend_x * facade.cosine**2 + bend_y * facade.sine**2 + 2 * twist * facade.sine * facade.cosine
    displacement = np.square(width) / focus * (slope_x * facade.cosine + slope_y * facade.sine)
    return settlement, np.asarray(displacement), np.asarray(curvature)
