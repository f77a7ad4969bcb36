"""Deviations of surveyed points, and lengths and bearings between map and ground."""

from dataclasses import dataclass

import numpy as np

from tunnelwright.engineering.alignment.sources import CONVERGENCE, GEOMETRY, MAP_SCALE
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Range, Remark, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SquareDeviation(Record):
    """Deviation square to an inclined axis."""

    square_deviation_m: FloatArray
    chainage_difference_m: FloatArray


@method(
    "alignment.point.plumb_to_square",
    formulas={"square_deviation_m": Formula("d_s", "z_d / sqrt(1 + i^2)"), "chainage_difference_m": Formula("Delta_s", "z_d * i / (1 + i^2)")},
    symbols={"gradient": "i"},
    kind="identity",
    source=GEOMETRY,
)
def plumb_to_square(vertical_deviation_m: Number, gradient: Number) -> SquareDeviation:
    """Return the deviation square to an inclined axis from that measured plumb.

    Parameters
    ----------
    vertical_deviation_m : plumb, positive high.
    gradient : uphill positive.

    Notes
    -----
    With slope t the square deviation is d cos t; its foot lies d sin t cos t farther along the plan, ahead for a high point on an uphill grade.
    """
    rise = 1 + np.square(gradient)
    return SquareDeviation(square_deviation_m=vertical_deviation_m / np.sqrt(rise), chainage_difference_m=np.multiply(vertical_deviation_m, gradient) / rise)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PointDeviation(Record):
    """How far and in which direction a point is off the axis."""

    distance_m: FloatArray
    clock_angle_rad: FloatArray


@method(
    "alignment.point.deviation",
    formulas={"distance_m": Formula("d", "hypot(y_d, z_d)"), "clock_angle_rad": Formula("theta_c", "atan2(y_d, z_d)")},
    possible={"position_tolerance_m": (0.0, 10.0)},
    remarks=(Remark(lambda v: v["distance_m"] > v["position_tolerance_m"], "the point lies outside the position tolerance"),),
    kind="identity",
    source=GEOMETRY,
)
def point_deviation(lateral_deviation_m: Number, vertical_deviation_m: Number, position_tolerance_m: Number = 0.1) -> PointDeviation:
    """Return the distance of a point from the axis and its clock angle.

    Parameters
    ----------
    lateral_deviation_m : right positive.
    vertical_deviation_m : up positive.
    position_tolerance_m : limit of the distance.
    """
    return PointDeviation(distance_m=np.hypot(lateral_deviation_m, vertical_deviation_m), clock_angle_rad=np.arctan2(lateral_deviation_m, vertical_deviation_m))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class GroundLength(Record):
    """Length on the ground."""

    ground_length_m: FloatArray


@method(
    "alignment.grid.ground_length",
    formulas={"ground_length_m": Formula("l", "l_g / k * (1 + H / 6371000)")},
    symbols={"grid_length_m": "l_g", "grid_scale_factor": "k"},
    possible={"grid_length_m": (0.0, 1e7), "grid_scale_factor": (0.9, 1.1)},
    valid={"grid_scale_factor": Range(1 - 20e-6, 1 + 20e-6, "a national grid: ring counting must use the length on the ground")},
    kind="identity",
    source=MAP_SCALE,
    dimensional=True,
)
def ground_length(grid_length_m: Number, grid_scale_factor: Number = 1.0, level_m: Number = 0.0) -> GroundLength:
    """Return the length on the ground of a length from coordinates.

    Parameters
    ----------
    grid_length_m : from coordinates.
    grid_scale_factor : of the projection at the place.
    level_m : above the reference surface.
    """
    return GroundLength(ground_length_m=np.divide(grid_length_m, grid_scale_factor) * (1 + np.asarray(level_m) / 6.371e6))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class GridBearing(Record):
    """Bearing from grid north."""

    meridian_convergence_rad: FloatArray
    grid_bearing_rad: FloatArray


@method(
    "alignment.grid.bearing",
    formulas={"meridian_convergence_rad": Formula("gamma", "l * sin(phi_g)"), "grid_bearing_rad": Formula("beta", "A - gamma")},
    symbols={"geographic_bearing_rad": "A", "longitude_difference_rad": "l", "latitude_rad": "phi_g"},
    possible={"geographic_bearing_rad": (-6.2832, 6.2832), "longitude_difference_rad": (-0.6, 0.6)},
    valid={"longitude_difference_rad": Range(-0.06, 0.06, "first term of the series; farther out take the convergence from the projection")},
    kind="mean",
    source=CONVERGENCE,
)
def grid_bearing(geographic_bearing_rad: Number, longitude_difference_rad: Number, latitude_rad: Number) -> GridBearing:
    """Return the grid bearing of a geographic one, as a gyro gives it.

    Parameters
    ----------
    geographic_bearing_rad : clockwise from true north.
    longitude_difference_rad : point less central meridian, east positive.
    latitude_rad : north positive.
    """
    convergence = longitude_difference_rad * np.sin(latitude_rad)
    return GridBearing(meridian_convergence_rad=convergence, grid_bearing_rad=geographic_bearing_rad - convergence)
