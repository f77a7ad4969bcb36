"""A type of segmental ring."""

import math
from typing import Annotated, Literal, Self

import numpy as np
from pydantic import Field, model_validator

from tunnelwright.drive.fields import Part, number, refusal
from tunnelwright.vocabulary.types import FloatArray

Angle = Annotated[float, number(low=-2 * math.pi, high=2 * math.pi)]


class RingType(Part):
    """A tapered ring.

    Parameters
    ----------
    ring_length_m : mean, at the centre.
    taper_mm : greatest less least length, at `taper_diameter_m`, which is the outside unless given.
    taper_kind : double = both faces inclined by half; single = rear face square.
    turn : of a ring of a left and right pair, built with the key at the crown; else universal.
    segment_count : all segments, the key included.
    position_count : positions in which a ring can be turned, one pitch apart.
    positions_allowed : key positions the project admits; all when left out. Position 0 has the key at the crown.
    key_to_widest_rad : clock angle from the key's centre to the longest generator.
    joint_angles_rad : longitudinal joints, from the key's centre.
    """

    name: Annotated[str, Field(pattern=r"^[A-Za-z0-9_-]+$")]
    title: str = ""
    ring_outer_diameter_m: Annotated[float, number(low=1.0, high=20.0)]
    ring_inner_diameter_m: Annotated[float, number(low=0.8, high=20.0)]
    ring_length_m: Annotated[float, number(low=0.3, high=4.0)]
    taper_mm: Annotated[float, number(low=0.0, high=400.0)]
    taper_diameter_m: Annotated[float, number(above=0.0)] = Field(default_factory=lambda data: data.get("ring_outer_diameter_m", math.nan))
    taper_kind: Literal["double", "single"] = "double"
    turn: Literal["universal", "left", "right", "straight"] = "universal"
    segment_count: Annotated[int, Field(ge=3, le=20)]
    position_count: Annotated[int, Field(ge=1, le=80)]
    positions_allowed: tuple[Annotated[int, Field(ge=0, le=79)], ...] = ()
    key_to_widest_rad: Angle = math.pi
    joint_angles_rad: tuple[Angle, ...] = ()
    minimum_stagger_rad: Annotated[float, number(low=0.0, high=math.pi)] = Field(default_factory=lambda data: math.pi / data.get("position_count", 1))
    joint_gap_mm: Annotated[float, number(low=0.0, high=20.0)] = 0.0
    concrete_unit_weight_kn_m3: Annotated[float, number(low=20.0, high=28.0)] = 25.0
    cylinder_strength_mpa: Annotated[float, number(above=0.0, high=200.0)] = 45.0
    concrete_modulus_mpa: Annotated[float, number(above=0.0, high=80_000.0)] = 36_000.0
    concrete_poisson_ratio: Annotated[float, number(low=0.0, high=0.5)] = 0.2
    steel_area_m2_m: Annotated[float, number(low=0.0, high=0.1)] = 0.0
    contact_height_m: Annotated[float | None, number(above=0.0)] = None
    pad_count: Annotated[int | None, Field(gt=0, le=80)] = None
    pad_width_m: Annotated[float | None, number(above=0.0)] = None
    pad_height_m: Annotated[float | None, number(above=0.0)] = None
    gasket_pressure_kpa: Annotated[float | None, number(above=0.0)] = None
    key_insertion_m: Annotated[float | None, number(low=0.0)] = None

    @model_validator(mode="after")
    def _check(self) -> Self:
        if self.ring_inner_diameter_m >= self.ring_outer_diameter_m:
            raise refusal(
                self.ring_inner_diameter_m,
                f"must be less than ring_outer_diameter_m {self.ring_outer_diameter_m:g}",
                "are the two swapped?",
                field="ring_inner_diameter_m",
            )
        if self.taper_mm / 1000.0 > 0.02 * self.taper_diameter_m:
            raise refusal(self.taper_mm, f"must be at most {20 * self.taper_diameter_m:.0f}, a fiftieth of the diameter", "is it in mm?", field="taper_mm")
        if self.joint_angles_rad and len(self.joint_angles_rad) != self.segment_count:
            raise refusal(len(self.joint_angles_rad), f"must name one joint for each of the {self.segment_count} segments", field="joint_angles_rad")
        beyond = [position for position in self.positions_allowed if position >= self.position_count]
        if beyond:
            raise refusal(beyond[0], f"must lie below position_count {self.position_count}", "position 0 is the first", field="positions_allowed")
        return self

    @property
    def lining_thickness_m(self) -> float:
        """Return the thickness of the segments."""
        return (self.ring_outer_diameter_m - self.ring_inner_diameter_m) / 2

    @property
    def position_pitch_rad(self) -> float:
        """Return the clock angle from one position to the next."""
        return 2 * math.pi / self.position_count

    @property
    def allowed_key_clock_angle_rad(self) -> FloatArray:
        """Return the clock angles at which the key may stand."""
        positions = self.positions_allowed or tuple(range(self.position_count))
        return np.array(positions, dtype=float) * self.position_pitch_rad
