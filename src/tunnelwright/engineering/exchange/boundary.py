"""Boundary of a unit in a borehole, by a rule that the user names."""

from dataclasses import dataclass
from typing import Any, Final, Literal

import numpy as np

from tunnelwright.engineering.exchange.sources import BOUNDARY_RULE
from tunnelwright.vocabulary.method import Algorithm, Remark, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Table, TextArray, TextSeries, Values

BoundaryRule = Literal["first met", "last met", "first continuous run"]
# Depths are logged to the centimetre: layers that miss each other by less lie on one another.
_GAP_M: Final = 0.011


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HoleLayers(Table):
    """Layers of one hole from the top down, depths along the hole."""

    top_m: FloatArray
    base_m: FloatArray
    unit: TextArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BoundaryDepth(Record):
    """Depth of the boundary, and of the hole's end above which it does not lie when it was not met."""

    boundary_depth_m: FloatArray
    last_depth_m: FloatArray


def _runs(layers: HoleLayers, units: TextSeries) -> tuple[FloatArray, FloatArray]:
    """Return tops and bases of the stretches that lie wholly in the units."""
    is_met = np.isin(layers.unit.astype(np.str_), units)
    joined = np.concatenate([[False], is_met[1:] & is_met[:-1] & (layers.top_m[1:] - layers.base_m[:-1] < _GAP_M)])
    begins = np.flatnonzero(is_met & ~joined)
    ends = np.flatnonzero(is_met & ~np.concatenate([joined[1:], [False]]))
    return layers.top_m[begins], layers.base_m[ends]


def _is_a_top(values: Values) -> Any:
    depth = np.asarray(values["boundary_depth_m"])
    tops = _runs(values["layers"], values["units"])[0]
    return np.isnan(depth) | np.isin(depth, tops)


def _ends_in_a_short_run(values: Values) -> bool:
    """Say whether the hole ends inside the units before the run is long enough."""
    tops, bases = _runs(values["layers"], values["units"])
    open_end = bool(tops.size) and bases[-1] >= values["layers"].base_m[-1] - _GAP_M
    return bool(values["rule"] == "first continuous run" and open_end and np.any(np.isnan(values["boundary_depth_m"])))


@method(
    "exchange.ags.boundary_depth",
    found_by={
        "boundary_depth_m": Algorithm(
            "top of the first stretch in the units, of the last one, or of the first that is long enough", "d_b", {"the top of a stretch": _is_a_top}
        ),
        "last_depth_m": Algorithm("base of the last layer", "d_end"),
    },
    possible={"top_m": (0.0, 3000.0), "base_m": (0.0, 3000.0), "run_m": (0.0, 1000.0)},
    requires=(
        Require("layers.base_m", lambda v: np.all(v["layers"].base_m >= v["layers"].top_m), "must not lie above top_m"),
        Require("layers.top_m", lambda v: np.all(v["layers"].top_m[1:] >= v["layers"].base_m[:-1] - _GAP_M), "must not lie above the base of the layer before"),
    ),
    remarks=(
        Remark(lambda v: np.isnan(v["boundary_depth_m"]), "the boundary was not met: it does not lie above the end of the hole, more is not known"),
        Remark(_ends_in_a_short_run, "the hole ends in the unit before the run is long enough: it may be the boundary"),
        Remark(lambda v: np.any(v["layers"].top_m[1:] - v["layers"].base_m[:-1] >= _GAP_M), "depths are left out between layers: a run was taken to end there"),
    ),
    kind="identity",
    source=BOUNDARY_RULE,
)
def boundary_depth(layers: HoleLayers, units: TextSeries, rule: BoundaryRule, run_m: Number = 3.0) -> BoundaryDepth:
    """Return the depth at which a hole enters a unit for good, as the rule has it.

    Parameters
    ----------
    layers : from the top down.
    units : names that count as met; neighbouring layers of any of them are one stretch.
    rule : top of the ``first met`` stretch, of the ``last met`` one, or of the ``first continuous run`` of some length.
    run_m : that length; an editable default.
    """
    tops, bases = _runs(layers, units)
    length = np.asarray(run_m, dtype=np.float64)
    last = np.full(length.shape, layers.base_m[-1])
    if not tops.size:
        return BoundaryDepth(boundary_depth_m=np.full(length.shape, np.nan), last_depth_m=last)
    if rule == "first continuous run":
        is_long = bases - tops >= length[..., None] - 1e-9
        depth = np.where(is_long.any(axis=-1), tops[np.argmax(is_long, axis=-1)], np.nan)
    else:
        depth = np.full(length.shape, tops[0] if rule == "first met" else tops[-1])
    return BoundaryDepth(boundary_depth_m=depth, last_depth_m=last)
