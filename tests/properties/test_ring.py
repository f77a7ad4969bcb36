"""What must hold of any tapered ring, chain of rings, and search over orientations."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tunnelwright.engineering import load_methods
from tunnelwright.vocabulary.method import METHODS

load_methods()
SETTINGS = settings(max_examples=25, deadline=None, derandomize=True)
RING = {"ring_outer_diameter_m": 6.7, "ring_length_m": 1.5, "taper_mm": 40.0}
PLAN = {**RING, "position_count": 16, "allowed_turns": [2, 5, 8, 11, 14]}
CLOCK = st.floats(0.0, 2 * np.pi)
TAPER_KIND = st.sampled_from(["double", "single"])


@SETTINGS
@given(psi=CLOCK, taper_kind=TAPER_KIND)
def test_the_tunnel_turns_away_from_the_longest_edge(psi: float, taper_kind: str) -> None:
    moved = METHODS["ring.chain.transform"](**RING, widest_clock_angle_rad=psi, taper_kind=taper_kind)
    towards_longest = float(moved.heading_change_rad) * np.sin(psi) + float(moved.pitch_change_rad) * np.cos(psi)
    assert towards_longest == pytest.approx(-float(moved.wedge_angle_rad), rel=1e-4)


@SETTINGS
@given(psi=st.lists(CLOCK, min_size=1, max_size=12), taper_kind=TAPER_KIND)
def test_a_mirrored_chain_ends_at_the_mirrored_place(psi: list[float], taper_kind: str) -> None:
    pose = METHODS["ring.chain.pose"]
    given_end = pose(**RING, widest_clock_angle_rad=np.array(psi), taper_kind=taper_kind)
    mirrored = pose(**RING, widest_clock_angle_rad=2 * np.pi - np.array(psi), taper_kind=taper_kind)
    for name, sign in (("forward_m", 1), ("right_m", -1), ("down_m", 1), ("heading_rad", -1), ("pitch_rad", 1), ("roll_rad", -1)):
        assert float(getattr(mirrored, name)) == pytest.approx(sign * float(getattr(given_end, name)), abs=1e-9)


@SETTINGS
@given(psi=CLOCK, count=st.integers(2, 80), taper_kind=TAPER_KIND)
def test_rings_in_one_orientation_lie_on_a_circle_of_the_ring_radius(psi: float, count: int, taper_kind: str) -> None:
    radius = float(METHODS["ring.geometry.radius"](**RING, taper_kind=taper_kind).ring_radius_m)
    end = METHODS["ring.chain.pose"](**RING, widest_clock_angle_rad=np.full(count, psi), taper_kind=taper_kind)
    wedge = float(METHODS["ring.geometry.radius"](**RING, taper_kind=taper_kind).wedge_angle_rad)
    chord = float(np.sqrt(end.forward_m**2 + end.right_m**2 + end.down_m**2))
    assert chord == pytest.approx(2 * radius * np.sin(count * wedge / 2), rel=1e-9)


@SETTINGS
@given(bend=CLOCK, turns=st.sets(st.integers(1, 15), min_size=1, max_size=5))
def test_what_can_be_reached_leaves_no_residual_and_a_little_more_does(bend: float, turns: set[int]) -> None:
    rules = {"ring_radius_m": 220.0, "position_count": 16, "allowed_turns": sorted(turns), "bend_clock_angle_rad": bend}
    reached = METHODS["ring.feasibility.reachable_radius"](**rules)
    residual = METHODS["ring.feasibility.residual"]
    if np.isnan(reached.reachable_radius_m):
        assert float(residual(**rules, axis_radius_m=2000.0).residual) > 1e-6
        return
    radius = float(reached.reachable_radius_m)
    assert float(residual(**rules, axis_radius_m=radius * 1.001).residual) == pytest.approx(0.0, abs=1e-8)
    assert float(residual(**rules, axis_radius_m=radius * 0.98).residual) > 1e-4


@settings(max_examples=8, deadline=None, derandomize=True)
@given(lateral=st.floats(-30, 30), vertical=st.floats(-30, 30), radius=st.floats(250, 2000), previous=st.integers(0, 15))
def test_a_beam_finds_what_enumeration_finds_and_its_mirror_costs_the_same(lateral: float, vertical: float, radius: float, previous: int) -> None:
    start = {"ring_count": 4, "start_vertical_mm": vertical}
    whole = METHODS["ring.sequence.exhaustive"](**PLAN, **start, start_lateral_mm=lateral, axis_radius_m=radius, previous_position=previous)
    beam = METHODS["ring.sequence.beam"](**PLAN, **start, start_lateral_mm=lateral, axis_radius_m=radius, previous_position=previous)
    mirror = METHODS["ring.sequence.beam"](**PLAN, **start, start_lateral_mm=-lateral, axis_radius_m=-radius, previous_position=(16 - previous) % 16)
    assert float(beam.cost) == pytest.approx(float(whole.cost), rel=1e-9)
    assert float(mirror.cost) == pytest.approx(float(beam.cost), rel=1e-9)
    assert float(beam.cost) <= float(beam.greedy_cost) + 1e-9


@SETTINGS
@given(right=st.floats(-12, 12), up=st.floats(-12, 12), ovality=st.floats(0.5, 20), axis=st.floats(0.1, 3.0), turn=CLOCK)
def test_a_ring_in_the_tail_is_found_where_it_stands(right: float, up: float, ovality: float, axis: float, turn: float) -> None:
    angle = turn + np.linspace(0, 2 * np.pi, 9)[:-1]
    clearance = 33.5 - right * np.sin(angle) - up * np.cos(angle) - ovality / 4 * np.cos(2 * (angle - axis))
    found = METHODS["ring.next.tail_clearance_fit"](clock_angle_rad=angle, tail_clearance_mm=clearance)
    assert [float(found.ring_offset_right_mm), float(found.ring_offset_up_mm), float(found.ovality_mm)] == pytest.approx([right, up, ovality], abs=1e-9)
    assert np.sin(float(found.long_axis_clock_angle_rad) - axis) == pytest.approx(0.0, abs=1e-9)


@SETTINGS
@given(deviation=st.floats(-0.2, 0.2).filter(lambda one: abs(one) > 1e-4), heading=st.floats(-0.01, 0.01), radius=st.floats(300, 2000))
def test_two_arcs_end_on_the_axis_and_nothing_smooth_is_shorter(deviation: float, heading: float, radius: float) -> None:
    found = METHODS["ring.recovery.two_arcs"](lateral_deviation_m=deviation, correction_radius_m=radius, relative_heading_rad=heading)
    side = 1 if deviation + heading * abs(heading) * radius / 2 > 0 else -1
    first = radius * (side * heading + float(found.peak_angle_rad))
    second = float(found.return_length_m) - first
    angle = heading - side * first / radius
    end = deviation + heading * first - side * first**2 / (2 * radius) + angle * second + side * second**2 / (2 * radius)
    assert [end, angle + side * second / radius] == pytest.approx([0.0, 0.0], abs=1e-9)
    if heading == 0:
        assert float(METHODS["ring.recovery.smooth"](lateral_deviation_m=deviation, correction_radius_m=radius).return_length_m) > found.return_length_m


@SETTINGS
@given(right=st.floats(-40, 40), up=st.floats(-40, 40), amplitude=st.floats(0.5, 12), axis=st.floats(0.1, 3.0), count=st.integers(8, 20), bad=st.integers(0, 7))
def test_a_surveyed_ring_is_found_in_spite_of_one_bad_point(right: float, up: float, amplitude: float, axis: float, count: int, bad: int) -> None:
    angle = np.linspace(0, 2 * np.pi, count, endpoint=False)
    radius = 3.0 + amplitude / 1000 * np.cos(2 * (angle - axis)) + np.where(np.arange(count) == bad, 0.08, 0.0)
    points = METHODS["ring.survey.wriggle"].table("points")(
        forward_m=np.zeros(count), right_m=right / 1000 + radius * np.sin(angle), up_m=up / 1000 + radius * np.cos(angle)
    )
    found = METHODS["ring.survey.wriggle"](points=points, nominal_diameter_m=6.0)
    assert list(found.rejected_points) == [bad]
    assert [float(found.centre_right_mm), float(found.centre_up_mm), float(found.ovality_amplitude_mm)] == pytest.approx([right, up, amplitude], abs=1e-3)
