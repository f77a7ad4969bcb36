"""Two paths that meet: the work after them waits for the later one."""

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from scipy import special

from tunnelwright.engineering.programme.sources import CLARK
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Values

# Beyond so many standard deviations a normal chance is 0 or 1 in double precision.
_FAR: Final = 38.0
_BISECTIONS: Final = 70


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Later(Record):
    """The later of two normal dates."""

    difference_sd: FloatArray
    probability_first_later: FloatArray
    mean: FloatArray
    standard_deviation: FloatArray
    p50: FloatArray
    p80: FloatArray
    p90: FloatArray


def _between(values: Values) -> Any:
    return ~((values["p50"] > values["p80"]) | (values["p80"] > values["p90"]))


@method(
    "programme.network.later_of_two",
    formulas={
        "difference_sd": Formula("theta", "sqrt(max(0, s_1^2 + s_2^2 - 2 * r * s_1 * s_2))"),
        "probability_first_later": Formula("P_1", "Phi((m_1 - m_2) / theta) if theta > 0 else (1 if m_1 > m_2 else 0)"),
        "mean": Formula("mu", "m_2 + (m_1 - m_2) * P_1 + theta / sqrt(2 * pi) * exp(-((m_1 - m_2) / theta)^2 / 2) if theta > 0 else m_2 + (m_1 - m_2) * P_1"),
        "standard_deviation": Formula(
            "s",
            "sqrt(max(0, s_2^2 + ((m_1 - m_2)^2 + s_1^2 - s_2^2) * P_1"
            " + (m_1 - m_2) * theta / sqrt(2 * pi) * exp(-((m_1 - m_2) / theta)^2 / 2) - (mu - m_2)^2)) if theta > 0 else s_1",
        ),
    },
    found_by={
        "p50": Algorithm("root of the chance that both are earlier, by bisection: median", "x_50", {"quantiles in order": _between}),
        "p80": Algorithm("the same for 80 %", "x_80"),
        "p90": Algorithm("the same for 90 %", "x_90"),
    },
    symbols={"mean_first": "m_1", "sd_first": "s_1", "mean_second": "m_2", "sd_second": "s_2", "correlation": "r"},
    possible={"sd_first": (0.0, np.inf), "sd_second": (0.0, np.inf)},
    kind="identity",
    source=CLARK,
)
def later_of_two(mean_first: Number, sd_first: Number, mean_second: Number, sd_second: Number, correlation: Number = 0.0) -> Later:
    """Return the later of two normally distributed dates; its mean lies beyond the later mean.

    Parameters
    ----------
    mean_first, sd_first : of the first date, in any unit.
    mean_second, sd_second : of the second date.
    correlation : of the two.
    """
    first, spread_1, second, spread_2, together = np.broadcast_arrays(
        *(np.asarray(one, dtype=np.float64) for one in (mean_first, sd_first, mean_second, sd_second, correlation))
    )
    apart = first - second
    theta = np.sqrt(np.maximum(0.0, spread_1**2 + spread_2**2 - 2 * together * spread_1 * spread_2))
    ahead = apart / np.where(theta > 0, theta, 1.0)
    is_first = np.where(theta > 0, special.ndtr(ahead), apart > 0)
    density = np.where(theta > 0, theta * np.exp(-0.5 * ahead**2) / np.sqrt(2 * np.pi), 0.0)
    beyond = apart * is_first + density
    square = spread_2**2 + (apart**2 + spread_1**2 - spread_2**2) * is_first + apart * density - beyond**2
    quantiles = (_quantile(share, first, spread_1, second, spread_2, together) for share in (0.5, 0.8, 0.9))
    return Later(
        difference_sd=theta,
        probability_first_later=np.where(np.isnan(theta + apart), np.nan, is_first),
        mean=second + beyond,
        standard_deviation=np.where(theta > 0, np.sqrt(np.maximum(0.0, square)), np.where(np.isnan(theta), np.nan, spread_1)),
        **dict(zip(("p50", "p80", "p90"), quantiles, strict=True)),
    )


def _quantile(share: float, first: FloatArray, spread_1: FloatArray, second: FloatArray, spread_2: FloatArray, together: FloatArray) -> FloatArray:
    """Return the date by which both have passed with a given chance: the root of a distribution that only rises."""
    # Each alone must have passed with that chance, and both surely have when each is as late as half of the remaining risk allows.
    low = np.maximum(first + spread_1 * special.ndtri(share), second + spread_2 * special.ndtri(share))
    high = np.maximum(first + spread_1 * special.ndtri((1 + share) / 2), second + spread_2 * special.ndtri((1 + share) / 2))
    for _ in range(_BISECTIONS):
        middle = (low + high) / 2
        is_early = both_below(_scores(middle, first, spread_1), _scores(middle, second, spread_2), together) < share
        low, high = np.where(is_early, middle, low), np.where(is_early, high, middle)
    return np.where(np.isnan(together), np.nan, (low + high) / 2)


def _scores(value: FloatArray, mean: FloatArray, spread: FloatArray) -> FloatArray:
    sure = np.where(value >= mean, _FAR, -_FAR)
    return np.clip(np.where(spread > 0, (value - mean) / np.where(spread > 0, spread, 1.0), sure), -_FAR, _FAR)


def both_below(first: FloatArray, second: FloatArray, correlation: FloatArray) -> FloatArray:
    """Return the chance that two standard normal variables with a correlation stay below two limits (Owen's T function)."""
    # A limit of -0.0 would turn the ray round.
    first, second = first + 0.0, second + 0.0
    rest = np.sqrt(np.maximum(0.0, 1 - np.square(correlation)))
    is_tied = rest < 1e-12
    with np.errstate(divide="ignore", invalid="ignore"):
        slope_1 = (second - correlation * first) / (first * rest)
        slope_2 = (first - correlation * second) / (second * rest)
    # Two limits of 0 leave the direction of the ray open; both rays then stand at the same angle.
    level = np.sqrt((1 - correlation) / np.where(is_tied, 1.0, 1 + correlation))
    at_zero = (first == 0) & (second == 0)
    slope_1, slope_2 = (np.where(at_zero, level, np.where(np.isnan(slope), 0.0, slope)) for slope in (slope_1, slope_2))
    opposed = (first * second < 0) | ((first * second == 0) & (first + second < 0))
    free = 0.5 * (special.ndtr(first) + special.ndtr(second)) - special.owens_t(first, slope_1) - special.owens_t(second, slope_2) - np.where(opposed, 0.5, 0.0)
    tied = np.where(correlation > 0, special.ndtr(np.minimum(first, second)), np.maximum(0.0, special.ndtr(first) + special.ndtr(second) - 1))
    return np.clip(np.where(is_tied, tied, free), 0.0, 1.0)
