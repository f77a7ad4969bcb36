"""A machine: its shield, its sensors, its ports, its limits."""

from typing import Annotated, Literal, Self

import numpy as np
from pydantic import Field, model_validator

from tunnelwright.drive.fields import Part, number, refusal
from tunnelwright.vocabulary.types import FloatArray

Length = Annotated[float, number(above=0.0, high=1000.0)]
SupportWeight = number(low=0.0, high=22.0, entry="support_unit_weight_kn_m3")
Rated = number(above=0.0, high=10_000.0)


class ChamberSensor(Part):
    """A pressure sensor of the excavation chamber."""

    name: Annotated[str, Field(pattern=r"^[A-Za-z0-9_-]+$")]
    depth_below_crown_m: Annotated[float, number(low=0.0)]
    side: Literal["left", "right", "centre"] = "centre"


class GroutPort(Part):
    """A grout line that ends at the tail skin; clock angle 0 at the crown, clockwise looking in drive direction."""

    name: Annotated[str, Field(pattern=r"^[A-Za-z0-9_-]+$")]
    clock_angle_rad: Annotated[float, number(low=-2 * np.pi, high=2 * np.pi)]


class BeltWeigher(Part):
    """A weigher on the conveyor, and how far the muck travels to it from the screw's gate."""

    name: Annotated[str, Field(pattern=r"^[A-Za-z0-9_-]+$")]
    distance_m: Annotated[float, number(low=0.0)] = 0.0
    ring_sd_ratio: Annotated[float, number(above=0.0, high=0.5)] = 0.0075
    common_sd_ratio: Annotated[float, number(above=0.0, high=0.5)] = 0.02


class RamGroup(Part):
    """Thrust rams that share one valve; the angle is that of the group's middle."""

    name: Annotated[str, Field(pattern=r"^[A-Za-z0-9_-]+$")]
    clock_angle_rad: Annotated[float, number(low=-2 * np.pi, high=2 * np.pi)]
    ram_count: Annotated[int, Field(gt=0, le=100)]


class Rams(Part):
    """The thrust rams."""

    ram_diameter_m: Length
    ram_stroke_m: Length
    ram_circle_radius_m: Length
    ram_pressure_max_kpa: Annotated[float, number(above=0.0)]
    groups: tuple[RamGroup, ...] = ()


class Screw(Part):
    """The screw conveyor of an earth-pressure-balance shield."""

    screw_diameter_m: Length
    shaft_diameter_m: Annotated[float, number(low=0.0)] = 0.0
    pitch_m: Length
    flight_thickness_m: Annotated[float, number(above=0.0)] = 0.03
    screw_length_m: Length
    rise_angle_rad: Annotated[float, number(low=-0.8, high=0.8)] = 0.0
    screw_speed_max_rpm: Annotated[float, number(above=0.0)]
    screw_efficiency: Annotated[float, number(above=0.0, high=1.0)] = 0.75

    @model_validator(mode="after")
    def _check(self) -> Self:
        if self.shaft_diameter_m >= self.screw_diameter_m:
            raise refusal(self.shaft_diameter_m, f"must be less than screw_diameter_m {self.screw_diameter_m:g}", field="shaft_diameter_m")
        return self


class SlurryCircuit(Part):
    """Chambers, medium and pipes of a slurry shield; levels above the invert of the bore."""

    air_level_above_invert_m: Annotated[float | None, number(above=0.0)] = None
    opening_above_invert_m: Annotated[float, number(low=0.0)] = 0.5
    feed_density_t_m3: Annotated[float, number(low=1.0, high=1.6, entry="density_t_m3")]
    return_density_limit_t_m3: Annotated[float, number(low=1.0, high=1.8, entry="density_t_m3")] = 1.25
    static_yield_stress_kpa: Annotated[float, number(above=0.0, high=1.0)]
    feed_flow_max_m3_h: Annotated[float, number(above=0.0)]
    return_flow_max_m3_h: Annotated[float, number(above=0.0)]
    pipe_diameter_m: Length
    chamber_volume_m3: Annotated[float | None, number(above=0.0)] = None


class Grouting(Part):
    """Annulus grout: the material, and the limits of pump and seal at the tail."""

    grout_type: Literal["two_component", "mortar"] = "two_component"
    grout_unit_weight_kn_m3: Annotated[float, number(low=10.0, high=25.0)] = 12.0
    component_ratio: Annotated[float, number(low=0.0, high=0.5)] = 0.07
    loss_ratio: Annotated[float, number(low=0.0, high=0.5)] = 0.0
    holding_time_s: Annotated[float, number(low=0.0)] = 30.0
    yield_stress_kpa: Annotated[float, number(low=0.0, high=100.0)] = 1.0
    pump_capacity_m3_h: Annotated[float, number(above=0.0)] = 15.0
    pump_limit_kpa: Annotated[float, number(above=0.0)] = 2000.0
    tail_seal_pressure_kpa: Annotated[float, Rated] = 1000.0


class Machine(Part):
    """A pressurised-face shield.

    Parameters
    ----------
    excavation_diameter_m : over the cutters; the bore.
    shield_front_diameter_m, shield_tail_diameter_m : outside of the skin; a conical shield tapers backwards.
    tail_skin_thickness_m : of the plate over the ring.
    face_offset_m : from the front edge of the last ring to the face, at the end of a push.
    grout_offset_m : from that edge back to the grout outlet at the tail.
    support_unit_weight_*_kn_m3 : lightest, expected and heaviest credible medium in the chamber.
    pressure_allowance_kpa : kept between hard and operating limit; 30 for earth pressure, 10 for slurry.
    *_pressure_rated_kpa : what bulkhead, main bearing seal and articulation seal are rated for, at their level.
    chamber_length_m : from the face to the bulkhead.
    """

    name: Annotated[str, Field(pattern=r"^[A-Za-z0-9_-]+$")]
    title: str = ""
    kind: Literal["epb", "slurry"]
    excavation_diameter_m: Annotated[float, number(low=1.0, high=20.0)]
    shield_front_diameter_m: Length
    shield_tail_diameter_m: Length
    tail_skin_thickness_m: Annotated[float, number(above=0.0, high=0.3)] = 0.06
    shield_length_m: Length
    face_offset_m: Annotated[float, number(low=0.0, high=50.0)]
    grout_offset_m: Annotated[float, number(low=-1.0, high=20.0)]
    chamber_length_m: Length = 1.5
    support_unit_weight_low_kn_m3: Annotated[float, SupportWeight]
    support_unit_weight_kn_m3: Annotated[float, SupportWeight]
    support_unit_weight_high_kn_m3: Annotated[float, SupportWeight]
    pressure_allowance_kpa: Annotated[float, number(low=0.0, high=200.0)] = Field(default_factory=lambda data: 30.0 if data.get("kind") == "epb" else 10.0)
    thrust_max_kn: Annotated[float, number(above=0.0)]
    torque_max_knm: Annotated[float, number(above=0.0, entry="torque_knm")]
    cutterhead_speed_max_rpm: Annotated[float, number(above=0.0, high=20.0)]
    cutterhead_speed_rpm: Annotated[float, number(above=0.0, high=20.0)] = 1.5
    cutterhead_power_kw: Annotated[float | None, number(above=0.0)] = None
    cutterhead_opening_ratio: Annotated[float, number(above=0.0, high=1.0)] = 0.35
    advance_rate_max_mm_min: Annotated[float, number(above=0.0, high=500.0)]
    shield_weight_kn: Annotated[float, number(above=0.0)]
    backup_weight_kn: Annotated[float, number(low=0.0)] = 0.0
    tail_seal_row_count: Annotated[int, Field(ge=1, le=8)] = 3
    gauge_wear_mm: Annotated[float, number(low=0.0, high=100.0)] = 0.0
    overcut_mm: Annotated[float, number(low=0.0, high=300.0)] = 0.0
    articulated: bool = False
    radius_min_m: Annotated[float | None, number(above=0.0)] = None
    bulkhead_pressure_rated_kpa: Annotated[float | None, Rated] = None
    bearing_seal_pressure_rated_kpa: Annotated[float | None, Rated] = None
    articulation_pressure_rated_kpa: Annotated[float | None, Rated] = None
    lock_pressure_rated_kpa: Annotated[float | None, Rated] = None
    chamber_sensors: Annotated[tuple[ChamberSensor, ...], Field(min_length=1)]
    grout_ports: Annotated[tuple[GroutPort, ...], Field(min_length=1)]
    belt_weighers: tuple[BeltWeigher, ...] = ()
    rams: Rams | None = None
    screw: Screw | None = None
    slurry: SlurryCircuit | None = None
    grouting: Grouting = Grouting()

    @property
    def sensor_depth_below_crown_m(self) -> FloatArray:
        """Return the depth of every chamber sensor below the crown of the bore."""
        return np.array([sensor.depth_below_crown_m for sensor in self.chamber_sensors])

    @property
    def port_clock_angle_rad(self) -> FloatArray:
        """Return the clock angle of every grout port."""
        return np.array([port.clock_angle_rad for port in self.grout_ports])

    @property
    def tail_skin_inner_diameter_m(self) -> float:
        """Return the inside of the tail skin, in which the ring is built."""
        return self.shield_tail_diameter_m - 2 * self.tail_skin_thickness_m

    @property
    def worn_diameter_m(self) -> float:
        """Return the diameter that is cut today: over the cutters, less the wear of the gauge, with the overcut."""
        return self.excavation_diameter_m - 2e-3 * self.gauge_wear_mm + 2e-3 * self.overcut_mm
