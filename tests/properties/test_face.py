"""What must hold for any face, whatever the ground."""

import math

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from tunnelwright.engineering.face.air import air_limits
from tunnelwright.engineering.face.segments import best_segments
from tunnelwright.engineering.face.siblings import vermeer
from tunnelwright.engineering.face.silo import SiloLayers, janssen_silo
from tunnelwright.engineering.face.slurry import mean_excess_share, required_excess, transfer_share
from tunnelwright.engineering.face.undrained import davis_lower
from tunnelwright.engineering.face.wedge import FaceLayers, wedge_silo, wedge_slices
from tunnelwright.engineering.face.window import partial_factors, window_limits

few = settings(max_examples=25, derandomize=True, deadline=None, database=None)
diameter = st.floats(3.0, 16.0)
weight = st.floats(8.0, 20.0)
cohesion = st.floats(0.0, 15.0)
friction = st.floats(math.radians(15), math.radians(42))
lateral = st.floats(0.5, 1.3)
layer = st.tuples(st.floats(0.5, 15.0), weight, cohesion, friction, lateral)
cover = st.lists(layer, min_size=1, max_size=4)
surcharge = st.floats(0.0, 60.0)
SLACK = 1e-7


def silo_layers(rows: list[tuple[float, ...]]) -> SiloLayers:
    thickness, unit_weight, held, angle, side = (np.array(column) for column in zip(*rows, strict=True))
    return SiloLayers(thickness_m=thickness, effective_unit_weight_kn_m3=unit_weight, cohesion_kpa=held, friction_angle_rad=angle, lateral_coefficient=side)


def face_layers(rows: list[tuple[float, float, float, float]], height: float) -> FaceLayers:
    thickness, unit_weight, held, angle = (np.array(column) for column in zip(*rows, strict=True))
    return FaceLayers(thickness_m=thickness * height / thickness.sum(), effective_unit_weight_kn_m3=unit_weight, cohesion_kpa=held, friction_angle_rad=angle)


def support(size: float, rows: list[tuple[float, ...]], ground: tuple[float, float, float], load: float, **options: object) -> float:
    return float(wedge_silo(size, silo_layers(rows), *ground, load, **options).effective_support_pressure_kpa)


@few
@given(diameter, cover, weight, cohesion, friction, surcharge)
def test_strength_lowers_the_support_and_load_raises_it(
    size: float, rows: list[tuple[float, ...]], unit_weight: float, held: float, angle: float, load: float
) -> None:
    base = support(size, rows, (unit_weight, held, angle), load)
    least = base - SLACK * (1 + abs(base))
    most = base + SLACK * (1 + abs(base))
    assert support(size, rows, (unit_weight, held, angle), load + 20) >= least
    assert support(size, [(h, w + 1, c, p, k) for h, w, c, p, k in rows], (unit_weight, held, angle), load) >= least
    assert support(size, rows, (unit_weight, held + 3, angle), load) <= most
    assert support(size, [(h, w, c + 3, p, k) for h, w, c, p, k in rows], (unit_weight, held, angle), load) <= most
    assert support(size, [(h, w, c, p, k + 0.2) for h, w, c, p, k in rows], (unit_weight, held, angle), load) <= most
    assert support(size, rows, (unit_weight, held, angle), load, side_coefficient=0.6) <= support(
        size, rows, (unit_weight, held, angle), load, side_coefficient=0.4
    ) + SLACK * (1 + abs(base))
    assert support(size, rows, (unit_weight, held, angle), load, side_stress="full") <= most


@few
@given(diameter, cover, weight, st.floats(0.0, 4.0), friction, surcharge)
def test_friction_of_the_face_lowers_the_support_when_the_side_coefficient_is_held(
    size: float, rows: list[tuple[float, ...]], unit_weight: float, held: float, angle: float, load: float
) -> None:
    """The support that has to be given falls with friction; the raw value need not.

    On a given plane and with given side shear dE / dphi has the sign of minus the normal force, so a raw value rises with friction where the plane is
    in tension. That happens only below zero: a wedge that needs support always presses on its plane.
    """
    weaker = max(0.0, support(size, rows, (unit_weight, held, angle), load, side_coefficient=0.4))
    stronger = max(0.0, support(size, rows, (unit_weight, held, angle + 0.05), load, side_coefficient=0.4))
    assert stronger <= weaker + SLACK * (1 + weaker)
    assert stronger < weaker or weaker == 0


@few
@given(diameter, cover, weight, cohesion, friction, surcharge, st.floats(0.5, 2.0))
def test_support_scales_with_the_stresses(
    size: float, rows: list[tuple[float, ...]], unit_weight: float, held: float, angle: float, load: float, factor: float
) -> None:
    base = support(size, rows, (unit_weight, held, angle), load)
    larger = support(size, [(h, w * factor, c * factor, p, k) for h, w, c, p, k in rows], (unit_weight * factor, held * factor, angle), load * factor)
    np.testing.assert_allclose(larger, base * factor, rtol=1e-8, atol=1e-8)


@few
@given(diameter, cover, st.lists(st.tuples(st.floats(0.5, 5.0), weight, cohesion, friction), min_size=1, max_size=3), surcharge, st.floats(0.1, 0.9))
def test_splitting_a_layer_or_adding_one_without_thickness_changes_nothing(
    size: float, rows: list[tuple[float, ...]], face: list[tuple[float, float, float, float]], load: float, share: float
) -> None:
    plain = wedge_slices(size, silo_layers(rows), face_layers(face, size), load)
    (h, *rest), (thick, *ground) = rows[0], face[-1]
    split_cover = silo_layers([(h * share, *rest), (h * (1 - share), *rest), *rows[1:], (0.0, 10.0, 0.0, 0.0, 1.0)])
    split_face = face_layers([(0.0, 10.0, 0.0, 0.0), *face[:-1], (thick * share, *ground), (thick * (1 - share), *ground), (0.0, 9.0, 0.0, 0.1)], size)
    split = wedge_slices(size, split_cover, split_face, load)
    np.testing.assert_allclose(split.effective_support_pressure_kpa, plain.effective_support_pressure_kpa, rtol=1e-8, atol=1e-8)
    assert plain.local_wedges.row_count == len(face) - 1
    np.testing.assert_allclose(
        split.local_wedges.effective_support_pressure_kpa[: len(face) - 1], plain.local_wedges.effective_support_pressure_kpa, rtol=1e-8, atol=1e-8
    )


@few
@given(diameter, cover, weight, cohesion, friction, surcharge)
def test_a_uniform_face_in_slices_is_the_plain_wedge(
    size: float, rows: list[tuple[float, ...]], unit_weight: float, held: float, angle: float, load: float
) -> None:
    plain = wedge_silo(size, silo_layers(rows), unit_weight, held, angle, load)
    sliced = wedge_slices(size, silo_layers(rows), face_layers([(1.0, unit_weight, held, angle), (2.0, unit_weight, held, angle)], size), load)
    np.testing.assert_allclose(sliced.effective_support_pressure_kpa, plain.effective_support_pressure_kpa, rtol=1e-9, atol=1e-9)


@few
@given(diameter, cover, weight, cohesion, friction, surcharge)
def test_no_angle_of_a_fine_grid_asks_for_more(size: float, rows: list[tuple[float, ...]], unit_weight: float, held: float, angle: float, load: float) -> None:
    layers = silo_layers(rows)
    found = wedge_silo(size, layers, unit_weight, held, angle, load)
    grid = np.linspace(angle + math.radians(1), math.radians(89), 1500)
    worst = np.max(wedge_silo(size, layers, unit_weight, held, angle, load, slip_angle_rad=grid).effective_support_pressure_kpa)
    assert worst <= found.effective_support_pressure_kpa + 1e-6 * (1 + abs(worst))


@few
@given(cover, st.floats(2.0, 20.0), st.floats(1.0, 20.0), surcharge)
def test_silo_stress_lies_between_nothing_and_the_whole_weight(rows: list[tuple[float, ...]], width: float, length: float, load: float) -> None:
    layers = silo_layers(rows)
    whole = janssen_silo(layers, width, length, load, "off").silo_stress_kpa
    np.testing.assert_allclose(whole, load + np.sum(layers.thickness_m * layers.effective_unit_weight_kn_m3))
    assert 0 <= janssen_silo(layers, width, length, load).silo_stress_kpa <= whole + 1e-9


@few
@given(diameter, st.floats(-20.0, 60.0), st.floats(0.0, 2e4), st.floats(9.5, 22.0), st.floats(0.0, 40.0))
def test_crown_and_axis_differ_by_the_medium(size: float, effective: float, force: float, medium: float, allowance: float) -> None:
    found = partial_factors(size, effective, force, 0.0, medium, allowance, crown_water_rule="off")
    np.testing.assert_allclose(found.required_face_pressure_axis_kpa - found.required_face_pressure_crown_kpa, medium * size / 2, atol=1e-9)
    np.testing.assert_allclose(found.operating_lower_crown_kpa, found.required_face_pressure_crown_kpa + allowance)


@few
@given(st.floats(0.0, 400.0), st.floats(0.0, 400.0), st.floats(0.0, 50.0))
def test_window_width_falls_by_two_per_unit_of_allowance(low: float, high: float, allowance: float) -> None:
    narrow, wide = window_limits(low, high, allowance + 1), window_limits(low, high, allowance)
    np.testing.assert_allclose(wide.window_width_kpa - narrow.window_width_kpa, 2.0, atol=1e-9)
    np.testing.assert_allclose(wide.deficit_kpa, -wide.window_width_kpa)


@few
@given(diameter, st.floats(0.1, 60.0))
def test_the_lower_bound_is_the_greater_of_its_two_fields(size: float, depth: float) -> None:
    found = davis_lower(size, depth)
    assert found.critical_stability_number == min(9.0, max(found.critical_stability_number_sphere, found.critical_stability_number_cylinder))
    is_deep = depth / size > (math.e - 1) / 2
    assert bool(found.critical_stability_number_sphere > found.critical_stability_number_cylinder) == is_deep


@few
@given(diameter, st.floats(math.radians(10), math.radians(50)), st.floats(1.0, 300.0))
def test_share_runs_from_one_through_one_half_without_a_jump(size: float, omega: float, excess: float) -> None:
    length = size * math.tan(omega)
    assert transfer_share(size, omega, excess, 1e7).transfer_share > 1 - excess / 1e7 / length
    below, at, above = (float(transfer_share(size, omega, excess, excess / length * factor).transfer_share) for factor in (1 + 1e-9, 1.0, 1 - 1e-9))
    np.testing.assert_allclose([below, at, above], 0.5, atol=1e-8)


@few
@given(diameter, st.floats(math.radians(10), math.radians(50)), st.floats(2.0, 300.0), st.floats(0.05, 0.99))
def test_required_excess_brings_what_was_wanted(size: float, omega: float, gradient: float, share: float) -> None:
    wanted = share * gradient * size * math.tan(omega) / 2
    needed = float(required_excess(size, omega, gradient, wanted).excess_pressure_kpa)
    np.testing.assert_allclose(transfer_share(size, omega, needed, gradient).effective_excess_pressure_kpa, wanted, rtol=1e-9)


def test_excess_stands_in_full_on_a_vertical_plane() -> None:
    assert mean_excess_share(1e-4) > 0.9998
    assert np.all(np.diff(mean_excess_share(np.linspace(0.05, 1.2, 50))) < 0)


@few
@given(diameter, st.floats(0.0, 40.0), st.floats(9.5, 14.0), st.floats(0.0, 10.0))
def test_air_with_a_full_chamber_is_the_rule_of_the_slurry(size: float, effective: float, medium: float, table: float) -> None:
    axis = 12.0 + size / 2
    force = 9.81 * (axis - table) * math.pi / 4 * size**2
    slurry = partial_factors(size, effective, force, 0.0, medium, 0.0, crown_water_rule="off")
    full = air_limits(size, axis, table, -size / 2, medium, effective, 400.0)
    np.testing.assert_allclose(full.air_pressure_global_kpa, slurry.required_face_pressure_axis_kpa - medium * size / 2, rtol=1e-9, atol=1e-9)
    empty, deeper = air_limits(size, axis, table, size / 2, medium, effective, 400.0), air_limits(size, axis, table, size, 0.0, effective, 400.0)
    np.testing.assert_allclose(empty.air_pressure_global_kpa, deeper.air_pressure_global_kpa)
    np.testing.assert_allclose(empty.air_pressure_local_kpa, deeper.air_pressure_local_kpa)


@few
@given(st.lists(st.tuples(st.floats(80.0, 160.0), st.floats(-5.0, 60.0), st.floats(0.0, 1.0)), min_size=1, max_size=25), st.floats(0.0, 10.0))
def test_targets_stay_in_their_windows_and_rings_without_one_get_none(rings: list[tuple[float, float, float]], penalty: float) -> None:
    low, width, share = (np.array(column) for column in zip(*rings, strict=True))
    high = low + width
    found = best_segments(low, high, low + share * width, penalty, 5.0, 10.0, 200)
    is_open = low <= high
    assert np.array_equal(np.isnan(found.target_kpa), ~is_open)
    assert np.all(found.target_kpa[is_open] >= low[is_open] - 1e-6)
    assert np.all(found.target_kpa[is_open] <= high[is_open] + 1e-6)
    covered = np.concatenate([np.arange(first, last + 1) for first, last in zip(found.first_ring, found.last_ring, strict=True)] or [np.empty(0)])
    np.testing.assert_array_equal(covered, np.flatnonzero(is_open) + 1)


@few
@given(diameter, weight, cohesion, friction)
def test_the_fit_falls_with_strength(size: float, unit_weight: float, held: float, angle: float) -> None:
    base = vermeer(size, unit_weight, held, angle).effective_support_pressure_kpa
    assert vermeer(size, unit_weight, held + 1, angle).effective_support_pressure_kpa < base
