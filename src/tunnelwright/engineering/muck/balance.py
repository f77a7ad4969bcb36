"""Measured against expected mass: excess of a ring, running mean, calibration bias, where along the drive it happened."""

from dataclasses import dataclass
from typing import Final

import numpy as np

from tunnelwright.engineering.muck.sources import CONTROL_LIMITS, MASS_BALANCE, ROBUST_STATISTICS
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Range, Remark, Require, method
from tunnelwright.vocabulary.types import Count, FloatArray, Number, Record, Series, TextArray, Values

WATCH_RATIO: Final = 0.05
ACT_RATIO: Final = 0.10
UNFIT_SD_RATIO: Final = 0.05
ERROR_OF_MEDIAN: Final = 1.2533
NORMAL_MAD: Final = 1.4826


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RingExcess(Record):
    """What came out of one push beyond what should have."""

    muck_excess_m3: FloatArray
    excess_ratio: FloatArray
    mass_ratio: FloatArray
    standardised_residual: FloatArray
    state: TextArray


def _state(mass_ratio: FloatArray, ring_sd: FloatArray) -> TextArray:
    off = np.abs(mass_ratio - 1)
    act = (off > np.maximum(ACT_RATIO, 3 * ring_sd)) | (ring_sd > UNFIT_SD_RATIO)
    watch = off > np.maximum(WATCH_RATIO, 2 * ring_sd)
    return np.where(np.isnan(off) | np.isnan(ring_sd), "not checked", np.where(act, "act", np.where(watch, "watch", "in order")))


def _calm(values: Values) -> FloatArray:
    """Return whether a ring in order lies within a tenth and is measured well enough."""
    in_order = np.asarray(values["state"]) == "in order"
    sd = np.nan if values["ring_sd_ratio"] is None else values["ring_sd_ratio"]
    with np.errstate(invalid="ignore"):
        return ~in_order | ((np.abs(values["mass_ratio"] - 1) <= 2 * UNFIT_SD_RATIO) & (np.asarray(sd) <= UNFIT_SD_RATIO))


def _is_in_order(values: Values) -> FloatArray:
    return np.asarray(values["state"]) == "in order"


def _hidden_loss(values: Values) -> str:
    """Return how much a ring in order may still hide: a loss at the watch limit leaves its ring in order in one case of two."""
    limit = np.maximum(WATCH_RATIO, 2 * np.asarray(values["ring_sd_ratio"]))
    loss_m3 = np.broadcast_to(limit * values["expected_mass_t"] / values["density_t_m3"], np.shape(values["state"]))
    return f"in order is no proof: a loss of {np.max(loss_m3[_is_in_order(values)]):.1f} m3 has an even chance of going unseen in a single ring"


@method(
    "muck.excess.single_ring",
    formulas={
        "muck_excess_m3": Formula("dV", "(m_meas / k_w - m_exp) / rho"),
        "excess_ratio": Formula("q_V", "dV / V"),
        "mass_ratio": Formula("q_m", "m_meas / (k_w * m_exp)"),
        "standardised_residual": Formula("z_r", "ln(q_m) / s_ring"),
    },
    found_by={
        "state": Algorithm(
            "act beyond 10 % and three s_ring, or with s_ring above 5 %; watch beyond 5 % and two s_ring; not checked without mass or s_ring",
            invariants={"in order is calm": _calm},
        )
    },
    valid={"weigher_scale_factor": Range(0.95, 1.05, "outside it a person must confirm the factor first")},
    remarks=(Remark(_is_in_order, _hidden_loss),),
    kind="mean",
    source=CONTROL_LIMITS,
)
def ring_excess(
    measured_mass_t: Number,
    expected_mass_t: Number,
    density_t_m3: Number,
    excavated_volume_m3: Number,
    weigher_scale_factor: Number = 1.0,
    ring_sd_ratio: Number | None = None,
) -> RingExcess:
    """Return how much more than expected one push brought, as volume in the ground, and whether that is too much.

    Parameters
    ----------
    measured_mass_t : on the belt.
    expected_mass_t : of ground and additives.
    density_t_m3 : in the ground; the excess came from there, not from the loose heap.
    excavated_volume_m3 : of the push.
    weigher_scale_factor : measured over true mass, from rings known to be undisturbed.
    ring_sd_ratio : ring noise of the ratio; without it there is no residual and no state.

    Notes
    -----
    Too little counts as much as too much: a blocked chamber, heave, or a wrong length.
    """
    sd = np.asarray(np.nan if ring_sd_ratio is None else ring_sd_ratio, dtype=np.float64)
    excess_m3 = (np.divide(measured_mass_t, weigher_scale_factor) - expected_mass_t) / density_t_m3
    with np.errstate(divide="ignore", invalid="ignore"):
        ratio = np.divide(measured_mass_t, np.multiply(weigher_scale_factor, expected_mass_t))
        residual = np.log(ratio) / sd
        share = np.divide(excess_m3, excavated_volume_m3)
    return RingExcess(muck_excess_m3=excess_m3, excess_ratio=share, mass_ratio=ratio, standardised_residual=residual, state=_state(ratio, sd))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RunningMean(Record):
    """Mean of the last residuals, brought to a standard deviation of one."""

    statistic: Series
    first_alarm_position: FloatArray


@method(
    "muck.excess.running_mean",
    found_by={
        "statistic": Algorithm(
            "sum of the residuals of the window over the root of their number; NaN until the window is full or while one is missing",
            invariants={"none before the window is full": lambda v: not np.any(np.isfinite(v["statistic"][: v["window_count"] - 1]))},
        ),
        "first_alarm_position": Algorithm("first ring whose statistic lies beyond the limit on either side, counted from 1; 0 for none"),
    },
    possible={"limit": (0.0, 100.0)},
    requires=(Require("window_count", lambda v: v["window_count"] >= 1, "must be 1 or more"),),
    kind="identity",
    source=MASS_BALANCE,
)
def running_mean(standardised_residual: Series, window_count: Count = 5, limit: Number = 3.0) -> RunningMean:
    """Return the running mean of residuals in units of its own standard deviation, and its first alarm.

    Parameters
    ----------
    standardised_residual : one per ring, in order.
    window_count : rings in the window.
    limit : beyond it on either side is an alarm; 3 with a window of 5 gives some 530 rings per false alarm.
    """
    window = int(window_count)
    statistic = np.full(len(standardised_residual), np.nan)
    if len(statistic) >= window:
        statistic[window - 1 :] = np.lib.stride_tricks.sliding_window_view(standardised_residual, window).sum(axis=-1) / np.sqrt(window)
    threshold = np.asarray(limit, dtype=np.float64)
    alarm = np.abs(statistic) > threshold[..., None]
    first = np.where(alarm.any(axis=-1), np.argmax(alarm, axis=-1) + 1.0, 0.0) if len(statistic) else np.zeros(threshold.shape)
    return RunningMean(statistic=statistic, first_alarm_position=np.where(np.isnan(threshold), np.nan, first))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WeigherScale(Record):
    """Calibration factor of a weigher, with its spread."""

    weigher_scale_factor: FloatArray
    residual_sd_ratio: FloatArray
    scale_factor_sd: FloatArray


def _is_middle(values: Values) -> bool:
    ratio, factor = _ratios(values), values["weigher_scale_factor"]
    return bool(np.sum(ratio < factor) <= len(ratio) / 2 and np.sum(ratio > factor) <= len(ratio) / 2)


def _ratios(values: Values) -> FloatArray:
    ratio = np.asarray(values["measured_mass_t"] / values["expected_mass_t"])
    return ratio[np.isfinite(ratio)]


@method(
    "muck.bias.scale_factor",
    found_by={
        "weigher_scale_factor": Algorithm(
            "median of measured over expected mass", invariants={"at most half of the rings on either side": lambda v: _is_middle(v)}
        ),
        "residual_sd_ratio": Algorithm("1.4826 times the median distance of ln(measured / expected) from its median"),
        "scale_factor_sd": Algorithm(
            "1.2533 s / sqrt(n), times the factor",
            invariants={
                "falls with the number of rings": lambda v: np.allclose(
                    v["scale_factor_sd"] * np.sqrt(len(_ratios(v))), ERROR_OF_MEDIAN * v["residual_sd_ratio"] * v["weigher_scale_factor"]
                )
            },
        ),
    },
    valid={"weigher_scale_factor": Range(0.95, 1.05, "outside it a person must confirm the factor first")},
    requires=(Require("measured_mass_t", lambda v: len(v["measured_mass_t"]) == len(v["expected_mass_t"]), "must have one entry per expected mass"),),
    remarks=(
        Remark(lambda v: len(_ratios(v)) < 20, "fewer than 20 rings: the factor is provisional"),
        Remark(lambda v: len(_ratios(v)) < 10, "fewer than 10 rings: too few for a factor"),
    ),
    kind="mean",
    source=ROBUST_STATISTICS,
)
def weigher_scale(measured_mass_t: Series, expected_mass_t: Series) -> WeigherScale:
    """Return the calibration factor of a weigher from rings that other evidence shows undisturbed.

    Parameters
    ----------
    measured_mass_t : of each ring of the reference window; a missing one is left out.
    expected_mass_t : of the same rings.

    Notes
    -----
    The window is chosen beforehand and kept. A factor that adapts from ring to ring hides a slow loss.
    """
    with np.errstate(divide="ignore", invalid="ignore"):
        ratio = measured_mass_t / expected_mass_t
    ratio = ratio[np.isfinite(ratio)]
    if not len(ratio):
        nothing = np.asarray(np.nan)
        return WeigherScale(weigher_scale_factor=nothing, residual_sd_ratio=nothing, scale_factor_sd=nothing)
    # A counter that stood still gives a ratio of zero, far off like any other outlier.
    with np.errstate(divide="ignore", invalid="ignore"):
        factor, logs = np.median(ratio), np.log(ratio)
        spread = NORMAL_MAD * np.median(np.abs(logs - np.median(logs)))
    return WeigherScale(
        weigher_scale_factor=np.asarray(factor),
        residual_sd_ratio=np.asarray(spread),
        scale_factor_sd=np.asarray(ERROR_OF_MEDIAN * spread / np.sqrt(len(ratio)) * factor),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TwoWindows(Record):
    """Whether one calibration factor fits two windows."""

    standardised_difference: FloatArray


@method(
    "muck.bias.two_window",
    formulas={"standardised_difference": Formula("z", "(k_1 - k_2) / sqrt(s_1^2 / n_1 + s_2^2 / n_2)")},
    symbols={
        "scale_factor_1": "k_1",
        "scale_factor_2": "k_2",
        "residual_sd_1": "s_1",
        "residual_sd_2": "s_2",
        "ring_count_1": "n_1",
        "ring_count_2": "n_2",
    },
    possible={
        "scale_factor_1": (0.2, 5.0),
        "scale_factor_2": (0.2, 5.0),
        "residual_sd_1": (0.0, 2.0),
        "residual_sd_2": (0.0, 2.0),
        "ring_count_1": (1.0, 1e6),
        "ring_count_2": (1.0, 1e6),
    },
    remarks=(Remark(lambda v: np.abs(v["standardised_difference"]) > 2, "one factor does not fit both windows: calibration event, change of ground, or loss"),),
    kind="identity",
    source=ROBUST_STATISTICS,
)
def two_windows(
    scale_factor_1: Number, scale_factor_2: Number, residual_sd_1: Number, residual_sd_2: Number, ring_count_1: Number, ring_count_2: Number
) -> TwoWindows:
    """Return the difference of the calibration factors of two windows, in units of its standard deviation.

    Parameters
    ----------
    scale_factor_1, scale_factor_2 : measured over expected mass in either window.
    residual_sd_1, residual_sd_2 : scatter of single rings in either window.
    ring_count_1, ring_count_2 : rings in either window.
    """
    error = np.sqrt(np.square(residual_sd_1) / ring_count_1 + np.square(residual_sd_2) / ring_count_2)
    with np.errstate(divide="ignore", invalid="ignore"):
        return TwoWindows(standardised_difference=np.subtract(scale_factor_1, scale_factor_2) / error)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ChamberLag(Record):
    """How far the face is ahead of the muck that comes out."""

    lag_m: FloatArray


@method(
    "muck.location.chamber_lag",
    formulas={"lag_m": Formula("x_lag", "V_c / A_f")},
    kind="mean",
    source=MASS_BALANCE,
)
def chamber_lag(chamber_volume_m3: Number, face_area_m2: Number) -> ChamberLag:
    """Return how far behind the face the muck was cut that leaves the chamber now.

    Parameters
    ----------
    chamber_volume_m3 : content of soil, as volume in the ground.
    face_area_m2 : bored area.
    """
    return ChamberLag(lag_m=np.divide(chamber_volume_m3, face_area_m2))
