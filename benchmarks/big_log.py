"""A log of any length in the layout of the store: some simulated rings, repeated with later times, higher ring numbers and running counters."""

import dataclasses
import itertools
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pyarrow as pa
import pyarrow.parquet as parquet
from examples.brennholt.project import write_project
from examples.brennholt.simulator import NONE, simulate

from tunnelwright import app
from tunnelwright.app.recording import channel_map, record_context
from tunnelwright.logs import LogStore, PushLimits, RecordContext, import_log
from tunnelwright.logs.days import MS_PER_DAY
from tunnelwright.logs.engine import sql_engine
from tunnelwright.logs.spikes import find_spikes
from tunnelwright.report.tables import as_csv, plan_table

SEED = 7
SIMULATED_RINGS = 12
STEP_S = 1
NOW_MS = 1_900_000_000_000
# Channels that few loggers write are left out: about thirty columns stay.
LEFT_OUT = ("deviation_", "oxygen_pct", "gas_methane_pct", "belt_speed_m_s")


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """Whole rings of a log that can be joined end to end.

    Parameters
    ----------
    table : rows in order of time.
    duration_ms, ring_count, advance_m : by which the next copy is later, higher and further.
    counted : by which each counter is higher.
    """

    table: pa.Table
    duration_ms: int
    ring_count: int
    advance_m: float
    counted: dict[str, float]


def small_store(folder: Path) -> tuple[LogStore, RecordContext]:
    """Return the store of some simulated rings without faults, and what the log engine knows of their drive."""
    project = folder / "project"
    write_project(project)
    plan = app.plan(app.open_workspace(project), "east")
    exported = folder / "plan.csv"
    exported.write_text(as_csv(plan_table(plan)), encoding="utf-8")
    share = SIMULATED_RINGS / plan.push_count
    simulated = simulate(exported, folder / "simulated", seed=SEED, share=share, step_s=STEP_S, faults=NONE, log_format="parquet")
    channels = project / "channels"
    channels.mkdir(exist_ok=True)
    (channels / "east.toml").write_text((folder / "simulated" / "channels.toml").read_text(encoding="utf-8"), encoding="utf-8")
    workspace = app.open_workspace(project)
    files = [folder / "simulated" / "logs" / name for name in simulated.log_files]
    import_log(files, channel_map(workspace, "east"), folder / "store", NOW_MS)
    return LogStore(folder / "store"), record_context(plan)


def stretch_of(store: LogStore) -> Stretch:
    """Return the rings between the first and the last change of the keyed ring number."""
    table = pa.concat_tables([parquet.read_table(store.samples_file(day)) for day in store.days()], promote_options="default")
    table = table.select([name for name in table.column_names if not name.startswith(LEFT_OUT)])
    keyed = table["ring_number_keyed"].to_numpy()
    starts = np.flatnonzero(np.diff(keyed) > 0) + 1
    first, beyond = int(starts[0]), int(starts[-1])
    counters = [name for name, facts in store.channels().items() if facts.kind == "counter" and name in table.column_names]

    def gain(name: str) -> float:
        column = table[name]
        return column[beyond].as_py() - column[first].as_py()

    return Stretch(
        table=table.slice(first, beyond - first),
        duration_ms=int(gain("time_ms")),
        ring_count=int(gain("ring_number_keyed")),
        advance_m=gain("chainage_m"),
        counted={name: gain(name) for name in counters},
    )


def write_big_store(stretch: Stretch, small: LogStore, folder: Path, row_count: int) -> tuple[LogStore, int]:
    """Write copies of a stretch until there are so many rows; return the store and the rows it holds."""
    store = LogStore(folder)
    store.keep_channels({name: facts for name, facts in small.channels().items() if name in stretch.table.column_names})
    copies = max(1, round(row_count / stretch.table.num_rows))
    waiting: list[pa.Table] = []
    for copy in range(copies):
        waiting.append(_later(stretch, copy))
        waiting = _write_whole_days(store, waiting, is_last=copy == copies - 1)
    with sql_engine() as (connection, _folder):
        find_spikes(connection, store, store.days())
    return store, copies * stretch.table.num_rows


def _later(stretch: Stretch, copy: int) -> pa.Table:
    added = {"time_ms": copy * stretch.duration_ms, "ring_number_keyed": copy * stretch.ring_count, "chainage_m": copy * stretch.advance_m}
    added |= {name: copy * gain for name, gain in stretch.counted.items()}
    table = stretch.table
    for name, more in added.items():
        at, kind = table.column_names.index(name), table.schema.field(name).type
        table = table.set_column(at, name, pa.array(table[name].to_numpy() + more, kind))
    return table


def _write_whole_days(store: LogStore, waiting: list[pa.Table], *, is_last: bool) -> list[pa.Table]:
    """Write the days that are complete and return what is left of the last one."""
    table = pa.concat_tables(waiting).combine_chunks()
    day = table["time_ms"].to_numpy() // MS_PER_DAY
    edges = [0, *(np.flatnonzero(np.diff(day)) + 1).tolist(), table.num_rows]
    for start, beyond in itertools.pairwise(edges):
        if beyond == table.num_rows and not is_last:
            return [table.slice(start)]
        target = store.samples_file(int(day[start]))
        target.parent.mkdir(parents=True, exist_ok=True)
        parquet.write_table(table.slice(start, beyond - start), target, compression="zstd", row_group_size=61_440)
    return []


def longer_context(context: RecordContext, ring_count: int) -> RecordContext:
    """Return the context of a drive with so many rings: limits of the pushes repeat, chainages go on."""
    number = np.arange(1.0, ring_count + 1)
    place = np.resize(np.arange(len(context.ring_numbers)), ring_count)
    limits = context.limits
    assert limits is not None, "the context of a plan has limits"
    return dataclasses.replace(
        context,
        ring_numbers=number,
        chainage_m=context.start_chainage_m + context.ring_length_m * number,
        limits=PushLimits(**{field.name: np.asarray(getattr(limits, field.name))[place] for field in dataclasses.fields(PushLimits)}),
    )
