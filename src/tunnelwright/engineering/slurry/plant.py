"""Separation plant, growth of fines in the circuit, presses, and the water of a ring."""

from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from tunnelwright.engineering.slurry.sources import GEOMETRY, PLITT_1976, TANK_BALANCE, WATER_BALANCE
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Range, Remark, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Series, Table, Values

# Square metre times millimetre per minute, in cubic metres per hour.
M3_H_PER_M2_MM_MIN: Final = 0.06
SECONDS_PER_DAY: Final = 86400.0
WATER_T_M3: Final = 1.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SolidsRate(Record):
    """Dry mass per hour."""

    dry_solids_t_h: FloatArray


@method(
    "slurry.plant.solids_rate",
    formulas={"dry_solids_t_h": Formula("M_rate", "0.06 * A_f * v * rho_d")},
    kind="identity",
    source=GEOMETRY,
)
def solids_rate(face_area_m2: Number, advance_rate_mm_min: Number, dry_density_t_m3: Number) -> SolidsRate:
    """Return the dry mass that reaches the plant in an hour of pushing.

    Parameters
    ----------
    face_area_m2 : bored area.
    advance_rate_mm_min : peak, which sizes the plant, not the mean.
    dry_density_t_m3 : of the ground in situ.
    """
    return SolidsRate(dry_solids_t_h=np.asarray(M3_H_PER_M2_MM_MIN * np.multiply(face_area_m2, advance_rate_mm_min) * dry_density_t_m3))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class GrainClasses(Table):
    """Classes of grains with their share of the dry mass, one row each."""

    grain_size_mm: FloatArray
    mass_ratio: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SeparationStages(Table):
    """Stages of separation in the order of flow, one row each."""

    cut_size_mm: FloatArray
    sharpness: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Separation(Record):
    """Shares of the feed that each stage takes out, and that pass all."""

    removed_ratio: Series
    passed_ratio: FloatArray


@method(
    "slurry.plant.partition_plitt",
    found_by={
        "removed_ratio": Algorithm(
            "per stage the sum over the classes of share, of what earlier stages let pass, times 1 - exp(-ln 2 (d / d50)^m)",
            symbol="r_st",
            invariants={"shares between 0 and 1": lambda v: (v["removed_ratio"] >= -1e-12) & (v["removed_ratio"] <= 1 + 1e-12)},
        ),
        "passed_ratio": Algorithm(
            "sum over the classes of share times what every stage lets pass",
            symbol="r_pass",
            invariants={
                "nothing is lost": lambda v: np.isclose(np.sum(v["removed_ratio"], axis=-1) + v["passed_ratio"], np.sum(v["grains"].mass_ratio, axis=-1))
            },
        ),
    },
    possible={"mass_ratio": (0.0, 1.0), "cut_size_mm": (1e-4, 500.0), "sharpness": (0.3, 20.0)},
    requires=(
        Require(
            "grains",
            lambda v: np.abs(np.sum(v["grains"].mass_ratio, axis=-1) - 1) <= 0.005,
            "shares must add up to 1 within half a per cent",
            "was per cent given?",
        ),
    ),
    kind="mean",
    source=PLITT_1976,
)
def separation(grains: GrainClasses, stages: SeparationStages) -> Separation:
    """Return what each stage of the plant takes out of the return, and what goes back into the circuit.

    Parameters
    ----------
    grains : size of each class and its share of the dry mass.
    stages : size that goes half each way, and sharpness of the cut (2 to 4), of each stage: screen, desander, desilter.
    """
    # Axes: places, stages, classes.
    size = grains.grain_size_mm[..., None, :] / stages.cut_size_mm[..., :, None]
    kept_back = -np.expm1(-np.log(2.0) * np.power(size, stages.sharpness[..., :, None]))
    let_pass = np.cumprod(1 - kept_back, axis=-2)
    arrived = np.concatenate([np.ones_like(let_pass[..., :1, :]), let_pass[..., :-1, :]], axis=-2)
    share = grains.mass_ratio[..., None, :]
    return Separation(removed_ratio=np.sum(share * arrived * kept_back, axis=-1), passed_ratio=np.sum(grains.mass_ratio * let_pass[..., -1, :], axis=-1))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TankCourse(Record):
    """Limit of the fines, when it is met, what would hold it, and the state at an hour."""

    limit_concentration_t_m3: FloatArray
    bleed_to_hold_m3_h: FloatArray
    time_to_limit_h: FloatArray
    concentration_end_t_m3: FloatArray
    density_end_t_m3: FloatArray


def _time_is_right(values: Values) -> Any:
    """Return whether the concentration is at its limit after the time found."""
    hours = values["time_to_limit_h"]
    reached = _concentration(values, hours)
    return ~np.isfinite(hours) | (hours == 0) | np.isclose(reached, values["limit_concentration_t_m3"], rtol=1e-6)


def _concentration(values: Values, hours: Any) -> FloatArray:
    """Return the concentration after so many hours: straight without bleed, exponential with it.

    Notes
    -----
    Written as the gain at the start's rate times (1 - exp(-a)) / a with a = Q t / V, which is one for no bleed: the usual form loses its digits there.
    """
    volume, start = values["active_volume_m3"], values["start_concentration_t_m3"]
    exchanges = values["bleed_flow_m3_h"] * hours / volume
    with np.errstate(divide="ignore", invalid="ignore"):
        levelling = np.where(np.equal(exchanges, 0), 1.0, -np.expm1(-exchanges) / exchanges)
    gain = values["fines_rate_t_h"] * hours / volume + (values["fresh_concentration_t_m3"] - start) * exchanges
    return np.asarray(start + gain * levelling)


@method(
    "slurry.fines.tank_balance",
    formulas={
        "limit_concentration_t_m3": Formula("C_lim", "(rho_lim - 1) / (1 - 1 / rho_s)"),
        "bleed_to_hold_m3_h": Formula("Q_hold", "M_f / (C_lim - C_0) if C_lim > C_0 else 1 / 0"),
        "concentration_end_t_m3": Formula("C_end", "C_1 + M_f * t_h / V_a if Q_b == 0 else C_0 + M_f / Q_b + (C_1 - C_0 - M_f / Q_b) * exp(-Q_b * t_h / V_a)"),
        "density_end_t_m3": Formula("rho_end", "1 + C_end * (1 - 1 / rho_s)"),
    },
    found_by={
        "time_to_limit_h": Algorithm(
            "V (C_lim - C_start) / M without bleed, V / Q ln((C_inf - C_start) / (C_inf - C_lim)) with it; endless where never met, 0 where passed",
            symbol="t_lim",
            invariants={"the limit is met then": _time_is_right},
        )
    },
    symbols={
        "active_volume_m3": "V_a",
        "fines_rate_t_h": "M_f",
        "start_concentration_t_m3": "C_1",
        "fresh_concentration_t_m3": "C_0",
        "bleed_flow_m3_h": "Q_b",
        "limit_density_t_m3": "rho_lim",
        "duration_h": "t_h",
    },
    possible={
        "active_volume_m3": (1.0, 1e6),
        "fines_rate_t_h": (0.0, 5000.0),
        "start_concentration_t_m3": (0.0, 2.0),
        "fresh_concentration_t_m3": (0.0, 2.0),
        "bleed_flow_m3_h": (0.0, 20000.0),
        "limit_density_t_m3": (1.0, 2.0),
        "grain_density_t_m3": (1.5, 6.0),
        "duration_h": (0.0, 1e5),
    },
    remarks=(
        Remark(
            lambda v: v["density_end_t_m3"] > v["limit_density_t_m3"],
            "the feed is heavier than its limit at the end of this time: bleed more or stop and treat",
        ),
        Remark(lambda v: v["limit_concentration_t_m3"] <= v["fresh_concentration_t_m3"], "fresh slurry is already above the limit: no bleed holds it"),
    ),
    kind="identity",
    source=TANK_BALANCE,
    dimensional=True,
)
def tank_balance(
    active_volume_m3: Number,
    fines_rate_t_h: Number,
    start_concentration_t_m3: Number,
    fresh_concentration_t_m3: Number,
    bleed_flow_m3_h: Number,
    limit_density_t_m3: Number,
    grain_density_t_m3: Number,
    duration_h: Number | None = None,
) -> TankCourse:
    """Return how fines gather in the circuit, when the feed gets too heavy and the bleed that holds it.

    Parameters
    ----------
    active_volume_m3 : slurry in the circuit, well mixed.
    fines_rate_t_h : that pass the plant.
    start_concentration_t_m3 : at the start.
    fresh_concentration_t_m3 : of the slurry that replaces what is bled.
    bleed_flow_m3_h : taken out and replaced; 0 for none.
    limit_density_t_m3 : of the feed.
    grain_density_t_m3 : of the fines.
    duration_h : after which the state is wanted; without it there is none.
    """
    limit = np.subtract(limit_density_t_m3, WATER_T_M3) / (1 - WATER_T_M3 / np.asarray(grain_density_t_m3))
    values = {
        "active_volume_m3": active_volume_m3,
        "fines_rate_t_h": fines_rate_t_h,
        "start_concentration_t_m3": start_concentration_t_m3,
        "fresh_concentration_t_m3": fresh_concentration_t_m3,
        "bleed_flow_m3_h": bleed_flow_m3_h,
    }
    end = _concentration(values, np.nan if duration_h is None else duration_h)
    with np.errstate(divide="ignore", invalid="ignore"):
        hold = np.where(limit > fresh_concentration_t_m3, fines_rate_t_h / (limit - fresh_concentration_t_m3), np.inf)
    hold = np.where(np.isnan(limit + fresh_concentration_t_m3), np.nan, hold)
    return TankCourse(
        limit_concentration_t_m3=limit,
        bleed_to_hold_m3_h=hold,
        time_to_limit_h=_hours_to(limit, values),
        concentration_end_t_m3=end,
        density_end_t_m3=WATER_T_M3 + end * (1 - WATER_T_M3 / np.asarray(grain_density_t_m3)),
    )


def _hours_to(limit: FloatArray, values: Values) -> FloatArray:
    """Return the hours until the concentration meets its limit, infinite where it never does.

    Notes
    -----
    V / Q ln((C_inf - C_start) / (C_inf - C_lim)), written as the time at the rate left over at the limit times ln(1 + z) / z, which is one for no bleed.
    """
    bleed, start = values["bleed_flow_m3_h"], values["start_concentration_t_m3"]
    left_over = values["fines_rate_t_h"] - bleed * (limit - values["fresh_concentration_t_m3"])
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        exchanges = bleed * (limit - start) / left_over
        levelling = np.where(np.equal(exchanges, 0), 1.0, np.log1p(exchanges) / exchanges)
        hours = np.where(left_over > 0, values["active_volume_m3"] * (limit - start) / left_over * levelling, np.inf)
    return np.where(np.isnan(left_over + start), np.nan, np.where(start >= limit, 0.0, hours))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FilterPresses(Record):
    """What a press does in a day and how many are needed."""

    daily_capacity_t: FloatArray
    press_count: FloatArray


@method(
    "slurry.plant.filter_presses",
    formulas={
        "daily_capacity_t": Formula("m_day", "V_c * rho_cake * 86400 / T_cyc * a_v"),
        "press_count": Formula("n_press", "ceil(m_fines / m_day)"),
    },
    symbols={"dry_cake_density_t_m3": "rho_cake", "daily_fines_t": "m_fines", "availability": "a_v"},
    possible={"daily_fines_t": (0.0, 1e5), "dry_cake_density_t_m3": (0.2, 2.5), "cycle_time_s": (60.0, 86400.0), "availability": (0.01, 1.0)},
    valid={"dry_cake_density_t_m3": Range(1.0, 1.5, "cake has 1.1 to 1.4 dry")},
    kind="identity",
    source=GEOMETRY,
    dimensional=True,
)
def filter_presses(
    daily_fines_t: Number, chamber_volume_m3: Number, dry_cake_density_t_m3: Number, cycle_time_s: Number, availability: Number
) -> FilterPresses:
    """Return how many filter presses a day's fines need.

    Parameters
    ----------
    daily_fines_t : dry.
    chamber_volume_m3 : of all chambers of one press.
    dry_cake_density_t_m3 : dry mass over volume of the cake.
    cycle_time_s : from filling to filling.
    availability : share of the day in which a press works.
    """
    capacity_t = np.multiply(chamber_volume_m3, dry_cake_density_t_m3) * SECONDS_PER_DAY / cycle_time_s * availability
    return FilterPresses(daily_capacity_t=np.asarray(capacity_t), press_count=np.ceil(daily_fines_t / capacity_t))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RingWater(Record):
    """Water that a ring leaves in the circuit."""

    water_net_m3: FloatArray


@method(
    "slurry.water.ring_balance",
    formulas={"water_net_m3": Formula("W_net", "n * V + W_in + W_fl - w_cake * m_d")},
    symbols={"inflow_m3": "W_in", "flushing_m3": "W_fl", "cake_water_content": "w_cake"},
    possible={"inflow_m3": (0.0, 5000.0), "flushing_m3": (0.0, 1000.0), "cake_water_content": (0.0, 3.0)},
    valid={"cake_water_content": Range(0.10, 0.5, "screen sand 0.15 to 0.25, cake 0.25 to 0.40")},
    kind="identity",
    source=WATER_BALANCE,
    dimensional=True,
)
def ring_water(
    excavated_volume_m3: Number, porosity: Number, dry_mass_t: Number, cake_water_content: Number, inflow_m3: Number = 0.0, flushing_m3: Number = 0.0
) -> RingWater:
    """Return the water that a ring adds to the circuit: surplus slurry when positive, make-up water when negative.

    Parameters
    ----------
    excavated_volume_m3 : in the ground, its pores full of water.
    porosity : of the ground.
    dry_mass_t : that leaves over screens and presses.
    cake_water_content : water over dry mass of what leaves.
    inflow_m3 : ground water.
    flushing_m3 : water let in for flushing and seals.
    """
    pores_m3 = np.multiply(porosity, excavated_volume_m3)
    return RingWater(water_net_m3=np.asarray(pores_m3 + inflow_m3 + flushing_m3 - np.multiply(cake_water_content, dry_mass_t) / WATER_T_M3))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MixtureDensity(Record):
    """Density of grains in water."""

    density_t_m3: FloatArray


@method(
    "slurry.density.from_concentration",
    formulas={"density_t_m3": Formula("rho", "1 + C_s * (1 - 1 / rho_s)")},
    symbols={"concentration_t_m3": "C_s"},
    possible={"concentration_t_m3": (0.0, 3.0), "grain_density_t_m3": (1.5, 6.0)},
    kind="identity",
    source=WATER_BALANCE,
    dimensional=True,
)
def mixture_density(concentration_t_m3: Number, grain_density_t_m3: Number) -> MixtureDensity:
    """Return the density of a slurry from the mass of its grains per volume.

    Parameters
    ----------
    concentration_t_m3 : dry mass over volume of slurry.
    grain_density_t_m3 : of the grains; bentonite 2.75, fines 2.65.
    """
    return MixtureDensity(density_t_m3=np.asarray(WATER_T_M3 + concentration_t_m3 * (1 - WATER_T_M3 / np.asarray(grain_density_t_m3))))
