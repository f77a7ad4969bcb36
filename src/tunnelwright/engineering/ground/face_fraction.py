"""Share of the upper unit in the face when the level of the boundary is uncertain."""

from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.special import ndtr, ndtri

from tunnelwright.engineering.ground.face import face_share
from tunnelwright.engineering.ground.sources import NORMAL_LAW
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Values

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(120)
# Beyond so many standard deviations a normal law holds less than 1e-16.
_TAIL: Final = 8.3
_Z_95: Final = float(ndtri(0.95))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class UpperFraction(Record):
    """Mean and quantiles of the upper unit's share, and the probability of a mixed face."""

    upper_fraction_mean: FloatArray
    upper_fraction_5: FloatArray
    upper_fraction_50: FloatArray
    upper_fraction_95: FloatArray
    mixed_probability: FloatArray


def _share_formula(deviations: str) -> str:
    """Return the share of the circle above the boundary's mean, shifted by so many standard deviations."""
    ratio = f"max(-1, min(1, 2 * (m {deviations}) / D))"
    return f"(acos({ratio}) - {ratio} * sqrt(1 - {ratio}^2)) / pi"


def _within(values: Values) -> FloatArray:
    mean = values["upper_fraction_mean"]
    return np.isnan(mean) | ((mean >= -1e-12) & (mean <= 1 + 1e-12))


@method(
    "ground.face_fraction.normal_boundary",
    found_by={
        "upper_fraction_mean": Algorithm("share of the circle above the boundary, integrated over the normal law of its height", "f_mean", {"0 to 1": _within}),
        "mixed_probability": Algorithm(
            "probability of the heights between which both units have the least share",
            "P_mixed",
            {"0 to 1": lambda v: ~((v["mixed_probability"] < -1e-12) | (v["mixed_probability"] > 1 + 1e-12))},
        ),
    },
    formulas={
        "upper_fraction_5": Formula("f_5", _share_formula("+ Phi_inverse(0.95) * s")),
        "upper_fraction_50": Formula("f_50", _share_formula("")),
        "upper_fraction_95": Formula("f_95", _share_formula("- Phi_inverse(0.95) * s")),
    },
    symbols={"boundary_mean_above_axis_m": "m", "boundary_standard_deviation_m": "s"},
    possible={"least_fraction": (0.0, 1.0)},
    kind="identity",
    source=NORMAL_LAW,
)
def upper_fraction(
    boundary_mean_above_axis_m: Number, boundary_standard_deviation_m: Number, excavation_diameter_m: Number, least_fraction: Number = 0.10
) -> UpperFraction:
    """Return how much of the face the unit above a boundary takes, with its spread.

    Parameters
    ----------
    boundary_mean_above_axis_m : mean height over the axis.
    boundary_standard_deviation_m : of that height; 0 for a known boundary.
    excavation_diameter_m : as cut.
    least_fraction : a face is mixed when both units have at least this share.
    """
    radius = np.asarray(excavation_diameter_m) / 2
    mean, spread = np.broadcast_arrays(boundary_mean_above_axis_m / radius, boundary_standard_deviation_m / radius)
    edge = _height_of_share(least_fraction)
    return UpperFraction(
        upper_fraction_mean=_mean_share(mean, spread),
        upper_fraction_5=face_share(mean + _Z_95 * spread),
        upper_fraction_50=face_share(mean),
        upper_fraction_95=face_share(mean - _Z_95 * spread),
        mixed_probability=np.where(edge >= 0, np.maximum(_below(edge - mean, spread, 1) - _below(-edge - mean, spread, 0), 0.0), 0.0 * mean),
    )


def _below(distance: FloatArray, spread: FloatArray, at_edge: int) -> FloatArray:
    """Return the share of the normal law below a distance from its mean; a step without spread, an edge counting as asked."""
    is_known = spread == 0
    step = (distance >= 0) if at_edge else (distance > 0)
    return np.where(is_known, step + 0.0 * distance, ndtr(distance / np.where(is_known, 1.0, spread)))


def _mean_share(mean: FloatArray, spread: FloatArray) -> FloatArray:
    """Return the mean share, all lengths over the radius.

    The integral runs over the heights inside the face only; below the invert the share is 1. Its variable is an angle, which takes away the roots at
    crown and invert.
    """
    is_known = spread == 0
    divisor = np.where(is_known, 1.0, spread)
    low, high = np.clip((-1 - mean) / divisor, -_TAIL, _TAIL), np.clip((1 - mean) / divisor, -_TAIL, _TAIL)
    angle = np.pi * (_NODES + 1) / 2
    middle, half = ((low + high) / 2)[..., None], ((high - low) / 2)[..., None]
    deviations = middle - half * np.cos(angle)
    density = np.exp(-0.5 * deviations**2) / np.sqrt(2 * np.pi)
    inside = face_share(mean[..., None] + divisor[..., None] * deviations) * density * half * np.sin(angle) @ _WEIGHTS * np.pi / 2
    return np.where(is_known, face_share(mean), ndtr(low) + inside)


def _height_of_share(share: Number) -> FloatArray:
    """Return the height over the radius above which a share of the circle lies, by halving."""
    wanted = np.asarray(share, dtype=np.float64)
    low, high = -np.ones_like(wanted), np.ones_like(wanted)
    for _ in range(60):
        middle = (low + high) / 2
        is_too_low = face_share(middle) > wanted
        low, high = np.where(is_too_low, middle, low), np.where(is_too_low, high, middle)
    return (low + high) / 2 + 0.0 * wanted
