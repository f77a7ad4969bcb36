"""The two shields of Brennholt as they were built, with the errors of their weighers, which nobody on site knows."""

from dataclasses import dataclass
from typing import Final

import numpy as np


@dataclass(frozen=True, slots=True, kw_only=True)
class ChamberSensor:
    """A pressure sensor of the chamber."""

    name: str
    depth_below_crown_m: float
    side: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Belt:
    """A weigher: how far down the belt it stands, and how it errs."""

    name: str
    distance_m: float
    common_error_ratio: float
    ring_error_ratio: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Screw:
    """The screw conveyor."""

    screw_diameter_m: float = 0.90
    shaft_diameter_m: float = 0.22
    pitch_m: float = 0.63
    flight_thickness_m: float = 0.03
    screw_length_m: float = 13.0
    rise_angle_deg: float = 22.0
    screw_speed_max_rpm: float = 22.0
    screw_efficiency: float = 0.75

    @property
    def volume_per_turn_m3(self) -> float:
        """Return the volume swept in one turn."""
        return float(np.pi / 4 * (self.screw_diameter_m**2 - self.shaft_diameter_m**2) * (self.pitch_m - self.flight_thickness_m))


@dataclass(frozen=True, slots=True, kw_only=True)
class EarthPressureShield:
    """Shield A. Offsets run from the front edge of the last ring, the face forwards, the grout outlet backwards.

    Parameters
    ----------
    gas_ratio : share of the chamber's volume that foam air fills; it makes the chamber soft.
    """

    name: str = "A"
    title: str = "Earth-pressure-balance shield A"
    excavation_diameter_m: float = 6.98
    shield_front_diameter_m: float = 6.95
    shield_tail_diameter_m: float = 6.92
    tail_skin_thickness_m: float = 0.06
    shield_length_m: float = 10.6
    face_offset_m: float = 9.5
    grout_offset_m: float = 3.2
    chamber_length_m: float = 1.1
    chamber_volume_m3: float = 27.0
    gas_ratio: float = 0.09
    support_unit_weight_low_kn_m3: float = 11.5
    support_unit_weight_kn_m3: float = 13.0
    support_unit_weight_high_kn_m3: float = 15.5
    pressure_allowance_kpa: float = 30.0
    thrust_max_kn: float = 42_000.0
    torque_max_knm: float = 6_600.0
    cutterhead_speed_max_rpm: float = 3.0
    cutterhead_speed_rpm: float = 1.6
    cutterhead_opening_ratio: float = 0.34
    advance_rate_max_mm_min: float = 80.0
    shield_weight_kn: float = 4_100.0
    backup_weight_kn: float = 2_700.0
    backup_drag_kn: float = 650.0
    radius_min_m: float = 250.0
    bulkhead_pressure_rated_kpa: float = 500.0
    bearing_seal_pressure_rated_kpa: float = 500.0
    grout_pump_capacity_m3_h: float = 15.0
    grout_unit_weight_kn_m3: float = 12.0
    belt_speed_m_s: float = 2.5
    screw: Screw = Screw()
    ram_groups: tuple[tuple[str, float], ...] = (("top", 0.0), ("right", 90.0), ("bottom", 180.0), ("left", 270.0))
    rams_per_group: int = 4
    ram_diameter_m: float = 0.26
    ram_stroke_m: float = 2.20
    ram_circle_radius_m: float = 3.20
    ram_pressure_max_kpa: float = 50_000.0
    chamber_sensors: tuple[ChamberSensor, ...] = (
        ChamberSensor(name="1", depth_below_crown_m=0.7, side="centre"),
        ChamberSensor(name="2", depth_below_crown_m=2.1, side="left"),
        ChamberSensor(name="3", depth_below_crown_m=2.1, side="right"),
        ChamberSensor(name="4", depth_below_crown_m=3.9, side="left"),
        ChamberSensor(name="5", depth_below_crown_m=3.9, side="right"),
        ChamberSensor(name="6", depth_below_crown_m=5.7, side="left"),
        ChamberSensor(name="7", depth_below_crown_m=5.7, side="right"),
    )
    grout_ports: tuple[tuple[str, float], ...] = (("1", 45.0), ("2", 135.0), ("3", 225.0), ("4", 315.0))
    belts: tuple[Belt, ...] = (
        Belt(name="1", distance_m=45.0, common_error_ratio=0.004, ring_error_ratio=0.005),
        Belt(name="2", distance_m=180.0, common_error_ratio=-0.006, ring_error_ratio=0.006),
    )

    @property
    def bored_area_m2(self) -> float:
        """Return the area that the cutterhead cuts."""
        return float(np.pi / 4 * self.excavation_diameter_m**2)


SHIELD_A: Final = EarthPressureShield()


@dataclass(frozen=True, slots=True, kw_only=True)
class SlurryShield:
    """Shield B, a slurry shield of two chambers, for the River drive."""

    name: str = "B"
    title: str = "Two-chamber slurry shield B"
    excavation_diameter_m: float = 8.94
    shield_front_diameter_m: float = 8.90
    shield_tail_diameter_m: float = 8.86
    tail_skin_thickness_m: float = 0.07
    shield_length_m: float = 11.4
    face_offset_m: float = 10.2
    grout_offset_m: float = 3.9
    chamber_volume_m3: float = 60.0
    feed_density_t_m3: float = 1.07
    feed_flow_max_m3_h: float = 1_500.0
    return_flow_max_m3_h: float = 1_650.0
    pipe_diameter_m: float = 0.40
    thrust_max_kn: float = 64_000.0
    torque_max_knm: float = 11_000.0
    cutterhead_speed_max_rpm: float = 2.6
    advance_rate_max_mm_min: float = 60.0
    shield_weight_kn: float = 7_400.0


SHIELD_B: Final = SlurryShield()
