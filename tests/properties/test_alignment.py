"""What must hold on any axis: the way back, the way out and in again, joints that change nothing."""

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from tunnelwright.engineering import load_methods
from tunnelwright.vocabulary.method import METHODS

load_methods()
CHAIN, POINT, ELEMENT = METHODS["alignment.horizontal.chain"], METHODS["alignment.horizontal.project_point"], METHODS["alignment.horizontal.element"]
PROFILE, RINGS, LENGTH = METHODS["alignment.vertical.profile"], METHODS["alignment.space.ring_chainages"], METHODS["alignment.space.length"]
FEW = settings(derandomize=True, max_examples=20, deadline=None)
TRANSITIONS = ("clothoid", "bloss", "cosine", "sine", "helmert")

curvatures = st.floats(-1 / 200, 1 / 200)
lengths = st.floats(20, 300)


@st.composite
def chains(draw: st.DrawFn) -> list[tuple[str, float, float, float]]:
    """Return two to six elements whose curvature runs on from one to the next."""
    rows, bend = [], 0.0
    for _ in range(draw(st.integers(2, 6))):
        law = draw(st.sampled_from(("line", "circular_arc", *TRANSITIONS)))
        if law == "line":
            start = end = 0.0
        elif law == "circular_arc":
            start = end = bend or draw(curvatures)
        else:
            start, end = bend, draw(curvatures)
        rows.append((law, draw(lengths), start, end))
        bend = end
    return rows


def elements(rows: list[tuple[str, float, float, float]]) -> object:
    law, length, start, end = (list(column) for column in zip(*rows, strict=True))
    return CHAIN.table("elements")(element_type=law, length_m=length, start_curvature_1_m=start, end_curvature_1_m=end)


def reversed_rows(rows: list[tuple[str, float, float, float]]) -> list[tuple[str, float, float, float]]:
    return [(law, length, -end, -start) for law, length, start, end in reversed(rows)]


@FEW
@given(rows=chains(), bearing=st.floats(0, 6.28))
def test_forward_and_back_ends_at_the_start(rows: list[tuple[str, float, float, float]], bearing: float) -> None:
    total = sum(row[1] for row in rows)
    end = CHAIN(elements=elements(rows), chainage_m=total, start_northing_m=5e6, start_easting_m=4e5, start_bearing_rad=bearing)
    back = CHAIN(
        elements=elements(reversed_rows(rows)),
        chainage_m=total,
        start_northing_m=end.northing_m,
        start_easting_m=end.easting_m,
        start_bearing_rad=end.bearing_rad + np.pi,
    )
    assert abs(back.northing_m - 5e6) < 1e-6
    assert abs(back.easting_m - 4e5) < 1e-6
    assert abs(np.sin((back.bearing_rad - bearing - np.pi) / 2)) < 1e-9 or abs(np.cos((back.bearing_rad - bearing) / 2)) < 1e-9


@FEW
@given(rows=chains(), at=st.floats(0.02, 0.98), offset=st.floats(-25, 25))
def test_a_point_set_out_is_found_again(rows: list[tuple[str, float, float, float]], at: float, offset: float) -> None:
    chainage = 300 + at * sum(row[1] for row in rows)
    place = CHAIN(elements=elements(rows), chainage_m=chainage, start_chainage_m=300, start_bearing_rad=2.0)
    found = POINT(
        elements=elements(rows),
        northing_m=place.northing_m - offset * np.sin(place.bearing_rad),
        easting_m=place.easting_m + offset * np.cos(place.bearing_rad),
        start_chainage_m=300,
        start_bearing_rad=2.0,
        expected_chainage_m=chainage,
    )
    assert abs(found.chainage_m - chainage) < 1e-6
    assert abs(found.lateral_deviation_m - offset) < 1e-6


@FEW
@given(law=st.sampled_from(TRANSITIONS), length=lengths, start=curvatures, end=curvatures)
def test_every_transition_turns_by_the_mean_curvature(law: str, length: float, start: float, end: float) -> None:
    point = ELEMENT(element_type=law, length_m=length, start_curvature_1_m=start, end_curvature_1_m=end)
    assert abs(point.bearing_rad - (start + end) * length / 2) < 1e-12
    assert abs(point.curvature_1_m - end) < 1e-15


@FEW
@given(law=st.sampled_from(TRANSITIONS), length=lengths, bend=curvatures)
def test_a_transition_between_equal_curvatures_is_an_arc(law: str, length: float, bend: float) -> None:
    bent = ELEMENT(element_type=law, length_m=length, start_curvature_1_m=bend, end_curvature_1_m=bend)
    arc = ELEMENT(element_type="circular_arc", length_m=length, start_curvature_1_m=bend, end_curvature_1_m=bend)
    assert abs(bent.northing_m - arc.northing_m) < 1e-10
    assert abs(bent.easting_m - arc.easting_m) < 1e-10


@FEW
@given(rows=chains(), at=st.floats(0.1, 0.9), place=st.integers(0, 5))
def test_joints_that_change_no_curvature_change_nothing(rows: list[tuple[str, float, float, float]], at: float, place: int) -> None:
    """A clothoid may be cut anywhere, as may a line and an arc; an element without length may stand anywhere."""
    wanted = np.linspace(0, sum(row[1] for row in rows), 17)
    plain = CHAIN(elements=elements(rows), chainage_m=wanted)
    law, length, start, end = rows[place % len(rows)]
    if law in ("line", "circular_arc", "clothoid"):
        middle = start + (end - start) * at
        cut = [(law, length * at, start, middle), ("clothoid", 0.0, middle, middle), (law, length * (1 - at), middle, end)]
    else:
        cut = [("clothoid", 0.0, start, start), rows[place % len(rows)]]
    joined = CHAIN(elements=elements([*rows[: place % len(rows)], *cut, *rows[place % len(rows) + 1 :]]), chainage_m=wanted)
    np.testing.assert_allclose(joined.northing_m, plain.northing_m, atol=1e-9)
    np.testing.assert_allclose(joined.easting_m, plain.easting_m, atol=1e-9)
    np.testing.assert_allclose(joined.bearing_rad, plain.bearing_rad, atol=1e-12)


@st.composite
def profiles(draw: st.DrawFn) -> tuple[list[float], list[float], list[float]]:
    chainage, level, radius = [0.0], [0.0], [0.0]
    for _ in range(draw(st.integers(2, 5))):
        run = draw(st.floats(200, 500))
        chainage.append(chainage[-1] + run)
        level.append(level[-1] + run * draw(st.floats(-0.045, 0.045)))
        radius.append(draw(st.floats(500, 2000)))
    radius[-1] = 0.0
    return chainage, level, radius


@FEW
@given(shape=profiles(), curve_type=st.sampled_from(("parabola", "circle")))
def test_a_profile_seen_from_its_other_end_has_the_same_levels(shape: tuple[list[float], list[float], list[float]], curve_type: str) -> None:
    chainage, level, radius = (np.array(column) for column in shape)
    wanted = np.linspace(0, chainage[-1], 41)
    table = PROFILE.table("vertices")
    there = PROFILE(vertices=table(chainage_m=chainage, level_m=level, vertical_radius_m=radius), chainage_m=wanted, curve_type=curve_type)
    mirrored = table(chainage_m=chainage[-1] - chainage[::-1], level_m=level[::-1], vertical_radius_m=radius[::-1])
    back = PROFILE(vertices=mirrored, chainage_m=chainage[-1] - wanted, curve_type=curve_type)
    np.testing.assert_allclose(back.level_m, there.level_m, atol=1e-9)
    np.testing.assert_allclose(back.gradient, -there.gradient, atol=1e-12)


@FEW
@given(shape=profiles(), at=st.floats(0.1, 0.9))
def test_a_vertex_without_a_break_changes_nothing(shape: tuple[list[float], list[float], list[float]], at: float) -> None:
    chainage, level, radius = (list(column) for column in shape)
    table = PROFILE.table("vertices")
    wanted = np.linspace(0, chainage[-1], 41)
    plain = PROFILE(vertices=table(chainage_m=chainage, level_m=level, vertical_radius_m=radius), chainage_m=wanted)
    # Half-way along its first grade no vertical curve of these profiles reaches.
    cut = chainage[1] * 0.4 * at
    added = table(
        chainage_m=[chainage[0], cut, *chainage[1:]], level_m=[level[0], level[1] * cut / chainage[1], *level[1:]], vertical_radius_m=[0.0, 900.0, *radius[1:]]
    )
    joined = PROFILE(vertices=added, chainage_m=wanted)
    np.testing.assert_allclose(joined.level_m, plain.level_m, atol=1e-8)


@FEW
@given(shape=profiles(), gap=st.floats(0, 5))
def test_rings_counted_in_two_parts_end_where_those_counted_at_once_do(shape: tuple[list[float], list[float], list[float]], gap: float) -> None:
    chainage, level, radius = shape
    vertices = RINGS.table("vertices")(chainage_m=chainage, level_m=level, vertical_radius_m=radius)
    whole = RINGS(vertices=vertices, start_chainage_m=10.0, ring_length_m=1.5, ring_count=200, joint_gap_mm=gap)
    first = RINGS(vertices=vertices, start_chainage_m=10.0, ring_length_m=1.5, ring_count=90, joint_gap_mm=gap)
    second = RINGS(vertices=vertices, start_chainage_m=first.chainage_m[-1], ring_length_m=1.5, ring_count=110, joint_gap_mm=gap)
    np.testing.assert_allclose(np.concatenate([first.chainage_m, second.chainage_m]), whole.chainage_m, atol=1e-8)
    assert np.all(np.diff(whole.chainage_m) <= 1.5 + gap / 1000 + 1e-9)


@FEW
@given(
    length=st.floats(10, 400),
    at=st.floats(0.1, 0.9),
    gradient=st.floats(-0.05, 0.05),
    radius=st.floats(800, 9000),
    curve_type=st.sampled_from(("parabola", "circle")),
)
def test_a_curve_in_two_parts_is_as_long_as_in_one(length: float, at: float, gradient: float, radius: float, curve_type: str) -> None:
    whole = LENGTH(horizontal_length_m=length, start_gradient=gradient, vertical_radius_m=radius, curve_type=curve_type)
    first = LENGTH(horizontal_length_m=length * at, start_gradient=gradient, vertical_radius_m=radius, curve_type=curve_type)
    second = LENGTH(horizontal_length_m=length * (1 - at), start_gradient=first.end_gradient, vertical_radius_m=radius, curve_type=curve_type)
    assert abs(first.space_length_m + second.space_length_m - whole.space_length_m) < 1e-8
    assert abs(second.end_gradient - whole.end_gradient) < 1e-12
    assert whole.space_length_m >= length


@FEW
@given(bend=curvatures, offset=st.floats(-40, 40))
def test_the_parallel_of_a_parallel_is_the_axis(bend: float, offset: float) -> None:
    parallel = METHODS["alignment.offset.parallel"]
    out = parallel(curvature_1_m=bend, offset_m=offset)
    back = parallel(curvature_1_m=out.parallel_curvature_1_m, offset_m=-offset)
    assert abs(back.parallel_curvature_1_m - bend) < 1e-15
    assert abs(out.length_factor * back.length_factor - 1) < 1e-12


@FEW
@given(label=st.floats(0, 1300), jump=st.floats(-80, 80))
def test_a_distance_found_from_a_label_carries_it(label: float, jump: float) -> None:
    to_distance, to_label = METHODS["alignment.chainage.label_to_distance"], METHODS["alignment.chainage.distance_to_label"]
    zones = to_distance.table("zones")(start_distance_m=[0.0, 600.0], end_distance_m=[600.0, 1200.0], start_label_m=[0.0, 600.0 + jump])
    found = to_distance(zones=zones, label_m=label)
    assert len(found.distance_m) == found.solution_count
    back = to_label(zones=to_label.table("zones")(**{name: getattr(zones, name) for name in zones.columns()}), distance_m=found.distance_m)
    np.testing.assert_allclose(back.label_m, label, atol=1e-9)
