"""The tunnel axis beside the axis of the track: parallels, the shift of a canted gauge, the kink of a ramp."""

from dataclasses import dataclass

import numpy as np

from tunnelwright.engineering.alignment.sources import GEOMETRY
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Remark, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ParallelAxis(Record):
    """Curvature, length and heading of an axis beside another."""

    parallel_curvature_1_m: FloatArray
    length_factor: FloatArray
    heading_change_rad: FloatArray


@method(
    "alignment.offset.parallel",
    formulas={
        "parallel_curvature_1_m": Formula("kappa'", "kappa / (1 - a * kappa)"),
        "length_factor": Formula("f", "hypot(1 - a * kappa, a')"),
        "heading_change_rad": Formula("dpsi", "atan(a' / (1 - a * kappa))"),
    },
    symbols={"offset_m": "a", "offset_rate": "a'"},
    possible={"offset_rate": (-1.0, 1.0)},
    requires=(
        Require("offset_m", lambda v: np.all(~(np.abs(v["offset_m"] * v["curvature_1_m"]) >= 0.5)), "must be less than half the radius", "is the unit metre?"),
    ),
    remarks=(Remark(lambda v: v["offset_rate"] != 0, "the curvature is that of a constant offset; with a rate evaluate the offset axis by itself"),),
    kind="identity",
    source=GEOMETRY,
)
def parallel(curvature_1_m: Number, offset_m: Number, offset_rate: Number = 0.0) -> ParallelAxis:
    """Return curvature, length factor and change of heading of an axis beside a reference axis.

    Parameters
    ----------
    curvature_1_m : of the reference axis, positive right.
    offset_m : positive right.
    offset_rate : change of the offset per metre of the reference axis.
    """
    factor = 1 - np.multiply(offset_m, curvature_1_m)
    return ParallelAxis(
        parallel_curvature_1_m=curvature_1_m / factor, length_factor=np.hypot(factor, offset_rate), heading_change_rad=np.arctan(offset_rate / factor)
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CantShift(Record):
    """Shift of a canted clearance gauge."""

    inward_shift_m: FloatArray
    lowering_m: FloatArray


@method(
    "alignment.offset.cant_shift",
    formulas={"inward_shift_m": Formula("s_i", "h_c * D / b"), "lowering_m": Formula("s_l", "h_c * (1 - sqrt(1 - (D / b)^2))")},
    symbols={"cant_m": "D", "gauge_centre_height_m": "h_c", "rail_head_distance_m": "b"},
    possible={"cant_m": (0.0, 0.4), "gauge_centre_height_m": (0.0, 10.0), "rail_head_distance_m": (0.5, 3.0)},
    kind="identity",
    source=GEOMETRY,
)
def cant_shift(cant_m: Number, gauge_centre_height_m: Number = 1.86, rail_head_distance_m: Number = 1.5) -> CantShift:
    """Return how far the centre of the clearance gauge moves when the track is canted.

    Parameters
    ----------
    cant_m : difference of level between the rails.
    gauge_centre_height_m : over the rails; an editable default.
    rail_head_distance_m : from middle to middle of the rail heads.

    Notes
    -----
    The gauge turns about the track by the angle whose sine is cant over rail distance; its centre goes to the inside of the curve and down.
    """
    sine = np.divide(cant_m, rail_head_distance_m)
    return CantShift(inward_shift_m=gauge_centre_height_m * sine, lowering_m=gauge_centre_height_m * (1 - np.sqrt(1 - sine**2)))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RampKink(Record):
    """Step of heading at the ends of a linear ramp of the offset."""

    heading_step_rad: FloatArray


@method(
    "alignment.offset.cant_ramp_kink",
    formulas={"heading_step_rad": Formula("dpsi", "atan(s_i / L_r)")},
    symbols={"shift_m": "s_i", "ramp_length_m": "L_r"},
    possible={"ramp_length_m": (1e-3, 1e5)},
    remarks=(Remark(lambda v: np.abs(v["heading_step_rad"]) > 0.5e-3, "the axis has a kink at both ends of the ramp: fit an axis of its own"),),
    kind="identity",
    source=GEOMETRY,
)
def cant_ramp_kink(shift_m: Number, ramp_length_m: Number) -> RampKink:
    """Return the step of heading where a shift begins or ends on a linear ramp.

    Parameters
    ----------
    shift_m : inward, at the end of the ramp.
    ramp_length_m : over which it grows linearly.
    """
    return RampKink(heading_step_rad=np.arctan(np.divide(shift_m, ramp_length_m)))
