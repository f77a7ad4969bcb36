"""What the machine's sensors read of a cycle: every logger channel at sample times, before anything goes wrong with it."""

from dataclasses import dataclass
from typing import Final

import numpy as np
from examples.brennholt.shields import EarthPressureShield
from examples.brennholt.simulator.cycle import Cycle
from examples.brennholt.simulator.noise import slow_noise, stream
from examples.brennholt.simulator.push import KNOT_S
from numpy.typing import NDArray

Array = NDArray[np.float64]
Channels = dict[str, Array]

BELT_RUN_ON_S: Final = 180.0
HEAD_SPIN_S: Final = 30.0
HOLDING_SHARE: Final = 0.33
FOAM_SWELL: Final = 1.22
# Every chamber sensor has its own small error of zero.
SENSOR_BIAS_KPA: Final = (0.8, -1.1, 0.6, 1.4, -0.9, 0.3, -1.6)


@dataclass(slots=True, kw_only=True)
class Totals:
    """Counters of the machine, as read at the end of the last cycle."""

    belt_t: Array
    grout_m3: Array


def first_totals(shield: EarthPressureShield) -> Totals:
    """Return the counters before the first push; belts have run before."""
    return Totals(belt_t=np.array([7250.0, 40.0]), grout_m3=np.full(len(shield.grout_ports), 1.2))


def read_sensors(cycle: Cycle, shield: EarthPressureShield, sample_s: Array, end_s: float, totals: Totals, seed: int) -> tuple[Channels, Totals]:
    """Return all channels at sample times of a cycle, in the units of their names, and the counters afterwards."""
    generator = stream(seed, cycle.index, 1)
    line = _Line(cycle, sample_s, end_s)
    channels = {
        "chainage_m": np.interp(sample_s, cycle.advance.time_s, cycle.face_start_chainage_m + cycle.cut_stroke_m),
        **_drive_channels(cycle, shield, line, generator),
        **_chamber_channels(cycle, shield, line, generator),
        **_screw_channels(cycle, shield, line, generator),
        **_liquid_channels(cycle, line, generator),
        **_guidance_channels(cycle, line, generator),
    }
    belts, belt_t = _belt_channels(cycle, shield, line, totals, generator)
    grouts, grout_m3 = _grout_channels(cycle, shield, line, totals, generator)
    air = {
        "oxygen_pct": 20.82 + 0.03 * slow_noise(generator, len(sample_s), 0.999),
        "gas_methane_pct": np.maximum(0.02 + 0.008 * slow_noise(generator, len(sample_s), 0.999), 0.0),
    }
    return {**channels, **belts, **grouts, **air}, Totals(belt_t=belt_t, grout_m3=grout_m3)


class _Line:
    """Values at the knots of a push and of the rest after it, read at sample times."""

    def __init__(self, cycle: Cycle, sample_s: Array, end_s: float) -> None:
        self.sample_s, self.end_s, self.count = sample_s, end_s, len(sample_s)
        self.rest_s = cycle.rest_time_s(end_s)
        self._knots_s = np.concatenate([cycle.advance.time_s, self.rest_s])
        moving = np.append(cycle.advance.is_moving, False)
        last_moved = np.maximum.accumulate(np.where(moving, cycle.advance.time_s, -np.inf))
        self.since_moved_s = np.concatenate([cycle.advance.time_s - last_moved, self.rest_s - cycle.push_end_s])

    def at(self, in_push: Array, at_rest: Array | float) -> Array:
        """Return values at the sample times."""
        return np.interp(self.sample_s, self._knots_s, np.concatenate([in_push, np.broadcast_to(at_rest, len(self.rest_s))]))

    def runs(self, run_on_s: float, lead_s: float) -> NDArray[np.bool_]:
        """Return whether what runs with the advance, some time longer and some time earlier, runs at the sample times."""
        since = np.interp(self.sample_s, self._knots_s, np.minimum(self.since_moved_s, 1e6))
        return ((since < run_on_s) & (self.sample_s >= 0.0)) | (self.sample_s > self.end_s - lead_s) | ((self.sample_s < 0) & (self.sample_s > -lead_s))


def _drive_channels(cycle: Cycle, shield: EarthPressureShield, line: _Line, generator: np.random.Generator) -> Channels:
    holding = HOLDING_SHARE * float(np.median(cycle.thrust_kn))
    thrust = np.where(line.since_moved_s[: len(cycle.thrust_kn)] > 10.0, 0.8 * cycle.thrust_kn, cycle.thrust_kn)
    thrust[0] = holding
    visits = cycle.build_start_s + np.concatenate([[0.0], np.cumsum(cycle.steps.segment_s)])
    building = (line.rest_s >= visits[0]) & (line.rest_s <= visits[-1])
    speed = line.at(60_000.0 * cycle.advance.speed_m_s, 0.0)
    spins = line.runs(HEAD_SPIN_S, HEAD_SPIN_S)
    moving = speed > 0.5
    channels = {
        "thrust_kn": line.at(thrust, holding * np.where(building, 0.88, 1.0)) + 40.0 * generator.standard_normal(line.count),
        "advance_rate_mm_min": np.where(moving, np.maximum(speed + 0.8 * generator.standard_normal(line.count), 0.0), 0.0),
        "cutterhead_torque_knm": np.where(spins, np.maximum(line.at(cycle.torque_knm, 0.0), 380.0) + 45.0 * generator.standard_normal(line.count), 0.0),
        "cutterhead_speed_rpm": np.where(spins, shield.cutterhead_speed_rpm + 0.01 * generator.standard_normal(line.count), 0.0),
    }
    for group, (times, extensions) in cycle.ram_knots(line.end_s).items():
        channels[f"ram_extension_{group}_m"] = np.interp(line.sample_s, times, extensions) + 0.0003 * generator.standard_normal(line.count)
    return channels


def _chamber_channels(cycle: Cycle, shield: EarthPressureShield, line: _Line, generator: np.random.Generator) -> Channels:
    axis = line.at(cycle.chamber.pressure_kpa, cycle.rest_pressure_kpa(line.rest_s))
    restless = line.at(np.full(len(cycle.chamber.pressure_kpa), 1.3), 0.5)
    weight = cycle.muck_weight_kn_m3 + 0.12 * slow_noise(generator, line.count, 0.98)
    radius = shield.excavation_diameter_m / 2
    return {
        f"chamber_pressure_{sensor.name}_kpa": axis + weight * (sensor.depth_below_crown_m - radius) + bias + restless * generator.standard_normal(line.count)
        for sensor, bias in zip(shield.chamber_sensors, SENSOR_BIAS_KPA, strict=True)
    }


def _flow(cycle: Cycle, per_interval: Array, sample_s: Array) -> Array:
    """Return a flow [per second] whose integral is that of the intervals: it passes through their middles."""
    middles = cycle.advance.time_s[:-1] + KNOT_S / 2
    times = np.concatenate([[middles[0] - KNOT_S], middles, [middles[-1] + KNOT_S]])
    return np.interp(sample_s, times, np.concatenate([[0.0], per_interval / KNOT_S, [0.0]]))


def _screw_channels(cycle: Cycle, shield: EarthPressureShield, line: _Line, generator: np.random.Generator) -> Channels:
    screw = shield.screw
    turned = FOAM_SWELL * _flow(cycle, cycle.chamber.out_m3, line.sample_s) / (screw.screw_efficiency * screw.volume_per_turn_m3) * 60.0
    turns = turned > 0.05
    push_inlet = 0.62 * (cycle.chamber.pressure_kpa + 25.0)
    return {
        "screw_speed_rpm": np.where(turns, np.clip(turned * (1.0 + 0.03 * generator.standard_normal(line.count)), 0.0, screw.screw_speed_max_rpm), 0.0),
        "screw_pressure_1_kpa": line.at(push_inlet, 0.55 * (cycle.rest_pressure_kpa(line.rest_s) + 25.0)) + 4.0 * slow_noise(generator, line.count, 0.7),
        "screw_pressure_2_kpa": np.maximum(line.at(np.full(len(push_inlet), 14.0), 6.0) + 3.0 * slow_noise(generator, line.count, 0.7), 0.0),
    }


def _liquid_channels(cycle: Cycle, line: _Line, generator: np.random.Generator) -> Channels:
    share = np.diff(cycle.advance.stroke_m) / cycle.advance.stroke_m[-1]
    unit_flow_1_min = 60.0 * _flow(cycle, share, line.sample_s)
    solution = 1000.0 * cycle.solution_m3 * unit_flow_1_min * (1.0 + 0.03 * slow_noise(generator, line.count, 0.5))
    return {
        "foam_liquid_l_min": solution,
        "foam_air_l_min": solution * (cycle.foam_expansion - 1.0) * (1.0 + 0.05 * slow_noise(generator, line.count, 0.5)),
        "water_l_min": 1000.0 * cycle.water_t * unit_flow_1_min * (1.0 + 0.03 * slow_noise(generator, line.count, 0.5)),
    }


def _guidance_channels(cycle: Cycle, line: _Line, generator: np.random.Generator) -> Channels:
    share = np.interp(line.sample_s, cycle.advance.time_s, cycle.advance.stroke_m / cycle.advance.stroke_m[-1])
    names = ("deviation_front_horizontal_mm", "deviation_front_vertical_mm", "deviation_rear_horizontal_mm", "deviation_rear_vertical_mm")
    return {
        name: start + (end - start) * share + 0.4 * generator.standard_normal(line.count)
        for name, start, end in zip(names, cycle.deviation_start_mm, cycle.deviation_end_mm, strict=True)
    }


def _belt_channels(cycle: Cycle, shield: EarthPressureShield, line: _Line, totals: Totals, generator: np.random.Generator) -> tuple[Channels, Array]:
    runs = line.runs(BELT_RUN_ON_S, 60.0)
    channels: Channels = {"belt_speed_m_s": np.where(runs, shield.belt_speed_m_s + 0.01 * generator.standard_normal(line.count), 0.0)}
    ends = []
    for belt, before in zip(shield.belts, totals.belt_t, strict=True):
        gain = 1.0 + belt.common_error_ratio + belt.ring_error_ratio * float(generator.standard_normal())
        # Muck dropped on the belt reaches the weigher later; the belt runs on until it has passed.
        passed_s = line.sample_s - belt.distance_m / shield.belt_speed_m_s
        rate = 3600.0 * gain * _flow(cycle, np.diff(cycle.mass_t), passed_s)
        channels[f"belt_mass_rate_{belt.name}_t_h"] = np.where(rate > 0.5, np.maximum(rate * (1.0 + 0.012 * slow_noise(generator, line.count, 0.5)), 0.0), 0.0)
        channels[f"belt_mass_total_{belt.name}_t"] = before + gain * np.interp(passed_s, cycle.advance.time_s, cycle.mass_t)
        ends.append(before + gain * float(cycle.mass_t[-1]))
    return channels, np.array(ends)


def _grout_channels(cycle: Cycle, shield: EarthPressureShield, line: _Line, totals: Totals, generator: np.random.Generator) -> tuple[Channels, Array]:
    rest = cycle.grouting.rest_pressure_kpa(line.rest_s - cycle.push_end_s)
    channels: Channels = {}
    for port, (name, _) in enumerate(shield.grout_ports):
        volume = np.interp(line.sample_s, cycle.advance.time_s, cycle.grouting.port_volume_m3[:, port])
        channels[f"grout_volume_{name}_m3"] = totals.grout_m3[port] + volume
        channels[f"grout_pressure_{name}_kpa"] = line.at(cycle.grouting.port_pressure_kpa[:, port], rest[:, port]) + 3.0 * generator.standard_normal(line.count)
    return channels, totals.grout_m3 + cycle.grouting.port_volume_m3[-1]
