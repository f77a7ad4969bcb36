"""Every seeded fault of a log is named, nothing is written that should not be, and neither import nor rings ever break down."""

import os
import shutil
from collections import Counter
from pathlib import Path

import numpy as np
import pyarrow as pa
import pyarrow.parquet as parquet
import pytest
from tests.regression.faulty_logs.base_log import FIRST_RING, NOW_MS, RING_LENGTH_M, SENSOR_DEPTHS_M, base_map, readings
from tests.regression.faulty_logs.cases import KEPT, REFUSED, Kept, Refused
from tests.regression.faulty_logs.spoilers import Scene

from tunnelwright.logs import ChannelMap, LogStore, RecordContext, RecordTable, import_log, rings_of
from tunnelwright.vocabulary.remark import InputRefused

CONTEXT = RecordContext(
    ring_length_m=RING_LENGTH_M,
    first_ring_number=FIRST_RING,
    ring_numbers=np.arange(float(FIRST_RING), FIRST_RING + 10),
    chainage_m=100.0 + RING_LENGTH_M * np.arange(1, 11),
    start_chainage_m=100.0,
    sensor_depth_m=SENSOR_DEPTHS_M,
    axis_depth_m=3.3,
    grout_ports=("left",),
)


def delivered(scene: Scene, folder: Path) -> list[Path]:
    """Write the files of a scene and return what is handed to the import."""
    logs = ([scene.log] if scene.with_log else []) + scene.others
    content = {log.name: log.content() for log in logs} | scene.raw
    for name, written in content.items():
        (folder / name).write_bytes(written)
    for name in scene.folders:
        (folder / name).mkdir()
    return [folder / name for name in (*content, *scene.folders, *scene.absent)]


def imported(scene: Scene, folder: Path, store: Path) -> object:
    files = delivered(scene, folder)
    return import_log(files, ChannelMap.from_mapping(scene.channel_map, "channels/east.toml"), store, NOW_MS)


def content(folder: Path) -> dict[str, bytes]:
    return {str(path.relative_to(folder)): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def samples(store: Path) -> pa.Table:
    kept = LogStore(store)
    return pa.concat_tables([parquet.read_table(kept.samples_file(day)) for day in kept.days()], promote_options="default")


@pytest.fixture(scope="module")
def sound_store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("sound")
    report = imported(Scene(), folder, folder / "store")
    assert not report.findings, "the sound log is sound"
    return folder / "store"


def test_sound_log_tells_its_own_rings(sound_store: Path) -> None:
    made = rings_of(sound_store, CONTEXT)
    truth = readings()
    assert not made.findings
    assert made.table["ring_number"].to_pylist() == [101, 102]
    assert made.table["muck_mass_t"].to_pylist() == pytest.approx([105.0, 105.0], abs=0.02)
    assert made.table["face_pressure_crown_kpa"].to_pylist() == pytest.approx([180.0, 180.0], abs=5.0)
    assert np.isclose(made.table["grout_volume_m3"].to_numpy().sum() / 2, (truth["grout_volume_left_m3"][-1] - truth["grout_volume_left_m3"][0]) / 3, atol=0.01)


@pytest.mark.parametrize("case", REFUSED, ids=[case.spoil.__name__ for case in REFUSED])
def test_refused_log_leaves_the_store_alone(case: Refused, tmp_path: Path, sound_store: Path) -> None:
    store = tmp_path / "store"
    shutil.copytree(sound_store, store)
    before = content(store)
    scene = Scene()
    case.spoil(scene)
    with pytest.raises(InputRefused) as refused:
        imported(scene, tmp_path, store)
    found = refused.value.faults
    assert Counter(fault.field for fault in found) == Counter(field for field, *_ in case.faults), str(refused.value)
    for field, *words in case.faults:
        sentences = [fault.sentence() for fault in found if fault.field == field]
        assert any(all(word in sentence for word in words) for sentence in sentences), (words, sentences)
    assert content(store) == before
    assert sorted(path.name for path in store.iterdir()) == sorted({name.split("/")[0] for name in before}), "no folder of the import is left"


@pytest.mark.parametrize("case", KEPT, ids=[case.spoil.__name__ for case in KEPT])
def test_kept_log_says_what_is_wrong(case: Kept, tmp_path: Path, sound_store: Path) -> None:
    store = tmp_path / "store"
    scene = Scene()
    case.spoil(scene)
    report = imported(scene, tmp_path, store)
    found: Counter[tuple[str, str]] = Counter()
    for finding in report.findings:
        found[finding.kind, finding.channel] += finding.count
        assert finding.sentence, finding
    assert found == Counter(case.found)
    assert (sum(report.day_rows.values()), report.put_aside_count) == (case.rows, case.aside)
    assert not list(store.glob(".staging*")), "no folder of the import is left"
    if case.is_whole:
        # The same samples give the same rings, which another test looks at.
        assert samples(store).equals(samples(sound_store))
    elif case.rows:
        check_rings(case, rings_of(store, CONTEXT))


def check_rings(case: Kept, made: RecordTable) -> None:
    numbers = tuple(made.table["ring_number"].to_pylist()) if made.table.num_rows else ()
    assert numbers == case.rings
    assert all(finding.sentence for finding in made.findings)
    if case.of_rings is not None:
        assert {finding.kind for finding in made.findings} == case.of_rings, made.findings


def test_bar_read_as_kpa_is_told_and_not_converted(tmp_path: Path) -> None:
    scene = Scene()
    next(case for case in KEPT if case.spoil.__name__ == "bar_read_as_kpa").spoil(scene)
    report = imported(scene, tmp_path, tmp_path / "store")
    kept = samples(tmp_path / "store")["chamber_pressure_1_kpa"].to_numpy()
    assert kept == pytest.approx(readings()["chamber_pressure_1_kpa"] / 100, abs=0.0006)
    sentences = {finding.channel: finding.sentence for finding in report.findings}
    assert "times 100 (bar to kPa" in sentences["chamber_pressure_1_kpa"]
    assert all("Nothing was converted" in sentence for sentence in sentences.values())


def test_import_again_changes_nothing(tmp_path: Path, sound_store: Path) -> None:
    store = tmp_path / "store"
    shutil.copytree(sound_store, store)
    before = samples(store)
    report = imported(Scene(), tmp_path, store)
    assert not report.findings
    assert samples(store).equals(before)


def test_folder_of_a_killed_import_is_cleared_when_it_is_old(tmp_path: Path) -> None:
    store = tmp_path / "store"
    for name, age_s in ((".staging-old", 7200), (".staging-young", 60)):
        (store / name / "day=2026-01-05").mkdir(parents=True)
        os.utime(store / name, (NOW_MS / 1000 - age_s,) * 2)
    imported(Scene(), tmp_path, store)
    assert [path.name for path in store.glob(".staging-*")] == [".staging-young"]


def test_refused_file_beside_good_ones_keeps_all_out(tmp_path: Path) -> None:
    scene = Scene()
    scene.raw = {"void.csv": b""}
    with pytest.raises(InputRefused):
        imported(scene, tmp_path, tmp_path / "store")
    assert not (tmp_path / "store").exists()


def test_base_map_is_the_map_of_the_base_log() -> None:
    mapped = ChannelMap.from_mapping(base_map())
    assert {channel.source for channel in mapped.channels} == set(Scene().log.columns) - {"Time"}
