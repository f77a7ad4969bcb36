"""Pressure along the annulus while grout flows as a plug, and the gradient that sensors show.

Between two walls a distance d apart grout with yield stress tau moves as a plug; over an arc it gains its weight and loses the shear on the walls::

    p(theta) = p_port + gamma R (cos theta_port - cos theta) - alpha tau R |theta - theta_port| / d
"""

from dataclasses import dataclass

import numpy as np

from tunnelwright.engineering.fitting import least_squares, slope_error
from tunnelwright.engineering.grout.sources import BEZUIJEN_TALMON, GEOMETRY
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Remark, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Series, Table, Values

_HALF_CIRCLE = (0.0, np.pi + 1e-9)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PlugPressure(Record):
    """Pressure along one side of the annulus."""

    grout_pressure_kpa: Series


@method(
    "grout.pressure.plug_flow",
    formulas={
        "grout_pressure_kpa": Formula(
            "p_gr", "p_port + gamma_g * r_mid * (cos(theta_0) - cos(theta_c)) - alpha_w * tau_y * r_mid * abs(theta_c - theta_0) / d_a"
        )
    },
    symbols={"port_clock_angle_rad": "theta_0", "port_pressure_kpa": "p_port"},
    possible={"port_clock_angle_rad": _HALF_CIRCLE, "clock_angle_rad": _HALF_CIRCLE, "port_pressure_kpa": (-200.0, 5000.0)},
    remarks=(Remark(lambda v: v["grout_pressure_kpa"] < 0, "the pressure falls below the atmosphere's: the grout does not reach there"),),
    kind="mean",
    source=BEZUIJEN_TALMON,
)
def plug_flow(
    mean_radius_m: Number,
    annulus_thickness_m: Number,
    grout_unit_weight_kn_m3: Number,
    yield_stress_kpa: Number,
    port_clock_angle_rad: Number,
    port_pressure_kpa: Number,
    clock_angle_rad: Series,
    wall_count: Number = 2.0,
) -> PlugPressure:
    """Return the pressure along one side of the annulus while grout flows away from a port both ways.

    Parameters
    ----------
    mean_radius_m : half way between ring and ground.
    annulus_thickness_m : local; large where the ring lies off centre.
    grout_unit_weight_kn_m3 : of the fresh grout.
    yield_stress_kpa : mobilised now.
    port_clock_angle_rad : from the crown, 0 to pi on one side.
    port_pressure_kpa : in the annulus there.
    clock_angle_rad : places looked at, 0 to pi on the same side.
    wall_count : walls that take shear, two or one.
    """
    radius, port, drag = np.asarray(mean_radius_m), np.asarray(port_clock_angle_rad), _drag(mean_radius_m, annulus_thickness_m, yield_stress_kpa, wall_count)
    weight = np.asarray(grout_unit_weight_kn_m3 * radius)[..., None]
    gained_kpa = weight * (np.cos(port)[..., None] - np.cos(clock_angle_rad))
    lost_kpa = drag[..., None] * np.abs(clock_angle_rad - port[..., None])
    return PlugPressure(grout_pressure_kpa=np.asarray(port_pressure_kpa)[..., None] + gained_kpa - lost_kpa)


def _drag(radius_m: Number, thickness_m: Number, yield_kpa: Number, walls: Number) -> FloatArray:
    """Return the pressure lost per radian of flow."""
    return np.asarray(np.multiply(walls, yield_kpa) * np.divide(radius_m, thickness_m), dtype=np.float64)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MeetingPoint(Record):
    """Where grout from two ports meets."""

    meeting_clock_angle_rad: FloatArray
    meeting_pressure_kpa: FloatArray


def _same_from_both(values: Values) -> FloatArray:
    weight = values["grout_unit_weight_kn_m3"] * values["mean_radius_m"]
    drag = _drag(values["mean_radius_m"], values["annulus_thickness_m"], values["yield_stress_kpa"], values["wall_count"])
    meet = values["meeting_clock_angle_rad"]
    from_below = (
        values["lower_pressure_kpa"] - weight * (np.cos(meet) - np.cos(values["lower_clock_angle_rad"])) - drag * (values["lower_clock_angle_rad"] - meet)
    )
    return np.isclose(from_below, values["meeting_pressure_kpa"], rtol=1e-9, equal_nan=True)


@method(
    "grout.pressure.between_ports",
    formulas={
        "meeting_pressure_kpa": Formula(
            "p_meet", "p_up + gamma_g * r_mid * (cos(theta_up) - cos(theta_meet)) - alpha_w * tau_y * r_mid / d_a * (theta_meet - theta_up)"
        )
    },
    found_by={
        "meeting_clock_angle_rad": Algorithm(
            "half the sum of both port angles, plus what the ports differ in pressure and in weight over twice the drag per radian; none outside the two ports",
            symbol="theta_meet",
            invariants={"both ports give the same pressure there": _same_from_both},
        )
    },
    symbols={
        "upper_clock_angle_rad": "theta_up",
        "upper_pressure_kpa": "p_up",
        "lower_clock_angle_rad": "theta_low",
        "lower_pressure_kpa": "p_low",
    },
    possible={"upper_clock_angle_rad": _HALF_CIRCLE, "lower_clock_angle_rad": _HALF_CIRCLE},
    requires=(Require("lower_clock_angle_rad", lambda v: v["lower_clock_angle_rad"] > v["upper_clock_angle_rad"], "must lie below upper_clock_angle_rad"),),
    remarks=(Remark(lambda v: np.isnan(v["meeting_clock_angle_rad"]), "one port overruns the other: its grout flows past it"),),
    kind="mean",
    source=BEZUIJEN_TALMON,
)
def between_ports(
    mean_radius_m: Number,
    annulus_thickness_m: Number,
    grout_unit_weight_kn_m3: Number,
    yield_stress_kpa: Number,
    upper_clock_angle_rad: Number,
    upper_pressure_kpa: Number,
    lower_clock_angle_rad: Number,
    lower_pressure_kpa: Number,
    wall_count: Number = 2.0,
) -> MeetingPoint:
    """Return where grout from an upper and a lower port on the same side meets, and the pressure there.

    Parameters
    ----------
    mean_radius_m : half way between ring and ground.
    annulus_thickness_m : local.
    grout_unit_weight_kn_m3 : of the fresh grout.
    yield_stress_kpa : mobilised now.
    upper_clock_angle_rad : of the upper port, 0 to pi.
    upper_pressure_kpa : in the annulus there.
    lower_clock_angle_rad : of the lower port, 0 to pi.
    lower_pressure_kpa : in the annulus there.
    wall_count : walls that take shear, two or one.
    """
    upper, lower = np.asarray(upper_clock_angle_rad), np.asarray(lower_clock_angle_rad)
    weight = np.multiply(grout_unit_weight_kn_m3, mean_radius_m)
    drag = _drag(mean_radius_m, annulus_thickness_m, yield_stress_kpa, wall_count)
    with np.errstate(divide="ignore", invalid="ignore"):
        ahead_kpa = np.subtract(upper_pressure_kpa, lower_pressure_kpa) + weight * (np.cos(upper) - np.cos(lower))
        meet = (upper + lower) / 2 + ahead_kpa / (2 * drag)
        meet = np.where((meet >= upper) & (meet <= lower), meet, np.nan)
    pressure_kpa = upper_pressure_kpa + weight * (np.cos(upper) - np.cos(meet)) - drag * (meet - upper)
    return MeetingPoint(meeting_clock_angle_rad=meet, meeting_pressure_kpa=pressure_kpa)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FlowGradients(Record):
    """Vertical gradient of grout that flows from crown to invert."""

    crown_invert_gradient_kn_m3: FloatArray
    uplift_gradient_kn_m3: FloatArray


@method(
    "grout.pressure.gradient",
    formulas={
        "crown_invert_gradient_kn_m3": Formula("i_ci", "gamma_g - alpha_w * pi * tau_y / (2 * d_a)"),
        "uplift_gradient_kn_m3": Formula("i_up", "gamma_g - 4 * alpha_w * tau_y / (pi * d_a)"),
    },
    kind="mean",
    source=BEZUIJEN_TALMON,
)
def flow_gradients(grout_unit_weight_kn_m3: Number, yield_stress_kpa: Number, annulus_thickness_m: Number, wall_count: Number = 2.0) -> FlowGradients:
    """Return the gradient of pressure from crown to invert, and the one that lifts the ring.

    Parameters
    ----------
    grout_unit_weight_kn_m3 : of the fresh grout.
    yield_stress_kpa : mobilised in flow from crown to invert.
    annulus_thickness_m : mean.
    wall_count : walls that take shear, two or one.

    Notes
    -----
    Uplift follows from the pressure weighted with the cosine round the ring, not from crown and invert alone: the two differ by 8 / pi^2 in the shear.
    """
    shear = np.multiply(wall_count, yield_stress_kpa) / annulus_thickness_m
    return FlowGradients(
        crown_invert_gradient_kn_m3=grout_unit_weight_kn_m3 - np.pi / 2 * shear, uplift_gradient_kn_m3=grout_unit_weight_kn_m3 - 4 / np.pi * shear
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RingSensors(Table):
    """Depth of each sensor in the ring and what it reads; a missing reading is NaN."""

    depth_m: FloatArray
    grout_pressure_kpa: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FittedGradient(Record):
    """Line through the sensors of one ring."""

    gradient_kn_m3: FloatArray
    gradient_error_kn_m3: FloatArray
    mean_pressure_kpa: FloatArray


def _count(values: Values) -> FloatArray:
    return np.sum(np.isfinite(values["sensors"].grout_pressure_kpa), axis=-1)


@method(
    "grout.pressure.fit_gradient",
    found_by={
        "gradient_kn_m3": Algorithm("least-squares slope of pressure over depth"),
        "gradient_error_kn_m3": Algorithm(
            "standard error of that slope from the residuals", invariants={"not negative": lambda v: not np.any(v["gradient_error_kn_m3"] < 0)}
        ),
        "mean_pressure_kpa": Algorithm(
            "mean of the readings",
            invariants={"within the readings": lambda v: v["mean_pressure_kpa"] <= np.nanmax(v["sensors"].grout_pressure_kpa, axis=-1) + 1e-9},
        ),
    },
    requires=(Require("sensors.depth_m", lambda v: np.ptp(v["sensors"].depth_m, axis=-1) > 0, "must hold sensors at two depths or more"),),
    remarks=(Remark(lambda v: _count(v) < 6, "fewer than six sensors: the gradient is hardly known"),),
    kind="identity",
    source=GEOMETRY,
)
def fit_gradient(sensors: RingSensors) -> FittedGradient:
    """Return the gradient of grout pressure over depth that sensors in a ring show.

    Parameters
    ----------
    sensors : depth and reading, at least six over most of the height; leading axes (times) broadcast.
    """
    gradient, _ = least_squares(sensors.depth_m, sensors.grout_pressure_kpa)
    present = np.isfinite(sensors.grout_pressure_kpa)
    with np.errstate(divide="ignore", invalid="ignore"):
        mean_kpa = np.where(present, sensors.grout_pressure_kpa, 0.0).sum(axis=-1) / present.sum(axis=-1)
    return FittedGradient(gradient_kn_m3=gradient, gradient_error_kn_m3=slope_error(sensors.depth_m, sensors.grout_pressure_kpa), mean_pressure_kpa=mean_kpa)
