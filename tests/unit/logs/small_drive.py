"""A small drive for tests: a log with the physics of a push and a build, and the truth beside it.

Everything is a plain function of time, so the truth is exact: rams go out in the push, are drawn in and set again segment by segment in
the build; the chamber pressure at depth z is that of the crown plus unit weight times z; muck and grout follow the stroke.
"""

from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import pyarrow as pa
import pyarrow.parquet as parquet

from tunnelwright.logs import ChannelMap, EngineSettings, ImportReport, PushLimits, RecordContext, RecordTable, import_log, rings_of

RING_LENGTH_M = 1.5
REST_M = 0.3
SPEED_MM_MIN = 50.0
MUCK_T_M = 70.0
GROUT_M3_M = 3.6
DEPTHS_M = {"1": 0.8, "2": 1.6, "3": 3.2, "4": 4.6, "5": 5.8}
GAMMA = 14.0
START_MS = 1_767_600_000_000  # 2026-01-05 08:00 UTC
FACE_OFFSET_M = 7.0
AXIS_DEPTH_M = 3.35
NOW_MS = START_MS + 400 * 86_400_000


@dataclass
class SmallDrive:
    """Columns by dictionary name and what truly happened in every ring."""

    columns: dict[str, np.ndarray]
    truth: list[dict[str, float]] = field(default_factory=list)

    @property
    def time_ms(self) -> np.ndarray:
        return self.columns["time_ms"]

    def table(self, **changed: np.ndarray) -> pa.Table:
        return pa.table({**self.columns, **changed})

    def kept(self, mask: np.ndarray) -> "SmallDrive":
        return SmallDrive({name: values[mask] for name, values in self.columns.items()}, self.truth)


def small_drive(ring_count: int = 4, step_s: float = 5.0, first_ring: int = 101, noise: float = 0.0, seed: int = 1, crown_kpa: float = 180.0) -> SmallDrive:
    """Return a log of some rings: ten minutes of standstill, then push, wait, build, wait for each."""
    push_s = 60.0 * 1000 * RING_LENGTH_M / SPEED_MM_MIN
    wait_before_s, build_s, wait_after_s = 120.0, 1200.0, 180.0
    ring_s = push_s + wait_before_s + build_s + wait_after_s
    end_s = 600.0 + ring_count * ring_s
    time_s = np.arange(0.0, end_s + step_s / 2, step_s)
    ring = np.clip(np.floor((time_s - 600.0 - 1e-9) / ring_s), -1, ring_count - 1).astype(int)
    at_s = np.where(ring >= 0, time_s - 600.0 - ring * ring_s, -1.0)
    stroke = np.where(ring >= 0, np.clip(at_s, 0.0, push_s) / push_s * RING_LENGTH_M, 0.0)
    total_stroke_m = np.where(ring >= 0, ring * RING_LENGTH_M + stroke, 0.0)
    pushing = (ring >= 0) & (at_s > 0) & (at_s <= push_s)
    in_build = np.clip((at_s - push_s - wait_before_s) / build_s, 0.0, 1.0)
    rng = np.random.default_rng(seed)

    def shaken(values: np.ndarray, size: float) -> np.ndarray:
        return values + noise * size * rng.normal(size=len(values))

    columns: dict[str, np.ndarray] = {"time_ms": START_MS + np.round(time_s * 1000).astype(np.int64)}
    for group in range(4):
        # Each group is drawn in for its segment, waits in front of it, and comes back onto the new ring.
        low, high = 0.2 * group + 0.05, 0.2 * group + 0.2
        out = np.where(in_build <= low, RING_LENGTH_M, np.where(in_build <= high, -0.2, 0.0))
        extension = np.where(pushing | (at_s <= 0), stroke, np.where(at_s > push_s, out, stroke))
        columns[f"ram_extension_{'abcd'[group]}_m"] = shaken(REST_M + 0.004 * group + extension, 0.0003)
    columns["thrust_kn"] = shaken(np.where(pushing, 15000.0 + 2000.0 * stroke, 4000.0), 150.0)
    columns["cutterhead_torque_knm"] = shaken(np.where(pushing, 2500.0, 0.0), 30.0)
    columns["cutterhead_speed_rpm"] = np.where(pushing, 1.5, 0.0)
    columns["advance_rate_mm_min"] = np.where(pushing, SPEED_MM_MIN, 0.0)
    crown = crown_kpa + 5.0 * np.sin(time_s / 400.0)
    for name, depth in DEPTHS_M.items():
        columns[f"chamber_pressure_{name}_kpa"] = shaken(crown + GAMMA * depth, 1.0)
    for weigher in ("a", "b"):
        columns[f"belt_mass_total_{weigher}_t"] = MUCK_T_M * total_stroke_m
    columns["belt_mass_rate_a_t_h"] = np.where(pushing, MUCK_T_M * SPEED_MM_MIN / 1000 * 60, 0.0)
    columns["foam_liquid_l_min"] = np.where(pushing, 120.0, 0.0)
    for port in ("left", "right"):
        columns[f"grout_volume_{port}_m3"] = GROUT_M3_M / 2 * total_stroke_m
        columns[f"grout_pressure_{port}_kpa"] = shaken(np.where(pushing, 300.0 + 20.0 * stroke, 150.0), 5.0)
    columns["ring_number_keyed"] = (first_ring + np.maximum(ring, 0)).astype(float)
    columns["chainage_m"] = 100.0 + total_stroke_m
    truth = [
        {
            "ring_number": first_ring + at,
            "start_ms": START_MS + round(1000 * (600.0 + at * ring_s)),
            "push_net_s": push_s,
            # The first group is drawn in after a twentieth of the build, the last one is back after four fifths.
            "wait_before_build_s": wait_before_s + 0.05 * build_s,
            "build_s": 0.75 * build_s,
            "wait_after_build_s": wait_after_s + 0.2 * build_s,
            "stroke_m": RING_LENGTH_M,
            "muck_mass_t": MUCK_T_M * RING_LENGTH_M,
            "grout_volume_m3": GROUT_M3_M * RING_LENGTH_M,
            "solution_volume_m3": 0.12 * push_s / 60.0,
        }
        for at in range(ring_count)
    ]
    return SmallDrive(columns, truth)


def channel_map(columns: dict[str, np.ndarray] | list[str], **changed: object) -> ChannelMap:
    """Return the map of a log whose columns already bear dictionary names."""
    names = [name for name in columns if name != "time_ms"]
    return ChannelMap.from_mapping({"time_column": "time_ms", "time_format": "epoch", "channel": [{"source": name, "name": name} for name in names], **changed})


def context(**changed: object) -> RecordContext:
    """Return the context of the small drive; the window is wide enough for nothing to be outside."""
    rings = np.arange(101.0, 201.0)
    given = {
        "ring_length_m": RING_LENGTH_M,
        "first_ring_number": 101,
        "ring_numbers": rings,
        "chainage_m": 100.0 + RING_LENGTH_M * (rings - 100.0),
        "start_chainage_m": 100.0,
        "face_offset_m": FACE_OFFSET_M,
        "sensor_depth_m": DEPTHS_M,
        "axis_depth_m": AXIS_DEPTH_M,
        "limits": limits(len(rings)),
    }
    return RecordContext(**{**given, **changed})  # type: ignore[arg-type]


def limits(count: int, hard_lower: float = 150.0, lower: float = 165.0, upper: float = 230.0, hard_upper: float = 260.0) -> PushLimits:
    """Return the same limits for every push."""
    return PushLimits(
        hard_lower_crown_kpa=np.full(count, hard_lower),
        operating_lower_crown_kpa=np.full(count, lower),
        operating_upper_crown_kpa=np.full(count, upper),
        hard_upper_crown_kpa=np.full(count, hard_upper),
    )


def stored(folder: Path, *logs: SmallDrive | pa.Table, changes: dict[str, object] | None = None, now_ms: int = NOW_MS) -> ImportReport:
    """Write logs as Parquet files and import them into ``folder / "store"``."""
    files = []
    for at, log in enumerate(logs):
        file = folder / f"log-{at}-{len(list(folder.glob('*.parquet')))}.parquet"
        table = log.table() if isinstance(log, SmallDrive) else log
        parquet.write_table(table, file)
        files.append(file)
    first = logs[0].table() if isinstance(logs[0], SmallDrive) else logs[0]
    return import_log(files, channel_map(first.column_names, **(changes or {})), folder / "store", now_ms)


def record_of(
    folder: Path, *logs: SmallDrive | pa.Table, rows_per_chunk: int = 1_500_000, changes: dict[str, object] | None = None, **changed: object
) -> RecordTable:
    """Import logs and return their record."""
    stored(folder, *logs, changes=changes)
    return rings_of(folder / "store", context(**changed), settings=EngineSettings(threads=1, memory_limit="500MB", rows_per_chunk=rows_per_chunk))


def column(record: RecordTable, name: str) -> np.ndarray:
    """Return a column of the closed rings."""
    return np.asarray(record.table[name].to_pylist())


def kinds(record: RecordTable) -> set[str]:
    """Return the kinds of findings of a record."""
    return {finding.kind for finding in record.findings}
