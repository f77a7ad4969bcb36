"""Drives the first part of a plan, ring by ring, and writes log, channel map and truth."""

import datetime
import json
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
from examples.brennholt.ground_truth import EAST, POCKET, START_DATE, TIME_ZONE
from examples.brennholt.shields import SHIELD_A, EarthPressureShield
from examples.brennholt.simulator.block import Block
from examples.brennholt.simulator.columns import LoggerColumn, channel_map_text, logger_columns
from examples.brennholt.simulator.crew import Calendar
from examples.brennholt.simulator.cycle import Cycle, drive_ring, first_state, hand_over
from examples.brennholt.simulator.drive_faults import note_drive_faults
from examples.brennholt.simulator.fault_book import FaultBook
from examples.brennholt.simulator.faults import ALL, IN_THE_DRIVE, PlannedFault, planned_faults
from examples.brennholt.simulator.log_files import Decimal, LogFormat, LogWriter, local_seconds
from examples.brennholt.simulator.met import Voids, ground_met
from examples.brennholt.simulator.noise import stream
from examples.brennholt.simulator.plan_table import PlanTable, read_plan_table
from examples.brennholt.simulator.sensors import Totals, first_totals, read_sensors
from examples.brennholt.simulator.spoil_channels import ChannelMemory, spoil_channels
from examples.brennholt.simulator.spoil_rows import spoil_rows
from examples.brennholt.simulator.truth import RingTruth
from numpy.typing import NDArray

Progress = Callable[[int, int], None]

DEFAULT_START = datetime.datetime.fromisoformat(f"{START_DATE}T07:00:00").replace(tzinfo=ZoneInfo(TIME_ZONE))
LEAD_IN_S = 900
LATE_SAMPLE_SHARE = 0.02


@dataclass(frozen=True, slots=True, kw_only=True)
class Simulated:
    """What was written."""

    folder: Path
    ring_count: int
    row_count: int
    log_files: tuple[str, ...]
    fault_count: int


def simulate(
    plan_csv: Path | str, output_folder: Path | str, seed: int, share: float = 0.6, step_s: int = 5, faults: Iterable[str] = ALL,
    start: datetime.datetime = DEFAULT_START, log_format: LogFormat = "csv", decimal: Decimal = ",", progress: Progress | None = None,
) -> Simulated:  # fmt: skip
    """Drive part of a plan and write what the logger saw, and the truth beside it.

    Parameters
    ----------
    plan_csv : the exported plan table.
    output_folder : gets `logs/`, `channels.toml`, `truth.json`, `truth_rings.csv`, `truth_faults.json`.
    share : of the planned rings that is driven.
    step_s : between two rows of the log, in whole seconds.
    faults : kinds of `faults.KINDS`.
    start : of the log, with its zone; the zone is that of the logger's clock.
    progress : called with rings done and rings to do.

    Raises
    ------
    PlanRefused
        when the plan table cannot be driven.
    ValueError
        for a share, a step or a kind of fault that makes no sense.
    """
    if not 0 < share <= 1 or step_s < 1 or int(step_s) != step_s:
        raise ValueError(f"share must lie in 0 to 1 and step_s must be a whole number of seconds; given {share:g} and {step_s}")
    plan = read_plan_table(Path(plan_csv))
    run = _Run(
        plan,
        max(1, round(share * plan.ring_count)),
        Path(output_folder),
        seed,
        int(step_s),
        planned_faults(plan.ring_count, faults),
        start,
        log_format,
        decimal,
    )
    for index in range(1, run.ring_count + 1):
        run.drive_one(index)
        if progress is not None:
            progress(index, run.ring_count)
    return run.finish()


class _Run:
    """The state of a drive while it is simulated."""

    def __init__(
        self, plan: PlanTable, ring_count: int, folder: Path, seed: int, step_s: int, faults: tuple[PlannedFault, ...], start: datetime.datetime,
        log_format: LogFormat, decimal: Decimal,
    ) -> None:  # fmt: skip
        self.ring_count = ring_count
        self._plan, self._folder, self._seed, self._step_s, self._faults, self._decimal = plan, folder, seed, step_s, faults, decimal
        self._shield: EarthPressureShield = SHIELD_A
        self._zone = ZoneInfo(str(start.tzinfo)) if start.tzinfo is not None else ZoneInfo(TIME_ZONE)
        self._calendar = Calendar(zone=self._zone, start=start.replace(tzinfo=self._zone))
        self._met = ground_met(plan, ring_count)
        pocket = POCKET if any(fault.kind == "loosened_pocket" for fault in faults) else None
        self._state, self._totals = first_state(self._shield, plan, Voids(pocket=pocket)), first_totals(self._shield)
        self._memory, self._book, self._truth = ChannelMemory(), FaultBook(), RingTruth(self._shield)
        self._columns: tuple[LoggerColumn, ...] = logger_columns(self._shield, any(fault.kind == "counter_roll_over" for fault in faults))
        self._writer = LogWriter(folder / "logs", EAST.name, self._columns, self._zone, log_format, decimal)
        self._first_row_s = int(self._calendar.start.timestamp())
        self._push_start_s = self._calendar.next_push_s(self._first_row_s + LEAD_IN_S)

    def drive_one(self, index: int) -> None:
        """Drive, measure, spoil and write one ring."""
        in_drive = {fault.kind: fault for fault in self._faults if fault.kind in IN_THE_DRIVE and fault.holds(index)}
        cycle = drive_ring(index, self._plan, self._met, self._shield, self._state, self._seed, in_drive)
        next_push_s = self._calendar.next_push_s(int(np.ceil(self._push_start_s + cycle.earliest_end_s)))
        if index == self.ring_count:
            next_push_s = int(np.ceil(self._push_start_s + cycle.earliest_end_s))
        block, totals = self._measured(cycle, next_push_s - self._push_start_s)
        in_push = int(((block.time_s >= 0.0) & (block.time_s <= cycle.push_end_s)).sum())
        note_drive_faults(block, in_drive, self._book)
        spoil_channels(block, self._faults, self._memory, self._book, self._seed)
        spoil_rows(block, self._faults, self._book, self._seed)
        self._writer.add(block)
        self._truth.add(block, in_push, totals.belt_t - self._totals.belt_t)
        self._state, self._totals = hand_over(cycle, block.end_s, self._state), totals
        self._push_start_s = self._first_row_s = next_push_s

    def _measured(self, cycle: Cycle, duration_s: int) -> tuple[Block, Totals]:
        """Return the rows from the last push's end of cycle to this one's, and the counters."""
        step = self._step_s
        ticks = np.arange(-(-self._first_row_s // step) * step, self._push_start_s + duration_s, step, dtype=np.int64)
        if step > 2:
            # A busy logger is a second late now and then, but never writes into the next cycle.
            late = stream(self._seed, cycle.index, 2).random(len(ticks)) < LATE_SAMPLE_SHARE
            ticks = ticks + (late & (ticks + 1 < self._push_start_s + duration_s))
        time_s = (ticks - self._push_start_s).astype(np.float64)
        channels, totals = read_sensors(cycle, self._shield, time_s, float(duration_s), self._totals, self._seed)
        return Block(cycle=cycle, push_start_s=self._push_start_s, end_s=float(duration_s), time_s=time_s, stamp_s=ticks, channels=channels), totals

    def finish(self) -> Simulated:
        """Write what stands beside the log."""
        self._writer.close()
        driven = slice(0, self.ring_count)
        self._truth.finish(self._plan.chainage_m[driven], self._plan.ring_length_m[driven])
        self._truth.write(self._folder / "truth_rings.csv")
        first_day, last_day = (self._local_day(second) for second in (int(self._calendar.start.timestamp()), self._push_start_s))
        (self._folder / "channels.toml").write_text(channel_map_text(self._columns, self._decimal, first_day, last_day, str(self._zone)), encoding="utf-8")
        self._write_json("truth_faults.json", self._book.entries)
        self._write_json("truth.json", self._summary())
        return Simulated(
            folder=self._folder,
            ring_count=self.ring_count,
            row_count=self._writer.row_count,
            log_files=tuple(self._writer.files),
            fault_count=len(self._book.entries),
        )

    def _summary(self) -> dict[str, Any]:
        rows = self._truth.rows
        totals = ("stroke_m", "bored_volume_m3", "excess_volume_m3", "stored_volume_m3", "muck_mass_t", "grout_volume_m3", "grout_hollow_m3")
        return {
            "drive": EAST.name,
            "machine": self._shield.name,
            "seed": self._seed,
            "step_s": self._step_s,
            "time_zone": str(self._zone),
            "ring_count": self.ring_count,
            "planned_ring_count": self._plan.ring_count,
            "row_count": self._writer.row_count,
            "fault_kinds": sorted({fault.kind for fault in self._faults}),
            "bored_area_m2": self._shield.bored_area_m2,
            "totals": {name: round(sum(row[name] for row in rows), 6) for name in totals},
            "log_files": self._writer.files,
        }

    def _local_day(self, utc_s: int) -> str:
        local: NDArray[np.int64] = local_seconds(np.array([utc_s], dtype=np.int64), self._zone)
        return str(local.astype("datetime64[s]").astype("datetime64[D]")[0])

    def _write_json(self, name: str, content: object) -> None:
        (self._folder / name).write_text(json.dumps(content, indent=1) + "\n", encoding="utf-8")
