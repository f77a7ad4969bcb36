"""Millions of rows of a log to rings: the log engine, a plain pandas script of the same aggregates, and a bare group-by."""

import pickle
from pathlib import Path

import numpy as np
import psutil
import pyarrow.parquet as parquet

from benchmarks.big_log import longer_context, small_store, stretch_of, write_big_store
from benchmarks.measuring import Row, run_module
from tunnelwright.logs import RecordContext

ROW_COUNT = 2_000_000
# Time and pressure of a push hang on where it is taken to begin and end; the script takes the advance rate, the engine looks at the rams.
AGREEMENT: dict[str, float] = {"push_net_s": 0.02, "face_pressure_crown_kpa": 0.01, "muck_mass_t": 0.02, "grout_volume_m3": 0.02}
# What pandas needs of a row of these channels, with the copies it makes on the way.
SCRIPT_KB_PER_ROW = 1.2


def measure(folder: Path, row_count: int = ROW_COUNT) -> list[Row]:
    """Return time and peak memory of the log engine against both baselines.

    Raises
    ------
    AssertionError
        when engine and pandas script differ on what both aggregate.
    """
    small, context = small_store(folder)
    stretch = stretch_of(small)
    store, written = write_big_store(stretch, small, folder / "big", row_count)
    context = longer_context(context, stretch.ring_count * (written // stretch.table.num_rows + 2))
    (folder / "context.pickle").write_bytes(pickle.dumps(context))
    np.savez(folder / "facts.npz", **script_facts(context))
    ours = run_module("benchmarks.measured_rings", str(store.folder), str(folder / "context.pickle"), str(folder / "ours.parquet"))
    script, note = _script(store.folder, folder, written)
    bare = run_module("benchmarks.baseline_rings_duckdb", str(store.folder))
    task = f"{written / 1e6:.1f} million rows x {stretch.table.num_columns - 2} channels to {ours['rings']} rings of {ours['columns']} columns"
    pandas, group_by = "plain pandas script of the same aggregates", "DuckDB, one group-by of the same columns"
    return [
        Row(task=task, unit="s", ours=ours["seconds"], baseline=pandas, theirs=script["seconds"], note=note),
        Row(task="their peak memory", unit="MB", ours=ours["peak_mb"], baseline=pandas, theirs=script["peak_mb"], note="whole process"),
        Row(task=task, unit="s", ours=ours["seconds"], baseline=group_by, theirs=bare["seconds"], note="no cycles, no weights, no checks"),
        Row(task="their peak memory", unit="MB", ours=ours["peak_mb"], baseline=group_by, theirs=bare["peak_mb"], note="whole process"),
    ]


def _script(store: Path, folder: Path, row_count: int) -> tuple[dict[str, float], str]:
    """Return what the pandas script took and how it agrees with the engine; nothing where it would not fit into memory."""
    needed_gb, free_gb = row_count * SCRIPT_KB_PER_ROW / 1e6, psutil.virtual_memory().available / 1e9
    if needed_gb > free_gb:
        nothing = float("nan")
        return {"seconds": nothing, "peak_mb": nothing}, f"not run: it would need about {needed_gb:.0f} GB, {free_gb:.0f} are free"
    found = run_module("benchmarks.baseline_rings_pandas", str(store), str(folder / "facts.npz"), str(folder / "script.parquet"))
    difference = differences(folder / "ours.parquet", folder / "script.parquet")
    return found, "median differences " + ", ".join(f"{name} {value:.2%}" for name, value in difference.items())


def script_facts(context: RecordContext) -> dict[str, np.ndarray]:
    """Return what the pandas script needs of the drive as plain arrays."""
    limits = context.limits
    assert limits is not None, "the context of a plan has limits"
    names = sorted(context.sensor_depth_m)
    return {
        "sensor_name": np.array(names),
        "sensor_depth_m": np.array([context.sensor_depth_m[name] for name in names]),
        "axis_depth_m": np.array(context.axis_depth_m),
        "ring_number": np.asarray(context.ring_numbers).astype(int),
        **{name: np.asarray(getattr(limits, name)) for name in limits.__dataclass_fields__},
    }


def differences(ours: Path, script: Path) -> dict[str, float]:
    """Return the median relative difference of every aggregate that both have, over the rings that both know.

    Raises
    ------
    AssertionError
        when one is larger than it may be.
    """
    left, right = parquet.read_table(ours), parquet.read_table(script)
    _, at_left, at_right = np.intersect1d(left["ring_number"].to_numpy(), right["ring_number"].to_numpy(), return_indices=True)
    assert len(at_left) >= 0.9 * left.num_rows, "engine and pandas script know different rings"
    found = {}
    for name, largest in AGREEMENT.items():
        one, other = left[name].to_numpy()[at_left], right[name].to_numpy()[at_right]
        found[name] = float(np.nanmedian(np.abs(one - other) / np.abs(other)))
        assert found[name] <= largest, f"{name} of engine and pandas script differ by {found[name]:.2%}"
    return found
