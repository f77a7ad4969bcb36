"""Lives of tools: survival, intervals between interventions, and what inspections teach."""

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from scipy import special

from tunnelwright.engineering.machine.sources import CONJUGATE_PRIOR, WEIBULL, WEIBULL_LIKELIHOOD
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Range, Remark, Require, Rows, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Table, Values

SHAPE_LOW: Final = 0.05
SHAPE_HIGH: Final = 200.0
HALVINGS: Final = 60
FEW_FAILURES: Final = 5
_USUAL_SHAPE: Final = Range(1.0, 6.0, "wear out has 2 to 4; below 1 tools would fail most when new")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ToolRecords(Table):
    """Tools looked at, one row each."""

    tool_path_km: FloatArray
    failed: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Survival(Record):
    """Chance that tools are still good."""

    survival_one: FloatArray
    survival_all: FloatArray


@method(
    "machine.tool_life.weibull_survival",
    formulas={"survival_one": Formula("S_1", "exp(-(s_t / eta_t)^k_t)"), "survival_all": Formula("S_n", "exp(-n_t * (s_t / eta_t)^k_t)")},
    valid={"life_shape": _USUAL_SHAPE},
    kind="mean",
    source=WEIBULL,
)
def tool_survival(life_scale_km: Number, life_shape: Number, tool_count: Number, tool_path_km: Number) -> Survival:
    """Return the chance that one tool, and that every one of several equal tools, is still good after a path.

    Parameters
    ----------
    life_scale_km : path at which 63 of 100 tools have failed.
    life_shape : 1 for failures by chance, more for wear.
    tool_count : equal tools.
    tool_path_km : of each.
    """
    hazard = np.power(np.divide(tool_path_km, life_scale_km), life_shape)
    return Survival(survival_one=np.exp(-hazard), survival_all=np.exp(-tool_count * hazard))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ToolInterval(Record):
    """Path and drive between interventions."""

    tool_path_km: FloatArray
    drive_length_m: FloatArray
    mean_first_failure_m: FloatArray


@method(
    "machine.tool_life.weibull_interval",
    formulas={
        "tool_path_km": Formula("s_t", "eta_t * (-ln(R_el) / n_t)^(1 / k_t)"),
        "drive_length_m": Formula("x_int", "s_t * p_rev / (2 * pi * r_t)"),
    },
    found_by={
        "mean_first_failure_m": Algorithm(
            "scale of the first of n tools eta n^(-1/k), times the gamma function of 1 + 1/k, as metres of drive",
            symbol="x_first",
            invariants={"with shape 1 the mean is the scale over the number of tools": lambda v: (v["life_shape"] != 1) | _first_of_chance(v)},
        )
    },
    symbols={"reliability": "R_el"},
    possible={"reliability": (1e-6, 1.0 - 1e-9), "tool_count": (1.0, 2000.0)},
    valid={"life_shape": _USUAL_SHAPE},
    kind="mean",
    source=WEIBULL,
)
def tool_interval(
    life_scale_km: Number, life_shape: Number, tool_count: Number, reliability: Number, tool_radius_m: Number, penetration_mm_rev: Number
) -> ToolInterval:
    """Return the drive after which every one of several equal tools is still good with a given chance.

    Parameters
    ----------
    life_scale_km : path at which 63 of 100 tools have failed.
    life_shape : 1 for failures by chance, more for wear.
    tool_count : equal tools.
    reliability : wanted chance that none has failed.
    tool_radius_m : distance of the tools from the axis.
    penetration_mm_rev : advance per turn.
    """
    drive_m_per_km = np.divide(penetration_mm_rev, 2 * np.pi * np.asarray(tool_radius_m))
    path_km = life_scale_km * np.power(-np.log(reliability) / tool_count, np.divide(1.0, life_shape))
    first_km = life_scale_km * np.power(tool_count, -np.divide(1.0, life_shape)) * special.gamma(1 + np.divide(1.0, life_shape))
    return ToolInterval(
        tool_path_km=np.asarray(path_km), drive_length_m=np.asarray(path_km * drive_m_per_km), mean_first_failure_m=np.asarray(first_km * drive_m_per_km)
    )


def _first_of_chance(values: Values) -> Any:
    km = values["life_scale_km"] / values["tool_count"]
    return np.isclose(values["mean_first_failure_m"], km * values["penetration_mm_rev"] / (2 * np.pi * values["tool_radius_m"]))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WeibullFit(Record):
    """Life distribution learned from inspections."""

    life_shape: FloatArray
    life_scale_km: FloatArray


def _failures(values: Values) -> Any:
    return np.sum(values["tool_records"].failed, axis=-1)


def _score_is_zero(values: Values) -> Any:
    """Return whether the likelihood is flat at the shape found."""
    records = values["tool_records"]
    score = _shape_score(values["life_shape"], records.tool_path_km, records.failed)
    return np.isnan(values["life_shape"]) | (np.abs(score) <= 1e-6)


@method(
    "machine.tool_life.weibull_censored",
    found_by={
        "life_shape": Algorithm(
            "shape at which the likelihood of failed and kept tools is greatest, by bisection",
            symbol="k_t",
            invariants={"the likelihood is flat there": _score_is_zero},
        ),
        "life_scale_km": Algorithm(
            "(sum of s^k over all tools, divided by the number of failures)^(1/k)",
            symbol="eta_t",
            invariants={
                "failures are as many as expected": lambda v: (
                    np.isclose(
                        np.sum(np.power(v["tool_records"].tool_path_km / v["life_scale_km"][..., None], v["life_shape"][..., None]), axis=-1), _failures(v)
                    )
                    | np.isnan(v["life_shape"])
                )
            },
        ),
    },
    requires=(
        Require("tool_records", lambda v: _failures(v) >= 1, "at least one tool must have failed", "with none, use a prior and machine.tool_life.gamma_update"),
        Require(
            "tool_records",
            lambda v: np.all((v["tool_records"].tool_path_km > 0) | (v["tool_records"].failed == 0), axis=-1),
            "a tool that failed must have a path of more than 0",
        ),
        Require("tool_records", lambda v: np.isin(v["tool_records"].failed, (0.0, 1.0)) | np.isnan(v["tool_records"].failed), "failed must be 0 or 1"),
    ),
    valid={"life_shape": _USUAL_SHAPE},
    remarks=(
        Remark(lambda v: _failures(v) < FEW_FAILURES, "fewer than five failures: the estimate is loose, update a prior instead"),
        Remark(lambda v: np.isnan(v["life_shape"]), "the failures all lie at the longest path: no greatest likelihood exists"),
    ),
    kind="mean",
    source=WEIBULL_LIKELIHOOD,
)
def weibull_fit(tool_records: ToolRecords) -> WeibullFit:
    """Return shape and scale of tool lives by maximum likelihood, tools still good counted as such.

    Parameters
    ----------
    tool_records : path of each tool, and 1 where it had failed, 0 where it was still good.
    """
    path_km, failed = tool_records.tool_path_km, tool_records.failed
    shape = path_km.shape[:-1]
    low, high = np.full(shape, np.log(SHAPE_LOW)), np.full(shape, np.log(SHAPE_HIGH))
    is_found = (_shape_score(np.exp(low), path_km, failed) > 0) & (_shape_score(np.exp(high), path_km, failed) < 0)
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        is_below = _shape_score(np.exp(middle), path_km, failed) > 0
        low, high = np.where(is_below, middle, low), np.where(is_below, high, middle)
    life_shape = np.where(is_found, np.exp((low + high) / 2), np.nan)
    longest_km = np.max(path_km, axis=-1)
    with np.errstate(divide="ignore", invalid="ignore"):
        # Paths over the longest keep s^k within the range of numbers.
        total = np.sum(np.power(path_km / longest_km[..., None], life_shape[..., None]), axis=-1)
        scale_km = longest_km * np.power(total / np.sum(failed, axis=-1), 1 / life_shape)
    return WeibullFit(life_shape=life_shape, life_scale_km=np.asarray(scale_km))


def _shape_score(life_shape: FloatArray, path_km: FloatArray, failed: FloatArray) -> FloatArray:
    """Return the slope of the likelihood with the shape, per failure, the scale being the best one for that shape; it falls with the shape."""
    relative = path_km / np.max(path_km, axis=-1, keepdims=True)
    logarithm = np.log(np.where(relative > 0, relative, 1.0))
    power = np.where(relative > 0, np.power(relative, life_shape[..., None]), 0.0)
    with np.errstate(divide="ignore", invalid="ignore"):
        mean_of_failed = np.sum(failed * logarithm, axis=-1) / np.sum(failed, axis=-1)
        return np.asarray(1 / life_shape + mean_of_failed - np.sum(power * logarithm, axis=-1) / np.sum(power, axis=-1))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class GammaUpdate(Record):
    """What is known of a tool's life after inspections."""

    posterior_shape: FloatArray
    posterior_rate: FloatArray
    life_scale_km: FloatArray


@method(
    "machine.tool_life.gamma_update",
    found_by={
        "posterior_shape": Rows("tool_records", "a_1", "previous + d_i", start="a_0"),
        "posterior_rate": Rows("tool_records", "b_1", "previous + s_t^k_t", start="b_0"),
    },
    formulas={"life_scale_km": Formula("eta_t", "(b_1 / a_1)^(1 / k_t)")},
    symbols={"prior_rate": "b_0", "failed": "d_i"},
    possible={"prior_rate": (0.0, 1e30)},
    valid={"life_shape": _USUAL_SHAPE},
    kind="mean",
    source=CONJUGATE_PRIOR,
    dimensional=True,
)
def gamma_update(prior_shape: Number, prior_rate: Number, life_shape: Number, tool_records: ToolRecords) -> GammaUpdate:
    """Return the prior of eta^-k after inspections, and the life scale that belongs to its mean; for few failures.

    Parameters
    ----------
    prior_shape : failures that the prior is worth.
    prior_rate : sum of s^k that the prior is worth, in km^k.
    life_shape : k, held.
    tool_records : path of each tool, and 1 where it had failed, 0 where it was still good.
    """
    shape = prior_shape + np.sum(tool_records.failed, axis=-1)
    rate = prior_rate + np.sum(np.power(tool_records.tool_path_km, np.asarray(life_shape)[..., None]), axis=-1)
    return GammaUpdate(posterior_shape=np.asarray(shape), posterior_rate=np.asarray(rate), life_scale_km=np.power(rate / shape, np.divide(1.0, life_shape)))
