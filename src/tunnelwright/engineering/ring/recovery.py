"""Curves on which a drive returns to its axis.

y0 *----.                     two arcs of radius R_c, or one smooth curve
         `-.                  that bends no more than R_c anywhere
            `--.______ axis
   |<----- S ----->|
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from tunnelwright.engineering.ring.sources import RECOVERY_CURVE
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Range, Remark, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Series

# 2 to 5 mm/m is usual; common practice, no source.
_USUAL_ANGLE: Final = Range(0.0, 0.004, "a steeper approach kinks the lining and closes the tail gap; common practice, no source")
# Sign of the state: positive when the drive is, or will run, to the right of the axis if it straightens up at once.
_SIDE: Final = "(1 if y_d + v_0 * abs(v_0) * R_corr / 2 > 0 else -1)"
_UNDER_ROOT: Final = f"sqrt(max(0, {_SIDE} * y_d / R_corr + v_0^2 / 2))"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TwoArcs(Record):
    """Shortest return to the axis."""

    return_length_m: FloatArray
    peak_angle_rad: FloatArray


@method(
    "ring.recovery.two_arcs",
    formulas={
        "return_length_m": Formula("L_ret", f"R_corr * ({_SIDE} * v_0 + 2 * {_UNDER_ROOT})"),
        "peak_angle_rad": Formula("v_max", _UNDER_ROOT),
    },
    symbols={"relative_heading_rad": "v_0"},
    possible={"relative_heading_rad": (-0.2, 0.2)},
    valid={"peak_angle_rad": _USUAL_ANGLE},
    kind="lower bound",
    source=RECOVERY_CURVE,
)
def two_arcs(lateral_deviation_m: Number, correction_radius_m: Number, relative_heading_rad: Number = 0.0) -> TwoArcs:
    """Return the shortest way back to the axis, on two arcs of the correction radius.

    Parameters
    ----------
    lateral_deviation_m : of the shield or ring, right positive.
    correction_radius_m : of the curvature that can be added to the axis's own.
    relative_heading_rad : against the axis, right positive: of the sign of the deviation when it runs away from the axis.

    Notes
    -----
    Curvature steps at the ends and at the middle; nothing returns in a shorter length. The peak angle is that of the approach.
    """
    heading = np.asarray(relative_heading_rad)
    side = np.where(lateral_deviation_m + heading * np.abs(heading) * correction_radius_m / 2 > 0, 1.0, -1.0)
    peak = np.sqrt(np.maximum(0.0, side * lateral_deviation_m / correction_radius_m + np.square(heading) / 2))
    return TwoArcs(return_length_m=correction_radius_m * (side * heading + 2 * peak), peak_angle_rad=peak)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SmoothReturn(Record):
    """Return to the axis without a step of curvature."""

    return_length_m: FloatArray
    peak_angle_rad: FloatArray
    target_deviation_m: Series


@method(
    "ring.recovery.smooth",
    formulas={
        "return_length_m": Formula("L_ret", "sqrt(10 / sqrt(3) * abs(y_d) * R_corr)"),
        "peak_angle_rad": Formula("v_max", "1.875 * sqrt(sqrt(3) / 10 * abs(y_d) / R_corr)"),
    },
    found_by={
        "target_deviation_m": Algorithm(
            "y_d (1 - 10 u^3 + 15 u^4 - 6 u^5) with u the share of the return driven",
            "y_target",
            {"never beyond the start or the axis": lambda v: ~(np.abs(v["target_deviation_m"]) > np.abs(v["lateral_deviation_m"])[..., None] * (1 + 1e-12))},
        )
    },
    valid={"peak_angle_rad": _USUAL_ANGLE},
    remarks=(Remark(lambda v: v["lateral_deviation_m"] == 0, "already on the axis: there is no way back to drive"),),
    kind="identity",
    source=RECOVERY_CURVE,
)
def smooth(lateral_deviation_m: Number, correction_radius_m: Number, distance_m: Series | None = None) -> SmoothReturn:
    """Return the smooth way back to the axis for a drive that runs parallel to it.

    Parameters
    ----------
    lateral_deviation_m : at the start, right positive.
    correction_radius_m : of the greatest curvature that may be added to the axis's own.
    distance_m : places along the return at which the deviation aimed at is wanted.

    Notes
    -----
    A polynomial of degree five without angle and curvature at its ends: its greatest curvature is 10/sqrt(3) y0/S^2, its greatest angle 1.875 y0/S.
    """
    distance = np.empty(0) if distance_m is None else distance_m
    deviation = np.asarray(lateral_deviation_m)
    length = np.sqrt(10 / np.sqrt(3) * np.abs(deviation) * correction_radius_m)
    with np.errstate(divide="ignore", invalid="ignore"):
        share = np.clip(distance / length[..., None], 0.0, 1.0)
    target = deviation[..., None] * (1 - share**3 * (10 - 15 * share + 6 * np.square(share)))
    return SmoothReturn(
        return_length_m=length,
        peak_angle_rad=1.875 * np.sqrt(np.sqrt(3) / 10 * np.abs(deviation) / correction_radius_m),
        target_deviation_m=np.where(deviation[..., None] == 0, 0.0, target),
    )
