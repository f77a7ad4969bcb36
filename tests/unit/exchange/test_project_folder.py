"""A project folder read, and what it then knows."""

import importlib.util
import sys
import time
from pathlib import Path

import numpy as np
import pytest

from tunnelwright.drive.project import Project
from tunnelwright.drive.project.checks import cautions
from tunnelwright.drive.project.chords import chords_of
from tunnelwright.exchange.project_folder import read_project, write_new_project

ROOT = Path(__file__).parents[3]


@pytest.fixture(scope="module")
def brennholt(tmp_path_factory: pytest.TempPathFactory) -> Path:
    sys.path.insert(0, str(ROOT))
    try:
        writer = importlib.import_module("examples.brennholt.project")
    finally:
        sys.path.remove(str(ROOT))
    folder = tmp_path_factory.mktemp("brennholt")
    writer.write_project(folder)
    return folder


@pytest.fixture(scope="module")
def crosstown(brennholt: Path) -> Project:
    return read_project(brennholt)


def test_new_project_is_read_without_a_fault(tmp_path: Path) -> None:
    names = write_new_project(tmp_path / "new")
    project = read_project(tmp_path / "new")
    assert "project.toml" in names
    assert project.drive().ring_count == 60
    assert project.machine_of(project.drive()).kind == "epb"
    assert len(cautions(project)) < 3


def test_reading_twice_gives_the_same_revision_and_a_changed_number_another(tmp_path: Path) -> None:
    write_new_project(tmp_path / "new")
    first = read_project(tmp_path / "new").revision
    assert read_project(tmp_path / "new").revision == first
    path = tmp_path / "new" / "machines.toml"
    path.write_text(path.read_text(encoding="utf-8").replace("thrust_max_kn = 42000", "thrust_max_kn = 42001"), encoding="utf-8")
    assert read_project(tmp_path / "new").revision != first


def test_units_as_text_and_as_suffix_give_the_same_project(tmp_path: Path) -> None:
    write_new_project(tmp_path / "new")
    expected = read_project(tmp_path / "new")
    for name, old, new in (
        ("machines.toml", "thrust_max_kn = 42000", 'thrust_max_kn = "42 MN"'),
        ("machines.toml", "bulkhead_pressure_rated_kpa = 450", "bulkhead_pressure_rated_bar = 4.5"),
        ("machines.toml", "shield_length_m = 9.4", "shield_length_mm = 9400"),
        ("project.toml", "surcharge_kpa = 10", 'surcharge_kpa = "0.1 bar"'),
    ):
        path = tmp_path / "new" / name
        text = path.read_text(encoding="utf-8")
        assert old in text
        path.write_text(text.replace(old, new), encoding="utf-8")
    found = read_project(tmp_path / "new")
    assert found.machines[0].thrust_max_kn == expected.machines[0].thrust_max_kn
    assert found.machines[0].bulkhead_pressure_rated_kpa == pytest.approx(450)
    assert found.machines[0].shield_length_m == pytest.approx(9.4)
    assert found.drives[0].surcharge_kpa == pytest.approx(10)


def test_brennholt_is_read_within_a_second(brennholt: Path) -> None:
    start = time.perf_counter()
    read_project(brennholt)
    assert time.perf_counter() - start < 1.0


def test_brennholt_has_its_drive_as_designed(crosstown: Project) -> None:
    drive = crosstown.drive("east")
    machine, ring = crosstown.machine_of(drive), crosstown.ring_type_of(drive)
    assert drive.ring_count * ring.ring_length_m == pytest.approx(2179.5)
    assert np.abs(drive.axis.start_curvature_1_m).max() == pytest.approx(1 / 280)
    assert machine.excavation_diameter_m > machine.shield_tail_diameter_m > ring.ring_outer_diameter_m
    assert len(machine.chamber_sensors) == 7
    assert drive.twin is not None
    assert drive.twin.offset_m == 16.0


def test_transitions_of_brennholt_join_their_neighbours(crosstown: Project) -> None:
    axis = crosstown.drive("east").axis
    assert axis.start_curvature_1_m[1:] == pytest.approx(axis.end_curvature_1_m[:-1])
    assert axis.element_types.count("clothoid") == 6


def test_boreholes_of_brennholt_stand_beside_the_drive(crosstown: Project) -> None:
    holes = crosstown.ground.boreholes
    chainage, offset, beyond = chords_of(crosstown.drive("east").axis).nearest(
        np.array([hole.easting_m for hole in holes]), np.array([hole.northing_m for hole in holes])
    )
    unsealed = [index for index, hole in enumerate(holes) if not hole.sealed]
    assert len(holes) >= 20
    assert np.abs(offset).max() < 50
    assert chainage[unsealed] == pytest.approx([1236.0], abs=0.2)
    assert offset[unsealed] == pytest.approx([2.9], abs=0.05)
    assert (beyond > 0).sum() == 1


def test_cautions_of_brennholt_name_what_is_doubtful(crosstown: Project) -> None:
    sentences = {caution.subject: caution.sentence for caution in cautions(crosstown)}
    assert "not sealed" in sentences["borehole OH15"]
    assert "differs from the surface" in sentences["borehole OH10"]
    assert "PZ4U" in sentences["piezometers"]


def test_parameters_come_as_arrays_in_order_of_the_units(crosstown: Project) -> None:
    ground = crosstown.ground
    assert [unit.code for unit in ground.units_in_order] == ["MG", "RG", "SC", "DS", "SL"]
    assert [unit.code for unit in ground.strata_units] == ["MG", "RG", "SC", "DS"]
    assert np.degrees(ground.values("friction_angle_rad")) == pytest.approx([30, 37, 24, 37, 35])
    assert np.isnan(ground.values("undrained_strength_reference_kpa")).tolist() == [True, True, False, True, True]
    assert ground.variations("friction_angle_rad") == pytest.approx([0.15, 0.08, 0.08, 0.08, 0.1])
