"""Learning: how much longer than a mature ring the first rings take, in four forms.

Ring by ring the factor is f(k) with k = 0 for the first ring (n = k + 1 in the power laws). All four are summed in closed form or by a
series that is exact to rounding, so that a drive of any length and an array of drives cost the same.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from scipy import special

from tunnelwright.engineering.programme.sources import DE_JONG, EXPONENTIAL_LEARNING, RAMP, WRIGHT
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Range, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Values

# A total that equals the available time but for rounding is in time.
_ROUNDING: Final = 1e-12
_MOST_RINGS: Final = 2.0**40
# Up to this ring a power law is summed term by term; beyond it the first three derivatives of Euler and Maclaurin suffice.
_BY_TERM: Final = 20


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Learning(Record):
    """Factor of the last ring, its sum over all rings, their time, and the rings that a given time holds."""

    learning_factor: FloatArray
    learning_sum: FloatArray
    total_time_s: FloatArray
    ring_count_in_time: FloatArray


_WHOLE_COUNT: Final = Require("ring_count", lambda v: ~(np.mod(v["ring_count"], 1) > 0), "must be a whole number")
_TOTAL: Final = Formula("T_sum", "T_mat * S_f")
_POSSIBLE: Final[dict[str, tuple[float, float]]] = {"ring_count": (1.0, 1e6), "mature_cycle_time_s": (1e-9, 1e8)}


def _count_fits(values: Values) -> Any:
    """Say whether the count in time is whole and not more than a learning factor of 1 would let through."""
    count = np.asarray(values["ring_count_in_time"])
    return np.isnan(count) | ((count >= 0) & (count == np.floor(count)))


_IN_TIME: Final = Algorithm("largest number of rings whose total time is not above the available time, by bisection", "n_av", {"whole": _count_fits})


def _learning(
    factor: FloatArray, sum_of: Callable[[FloatArray], FloatArray], ring_count: Number, mature_cycle_time_s: Number, available_time_s: Number | None
) -> Learning:
    available = np.nan if available_time_s is None else available_time_s
    total = np.asarray(sum_of(np.asarray(ring_count, dtype=np.float64)))
    return Learning(
        learning_factor=factor,
        learning_sum=total,
        total_time_s=mature_cycle_time_s * total,
        ring_count_in_time=_rings_within(sum_of, np.divide(available, mature_cycle_time_s) + np.zeros(total.shape)),
    )


def _rings_within(sum_of: Callable[[FloatArray], FloatArray], mature_rings: FloatArray) -> FloatArray:
    """Return the largest whole number of rings whose factors add to no more than so many mature rings."""
    limit = mature_rings * (1 + _ROUNDING)
    high = np.ones(limit.shape)
    while np.any(fits := (sum_of(high) <= limit) & (high < _MOST_RINGS)):
        high = np.where(fits, 2 * high, high)
    low = np.zeros(limit.shape)
    is_known = ~np.isnan(sum_of(high) + limit)
    while np.any(high - low > 1):
        middle = np.floor((low + high) / 2)
        is_in_time = sum_of(middle) <= limit
        low, high = np.where(is_in_time, middle, low), np.where(is_in_time, high, middle)
    return np.where(is_known, low, np.nan)


@method(
    "programme.learning.exponential",
    formulas={
        "learning_factor": Formula("f_N", "1 + (a - 1) * exp(-(n_r - 1) / n_c)"),
        "learning_sum": Formula("S_f", "n_r + (a - 1) * (1 - exp(-n_r / n_c)) / (1 - exp(-1 / n_c))"),
        "total_time_s": _TOTAL,
    },
    found_by={"ring_count_in_time": _IN_TIME},
    symbols={"start_factor": "a", "ring_constant": "n_c"},
    valid={"start_factor": Range(1.0, 5.0, "usual are 2 to 3"), "ring_constant": Range(5.0, 300.0, "usual are 30 to 80 rings")},
    possible={**_POSSIBLE, "start_factor": (0.1, 100.0), "ring_constant": (0.01, 1e5)},
    requires=(_WHOLE_COUNT,),
    kind="mean",
    source=EXPONENTIAL_LEARNING,
)
def exponential(
    start_factor: Number, ring_constant: Number, ring_count: Number, mature_cycle_time_s: Number = 1.0, available_time_s: Number | None = None
) -> Learning:
    """Return the times of rings whose excess over a mature ring decays exponentially.

    Parameters
    ----------
    start_factor : of the first ring.
    ring_constant : rings after which the excess has fallen to 1/e; about three times as many to maturity.
    ring_count : rings of the drive.
    mature_cycle_time_s : cycle time when learning is over.
    available_time_s : for the number of rings that it holds; without it there is none.
    """
    excess = np.subtract(start_factor, 1)

    def sum_of(count: FloatArray) -> FloatArray:
        # The quotient of two differences from 1, each of which would lose digits for a long constant.
        return np.asarray(count + excess * np.expm1(-count / ring_constant) / np.expm1(np.divide(-1, ring_constant)))

    factor = 1 + excess * np.exp(-np.subtract(ring_count, 1) / ring_constant)
    return _learning(factor, sum_of, ring_count, mature_cycle_time_s, available_time_s)


def power_sum(count: FloatArray, exponent: Number) -> FloatArray:
    """Return the sum of n to a power over n = 1 to a count."""
    b = np.asarray(exponent, dtype=np.float64)
    steps = np.arange(1.0, _BY_TERM)
    direct = np.sum(np.where(steps <= count[..., None], steps ** b[..., None], 0.0), axis=-1)
    last = np.maximum(count, _BY_TERM)
    area = special.boxcox(last, b + 1) - special.boxcox(float(_BY_TERM), b + 1)
    edges = (last**b + float(_BY_TERM) ** b) / 2
    first = b * (last ** (b - 1) - float(_BY_TERM) ** (b - 1)) / 12
    third = b * (b - 1) * (b - 2) * (last ** (b - 3) - float(_BY_TERM) ** (b - 3)) / 720
    fifth = b * (b - 1) * (b - 2) * (b - 3) * (b - 4) * (last ** (b - 5) - float(_BY_TERM) ** (b - 5)) / 30240
    beyond = np.where(count >= _BY_TERM, area + edges + first - third + fifth, 0.0)
    return np.where(np.isnan(count), np.nan, direct + beyond)


def _between_integrals(values: Values) -> Any:
    """Say whether the sum of a falling power lies between the integrals that enclose it."""
    count, b = np.asarray(values["ring_count"]), np.log2(values["learning_rate"])
    low, high = special.boxcox(count + 1, b + 1), 1 + special.boxcox(count, b + 1)
    share = values.get("incompressible_share", 0.0)
    total = np.asarray(values["learning_sum"])
    low, high = share * count + (1 - share) * low, share * count + (1 - share) * high
    return np.isnan(total) | (b > 0) | ((total >= low * (1 - 1e-9)) & (total <= high * (1 + 1e-9)))


_RATE_RANGE: Final = Range(0.7, 1.0, "usual are 0.80 to 0.95; above 1 each ring takes longer than the last")
_SUMMED: Final = Algorithm("sum over all rings, term by term to 19 and by the Euler-Maclaurin series beyond", "S_f", {"between integrals": _between_integrals})


@method(
    "programme.learning.wright_1936",
    formulas={"learning_factor": Formula("f_N", "n_r^(ln(r_l) / ln(2))"), "total_time_s": _TOTAL},
    found_by={"learning_sum": _SUMMED, "ring_count_in_time": _IN_TIME},
    valid={"learning_rate": _RATE_RANGE, "ring_count": Range(1.0, 1000.0, "without a plateau the rings would improve for ever")},
    possible=_POSSIBLE,
    requires=(_WHOLE_COUNT,),
    kind="mean",
    source=WRIGHT,
)
def wright(learning_rate: Number, ring_count: Number, mature_cycle_time_s: Number = 1.0, available_time_s: Number | None = None) -> Learning:
    """Return the times of rings that a doubling of their number shortens by the same share.

    Parameters
    ----------
    learning_rate : cycle time kept at each doubling of the number.
    ring_count : rings of the drive, counted from 1.
    mature_cycle_time_s : here the time of the first ring, to which the factors refer.
    available_time_s : for the number of rings that it holds; without it there is none.
    """
    exponent = np.log2(learning_rate)

    def sum_of(count: FloatArray) -> FloatArray:
        return power_sum(count, exponent)

    return _learning(np.power(ring_count, exponent), sum_of, ring_count, mature_cycle_time_s, available_time_s)


@method(
    "programme.learning.de_jong_1957",
    formulas={"learning_factor": Formula("f_N", "M + (1 - M) * n_r^(ln(r_l) / ln(2))"), "total_time_s": _TOTAL},
    found_by={"learning_sum": _SUMMED, "ring_count_in_time": _IN_TIME},
    symbols={"incompressible_share": "M"},
    valid={"learning_rate": _RATE_RANGE},
    possible={**_POSSIBLE, "incompressible_share": (0.0, 1.0)},
    requires=(_WHOLE_COUNT,),
    kind="mean",
    source=DE_JONG,
)
def de_jong(
    learning_rate: Number, incompressible_share: Number, ring_count: Number, mature_cycle_time_s: Number = 1.0, available_time_s: Number | None = None
) -> Learning:
    """Return the times of rings of which only a part can be learnt.

    Parameters
    ----------
    learning_rate : of the part that can be learnt, kept at each doubling of the number.
    incompressible_share : of the first ring's time; usual are 0.3 to 0.6.
    ring_count : rings of the drive, counted from 1.
    mature_cycle_time_s : here the time of the first ring, to which the factors refer.
    available_time_s : for the number of rings that it holds; without it there is none.
    """
    exponent, fixed = np.log2(learning_rate), np.asarray(incompressible_share)

    def sum_of(count: FloatArray) -> FloatArray:
        return np.asarray(fixed * count + (1 - fixed) * power_sum(count, exponent))

    return _learning(fixed + (1 - fixed) * np.power(ring_count, exponent), sum_of, ring_count, mature_cycle_time_s, available_time_s)


def _between_first_and_mature(values: Values) -> Any:
    count, total = np.asarray(values["ring_count"]), np.asarray(values["learning_sum"])
    return np.isnan(total) | ((total >= count * (1 - 1e-9)) & (total <= count / values["start_performance"] * (1 + 1e-9)))


@method(
    "programme.learning.ramp",
    formulas={"learning_factor": Formula("f_N", "1 / (p_0 + (1 - p_0) * min(1, (n_r - 1) / n_L))"), "total_time_s": _TOTAL},
    found_by={
        "learning_sum": Algorithm(
            "sum of 1 / performance; on the ramp a difference of two digamma values",
            "S_f",
            {"between mature rings and rings like the first": _between_first_and_mature},
        ),
        "ring_count_in_time": _IN_TIME,
    },
    symbols={"start_performance": "p_0", "ramp_ring_count": "n_L"},
    valid={"start_performance": Range(0.2, 1.0, "usual are 0.3 to 0.5")},
    possible={**_POSSIBLE, "start_performance": (0.01, 1.0), "ramp_ring_count": (1.0, 1e5)},
    requires=(_WHOLE_COUNT,),
    kind="mean",
    source=RAMP,
)
def ramp(
    start_performance: Number, ramp_ring_count: Number, ring_count: Number, mature_cycle_time_s: Number = 1.0, available_time_s: Number | None = None
) -> Learning:
    """Return the times of rings while performance grows evenly to its full value.

    Parameters
    ----------
    start_performance : of the first ring, over that of a mature one.
    ramp_ring_count : rings until full performance.
    ring_count : rings of the drive.
    mature_cycle_time_s : cycle time when learning is over.
    available_time_s : for the number of rings that it holds; without it there is none.
    """
    start, length = np.asarray(start_performance, dtype=np.float64), np.asarray(ramp_ring_count, dtype=np.float64)
    step = (1 - start) / length
    is_flat = step <= 0
    ratio = start / np.where(is_flat, 1.0, step)

    def sum_of(count: FloatArray) -> FloatArray:
        on_ramp = np.minimum(count, np.ceil(length))
        slow = (special.digamma(ratio + on_ramp) - special.digamma(ratio)) / np.where(is_flat, 1.0, step)
        return np.asarray(np.where(is_flat, count, slow + count - on_ramp))

    factor = 1 / (start + (1 - start) * np.minimum(1.0, np.subtract(ring_count, 1) / length))
    return _learning(factor, sum_of, ring_count, mature_cycle_time_s, available_time_s)
