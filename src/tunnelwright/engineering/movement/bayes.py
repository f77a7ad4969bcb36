"""Back-analysis of readings as probabilities: a grid over volume loss, width and offset, and the linear case in closed form.

An offset that all points of an epoch share (the benchmark moved) is a normal variable of its own; integrated out it adds s_b^2 to every
entry of the covariance of the readings. Left out, four points look like four independent facts.
"""

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from scipy import interpolate

from tunnelwright.engineering.movement.fit import TroughReadings, unit_settlement
from tunnelwright.engineering.movement.sources import BAYES_GRID, BAYES_LINEAR
from tunnelwright.engineering.places import each_place
from tunnelwright.vocabulary.method import Algorithm, Remark, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Table, Values

Likelihood = Literal["normal", "student t 4"]

_ROOT_2_PI: Final = np.sqrt(2 * np.pi)
_FREEDOM: Final = 4.0
_CELLS: Final = (81, 61, 31)
_LEAST_EFFECTIVE_CELLS: Final = 20.0
_MOST_ROUNDS: Final = 8
_REACH_SD: Final = 6.0
# The share of the peak below which a cell counts as empty when the grid is fitted to the posterior.
_NOTHING: Final = 1e-8
_FINE: Final = 4001


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Posterior(Record):
    """What readings and prior together say; p05 and p95 bound 90 %."""

    volume_loss_mean: FloatArray
    volume_loss_sd: FloatArray
    volume_loss_p05: FloatArray
    volume_loss_p95: FloatArray
    trough_width_factor_mean: FloatArray
    trough_width_factor_sd: FloatArray
    trough_offset_mean_m: FloatArray
    trough_offset_sd_m: FloatArray
    correlation: FloatArray
    settlement_max_mean_m: FloatArray


def _quantiles_in_order(values: Values) -> FloatArray:
    low, mean, high = (np.asarray(values[name]) for name in ("volume_loss_p05", "volume_loss_mean", "volume_loss_p95"))
    return np.asarray(np.isnan(low) | ((low < high) & (mean > low * 0.5) & (low > 0)))


@method(
    "movement.fit.bayes_grid",
    found_by={
        "volume_loss_mean": Algorithm("mean over a grid in ln V_L, ln K and e that is refined until the posterior fills it", "V_mean"),
        "volume_loss_sd": Algorithm("its standard deviation", "s_V"),
        "volume_loss_p05": Algorithm("value that 5 % of the posterior stay below", "V_05", {"quantiles in order": _quantiles_in_order}),
        "volume_loss_p95": Algorithm("value that 95 % of the posterior stay below", "V_95"),
        "trough_width_factor_mean": Algorithm("mean over the grid", "K_mean"),
        "trough_width_factor_sd": Algorithm("its standard deviation", "s_K"),
        "trough_offset_mean_m": Algorithm("mean over the grid, 0 when the centre is held on the axis", "e_mean"),
        "trough_offset_sd_m": Algorithm("its standard deviation", "s_e"),
        "correlation": Algorithm("of volume loss and width factor", "rho_VK", {"between -1 and 1": lambda v: ~(np.abs(v["correlation"]) > 1 + 1e-9)}),
        "settlement_max_mean_m": Algorithm("mean of the largest settlement", "S_mean"),
    },
    symbols={"settlement_ratio_at_face": "r"},
    possible={
        "standard_deviation_m": (1e-6, 1.0),
        "axis_depth_m": (0.5, 400.0),
        "prior_volume_loss": (0.0001, 0.1),
        "prior_volume_loss_log_sd": (0.01, 3.0),
        "prior_trough_width_factor": (0.05, 1.0),
        "prior_trough_width_factor_log_sd": (0.005, 1.0),
        "prior_trough_offset_sd_m": (0.0, 50.0),
        "settlement_ratio_at_face": (0.01, 0.99),
    },
    remarks=(
        Remark(lambda v: np.abs(np.asarray(v["correlation"])) > 0.9, "volume loss and width cannot be told apart: add points at one and a half to two widths"),
        Remark(
            lambda v: np.mean(v["readings"].settlement_m) < 0, "the reach heaves: a loss whose logarithm is taken cannot be negative, use the linear update"
        ),
    ),
    kind="mean",
    source=BAYES_GRID,
)
def bayes_grid(
    readings: TroughReadings,
    excavation_diameter_m: Number,
    axis_depth_m: Number,
    prior_volume_loss: Number,
    prior_volume_loss_log_sd: Number = 0.5,
    prior_trough_width_factor: Number = 0.5,
    prior_trough_width_factor_log_sd: Number = 0.2,
    prior_trough_offset_sd_m: Number = 0.0,
    settlement_ratio_at_face: Number = 0.25,
    common_offset_sd_m: Number = 0.0,
    likelihood: Likelihood = "normal",
) -> Posterior:
    """Return volume loss, width and offset of a reach as the plan and its readings together say.

    Parameters
    ----------
    readings : of one epoch, background taken off; model error added to the standard deviation in quadrature.
    excavation_diameter_m : cut diameter.
    axis_depth_m : surface to axis.
    prior_volume_loss, prior_volume_loss_log_sd : median before the readings and spread of its logarithm.
    prior_trough_width_factor, prior_trough_width_factor_log_sd : the same of the width factor.
    prior_trough_offset_sd_m : spread of the trough's centre about the axis; 0 holds it there.
    settlement_ratio_at_face : share of the final settlement above the face.
    common_offset_sd_m : spread of an error that all points of the epoch share.
    likelihood : ``student t 4`` bears outliers; its scale is the standard deviation given.
    """

    def at_place(*numbers: float) -> tuple[float, ...]:
        return (np.nan,) * 10 if not np.all(np.isfinite(numbers)) else _Grid(readings, likelihood, *numbers).posterior()

    names = tuple(Posterior.__dataclass_fields__)
    numbers = [
        excavation_diameter_m, axis_depth_m, prior_volume_loss, prior_volume_loss_log_sd, prior_trough_width_factor, prior_trough_width_factor_log_sd,
        prior_trough_offset_sd_m, settlement_ratio_at_face, common_offset_sd_m,
    ]  # fmt: skip
    return Posterior(**dict(zip(names, each_place(at_place, len(names), numbers), strict=True)))


@dataclass(frozen=True, slots=True)
class _Grid:
    """One posterior on a grid in ln V_L, ln K and e."""

    readings: TroughReadings
    likelihood: str
    diameter_m: float
    depth_m: float
    loss: float
    loss_spread: float
    factor: float
    factor_spread: float
    offset_spread_m: float
    ratio: float
    common_m: float

    def posterior(self) -> tuple[float, ...]:
        """Return the moments on a grid that starts wide and closes in until the posterior fills it."""
        centre = np.array([np.log(self.loss), np.log(self.factor), 0.0])
        reach = np.array([self.loss_spread, self.factor_spread, self.offset_spread_m]) * _REACH_SD
        for _ in range(_MOST_ROUNDS):
            axes = [
                np.linspace(centre[at] - reach[at], centre[at] + reach[at], cells) if reach[at] > 0 else centre[at : at + 1] for at, cells in enumerate(_CELLS)
            ]
            weight = self._weights(axes)
            tighter = [_span(axes[at], weight.sum(axis=tuple({0, 1, 2} - {at}))) for at in range(3)]
            if 1 / np.sum(np.square(weight)) >= _LEAST_EFFECTIVE_CELLS and all(new >= 0.7 * old for (_, new), old in zip(tighter, reach, strict=True)):
                break
            centre, reach = np.array([one for one, _ in tighter]), np.array([one for _, one in tighter])
        return self._moments(axes, weight)

    def _weights(self, axes: list[FloatArray]) -> FloatArray:
        log_loss, log_factor, offset_m = axes
        prior = -0.5 * np.square((log_loss - np.log(self.loss)) / self.loss_spread)[:, None, None]
        prior = prior - 0.5 * np.square((log_factor - np.log(self.factor)) / self.factor_spread)[None, :, None]
        if self.offset_spread_m > 0:
            prior = prior - 0.5 * np.square(offset_m / self.offset_spread_m)[None, None, :]
        unit = unit_settlement(self.readings, self.diameter_m, np.exp(log_factor)[:, None] * self.depth_m, offset_m, self.ratio)
        log_weight = prior + (self._normal(np.exp(log_loss), unit) if self.likelihood == "normal" else self._student(np.exp(log_loss), unit))
        weight = np.exp(log_weight - np.max(log_weight))
        return np.asarray(weight / np.sum(weight))

    def _normal(self, loss: FloatArray, unit: FloatArray) -> FloatArray:
        """Return the log-likelihood with the full covariance: a quadratic in the loss for each width and offset."""
        spread = self.readings.standard_deviation_m
        inverse = np.linalg.inv(np.diag(np.square(spread)) + self.common_m**2)
        own, cross, square = self.readings.settlement_m @ inverse @ self.readings.settlement_m, unit @ (inverse @ self.readings.settlement_m), 0.0
        square = np.sum((unit @ inverse) * unit, axis=-1)
        return np.asarray(-0.5 * (own - 2 * loss[:, None, None] * cross + np.square(loss)[:, None, None] * square))

    def _student(self, loss: FloatArray, unit: FloatArray) -> FloatArray:
        """Return the log-likelihood with heavy tails, summed over the shared offset in steps well below the noise of the mean."""
        spread = self.readings.standard_deviation_m
        if self.common_m > 0:
            needed = 8 * self.common_m / (0.4 * float(np.min(spread)) / np.sqrt(spread.size))
            shared = np.linspace(-4.0, 4.0, int(np.clip(np.ceil(needed), 41, 401))) * self.common_m
        else:
            shared = np.zeros(1)
        total = np.full((loss.size, *unit.shape[:-1]), -np.inf)
        for offset in shared:
            log_likelihood = np.zeros_like(total)
            for at, sigma in enumerate(spread):
                misfit = (self.readings.settlement_m[at] - offset - loss[:, None, None] * unit[..., at]) / sigma
                log_likelihood -= 0.5 * (_FREEDOM + 1) * np.log1p(np.square(misfit) / _FREEDOM)
            total = np.logaddexp(total, log_likelihood - (0.5 * (offset / self.common_m) ** 2 if self.common_m > 0 else 0.0))
        return total

    def _moments(self, axes: list[FloatArray], weight: FloatArray) -> tuple[float, ...]:
        loss, factor, offset_m = np.exp(axes[0]), np.exp(axes[1]), axes[2]
        of_loss, of_factor, of_offset = weight.sum(axis=(1, 2)), weight.sum(axis=(0, 2)), weight.sum(axis=(0, 1))
        mean_loss, mean_factor, mean_offset = float(of_loss @ loss), float(of_factor @ factor), float(of_offset @ offset_m)
        spread_loss = float(np.sqrt(of_loss @ np.square(loss - mean_loss)))
        spread_factor = float(np.sqrt(of_factor @ np.square(factor - mean_factor)))
        spread_offset = float(np.sqrt(of_offset @ np.square(offset_m - mean_offset)))
        both = weight.sum(axis=2)
        covariance = float((loss - mean_loss) @ both @ (factor - mean_factor))
        low, high = (float(np.exp(place)) for place in _quantiles(axes[0], of_loss, (0.05, 0.95)))
        deepest = np.pi / 4 * self.diameter_m**2 / (_ROOT_2_PI * self.depth_m) * float(loss @ both @ (1 / factor))
        correlation = covariance / (spread_loss * spread_factor)
        return mean_loss, spread_loss, low, high, mean_factor, spread_factor, mean_offset, spread_offset, correlation, deepest


def _quantiles(places: FloatArray, weight: FloatArray, shares: tuple[float, ...]) -> FloatArray:
    """Return the places below which these shares lie: the weights are read as a smooth density, integrated and turned round."""
    fine = np.linspace(places[0], places[-1], _FINE)
    below = interpolate.CubicSpline(places, weight).antiderivative()(fine)
    return np.asarray(np.interp(shares, np.maximum.accumulate(below) / below[-1], fine))


def _span(places: FloatArray, weight: FloatArray) -> tuple[float, float]:
    """Return centre and half length of the part of an axis that the posterior fills, a cell beyond its ends."""
    if places.size == 1:
        return float(places[0]), 0.0
    filled = np.flatnonzero(weight > _NOTHING * np.max(weight))
    first, last = max(filled[0] - 1, 0), min(filled[-1] + 1, places.size - 1)
    return float(places[first] + places[last]) / 2, float(places[last] - places[first]) / 2


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SurfaceReadings(Table):
    """Readings across a drive that has passed."""

    offset_m: FloatArray
    settlement_m: FloatArray
    standard_deviation_m: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LinearPosterior(Record):
    """Volume loss after the readings, and what the next reading should be."""

    volume_loss_mean: FloatArray
    volume_loss_sd: FloatArray
    predicted_settlement_mean_m: FloatArray
    predicted_settlement_sd_m: FloatArray


def _no_wider_than_prior(values: Values) -> FloatArray:
    return np.asarray(~(np.asarray(values["volume_loss_sd"]) > np.asarray(values["prior_volume_loss_sd"]) * (1 + 1e-9)))


@method(
    "movement.fit.bayes_linear",
    found_by={
        "volume_loss_mean": Algorithm("normal prior and normal readings of a settlement that grows linearly with the loss", "V_mean"),
        "volume_loss_sd": Algorithm("the same", "s_V", {"readings never widen it": _no_wider_than_prior}),
        "predicted_settlement_mean_m": Algorithm("mean loss times the settlement per loss at the place", "S_p"),
        "predicted_settlement_sd_m": Algorithm("spread of the loss there and noise of the reading in quadrature", "s_p"),
    },
    possible={
        "standard_deviation_m": (1e-6, 1.0),
        "prior_volume_loss_mean": (-0.05, 0.1),
        "prior_volume_loss_sd": (1e-5, 0.1),
        "predicted_offset_m": (-1e4, 1e4),
        "predicted_standard_deviation_m": (0.0, 1.0),
    },
    requires=(Require("readings", lambda v: v["readings"].row_count >= 1, "must hold a row"),),
    kind="mean",
    source=BAYES_LINEAR,
)
def bayes_linear(
    readings: SurfaceReadings,
    excavation_diameter_m: Number,
    trough_width_m: Number,
    prior_volume_loss_mean: Number,
    prior_volume_loss_sd: Number,
    common_offset_sd_m: Number = 0.0,
    predicted_offset_m: Number = 0.0,
    predicted_standard_deviation_m: Number = 0.0,
) -> LinearPosterior:
    """Return the volume loss with the width known; settlement or heave.

    Parameters
    ----------
    readings : background taken off, of one epoch.
    excavation_diameter_m : cut diameter.
    trough_width_m : known.
    prior_volume_loss_mean, prior_volume_loss_sd : before the readings.
    common_offset_sd_m : spread of an error that all points of the epoch share.
    predicted_offset_m : where the next reading is taken.
    predicted_standard_deviation_m : its noise; 0 predicts the ground.
    """
    width = np.asarray(trough_width_m, dtype=np.float64)
    per_loss_m = np.pi / 4 * np.square(excavation_diameter_m) / (_ROOT_2_PI * width)
    # Leading axes broadcast: the last one runs over readings.
    slope = per_loss_m[..., None] * np.exp(-0.5 * np.square(readings.offset_m / width[..., None]))
    precision = 1 / np.square(readings.standard_deviation_m)
    shared = np.square(common_offset_sd_m)
    # Inverse of a diagonal plus a constant matrix, after Sherman and Morrison.
    coupling = shared / (1 + shared * np.sum(precision))
    weighted = np.sum(slope * precision, axis=-1)
    information = np.sum(np.square(slope) * precision, axis=-1) - coupling * np.square(weighted)
    evidence = np.sum(slope * readings.settlement_m * precision, axis=-1) - coupling * weighted * np.sum(readings.settlement_m * precision)
    prior_precision = 1 / np.square(prior_volume_loss_sd)
    variance = 1 / (prior_precision + information)
    mean = variance * (prior_precision * prior_volume_loss_mean + evidence)
    there = per_loss_m * np.exp(-0.5 * np.square(predicted_offset_m / width))
    return LinearPosterior(
        volume_loss_mean=mean,
        volume_loss_sd=np.sqrt(variance),
        predicted_settlement_mean_m=there * mean,
        predicted_settlement_sd_m=np.sqrt(np.square(there) * variance + np.square(predicted_standard_deviation_m)),
    )
