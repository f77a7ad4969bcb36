"""The ground as the project knows it: units with spread, boreholes, lenses, water, surface."""

import datetime
import math
from collections.abc import Sequence
from typing import Annotated, Final, Literal, Self

import numpy as np
from pydantic import Field, model_validator

from tunnelwright.drive.fields import Part, number, refusal
from tunnelwright.drive.project.spread import Basis, Spread, spread
from tunnelwright.vocabulary.types import FloatArray

UnitKind = Literal["made_ground", "clay", "silt", "sand", "gravel", "rock", "mixed"]
GroundClass = Literal["clay", "sand", "gravel", "rock"]
GROUND_CLASS_OF_KIND: Final[dict[str, GroundClass]] = {
    "made_ground": "sand",
    "clay": "clay",
    "silt": "sand",
    "sand": "sand",
    "gravel": "gravel",
    "rock": "rock",
    "mixed": "gravel",
}
Weight = spread(low=10.0, high=28.0)
Positive = spread(above=0.0)
NotNegative = spread(low=0.0)
Level = Annotated[float, number()]


class Unit(Part):
    """One named body of ground with one set of parameters.

    Parameters
    ----------
    code : as it stands in strata.csv.
    order : from the youngest, 1, downwards.
    kind : chooses the hatch and the usual values.
    basis : of every bare number of the unit.
    in_lenses_only : it fills lenses and is no stratum; no boundary runs through it, and no borehole logs it.
    ground_class : for the fill factor of the annulus; follows the kind unless given.
    drainage : drained, undrained or both; by permeability and advance rate when left out.
    friction_angle_rad, cohesion_kpa : effective.
    undrained_strength_reference_kpa, undrained_strength_gradient_kpa_m : at `reference_level_m`, growing downwards; without a
        level at the top of the unit.
    permeability_ratio : vertical over horizontal.
    trough_width_factor, volume_loss : for the settlement trough in and above this unit.
    foam_injection_ratio, foam_expansion_ratio, surfactant_concentration, added_water_ratio : the conditioning planned for
        this unit; ratios, foam volumes at working pressure.
    """

    code: Annotated[str, Field(pattern=r"^[A-Za-z0-9_-]+$")]
    name: Annotated[str, Field(min_length=1)]
    order: Annotated[int, Field(ge=1, le=100)]
    kind: UnitKind
    basis: Basis | None = None
    in_lenses_only: bool = False
    ground_class: GroundClass = Field(default_factory=lambda data: GROUND_CLASS_OF_KIND.get(data.get("kind", ""), "sand"))
    drainage: Literal["drained", "undrained", "both"] | None = None
    unit_weight_kn_m3: Annotated[Spread, Weight]
    unit_weight_saturated_kn_m3: Annotated[Spread, Weight]
    friction_angle_rad: Annotated[Spread, spread(low=0.0, high=math.radians(50.0))]
    cohesion_kpa: Annotated[Spread, spread(low=0.0, high=5000.0)] = Spread(value=0.0, basis="mean", cov=0.0, source="none given: taken as 0")
    dilatancy_angle_rad: Annotated[Spread | None, spread(low=-0.5, high=0.7)] = None
    undrained_strength_reference_kpa: Annotated[Spread | None, Positive] = None
    undrained_strength_gradient_kpa_m: Annotated[Spread | None, NotNegative] = None
    undrained_strength_min_kpa: Annotated[float, number(low=0.0)] = 0.0
    reference_level_m: Annotated[float | None, number()] = None
    earth_pressure_coefficient_at_rest: Annotated[Spread | None, spread(low=0.2, high=3.0)] = None
    overconsolidation_ratio: Annotated[float | None, number(low=1.0, high=100.0)] = None
    young_modulus_kpa: Annotated[Spread | None, Positive] = None
    oedometer_modulus_kpa: Annotated[Spread | None, Positive] = None
    poisson_ratio: Annotated[float, number(low=0.0, high=0.5)] = 0.3
    permeability_m_s: Annotated[Spread | None, spread(above=0.0, high=1.0)] = None
    permeability_ratio: Annotated[float, number(above=0.0, high=10.0)] = 1.0
    coefficient_of_consolidation_m2_yr: Annotated[float | None, number(above=0.0)] = None
    grain_size_d10_mm: Annotated[float | None, number(above=0.0, high=1000.0)] = None
    grain_size_d30_mm: Annotated[float | None, number(above=0.0, high=1000.0)] = None
    grain_size_d60_mm: Annotated[float | None, number(above=0.0, high=1000.0)] = None
    fines_ratio: Annotated[float | None, number(low=0.0, high=1.0)] = None
    boulder_ratio: Annotated[float, number(low=0.0, high=1.0)] = 0.0
    largest_boulder_m: Annotated[float, number(low=0.0, high=10.0)] = 0.0
    porosity: Annotated[float | None, number(above=0.0, high=0.95)] = None
    water_content: Annotated[Spread | None, spread(low=0.0, high=5.0)] = None
    liquid_limit: Annotated[Spread | None, spread(low=0.0, high=5.0)] = None
    plastic_limit: Annotated[Spread | None, spread(low=0.0, high=5.0)] = None
    grain_density_t_m3: Annotated[float, number(low=2.0, high=3.5)] = 2.65
    bulking_factor: Annotated[float, number(low=1.0, high=3.0)] = 1.4
    uniaxial_compressive_strength_kpa: Annotated[float | None, number(above=0.0)] = None
    equivalent_quartz_ratio: Annotated[float | None, number(low=0.0, high=1.0)] = None
    trough_width_factor: Annotated[float | None, number(low=0.1, high=1.0)] = None
    volume_loss: Annotated[Spread | None, spread(low=0.0, high=0.2)] = None
    fill_factor: Annotated[float | None, number(low=1.0, high=3.0)] = None
    advance_rate_mm_min: Annotated[float | None, number(above=0.0, high=500.0)] = None
    foam_injection_ratio: Annotated[float, number(low=0.0, high=1.5)] = 0.0
    foam_expansion_ratio: Annotated[float, number(low=1.0, high=50.0)] = 10.0
    surfactant_concentration: Annotated[float, number(low=0.0, high=0.2)] = 0.02
    added_water_ratio: Annotated[float, number(low=0.0, high=1.0)] = 0.0
    is_sticky: bool = False
    is_gassy: bool = False
    is_contaminated: bool = False

    @model_validator(mode="after")
    def _check(self) -> Self:
        wet, bulk = self.unit_weight_saturated_kn_m3.value, self.unit_weight_kn_m3.value
        if wet < bulk:
            raise refusal(
                wet,
                f"must not be less than unit_weight_kn_m3 {bulk:g}",
                "never give the submerged weight; are the two swapped?",
                field="unit_weight_saturated_kn_m3",
            )
        angle = self.friction_angle_rad.value
        if 0.0 < angle < math.radians(1.0):
            raise refusal(
                f"{math.degrees(angle):.4g} deg",
                "a friction angle is 0 or at least 1 deg (0.0175 rad)",
                "is it in rad though the name says deg?",
                field="friction_angle_rad",
            )
        if self.undrained_strength_gradient_kpa_m is not None and self.undrained_strength_reference_kpa is None:
            raise refusal(
                self.undrained_strength_gradient_kpa_m.value,
                "a gradient needs undrained_strength_reference_kpa, the strength it starts from",
                field="undrained_strength_gradient_kpa_m",
            )
        sizes = [size for size in (self.grain_size_d10_mm, self.grain_size_d30_mm, self.grain_size_d60_mm) if size is not None]
        if sizes != sorted(sizes):
            raise refusal(sizes[0], "grain sizes must grow from d10 to d30 to d60", "are two of them swapped?", field="grain_size_d10_mm")
        return self

    def spreads(self) -> dict[str, Spread]:
        """Return the parameters that are given with basis and spread, by field name."""
        values = {name: getattr(self, name) for name in type(self).model_fields}
        return {
            name: value for name, value in values.items() if isinstance(value, Spread) and (name != "cohesion_kpa" or "cohesion_kpa" in self.model_fields_set)
        }


class Pick(Part):
    """One stretch of a unit in a borehole."""

    unit: str
    top_level_m: Level
    base_level_m: Level


class Borehole(Part):
    """A hole, what was met in it, and whether it was sealed."""

    borehole: Annotated[str, Field(min_length=1)]
    easting_m: Level
    northing_m: Level
    ground_level_m: Level
    depth_m: Annotated[float, number(above=0.0, high=2000.0)]
    method: Literal["cored", "cone", "cable percussion", "wash boring", "trial pit", "unknown"] = "cored"
    sealed: bool = False
    picks: tuple[Pick, ...] = ()

    @property
    def base_level_m(self) -> float:
        """Return the level at which the hole ends; below it nothing is known."""
        return self.ground_level_m - self.depth_m


class Lens(Part):
    """A closed outline in chainage and level that replaces what it covers, along one drive.

    Parameters
    ----------
    outline : corners as chainage and level.
    presence : probability that it is there.
    half_width_m : extent to each side of the axis.
    """

    name: Annotated[str, Field(min_length=1)]
    unit: str
    drive: str = ""
    outline: Annotated[tuple[tuple[float, float], ...], Field(min_length=3)]
    presence: Annotated[float, number(above=0.0, high=1.0)] = 1.0
    half_width_m: Annotated[float, number(above=0.0)] = 50.0

    @property
    def outline_m(self) -> FloatArray:
        """Return the corners, one row each: chainage, level."""
        return np.array(self.outline)


class HeadPoint(Part):
    """The head of an aquifer at one chainage."""

    chainage_m: Level
    low_m: Level
    normal_m: Level
    high_m: Level

    @model_validator(mode="after")
    def _check(self) -> Self:
        if not self.low_m <= self.normal_m <= self.high_m:
            raise refusal(
                self.normal_m,
                f"heads must rise from low_m {self.low_m:g} to normal_m {self.normal_m:g} to high_m {self.high_m:g}",
                "are two of them swapped?",
                field="normal_m",
            )
        return self


class Aquifer(Part):
    """Water that stands in one or more units.

    Parameters
    ----------
    units : codes of the units it fills.
    heads : low, normal and high level along the drive, linear between the points, constant beyond them.
    drive : the drive whose chainages the heads are; every drive when empty.
    """

    name: Annotated[str, Field(min_length=1)]
    units: Annotated[tuple[str, ...], Field(min_length=1)]
    drive: str = ""
    heads: Annotated[tuple[HeadPoint, ...], Field(min_length=1)]

    def head_level_m(self, chainage_m: FloatArray | float, case: Literal["low", "normal", "high"] = "normal") -> FloatArray:
        """Return the head at chainages, in one of the three cases."""
        where = [point.chainage_m for point in self.heads]
        return np.interp(chainage_m, where, [getattr(point, f"{case}_m") for point in self.heads])


class FreeWater(Part):
    """A river, lake or sea above the drive.

    Parameters
    ----------
    bed_lowering_m : allowance for scour and dredging below the surveyed bed.
    """

    name: Annotated[str, Field(min_length=1)]
    drive: str = ""
    start_chainage_m: Annotated[float, number(entry="chainage_m")]
    end_chainage_m: Annotated[float, number(entry="chainage_m")]
    low_level_m: Level
    normal_level_m: Level
    high_level_m: Level
    bed_lowering_m: Annotated[float, number(low=0.0, high=20.0)] = 0.0

    @model_validator(mode="after")
    def _check(self) -> Self:
        if self.end_chainage_m <= self.start_chainage_m:
            raise refusal(self.end_chainage_m, f"must lie beyond start_chainage_m {self.start_chainage_m:g}", field="end_chainage_m")
        if not self.low_level_m <= self.normal_level_m <= self.high_level_m:
            raise refusal(self.normal_level_m, "levels must rise from low to normal to high", field="normal_level_m")
        return self


class Piezometer(Part):
    """A reading of a piezometer."""

    piezometer: Annotated[str, Field(min_length=1)]
    aquifer: str
    easting_m: Level
    northing_m: Level
    tip_level_m: Level
    head_level_m: Level
    date: datetime.date


class SurfacePoint(Part):
    """A point of the ground surface, or of the bed below free water."""

    easting_m: Level
    northing_m: Level
    level_m: Level


class Ground(Part):
    """Everything known of the ground along the drives."""

    units: Annotated[tuple[Unit, ...], Field(min_length=1)]
    boreholes: Annotated[tuple[Borehole, ...], Field(min_length=1)]
    lenses: tuple[Lens, ...] = ()
    aquifers: tuple[Aquifer, ...] = ()
    free_water: tuple[FreeWater, ...] = ()
    piezometers: tuple[Piezometer, ...] = ()
    surface: Annotated[tuple[SurfacePoint, ...], Field(min_length=3)]

    @property
    def units_in_order(self) -> tuple[Unit, ...]:
        """Return the units from the youngest down, those that only fill lenses at the end."""
        return tuple(sorted(self.units, key=lambda unit: (unit.in_lenses_only, unit.order)))

    @property
    def strata_units(self) -> tuple[Unit, ...]:
        """Return the units that lie one upon another, from the youngest down."""
        return tuple(unit for unit in self.units_in_order if not unit.in_lenses_only)

    def unit(self, code: str) -> Unit:
        """Return the unit with this code."""
        return next(unit for unit in self.units if unit.code == code)

    def unit_index(self, code: str) -> int:
        """Return the place of a unit in `units_in_order`."""
        return [unit.code for unit in self.units_in_order].index(code)

    def values(self, field: str) -> FloatArray:
        """Return a parameter of every unit in order, NaN where a unit has none."""
        return np.array([_plain(getattr(unit, field)) for unit in self.units_in_order])

    def variations(self, field: str) -> FloatArray:
        """Return the coefficient of variation of a parameter of every unit in order, NaN where a unit has none."""
        spreads = [getattr(unit, field) for unit in self.units_in_order]
        return np.array([one.cov if isinstance(one, Spread) else math.nan for one in spreads])

    def surface_points_m(self) -> FloatArray:
        """Return the surface points, one row each: easting, northing, level."""
        return points_m(self.surface, ("easting_m", "northing_m", "level_m"))


def points_m(parts: Sequence[Part], fields: tuple[str, ...]) -> FloatArray:
    """Return fields of parts as an array, one row per part."""
    return np.array([[getattr(part, field) for field in fields] for part in parts], dtype=float).reshape(-1, len(fields))


def _plain(value: object) -> float:
    if isinstance(value, Spread):
        return value.value
    return math.nan if value is None else float(value)  # type: ignore[arg-type]
