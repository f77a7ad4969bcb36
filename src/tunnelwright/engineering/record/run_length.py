"""Average run lengths: after how many rings a chart alarms, falsely when nothing shifted and rightly when something did.

For independent normal values with known mean and standard deviation. The integral equation is solved at Gauss-Legendre nodes.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy import special

from tunnelwright.engineering.record.sources import PAGE_1954, ROBERTS_1959, SHEWHART_1931
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Range, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record

LEAST_NODES: Final = 60
MOST_NODES: Final = 400
NODES_PER_SD: Final = 8
_AT_LEAST_ONE: Final = {"at least one ring": lambda v: not np.any(v["average_run_length"] < 1 - 1e-9)}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RunLength(Record):
    """Mean number of rings until an alarm."""

    average_run_length: FloatArray


def _nodes(widest_sd: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return nodes and weights on -1 to 1, enough of them for a range so many standard deviations of the kernel wide."""
    widest = float(np.max(widest_sd[np.isfinite(widest_sd)], initial=0.0))
    return np.polynomial.legendre.leggauss(int(np.clip(NODES_PER_SD * widest, LEAST_NODES, MOST_NODES)))


def _density(deviation: FloatArray) -> FloatArray:
    return np.exp(-0.5 * np.square(deviation)) / np.sqrt(2 * np.pi)


def one_sided_cusum(reference: FloatArray, limit: FloatArray, shift: FloatArray) -> FloatArray:
    """Return the average run length of an upper cumulative sum that starts at zero; the arguments have one shape."""
    node, weight = _nodes(limit)
    reference, limit, shift = reference[..., None, None], limit[..., None, None], shift[..., None, None]
    inner = limit / 2 * (1 + node)
    state = np.concatenate([np.zeros_like(inner[..., :1]), inner], axis=-1)
    from_state = np.swapaxes(state, -1, -2)
    to_zero = special.ndtr(reference - from_state - shift)
    to_inner = limit / 2 * weight * _density(inner + reference - from_state - shift)
    stays = np.concatenate([to_zero, to_inner], axis=-1)
    run_length = np.linalg.solve(np.eye(stays.shape[-1]) - stays, np.ones((*stays.shape[:-1], 1)))[..., 0, 0]
    # Where an alarm is as good as impossible the matrix is singular to rounding.
    return np.where((run_length < 0) | (run_length > 1e15), np.inf, run_length)


@method(
    "record.trend.cusum_run_length",
    found_by={
        "average_run_length": Algorithm(
            "integral equation of one side at Gauss-Legendre nodes; the two sides add by their rates, 1 / ARL = 1 / ARL_up + 1 / ARL_down",
            invariants=_AT_LEAST_ONE,
        )
    },
    valid={"reference_shift": Range(0.1, 3.0, "solved and compared there"), "decision_limit": Range(0.5, 20.0, "solved and compared there")},
    requires=(Require("reference_shift", lambda v: v["reference_shift"] > 0, "must be above 0"),),
    kind="identity",
    source=PAGE_1954,
)
def cusum_run_length(reference_shift: Number = 0.5, decision_limit: Number = 5.0, shift: Number = 0.0) -> RunLength:
    """Return after how many rings a two-sided cumulative-sum chart alarms on average.

    Parameters
    ----------
    reference_shift : k of the chart, in standard deviations.
    decision_limit : h of the chart, in standard deviations.
    shift : lasting shift of the mean, in standard deviations; 0 gives the rings per false alarm.

    Notes
    -----
    Neighbouring rings that are alike shorten it much: a lag-one correlation of 0.4 brings 465 rings per false alarm down to some 69.
    """
    reference, limit, moved = np.broadcast_arrays(*(np.asarray(one, dtype=np.float64) for one in (reference_shift, decision_limit, shift)))
    up, down = one_sided_cusum(reference, limit, moved), one_sided_cusum(reference, limit, -moved)
    return RunLength(average_run_length=1 / (1 / up + 1 / down))


@method(
    "record.trend.ewma_run_length",
    found_by={
        "average_run_length": Algorithm(
            "integral equation between the limits that hold after many rings, at Gauss-Legendre nodes, started at the target", invariants=_AT_LEAST_ONE
        )
    },
    valid={"smoothing_factor": Range(0.03, 1.0, "solved and compared there"), "limit_factor": Range(1.0, 4.0, "solved and compared there")},
    requires=(Require("smoothing_factor", lambda v: v["smoothing_factor"] > 0, "must be above 0"),),
    kind="identity",
    source=ROBERTS_1959,
)
def ewma_run_length(smoothing_factor: Number = 0.2, limit_factor: Number = 2.962, shift: Number = 0.0) -> RunLength:
    """Return after how many rings a two-sided moving-average chart with steady limits alarms on average.

    Parameters
    ----------
    smoothing_factor : weight of the newest value.
    limit_factor : half width of the limits in standard deviations of the statistic.
    shift : lasting shift of the mean, in standard deviations; 0 gives the rings per false alarm.
    """
    lam, factor, moved = np.broadcast_arrays(*(np.asarray(one, dtype=np.float64) for one in (smoothing_factor, limit_factor, shift)))
    limit = factor * np.sqrt(lam / (2 - lam))
    node, weight = _nodes(2 * limit / lam)
    lam, limit, moved = lam[..., None, None], limit[..., None, None], moved[..., None, None]
    inner = limit * node
    from_state = np.concatenate([np.zeros_like(inner[..., :1]), inner], axis=-1).swapaxes(-1, -2)
    stays = limit * weight / lam * _density((inner - (1 - lam) * from_state) / lam - moved)
    at_nodes = np.linalg.solve(np.eye(len(node)) - stays[..., 1:, :], np.ones((*stays.shape[:-2], len(node), 1)))
    return RunLength(average_run_length=1 + np.squeeze(stays[..., :1, :] @ at_nodes, axis=(-1, -2)))


@method(
    "record.trend.shewhart_run_length",
    formulas={"average_run_length": Formula("ARL", "1 / (Phi(delta - L) + Phi(-delta - L))")},
    symbols={"limit_factor": "L", "shift": "delta"},
    kind="identity",
    source=SHEWHART_1931,
)
def shewhart_run_length(limit_factor: Number = 3.0, shift: Number = 0.0) -> RunLength:
    """Return after how many rings single values pass a limit on either side on average.

    Parameters
    ----------
    limit_factor : half width of the limits in standard deviations.
    shift : lasting shift of the mean, in standard deviations.
    """
    return RunLength(average_run_length=1 / (special.ndtr(np.subtract(shift, limit_factor)) + special.ndtr(-np.add(shift, limit_factor))))
