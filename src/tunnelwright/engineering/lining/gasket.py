"""What a gasket holds at the gap and offset that the joint has."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tunnelwright.engineering.lining.sources import GASKET_PRACTICE
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Remark, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Table, Values


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class GasketCurve(Table):
    """Pressures held in the maker's test, one row for each pair of gap and offset."""

    gap_mm: FloatArray
    offset_mm: FloatArray
    pressure_kpa: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class GasketPressure(Record):
    """Pressure that a gasket holds new and after relaxation, and its safety."""

    holding_pressure_kpa: FloatArray
    long_term_pressure_kpa: FloatArray
    safety_factor: FloatArray


def _grid(curve: GasketCurve) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return the tested gaps, offsets, and the pressures over both; NaN where a pair was not tested."""
    gaps, at_gap = np.unique(curve.gap_mm, return_inverse=True)
    offsets, at_offset = np.unique(curve.offset_mm, return_inverse=True)
    pressures = np.full((gaps.size, offsets.size), np.nan)
    pressures[at_gap, at_offset] = curve.pressure_kpa
    return gaps, offsets, pressures


def _is_full(values: Values) -> bool:
    gaps, offsets, pressures = _grid(values["curve"])
    return bool(np.isfinite(pressures).all()) and values["curve"].row_count == gaps.size * offsets.size


def _falls(values: Values) -> bool:
    pressures = np.nan_to_num(_grid(values["curve"])[2])
    return bool(np.all(np.diff(pressures, axis=0) <= 0) and np.all(np.diff(pressures, axis=1) <= 0))


def _share(tested: FloatArray, wanted: FloatArray) -> tuple[NDArray[np.intp], FloatArray]:
    """Return for each wanted place the row below it and how far it lies towards the next."""
    last = max(tested.size - 2, 0)
    row = np.clip(np.searchsorted(tested, wanted, side="right") - 1, 0, last)
    above = np.minimum(row + 1, tested.size - 1)
    width = tested[above] - tested[row]
    return row, np.where(width > 0, (wanted - tested[row]) / np.where(width > 0, width, 1.0), 0.0)


def _interpolated(curve: GasketCurve, gap_mm: FloatArray, offset_mm: FloatArray) -> FloatArray:
    gaps, offsets, pressures = _grid(curve)
    row, gap_share = _share(gaps, gap_mm)
    column, offset_share = _share(offsets, offset_mm)
    next_row, next_column = np.minimum(row + 1, gaps.size - 1), np.minimum(column + 1, offsets.size - 1)
    near = pressures[row, column] * (1 - offset_share) + pressures[row, next_column] * offset_share
    far = pressures[next_row, column] * (1 - offset_share) + pressures[next_row, next_column] * offset_share
    is_tested = (gap_mm >= gaps[0]) & (gap_mm <= gaps[-1]) & (offset_mm >= offsets[0]) & (offset_mm <= offsets[-1])
    held = np.where(is_tested, near * (1 - gap_share) + far * gap_share, 0.0)
    return np.where(np.isnan(gap_mm + offset_mm), np.nan, held)


@method(
    "lining.gasket.holding_pressure",
    formulas={
        "long_term_pressure_kpa": Formula("p_long", "r_long * p_hold"),
        "safety_factor": Formula("FS", "p_long / p_w"),
    },
    found_by={
        "holding_pressure_kpa": Algorithm(
            "straight lines between the tested gaps and offsets; nothing beyond them",
            "p_hold",
            {"no more than the best test": lambda v: ~(v["holding_pressure_kpa"] > v["curve"].pressure_kpa.max() * (1 + 1e-12))},
        )
    },
    symbols={"relaxation_ratio": "r_long", "water_pressure_kpa": "p_w"},
    possible={
        "gap_mm": (0.0, 60.0),
        "offset_mm": (-60.0, 60.0),
        "pressure_kpa": (0.0, 1e4),
        "relaxation_ratio": (0.05, 1.0),
        "water_pressure_kpa": (0.0, 5000.0),
    },
    requires=(
        Require("curve", _is_full, "must have one row for each pair of tested gap and offset"),
        Require("curve", _falls, "must not rise with gap or offset", "are the columns in their places?"),
    ),
    remarks=(
        Remark(lambda v: v["holding_pressure_kpa"] == 0, "gap or offset is outside what was tested: the gasket is not counted on"),
        Remark(lambda v: v["safety_factor"] < v["required_safety"], "the gasket holds less than the required safety over the water pressure"),
    ),
    kind="lower bound",
    source=GASKET_PRACTICE,
)
def holding_pressure(
    curve: GasketCurve,
    gap_mm: Number,
    offset_mm: Number,
    water_pressure_kpa: Number,
    relaxation_ratio: Number = 0.65,
    required_safety: Number = 1.5,
) -> GasketPressure:
    """Return the water pressure that a gasket holds at a gap and offset, now and in the long term.

    Parameters
    ----------
    curve : the maker's test table.
    gap_mm : of building, joint rotation and temperature together.
    offset_mm : measured step between the two gaskets; its sign does not matter.
    water_pressure_kpa : greatest at the invert.
    relaxation_ratio : share of the pressure left after the service life.
    required_safety : only for the caution; 1.5 together with relaxation.
    """
    held = _interpolated(curve, *np.broadcast_arrays(np.asarray(gap_mm, dtype=np.float64), np.abs(offset_mm)))
    long_term = np.asarray(relaxation_ratio) * held
    with np.errstate(divide="ignore", invalid="ignore"):
        safety = long_term / np.asarray(water_pressure_kpa)
    return GasketPressure(holding_pressure_kpa=held, long_term_pressure_kpa=long_term, safety_factor=safety)
