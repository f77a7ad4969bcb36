"""What recorded rings teach about the rings ahead: in closed form, one conjugate pair each."""

from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy import special

from tunnelwright.engineering.programme.sources import CONJUGATE, NORMAL_INVERSE_GAMMA
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Range, Remark, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Series, Values


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class NormalForecast(Record):
    """What readings and prior say of mean, spread and the next ring.

    Parameters
    ----------
    weight_sum, weighted_mean, weighted_square_sum : what the readings come to, before the prior.
    posterior_mean, posterior_count, posterior_alpha, posterior_beta : of the normal and inverse gamma distribution.
    mean_sd : spread of the mean, not of a ring.
    variance_mean : mean of the variance from ring to ring.
    predictive_scale, degrees_of_freedom, predictive_quantile : of Student's distribution of the next ring.
    probability_above : that the next ring lies above the threshold.
    """

    weight_sum: FloatArray
    weighted_mean: FloatArray
    weighted_square_sum: FloatArray
    posterior_mean: FloatArray
    posterior_count: FloatArray
    posterior_alpha: FloatArray
    posterior_beta: FloatArray
    mean_sd: FloatArray
    variance_mean: FloatArray
    predictive_scale: FloatArray
    degrees_of_freedom: FloatArray
    predictive_quantile: FloatArray
    probability_above: FloatArray


def _has_its_chance(values: Values) -> Any:
    score = (np.asarray(values["predictive_quantile"]) - values["posterior_mean"]) / values["predictive_scale"]
    again = special.stdtr(values["degrees_of_freedom"], score)
    return np.isnan(again) | (np.abs(again - values["probability"]) < 1e-9)


@method(
    "programme.forecast.normal_inverse_gamma",
    formulas={
        "posterior_count": Formula("kappa", "kappa_0 + W"),
        "posterior_mean": Formula("m", "(kappa_0 * m_0 + W * y_m) / kappa"),
        "posterior_alpha": Formula("alpha", "alpha_0 + W / 2"),
        "posterior_beta": Formula("beta", "beta_0 + Q / 2 + kappa_0 * W * (y_m - m_0)^2 / (2 * kappa)"),
        "mean_sd": Formula("s_mu", "sqrt(beta / ((alpha - 1) * kappa))"),
        "variance_mean": Formula("v_mean", "beta / (alpha - 1)"),
        "predictive_scale": Formula("s_next", "sqrt(beta * (kappa + 1) / (alpha * kappa))"),
        "degrees_of_freedom": Formula("nu", "2 * alpha"),
    },
    found_by={
        "weight_sum": Algorithm("sum of the weights of readings that have a number", "W"),
        "weighted_mean": Algorithm("weighted mean of the readings; the prior mean where nothing counts", "y_m"),
        "weighted_square_sum": Algorithm("weighted sum of squares about that mean", "Q"),
        "predictive_quantile": Algorithm("m + s_next times the quantile of Student's t with nu degrees of freedom", "y_p", {"has its chance": _has_its_chance}),
        "probability_above": Algorithm("1 less Student's distribution at (threshold - m) / s_next", "P_above"),
    },
    symbols={"prior_mean": "m_0", "prior_count": "kappa_0", "prior_alpha": "alpha_0", "prior_beta": "beta_0", "probability": "p"},
    # A variable without a second moment has no spread: alpha above 1.
    possible={"prior_count": (0.0, 1e9), "prior_alpha": (1.0001, 1e9), "prior_beta": (1e-12, 1e12), "probability": (1e-9, 1 - 1e-9)},
    requires=(
        Require("weight", lambda v: v["weight"] is None or np.size(v["weight"]) == np.size(v["y"]), "must have as many entries as y"),
        Require("prior_count", lambda v: (v["prior_count"] > 0) | np.any(_counted(v["y"], v["weight"]) > 0), "must be above 0 where no reading counts"),
    ),
    remarks=(Remark(lambda v: np.any(np.isnan(v["y"])), "readings without a number do not count"),),
    kind="mean",
    source=NORMAL_INVERSE_GAMMA,
)
def normal_inverse_gamma(
    y: Series,
    weight: Series | None = None,
    prior_mean: Number = 0.0,
    prior_count: Number = 6.25,
    prior_alpha: Number = 3.0,
    prior_beta: Number = 0.18,
    probability: Number = 0.8,
    threshold: Number | None = None,
) -> NormalForecast:
    """Return mean and spread of ring times as plan and recorded rings together say.

    Parameters
    ----------
    y : logarithms of recorded over planned ring time, booked stops left out of both.
    weight : how much each counts; without it each counts 1.
    prior_mean : before any ring.
    prior_count : rings that the plan is worth: the square of ring spread over systematic spread.
    prior_alpha, prior_beta : of the inverse gamma distribution of the variance, whose mean is beta / (alpha - 1).
    probability : not to exceed the quantile of the next ring.
    threshold : of y of the next ring; without it there is no chance.

    Notes
    -----
    To sum rings ahead draw variance and mean once per sample, never a mean of its own for each ring.
    """
    counted = _counted(y, weight)
    readings = np.where(counted > 0, y, 0.0)
    total = float(counted.sum())
    prior, kappa_0 = np.asarray(prior_mean, dtype=np.float64), np.asarray(prior_count, dtype=np.float64)
    mean = np.full(prior.shape, float(counted @ readings) / total) if total > 0 else prior
    square = np.sum(counted * np.square(readings - mean[..., None]), axis=-1)
    kappa = kappa_0 + total
    centre = (kappa_0 * prior + total * mean) / kappa
    alpha = np.asarray(prior_alpha) + total / 2
    beta = prior_beta + square / 2 + kappa_0 * total * np.square(mean - prior) / (2 * kappa)
    scale = np.sqrt(beta * (kappa + 1) / (alpha * kappa))
    limit = np.nan if threshold is None else threshold
    return NormalForecast(
        weight_sum=np.asarray(total),
        weighted_mean=mean,
        weighted_square_sum=square,
        posterior_mean=centre,
        posterior_count=kappa,
        posterior_alpha=alpha,
        posterior_beta=beta,
        mean_sd=np.sqrt(beta / ((alpha - 1) * kappa)),
        variance_mean=beta / (alpha - 1),
        predictive_scale=scale,
        degrees_of_freedom=2 * alpha,
        predictive_quantile=centre + scale * special.stdtrit(2 * alpha, probability),
        probability_above=special.stdtr(2 * alpha, (centre - limit) / scale),
    )


def _counted(y: FloatArray, weight: FloatArray | None) -> FloatArray:
    weights = np.ones(np.shape(y)) if weight is None else np.nan_to_num(weight)
    return np.where(np.isnan(y), 0.0, weights) if np.shape(weights) == np.shape(y) else np.zeros(np.shape(y))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class EventRate(Record):
    """Mean rate of events, and the chance of none ahead."""

    rate_mean_1_km: FloatArray
    probability_none_ahead: FloatArray


@method(
    "programme.forecast.event_rate_gamma",
    formulas={
        "rate_mean_1_km": Formula("lambda_m", "(a_0 + n_e) / (b_0 + E)"),
        "probability_none_ahead": Formula("P_none", "((b_0 + E) / (b_0 + E + x))^(a_0 + n_e)"),
    },
    symbols={"event_count": "n_e", "prior_exposure_km": "b_0", "exposure_km": "E", "ahead_km": "x"},
    possible={"prior_exposure_km": (0.0, 1e6), "exposure_km": (0.0, 1e6), "ahead_km": (0.0, 1e6)},
    requires=(Require("exposure_km", lambda v: ~(v["prior_exposure_km"] + v["exposure_km"] <= 0), "must be above 0 where the prior is worth no exposure"),),
    remarks=(Remark(lambda v: v["rate_mean_1_km"] > 70, "more than one event in ten usual rings: was the rate given per ring?"),),
    kind="mean",
    source=CONJUGATE,
)
def event_rate_gamma(prior_shape: Number, prior_exposure_km: Number, event_count: Number, exposure_km: Number, ahead_km: Number) -> EventRate:
    """Return the rate of events as prior and drive so far say, and the chance of none on a stretch ahead.

    Parameters
    ----------
    prior_shape : events that earlier knowledge is worth.
    prior_exposure_km : stretch over which it is worth them.
    event_count : events met.
    exposure_km : stretch driven.
    ahead_km : stretch ahead, of the same ground.
    """
    shape, exposure = np.add(prior_shape, event_count), np.add(prior_exposure_km, exposure_km)
    return EventRate(rate_mean_1_km=shape / exposure, probability_none_ahead=np.power(exposure / (exposure + ahead_km), shape))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class UnseenGround(Record):
    """Mean of a ground not met yet, and its spread about that."""

    expected_mean: FloatArray
    spread_sd: FloatArray


@method(
    "programme.forecast.unseen_ground",
    formulas={
        "expected_mean": Formula("mu_u", "mu * tau_S^2 / (tau_S^2 + tau_G^2)"),
        "spread_sd": Formula("s_u", "tau_G * sqrt((2 * tau_S^2 + tau_G^2) / (tau_S^2 + tau_G^2))"),
    },
    symbols={"learnt_mean": "mu", "systematic_sd": "tau_S", "ground_sd": "tau_G"},
    possible={"systematic_sd": (0.0, 10.0), "ground_sd": (0.0, 10.0)},
    requires=(Require("systematic_sd", lambda v: ~((v["systematic_sd"] == 0) & (v["ground_sd"] == 0)), "one of the two spreads must be above 0"),),
    kind="mean",
    source=CONJUGATE,
)
def unseen_ground(learnt_mean: Number, systematic_sd: Number, ground_sd: Number) -> UnseenGround:
    """Return what a mean learnt in one ground says of a ground not met yet.

    Parameters
    ----------
    learnt_mean : of the ground met, as a logarithm over the plan, known well.
    systematic_sd : spread of what all grounds of the drive share.
    ground_sd : spread of what each ground has of its own.
    """
    shared, own = np.square(systematic_sd), np.square(ground_sd)
    total = np.add(shared, own)
    # Both terms of the difference are close where little is the ground's own: write it as a product.
    return UnseenGround(expected_mean=learnt_mean * shared / total, spread_sd=np.sqrt(own * (shared + total) / total))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class AutocorrelationWeight(Record):
    """How much a ring counts whose neighbours say nearly the same."""

    weight: FloatArray


@method(
    "programme.forecast.autocorrelation_weight",
    formulas={"weight": Formula("w", "(1 - rho) / (1 + rho)")},
    symbols={"correlation": "rho"},
    valid={"correlation": Range(0.0, 1.0, "a negative one would count a ring more than once")},
    possible={"correlation": (-0.99, 1.0)},
    kind="identity",
    source=CONJUGATE,
)
def autocorrelation_weight(correlation: Number) -> AutocorrelationWeight:
    """Return the weight of a ring in a series whose neighbours hang together.

    Parameters
    ----------
    correlation : between a ring and the next.
    """
    return AutocorrelationWeight(weight=np.divide(1 - np.asarray(correlation), 1 + np.asarray(correlation)))
