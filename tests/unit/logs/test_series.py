"""Channels over time: thinned without losing a dip, gaps kept, spikes left out."""

from pathlib import Path
from types import ModuleType

import numpy as np

from tunnelwright.logs import series_of


def test_few_samples_are_given_as_they_are(sd: ModuleType, tmp_path: Path) -> None:
    drive = sd.small_drive(1)
    sd.stored(tmp_path, drive)
    start_ms, end_ms = int(drive.time_ms[100]), int(drive.time_ms[200])
    found = series_of(tmp_path / "store", start_ms, end_ms, ["thrust_kn", "no_such_channel"])
    assert list(found) == ["thrust_kn"]
    assert found["thrust_kn"].time_ms.tolist() == drive.time_ms[100:201].tolist()
    assert found["thrust_kn"].value.tolist() == drive.columns["thrust_kn"][100:201].tolist()
    assert not found["thrust_kn"].is_thinned


def test_a_dip_survives_thinning(sd: ModuleType, tmp_path: Path) -> None:
    drive = sd.small_drive(6)
    pressure = drive.columns["chamber_pressure_1_kpa"].copy()
    pressure[2000] = 20.0
    sd.stored(tmp_path, drive.table(chamber_pressure_1_kpa=pressure))
    found = series_of(tmp_path / "store", int(drive.time_ms[0]), int(drive.time_ms[-1]), ["chamber_pressure_1_kpa"], max_points=200)["chamber_pressure_1_kpa"]
    assert found.is_thinned
    assert len(found.time_ms) <= 200
    assert found.value.min() == 20.0
    assert found.time_ms[np.argmin(found.value)] == drive.time_ms[2000]
    assert np.all(np.diff(found.time_ms) > 0)


def test_a_gap_stays_a_gap(sd: ModuleType, tmp_path: Path) -> None:
    drive = sd.small_drive(2)
    keep = np.ones(len(drive.time_ms), dtype=bool)
    keep[300:400] = False
    sd.stored(tmp_path, drive.kept(keep))
    for points in (10_000, 100):
        found = series_of(tmp_path / "store", int(drive.time_ms[0]), int(drive.time_ms[-1]), ["thrust_kn"], max_points=points)["thrust_kn"]
        gaps = np.flatnonzero(np.isnan(found.value))
        assert len(gaps) == 1
        assert drive.time_ms[295] < found.time_ms[gaps[0]] < drive.time_ms[400]


def test_nothing_in_the_span_is_an_empty_series(sd: ModuleType, tmp_path: Path) -> None:
    sd.stored(tmp_path, sd.small_drive(1))
    assert series_of(tmp_path / "store", 0, 1000, ["thrust_kn"])["thrust_kn"].time_ms.tolist() == []
    assert series_of(tmp_path / "nowhere", 0, 1000, ["thrust_kn"]) == {}
