"""Kriging of a boundary: conditional normal fields with a known or an unknown trend.

Two places are as far apart as in plan: along the drive and, for holes beside it, across. A hole off the axis therefore leaves spread on the axis.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from tunnelwright.engineering.ground.boundary import IN_ORDER, BoundaryLevel, Picks
from tunnelwright.engineering.ground.sources import SIMPLE_KRIGING, UNIVERSAL_KRIGING
from tunnelwright.vocabulary.method import Algorithm, Remark, Require, method
from tunnelwright.vocabulary.types import FloatArray, Matrix, Number, Record, Values

CorrelationLaw = Literal["exponential", "squared_exponential"]
Trend = Literal["mean", "slope"]
_CONDITION_MAX = 1e12


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class KrigedBoundary(Record):
    """Level of a boundary, its standard deviation, and how the levels at the wanted chainages hang together."""

    level_mean_m: FloatArray
    level_standard_deviation_m: FloatArray
    correlation_matrix: Matrix


def _correlation(law: str, distance_m: FloatArray, range_m: FloatArray) -> FloatArray:
    ratio = distance_m / range_m
    return np.exp(-ratio) if law == "exponential" else np.exp(-np.square(ratio))


class _Field:
    """Covariances between the picks, and of the picks with wanted places; leading axes follow sill and range."""

    def __init__(self, picks: Picks, chainage_m: Number, standard_deviation_m: Number, range_m: Number, law: str) -> None:
        self.law = law
        self.places, self.levels = picks.chainage_m, picks.level_m
        self.aside = np.nan_to_num(picks.offset_m)
        self.wanted = np.asarray(chainage_m, dtype=np.float64)
        self.sill, self.range = np.broadcast_arrays(np.square(standard_deviation_m), range_m)
        noise = np.diag(np.square(np.nan_to_num(picks.pick_accuracy_m)))
        apart = np.hypot(np.subtract.outer(self.places, self.places), np.subtract.outer(self.aside, self.aside))
        self.between_picks = self.sill[..., None, None] * _correlation(law, apart, self.range[..., None, None]) + noise
        to_picks = np.hypot(self.wanted[..., None] - self.places, self.aside)
        self.to_picks = self.sill[..., None] * _correlation(law, to_picks, self.range[..., None])

    def weights(self, right_hand_side: FloatArray) -> FloatArray:
        """Return the inverse covariance of the picks times vectors along the last axis; NaN where it has no inverse."""
        matrix = self.between_picks
        try:
            if matrix.ndim == 2:
                count = matrix.shape[-1]
                return np.linalg.solve(matrix, right_hand_side.reshape(-1, count).T).T.reshape(right_hand_side.shape)
            return np.linalg.solve(matrix, right_hand_side[..., None])[..., 0]
        except np.linalg.LinAlgError:
            return np.full(np.broadcast_shapes(right_hand_side.shape, matrix.shape[:-1]), np.nan)

    def conditional_correlation(self) -> FloatArray:
        """Return the correlations between the wanted places that the picks leave; NaN where every place has its own sill or range."""
        count = self.wanted.size
        if self.between_picks.ndim > 2:
            return np.full((count, count), np.nan)
        wanted, to_picks = self.wanted.ravel(), self.to_picks.reshape(count, -1)
        covariance = self.sill * _correlation(self.law, np.abs(np.subtract.outer(wanted, wanted)), self.range) - to_picks @ self.weights(to_picks).T
        deviation = np.sqrt(np.maximum(np.diag(covariance), 0.0))
        scale = np.multiply.outer(deviation, deviation)
        # Where a pick leaves no spread there is nothing to correlate with.
        known = np.diag(covariance) > 1e-12 * self.sill
        return np.where(np.logical_and.outer(known, known), covariance / np.where(scale > 0, scale, 1.0), np.eye(count))


def _well_posed(values: Values) -> bool:
    """Say whether the picks can be told apart, so that their covariance has an inverse worth using."""
    field = _Field(values["picks"], 0.0, values["standard_deviation_m"], values["range_m"], values["correlation_law"])
    matrix = field.between_picks
    return bool(np.all(~np.isfinite(matrix)) or np.all(np.linalg.cond(np.nan_to_num(matrix)) < _CONDITION_MAX))


_WELL_POSED = Require(
    "picks", _well_posed, "must be told apart by the correlation", "two holes stand at one spot: merge them, or give their picks an accuracy above 0"
)
_POSSIBLE = {"standard_deviation_m": (1e-6, 100.0), "range_m": (1e-3, 1e5), "mean_level_m": (-1000.0, 9000.0)}
_NO_MORE_THAN_SILL = {"no more than the spread without picks": lambda v: ~(v["level_standard_deviation_m"] > v["standard_deviation_m"] * (1 + 1e-9))}


def _correlations(values: Values) -> bool:
    matrix = values["correlation_matrix"]
    return bool(np.all(~(np.abs(matrix) > 1 + 1e-6)) and np.allclose(matrix, matrix.T, atol=1e-9, equal_nan=True))


@method(
    "ground.boundary.simple_kriging",
    found_by={
        "level_mean_m": Algorithm("known mean plus weighted residuals of the picks; the weights solve K w = k", "mu_Z"),
        "level_standard_deviation_m": Algorithm("root of sill less k' w", "s_Z", _NO_MORE_THAN_SILL),
        "correlation_matrix": Algorithm(
            "covariance between wanted places less what the picks explain, over both deviations", "R", {"symmetric, within 1": _correlations}
        ),
    },
    possible=_POSSIBLE,
    requires=(IN_ORDER, _WELL_POSED),
    kind="mean",
    source=SIMPLE_KRIGING,
)
def simple_kriging(
    picks: Picks,
    chainage_m: Number,
    mean_level_m: Number,
    standard_deviation_m: Number,
    range_m: Number,
    correlation_law: CorrelationLaw = "exponential",
) -> KrigedBoundary:
    """Return a boundary by kriging with a known mean.

    Parameters
    ----------
    picks : of one boundary.
    chainage_m : where wanted, one or many; the matrix of correlations grows with the square of their number.
    mean_level_m : known mean far from the picks.
    standard_deviation_m : far from the picks, root of the sill.
    range_m : a in exp(-h/a) or exp(-(h/a)^2).
    correlation_law : of the two.
    """
    field = _Field(picks, chainage_m, standard_deviation_m, range_m, correlation_law)
    weights = field.weights(field.to_picks)
    residual = field.levels - np.asarray(mean_level_m)[..., None]
    variance = field.sill - np.sum(weights * field.to_picks, axis=-1)
    return KrigedBoundary(
        level_mean_m=mean_level_m + np.sum(weights * residual, axis=-1),
        level_standard_deviation_m=np.sqrt(np.maximum(variance, 0.0)),
        correlation_matrix=field.conditional_correlation(),
    )


def _enough_for_the_trend(values: Values) -> bool:
    chainage = values["picks"].chainage_m
    return len(np.unique(chainage)) >= (2 if values["trend"] == "slope" else 1)


@method(
    "ground.boundary.universal_kriging",
    found_by={
        "level_mean_m": Algorithm("trend by generalised least squares plus weighted residuals of the picks", "mu_Z"),
        "level_standard_deviation_m": Algorithm(
            "root of sill less k' w plus the spread of the trend", "s_Z", {"not negative": lambda v: ~(v["level_standard_deviation_m"] < 0)}
        ),
    },
    possible=_POSSIBLE,
    requires=(IN_ORDER, _WELL_POSED, Require("picks", _enough_for_the_trend, "must hold one chainage for a mean, two for a slope")),
    remarks=(Remark(lambda v: v["picks"].row_count < 3, "fewer than three picks: the trend is hardly known"),),
    kind="mean",
    source=UNIVERSAL_KRIGING,
)
def universal_kriging(
    picks: Picks,
    chainage_m: Number,
    standard_deviation_m: Number,
    range_m: Number,
    correlation_law: CorrelationLaw = "exponential",
    trend: Trend = "mean",
) -> BoundaryLevel:
    """Return a boundary by kriging with an unknown mean, or mean and slope.

    Parameters
    ----------
    picks : of one boundary.
    chainage_m : where wanted, one or many.
    standard_deviation_m : about the trend, root of the sill.
    range_m : a in exp(-h/a) or exp(-(h/a)^2).
    correlation_law : of the two.
    trend : what is unknown.

    Notes
    -----
    The part of the trend that the weights leave out, r = f - F' w, adds r' (F' K^-1 F)^-1 r to the variance.
    """
    field = _Field(picks, chainage_m, standard_deviation_m, range_m, correlation_law)
    weights = field.weights(field.to_picks)
    at_picks, at_wanted = _trend_terms(field, trend)
    explained = np.stack([field.weights(np.broadcast_to(column, field.between_picks.shape[:-1])) for column in at_picks.T], axis=-1)
    information = np.swapaxes(explained, -1, -2) @ at_picks
    coefficients = np.linalg.solve(information, np.swapaxes(explained, -1, -2) @ field.levels[:, None])[..., 0]
    left_out = at_wanted - weights @ at_picks
    spread = np.linalg.solve(information, left_out[..., None])[..., 0]
    residual = field.levels - coefficients @ at_picks.T
    variance = field.sill - np.sum(weights * field.to_picks, axis=-1) + np.sum(left_out * spread, axis=-1)
    return BoundaryLevel(
        level_mean_m=np.sum(at_wanted * coefficients, axis=-1) + np.sum(weights * residual, axis=-1),
        level_standard_deviation_m=np.sqrt(np.maximum(variance, 0.0)),
    )


def _trend_terms(field: _Field, trend: str) -> tuple[FloatArray, FloatArray]:
    """Return the terms of the trend at the picks and at the wanted places; chainage is centred and scaled to keep the numbers small."""
    if trend == "mean":
        return np.ones((len(field.places), 1)), np.ones((*field.wanted.shape, 1)) + 0.0 * field.wanted[..., None]
    centre, scale = np.mean(field.places), max(float(np.ptp(field.places)), 1e-9)
    terms = [np.stack([np.ones_like(place), (place - centre) / scale], axis=-1) for place in (field.places, field.wanted)]
    return terms[0], terms[1]
