"""One cycle from push to push: what the shield truly did in one ring."""

from dataclasses import dataclass, field
from typing import Final

import numpy as np
from examples.brennholt.shields import EarthPressureShield
from examples.brennholt.simulator.annulus import Grouting, grouting_of, pace_limit_m_s
from examples.brennholt.simulator.crew import Steps, skill, steps_of
from examples.brennholt.simulator.faults import PlannedFault
from examples.brennholt.simulator.met import GroundMet, Voids
from examples.brennholt.simulator.noise import slow_noise, stream
from examples.brennholt.simulator.plan_table import PlanTable
from examples.brennholt.simulator.push import Advance, Chamber, Stop, advance_of, chamber_of, decayed_kpa
from examples.brennholt.simulator.rams import CONTACT_M, Knots, RamPosition, RamReset, ram_knots
from numpy.typing import NDArray

Array = NDArray[np.float64]
Faults = dict[str, PlannedFault]

REST_KNOT_S: Final = 60.0
DIP_BELOW_LOWER_KPA: Final = 12.0
PUMP_SHARE: Final = 0.9
DENSITY_NOISE: Final = 0.008
FACE_ERROR_M: Final = 0.004
RESET_HALT_S: Final = 240.0
NIGHT_STOP_S: Final = 8 * 3600.0


@dataclass(slots=True, kw_only=True)
class ShieldState:
    """What one cycle hands to the next.

    Parameters
    ----------
    face_error_m : how far the face stands ahead of the plan.
    fallen_back_m : how far the shield has crept back since the last push.
    deviation_mm : front and rear, horizontal and vertical.
    """

    pressure_kpa: float
    ram_offset_m: dict[str, float]
    grout_pressure_kpa: Array
    voids: Voids
    face_error_m: float = 0.0
    fallen_back_m: float = 0.0
    deviation_mm: Array = field(default_factory=lambda: np.zeros(4))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Cycle:
    """Everything true of one ring; times count from the start of its push, arrays stand at the knots of the push.

    Parameters
    ----------
    index : of the ring, counted from 1 along the plan table.
    cut_stroke_m : stroke that cut ground.
    mass_t : that left through the screw since the start of the push, with its liquids.
    night_s : extra standing time after the build.
    """

    index: int
    ring_number: int
    steps: Steps
    advance: Advance
    cut_stroke_m: Array
    chamber: Chamber
    grouting: Grouting
    density_t_m3: float
    target_kpa: float
    floor_kpa: float
    loss_kpa_h: float
    mass_t: Array
    solution_m3: float
    water_t: float
    foam_expansion: float
    thrust_kn: Array
    torque_knm: Array
    muck_weight_kn_m3: float
    face_start_chainage_m: float
    face_error_m: float
    deviation_start_mm: Array
    deviation_end_mm: Array
    ram_start: RamPosition
    ram_end_offset_m: dict[str, float]
    ram_after: RamPosition
    ram_reset: RamReset | None
    fall_back_m: float
    night_s: float

    @property
    def push_end_s(self) -> float:
        """Return the end of the push."""
        return float(self.advance.time_s[-1])

    @property
    def build_start_s(self) -> float:
        """Return the retreat of the first rams."""
        return self.push_end_s + self.steps.wait_before_build_s

    @property
    def build_end_s(self) -> float:
        """Return the contact of the last rams."""
        return self.build_start_s + self.steps.build_s

    @property
    def earliest_end_s(self) -> float:
        """Return the time before which the next push cannot begin."""
        return self.build_end_s + self.steps.pause_s + self.night_s

    def rest_time_s(self, end_s: float) -> Array:
        """Return knots after the end of the push, to the end of the cycle."""
        first = self.push_end_s + np.array([5.0, 35.0])
        return np.concatenate([first, np.arange(first[-1] + REST_KNOT_S, end_s, REST_KNOT_S), [end_s]])

    def rest_pressure_kpa(self, time_s: Array) -> Array:
        """Return the pressure at the axis while the shield stands."""
        return decayed_kpa(float(self.chamber.pressure_kpa[-1]), time_s - self.push_end_s, self.loss_kpa_h, self.floor_kpa)

    def ram_knots(self, end_s: float) -> dict[str, Knots]:
        """Return the extension of every group over the cycle."""
        return ram_knots(
            self.advance,
            self.ram_start,
            self.ram_end_offset_m,
            self.ram_after,
            self.build_start_s,
            self.steps.segment_s,
            end_s,
            self.fall_back_m,
            self.ram_reset,
        )


def first_state(shield: EarthPressureShield, plan: PlanTable, voids: Voids) -> ShieldState:
    """Return the shield before the first push: chamber filled, rams against the launch frame."""
    return ShieldState(
        pressure_kpa=0.9 * float(plan.target_axis_kpa[0]), ram_offset_m={name: 0.0 for name, _ in shield.ram_groups},
        grout_pressure_kpa=np.full(len(shield.grout_ports), 0.7 * float(plan.grout_target_kpa[0])),
        voids=voids,
    )  # fmt: skip


def drive_ring(index: int, plan: PlanTable, met: GroundMet, shield: EarthPressureShield, state: ShieldState, seed: int, faults: Faults) -> Cycle:
    """Return the cycle of one ring and note its hollow in the state.

    Parameters
    ----------
    index : of the ring, counted from 1 along the plan table.
    faults : those in the drive that touch this ring, by kind.
    """
    row = index - 1
    generator = stream(seed, index, 0)
    steps = _halted(steps_of(index, generator), faults)
    planned_m = float(plan.ring_length_m[row])
    face_error_m = float(np.clip(FACE_ERROR_M * generator.standard_normal(), -0.01, 0.01))
    cut_m = planned_m + face_error_m - state.face_error_m
    face_start_m = float(plan.face_start_chainage_m[row]) + state.face_error_m
    outlet_m = face_start_m - shield.face_offset_m - shield.grout_offset_m
    advance = advance_of(cut_m + state.fallen_back_m, _pace_m_s(index, plan, met, shield, state, outlet_m, cut_m, generator), steps.stops, generator)
    cut_stroke = np.maximum(advance.stroke_m - state.fallen_back_m, 0.0)
    target = float(plan.target_axis_kpa[row]) + 2.5 * float(generator.standard_normal())
    over, dip = _excess(faults, target - float(plan.lower_axis_kpa[row]))
    loss = float(met.pressure_loss_kpa_h[row])
    chamber = chamber_of(advance, shield, cut_stroke, state.pressure_kpa, target, loss, over, dip, generator)
    if over:
        state.voids.dig(face_start_m + cut_stroke, chamber.excess_m3)
    grouting = grouting_of(
        shield, advance.time_s, outlet_m + cut_stroke, float(plan.grout_volume_m3[row]), float(plan.grout_target_kpa[row]), state.voids,
        state.grout_pressure_kpa, generator,
    )  # fmt: skip
    density = float(met.density_t_m3[row]) * (1.0 + DENSITY_NOISE * float(generator.standard_normal()))
    flow_share = cut_m / planned_m * (1.0 + 0.02 * generator.standard_normal(2))
    solution, water = float(plan.solution_volume_m3[row] * flow_share[0]), float(plan.added_water_t[row] * flow_share[1])
    out_t = density * chamber.out_m3 + (solution + water) * np.diff(advance.stroke_m) / advance.stroke_m[-1]
    back = faults.get("night_fall_back")
    steered = 9.0 * generator.standard_normal(4)
    return Cycle(
        index=index,
        ring_number=int(plan.ring_number[row]),
        steps=steps,
        advance=advance,
        cut_stroke_m=cut_stroke,
        chamber=chamber,
        grouting=grouting,
        density_t_m3=density,
        target_kpa=target,
        floor_kpa=float(plan.lower_axis_kpa[row]) + 5.0,
        loss_kpa_h=loss,
        mass_t=np.concatenate([[0.0], np.cumsum(out_t)]),
        solution_m3=solution,
        water_t=water,
        foam_expansion=float(np.clip(generator.normal(9.0, 0.6), 6.0, 13.0)),
        thrust_kn=_thrust_kn(row, met, shield, advance, chamber, generator),
        torque_knm=_torque_knm(row, met, advance, generator),
        muck_weight_kn_m3=shield.support_unit_weight_kn_m3 + 0.35 * float(generator.standard_normal()),
        face_start_chainage_m=face_start_m,
        face_error_m=face_error_m,
        deviation_start_mm=state.deviation_mm,
        deviation_end_mm=0.88 * state.deviation_mm + 0.5 * steered,
        ram_start=RamPosition(mean_m=CONTACT_M + state.face_error_m - state.fallen_back_m, offset_m=state.ram_offset_m),
        ram_end_offset_m=_lean(shield, *(0.009 * generator.standard_normal(2))),
        ram_after=RamPosition(mean_m=CONTACT_M + face_error_m, offset_m=_lean(shield, *_taper(generator))),
        ram_reset=_reset(faults, advance),
        fall_back_m=back.amount if back else 0.0,
        night_s=NIGHT_STOP_S if back else 0.0,
    )


def hand_over(cycle: Cycle, end_s: float, state: ShieldState) -> ShieldState:
    """Return what the next cycle begins with, when this one ends so many seconds after its push began."""
    end = np.array([end_s])
    return ShieldState(
        pressure_kpa=float(cycle.rest_pressure_kpa(end)[0]),
        ram_offset_m=cycle.ram_after.offset_m,
        grout_pressure_kpa=cycle.grouting.rest_pressure_kpa(end - cycle.push_end_s)[0],
        face_error_m=cycle.face_error_m,
        fallen_back_m=cycle.fall_back_m,
        deviation_mm=cycle.deviation_end_mm,
        voids=state.voids,
    )


def _halted(steps: Steps, faults: Faults) -> Steps:
    """Return the steps with the halts of a long interruption or of a ram re-set in place of the crew's own."""
    halts = []
    if "interrupted_push" in faults:
        halts.append(Stop(at_share=0.55, duration_s=faults["interrupted_push"].amount))
    if "ram_reset" in faults:
        halts.append(Stop(at_share=0.5, duration_s=RESET_HALT_S))
    if not halts:
        return steps
    return Steps(stops=tuple(halts[:1]), wait_before_build_s=steps.wait_before_build_s, segment_s=steps.segment_s, pause_s=steps.pause_s)


def _pace_m_s(
    index: int, plan: PlanTable, met: GroundMet, shield: EarthPressureShield, state: ShieldState, outlet_m: float, cut_m: float, generator: np.random.Generator
) -> float:
    rate_mm_min = met.advance_rate_mm_min[index - 1] * skill(index) * (1.0 + 0.05 * generator.standard_normal())
    hollow = float(np.diff(state.voids.grout_m3([outlet_m, outlet_m + cut_m]))[0])
    most = pace_limit_m_s(shield, 1.1 * (float(plan.grout_volume_m3[index - 1]) + hollow), cut_m, PUMP_SHARE)
    return float(min(rate_mm_min / 60_000.0, most, shield.advance_rate_max_mm_min / 60_000.0))


def _excess(faults: Faults, above_lower_kpa: float) -> tuple[float, float]:
    """Return the ground that came in beyond the bore, as a ratio, and the dip of the pressure with it."""
    if "over_excavation" in faults:
        return faults["over_excavation"].amount, max(above_lower_kpa, 20.0) + DIP_BELOW_LOWER_KPA
    return (faults["slow_loss"].amount if "slow_loss" in faults else 0.0), 0.0


def _thrust_kn(row: int, met: GroundMet, shield: EarthPressureShield, advance: Advance, chamber: Chamber, generator: np.random.Generator) -> Array:
    skin_m2 = np.pi * shield.shield_front_diameter_m * shield.shield_length_m
    pace = advance.speed_m_s * 60_000.0 / met.advance_rate_mm_min[row]
    steady = shield.bored_area_m2 * chamber.pressure_kpa + shield.backup_drag_kn
    moving = met.cutting_pressure_kpa[row] * shield.bored_area_m2 * pace + met.skin_friction_kpa[row] * skin_m2 * np.minimum(1.0, 0.4 + 1.5 * pace)
    return (steady + moving) * (1.0 + 0.025 * slow_noise(generator, len(pace), 0.93))


def _torque_knm(row: int, met: GroundMet, advance: Advance, generator: np.random.Generator) -> Array:
    pace = advance.speed_m_s * 60_000.0 / met.advance_rate_mm_min[row]
    return met.torque_knm[row] * (0.25 + 0.75 * pace**0.7) * (1.0 + 0.06 * slow_noise(generator, len(pace), 0.9))


def _lean(shield: EarthPressureShield, up_m: float, right_m: float) -> dict[str, float]:
    """Return the offset of every group when the plane of the rams leans: towards the crown, towards the right."""
    return {name: float(up_m * np.cos(np.radians(angle)) + right_m * np.sin(np.radians(angle))) for name, angle in shield.ram_groups}


def _taper(generator: np.random.Generator) -> tuple[float, float]:
    """Return the lean of a new ring's front: half the taper, in one of sixteen places."""
    angle = 2 * np.pi * generator.integers(16) / 16
    return 0.019 * float(np.cos(angle)), 0.019 * float(np.sin(angle))


def _reset(faults: Faults, advance: Advance) -> RamReset | None:
    if "ram_reset" not in faults:
        return None
    halt_start = float(advance.time_s[advance.stretches[0].stop - 1])
    return RamReset(start_s=halt_start + 20.0, groups=("right", "bottom"), amount_m=faults["ram_reset"].amount)
