"""Criteria of the muck: one ring, the last five, and the charts that find slow loss."""

from dataclasses import dataclass

import numpy as np

from tunnelwright.drive.kernels import kernel
from tunnelwright.drive.plan import Plan
from tunnelwright.drive.reconcile.series import CriterionSeries, full, states, words
from tunnelwright.drive.recorded import RecordedRings
from tunnelwright.vocabulary.types import BoolArray, FloatArray

REFERENCE_RINGS = 20
LEAST_REFERENCE_RINGS = 10
WEIGHERS_DIFFER = 0.03
WEIGHER_WINDOW = 10
LAST_RINGS = 5
WATCH_RATIO, ACT_RATIO = 0.05, 0.10
WATCH_SD, ACT_SD = 2.0, 3.0
ACT_SUM_OF_RING = 0.25
UNFIT_SD_RATIO = 0.05


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MuckBalance:
    """Measured against expected muck of every recorded ring.

    Parameters
    ----------
    mass_ratio : of the trusted mass, with the scale factor in force.
    weigher_ratio : of every belt weigher, raw, shape (rings, weighers).
    weigher_difference : running difference of two weighers over ten rings, NaN with one.
    scale_factor : in force; 1 until a person has confirmed another.
    proposed_scale_factor : median over the reference window, for a person to confirm.
    """

    measured_mass_t: FloatArray
    excavated_volume_m3: FloatArray
    expected_mass_t: FloatArray
    expected_sd_t: FloatArray
    mass_ratio: FloatArray
    weigher_ratio: FloatArray
    weigher_difference: FloatArray
    excess_m3: FloatArray
    residual: FloatArray
    ring_sd_ratio: FloatArray
    common_sd_ratio: FloatArray
    unchecked: BoolArray
    scale_factor: float
    proposed_scale_factor: float


def muck_balance(plan: Plan, recorded: RecordedRings, scale_factor: float = 1.0) -> MuckBalance:
    """Return the muck balance; expected mass follows the measured stroke and the measured liquids of each push."""
    at = recorded.plan_index
    weighers = tuple(weigher.name for weigher in plan.case.machine.belt_weighers)
    masses = recorded.family("muck_mass_{}_t", weighers)
    measured = recorded.number("muck_mass_t")
    expected, sd_t = _expected(plan, recorded)
    ring_sd, common_sd = plan.muck.ring_sd_ratio[at], plan.muck.common_sd_ratio[at]
    density = plan.muck.density_t_m3[at]
    volume = plan.muck.excavated_volume_m3[at] * _stroke_share(plan, recorded)
    found = kernel("muck.excess.single_ring")(
        measured_mass_t=measured,
        expected_mass_t=expected,
        density_t_m3=density,
        excavated_volume_m3=volume,
        weigher_scale_factor=scale_factor,
        ring_sd_ratio=ring_sd,
    )
    unchecked = np.isnan(measured) | (recorded.word("grade_muck") == "C")
    return MuckBalance(
        measured_mass_t=measured,
        excavated_volume_m3=volume,
        expected_mass_t=expected,
        expected_sd_t=sd_t,
        mass_ratio=np.asarray(found.mass_ratio),
        weigher_ratio=masses / expected[:, None],
        weigher_difference=_running_difference(masses),
        excess_m3=np.asarray(found.muck_excess_m3),
        residual=np.asarray(found.standardised_residual),
        ring_sd_ratio=ring_sd,
        common_sd_ratio=common_sd,
        unchecked=unchecked,
        scale_factor=scale_factor,
        proposed_scale_factor=_proposed_scale(measured, expected, unchecked),
    )


def _stroke_share(plan: Plan, recorded: RecordedRings) -> FloatArray:
    """Return measured stroke over planned; where the log saw no whole push the plan's stands."""
    planned = plan.case.ring_type.ring_length_m + plan.case.ring_type.joint_gap_mm / 1000.0
    share = recorded.number("stroke_m") / planned
    return np.where(np.isfinite(share) & (share > 0), share, 1.0)


def _expected(plan: Plan, recorded: RecordedRings) -> tuple[FloatArray, FloatArray]:
    at = recorded.plan_index
    share = _stroke_share(plan, recorded)
    solution, water = recorded.number("solution_volume_m3"), recorded.number("added_water_t")
    solution = np.where(np.isnan(solution), plan.muck.solution_volume_m3[at] * share, solution)
    water = np.where(np.isnan(water), plan.muck.added_water_t[at] * share, water)
    expected = kernel("muck.mass.expected")(
        density_t_m3=plan.muck.density_t_m3[at],
        water_content=plan.muck.water_content[at],
        excavated_volume_m3=plan.muck.excavated_volume_m3[at] * share,
        solution_volume_m3=solution,
        added_water_t=water,
    ).muck_mass_t
    return np.asarray(expected), np.asarray(expected) * plan.muck.ring_sd_ratio[at]


def _running_difference(masses: FloatArray) -> FloatArray:
    """Return the running median over ten rings of the relative difference of the first two weighers."""
    if masses.shape[1] < 2:
        return np.full(len(masses), np.nan)
    difference = masses[:, 1] / masses[:, 0] - 1.0
    running = np.full(len(masses), np.nan)
    for row in range(len(masses)):
        window = difference[max(0, row - WEIGHER_WINDOW + 1) : row + 1]
        window = window[np.isfinite(window)]
        if len(window) >= WEIGHER_WINDOW // 2:
            running[row] = np.median(window)
    return running


def _proposed_scale(measured: FloatArray, expected: FloatArray, unchecked: BoolArray) -> float:
    usable = np.flatnonzero(~unchecked)[:REFERENCE_RINGS]
    if len(usable) < LEAST_REFERENCE_RINGS:
        return np.nan
    return float(kernel("muck.bias.scale_factor")(measured_mass_t=measured[usable], expected_mass_t=expected[usable]).weigher_scale_factor)


def weighers_disagree(balance: MuckBalance) -> BoolArray:
    """Return where two belt weighers differ so much that neither is trusted."""
    return np.nan_to_num(np.abs(balance.weigher_difference)) > WEIGHERS_DIFFER


def single_ring(plan: Plan, recorded: RecordedRings, balance: MuckBalance) -> CriterionSeries:
    """Return measured over expected mass of one ring.

    Notes
    -----
    Watch beyond max(5 %, 2 s), act beyond max(10 %, 3 s), both senses; s above 5 % is itself an act. Where two weighers differ the ring is not checked, unless
    both say act: an instrument cannot hide what the other one shows as well.
    """
    watch_at = np.maximum(WATCH_RATIO, WATCH_SD * balance.ring_sd_ratio)
    act_at = np.maximum(ACT_RATIO, ACT_SD * balance.ring_sd_ratio)
    off = np.abs(balance.mass_ratio - 1.0)
    unfit = balance.ring_sd_ratio > UNFIT_SD_RATIO
    disagree = weighers_disagree(balance)
    all_act = (
        (np.abs(balance.weigher_ratio / balance.scale_factor - 1.0) > act_at[:, None]).all(axis=1)
        if balance.weigher_ratio.shape[1] > 1
        else np.zeros(len(off), dtype=bool)
    )
    act = ((off > act_at) & ~disagree) | (disagree & all_act) | unfit
    unchecked = (balance.unchecked | disagree) & ~act
    return CriterionSeries(
        key="muck_ratio",
        name="Muck, measured over expected",
        place="face",
        unit="",
        operator="within",
        value=balance.mass_ratio,
        limit_low=1.0 - watch_at,
        limit_high=1.0 + watch_at,
        state=states(recorded.count, act=act, watch=off > watch_at, unchecked=unchecked),
        comment=words(
            recorded.count,
            (act & unfit, "the scatter of the weighing is above 5 %: unfit to show a loss"),
            (act, _excess_words(balance)),
            (disagree & unchecked, _disagreement_words(balance)),
            (balance.unchecked, "belt mass missing or covering too little of the push"),
            (off > watch_at, _excess_words(balance)),
        ),
        method="muck.excess.single_ring",
    )


def _excess_words(balance: MuckBalance) -> list[str]:
    pairs = zip(balance.excess_m3, balance.mass_ratio, strict=True)
    return [f"{excess:+.1f} m3 against the bore, {ratio - 1:+.1%} of the expected mass" for excess, ratio in pairs]


def _disagreement_words(balance: MuckBalance) -> list[str]:
    return [f"the two belt weighers differ by {difference:+.1%} over ten rings: neither is trusted" for difference in balance.weigher_difference]


def last_five(plan: Plan, recorded: RecordedRings, balance: MuckBalance) -> CriterionSeries:
    """Return the excess volume summed over the last five recorded rings."""
    usable = np.where(balance.unchecked | weighers_disagree(balance), np.nan, balance.excess_m3)
    total = np.full(recorded.count, np.nan)
    sd = np.full(recorded.count, np.nan)
    volume = plan.muck.excavated_volume_m3[recorded.plan_index]
    density = plan.muck.density_t_m3[recorded.plan_index]
    for row in range(LAST_RINGS - 1, recorded.count):
        window = slice(row - LAST_RINGS + 1, row + 1)
        if recorded.ring_number[row] - recorded.ring_number[row - LAST_RINGS + 1] == LAST_RINGS - 1:
            total[row] = usable[window].sum()
            ring = balance.ring_sd_ratio[window].mean() * np.sqrt(LAST_RINGS)
            common = balance.common_sd_ratio[window].mean() * LAST_RINGS
            sd[row] = np.hypot(ring, common) * balance.expected_mass_t[window].mean() / density[row]
    watch_at, act_at = WATCH_SD * sd, np.maximum(ACT_SUM_OF_RING * volume, WATCH_SD * sd)
    return CriterionSeries(
        key="muck_last_five",
        name="Muck, excess of last five pushes",
        place="face",
        unit="m3",
        operator="within",
        value=total,
        limit_low=-watch_at,
        limit_high=watch_at,
        state=states(recorded.count, act=total > act_at, watch=np.abs(total) > watch_at, unchecked=np.isnan(total)),
        comment=words(
            recorded.count,
            (np.isnan(total), "five rings in a row with a trusted mass are needed"),
            (total > act_at, "more than a quarter of a ring's volume too much in five pushes"),
            (np.abs(total) > watch_at, "outside twice its standard deviation"),
        ),
        method="muck.mass.sum_uncertainty",
        over_rings=True,
    )


def chart(recorded: RecordedRings, balance: MuckBalance) -> CriterionSeries:
    """Return the two-sided cumulative-sum chart of the mass ratio, on residuals whitened and centred on the reference window.

    Notes
    -----
    The base is the median of the first undisturbed rings and is never re-learnt. A ring that is an `act` by itself does not enter the sum again.
    """
    usable = ~(balance.unchecked | weighers_disagree(balance)) & np.isfinite(balance.residual)
    upper = np.full(recorded.count, np.nan)
    limit = 5.0
    first = np.flatnonzero(usable)[:REFERENCE_RINGS]
    if len(first) >= LEAST_REFERENCE_RINGS:
        base = kernel("record.trend.robust_base")(value=balance.residual[first])
        calm = usable & (np.abs(balance.mass_ratio - 1.0) <= np.maximum(ACT_RATIO, ACT_SD * balance.ring_sd_ratio))
        deviation = max(1.0, float(base.standard_deviation))
        series = (balance.residual[calm] - float(base.median)) / deviation
        found = kernel("record.trend.cusum")(value=_whitened(series), target=0.0, standard_deviation=1.0, decision_limit=limit)
        upper[calm] = np.maximum(found.upper_sum, np.abs(found.lower_sum))
    return CriterionSeries(
        key="muck_chart",
        name="Muck, cumulative chart",
        place="face",
        unit="sd",
        operator="<=",
        value=upper,
        limit_low=full(recorded.count, np.nan),
        limit_high=full(recorded.count, limit),
        state=states(recorded.count, act=np.zeros(recorded.count), watch=upper > limit, unchecked=np.isnan(upper)),
        comment=words(
            recorded.count,
            (np.isnan(upper), "needs ten undisturbed rings as its base and a trusted mass in this ring"),
            (upper > limit, "a small lasting excess or shortfall adds up"),
        ),
        method="record.trend.cusum",
        over_rings=True,
    )


def _whitened(series: FloatArray) -> FloatArray:
    """Return the innovations of a series after taking out its lag-one correlation, clipped to 0 to 0.8."""
    if len(series) < LEAST_REFERENCE_RINGS:
        return series
    before, after = series[:-1], series[1:]
    phi = float(np.clip(np.sum(before * after) / max(np.sum(before * before), 1e-12), 0.0, 0.8))
    white = np.array(series)
    white[1:] = (after - phi * before) / np.sqrt(1.0 - phi**2)
    return white
