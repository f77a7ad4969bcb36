"""How the trough narrows with depth, and the point to which the ground then moves.

With a width i(z) and a constant volume the only horizontal movement is u = -y S / H with H = -i / i', so each law has its own focus:
the tangent to i(z) at the level looked at.
"""

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from tunnelwright.engineering.movement.sources import CONSTANT_K, MAIR_1993, MOH_1996
from tunnelwright.engineering.movement.width import USUAL_FACTOR
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Range, Remark, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Values

DepthModel = Literal["mair 1993 scaled", "constant k", "moh 1996"]
HorizontalFocus = Literal["of the depth model", "axis"]

# Mair's line 0.175 z_0 + 0.325 (z_0 - z) has 0.5 z_0 at the surface.
_AT_AXIS: Final = 0.175
_PER_HEIGHT: Final = 0.325
_AT_SURFACE: Final = 0.5
_CLEAR_OF_TUNNEL_M: Final = 0.5
SAND_EXPONENT: Final = 0.4


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WidthAtDepth(Record):
    """Width of the trough at a depth, and the focus of horizontal movement below that depth."""

    trough_width_m: FloatArray
    focus_distance_m: FloatArray


def _at_or_below_axis(values: Values) -> NDArray[np.bool_]:
    return np.asarray(values["depth_m"]) >= np.asarray(values["axis_depth_m"])


def _near_tunnel(values: Values) -> NDArray[np.bool_]:
    if values["excavation_diameter_m"] is None:
        return np.zeros(1, dtype=np.bool_)
    crown_m = np.asarray(values["axis_depth_m"]) - np.asarray(values["excavation_diameter_m"]) / 2
    return np.asarray(values["depth_m"]) > crown_m - _CLEAR_OF_TUNNEL_M


BELOW_AXIS: Final = Remark(_at_or_below_axis, "not checked: the level lies at or below the axis, where no trough is described")
_USUAL: Final = {"trough_width_factor": USUAL_FACTOR, "depth_m": Range(0.0, np.inf, "levels from the surface down")}


def width_and_focus(
    depth_model: DepthModel, trough_width_factor: Number, axis_depth_m: Number, depth_m: Number, depth_exponent: Number = SAND_EXPONENT
) -> tuple[FloatArray, FloatArray]:
    """Return width and focus distance by the law named; NaN at and below the axis.

    Parameters
    ----------
    depth_model : law of the width.
    trough_width_factor, axis_depth_m : of the drive, at the surface.
    depth_m : level looked at.
    depth_exponent : of the law of Moh.
    """
    height = np.asarray(np.subtract(axis_depth_m, depth_m), dtype=np.float64)
    above = height > 0
    height = np.where(above, height, np.nan)
    factor = np.asarray(trough_width_factor, dtype=np.float64)
    if depth_model == "mair 1993 scaled":
        width = factor / _AT_SURFACE * (_AT_AXIS * np.asarray(axis_depth_m) + _PER_HEIGHT * height)
        return width, height + _AT_AXIS / _PER_HEIGHT * np.asarray(axis_depth_m)
    if depth_model == "constant k":
        return factor * height, height + 0.0 * factor
    return factor * axis_depth_m * np.power(height / axis_depth_m, depth_exponent), height / depth_exponent


@method(
    "movement.depth.mair_1993_scaled",
    formulas={
        "trough_width_m": Formula("i", "K / 0.5 * z_0 * (0.175 + 0.325 * (1 - z / z_0)) if z < z_0 else 0 / 0"),
        "focus_distance_m": Formula("H", "z_0 - z + 0.175 / 0.325 * z_0 if z < z_0 else 0 / 0"),
    },
    symbols={"trough_width_factor": "K"},
    possible={"axis_depth_m": (0.5, 400.0)},
    valid=_USUAL,
    remarks=(BELOW_AXIS, Remark(_near_tunnel, "not checked: the level is less than 0.5 m above the tunnel")),
    kind="mean",
    source=MAIR_1993,
)
def mair_scaled(trough_width_factor: Number, axis_depth_m: Number, depth_m: Number, excavation_diameter_m: Number | None = None) -> WidthAtDepth:
    """Return width and focus at a depth by Mair's line for clay, scaled to the width at the surface.

    Parameters
    ----------
    trough_width_factor : width over axis depth at the surface; over layers the mean one.
    axis_depth_m : surface to axis.
    depth_m : level looked at.
    excavation_diameter_m : decides only whether the level is too near the tunnel.
    """
    width_m, focus_m = width_and_focus("mair 1993 scaled", trough_width_factor, axis_depth_m, depth_m)
    return WidthAtDepth(trough_width_m=width_m, focus_distance_m=focus_m)


@method(
    "movement.depth.moh_1996",
    formulas={
        "trough_width_m": Formula("i", "K * z_0 * (1 - z / z_0)^m if z < z_0 else 0 / 0"),
        "focus_distance_m": Formula("H", "(z_0 - z) / m if z < z_0 else 0 / 0"),
    },
    symbols={"trough_width_factor": "K", "depth_exponent": "m"},
    possible={"axis_depth_m": (0.5, 400.0), "depth_exponent": (0.05, 2.0)},
    valid={**_USUAL, "depth_exponent": Range(0.4, 0.8, "sand to silty clay")},
    remarks=(BELOW_AXIS,),
    kind="mean",
    source=MOH_1996,
)
def moh(trough_width_factor: Number, axis_depth_m: Number, depth_m: Number, depth_exponent: Number = SAND_EXPONENT) -> WidthAtDepth:
    """Return width and focus at a depth by a power of the height above the axis.

    Parameters
    ----------
    trough_width_factor : width over axis depth at the surface.
    axis_depth_m : surface to axis.
    depth_m : level looked at.
    depth_exponent : 0.4 in sand, 0.8 in silty clay.
    """
    width_m, focus_m = width_and_focus("moh 1996", trough_width_factor, axis_depth_m, depth_m, depth_exponent)
    return WidthAtDepth(trough_width_m=width_m, focus_distance_m=focus_m)


@method(
    "movement.depth.constant_k",
    formulas={
        "trough_width_m": Formula("i", "K * (z_0 - z) if z < z_0 else 0 / 0"),
        "focus_distance_m": Formula("H", "z_0 - z if z < z_0 else 0 / 0"),
    },
    symbols={"trough_width_factor": "K"},
    possible={"axis_depth_m": (0.5, 400.0)},
    valid=_USUAL,
    remarks=(BELOW_AXIS,),
    kind="mean",
    source=CONSTANT_K,
)
def constant_factor(trough_width_factor: Number, axis_depth_m: Number, depth_m: Number) -> WidthAtDepth:
    """Return width and focus at a depth with the same factor of the height above the axis at every level.

    Parameters
    ----------
    trough_width_factor : width over height above the axis.
    axis_depth_m : surface to axis.
    depth_m : level looked at.

    Notes
    -----
    Troughs at depth come out narrower than measured ones.
    """
    width_m, focus_m = width_and_focus("constant k", trough_width_factor, axis_depth_m, depth_m)
    return WidthAtDepth(trough_width_m=width_m, focus_distance_m=focus_m)
