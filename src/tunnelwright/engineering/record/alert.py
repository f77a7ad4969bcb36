"""Alerts replayed from a series: raised after a time outside, cleared after a time well inside, frozen over gaps."""

import math
from dataclasses import dataclass

import numpy as np

from tunnelwright.engineering.places import each_place
from tunnelwright.engineering.record.counter import times_in_order
from tunnelwright.engineering.record.sources import LOG_PRACTICE
from tunnelwright.engineering.record.weighted import LevelSamples
from tunnelwright.vocabulary.method import Algorithm, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Series, TextArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class AlertHistory(Record):
    """When the alert was raised and cleared, and how it stands at the end."""

    raised_at_s: Series
    cleared_at_s: Series
    state: TextArray


def _alternates(raised_at_s: FloatArray, cleared_at_s: FloatArray) -> bool:
    raised, cleared = raised_at_s[np.isfinite(raised_at_s)], cleared_at_s[np.isfinite(cleared_at_s)]
    return len(raised) - len(cleared) in (0, 1) and bool(np.all(cleared > raised[: len(cleared)]) and np.all(raised[1:] > cleared[: len(raised) - 1]))


@method(
    "record.alert.replay",
    found_by={
        "raised_at_s": Algorithm(
            "sample at which intervals ending outside the limits add up to the raise delay, none inside in between",
            invariants={"raised and cleared in turn": lambda v: np.ndim(v["raised_at_s"]) > 1 or _alternates(v["raised_at_s"], v["cleared_at_s"])},
        ),
        "cleared_at_s": Algorithm("sample at which intervals ending inside by the hysteresis add up to the clear delay"),
        "state": Algorithm("raised or clear after the last sample"),
    },
    possible={"hysteresis": (0.0, math.inf), "raise_delay_s": (0.0, 86400.0), "clear_delay_s": (0.0, 86400.0)},
    requires=(times_in_order("samples"),),
    kind="identity",
    source=LOG_PRACTICE,
)
def alert_replay(
    samples: LevelSamples,
    lower_limit: Number = -math.inf,
    upper_limit: Number = math.inf,
    hysteresis: Number = 0.0,
    raise_delay_s: Number = 10.0,
    clear_delay_s: Number = 60.0,
    gap_limit_s: Number = 30.0,
) -> AlertHistory:
    """Return the life of one alert, sample by sample; the same log always gives the same life.

    Parameters
    ----------
    samples : time and value, in order of time; a missing value counts as a gap.
    lower_limit : below it (strictly) is outside.
    upper_limit : above it (strictly) is outside.
    hysteresis : by how much a value must lie inside to count towards clearing.
    raise_delay_s : how long outside before the alert is raised.
    clear_delay_s : how long inside before it is cleared.
    gap_limit_s : a longer interval keeps the state and starts both clocks anew.
    """
    numbers = (lower_limit, upper_limit, hysteresis, raise_delay_s, clear_delay_s, gap_limit_s)
    raised_at_s, cleared_at_s, state = each_place(_replayed, 3, numbers, (samples.time_s, samples.value))
    return AlertHistory(raised_at_s=raised_at_s, cleared_at_s=cleared_at_s, state=state)


def _replayed(
    lower: float, upper: float, hysteresis: float, raise_delay_s: float, clear_delay_s: float, gap_limit_s: float, time_s: FloatArray, value: FloatArray
) -> tuple[FloatArray, FloatArray, str]:
    raised_at: list[float] = []
    cleared_at: list[float] = []
    outside_s = inside_s = 0.0
    outside = (value < lower) | (value > upper)
    inside = (value >= lower + hysteresis) & (value <= upper - hysteresis)
    for at in range(1, len(time_s)):
        duration_s = float(time_s[at] - time_s[at - 1])
        known = duration_s <= gap_limit_s and not math.isnan(value[at])
        outside_s = outside_s + duration_s if known and outside[at] else 0.0
        inside_s = inside_s + duration_s if known and inside[at] else 0.0
        is_raised = len(raised_at) > len(cleared_at)
        if not is_raised and known and outside[at] and outside_s >= raise_delay_s:
            raised_at.append(float(time_s[at]))
        elif is_raised and known and inside[at] and inside_s >= clear_delay_s:
            cleared_at.append(float(time_s[at]))
    return np.array(raised_at), np.array(cleared_at), "raised" if len(raised_at) > len(cleared_at) else "clear"
