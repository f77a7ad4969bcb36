"""What must hold in any ground: splitting a layer, adding one without thickness, driving the other way change nothing."""

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from tunnelwright.engineering import load_methods
from tunnelwright.vocabulary.method import METHODS

load_methods()
STRESS, AQUITARD, ALONG = METHODS["ground.stress.layered"], METHODS["ground.pore_pressure.aquitard_flow"], METHODS["ground.permeability.layers"]
FACE, BRIDGE, SIMPLE, UNIVERSAL = (
    METHODS["ground.face_segments.circle"],
    METHODS["ground.boundary.bridge"],
    METHODS["ground.boundary.simple_kriging"],
    METHODS["ground.boundary.universal_kriging"],
)
FEW = settings(derandomize=True, max_examples=20, deadline=None)

layers = st.lists(st.tuples(st.floats(0.5, 8), st.floats(15, 22), st.floats(0, 2), st.floats(-9, -4)), min_size=1, max_size=5)
picks = st.lists(st.tuples(st.floats(20, 120), st.floats(10, 40), st.floats(0, 0.8), st.floats(-60, 60)), min_size=2, max_size=6)


def weight_table(rows: list[tuple[float, float, float, float]]) -> object:
    thickness, weight, water, _ = np.array(rows).T
    return STRESS.table("layers")(thickness_m=thickness, unit_weight_kn_m3=weight, unit_weight_saturated_kn_m3=weight + water)


def permeable_table(rows: list[tuple[float, float, float, float]]) -> object:
    thickness, _, _, power = np.array(rows).T
    return AQUITARD.table("layers")(thickness_m=thickness, permeability_m_s=10.0**power)


def pick_table(rows: list[tuple[float, float, float, float]], *, mirrored_about_m: float | None = None) -> object:
    run, level, accuracy, offset = np.array(rows).T
    chainage = np.cumsum(run)
    if mirrored_about_m is not None:
        chainage, level, accuracy, offset = 2 * mirrored_about_m - chainage[::-1], level[::-1], accuracy[::-1], -offset[::-1]
    return BRIDGE.table("picks")(chainage_m=chainage, level_m=level, pick_accuracy_m=accuracy, offset_m=offset)


@FEW
@given(rows=layers, at=st.floats(0.05, 0.95), place=st.integers(0, 4), water=st.floats(0, 12), depth=st.floats(0, 40))
def test_splitting_a_layer_changes_no_stress(rows: list[tuple[float, float, float, float]], at: float, place: int, water: float, depth: float) -> None:
    split = place % len(rows)
    thickness, *values = rows[split]
    parts = [*rows[:split], (thickness * at, *values), (thickness * (1 - at), *values), *rows[split + 1 :]]
    one, two = (STRESS(layers=weight_table(table), water_table_depth_m=water, depth_m=depth) for table in (rows, parts))
    assert abs(one.total_vertical_stress_kpa - two.total_vertical_stress_kpa) < 1e-9
    first, second = (AQUITARD(layers=permeable_table(table), top_level_m=0, head_above_m=5, head_below_m=-3, level_m=-depth) for table in (rows, parts))
    assert abs(first.head_m - second.head_m) < 1e-9
    np.testing.assert_allclose(first.flux_m_s, second.flux_m_s, rtol=1e-12)


@FEW
@given(rows=layers, place=st.integers(0, 5), water=st.floats(0, 12), depth=st.floats(0, 40), odd_weight=st.floats(12, 27))
def test_a_layer_without_thickness_changes_nothing(
    rows: list[tuple[float, float, float, float]], place: int, water: float, depth: float, odd_weight: float
) -> None:
    """Not even as the last one, whose place it is to reach down without limit."""
    added = [*rows[: place % (len(rows) + 1)], (0.0, odd_weight, 0.0, -12.0), *rows[place % (len(rows) + 1) :]]
    plain, padded = (STRESS(layers=weight_table(table), water_table_depth_m=water, depth_m=depth) for table in (rows, added))
    assert plain.total_vertical_stress_kpa == padded.total_vertical_stress_kpa
    for method, inputs in ((ALONG, {}), (AQUITARD, {"top_level_m": 0, "head_above_m": 5, "head_below_m": -3, "level_m": -depth})):
        one, two = (method(layers=permeable_table(table), **inputs).as_dict() for table in (rows, added))
        for name, value in one.items():
            np.testing.assert_allclose(two[name], value, rtol=1e-12, err_msg=name)


@FEW
@given(stations=st.lists(layers, min_size=2, max_size=4), water=st.floats(0, 6), depth=st.floats(1, 30))
def test_stations_together_are_as_stations_alone(stations: list[list[tuple[float, float, float, float]]], water: float, depth: float) -> None:
    longest = max(len(rows) for rows in stations)
    padded = np.array([[*rows, *[(0.0, np.nan, np.nan, np.nan)] * (longest - len(rows))] for rows in stations])
    table = STRESS.table("layers")(thickness_m=padded[..., 0], unit_weight_kn_m3=padded[..., 1], unit_weight_saturated_kn_m3=padded[..., 1] + padded[..., 2])
    together = STRESS(layers=table, water_table_depth_m=water, depth_m=np.full(len(stations), depth))
    alone = [float(STRESS(layers=weight_table(rows), water_table_depth_m=water, depth_m=depth).total_vertical_stress_kpa) for rows in stations]
    np.testing.assert_allclose(together.total_vertical_stress_kpa, alone, rtol=1e-12)


heights = st.lists(st.floats(-5, 5), min_size=1, max_size=5).map(lambda values: sorted(values, reverse=True))


@FEW
@given(values=heights, diameter=st.floats(4, 9), place=st.integers(0, 4))
def test_shares_of_the_face_add_up_and_a_unit_without_thickness_has_none(values: list[float], diameter: float, place: int) -> None:
    boundaries = FACE.table("boundaries")
    plain = FACE(excavation_diameter_m=diameter, boundaries=boundaries(height_above_axis_m=values))
    assert abs(plain.fractions.sum() - 1) < 1e-12
    assert np.all(plain.fractions >= -1e-15)
    moments = np.where(np.isnan(plain.centroid_heights_m), 0, plain.centroid_heights_m) * plain.areas_m2
    assert abs(moments.sum()) < 1e-9
    at = place % len(values)
    doubled = FACE(excavation_diameter_m=diameter, boundaries=boundaries(height_above_axis_m=[*values[: at + 1], *values[at:]]))
    np.testing.assert_array_equal(np.delete(doubled.fractions, at + 1), plain.fractions)
    assert abs(doubled.mixed_face_entropy - plain.mixed_face_entropy) < 1e-12


@FEW
@given(height=st.floats(-3, 3), slope=st.floats(-1, 1), diameter=st.floats(4, 9))
def test_the_face_looks_the_same_from_behind(height: float, slope: float, diameter: float) -> None:
    boundaries = FACE.table("boundaries")
    ahead, behind = (FACE(excavation_diameter_m=diameter, boundaries=boundaries(height_above_axis_m=[height], slope=[way * slope])) for way in (1, -1))
    upside_down = FACE(excavation_diameter_m=diameter, boundaries=boundaries(height_above_axis_m=[-height], slope=[slope]))
    np.testing.assert_array_equal(ahead.fractions, behind.fractions)
    np.testing.assert_allclose(upside_down.fractions[::-1], ahead.fractions, atol=1e-12)


@FEW
@given(rows=picks, wanted=st.lists(st.floats(-50, 800), min_size=1, max_size=6), slope=st.floats(0.005, 0.3))
def test_driving_the_other_way_meets_the_same_boundary(rows: list[tuple[float, float, float, float]], wanted: list[float], slope: float) -> None:
    places = np.array(wanted)
    models = (
        (BRIDGE, {"semivariogram_slope_m": slope}),
        (SIMPLE, {"mean_level_m": 25.0, "standard_deviation_m": 2.0, "range_m": 40.0}),
        (UNIVERSAL, {"standard_deviation_m": 2.0, "range_m": 40.0, "trend": "slope"}),
    )
    for method, inputs in models:
        there = method(picks=pick_table(rows), chainage_m=places, **inputs)
        back = method(picks=pick_table(rows, mirrored_about_m=300.0), chainage_m=600.0 - places, **inputs)
        np.testing.assert_allclose(back.level_mean_m, there.level_mean_m, rtol=1e-9, atol=1e-8, err_msg=method.id)
        np.testing.assert_allclose(back.level_standard_deviation_m, there.level_standard_deviation_m, rtol=1e-9, atol=1e-7, err_msg=method.id)


@FEW
@given(rows=picks)
def test_an_exact_pick_on_the_axis_is_honoured(rows: list[tuple[float, float, float, float]]) -> None:
    exact = pick_table([(run, level, 0.0, 0.0) for run, level, _, _ in rows])
    models = (
        (BRIDGE, {}),
        (SIMPLE, {"mean_level_m": 25.0, "standard_deviation_m": 2.0, "range_m": 40.0}),
        (UNIVERSAL, {"standard_deviation_m": 2.0, "range_m": 40.0, "trend": "mean"}),
    )
    for method, inputs in models:
        found = method(picks=exact, chainage_m=exact.chainage_m, **inputs)
        np.testing.assert_allclose(found.level_mean_m, exact.level_m, rtol=1e-9, err_msg=method.id)
        np.testing.assert_allclose(found.level_standard_deviation_m, 0, atol=1e-6, err_msg=method.id)


@FEW
@given(rows=picks, wanted=st.floats(0, 700))
def test_one_more_pick_never_widens_a_kriged_boundary(rows: list[tuple[float, float, float, float]], wanted: float) -> None:
    known = {"chainage_m": wanted, "mean_level_m": 25.0, "standard_deviation_m": 2.0, "range_m": 40.0}
    few, more = SIMPLE(picks=pick_table(rows[:-1]), **known), SIMPLE(picks=pick_table(rows), **known)
    assert more.level_standard_deviation_m <= few.level_standard_deviation_m + 1e-9


@FEW
@given(mean=st.floats(-12, 12), spread=st.floats(0, 6), diameter=st.floats(4, 9), least=st.floats(0.01, 0.49))
def test_probabilities_of_a_boundary_add_up_and_mirror(mean: float, spread: float, diameter: float, least: float) -> None:
    known = {"boundary_standard_deviation_m": spread, "excavation_diameter_m": diameter}
    in_face = METHODS["ground.boundary_in_face.normal"](boundary_mean_above_axis_m=mean, **known)
    assert abs(in_face.probability_in_face + in_face.probability_above_face + in_face.probability_below_face - 1) < 1e-12
    share = METHODS["ground.face_fraction.normal_boundary"]
    up, down = (share(boundary_mean_above_axis_m=way * mean, least_fraction=least, **known) for way in (1, -1))
    assert abs(up.upper_fraction_mean + down.upper_fraction_mean - 1) < 1e-9
    assert abs(up.upper_fraction_5 + down.upper_fraction_95 - 1) < 1e-12
    assert abs(up.mixed_probability - down.mixed_probability) < 1e-12
    assert up.upper_fraction_5 <= up.upper_fraction_50 <= up.upper_fraction_95


@FEW
@given(length=st.floats(1e-4, 500), scale=st.floats(0.5, 60))
def test_averaging_over_more_reduces_more(length: float, scale: float) -> None:
    for name in ("markov", "squared_exponential"):
        method = METHODS[f"ground.variance_reduction.{name}"]
        short, long = (float(method(averaging_length_m=factor * length, fluctuation_scale_m=scale).variance_reduction) for factor in (1.0, 1.3))
        assert 0 < long <= short <= 1 + 1e-12, name


@FEW
@given(bearing=st.floats(0, 6.28), run=st.floats(1, 399), offset=st.floats(-40, 40))
def test_a_hole_beside_a_straight_axis_is_found_where_it_was_put(bearing: float, run: float, offset: float) -> None:
    method = METHODS["ground.borehole.projection"]
    forward, right = np.array([np.sin(bearing), np.cos(bearing)]), np.array([np.cos(bearing), -np.sin(bearing)])
    line = np.linspace(0, 400, 9)[:, None] * forward
    hole = run * forward + offset * right
    found = method(axis=method.table("axis")(easting_m=line[:, 0], northing_m=line[:, 1]), easting_m=hole[0], northing_m=hole[1], start_chainage_m=50)
    assert abs(found.chainage_m - 50 - run) < 1e-9
    assert abs(found.offset_m - offset) < 1e-9
