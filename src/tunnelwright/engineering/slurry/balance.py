"""Balance of a slurry circuit over a push: volume, mass and dry solids, what they should be and what their difference can mean.

Flows are in m3/h, densities in t/m3, water has 1. Return minus feed is what the ground gave, in any of the three.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from tunnelwright.engineering.slurry.sources import CIRCUIT_BALANCE, ERROR_PROPAGATION
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Range, Remark, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Table, Values

SECONDS_PER_HOUR: Final = 3600.0
WATER_T_M3: Final = 1.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FlowReadings(Table):
    """Flows of a push, one row per moment."""

    time_s: FloatArray
    feed_flow_m3_h: FloatArray
    return_flow_m3_h: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CircuitReadings(Table):
    """Flows and densities of a push, one row per moment, return already shifted by its lag."""

    time_s: FloatArray
    feed_flow_m3_h: FloatArray
    feed_density_t_m3: FloatArray
    return_flow_m3_h: FloatArray
    return_density_t_m3: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BypassReadings(Table):
    """Flows and densities while the same slurry passes both meters, one row per moment."""

    feed_flow_m3_h: FloatArray
    feed_density_t_m3: FloatArray
    return_flow_m3_h: FloatArray
    return_density_t_m3: FloatArray


_TIMES_RISE: Final = Require("readings", lambda v: np.all(np.diff(v["readings"].time_s, axis=-1) > 0, axis=-1), "time must rise from row to row")


def _integral(rate_per_hour: FloatArray, time_s: FloatArray) -> FloatArray:
    """Return the trapezoid integral of an hourly rate over the rows; a missing reading leaves none."""
    return np.asarray(np.trapezoid(rate_per_hour, time_s, axis=-1) / SECONDS_PER_HOUR)


def _excess_solids(values: Values) -> FloatArray:
    """Return the integral of flow times excess density, return minus feed."""
    readings = values["readings"]
    rate = readings.return_flow_m3_h * (readings.return_density_t_m3 - WATER_T_M3) - readings.feed_flow_m3_h * (readings.feed_density_t_m3 - WATER_T_M3)
    return _integral(rate, readings.time_s)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class VolumeDifference(Record):
    """Volume that came back beyond what went out."""

    volume_difference_m3: FloatArray


@method(
    "slurry.balance.volume",
    found_by={
        "volume_difference_m3": Algorithm(
            "trapezoid integral of return minus feed flow, plus the growth of slurry in the chamber",
            symbol="Delta_V",
            invariants={
                "within least and greatest difference of the flows": lambda v: _between(
                    v["volume_difference_m3"] - v["level_rise_m3"], v["readings"].return_flow_m3_h - v["readings"].feed_flow_m3_h, v["readings"].time_s
                )
            },
        )
    },
    possible={"level_rise_m3": (-500.0, 500.0)},
    requires=(_TIMES_RISE,),
    kind="identity",
    source=CIRCUIT_BALANCE,
)
def volume_difference(readings: FlowReadings, level_rise_m3: Number = 0.0) -> VolumeDifference:
    """Return the volume that the ground gave during a push; a void that fills with slurry does not show in it.

    Parameters
    ----------
    readings : time and flows over the push only, not over bypass, ring build or pipe extension.
    level_rise_m3 : growth of the slurry held in the chamber.
    """
    return VolumeDifference(volume_difference_m3=_integral(readings.return_flow_m3_h - readings.feed_flow_m3_h, readings.time_s) + level_rise_m3)


def _between(integral: FloatArray, rate: FloatArray, time_s: FloatArray) -> bool:
    """Return whether an integral lies between that of the least and that of the greatest rate."""
    hours = np.ptp(time_s, axis=-1) / SECONDS_PER_HOUR
    slack = 1e-9 * (1 + np.max(np.abs(rate), axis=-1) * hours)
    return bool(np.all((integral >= rate.min(axis=-1) * hours - slack) & (integral <= rate.max(axis=-1) * hours + slack)))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MassDifference(Record):
    """Mass that came back beyond what went out."""

    mass_difference_t: FloatArray


def _mass_rate(readings: CircuitReadings) -> FloatArray:
    return np.asarray(readings.return_flow_m3_h * readings.return_density_t_m3 - readings.feed_flow_m3_h * readings.feed_density_t_m3)


@method(
    "slurry.balance.mass",
    found_by={
        "mass_difference_t": Algorithm(
            "trapezoid integral of return minus feed of flow times density, plus the growth of mass held in the chamber",
            symbol="Delta_M",
            invariants={
                "within least and greatest difference of the mass flows": lambda v: _between(
                    v["mass_difference_t"] - v["stored_mass_growth_t"], _mass_rate(v["readings"]), v["readings"].time_s
                )
            },
        )
    },
    possible={"stored_mass_growth_t": (-1000.0, 1000.0)},
    requires=(_TIMES_RISE,),
    kind="identity",
    source=CIRCUIT_BALANCE,
)
def mass_difference(readings: CircuitReadings, stored_mass_growth_t: Number = 0.0) -> MassDifference:
    """Return the mass that the ground gave during a push.

    Parameters
    ----------
    readings : time, flows and densities over the push only.
    stored_mass_growth_t : growth of the mass held in the chamber.
    """
    return MassDifference(mass_difference_t=_integral(_mass_rate(readings), readings.time_s) + stored_mass_growth_t)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DrySolids(Record):
    """Dry grains that came back beyond what went out."""

    dry_solids_t: FloatArray


@method(
    "slurry.balance.dry_solids",
    found_by={
        "dry_solids_t": Algorithm(
            "trapezoid integral of return minus feed of flow times excess density over water, times rho_s / (rho_s - 1)",
            symbol="M_s",
            invariants={
                "grains in water weigh rho_s - 1": lambda v: np.isclose(
                    v["dry_solids_t"] * (v["grain_density_t_m3"] - WATER_T_M3) / v["grain_density_t_m3"], _excess_solids(v)
                )
            },
        )
    },
    possible={"grain_density_t_m3": (1.5, 6.0)},
    requires=(_TIMES_RISE,),
    kind="identity",
    source=CIRCUIT_BALANCE,
    dimensional=True,
)
def dry_solids(readings: CircuitReadings, grain_density_t_m3: Number) -> DrySolids:
    """Return the dry mass that the ground gave during a push: blind to water, nearly blind to slurry lost.

    Parameters
    ----------
    readings : time, flows and densities over the push only.
    grain_density_t_m3 : of the ground; bentonite counts with the same density, which cancels while its content stays.
    """
    grain = np.asarray(grain_density_t_m3)
    return DrySolids(dry_solids_t=grain / (grain - WATER_T_M3) * _excess_solids({"readings": readings}))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ExpectedExcavation(Record):
    """What a push should give."""

    excavated_volume_m3: FloatArray
    muck_mass_t: FloatArray
    dry_solids_t: FloatArray


@method(
    "slurry.balance.expected",
    formulas={
        "excavated_volume_m3": Formula("V", "A_f * x_s"),
        "muck_mass_t": Formula("m", "(rho_s * (1 - n) + n) * V"),
        "dry_solids_t": Formula("M_s", "rho_s * (1 - n) * V"),
    },
    kind="identity",
    source=CIRCUIT_BALANCE,
    dimensional=True,
)
def expected_excavation(face_area_m2: Number, stroke_m: Number, grain_density_t_m3: Number, porosity: Number) -> ExpectedExcavation:
    """Return volume, mass and dry mass of the ground that a push cuts.

    Parameters
    ----------
    face_area_m2 : bored area with its overcut.
    stroke_m : of the push.
    grain_density_t_m3 : of the ground.
    porosity : of the ground, its pores full of water.
    """
    volume_m3 = np.multiply(face_area_m2, stroke_m)
    grains_t_m3 = grain_density_t_m3 * np.subtract(1.0, porosity)
    return ExpectedExcavation(
        excavated_volume_m3=volume_m3, muck_mass_t=(grains_t_m3 + WATER_T_M3 * np.asarray(porosity)) * volume_m3, dry_solids_t=grains_t_m3 * volume_m3
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TwoHypotheses(Record):
    """What volume and mass mean if water came in, and if slurry was lost."""

    soil_volume_if_inflow_m3: FloatArray
    water_inflow_m3: FloatArray
    soil_volume_if_loss_m3: FloatArray
    slurry_loss_m3: FloatArray


@method(
    "slurry.balance.two_hypotheses",
    formulas={
        "soil_volume_if_inflow_m3": Formula("V_in", "(Delta_M - Delta_V) / (rho - 1)"),
        "water_inflow_m3": Formula("W_in", "Delta_V - V_in"),
        "soil_volume_if_loss_m3": Formula("V_out", "(Delta_M - rho_f * Delta_V) / (rho - rho_f)"),
        "slurry_loss_m3": Formula("L_s", "V_out - Delta_V"),
    },
    requires=(
        Require(
            "density_t_m3", lambda v: (v["density_t_m3"] > v["feed_density_t_m3"]) & (v["density_t_m3"] > WATER_T_M3), "must be more than that of the feed"
        ),
    ),
    remarks=(
        Remark(
            lambda v: (v["water_inflow_m3"] < 0) & (v["slurry_loss_m3"] < 0),
            "neither water in nor slurry out explains these numbers: check the zeros of the meters in bypass",
        ),
    ),
    kind="identity",
    source=CIRCUIT_BALANCE,
    dimensional=True,
)
def two_hypotheses(volume_difference_m3: Number, mass_difference_t: Number, density_t_m3: Number, feed_density_t_m3: Number) -> TwoHypotheses:
    """Return the ground cut and the water gained, or the ground cut and the slurry lost, that fit volume and mass; a person decides.

    Parameters
    ----------
    volume_difference_m3 : return minus feed over the push.
    mass_difference_t : return minus feed over the push.
    density_t_m3 : of the ground in situ, saturated.
    feed_density_t_m3 : of the slurry.

    Notes
    -----
    A void that fills with slurry shows as a loss: the soil volume of the second hypothesis is then more than the cut.
    """
    inflow_soil_m3 = np.subtract(mass_difference_t, volume_difference_m3) / np.subtract(density_t_m3, WATER_T_M3)
    loss_soil_m3 = (mass_difference_t - np.multiply(feed_density_t_m3, volume_difference_m3)) / np.subtract(density_t_m3, feed_density_t_m3)
    return TwoHypotheses(
        soil_volume_if_inflow_m3=inflow_soil_m3,
        water_inflow_m3=np.asarray(volume_difference_m3 - inflow_soil_m3),
        soil_volume_if_loss_m3=loss_soil_m3,
        slurry_loss_m3=np.asarray(loss_soil_m3 - volume_difference_m3),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SolidsSpread(Record):
    """Dry solids of a ring and their standard deviation."""

    dry_solids_t: FloatArray
    dry_solids_sd_t: FloatArray
    relative_sd: FloatArray


@method(
    "slurry.balance.uncertainty",
    formulas={
        "dry_solids_t": Formula("M_s", "rho_s / (rho_s - 1) * t_d / 3600 * (Q_r * (rho_r - 1) - Q_f * (rho_f - 1))"),
        "dry_solids_sd_t": Formula(
            "s_M", "rho_s / (rho_s - 1) * t_d / 3600 * sqrt(((Q_r * (rho_r - 1))^2 + (Q_f * (rho_f - 1))^2) * s_q^2 + (Q_r^2 + Q_f^2) * s_d^2)"
        ),
        "relative_sd": Formula("s_rel", "s_M / abs(M_s)"),
    },
    symbols={"flow_sd_ratio": "s_q", "density_sd_t_m3": "s_d"},
    possible={"flow_sd_ratio": (0.0, 0.5), "density_sd_t_m3": (0.0, 0.5), "grain_density_t_m3": (1.5, 6.0)},
    valid={"flow_sd_ratio": Range(0.0, 0.02, "electromagnetic meters have 0.0025 to 0.01"), "density_sd_t_m3": Range(0.0, 0.01, "meters have 0.001 to 0.005")},
    remarks=(Remark(lambda v: v["relative_sd"] > 0.08, "more than 8 per cent: limits on a single ring are noise until the meters are zeroed in bypass"),),
    kind="mean",
    source=ERROR_PROPAGATION,
    dimensional=True,
)
def solids_spread(
    duration_s: Number,
    feed_flow_m3_h: Number,
    feed_density_t_m3: Number,
    return_flow_m3_h: Number,
    return_density_t_m3: Number,
    grain_density_t_m3: Number,
    flow_sd_ratio: Number,
    density_sd_t_m3: Number,
) -> SolidsSpread:
    """Return the dry solids of a ring with the spread that its meters leave, each meter wrong by itself and for the whole ring.

    Parameters
    ----------
    duration_s : of the push.
    feed_flow_m3_h : mean.
    feed_density_t_m3 : mean.
    return_flow_m3_h : mean.
    return_density_t_m3 : mean.
    grain_density_t_m3 : of the ground.
    flow_sd_ratio : standard deviation of each flow meter's scale.
    density_sd_t_m3 : standard deviation of each density meter's zero.
    """
    grain = np.asarray(grain_density_t_m3)
    hours = grain / (grain - WATER_T_M3) * duration_s / SECONDS_PER_HOUR
    back = return_flow_m3_h * np.subtract(return_density_t_m3, WATER_T_M3)
    out = feed_flow_m3_h * np.subtract(feed_density_t_m3, WATER_T_M3)
    flow_part = (np.square(back) + np.square(out)) * np.square(flow_sd_ratio)
    density_part = (np.square(return_flow_m3_h) + np.square(feed_flow_m3_h)) * np.square(density_sd_t_m3)
    solids_t, sd_t = hours * (back - out), hours * np.sqrt(flow_part + density_part)
    with np.errstate(divide="ignore", invalid="ignore"):
        relative = sd_t / np.abs(solids_t)
    return SolidsSpread(dry_solids_t=solids_t, dry_solids_sd_t=sd_t, relative_sd=relative)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BypassZero(Record):
    """How the return meters differ from the feed meters on the same slurry."""

    return_flow_error_ratio: FloatArray
    return_density_offset_t_m3: FloatArray


@method(
    "slurry.balance.bypass_zero",
    found_by={
        "return_flow_error_ratio": Algorithm("mean return flow over mean feed flow, less one", symbol="e_q"),
        "return_density_offset_t_m3": Algorithm(
            "mean of return density less feed density",
            symbol="d_rho",
            invariants={
                "taken off, the means agree": lambda v: np.isclose(
                    np.mean(v["readings"].return_density_t_m3, axis=-1) - v["return_density_offset_t_m3"], np.mean(v["readings"].feed_density_t_m3, axis=-1)
                )
            },
        ),
    },
    requires=(Require("readings", lambda v: np.mean(v["readings"].feed_flow_m3_h, axis=-1) > 0, "the feed must flow"),),
    remarks=(
        Remark(lambda v: np.abs(v["return_flow_error_ratio"]) > 0.01, "flows differ by more than 1 per cent: a person must confirm the new zero"),
        Remark(lambda v: np.abs(v["return_density_offset_t_m3"]) > 0.003, "densities differ by more than 0.003 t/m3: a person must confirm the new zero"),
    ),
    kind="identity",
    source=CIRCUIT_BALANCE,
)
def bypass_zero(readings: BypassReadings) -> BypassZero:
    """Return the error of the return meters against the feed meters in bypass.

    Parameters
    ----------
    readings : flows and densities in bypass only, after one volume of the pipe has been flushed, three minutes at least.
    """
    with np.errstate(divide="ignore", invalid="ignore"):
        ratio = np.mean(readings.return_flow_m3_h, axis=-1) / np.mean(readings.feed_flow_m3_h, axis=-1)
    offset = np.mean(readings.return_density_t_m3 - readings.feed_density_t_m3, axis=-1)
    return BypassZero(return_flow_error_ratio=np.asarray(ratio - 1), return_density_offset_t_m3=np.asarray(offset))
