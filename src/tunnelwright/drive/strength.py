"""The parameter sets of deterministic calculations: cautious values of every unit for the lower and for the upper limit.

A characteristic or design value is taken as it stands. A mean is moved by half a standard deviation to the unfavourable side (Schneider 1997), friction on its
tangent. The lower limit takes low strengths and high weights, the upper limit low weights.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from tunnelwright.drive.kernels import kernel
from tunnelwright.drive.project import Project, Spread, Unit
from tunnelwright.vocabulary.types import FloatArray

HALF_DEVIATION = 0.5
Side = Literal["low", "high"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class UnitValues:
    """Parameters of every unit in stratigraphic order, one set."""

    unit_weight_kn_m3: FloatArray
    unit_weight_saturated_kn_m3: FloatArray
    friction_angle_rad: FloatArray
    cohesion_kpa: FloatArray
    undrained_strength_reference_kpa: FloatArray
    undrained_strength_gradient_kpa_m: FloatArray
    reference_level_m: FloatArray
    earth_pressure_coefficient_at_rest: FloatArray


def lower_limit_values(project: Project) -> UnitValues:
    """Return the set for the least face pressure: low strength, high weight."""
    return _values(project, strength="low", weight="high")


def upper_limit_values(project: Project) -> UnitValues:
    """Return the set for the greatest face pressure: low strength, low weight."""
    return _values(project, strength="low", weight="low")


def mean_values(project: Project) -> UnitValues:
    """Return the values as given, for quantities such as muck."""
    return _values(project, strength=None, weight=None)


def _values(project: Project, *, strength: Side | None, weight: Side | None) -> UnitValues:
    units = project.ground.units_in_order
    return UnitValues(
        unit_weight_kn_m3=_cautious(units, "unit_weight_kn_m3", weight),
        unit_weight_saturated_kn_m3=_cautious(units, "unit_weight_saturated_kn_m3", weight),
        friction_angle_rad=_cautious(units, "friction_angle_rad", strength),
        cohesion_kpa=_cautious(units, "cohesion_kpa", strength),
        undrained_strength_reference_kpa=_cautious(units, "undrained_strength_reference_kpa", strength),
        undrained_strength_gradient_kpa_m=np.nan_to_num(_cautious(units, "undrained_strength_gradient_kpa_m", strength)),
        reference_level_m=np.array([np.nan if unit.reference_level_m is None else unit.reference_level_m for unit in units]),
        earth_pressure_coefficient_at_rest=np.array([_at_rest(unit, project.choices.earth_pressure_at_rest) for unit in units]),
    )


def _cautious(units: tuple[Unit, ...], field: str, side: Side | None) -> FloatArray:
    return np.array([cautious_value(getattr(unit, field), field, side) for unit in units])


def cautious_value(spread: Spread | None, field: str, side: Side | None) -> float:
    """Return one value on the unfavourable side: a mean moved by half a standard deviation, others as they stand; NaN for none."""
    if spread is None:
        return np.nan
    if spread.basis != "mean" or side is None:
        return spread.value
    factor = 1.0 + (HALF_DEVIATION if side == "high" else -HALF_DEVIATION) * spread.cov
    if field == "friction_angle_rad":
        return float(np.arctan(np.tan(spread.value) * max(factor, 0.0)))
    return spread.value * max(factor, 0.0)


def _at_rest(unit: Unit, method_id: str) -> float:
    """Return the earth pressure coefficient at rest: as given, or by the chosen method from friction and overconsolidation."""
    if unit.earth_pressure_coefficient_at_rest is not None:
        return unit.earth_pressure_coefficient_at_rest.value
    method = kernel(method_id)
    inputs = {"friction_angle_rad": unit.friction_angle_rad.value, "overconsolidation_ratio": unit.overconsolidation_ratio or 1.0}
    found = method(**{name: value for name, value in inputs.items() if name in method.inputs})
    return float(found.earth_pressure_coefficient_at_rest)


def drainage_of(unit: Unit, choice: str) -> str:
    """Return whether a unit drains while the face passes: as the unit says, as the project chose, or by its permeability."""
    if unit.drainage is not None:
        return unit.drainage
    if choice != "by_permeability":
        return choice
    if unit.permeability_m_s is None:
        return "both"
    return str(kernel("ground.drainage.permeability_class")(permeability_m_s=unit.permeability_m_s.value).drainage)
