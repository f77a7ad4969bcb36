"""What stands, runs or lies above the drive."""

import datetime
from typing import Annotated, Literal

import numpy as np
from pydantic import Field

from tunnelwright.drive.fields import Part, number
from tunnelwright.vocabulary.types import FloatArray

AssetKind = Literal["building", "wall", "pipe_continuous", "pipe_jointed", "pile", "track", "tunnel", "road"]


class Asset(Part):
    """A building, pipe, pile group, track, road or tunnel near the drive.

    Its plan is a rectangle round its middle: `length_m` along `bearing_rad`, `width_m` across; a line has no width.

    Parameters
    ----------
    foundation_level_m : underside of the foundation, invert of a pipe, rail level of a track.
    height_m : of a building from its foundation to the eaves; of a pipe or tunnel its outside diameter.
    structure : of a building; it chooses the usual shear ratio.
    shear_ratio : E/G of the equivalent beam.
    toe_level_m : of piles.
    pressure_kpa : of what a pipe carries.
    joint_spacing_m, wall_thickness_m, young_modulus_mpa : of a pipe.
    settlement_limit_mm, slope_limit, strain_limit : what the owner admits.
    is_sensitive : goes to owner and engineer whatever the numbers say.
    """

    asset: Annotated[str, Field(min_length=1)]
    name: str = ""
    kind: AssetKind
    easting_m: Annotated[float, number()]
    northing_m: Annotated[float, number()]
    length_m: Annotated[float, number(above=0.0, high=20_000.0)]
    width_m: Annotated[float, number(low=0.0, high=2_000.0)] = 0.0
    bearing_rad: Annotated[float, number(low=-2 * np.pi, high=2 * np.pi)] = 0.0
    foundation_level_m: Annotated[float, number()]
    height_m: Annotated[float | None, number(above=0.0, high=500.0)] = None
    structure: Literal["masonry", "frame", "timber", "steel", "cast_iron", "concrete", "brick", "plastic", ""] = ""
    shear_ratio: Annotated[float | None, number(above=0.0, high=100.0)] = None
    poisson_ratio: Annotated[float, number(low=0.0, high=0.5)] = 0.3
    condition_factor: Annotated[float, number(above=0.0, high=1.0)] = 1.0
    toe_level_m: Annotated[float | None, number()] = None
    pressure_kpa: Annotated[float | None, number(low=0.0)] = None
    joint_spacing_m: Annotated[float | None, number(above=0.0)] = None
    wall_thickness_m: Annotated[float | None, number(above=0.0)] = None
    young_modulus_mpa: Annotated[float | None, number(above=0.0)] = None
    settlement_limit_mm: Annotated[float | None, number(above=0.0)] = None
    slope_limit: Annotated[float | None, number(above=0.0, high=0.1)] = None
    strain_limit: Annotated[float | None, number(above=0.0, high=0.1)] = None
    is_sensitive: bool = False
    survey_date: datetime.date | None = None

    @property
    def corners_m(self) -> FloatArray:
        """Return easting and northing of the four corners, clockwise from the rear left one looking along the bearing."""
        along = np.array([np.sin(self.bearing_rad), np.cos(self.bearing_rad)]) * self.length_m / 2
        right = np.array([np.cos(self.bearing_rad), -np.sin(self.bearing_rad)]) * self.width_m / 2
        centre = np.array([self.easting_m, self.northing_m])
        return np.array([centre - along - right, centre + along - right, centre + along + right, centre - along + right])

    @property
    def line_m(self) -> FloatArray:
        """Return easting and northing of both ends of the middle line."""
        corners = self.corners_m
        return np.array([(corners[0] + corners[3]) / 2, (corners[1] + corners[2]) / 2])
