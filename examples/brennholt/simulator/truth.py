"""What truly happened in every ring, from the state without noise of sensors; the tool that is tested must not read it."""

import csv
from pathlib import Path
from typing import Any

import numpy as np
from examples.brennholt.shields import EarthPressureShield
from examples.brennholt.simulator.block import Block
from examples.brennholt.simulator.fault_book import utc_text
from numpy.typing import NDArray

Array = NDArray[np.float64]


class RingTruth:
    """Gathers one row per ring, and the grout by place."""

    def __init__(self, shield: EarthPressureShield) -> None:
        self.rows: list[dict[str, Any]] = []
        self._shield = shield
        self._outlet_m: list[Array] = []
        self._grout_m3: list[Array] = []
        self._grouted_m3 = 0.0

    def add(self, block: Block, sample_in_push_count: int, counted_t: Array) -> None:
        """Take one cycle, when its rows are as they go to the file.

        Parameters
        ----------
        sample_in_push_count : rows of the push before the logger lost any.
        counted_t : what every belt weigher counted, with its own error, before any fault.
        """
        cycle, shield = block.cycle, self._shield
        left = int(((block.time_s >= 0.0) & (block.time_s <= cycle.push_end_s)).sum())
        rest_s = np.concatenate([[cycle.push_end_s], cycle.rest_time_s(block.end_s)])
        pressure = _moving_means(cycle.chamber.pressure_kpa, cycle.advance.is_moving)
        radius = shield.excavation_diameter_m / 2
        stroke_m = float(cycle.advance.stroke_m[-1])
        mean_axis = float(pressure.mean())
        self.rows.append(
            {
                "ring_number": cycle.ring_number,
                "push_start": utc_text(block.push_start_s),
                "push_end": utc_text(block.push_start_s + cycle.push_end_s),
                "build_start": utc_text(block.push_start_s + cycle.build_start_s),
                "build_end": utc_text(block.push_start_s + cycle.build_end_s),
                "end": utc_text(block.push_start_s + block.end_s),
                "push_net_s": cycle.advance.net_s,
                "short_stop_s": cycle.push_end_s - cycle.advance.net_s,
                "wait_before_build_s": cycle.steps.wait_before_build_s,
                "build_s": cycle.steps.build_s,
                "wait_after_build_s": block.end_s - cycle.build_end_s,
                "stroke_m": stroke_m,
                "cut_stroke_m": float(cycle.cut_stroke_m[-1]),
                "face_start_chainage_m": cycle.face_start_chainage_m,
                "face_end_chainage_m": cycle.face_start_chainage_m + float(cycle.cut_stroke_m[-1]),
                "density_t_m3": cycle.density_t_m3,
                "bored_volume_m3": shield.bored_area_m2 * float(cycle.cut_stroke_m[-1]),
                "excess_volume_m3": float(cycle.chamber.excess_m3.sum()),
                "stored_volume_m3": float(cycle.chamber.stored_m3.sum()),
                "solution_volume_m3": cycle.solution_m3,
                "added_water_t": cycle.water_t,
                "muck_mass_t": float(cycle.mass_t[-1]),
                **{f"counted_mass_{belt.name}_t": float(mass_t) for belt, mass_t in zip(shield.belts, counted_t, strict=True)},
                "grout_volume_m3": float(cycle.grouting.volume_m3[-1]),
                "grout_hollow_m3": cycle.grouting.hollow_m3,
                "target_axis_kpa": cycle.target_kpa,
                "face_pressure_axis_kpa": mean_axis,
                "face_pressure_crown_kpa": mean_axis - cycle.muck_weight_kn_m3 * radius,
                "face_pressure_axis_min_kpa": float(cycle.chamber.pressure_kpa.min()),
                "face_pressure_axis_standstill_kpa": _mean_over(rest_s, cycle.rest_pressure_kpa(rest_s)),
                "support_unit_weight_kn_m3": cycle.muck_weight_kn_m3,
                "thrust_kn": float(_interval(cycle.thrust_kn) @ np.diff(cycle.advance.stroke_m)) / stroke_m,
                "cutterhead_torque_knm": float(_interval(cycle.torque_knm) @ np.diff(cycle.advance.stroke_m)) / stroke_m,
                "push_rows_lost_share": 1.0 - min(left / max(sample_in_push_count, 1), 1.0),
            }
        )
        self._outlet_m.append(cycle.grouting.outlet_chainage_m)
        self._grout_m3.append(self._grouted_m3 + cycle.grouting.volume_m3)
        self._grouted_m3 += float(cycle.grouting.volume_m3[-1])

    def finish(self, front_chainage_m: Array, ring_length_m: Array) -> None:
        """Add the grout round every ring, by place; empty for rings that the outlet has not left behind."""
        outlet, grout = np.concatenate(self._outlet_m), np.concatenate(self._grout_m3)
        rear = front_chainage_m - ring_length_m
        around = np.interp(front_chainage_m, outlet, grout) - np.interp(rear, outlet, grout)
        whole = (rear >= outlet[0] - 1e-6) & (front_chainage_m <= outlet[-1])
        for row, volume, known in zip(self.rows, around, whole, strict=True):
            row["grout_around_ring_m3"] = float(volume) if known else None

    def write(self, path: Path) -> None:
        """Write the table."""
        with path.open("w", newline="", encoding="utf-8") as file:
            writer = csv.DictWriter(file, fieldnames=list(self.rows[0]))
            writer.writeheader()
            writer.writerows({name: round(value, 6) if isinstance(value, float) else value for name, value in row.items()} for row in self.rows)


def _interval(values: Array) -> Array:
    return (values[1:] + values[:-1]) / 2


def _moving_means(values: Array, moving: NDArray[np.bool_]) -> Array:
    return _interval(values)[moving]


def _mean_over(time_s: Array, values: Array) -> float:
    return float(_interval(values) @ np.diff(time_s) / (time_s[-1] - time_s[0]))
