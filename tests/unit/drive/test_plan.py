"""The plan of the East drive: windows and targets obey their rules, sheets say what the plan holds, everything at its place."""

import time

import numpy as np
import pytest
from examples.brennholt.project import write_project

from tunnelwright.drive.axis import DriveCase
from tunnelwright.drive.explain import explain_push
from tunnelwright.drive.plan import Plan, plan_drive, push_at_face
from tunnelwright.drive.project import SlurryCircuit
from tunnelwright.exchange.project_folder import read_project
from tunnelwright.vocabulary.sheet import sheet_of, shown_number, value_of_printed


@pytest.fixture(scope="module")
def plan(tmp_path_factory: pytest.TempPathFactory) -> Plan:
    folder = tmp_path_factory.mktemp("plan") / "crosstown"
    write_project(folder)
    case = DriveCase.of(read_project(folder), "east")
    started = time.process_time()
    made = plan_drive(case)
    assert time.process_time() - started < 4.0, "1,453 pushes are planned in about half a second on an idle machine"
    return made


def test_limits_stand_in_their_order(plan: Plan) -> None:
    face = plan.face
    np.testing.assert_allclose(face.operating_lower_crown_kpa - face.hard_lower_crown_kpa, plan.case.machine.pressure_allowance_kpa)
    np.testing.assert_allclose(face.hard_upper_crown_kpa - face.operating_upper_crown_kpa, plan.case.machine.pressure_allowance_kpa)
    open_pushes = face.has_window
    assert (face.target_crown_kpa[open_pushes] >= face.operating_lower_crown_kpa[open_pushes]).all()
    assert (face.target_crown_kpa[open_pushes] <= face.operating_upper_crown_kpa[open_pushes]).all()
    assert np.isnan(face.target_crown_kpa[~open_pushes]).all(), "a push without a window has no target"
    assert (face.deficit_kpa[~open_pushes] > 0).all()


def test_no_window_is_where_the_unsealed_borehole_stands(plan: Plan) -> None:
    closed = np.flatnonzero(~plan.face.has_window)
    hole = plan.geology.hole_names.index("OH15")
    at = plan.geology.hole_chainage_m[hole]
    diameter = plan.sections.excavation_diameter_m
    start, end = plan.rings.face_start_chainage_m, plan.rings.face_end_chainage_m
    near = np.flatnonzero((start <= at + diameter) & (end >= at - diameter))
    assert closed.tolist() == near.tolist()
    assert set(plan.face.governing_upper[closed]) == {"open borehole"}
    assert set(plan.face.loss_path[closed]) == {"OH15"}


def test_targets_are_steps_that_a_crew_can_follow(plan: Plan) -> None:
    targets = plan.face.target_crown_kpa[plan.face.has_window]
    np.testing.assert_allclose(targets % 5.0, 0.0, atol=1e-9)
    changes = np.count_nonzero(np.diff(targets))
    assert changes < 80, f"{changes} changes over {len(targets)} pushes"
    depths = plan.case.machine.sensor_depth_below_crown_m
    below = plan.face.target_sensor_kpa - plan.face.target_crown_kpa[:, None]
    np.testing.assert_allclose(below[plan.face.has_window], np.tile(13.0 * depths, (plan.face.has_window.sum(), 1)))


def test_worst_station_of_every_span_governs(plan: Plan) -> None:
    for index in (0, 311, 805, 1300):
        inside = plan.stations.push_index == index
        assert plan.face.hard_lower_crown_kpa[index] == plan.window.hard_lower_crown_kpa[inside].max()
        assert plan.face.hard_upper_crown_kpa[index] == plan.window.hard_upper_crown_kpa[inside].min()


@pytest.mark.parametrize("ring", [1, 320, 612, 900, 1453])
def test_sheets_say_what_the_plan_holds(plan: Plan, ring: int) -> None:
    index = ring - 1
    results = {one.calculation.method.id: one.calculation.record.as_dict() for one in explain_push(plan, ring)}
    drained = results["face.window_partial_factors.daub_2016"]["required_face_pressure_crown_kpa"]
    undrained = results.get("face.undrained_support.davis_lower")
    least = float(drained)
    if undrained is not None:
        half = plan.sections.excavation_diameter_m / 2
        least = max(least, float(undrained["required_face_pressure_axis_kpa"]) - plan.case.machine.support_unit_weight_low_kn_m3 * half)
    assert least == pytest.approx(plan.face.hard_lower_crown_kpa[index], rel=1e-9)
    assert float(results["face.window_limits.allowance"]["window_width_kpa"]) == pytest.approx(plan.face.window_width_kpa[index])
    assert float(results["face.target_preferred.rule"]["preferred_crown_kpa"]) == pytest.approx(plan.face.preferred_crown_kpa[index], nan_ok=True)
    assert float(results["muck.mass.expected"]["muck_mass_t"]) == pytest.approx(plan.muck.muck_mass_t[index])
    assert float(results["muck.volume.geometry"]["excavated_volume_m3"]) == pytest.approx(plan.muck.excavated_volume_m3[index])
    assert float(results["grout.volume.target"]["target_volume_m3"]) == pytest.approx(plan.grout.grout_volume_m3[index])


@pytest.mark.parametrize("ring", [1, 320, 612, 900])
def test_every_printed_line_of_a_push_is_a_pocket_calculation(plan: Plan, ring: int) -> None:
    checked = 0
    for one in explain_push(plan, ring):
        for line in sheet_of(one.calculation):
            if line.numbers:
                again = value_of_printed(line.numbers)
                assert again is not None, line.numbers
                assert shown_number(again, one.calculation.method.quantity_of(line.name)) == line.printed, line.numbers
                checked += 1
    assert checked > 15


def test_grout_asks_no_port_for_more_than_it_may(plan: Plan) -> None:
    grout = plan.grout
    weight = plan.case.machine.grouting.grout_unit_weight_kn_m3
    radius = plan.sections.excavation_diameter_m / 2
    depth = radius * (1 - np.cos(plan.case.machine.port_clock_angle_rad))
    at_ports = grout.grout_target_kpa[:, None] + weight * depth
    known = np.isfinite(grout.grout_target_kpa)
    assert known.mean() > 0.95
    assert (at_ports[known] <= grout.port_upper_kpa[known] + 1e-6).all()
    assert (grout.grout_target_kpa[known] >= grout.grout_lower_kpa[known] - 1e-9).all()


def test_a_void_comes_under_the_tail_some_pushes_after_the_face(plan: Plan) -> None:
    ring = 612
    middle = (plan.rings.face_start_chainage_m[ring - 1] + plan.rings.face_end_chainage_m[ring - 1]) / 2
    assert push_at_face(plan.rings, np.array([middle]))[0] == ring - 1
    around = np.flatnonzero((plan.rings.rear_chainage_m <= middle) & (middle < plan.rings.chainage_m))[0]
    grouting = int(np.flatnonzero(plan.rings.grout_ring_number == around + 1)[0])
    assert 7 <= grouting - (ring - 1) <= 9


def test_a_two_chamber_slurry_shield_gets_its_cushion(hand_case: DriveCase) -> None:
    from dataclasses import replace

    slurry = SlurryCircuit.model_validate(
        {
            "air_level_above_invert_m": 5.0,
            "feed_density_t_m3": 1.1,
            "static_yield_stress_kpa": 0.015,
            "feed_flow_max_m3_h": 1500,
            "return_flow_max_m3_h": 1650,
            "pipe_diameter_m": 0.4,
        }
    )
    weights = {f"support_unit_weight_{one}kn_m3": value for one, value in (("low_", 10.8), ("", 11.0), ("high_", 12.5))}
    machine = hand_case.machine.model_copy(update={"kind": "slurry", "slurry": slurry, "pressure_allowance_kpa": 10.0, **weights})
    made = plan_drive(replace(hand_case, machine=machine))
    # Cushion at 5 m above the invert of a 7 m bore: 2 m of slurry at 11 kN/m3 stand between it and the crown.
    np.testing.assert_allclose(made.face.air_pressure_kpa, made.face.target_crown_kpa + 11.0 * 2.0)
    np.testing.assert_allclose(made.face.target_invert_kpa, made.face.target_crown_kpa + 11.0 * 7.0)
    np.testing.assert_allclose(made.face.operating_lower_crown_kpa - made.face.hard_lower_crown_kpa, 10.0)


def test_the_same_project_gives_the_same_plan(plan: Plan) -> None:
    again = plan_drive(plan.case)
    assert again.revision == plan.revision
    np.testing.assert_array_equal(again.face.target_crown_kpa, plan.face.target_crown_kpa)
