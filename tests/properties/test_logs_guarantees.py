"""What must hold of any record, however its log came: conservation, order, chunks, units, gaps, dead channels, appending."""

import importlib.util
import math
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from itertools import pairwise
from pathlib import Path
from types import ModuleType

import numpy as np
import pyarrow as pa
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tunnelwright.logs import RecordTable, rings_of

pytestmark = pytest.mark.slow
RELATIVE = 1e-9


def _small_drive() -> ModuleType:
    path = Path(__file__).parents[1] / "unit" / "logs" / "small_drive.py"
    if "small_drive" not in sys.modules:
        spec = importlib.util.spec_from_file_location("small_drive", path)
        assert spec is not None
        assert spec.loader is not None
        sys.modules["small_drive"] = importlib.util.module_from_spec(spec)
        spec.loader.exec_module(sys.modules["small_drive"])
    return sys.modules["small_drive"]


sd = _small_drive()
few = settings(max_examples=2, deadline=None, derandomize=True)
seeds = st.integers(0, 1000)


@contextmanager
def folder() -> Iterator[Path]:
    with tempfile.TemporaryDirectory() as name:
        yield Path(name)


def record_of(*logs: object, **given_context: object) -> RecordTable:
    with folder() as place:
        return sd.record_of(place, *logs, **given_context)


def noisy_drive(seed: int, rings: int = 4):
    """Return a log with noise, lost stretches and missing readings: whatever holds must hold of such a one."""
    drive = sd.small_drive(rings, step_s=5.0, noise=1.0, seed=seed)
    rng = np.random.default_rng(seed)
    keep = np.ones(len(drive.time_ms), dtype=bool)
    for _ in range(3):
        start = int(rng.integers(0, len(keep)))
        keep[start : start + int(rng.integers(3, 60))] = False
    return drive.kept(keep)


def with_holes(drive, seed: int, share: float = 0.02) -> pa.Table:
    rng = np.random.default_rng(seed + 1)
    table = drive.table()
    for name in ("thrust_kn", "chamber_pressure_2_kpa", "belt_mass_total_a_t", "foam_liquid_l_min", "grout_pressure_left_kpa"):
        holes = pa.array(drive.columns[name], mask=rng.random(len(drive.time_ms)) < share)
        table = table.set_column(table.schema.get_field_index(name), name, holes)
    return table


def assert_same(one: RecordTable, other: RecordTable, *, shift_ms: int = 0, leave_out: tuple[str, ...] = ()) -> None:
    assert one.table.column_names == other.table.column_names
    for name in one.table.column_names:
        if name in leave_out:
            continue
        left, right = one.table[name].to_pylist(), other.table[name].to_pylist()
        if isinstance(left[0], str) if left else False:
            assert left == right, name
        else:
            moved = shift_ms if name.endswith("_time_ms") else 0
            assert [value + moved for value in left] == pytest.approx(right, rel=RELATIVE, abs=1e-9, nan_ok=True), name
    assert dict(one.unattributed) == pytest.approx(dict(other.unattributed), rel=RELATIVE, abs=1e-9)


def total(record: RecordTable, name: str) -> float:
    rings = record.table[name].to_pylist() + record.open_ring[name].to_pylist()
    return math.fsum(value for value in rings if not math.isnan(value)) + record.unattributed[name]


@few
@given(seeds)
def test_1_nothing_is_lost_between_rings(seed: int) -> None:
    drive = noisy_drive(seed)
    record = record_of(drive)
    time_s = np.diff(drive.time_ms) / 1000.0
    assert total(record, "cycle_time_s") == pytest.approx(time_s.sum(), rel=RELATIVE)
    for name in ("belt_mass_total_a_t", "grout_volume_left_m3"):
        column = "muck_mass_a_t" if name.startswith("belt") else name
        assert total(record, column) == pytest.approx(drive.columns[name][-1] - drive.columns[name][0], rel=RELATIVE), name
    rate = drive.columns["foam_liquid_l_min"]
    known = time_s <= 30.0
    assert total(record, "foam_liquid_volume_m3") == pytest.approx((((rate[1:] + rate[:-1]) / 2 * time_s)[known]).sum() / 60_000.0, rel=RELATIVE)
    assert total(record, "unknown_time_s") == pytest.approx(time_s[~known].sum(), rel=RELATIVE, abs=1e-9)


@few
@given(seeds)
def test_2_the_order_of_rows_does_not_matter(seed: int) -> None:
    table = with_holes(noisy_drive(seed), seed)
    shuffled = table.take(np.random.default_rng(seed).permutation(table.num_rows))
    assert_same(record_of(table), record_of(shuffled))


@few
@given(seeds, st.integers(2, 5))
def test_3_files_and_chunks_do_not_matter(seed: int, pieces: int) -> None:
    drive = sd.small_drive(55, step_s=10.0, noise=1.0, seed=seed)
    table = with_holes(drive, seed)
    cuts = [0, *sorted(np.random.default_rng(seed).integers(1, table.num_rows, pieces - 1).tolist()), table.num_rows]
    parts = [table.slice(start, end - start) for start, end in pairwise(cuts) if end > start]
    with folder() as one, folder() as other:
        whole = sd.record_of(one, table)
        cut = sd.record_of(other, *parts, rows_per_chunk=5000)
    assert whole.table.num_rows == 54
    assert_same(whole, cut)
    assert [finding.sentence for finding in whole.findings] == [finding.sentence for finding in cut.findings]


@few
@given(seeds)
def test_4_importing_again_changes_nothing(seed: int) -> None:
    table = with_holes(noisy_drive(seed), seed)
    middle = table.slice(table.num_rows // 3, table.num_rows // 3)
    assert_same(record_of(table), record_of(table, middle, table))


@few
@given(seeds)
def test_6_units_do_not_matter(seed: int) -> None:
    drive = noisy_drive(seed)
    other = {name: values / 100.0 for name, values in drive.columns.items() if name.startswith("chamber_pressure")}
    other |= {name: values * 1000.0 for name, values in drive.columns.items() if name.startswith("ram_extension")}
    other |= {"thrust_kn": drive.columns["thrust_kn"] / 1000.0, "belt_mass_rate_a_t_h": drive.columns["belt_mass_rate_a_t_h"] / 3.6}
    units = {"chamber": "bar", "ram_ext": "mm", "thrust_": "MN", "belt_mass_rate": "kg/s"}
    channels = [
        {"source": name, "name": name, "unit": next((unit for start, unit in units.items() if name.startswith(start) and name in other), "")}
        for name in drive.columns
        if name != "time_ms"
    ]
    assert_same(record_of(drive), record_of(drive.table(**other), changes={"channel": channels}))


@few
@given(seeds, st.integers(-20, 20))
def test_7_another_day_gives_the_same_record(seed: int, hours: int) -> None:
    drive = noisy_drive(seed)
    shift_ms = hours * 3_600_000 + 1000 * seed
    # Means over ten seconds are those of the clock, so only a shift of whole ten seconds leaves them alone.
    assert_same(
        record_of(drive),
        record_of(drive.table(time_ms=drive.time_ms + shift_ms)),
        shift_ms=shift_ms,
        leave_out=("face_pressure_crown_min_kpa", "face_pressure_crown_max_kpa"),
    )


@few
@given(seeds, st.floats(0.5, 2.0))
def test_8_a_factor_on_a_rate_is_a_factor_on_its_integral(seed: int, factor: float) -> None:
    drive = noisy_drive(seed)
    plain, scaled = record_of(drive), record_of(drive.table(foam_liquid_l_min=factor * drive.columns["foam_liquid_l_min"]))
    assert factor * sd.column(plain, "foam_liquid_volume_m3") == pytest.approx(sd.column(scaled, "foam_liquid_volume_m3"), rel=RELATIVE)


@few
@given(seeds, st.integers(300, 420), st.integers(2, 40))
def test_9_lost_rows_never_raise_coverage_nor_change_counters(seed: int, start: int, count: int) -> None:
    drive = sd.small_drive(3, noise=1.0, seed=seed)
    keep = np.ones(len(drive.time_ms), dtype=bool)
    keep[start : start + count] = False
    whole, holed = record_of(drive), record_of(drive.kept(keep))
    for group in ("face_pressure", "muck", "grout", "thrust"):
        assert np.all(sd.column(holed, f"coverage_{group}") <= sd.column(whole, f"coverage_{group}") + 1e-12), group
    for name in ("muck_mass_a_t", "grout_volume_left_m3"):
        assert sd.column(holed, name) == pytest.approx(sd.column(whole, name), rel=RELATIVE), name


@few
@given(seeds)
def test_10_the_times_of_a_ring_add_up(seed: int) -> None:
    record = record_of(noisy_drive(seed))
    parts = ("push_net_s", "short_stop_s", "wait_before_build_s", "build_s", "wait_after_build_s", "unknown_time_s")
    assert sum(sd.column(record, name) for name in parts) == pytest.approx(sd.column(record, "cycle_time_s"), rel=RELATIVE)
    assert all(np.all(sd.column(record, name) >= 0) for name in parts)


@few
@given(seeds, st.sampled_from(["screw_speed_rpm", "cutterhead_torque_knm", "grout_pressure_left_kpa", "belt_mass_total_b_t", "foam_liquid_l_min"]))
def test_11_a_dead_channel_changes_no_other(seed: int, name: str) -> None:
    drive = noisy_drive(seed)
    dead = pa.array(np.zeros(len(drive.time_ms)), mask=np.ones(len(drive.time_ms), dtype=bool))
    table = drive.table()
    at = table.schema.get_field_index(name)
    with_dead = table.append_column(name, dead) if at < 0 else table.set_column(at, name, dead)
    without = table if at < 0 else table.drop_columns([name])
    one, other = record_of(with_dead), record_of(without)
    for column in other.table.column_names:
        if column in ("muck_mass_t", "solution_volume_m3", "grout_volume_m3") or column.split("_", 1)[0] in ("coverage", "flags", "grade"):
            continue
        left, right = one.table[column].to_pylist(), other.table[column].to_pylist()
        assert left == right or left == pytest.approx(right, rel=RELATIVE, nan_ok=True), column


@few
@given(seeds)
def test_12_appending_changes_only_the_open_ring(seed: int) -> None:
    drive = sd.small_drive(14, step_s=10.0, noise=1.0, seed=seed)
    table = with_holes(drive, seed)
    # The first eleven rings and a bit of the twelfth; the constants of the drive come from the first ten.
    first = table.filter(np.asarray(table["time_ms"]) <= sd.START_MS + 1000 * (600 + 11 * 3300 + 700))
    with folder() as grown, folder() as whole:
        before = sd.record_of(grown, first)
        sd.stored(grown, table.slice(first.num_rows - 5))
        after = rings_of(grown / "store", sd.context())
        at_once = sd.record_of(whole, table)
    assert before.table.num_rows == 11
    assert_same(after, at_once)
    for name in before.table.column_names:
        left, right = before.table[name].to_pylist(), after.table[name].to_pylist()[:11]
        assert left == right or left == pytest.approx(right, rel=RELATIVE, nan_ok=True), name
