"""Sections against hand calculation: stresses, flow through an aquitard, and the lens at its true chainage."""

import numpy as np
import pytest

from tunnelwright.drive.axis import DriveCase, rings_of
from tunnelwright.drive.geology import geology_of, project_holes, unit_tops
from tunnelwright.drive.kernels import kernel
from tunnelwright.drive.layers import layers_between, stresses_at, undrained_strength_kpa, unit_shares, water_force_kn
from tunnelwright.drive.plan.face import drained_limit, face_stations, station_window
from tunnelwright.drive.project import Borehole, Pick
from tunnelwright.drive.sections import sections_at
from tunnelwright.drive.strength import lower_limit_values, upper_limit_values

GAMMA_W = 9.81


def sections_of(case: DriveCase, *chainages: float):
    return sections_at(case, geology_of(case), np.array(chainages))


def test_stresses_are_those_of_the_hand_calculation(hand_case: DriveCase) -> None:
    section = sections_of(hand_case, 50.0)
    values = lower_limit_values(hand_case.project)
    # 2 m of moist sand at 18, 4 m of wet sand at 20, clay at 19 from +14 to the axis at +2.
    axis = stresses_at(section, "high", values, section.points.level_m, 10.0, GAMMA_W)
    assert axis.total_vertical_stress_kpa[0] == pytest.approx(2 * 18 + 4 * 20 + 12 * 19 + 10)
    # Head 18 m at the top of the clay (+14), 10 m at its base (-10): halfway down, at +2, the head is 14 m.
    assert axis.pore_pressure_kpa[0] == pytest.approx(GAMMA_W * (14.0 - 2.0), rel=1e-6)
    assert section.cover_m[0] == pytest.approx(20 - (2 + 3.5))


def test_flow_through_the_clay_is_that_of_the_registered_method(hand_case: DriveCase) -> None:
    section = sections_of(hand_case, 50.0)
    levels = np.array([13.0, 6.0, -3.0, -9.0])
    flow = kernel("ground.pore_pressure.aquitard_flow")
    layers = flow.table("layers")(thickness_m=[24.0], permeability_m_s=[1e-10])
    wanted = flow(layers=layers, top_level_m=14.0, head_above_m=18.0, head_below_m=10.0, level_m=levels).pore_pressure_kpa
    column = section.columns["normal"]
    got = [column.pore_pressure_kpa(np.array([level]))[0] for level in levels if level > -12]
    np.testing.assert_allclose(got[:3], np.asarray(wanted)[:3], rtol=1e-6)


def test_effective_weight_counts_the_downward_flow(hand_case: DriveCase) -> None:
    section = sections_of(hand_case, 50.0)
    face = layers_between(section.columns["normal"], lower_limit_values(hand_case.project), section.crown_level_m, section.invert_level_m)
    # u changes by the hydrostatic rise less the lost head: 9.81 (1 - 8/24) per metre.
    assert face.effective_unit_weight_kn_m3[0, 0] == pytest.approx(19 - GAMMA_W * (1 - 8 / 24), rel=1e-6)
    assert face.thickness_m.shape == (1, 1), "a uniform face is one layer, whatever cuts the column has"


def test_water_force_of_a_linear_pressure_is_area_times_the_value_at_the_axis(hand_case: DriveCase) -> None:
    section = sections_of(hand_case, 50.0)
    face = layers_between(section.columns["normal"], lower_limit_values(hand_case.project), section.crown_level_m, section.invert_level_m)
    assert water_force_kn(section, face)[0] == pytest.approx(np.pi / 4 * 7.0**2 * GAMMA_W * 12.0, rel=1e-9)


def test_the_window_at_one_station_is_that_of_the_single_methods(hand_case: DriveCase) -> None:
    section = sections_of(hand_case, 50.0)
    window = station_window(hand_case, section, geology_of(hand_case))
    upper = upper_limit_values(hand_case.project)
    crown = stresses_at(section, "low", upper, section.crown_level_m, 0.0, GAMMA_W).total_vertical_stress_kpa[0]
    # Low water stands 1 m deeper: 3 m of moist and 3 m of wet sand, then clay down to the crown at +5.5.
    assert crown == pytest.approx(3 * 18 + 3 * 20 + 8.5 * 19)
    assert window.hard_upper_crown_kpa[0] == pytest.approx(0.9 * crown)
    undrained = kernel("face.undrained_support.davis_lower")(
        excavation_diameter_m=7.0, cover_m=14.5, total_vertical_stress_axis_kpa=354.0, undrained_strength_kpa=80.0
    )
    assert window.undrained_required_crown_kpa[0] == pytest.approx(float(undrained.required_face_pressure_axis_kpa) - 12 * 3.5)
    assert window.undrained_strength_kpa[0] == pytest.approx(80.0)
    assert window.hard_lower_crown_kpa[0] == max(window.drained_required_crown_kpa[0], window.undrained_required_crown_kpa[0])


def test_a_uniform_face_by_slices_equals_the_plain_wedge(hand_case: DriveCase) -> None:
    section = sections_of(hand_case, 50.0)
    values = lower_limit_values(hand_case.project)
    wedge = kernel("face.effective_support.wedge_silo")
    cover = layers_between(section.columns["high"], values, section.ground_level_m, section.crown_level_m)
    face = layers_between(section.columns["high"], values, section.crown_level_m, section.invert_level_m)
    names = ("thickness_m", "effective_unit_weight_kn_m3", "cohesion_kpa", "friction_angle_rad")
    single = wedge(
        excavation_diameter_m=7.0,
        layers=wedge.table("layers")(**{name: getattr(cover, name)[0] for name in names}),
        effective_unit_weight_kn_m3=face.effective_unit_weight_kn_m3[0, 0],
        cohesion_kpa=10.0,
        friction_angle_rad=np.radians(24.0),
        surcharge_kpa=10.0,
    )
    slices = drained_limit(hand_case, section, values, "high")
    assert slices["effective_support"][0] == pytest.approx(float(single.effective_support_pressure_kpa), rel=1e-3, abs=1e-2)


def test_the_lens_edge_is_met_by_the_push_whose_face_span_holds_it(lens_case: DriveCase) -> None:
    rings = rings_of(lens_case)
    stations = face_stations(lens_case, rings)
    sections = sections_at(lens_case, geology_of(lens_case), stations.chainage_m)
    values = lower_limit_values(lens_case.project)
    face = layers_between(sections.columns["normal"], values, sections.crown_level_m, sections.invert_level_m)
    has_sand = unit_shares(sections, face, 3)[:, 0] > 0
    pushes = np.unique(stations.push_index[has_sand]).astype(int)
    first, last = pushes[0], pushes[-1]
    assert rings.face_start_chainage_m[first] < 80.0 <= rings.face_end_chainage_m[first]
    assert rings.face_start_chainage_m[last] <= 95.0 < rings.face_end_chainage_m[last]
    assert stations.chainage_m[has_sand].min() == pytest.approx(80.0, abs=0.02)
    # The ring that this push builds lies a face offset behind: confusing the two would be several rings off.
    assert rings.chainage_m[first] < 80.0 - lens_case.machine.face_offset_m + 1.5


def test_water_bearing_lens_raises_the_lower_limit_only_where_it_is(lens_case: DriveCase) -> None:
    section = sections_of(lens_case, 70.0, 88.0, 110.0)
    window = station_window(lens_case, section, geology_of(lens_case))
    assert window.drained_required_crown_kpa[1] > window.drained_required_crown_kpa[0] + 5
    assert window.drained_required_crown_kpa[0] == pytest.approx(window.drained_required_crown_kpa[2], rel=1e-6)


def test_undrained_strength_grows_from_the_top_of_the_unit_downwards(hand_case: DriveCase) -> None:
    from dataclasses import replace

    section = sections_of(hand_case, 50.0)
    values = lower_limit_values(hand_case.project)
    values = replace(values, undrained_strength_gradient_kpa_m=np.array([0.0, 4.0, 0.0]))
    # Averaged over +9.0 (crown + D/2) to -1.5: the middle is 14 - 3.75 = 10.25 m below the top of the clay.
    assert undrained_strength_kpa(section, values)[0] == pytest.approx(80 + 4 * 10.25)


def test_boreholes_project_with_right_positive(hand_case: DriveCase) -> None:
    # The drive runs east; north of it is left.
    chainage, offset = project_holes(hand_case, hand_case.project.ground.boreholes)
    np.testing.assert_allclose(chainage, [0.0, 200.0], atol=1e-6)
    np.testing.assert_allclose(offset, [-5.0, 5.0], atol=1e-6)


def test_not_reached_is_not_absent() -> None:
    short = Borehole(
        borehole="B",
        easting_m=0,
        northing_m=0,
        ground_level_m=20,
        depth_m=10,
        picks=(Pick(unit="A", top_level_m=20, base_level_m=16), Pick(unit="C", top_level_m=16, base_level_m=10)),
    )
    tops = unit_tops(short, ["A", "B", "C", "D"], "first_continuous_run", 3.0)
    assert tops[:3] == [20, 16, 16], "the absent unit has the top of the next below"
    assert np.isnan(tops[3]), "below the end of the hole nothing is known"


def test_first_continuous_run_skips_thin_repeats() -> None:
    picks = (
        Pick(unit="A", top_level_m=20, base_level_m=15), Pick(unit="B", top_level_m=15, base_level_m=14), Pick(unit="A", top_level_m=14, base_level_m=12),
        Pick(unit="B", top_level_m=12, base_level_m=5),
    )  # fmt: skip
    hole = Borehole(borehole="B", easting_m=0, northing_m=0, ground_level_m=20, depth_m=15, picks=picks)
    assert unit_tops(hole, ["A", "B"], "first_continuous_run", 3.0)[1] == 12
    assert unit_tops(hole, ["A", "B"], "first_met", 3.0)[1] == 15
