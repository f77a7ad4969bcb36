"""The time of a drive by random samples: rings, what they share, and events.

T = S (R_1 + ... + R_n) + D_1 + ... + D_m with S lognormal about the median 1, ring times R gamma distributed about their mean, m a Poisson number
of events and D triangular delays. A sum of gamma variables of one scale is gamma again, so all rings are drawn at once, exactly.
"""

import itertools
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy import special

from tunnelwright.engineering.places import each_place
from tunnelwright.engineering.programme.sources import PROBABILITY
from tunnelwright.vocabulary.method import Algorithm, Remark, Require, method
from tunnelwright.vocabulary.types import Count, FloatArray, Number, Record, Values


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TotalTime(Record):
    """Quantiles of the time of a drive, its mean, and the chance to keep a target."""

    p10_s: FloatArray
    p50_s: FloatArray
    p80_s: FloatArray
    p90_s: FloatArray
    mean_s: FloatArray
    probability_in_target: FloatArray


def _in_order(values: Values) -> Any:
    quantiles = [np.asarray(values[f"p{share}_s"]) for share in (10, 50, 80, 90)]
    return np.all([~(low > high) for low, high in itertools.pairwise(quantiles)], axis=0)


def _has_no_events(values: Values) -> Any:
    return np.asarray(values["event_count"]) == 0


@method(
    "programme.uncertainty.total_time",
    found_by={
        "p10_s": Algorithm("time that a tenth of the samples stay below", "T_10", {"quantiles in order": _in_order}),
        "p50_s": Algorithm("time that half of the samples stay below", "T_50"),
        "p80_s": Algorithm("time that 80 % of the samples stay below", "T_80"),
        "p90_s": Algorithm("time that 90 % of the samples stay below", "T_90"),
        "mean_s": Algorithm("mean of the samples", "T_mean"),
        "probability_in_target": Algorithm("share of the samples not above the target", "P_target"),
    },
    possible={
        "ring_count": (1.0, 1e6),
        "ring_time_s": (0.0, 1e8),
        "systematic_log_sd": (0.0, 3.0),
        "event_count": (0.0, 1e4),
        "event_low_s": (0.0, 1e9),
        "event_mode_s": (0.0, 1e9),
        "event_high_s": (0.0, 1e9),
        "target_s": (0.0, 1e12),
    },
    requires=(
        Require("ring_count", lambda v: ~(np.mod(v["ring_count"], 1) > 0), "must be a whole number"),
        Require(
            "event_mode_s",
            lambda v: _has_no_events(v) | ~((v["event_mode_s"] < v["event_low_s"]) | (v["event_mode_s"] > v["event_high_s"])),
            "must lie between lowest and highest delay",
        ),
        Require("event_high_s", lambda v: _has_no_events(v) | ~(v["event_high_s"] < v["event_low_s"]), "must not be below event_low_s"),
    ),
    remarks=(
        Remark(lambda v: v["sample_count"] < 1000, "so few samples leave the quantiles themselves to chance: draw a thousand or more"),
        Remark(
            lambda v: (v["systematic_log_sd"] == 0) & (v["ring_variation"] > 0) & (v["ring_count"] > 50),
            "rings that know nothing of each other average out: the band is far too narrow for a real drive",
        ),
    ),
    kind="mean",
    source=PROBABILITY,
)
def total_time(
    ring_count: Number,
    ring_time_s: Number,
    ring_variation: Number,
    systematic_log_sd: Number,
    event_count: Number = 0.0,
    event_low_s: Number = 0.0,
    event_mode_s: Number = 0.0,
    event_high_s: Number = 0.0,
    target_s: Number | None = None,
    sample_count: Count = 5000,
    seed: Count = 1,
) -> TotalTime:
    """Return quantiles of the time of a drive.

    Parameters
    ----------
    ring_count : rings of the drive.
    ring_time_s : mean time of a ring.
    ring_variation : relative spread from ring to ring.
    systematic_log_sd : spread of the logarithm of the factor that all rings share, about the median 1.
    event_count : events expected over the drive.
    event_low_s, event_mode_s, event_high_s : delay of one event, triangular between lowest and highest.
    target_s : time to be kept; without it there is no chance.
    sample_count : samples drawn.
    seed : of the random streams; every place of an array draws the same, so that what-ifs differ by their inputs only.
    """

    def at_place(*numbers: float) -> tuple[float, ...]:
        *drive, target = numbers
        if not np.all(np.isfinite(drive)):
            return (np.nan,) * 6
        times = _samples_s(*drive, size=int(sample_count), seed=int(seed))
        chance = np.nan if np.isnan(target) else float(np.mean(times <= target))
        return (*np.quantile(times, (0.1, 0.5, 0.8, 0.9)), float(np.mean(times)), chance)

    numbers = (ring_count, ring_time_s, ring_variation, systematic_log_sd, event_count, event_low_s, event_mode_s, event_high_s, target_s)
    names = tuple(TotalTime.__dataclass_fields__)
    return TotalTime(**dict(zip(names, each_place(at_place, len(names), numbers), strict=True)))


def _samples_s(
    rings: float, ring_s: float, variation: float, log_sd: float, events: float, low_s: float, mode_s: float, high_s: float, *, size: int, seed: int
) -> FloatArray:
    """Return samples of the time; each cause has a stream of its own, so that changing one leaves the others as they were."""
    of_rings, of_shared, of_number, of_delay = (np.random.default_rng(one) for one in np.random.SeedSequence(seed).spawn(4))
    shape = rings / variation**2 if variation > 0 else np.inf
    relative = special.gammaincinv(shape, of_rings.random(size)) / shape if np.isfinite(shape) else np.ones(size)
    shared = np.exp(log_sd * of_shared.standard_normal(size))
    return np.asarray(shared * rings * ring_s * relative + _delays_s(of_number.poisson(events, size), low_s, mode_s, high_s, of_delay))


def _delays_s(numbers: Any, low_s: float, mode_s: float, high_s: float, stream: np.random.Generator) -> FloatArray:
    """Return the sum of so many triangular delays for each sample."""
    total = int(numbers.sum())
    delays = stream.triangular(low_s, mode_s, high_s, total) if high_s > low_s else np.full(total, low_s)
    return np.asarray(np.bincount(np.repeat(np.arange(numbers.size), numbers), weights=delays, minlength=numbers.size), dtype=np.float64)
