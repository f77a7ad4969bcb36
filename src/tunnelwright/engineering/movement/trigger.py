"""Levels of attention, rates of settlement and what a reading of today says of the final value."""

from dataclasses import dataclass
from typing import Final

import numpy as np

from tunnelwright.engineering.movement.sources import DEVELOPED, THEIL_SEN, TRIGGERS
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Range, Remark, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Table, TextArray, Values

_MM_PER_DAY: Final = 1000.0 * 86400.0
_LEAST_SHARE: Final = 0.2


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TriggerLevels(Record):
    """Three levels of one instrument; ``levels_rise`` is 1 when they do, else 0."""

    attention_level_m: FloatArray
    action_level_m: FloatArray
    stop_level_m: FloatArray
    levels_rise: FloatArray


@method(
    "movement.trigger.levels",
    formulas={
        "attention_level_m": Formula("S_1", "f_1 * S_d"),
        "action_level_m": Formula("S_2", "S_d"),
        "stop_level_m": Formula("S_3", "S_a"),
        "levels_rise": Formula("is_rising", "1 if S_1 < S_2 and S_2 < S_3 else 0"),
    },
    symbols={"design_settlement_m": "S_d", "asset_limit_m": "S_a", "attention_share": "f_1"},
    possible={"design_settlement_m": (0.0, 1.0), "asset_limit_m": (0.0, 2.0), "attention_share": (0.05, 1.0)},
    valid={"attention_share": Range(0.5, 0.9, "common practice is 0.7")},
    remarks=(Remark(lambda v: np.asarray(v["levels_rise"]) == 0, "act before the drive: the levels do not rise, so there is no third level to wait for"),),
    kind="identity",
    source=TRIGGERS,
)
def trigger_levels(design_settlement_m: Number, asset_limit_m: Number, attention_share: Number = 0.7) -> TriggerLevels:
    """Return the levels at which people attend, act and stop.

    Parameters
    ----------
    design_settlement_m : predicted at the instrument.
    asset_limit_m : what the asset bears.
    attention_share : of the design value.
    """
    attention_m = np.multiply(attention_share, design_settlement_m)
    action_m, stop_m = design_settlement_m + 0.0 * attention_m, asset_limit_m + 0.0 * attention_m
    rise = (attention_m < action_m) & (action_m < stop_m)
    return TriggerLevels(attention_level_m=attention_m, action_level_m=action_m, stop_level_m=stop_m, levels_rise=rise.astype(np.float64))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TimedReadings(Table):
    """Readings of one instrument; leading axes run over instruments."""

    time_s: FloatArray
    settlement_m: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SettlementRate(Record):
    """Rate of settlement and what it calls for."""

    settlement_rate_mm_day: FloatArray
    state: TextArray


def _has_two_times(values: Values) -> bool:
    time_s = values["readings"].time_s
    return bool(time_s.shape[-1] >= 2 and np.all(np.ptp(np.nan_to_num(time_s), axis=-1) > 0))


@method(
    "movement.trigger.rate_theil_sen",
    found_by={
        "settlement_rate_mm_day": Algorithm("median of the slopes between all pairs of readings at different times", "v_S"),
        "state": Algorithm("act from the rate of action on, watch from the rate of attention on; heave counts like settlement"),
    },
    possible={"time_s": (-1e12, 1e12), "watch_rate_mm_day": (0.0, 1000.0), "act_rate_mm_day": (0.0, 1000.0)},
    requires=(
        Require("readings", _has_two_times, "must hold readings at two times or more"),
        Require("act_rate_mm_day", lambda v: ~(v["act_rate_mm_day"] < v["watch_rate_mm_day"]), "must not be less than watch_rate_mm_day"),
    ),
    remarks=(Remark(lambda v: v["readings"].row_count < 3, "fewer than three readings: one outlier decides"),),
    kind="mean",
    source=THEIL_SEN,
)
def settlement_rate(readings: TimedReadings, watch_rate_mm_day: Number = 2.0, act_rate_mm_day: Number = 4.0) -> SettlementRate:
    """Return the rate of settlement of one instrument by a slope that single outliers do not move.

    Parameters
    ----------
    readings : of the last day or the last three epochs.
    watch_rate_mm_day, act_rate_mm_day : rates of attention and action.
    """
    count = readings.row_count
    later, earlier = np.tril_indices(count, -1)
    apart_s = readings.time_s[..., later] - readings.time_s[..., earlier]
    moved_m = readings.settlement_m[..., later] - readings.settlement_m[..., earlier]
    usable = (apart_s != 0) & ~np.isnan(apart_s) & ~np.isnan(moved_m)
    slopes = np.sort(np.where(usable, moved_m / np.where(usable, apart_s, 1.0), np.nan), axis=-1)
    rate = _median_of_sorted(slopes, np.sum(usable, axis=-1)) * _MM_PER_DAY
    rate = rate + 0.0 * np.asarray(watch_rate_mm_day) * np.asarray(act_rate_mm_day)
    size = np.abs(rate)
    state = np.where(size >= act_rate_mm_day, "act", np.where(size >= watch_rate_mm_day, "watch", np.where(np.isnan(rate), "not checked", "in order")))
    return SettlementRate(settlement_rate_mm_day=rate, state=state)


def _median_of_sorted(slopes: FloatArray, usable_count: FloatArray) -> FloatArray:
    """Return the median of the first values of each row; NaN sorts to the end and where there is none the first one is NaN."""
    low = np.maximum(usable_count - 1, 0) // 2
    high = np.maximum(usable_count // 2, 0)
    high = np.minimum(high, np.maximum(usable_count - 1, 0))
    pair = [np.take_along_axis(slopes, np.asarray(place, dtype=np.int64)[..., None], axis=-1)[..., 0] for place in (low, high)]
    return np.asarray((pair[0] + pair[1]) / 2)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FinalSettlement(Record):
    """Settlement when the drive has passed, from a reading of today."""

    settlement_final_m: FloatArray


@method(
    "movement.forecast.developed_fraction",
    formulas={"settlement_final_m": Formula("S_end", "(S_r - S_b) / r_d if r_d > 0.2 else 0 / 0")},
    symbols={"reading_m": "S_r", "background_m": "S_b"},
    possible={"reading_m": (-1.0, 2.0), "background_m": (-1.0, 2.0), "settlement_final_m": (-np.inf, np.inf)},
    remarks=(
        Remark(
            lambda v: np.asarray(v["developed_ratio"]) <= _LEAST_SHARE, "not checked: a fifth or less has come; take the posterior of the back-analysis instead"
        ),
    ),
    kind="screening",
    source=DEVELOPED,
)
def developed_forecast(reading_m: Number, developed_ratio: Number, background_m: Number = 0.0) -> FinalSettlement:
    """Return the final settlement that a reading announces.

    Parameters
    ----------
    reading_m : of today.
    developed_ratio : share of the final settlement expected at this position of the face.
    background_m : part of the reading that is not movement by the drive.
    """
    share = np.asarray(developed_ratio, dtype=np.float64)
    is_enough = share > _LEAST_SHARE
    moved_m = np.subtract(reading_m, background_m)
    return FinalSettlement(settlement_final_m=np.where(is_enough, moved_m / np.where(is_enough, share, 1.0), np.nan))
