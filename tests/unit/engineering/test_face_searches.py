"""Behaviour of the face searches that the evidence register cannot state: blocks, samples, padding, ties, inner faults."""

import itertools
import math

import numpy as np
import pytest

from tunnelwright.engineering.face.angle import SAMPLE_SEARCH
from tunnelwright.engineering.face.epb import fit_chamber_line
from tunnelwright.engineering.face.segments import best_segments
from tunnelwright.engineering.face.silo import SiloLayers
from tunnelwright.engineering.face.wedge import FaceLayers, search_slip_angle, wedge_slices
from tunnelwright.engineering.face.window import LocalSupport, partial_factors
from tunnelwright.vocabulary.calculate import calculate
from tunnelwright.vocabulary.remark import InputRefused
from tunnelwright.vocabulary.sheet import sheet_of


def many_places(count: int, seed: int = 3) -> tuple[SiloLayers, FaceLayers]:
    """Return random ground of many places: eight layers of cover, four of a face of 7 m."""
    rng = np.random.default_rng(seed)
    cover = SiloLayers(
        thickness_m=rng.uniform(0.5, 3, (count, 8)),
        effective_unit_weight_kn_m3=rng.uniform(9, 19, (count, 8)),
        cohesion_kpa=rng.uniform(0, 10, (count, 8)),
        friction_angle_rad=rng.uniform(0.35, 0.66, (count, 8)),
    )
    face = FaceLayers(
        thickness_m=rng.dirichlet(np.ones(4), count) * 7,
        effective_unit_weight_kn_m3=rng.uniform(9, 12, (count, 4)),
        cohesion_kpa=rng.uniform(0, 10, (count, 4)),
        friction_angle_rad=rng.uniform(0.35, 0.66, (count, 4)),
    )
    return cover, face


def one_place(table: SiloLayers | FaceLayers, at: int) -> SiloLayers | FaceLayers:
    return type(table)(**{name: getattr(table, name)[at] for name in table.columns()})


def test_many_places_at_once_are_the_places_one_by_one() -> None:
    cover, face = many_places(950)
    together = wedge_slices(7.0, cover, face, 10.0)
    for at in (0, 399, 400, 801, 949):
        alone = wedge_slices(7.0, one_place(cover, at), one_place(face, at), 10.0)
        np.testing.assert_allclose(together.effective_support_pressure_kpa[at], alone.effective_support_pressure_kpa, rtol=1e-10)
        np.testing.assert_allclose(together.slice_normal_min_kn[at], alone.slice_normal_min_kn, rtol=1e-6, atol=1e-6)
        np.testing.assert_allclose(together.local_wedges.effective_support_pressure_kpa[at], alone.local_wedges.effective_support_pressure_kpa, rtol=1e-10)


def test_the_search_of_samples_is_close_to_the_full_one_and_takes_a_leading_axis() -> None:
    cover, face = many_places(600)
    full = search_slip_angle(cover, face, 7.0, surcharge_kpa=10.0)
    quick = search_slip_angle(cover, face, 7.0, surcharge_kpa=10.0, search=SAMPLE_SEARCH)
    np.testing.assert_allclose(quick.effective_support_pressure_kpa, full.effective_support_pressure_kpa, rtol=1e-3, atol=1e-4)
    loads = np.linspace(0, 30, 4)[:, None]
    sampled = search_slip_angle(cover, face, 7.0, surcharge_kpa=loads, local=False)
    assert sampled.effective_support_pressure_kpa.shape == (4, 600)
    np.testing.assert_allclose(
        sampled.effective_support_pressure_kpa[1], search_slip_angle(cover, face, 7.0, surcharge_kpa=10.0).effective_support_pressure_kpa
    )


def test_padded_rows_may_hold_anything_and_make_no_partial_wedge() -> None:
    cover = SiloLayers(
        thickness_m=[4.0, 10.0, 0.0], effective_unit_weight_kn_m3=[18.0, 10.0, np.nan], cohesion_kpa=[0, 0, np.nan], friction_angle_rad=[0.56, 0.56, np.nan]
    )
    face = FaceLayers(
        thickness_m=[[0.0, 4.0, 6.0, 0.0], [10.0, 0.0, 0.0, 0.0]],
        effective_unit_weight_kn_m3=[[np.nan, 9.5, 10.5, np.nan], [10.5, np.nan, np.nan, np.nan]],
        cohesion_kpa=[[np.nan, 0, 0, np.nan], [0, np.nan, np.nan, np.nan]],
        friction_angle_rad=[[np.nan, 0.47, 0.66, np.nan], [0.61, np.nan, np.nan, np.nan]],
    )
    found = wedge_slices(10.0, cover, face, 10.0)
    assert np.all(np.isfinite(found.effective_support_pressure_kpa))
    assert np.all(np.isfinite(found.slice_normal_min_kn))
    np.testing.assert_array_equal(found.local_wedges.height_m, [[4.0], [np.nan]])


def test_a_second_summit_behind_a_kink_is_found() -> None:
    """Cohesion empties the silo above some angle: the value has a kink there, and the search must not stop at the wrong side."""
    rng = np.random.default_rng(11)
    for _ in range(40):
        held, depth, angle = rng.uniform(5, 40), rng.uniform(2, 30), rng.uniform(0.2, 0.6)
        cover = SiloLayers(thickness_m=[depth], effective_unit_weight_kn_m3=[18.0], cohesion_kpa=[held], friction_angle_rad=[0.5])
        face = FaceLayers(thickness_m=[8.0], effective_unit_weight_kn_m3=[10.0], cohesion_kpa=[2.0], friction_angle_rad=[angle])
        found = search_slip_angle(cover, face, 8.0, surcharge_kpa=20.0)
        grid = np.linspace(angle + math.radians(1), math.radians(89), 4000)
        worst = float(np.max(search_slip_angle(cover, face, 8.0, surcharge_kpa=20.0, slip_angle_rad=grid).effective_support_pressure_kpa))
        assert worst <= float(found.effective_support_pressure_kpa) + 1e-6 * (1 + abs(worst))


def test_places_without_a_partial_wedge_keep_their_other_rules() -> None:
    local = LocalSupport(height_m=[[4.0], [np.nan]], effective_support_pressure_kpa=[[30.0], [np.nan]], pore_pressure_kpa=[[120.0], [np.nan]])
    found = partial_factors(10.0, np.array([15.0, 15.0]), 11781.0, 100.0, 12.0, 10.0, local_wedges=local)
    assert found.governing.tolist() == ["local wedge", "wedge"]
    np.testing.assert_allclose(found.required_face_pressure_crown_kpa, [1.5 * 30 + 1.05 * 120 - 24, 1.5 * 15 + 1.05 * 11781 / (25 * math.pi) - 60])


def test_of_equal_costs_the_fewer_changes_win() -> None:
    """A change that costs nothing and gains nothing is not made."""
    found = best_segments(np.array([100.0, 100.0]), np.array([140.0, 140.0]), np.array([122.5, 122.5]), 0.0, 5.0, 10.0, 200)
    assert (found.first_ring.tolist(), found.last_ring.tolist()) == ([1.0], [2.0])


def test_of_two_targets_as_near_the_one_with_more_margin_wins() -> None:
    near_the_top = best_segments(np.array([90.0]), np.array([127.0]), np.array([122.5]), 4.0, 5.0, 10.0, 200)
    near_the_bottom = best_segments(np.array([118.0]), np.array([160.0]), np.array([122.5]), 4.0, 5.0, 10.0, 200)
    assert (near_the_top.segment_target_kpa[0], near_the_bottom.segment_target_kpa[0]) == (120.0, 125.0)


@pytest.mark.parametrize("seed", range(6))
def test_segments_cost_no_more_than_the_best_of_all_ways(seed: int) -> None:
    rng = np.random.default_rng(seed)
    low = 100 + rng.uniform(0, 30, 7)
    high, wanted = low + rng.uniform(12, 60, 7), low + rng.uniform(0, 12, 7)
    best = math.inf
    for breaks in itertools.product((False, True), repeat=6):
        edges = [0, *(place + 1 for place, here in enumerate(breaks) if here), 7]
        total = 1.5 * (len(edges) - 2)
        for first, stop in itertools.pairwise(edges):
            fits = [5.0 * k for k in range(60) if max(low[first:stop]) <= 5.0 * k <= min(high[first:stop])]
            total += min((float(np.sum(np.square((p - wanted[first:stop]) / 10))) for p in fits), default=math.inf)
        best = min(best, total)
    np.testing.assert_allclose(best_segments(low, high, wanted, 1.5, 5.0, 10.0, 200).cost, best, rtol=1e-9)


def test_chamber_lines_of_many_pushes_leave_dead_sensors_out() -> None:
    depth = np.array([1.0, 3.0, 5.0, 7.0, 9.0])
    pressure = np.stack([116 + 12 * depth, np.where(depth == 5, np.nan, 100 + 14 * depth), np.where(depth > 3, np.nan, 90 + 10 * depth)])
    line = fit_chamber_line(depth, pressure)
    np.testing.assert_allclose(line.gradient_kn_m3, [12.0, 14.0, np.nan])
    np.testing.assert_allclose(line.crown_kpa, [116.0, 100.0, np.nan])


def test_faults_of_the_inner_method_come_out_by_name() -> None:
    with pytest.raises(InputRefused) as refusal:
        calculate(
            "face.window_probability.form",
            {
                "limit_method": "face.effective_support.vermeer_2002",
                "fixed_inputs": {"excavation_diameter_m": 80.0, "cohesion_kpa": -2.0},
                "random_inputs": [{"name": "friction_angle_deg", "law": "lognormal_on_tangent", "mean": 32.0, "coefficient_of_variation": 0.1}],
                "support_pressure_kpa": 10.0,
            },
        )
    assert {fault.field for fault in refusal.value.faults} == {"excavation_diameter_m", "cohesion_kpa", "effective_unit_weight_kn_m3"}


def test_one_more_random_input_does_not_change_the_samples_of_the_others() -> None:
    def mean(*extra: dict[str, object]) -> float:
        first = {"name": "cohesion_kpa", "law": "lognormal", "mean": 4.0, "coefficient_of_variation": 0.4}
        inputs = {
            "limit_method": "face.effective_support.vermeer_2002",
            "fixed_inputs": {"excavation_diameter_m": 8.0, "friction_angle_deg": 32.0} | ({} if extra else {"effective_unit_weight_kn_m3": 10.0}),
            "random_inputs": [first, *extra],
            "support_pressure_kpa": 6.0,
            "sample_count": 2000,
        }
        return float(calculate("face.window_probability.monte_carlo", inputs).record.limit_mean_kpa)

    alone = mean()
    almost_fixed = mean({"name": "effective_unit_weight_kn_m3", "law": "normal", "mean": 10.0, "coefficient_of_variation": 1e-6})
    np.testing.assert_allclose(almost_fixed, alone, rtol=1e-5)


def test_sheet_of_a_search_shows_the_extreme_between_its_neighbours_and_a_given_angle_as_given() -> None:
    rows = [{"thickness_m": 14.0, "effective_unit_weight_kn_m3": 10.0, "cohesion_kpa": 0.0, "friction_angle_deg": 32.0}]
    inputs = {"excavation_diameter_m": 10.0, "effective_unit_weight_kn_m3": 10.5, "cohesion_kpa": 0.0, "friction_angle_deg": 35.0, "layers": rows}
    searched = [line for line in sheet_of(calculate("face.effective_support.wedge_silo", inputs)) if "slip angle" in line.how or "neighbour" in line.how]
    assert len(searched) == 3
    assert {line.name for line in searched} == {"effective_support_pressure_kpa"}
    assert searched[1].value > max(searched[0].value, searched[2].value)
    given = sheet_of(calculate("face.effective_support.wedge_silo", {**inputs, "slip_angle_deg": 60.0}))
    assert [line.how for line in given if line.name == "slip_angle_rad"] == ["as given"]


def test_sheet_of_the_window_without_partial_wedges_shows_the_rule_worked_out() -> None:
    inputs = {
        "excavation_diameter_m": 10.0,
        "effective_support_pressure_kpa": 15.5,
        "water_force_kn": 11781.0,
        "pore_pressure_crown_kpa": 100.0,
        "support_unit_weight_kn_m3": 12.0,
        "pressure_allowance_kpa": 10.0,
    }
    lines = [line for line in sheet_of(calculate("face.window_partial_factors.daub_2016", inputs)) if line.name == "required_face_pressure_crown_kpa"]
    assert len(lines) == 1
    assert "max(" in lines[0].numbers
