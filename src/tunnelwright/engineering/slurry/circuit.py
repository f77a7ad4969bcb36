"""The circuit: what comes back, how much must go out, how late the meters see it."""

from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from tunnelwright.engineering.slurry.sources import CIRCUIT_BALANCE, GEOMETRY
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Range, Remark, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, TextArray, Values

# Square metre times millimetre per minute, in cubic metres per hour.
M3_H_PER_M2_MM_MIN: Final = 0.06
SECONDS_PER_HOUR: Final = 3600.0
WATER_T_M3: Final = 1.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ReturnStream(Record):
    """Flow and density of the return."""

    return_flow_m3_h: FloatArray
    return_density_t_m3: FloatArray


@method(
    "slurry.circuit.return_stream",
    formulas={
        "return_flow_m3_h": Formula("Q_r", "Q_f + 0.06 * A_f * v + q_in - q_loss"),
        "return_density_t_m3": Formula("rho_r", "((Q_f - q_loss) * rho_f + 0.06 * A_f * v * rho + q_in) / Q_r"),
    },
    symbols={"water_inflow_m3_h": "q_in", "slurry_loss_m3_h": "q_loss"},
    possible={"water_inflow_m3_h": (0.0, 5000.0), "slurry_loss_m3_h": (0.0, 5000.0)},
    valid={"return_density_t_m3": Range(1.0, 1.30, "above 1.20 to 1.30 pumps and separation suffer")},
    remarks=(Remark(lambda v: v["slurry_loss_m3_h"] > v["feed_flow_m3_h"], "more slurry lost than fed: the chamber empties"),),
    kind="identity",
    source=CIRCUIT_BALANCE,
    dimensional=True,
)
def return_stream(
    feed_flow_m3_h: Number,
    feed_density_t_m3: Number,
    face_area_m2: Number,
    advance_rate_mm_min: Number,
    density_t_m3: Number,
    water_inflow_m3_h: Number = 0.0,
    slurry_loss_m3_h: Number = 0.0,
) -> ReturnStream:
    """Return flow and density of the slurry that comes back from the face.

    Parameters
    ----------
    feed_flow_m3_h : to the machine.
    feed_density_t_m3 : of the feed.
    face_area_m2 : bored area.
    advance_rate_mm_min : of the shield.
    density_t_m3 : of the ground in situ.
    water_inflow_m3_h : ground water that comes in.
    slurry_loss_m3_h : slurry lost to the ground, at the density of the feed.
    """
    soil_m3_h = M3_H_PER_M2_MM_MIN * np.multiply(face_area_m2, advance_rate_mm_min)
    flow_m3_h = feed_flow_m3_h + soil_m3_h + water_inflow_m3_h - slurry_loss_m3_h
    mass_t_h = np.subtract(feed_flow_m3_h, slurry_loss_m3_h) * feed_density_t_m3 + soil_m3_h * density_t_m3 + WATER_T_M3 * np.asarray(water_inflow_m3_h)
    with np.errstate(divide="ignore", invalid="ignore"):
        return ReturnStream(return_flow_m3_h=flow_m3_h, return_density_t_m3=mass_t_h / flow_m3_h)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FeedRequired(Record):
    """Least feed and what asks for it."""

    feed_flow_m3_h: FloatArray
    governs: TextArray


def _both_or_none(values: Values) -> bool:
    return (values["pipe_diameter_m"] is None) == (values["velocity_min_m_s"] is None)


def _governs_rightly(values: Values) -> Any:
    """Return whether the feed named by density is the one that the density asks for."""
    soil = M3_H_PER_M2_MM_MIN * values["face_area_m2"] * values["advance_rate_mm_min"]
    limit = values["return_density_limit_t_m3"]
    mixed = (values["feed_flow_m3_h"] * values["feed_density_t_m3"] + soil * values["density_t_m3"]) / (values["feed_flow_m3_h"] + soil)
    return (values["governs"] == "velocity") | (mixed <= limit + 1e-9) | ~np.isfinite(mixed)


@method(
    "slurry.circuit.feed_flow_required",
    formulas={
        "feed_flow_m3_h": Formula(
            "Q_f",
            "max(0, 0.06 * A_f * v * (rho - rho_lim) / (rho_lim - rho_f), 3600 * pi / 4 * D_p^2 * v_min - 0.06 * A_f * v) if D_p * v_min > 0"
            " else max(0, 0.06 * A_f * v * (rho - rho_lim) / (rho_lim - rho_f))",
        )
    },
    found_by={
        "governs": Algorithm("the greater of the two needs", invariants={"the return stays below its limit": _governs_rightly}),
    },
    symbols={"return_density_limit_t_m3": "rho_lim", "velocity_min_m_s": "v_min"},
    valid={"return_density_limit_t_m3": Range(1.10, 1.35, "usual limits are 1.20 to 1.30")},
    requires=(
        Require("return_density_limit_t_m3", lambda v: v["return_density_limit_t_m3"] > v["feed_density_t_m3"], "must be more than the density of the feed"),
        Require("velocity_min_m_s", _both_or_none, "pipe diameter and least velocity must be given together"),
    ),
    kind="identity",
    source=CIRCUIT_BALANCE,
)
def feed_flow_required(
    face_area_m2: Number,
    advance_rate_mm_min: Number,
    density_t_m3: Number,
    feed_density_t_m3: Number,
    return_density_limit_t_m3: Number,
    pipe_diameter_m: Number | None = None,
    velocity_min_m_s: Number | None = None,
) -> FeedRequired:
    """Return the least feed that keeps the return light enough and fast enough.

    Parameters
    ----------
    face_area_m2 : bored area.
    advance_rate_mm_min : of the shield.
    density_t_m3 : of the ground in situ.
    feed_density_t_m3 : of the feed.
    return_density_limit_t_m3 : highest that pumps and plant take.
    pipe_diameter_m : inside, of the return pipe.
    velocity_min_m_s : in the return pipe, its margin over the deposit velocity included.
    """
    soil_m3_h = M3_H_PER_M2_MM_MIN * np.multiply(face_area_m2, advance_rate_mm_min)
    for_density = np.maximum(0.0, soil_m3_h * np.subtract(density_t_m3, return_density_limit_t_m3) / np.subtract(return_density_limit_t_m3, feed_density_t_m3))
    if pipe_diameter_m is None or velocity_min_m_s is None:
        return FeedRequired(feed_flow_m3_h=for_density, governs=np.full(for_density.shape, "density"))
    for_velocity = SECONDS_PER_HOUR * np.pi / 4 * np.square(pipe_diameter_m) * velocity_min_m_s - soil_m3_h
    return FeedRequired(feed_flow_m3_h=np.maximum(for_density, for_velocity), governs=np.where(for_velocity > for_density, "velocity", "density"))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PipeLag(Record):
    """Time and volume between the machine and a meter."""

    pipe_volume_m3: FloatArray
    lag_s: FloatArray


@method(
    "slurry.circuit.lag",
    formulas={"pipe_volume_m3": Formula("V_p", "pi / 4 * D_p^2 * L_p"), "lag_s": Formula("t_lag", "3600 * V_p / Q_p")},
    symbols={"flow_m3_h": "Q_p"},
    possible={"flow_m3_h": (0.0, 20000.0)},
    kind="identity",
    source=GEOMETRY,
)
def pipe_lag(pipe_length_m: Number, pipe_diameter_m: Number, flow_m3_h: Number) -> PipeLag:
    """Return how long slurry takes through a pipe; with changing flow the volume is the better measure of the shift.

    Parameters
    ----------
    pipe_length_m : from the machine to the meter.
    pipe_diameter_m : inside.
    flow_m3_h : in the pipe.
    """
    volume_m3 = np.pi / 4 * np.square(pipe_diameter_m) * pipe_length_m
    with np.errstate(divide="ignore", invalid="ignore"):
        return PipeLag(pipe_volume_m3=np.asarray(volume_m3), lag_s=np.asarray(SECONDS_PER_HOUR * volume_m3 / flow_m3_h))
