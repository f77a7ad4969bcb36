"""The true ground below Brennholt, and the dimensions of what is driven through it.

Nobody on site knows this page. The project folder is written from it with the blur of boreholes; the simulator drives through it
as it is. It shares no code with the workbench, so that what the workbench finds can be held against a world it did not make.
Everything here is invented. The shields stand in `shields`.

Chainages are those of the drive's axis, levels are metres above the city's datum, signs and clock angles follow the workbench: right positive, 0 at the crown.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from examples.brennholt.shields import SHIELD_A
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]
Points = tuple[tuple[float, float], ...]

TIME_ZONE: Final = "CET"
START_DATE: Final = "2026-02-16"
# First and last day on which nobody works although it is no Sunday.
CLOSURES: Final = (("2026-04-03", "2026-04-06"),)
WATER_UNIT_WEIGHT_KN_M3: Final = 9.81


@dataclass(frozen=True, slots=True, kw_only=True)
class TrueUnit:
    """One body of ground, as it is and as a machine feels it.

    Parameters
    ----------
    density_t_m3 : bulk, in place; below water where the unit stands in water.
    loosening : loose volume over volume in place.
    grout_factor : grout that goes in over the volume of the annulus.
    cutting_pressure_kpa : thrust of the tools over the area of the face at the usual rate.
    skin_friction_kpa : on the shield's skin.
    torque_knm : of the cutterhead at the usual rate.
    pressure_loss_kpa_h : fall of the chamber pressure in the first hours of a stop.
    """

    code: str
    name: str
    kind: str
    density_t_m3: float
    water_content: float
    loosening: float
    friction_angle_deg: float
    cohesion_kpa: float
    undrained_strength_kpa: float
    young_modulus_kpa: float
    permeability_m_s: float
    grout_factor: float
    advance_rate_mm_min: float
    cutting_pressure_kpa: float
    skin_friction_kpa: float
    torque_knm: float
    pressure_loss_kpa_h: float


UNITS: Final = (
    TrueUnit(
        code="MG", name="Made ground", kind="made_ground", density_t_m3=1.86, water_content=0.16, loosening=1.25, friction_angle_deg=29.0, cohesion_kpa=0.0,
        undrained_strength_kpa=0.0, young_modulus_kpa=9_000.0, permeability_m_s=2e-5, grout_factor=1.40, advance_rate_mm_min=48.0, cutting_pressure_kpa=20.0,
        skin_friction_kpa=18.0, torque_knm=1500.0, pressure_loss_kpa_h=9.0,
    ),
    TrueUnit(
        code="RG", name="River gravel", kind="gravel", density_t_m3=2.14, water_content=0.12, loosening=1.22, friction_angle_deg=36.5, cohesion_kpa=0.0,
        undrained_strength_kpa=0.0, young_modulus_kpa=70_000.0, permeability_m_s=1.5e-3, grout_factor=1.48, advance_rate_mm_min=36.0, cutting_pressure_kpa=62.0,
        skin_friction_kpa=34.0, torque_knm=3600.0, pressure_loss_kpa_h=11.0,
    ),
    TrueUnit(
        code="SC", name="Stiff clay", kind="clay", density_t_m3=2.04, water_content=0.225, loosening=1.45, friction_angle_deg=23.5, cohesion_kpa=14.0,
        undrained_strength_kpa=115.0, young_modulus_kpa=42_000.0, permeability_m_s=8e-10, grout_factor=1.12, advance_rate_mm_min=50.0,
        cutting_pressure_kpa=38.0, skin_friction_kpa=22.0, torque_knm=2500.0, pressure_loss_kpa_h=2.2,
    ),
    TrueUnit(
        code="SL", name="Sand lens", kind="sand", density_t_m3=2.09, water_content=0.175, loosening=1.2, friction_angle_deg=35.5, cohesion_kpa=0.0,
        undrained_strength_kpa=0.0, young_modulus_kpa=60_000.0, permeability_m_s=6e-5, grout_factor=1.30, advance_rate_mm_min=42.0, cutting_pressure_kpa=48.0,
        skin_friction_kpa=29.0, torque_knm=3150.0, pressure_loss_kpa_h=6.5,
    ),
    TrueUnit(
        code="DS", name="Dense sand", kind="sand", density_t_m3=2.11, water_content=0.165, loosening=1.2, friction_angle_deg=37.5, cohesion_kpa=0.0,
        undrained_strength_kpa=0.0, young_modulus_kpa=85_000.0, permeability_m_s=4e-5, grout_factor=1.32, advance_rate_mm_min=38.0, cutting_pressure_kpa=58.0,
        skin_friction_kpa=32.0, torque_knm=3400.0, pressure_loss_kpa_h=7.0,
    ),
)  # fmt: skip
UNIT_CODES: Final = tuple(unit.code for unit in UNITS)


@dataclass(frozen=True, slots=True, kw_only=True)
class TrueLens:
    """A closed outline in chainage and level; every lens lies within the stiff clay and is filled by the lower aquifer."""

    name: str
    unit: str
    outline: Points


# The first lens ends in a steep wall at chainage 486.0: a face that stands in clay one push and below a sand crown the next.
LENS_EDGE_CHAINAGE_M: Final = 486.0
LENSES: Final = (
    TrueLens(name="mill lens", unit="SL", outline=((486.0, 79.2), (486.0, 81.2), (540.0, 82.4), (612.0, 80.9), (570.0, 78.6))),
    TrueLens(name="tanners lens", unit="SL", outline=((702.0, 74.6), (745.0, 76.2), (792.0, 75.0), (750.0, 73.6))),
    TrueLens(name="high lens", unit="SL", outline=((1090.0, 80.0), (1140.0, 81.2), (1180.0, 80.2), (1130.0, 79.3))),
    TrueLens(name="market lens", unit="SL", outline=((1422.0, 76.8), (1450.0, 79.0), (1508.0, 78.2), (1475.0, 76.4))),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Pocket:
    """Loosened ground over the crown, of an old shaft nobody has on a map; the annulus takes grout into it when the tail passes."""

    start_chainage_m: float
    end_chainage_m: float
    base_level_m: float
    top_level_m: float
    extra_grout_m3_m: float


POCKET: Final = Pocket(start_chainage_m=1152.0, end_chainage_m=1155.0, base_level_m=78.4, top_level_m=80.4, extra_grout_m3_m=0.7)

# Breaks of slope along the East drive: chainage, level. Between them straight lines; the surface and the made ground also undulate.
SURFACE_LEVEL_M: Final[Points] = (
    (-100.0, 101.6), (0.0, 101.8), (300.0, 102.6), (700.0, 103.4), (1000.0, 101.0), (1300.0, 102.2), (1700.0, 104.0), (2000.0, 103.0), (2350.0, 102.0),
)  # fmt: skip
MADE_GROUND_THICKNESS_M: Final[Points] = ((-100.0, 2.8), (350.0, 2.2), (760.0, 4.1), (980.0, 1.6), (1450.0, 3.4), (1900.0, 2.4), (2350.0, 3.0))
CLAY_TOP_LEVEL_M: Final[Points] = (
    (-100.0, 87.0), (0.0, 87.5), (200.0, 89.0), (420.0, 90.0), (700.0, 88.5), (900.0, 85.0), (960.0, 77.9), (1030.0, 85.5), (1300.0, 88.0), (1700.0, 90.0),
    (2000.0, 88.5), (2350.0, 87.0),
)  # fmt: skip
DENSE_SAND_TOP_LEVEL_M: Final[Points] = (
    (-100.0, 70.5), (600.0, 69.0), (1000.0, 68.0), (1250.0, 69.5), (1400.0, 73.5), (1500.0, 75.0), (1620.0, 74.0), (1800.0, 71.0), (2350.0, 70.0),
)  # fmt: skip
UPPER_HEAD_LEVEL_M: Final[Points] = ((-100.0, 97.9), (700.0, 97.4), (1000.0, 96.6), (1400.0, 96.9), (2350.0, 97.6))
LOWER_HEAD_LEVEL_M: Final[Points] = ((-100.0, 93.4), (900.0, 92.6), (1500.0, 91.8), (2350.0, 92.5))


@dataclass(frozen=True, slots=True, kw_only=True)
class AxisElement:
    """One element of the plan; a clothoid joins its neighbours."""

    element_type: str
    length_m: float
    radius_m: float | None = None
    turn: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class AxisVertex:
    """An intersection of two grades, rounded by a parabola of this radius."""

    chainage_m: float
    level_m: float
    vertical_radius_m: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class DriveAxis:
    """Plan and profile of a drive."""

    start_easting_m: float
    start_northing_m: float
    start_bearing_deg: float
    elements: tuple[AxisElement, ...]
    vertices: tuple[AxisVertex, ...]

    @property
    def length_m(self) -> float:
        """Return the length of the plan."""
        return sum(element.length_m for element in self.elements)


@dataclass(frozen=True, slots=True, kw_only=True)
class TrueDrive:
    """A drive: its rings and where they begin. `start_chainage_m` is the front edge of ring 0."""

    name: str
    title: str
    start_chainage_m: float
    ring_count: int
    ring_outer_diameter_m: float
    ring_inner_diameter_m: float
    ring_length_m: float
    taper_mm: float
    axis: DriveAxis


def _line(length_m: float) -> AxisElement:
    return AxisElement(element_type="line", length_m=length_m)


def _curve(transition_m: float, arc_m: float, radius_m: float, turn: str) -> tuple[AxisElement, AxisElement, AxisElement]:
    clothoid = AxisElement(element_type="clothoid", length_m=transition_m)
    return clothoid, AxisElement(element_type="circular_arc", length_m=arc_m, radius_m=radius_m, turn=turn), clothoid


EAST: Final = TrueDrive(
    name="east", title="East drive", start_chainage_m=12.0, ring_count=1453, ring_outer_diameter_m=6.70, ring_inner_diameter_m=6.10, ring_length_m=1.50,
    taper_mm=40.0,
    axis=DriveAxis(
        start_easting_m=4200.0, start_northing_m=7350.0, start_bearing_deg=78.0,
        elements=(
            _line(260.0), *_curve(60.0, 300.0, 400.0, "right"), _line(240.0), *_curve(70.0, 260.0, 280.0, "left"), _line(300.0),
            *_curve(60.0, 220.0, 600.0, "right"), _line(280.0),
        ),
        vertices=(
            AxisVertex(chainage_m=0.0, level_m=86.0), AxisVertex(chainage_m=500.0, level_m=78.0, vertical_radius_m=5000.0),
            AxisVertex(chainage_m=1150.0, level_m=74.1, vertical_radius_m=4000.0), AxisVertex(chainage_m=1700.0, level_m=77.4, vertical_radius_m=5000.0),
            AxisVertex(chainage_m=2240.0, level_m=85.5),
        ),
    ),
)  # fmt: skip
# The second tube of the East drive: 16 m to the right, 300 m behind.
EAST_TWIN_OFFSET_M: Final = 16.0
EAST_TWIN_BEHIND_M: Final = 300.0


RIVER: Final = TrueDrive(
    name="river", title="River drive", start_chainage_m=10.0, ring_count=600, ring_outer_diameter_m=8.60, ring_inner_diameter_m=7.80, ring_length_m=1.90,
    taper_mm=50.0,
    axis=DriveAxis(
        start_easting_m=6150.0, start_northing_m=6900.0, start_bearing_deg=12.0,
        elements=(_line(220.0), *_curve(70.0, 240.0, 500.0, "left"), _line(580.0)),
        vertices=(
            AxisVertex(chainage_m=0.0, level_m=82.0), AxisVertex(chainage_m=420.0, level_m=72.8, vertical_radius_m=3000.0),
            AxisVertex(chainage_m=760.0, level_m=73.5, vertical_radius_m=3000.0), AxisVertex(chainage_m=1180.0, level_m=81.9),
        ),
    ),
)  # fmt: skip
# The Isen crosses the River drive; levels of its bed and of the weathered marl below the gravel.
RIVER_BED_CHAINAGE_M: Final = (470.0, 690.0)
RIVER_WATER_LEVEL_M: Final = 96.4
RIVER_SURFACE_LEVEL_M: Final[Points] = (
    (-100.0, 101.0), (400.0, 99.8), (470.0, 95.5), (540.0, 87.6), (600.0, 86.9), (640.0, 87.9), (690.0, 95.0), (760.0, 99.4), (1300.0, 101.2),
)  # fmt: skip
MARL_TOP_LEVEL_M: Final[Points] = ((-100.0, 80.5), (300.0, 77.5), (560.0, 74.2), (800.0, 76.0), (1300.0, 79.5))
MARL_DENSITY_T_M3: Final = 2.22


def _along(points: Points, chainage_m: ArrayLike) -> Array:
    chainages, levels = np.array(points).T
    return np.interp(np.asarray(chainage_m, dtype=float), chainages, levels)


def axis_level_m(chainage_m: ArrayLike, axis: DriveAxis = EAST.axis) -> Array:
    """Return the level of the axis: straight grades, rounded by parabolas."""
    chainage = np.asarray(chainage_m, dtype=float)
    stations = np.array([vertex.chainage_m for vertex in axis.vertices])
    levels = np.array([vertex.level_m for vertex in axis.vertices])
    level = np.interp(chainage, stations, levels)
    grades = np.diff(levels) / np.diff(stations)
    for vertex, before, after in zip(axis.vertices[1:-1], grades[:-1], grades[1:], strict=True):
        half = vertex.vertical_radius_m * abs(after - before) / 2
        inside = np.maximum(half - np.abs(chainage - vertex.chainage_m), 0.0)
        level = level + np.sign(after - before) * inside**2 / (2 * vertex.vertical_radius_m)
    return level


def ground_level_m(chainage_m: ArrayLike) -> Array:
    """Return the level of the surface over the East drive."""
    chainage = np.asarray(chainage_m, dtype=float)
    return _along(SURFACE_LEVEL_M, chainage) + 0.15 * np.sin(chainage / 37.0)


def gravel_top_level_m(chainage_m: ArrayLike) -> Array:
    """Return the level at which made ground gives way to river gravel."""
    chainage = np.asarray(chainage_m, dtype=float)
    return ground_level_m(chainage) - _along(MADE_GROUND_THICKNESS_M, chainage) - 0.3 * np.sin(chainage / 23.0 + 1.0)


def clay_top_level_m(chainage_m: ArrayLike) -> Array:
    """Return the level at which river gravel gives way to stiff clay."""
    chainage = np.asarray(chainage_m, dtype=float)
    return _along(CLAY_TOP_LEVEL_M, chainage) + 0.2 * np.sin(chainage / 41.0)


def dense_sand_top_level_m(chainage_m: ArrayLike) -> Array:
    """Return the level at which stiff clay gives way to dense sand."""
    return _along(DENSE_SAND_TOP_LEVEL_M, chainage_m)


def upper_head_level_m(chainage_m: ArrayLike) -> Array:
    """Return the head of the water in the made ground and the river gravel."""
    return _along(UPPER_HEAD_LEVEL_M, chainage_m)


def lower_head_level_m(chainage_m: ArrayLike) -> Array:
    """Return the head of the water in the dense sand and the lenses."""
    return _along(LOWER_HEAD_LEVEL_M, chainage_m)


def river_surface_level_m(chainage_m: ArrayLike) -> Array:
    """Return the level of the surface over the River drive; the bed where the Isen runs."""
    return _along(RIVER_SURFACE_LEVEL_M, chainage_m)


def marl_top_level_m(chainage_m: ArrayLike) -> Array:
    """Return the level at which gravel gives way to weathered marl along the River drive."""
    return _along(MARL_TOP_LEVEL_M, chainage_m)


def unit_index_at(chainage_m: ArrayLike, level_m: ArrayLike) -> NDArray[np.int64]:
    """Return the place in `UNITS` of the ground at points along the East drive; -1 above the surface."""
    chainage, level = np.broadcast_arrays(np.asarray(chainage_m, dtype=float), np.asarray(level_m, dtype=float))
    index = np.full(chainage.shape, UNIT_CODES.index("DS"), dtype=np.int64)
    index[level >= dense_sand_top_level_m(chainage)] = UNIT_CODES.index("SC")
    for lens in LENSES:
        within = _is_inside(lens.outline, chainage, level) & (index == UNIT_CODES.index("SC"))
        index[within] = UNIT_CODES.index(lens.unit)
    index[level >= clay_top_level_m(chainage)] = UNIT_CODES.index("RG")
    index[level >= gravel_top_level_m(chainage)] = UNIT_CODES.index("MG")
    index[level >= ground_level_m(chainage)] = -1
    return index


def _is_inside(outline: Points, chainage: Array, level: Array) -> NDArray[np.bool_]:
    """Return whether points lie inside an outline: a ray upwards crosses it an odd number of times."""
    inside = np.zeros(chainage.shape, dtype=bool)
    for (from_m, from_level), (to_m, to_level) in zip(outline, outline[1:] + outline[:1], strict=True):
        if from_m == to_m:
            continue
        spans = (from_m > chainage) != (to_m > chainage)
        inside ^= spans & (level < from_level + (chainage - from_m) * (to_level - from_level) / (to_m - from_m))
    return inside


def face_shares(chainage_m: ArrayLike, diameter_m: float = SHIELD_A.excavation_diameter_m, strip_count: int = 200) -> Array:
    """Return the share of every unit in the face at chainages of the East drive, shape (chainages, units).

    The circle is cut into level strips of equal height; each counts with its chord.
    """
    chainage = np.atleast_1d(np.asarray(chainage_m, dtype=float))
    height = ((np.arange(strip_count) + 0.5) / strip_count - 0.5) * diameter_m
    chord = np.sqrt(diameter_m**2 / 4 - height**2)
    index = unit_index_at(chainage[:, None], axis_level_m(chainage)[:, None] + height)
    return np.stack([((index == unit) * chord).sum(axis=1) for unit in range(len(UNITS))], axis=1) / chord.sum()


def face_mean(field: str, chainage_m: ArrayLike) -> Array:
    """Return a value of `TrueUnit` at chainages of the East drive, weighted by the units' shares in the face."""
    return face_shares(chainage_m) @ np.array([getattr(unit, field) for unit in UNITS])
