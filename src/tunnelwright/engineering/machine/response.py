"""What the records teach of thrust and torque: a straight line in logarithms, one level per geology, fitted robustly.

ln(response - idle) = a_geology + b ln(penetration) + d foam; Huber's weights bend at 1.345 scales, the scale is 1.4826 times the
median distance of the residuals from their median.
"""

from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from tunnelwright.engineering.machine.sources import HUBER
from tunnelwright.engineering.places import each_place
from tunnelwright.vocabulary.method import Algorithm, Range, Remark, Require, method
from tunnelwright.vocabulary.types import BoolArray, FloatArray, Number, Record, Series, Table, TextArray, Values

BEND: Final = 1.345
MAD_TO_SD: Final = 1.4826
WEIGHTS_SETTLED: Final = 1e-10
ROUNDS: Final = 500
# Residuals of exact data are rounding; without a floor their scale would make outliers of them.
LEAST_SCALE: Final = 1e-12
ROWS_PER_UNKNOWN: Final = 5


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RingResponses(Table):
    """Medians of pushes, one row each."""

    response: FloatArray
    geology: TextArray
    penetration_mm_rev: FloatArray
    foam_injection_ratio: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ResponseFit(Record):
    """Levels, exponent and coefficient of a response, and the spread that is left."""

    intercepts: Series
    penetration_exponent: FloatArray
    foam_coefficient: FloatArray
    residual_scale: FloatArray


def geologies(words: TextArray) -> list[str]:
    """Return the words in the order of their first appearance."""
    return list(dict.fromkeys(str(word) for word in words))


def _is_usable(values: Values) -> Any:
    records = values["ring_records"]
    return (records.response > np.asarray(values["idle_response"])[..., None]) & (records.penetration_mm_rev > 0) & np.isfinite(records.foam_injection_ratio)


def _is_small(values: Values) -> Any:
    unknowns = np.asarray(values["intercepts"]).shape[-1] + 2
    return np.sum(_is_usable(values), axis=-1) < ROWS_PER_UNKNOWN * unknowns


@method(
    "machine.response.robust_loglinear",
    found_by={
        "intercepts": Algorithm(
            "levels of ln(response - idle) at 1 mm per turn without foam, per geology as they first appear; weighted least squares until the weights stand",
            symbol="a_g",
            invariants={"one per geology": lambda v: np.shape(v["intercepts"])[-1] == len(geologies(np.ravel(v["ring_records"].geology)))},
        ),
        "penetration_exponent": Algorithm("slope with ln(penetration), in the same fit", symbol="b"),
        "foam_coefficient": Algorithm("slope with the foam injection ratio, in the same fit", symbol="d_foam"),
        "residual_scale": Algorithm(
            "1.4826 times the median distance of the residuals from their median",
            symbol="s_res",
            invariants={"not negative": lambda v: ~(v["residual_scale"] < 0)},
        ),
    },
    possible={"response": (-1e6, 1e6), "idle_response": (0.0, 1e6)},
    valid={"penetration_exponent": Range(0.0, 2.0, "torque and thrust grow with penetration; otherwise the geology is mixed up with it")},
    requires=(Require("ring_records", lambda v: np.any(_is_usable(v), axis=-1), "no row has a response above idle and a penetration"),),
    remarks=(
        Remark(lambda v: np.any(~_is_usable(v)), "rows without a response above idle, a penetration and a foam ratio were left out"),
        Remark(_is_small, "fewer than five rows per unknown: no band ahead can be trusted"),
        Remark(
            lambda v: np.isnan(v["penetration_exponent"]) | np.isnan(v["foam_coefficient"]),
            "penetration or foam did not change within any geology: its coefficient is unknown and stands in the levels",
        ),
    ),
    kind="mean",
    source=HUBER,
    dimensional=True,
)
def response_fit(ring_records: RingResponses, idle_response: Number = 0.0) -> ResponseFit:
    """Return how a response depends on penetration and foam in each geology, outliers held at arm's length.

    Parameters
    ----------
    ring_records : medians of each push: torque in kNm or net thrust in kN, geology, penetration, foam ratio.
    idle_response : part of the response that does not grow with penetration.
    """
    codes = _codes(ring_records.geology)
    intercepts, exponent, coefficient, scale = each_place(
        _fit, 4, (idle_response,), (ring_records.response, codes, ring_records.penetration_mm_rev, ring_records.foam_injection_ratio)
    )
    if np.size(exponent) == 0:
        intercepts = np.empty((*np.shape(exponent), len(geologies(np.ravel(ring_records.geology)))))
    return ResponseFit(intercepts=intercepts, penetration_exponent=exponent, foam_coefficient=coefficient, residual_scale=scale)


def _codes(words: TextArray) -> FloatArray:
    """Return the place of each row's geology in the order of first appearance."""
    order = geologies(np.ravel(words))
    return np.array([order.index(str(word)) for word in np.ravel(words)], dtype=np.float64).reshape(np.shape(words))


def _fit(idle: float, response: FloatArray, code: FloatArray, penetration: FloatArray, foam: FloatArray) -> tuple[FloatArray, float, float, float]:
    """Return levels, exponent, coefficient and scale of one list of pushes."""
    level_count = int(np.max(code)) + 1
    usable = (response > idle) & (penetration > 0) & np.isfinite(foam)
    unknown = np.full(level_count + 2, np.nan)
    if not usable.any():
        return unknown[:level_count], np.nan, np.nan, np.nan
    levels = (code[usable, None] == np.arange(level_count)).astype(np.float64)
    columns = np.column_stack([levels, np.log(penetration[usable]), foam[usable]])
    kept = _independent(columns, level_count)
    solution, scale = _huber(columns[:, kept], np.log(response[usable] - idle))
    unknown[kept] = solution
    return unknown[:level_count], float(unknown[-2]), float(unknown[-1]), scale


def _independent(columns: FloatArray, level_count: int) -> BoolArray:
    """Return which columns can be told apart: levels that occur, then every slope that adds something to them."""
    kept = np.zeros(columns.shape[1], dtype=bool)
    kept[:level_count] = columns[:, :level_count].any(axis=0)
    for slope in range(level_count, columns.shape[1]):
        with_it = kept.copy()
        with_it[slope] = True
        span = np.linalg.norm(columns[:, slope])
        if span == 0:
            continue
        coefficients = np.linalg.lstsq(columns[:, kept], columns[:, slope], rcond=None)[0]
        if np.linalg.norm(columns[:, slope] - columns[:, kept] @ coefficients) > 1e-8 * span:
            kept = with_it
    return kept


def _huber(columns: FloatArray, value: FloatArray) -> tuple[FloatArray, float]:
    """Return the robust solution and its scale, weights repeated until they stand."""
    weight: FloatArray = np.ones_like(value)
    solution: FloatArray = np.zeros(columns.shape[1])
    scale = 0.0
    for _ in range(ROUNDS):
        root = np.sqrt(weight)
        solution = np.asarray(np.linalg.lstsq(columns * root[:, None], value * root, rcond=None)[0], dtype=np.float64)
        residual = value - columns @ solution
        scale = MAD_TO_SD * float(np.median(np.abs(residual - np.median(residual))))
        bound = BEND * max(scale, LEAST_SCALE)
        renewed = np.asarray(bound / np.maximum(np.abs(residual), bound), dtype=np.float64)
        settled = np.max(np.abs(renewed - weight)) <= WEIGHTS_SETTLED
        weight = renewed
        if settled:
            break
    return solution, scale
