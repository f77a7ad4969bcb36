"""How far a sieve curve leaves an envelope."""

from dataclasses import dataclass

import numpy as np

from tunnelwright.engineering.machine.sources import SIEVE_ANALYSIS
from tunnelwright.engineering.places import each_place
from tunnelwright.vocabulary.method import Algorithm, Remark, Require, method
from tunnelwright.vocabulary.types import FloatArray, Record, Table, Values


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SieveCurve(Table):
    """Grain sizes and the mass share that passes, one row per sieve."""

    grain_size_mm: FloatArray
    passing_ratio: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class EnvelopeExcess(Record):
    """How much of a curve is outside its envelope, and how far."""

    share_outside_ratio: FloatArray
    excess_max_ratio: FloatArray


def _sizes_rise(name: str) -> Require:
    return Require(
        name,
        lambda v: np.all(np.diff(v[name].grain_size_mm, axis=-1) > 0, axis=-1) & (v[name].grain_size_mm[..., 0] > 0),
        "grain sizes must be more than 0 and rise",
    )


def _ranges_meet(values: Values) -> object:
    sizes = [values[name].grain_size_mm for name in ("sieve_curve", "lower_envelope", "upper_envelope")]
    return np.maximum.reduce([one[..., 0] for one in sizes]) < np.minimum.reduce([one[..., -1] for one in sizes])


@method(
    "machine.grading.envelope_excess",
    found_by={
        "share_outside_ratio": Algorithm(
            "share of the common range of log10 grain size in which the curve lies below the lower or above the upper envelope",
            invariants={"a share": lambda v: (v["share_outside_ratio"] >= 0) & (v["share_outside_ratio"] <= 1)},
        ),
        "excess_max_ratio": Algorithm(
            "largest distance of the curve from the envelope where it is outside",
            invariants={
                "nothing outside has no distance": lambda v: (
                    (v["excess_max_ratio"] >= 0) & ((v["share_outside_ratio"] == 0) <= (v["excess_max_ratio"] <= 1e-12))
                )
            },
        ),
    },
    possible={"passing_ratio": (0.0, 1.0)},
    requires=(
        _sizes_rise("sieve_curve"),
        _sizes_rise("lower_envelope"),
        _sizes_rise("upper_envelope"),
        Require("sieve_curve", _ranges_meet, "must share a range of grain sizes with both envelopes"),
    ),
    remarks=(Remark(lambda v: v["excess_max_ratio"] > 0, "the curve leaves the envelope"),),
    kind="identity",
    source=SIEVE_ANALYSIS,
)
def envelope_excess(sieve_curve: SieveCurve, lower_envelope: SieveCurve, upper_envelope: SieveCurve) -> EnvelopeExcess:
    """Return how much of a sieve curve lies outside an envelope, over the grain sizes that all three curves cover.

    Parameters
    ----------
    sieve_curve : of the sample, sizes rising; straight between sieves on a logarithmic axis.
    lower_envelope : least share that passes.
    upper_envelope : greatest share that passes.
    """
    columns = [column for table in (sieve_curve, lower_envelope, upper_envelope) for column in (table.grain_size_mm, table.passing_ratio)]
    share, excess = each_place(_outside, 2, (), columns)
    return EnvelopeExcess(share_outside_ratio=share, excess_max_ratio=excess)


def _outside(
    size: FloatArray, passing: FloatArray, low_size: FloatArray, low_passing: FloatArray, high_size: FloatArray, high_passing: FloatArray
) -> tuple[float, float]:
    """Return share outside and largest distance of one curve; between breakpoints every distance is straight, so both are exact."""
    begin, end = np.log10(max(size[0], low_size[0], high_size[0])), np.log10(min(size[-1], low_size[-1], high_size[-1]))
    points = np.unique(np.concatenate([np.log10(size), np.log10(low_size), np.log10(high_size)]))
    points = np.unique(np.concatenate([[begin, end], points[(points > begin) & (points < end)]]))
    here = np.interp(points, np.log10(size), passing)
    below = np.interp(points, np.log10(low_size), low_passing) - here
    above = here - np.interp(points, np.log10(high_size), high_passing)
    length = _positive_length(points, below) + _positive_length(points, above)
    return float(length / (end - begin)), float(max(0.0, below.max(), above.max()))


def _positive_length(points: FloatArray, distance: FloatArray) -> float:
    """Return the length over which a distance, straight between the points, is positive."""
    left, right = distance[:-1], distance[1:]
    with np.errstate(divide="ignore", invalid="ignore"):
        crossing = np.maximum(left, right) / (np.abs(left) + np.abs(right))
    share = np.where((left <= 0) & (right <= 0), 0.0, np.where((left >= 0) & (right >= 0), 1.0, crossing))
    return float(np.sum(share * np.diff(points)))
