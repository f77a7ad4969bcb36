"""Criteria of the annulus grout, each at the ring round which it went."""

import numpy as np

from tunnelwright.drive.kernels import kernel
from tunnelwright.drive.plan import Plan
from tunnelwright.drive.reconcile.series import CriterionSeries, full, states, words
from tunnelwright.drive.recorded import RecordedRings
from tunnelwright.vocabulary.types import FloatArray, IntArray

UPPER_THIRD_RAD = np.pi / 3
UPPER_THIRD_SHARE = 0.25
PORT_SHARE = (0.5, 1.5)
DEFICIT_RINGS = 10
# Twenty rings as base, ten at least, four robust deviations: rings per false alarm above a thousand for independent normal values.
BASE_RINGS, LEAST_BASE, UNUSUAL_SD = 20, 10, 4.0
LEAST_SPREAD = 0.02


def grouted_ring_index(plan: Plan, recorded: RecordedRings) -> IntArray:
    """Return, for every recorded push, the place in the plan of the ring that its grout surrounds; -1 before the first."""
    ring = plan.rings.grout_ring_number[recorded.plan_index]
    return np.where(ring >= 1, ring - 1, -1).astype(np.int64)


def volume_ratio(plan: Plan, recorded: RecordedRings) -> CriterionSeries:
    """Return injected over theoretical annulus volume of the ring at the outlet, against the fill factor planned there."""
    at = grouted_ring_index(plan, recorded)
    volume = recorded.number("grout_volume_m3")
    ratio = np.where(at >= 0, volume / plan.grout.annulus_volume_m3[at], np.nan)
    factor = plan.grout.fill_factor[at]
    low, high = 0.95 * factor, 1.3 * factor
    act_low, act_high = np.maximum(0.9 * factor, 0.95), np.maximum(1.6 * factor, 2.0)
    unchecked = np.isnan(ratio) | (recorded.word("grade_grout") == "C")
    return CriterionSeries(
        key="grout_ratio",
        applies=at >= 0,
        name="Grout, injected over annulus",
        place="grout",
        unit="",
        operator="within",
        value=ratio,
        limit_low=low,
        limit_high=high,
        state=states(recorded.count, act=(ratio < act_low) | (ratio > act_high), watch=(ratio < low) | (ratio > high), unchecked=unchecked),
        comment=words(
            recorded.count,
            (at < 0, "the tail has not left the launch"),
            (unchecked, "grout volume missing or covering too little of the push"),
            (ratio < low, _ring_words(at, "is short of grout")),
            (ratio > high, _ring_words(at, "took more grout than planned")),
        ),
        method="grout.check.ring",
    )


def _ring_words(at: IntArray, text: str) -> list[str]:
    return [f"ring {one + 1} {text}" for one in at]


def unusual_volume(plan: Plan, recorded: RecordedRings) -> CriterionSeries:
    """Return how far the grout of a ring lies from what the rings before it took, in robust standard deviations.

    Notes
    -----
    The base is the last twenty rings that were themselves usual, as share of their plan; a void that stays inside the limits of the ratio shows here. The base
    never learns from a ring outside its limit.
    """
    at = grouted_ring_index(plan, recorded)
    share = np.where(at >= 0, recorded.number("grout_volume_m3") / plan.grout.grout_volume_m3[at], np.nan)
    value = np.full(recorded.count, np.nan)
    usual: list[float] = []
    for row in range(recorded.count):
        if len(usual) >= LEAST_BASE:
            base = kernel("record.trend.robust_base")(value=np.array(usual[-BASE_RINGS:]))
            value[row] = (share[row] - float(base.median)) / max(float(base.standard_deviation), LEAST_SPREAD)
        if np.isfinite(share[row]) and not abs(value[row]) > UNUSUAL_SD:
            usual.append(float(share[row]))
    return CriterionSeries(
        key="grout_unusual",
        applies=at >= 0,
        name="Grout against the twenty rings before",
        place="grout",
        unit="sd",
        operator="within",
        value=value,
        limit_low=full(recorded.count, -UNUSUAL_SD),
        limit_high=full(recorded.count, UNUSUAL_SD),
        state=states(recorded.count, act=np.zeros(recorded.count), watch=np.abs(value) > UNUSUAL_SD, unchecked=np.isnan(value)),
        comment=words(
            recorded.count,
            (np.isnan(value), "needs ten usual rings before it and the volume of this one"),
            (value > UNUSUAL_SD, [f"ring {one + 1} took much more than the rings before it: a void, or grout that goes elsewhere" for one in at]),
            (value < -UNUSUAL_SD, [f"ring {one + 1} took much less than the rings before it" for one in at]),
        ),
        method="record.trend.robust_base",
        over_rings=True,
    )


def rolling_deficit(plan: Plan, recorded: RecordedRings) -> CriterionSeries:
    """Return what is missing against target, summed over the last ten rings; more than one annulus is an act."""
    at = grouted_ring_index(plan, recorded)
    short = np.maximum(0.0, plan.grout.grout_volume_m3[at] - recorded.number("grout_volume_m3"))
    short = np.where(at >= 0, short, np.nan)
    total = np.array([np.sum(short[max(0, row - DEFICIT_RINGS + 1) : row + 1]) for row in range(recorded.count)])
    limit = plan.grout.annulus_volume_m3[at]
    return CriterionSeries(
        key="grout_deficit",
        applies=at >= 0,
        name="Grout, shortfall of last ten rings",
        place="grout",
        unit="m3",
        operator="<=",
        value=total,
        limit_low=full(recorded.count, np.nan),
        limit_high=limit,
        state=states(recorded.count, act=total > limit, watch=np.zeros(recorded.count), unchecked=np.isnan(total)),
        comment=words(
            recorded.count,
            (np.isnan(total), "a volume is missing among the last ten rings"),
            (total > limit, "the shortfalls of ten rings add up to more than one annulus"),
        ),
        method="grout.loss.rolling_deficit",
        over_rings=True,
    )


def port_shares(plan: Plan, recorded: RecordedRings) -> CriterionSeries:
    """Return the smallest share of a port, relative to an equal share."""
    shares = _relative_shares(plan, recorded)
    complete = np.isfinite(shares).all(axis=1)
    smallest = np.where(complete, shares.min(axis=1, initial=np.inf), np.nan)
    largest = np.where(complete, shares.max(axis=1, initial=-np.inf), np.nan)
    names = [port.name for port in plan.case.machine.grout_ports]
    weakest = [names[int(np.argmin(row))] if np.isfinite(row).all() and len(row) else "" for row in shares]
    return CriterionSeries(
        key="grout_port_share",
        name="Grout, smallest share of a port",
        place="grout",
        unit="",
        operator=">=",
        value=smallest,
        limit_low=full(recorded.count, PORT_SHARE[0]),
        limit_high=full(recorded.count, np.nan),
        state=states(recorded.count, act=np.zeros(recorded.count), watch=(smallest < PORT_SHARE[0]) | (largest > PORT_SHARE[1]), unchecked=~complete),
        comment=words(
            recorded.count,
            (~complete, "the volume of a port is missing; missing is not zero"),
            (smallest < PORT_SHARE[0], [f"port {name} gave less than half of an equal share" for name in weakest]),
            (largest > PORT_SHARE[1], "one port gave more than one and a half of an equal share"),
        ),
        method="grout.check.ring",
    )


def _relative_shares(plan: Plan, recorded: RecordedRings) -> FloatArray:
    ports = tuple(port.name for port in plan.case.machine.grout_ports)
    volumes = recorded.family("grout_volume_{}_m3", ports)
    total = volumes.sum(axis=1, keepdims=True)
    return np.divide(volumes * len(ports), total, out=np.full_like(volumes, np.nan), where=total > 0)


def upper_third(plan: Plan, recorded: RecordedRings) -> CriterionSeries:
    """Return the share of the ports in the upper third together: an empty crown is the usual failure."""
    angle = np.mod(plan.case.machine.port_clock_angle_rad + np.pi, 2 * np.pi) - np.pi
    is_upper = np.abs(angle) <= UPPER_THIRD_RAD + 1e-9
    shares = _relative_shares(plan, recorded)
    value = shares[:, is_upper].sum(axis=1) / max(1, shares.shape[1])
    none = np.full(recorded.count, not is_upper.any())
    return CriterionSeries(
        key="grout_upper_share",
        name="Grout, upper third together",
        place="grout",
        unit="",
        operator=">=",
        value=np.where(none, np.nan, value),
        limit_low=full(recorded.count, UPPER_THIRD_SHARE),
        limit_high=full(recorded.count, np.nan),
        state=states(recorded.count, act=np.zeros(recorded.count), watch=value < UPPER_THIRD_SHARE, unchecked=np.isnan(value) | none),
        comment=words(
            recorded.count,
            (none, "this machine has no port in the upper third"),
            (np.isnan(value), "the volume of a port is missing; missing is not zero"),
            (value < UPPER_THIRD_SHARE, "less than a quarter went in above; the crown may be empty"),
        ),
        method="grout.check.ring",
    )


def port_pressure(plan: Plan, recorded: RecordedRings) -> CriterionSeries:
    """Return how far the worst port's middle pressure lies from its window, and the state that follows from middle and high values."""
    at = grouted_ring_index(plan, recorded)
    ports = tuple(port.name for port in plan.case.machine.grout_ports)
    middle = recorded.family("grout_pressure_{}_p50_kpa", ports)
    high = recorded.family("grout_pressure_{}_p90_kpa", ports)
    low_limit, high_limit = plan.grout.port_lower_kpa[at], plan.grout.port_upper_kpa[at]
    above, below = high - high_limit, low_limit - middle
    worst = np.nanmax(np.where(np.isfinite(above), np.maximum(above, below), -np.inf), axis=1, initial=-np.inf)
    value = np.where(np.isfinite(worst) & (at >= 0), worst, np.nan)
    act = np.nan_to_num(above, nan=-np.inf).max(axis=1, initial=-np.inf) > 0
    watch = np.nan_to_num(below, nan=-np.inf).max(axis=1, initial=-np.inf) > 0
    closed = ~plan.grout.has_window[at]
    return CriterionSeries(
        key="grout_pressure",
        applies=at >= 0,
        name="Grout pressure outside window, worst port",
        place="grout",
        unit="kPa",
        operator="<=",
        value=np.maximum(value, 0.0),
        limit_low=full(recorded.count, np.nan),
        limit_high=full(recorded.count, 0.0),
        state=states(recorded.count, act=act & ~closed, watch=watch | closed, unchecked=np.isnan(value)),
        comment=words(
            recorded.count,
            (at < 0, "the tail has not left the launch"),
            (np.isnan(value), "no pressure of any port"),
            (closed, "the limits leave no window here: water and support ask more than the cover bears"),
            (act, "a tenth of the push or more above the greatest pressure at a port"),
            (watch, "the middle pressure of a port below its least value"),
        ),
        method="grout.pressure.window",
    )
