"""How likely each damage category is when volume loss, width and the method itself are uncertain."""

from dataclasses import dataclass
from itertools import pairwise
from typing import Any, Final

import numpy as np
from scipy import special

from tunnelwright.engineering.assets.beam import ISOTROPIC_WALL, MASONRY_POISSON
from tunnelwright.engineering.assets.categories import STRAIN_LIMITS
from tunnelwright.engineering.assets.facade import FACADE_POSSIBLE, FACADE_REQUIRES, facade_of, governing_strain, is_usable
from tunnelwright.engineering.assets.field import StraightDrives, line_movement
from tunnelwright.engineering.assets.sources import MONTE_CARLO
from tunnelwright.engineering.movement.depth import HorizontalFocus
from tunnelwright.engineering.places import each_place
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Remark, Require, method
from tunnelwright.vocabulary.types import Count, FloatArray, Number, Record, Values

_BLOCK: Final = 300_000


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SampledCategories(Record):
    """Chance of each category or a worse one, its sampling error, and the strain."""

    probability_1_or_worse: FloatArray
    probability_2_or_worse: FloatArray
    probability_3_or_worse: FloatArray
    probability_4_or_worse: FloatArray
    standard_error_1_or_worse: FloatArray
    tensile_strain_p05: FloatArray
    tensile_strain_p50: FloatArray
    tensile_strain_p95: FloatArray


def _fall(values: Values) -> Any:
    chances = [np.asarray(values[f"probability_{number}_or_worse"]) for number in range(1, 5)]
    return np.all([~(worse > better) for better, worse in pairwise(chances)], axis=0)


@method(
    "assets.building.probability_monte_carlo",
    found_by={
        "probability_1_or_worse": Algorithm("share of samples at or above 0.05 %", "P_1", {"worse categories are rarer": _fall}),
        "probability_2_or_worse": Algorithm("share of samples at or above 0.075 %", "P_2"),
        "probability_3_or_worse": Algorithm("share of samples at or above 0.15 %", "P_3"),
        "probability_4_or_worse": Algorithm("share of samples at or above 0.3 %", "P_4"),
        "tensile_strain_p05": Algorithm("strain that 5 % of the samples stay below", "eps_05"),
        "tensile_strain_p50": Algorithm("median strain", "eps_50"),
        "tensile_strain_p95": Algorithm("strain that 95 % of the samples stay below", "eps_95"),
    },
    formulas={"standard_error_1_or_worse": Formula("s_P", "sqrt(P_1 * (1 - P_1) / n)")},
    symbols={"sample_count": "n", "correlation": "rho_VK"},
    possible={**FACADE_POSSIBLE, "correlation": (-1.0, 1.0), "model_factor_log_sd": (0.0, 2.0)},
    requires=(*FACADE_REQUIRES, Require("sample_count", lambda v: v["sample_count"] >= 2, "must be 2 or more")),
    remarks=(
        Remark(
            lambda v: (np.multiply(v["probability_3_or_worse"], v["sample_count"]) < 10) & (np.asarray(v["probability_3_or_worse"]) > 0),
            "fewer than ten samples reach category 3: that chance is hardly known, take more samples",
        ),
    ),
    kind="mean",
    source=MONTE_CARLO,
)
def sampled_categories(
    start_chainage_m: Number,
    start_offset_m: Number,
    end_chainage_m: Number,
    end_offset_m: Number,
    height_m: Number,
    drives: StraightDrives,
    limiting_settlement_m: Number = 0.001,
    young_shear_ratio: Number = ISOTROPIC_WALL,
    poisson_ratio: Number = MASONRY_POISSON,
    horizontal_focus: HorizontalFocus = "of the depth model",
    volume_loss_log_sd: Number = 0.4,
    trough_width_factor_log_sd: Number = 0.15,
    correlation: Number = 0.0,
    model_factor_log_sd: Number = 0.25,
    sample_count: Count = 2000,
    seed: Count = 1,
) -> SampledCategories:
    """Return the chance of each damage category of a facade by samples.

    Parameters
    ----------
    start_chainage_m, start_offset_m : first end.
    end_chainage_m, end_offset_m : last end.
    height_m : foundation to eaves.
    drives : straight, with medians of volume loss and width factor.
    limiting_settlement_m : below it the line is not looked at.
    young_shear_ratio : E/G of the wall.
    poisson_ratio : of the wall.
    horizontal_focus : point to which the ground moves.
    volume_loss_log_sd : spread of the logarithm of each drive's volume loss.
    trough_width_factor_log_sd : spread of the logarithm of the width factor.
    correlation : between both logarithms.
    model_factor_log_sd : spread of the logarithm of a factor on the strain, for the method itself.
    sample_count : number of samples.
    seed : of the random streams.

    Notes
    -----
    The ground is one: all drives share the draw of the width factor. Each drive has its own draw of volume loss, which holds for all zones
    of the facade. Samples are spread evenly over each variable.
    """

    def at_place(*numbers: float) -> tuple[float, ...]:
        if not is_usable(numbers, drives):
            return (np.nan,) * 7
        strain = _strains(numbers, drives, horizontal_focus, _even_normals(drives.row_count + 2, sample_count, seed))
        return *(float(np.mean(strain >= limit)) for limit in STRAIN_LIMITS), *(float(one) for one in np.quantile(strain, (0.05, 0.5, 0.95)))

    numbers = [
        start_chainage_m, start_offset_m, end_chainage_m, end_offset_m, height_m, limiting_settlement_m, young_shear_ratio, poisson_ratio,
        volume_loss_log_sd, trough_width_factor_log_sd, correlation, model_factor_log_sd,
    ]  # fmt: skip
    one, two, three, four, low, middle, high = each_place(at_place, 7, numbers)
    return SampledCategories(
        probability_1_or_worse=one,
        probability_2_or_worse=two,
        probability_3_or_worse=three,
        probability_4_or_worse=four,
        standard_error_1_or_worse=np.sqrt(one * (1 - one) / sample_count),
        tensile_strain_p05=low,
        tensile_strain_p50=middle,
        tensile_strain_p95=high,
    )


def _even_normals(variable_count: int, sample_count: int, seed: int) -> FloatArray:
    """Return standard normal samples by variables, one in each of as many equally likely strips; every variable has its own stream."""
    columns = []
    for stream in np.random.SeedSequence(seed).spawn(variable_count):
        generator = np.random.default_rng(stream)
        columns.append(special.ndtri((generator.permutation(sample_count) + generator.random(sample_count)) / sample_count))
    return np.stack(columns, axis=1)


def _strains(numbers: tuple[float, ...], drives: StraightDrives, horizontal_focus: HorizontalFocus, normals: FloatArray) -> FloatArray:
    """Return the governing strain of every sample; the first column is the width, the second the model, the others the drives' losses."""
    loss_spread, factor_spread, correlation, model_spread = numbers[8:]
    facade, wall = facade_of(numbers, drives)
    of_width, of_model, of_loss = normals[:, 0], normals[:, 1], normals[:, 2:]
    tied = correlation * of_width[:, None] + np.sqrt(1 - correlation**2) * of_loss
    losses = drives.volume_loss * np.exp(loss_spread * tied)
    factors = drives.trough_width_factor * np.exp(factor_spread * of_width)[:, None]
    at_once = max(1, _BLOCK // facade.distance_m.size)
    found = []
    for first in range(0, len(normals), at_once):
        some = slice(first, first + at_once)
        faces = _faces(drives, factors[some])
        movement = line_movement(facade, drives, horizontal_focus, faces, losses[some], factors[some])
        found.append(governing_strain(facade, movement, wall).tensile_strain)
    return np.asarray(np.concatenate(found) * np.exp(model_spread * of_model))


def _faces(drives: StraightDrives, factors: FloatArray) -> FloatArray:
    """Return the effective faces, whose lag goes with the sampled width."""
    if drives.face_chainage_m is None:
        return np.full(factors.shape, np.inf)
    lagged = drives.face_chainage_m + factors * drives.axis_depth_m * special.ndtri(drives.ratio())
    return np.where(np.isnan(drives.face_chainage_m), np.inf, lagged)
