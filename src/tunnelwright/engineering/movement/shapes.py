"""Siblings of the normal trough: another slope of the flanks, and limbs of unequal width."""

from dataclasses import dataclass
from typing import Final

import numpy as np

from tunnelwright.engineering.movement.sources import UNEQUAL_LIMBS, VORSTER_2005
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Range, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record

_ROOT_2_PI: Final = np.sqrt(2 * np.pi)
# Equal steps over a range outside which the curve is below 1e-20: exact to rounding for a smooth curve that dies out.
_STEPS: Final = np.linspace(-7.0, 7.0, 2001)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ModifiedTrough(Record):
    """A trough with three parameters: volume, width and shape."""

    shape_parameter: FloatArray
    volume_factor: FloatArray
    settlement_max_m: FloatArray
    settlement_m: FloatArray


@method(
    "movement.trough.vorster_2005",
    formulas={
        "shape_parameter": Formula("n", "1 + exp(a) * (2 * a - 1) / (2 * a + 1)"),
        "settlement_max_m": Formula("S_max", "V_L * pi / 4 * D^2 / (sqrt(2 * pi) * i * f_V)"),
        "settlement_m": Formula("S", "S_max * n / (n - 1 + exp(a * y^2 / i^2))"),
    },
    found_by={"volume_factor": Algorithm("area under the curve by quadrature, over that of the normal curve with the same width and depth", "f_V")},
    symbols={"shape_factor": "a"},
    possible={"shape_factor": (0.001, 10.0)},
    valid={"volume_loss": Range(0.0, 0.05, "short term, one drive"), "shape_factor": Range(0.05, 3.0, "0.5 is the normal curve")},
    kind="mean",
    source=VORSTER_2005,
)
def modified_trough(volume_loss: Number, excavation_diameter_m: Number, trough_width_m: Number, shape_factor: Number, offset_m: Number) -> ModifiedTrough:
    """Return the settlement across the drive with narrower or wider flanks than the normal curve.

    Parameters
    ----------
    volume_loss : trough volume over bored volume.
    excavation_diameter_m : cut diameter.
    trough_width_m : to the point of inflection, which every shape keeps.
    shape_factor : 0.5 is the normal curve, above it the flanks are narrower.
    offset_m : distance from the axis.
    """
    shape = np.asarray(shape_factor, dtype=np.float64)
    parameter = 1 + np.exp(shape) * (2 * shape - 1) / (2 * shape + 1)
    curve = parameter[..., None] / (parameter[..., None] - 1 + np.exp(np.square(_STEPS)))
    factor = np.sum(curve, axis=-1) * (_STEPS[1] - _STEPS[0]) / np.sqrt(shape) / _ROOT_2_PI
    settlement_max_m = volume_loss * np.pi / 4 * np.square(excavation_diameter_m) / (_ROOT_2_PI * trough_width_m * factor)
    # Beyond 700 the exponential leaves the range of numbers; there is no settlement there.
    growth = np.exp(np.minimum(shape * np.square(np.divide(offset_m, trough_width_m)), 700.0))
    return ModifiedTrough(
        shape_parameter=parameter,
        volume_factor=factor,
        settlement_max_m=settlement_max_m,
        settlement_m=settlement_max_m * parameter / (parameter - 1 + growth),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class UnequalTrough(Record):
    """A trough whose limbs differ in width."""

    settlement_max_m: FloatArray
    settlement_m: FloatArray


@method(
    "movement.trough.unequal_limbs",
    formulas={
        "settlement_max_m": Formula("S_max", "V_L * pi / 4 * D^2 / (sqrt(2 * pi) * (i_l + i_r) / 2)"),
        "settlement_m": Formula("S", "S_max * exp(-y^2 / (2 * (i_l if y < 0 else i_r)^2))"),
    },
    symbols={"trough_width_left_m": "i_l", "trough_width_right_m": "i_r"},
    valid={"volume_loss": Range(0.0, 0.05, "short term")},
    kind="mean",
    source=UNEQUAL_LIMBS,
)
def unequal_limbs(
    volume_loss: Number, excavation_diameter_m: Number, trough_width_left_m: Number, trough_width_right_m: Number, offset_m: Number
) -> UnequalTrough:
    """Return the settlement across the drive with its own width to either side, as beside an earlier drive or over sloping strata.

    Parameters
    ----------
    volume_loss : trough volume over bored volume.
    excavation_diameter_m : cut diameter.
    trough_width_left_m, trough_width_right_m : to the points of inflection left and right of the centre.
    offset_m : from the trough's centre.
    """
    settlement_max_m = volume_loss * np.pi / 4 * np.square(excavation_diameter_m) / (_ROOT_2_PI * np.add(trough_width_left_m, trough_width_right_m) / 2)
    width_m = np.where(np.asarray(offset_m) < 0, trough_width_left_m, trough_width_right_m)
    return UnequalTrough(settlement_max_m=settlement_max_m, settlement_m=settlement_max_m * np.exp(-0.5 * np.square(offset_m / width_m)))
