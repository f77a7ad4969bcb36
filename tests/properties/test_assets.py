"""What must hold of assets whatever the drive: tilt is no damage, mirrors change nothing, answers undo each other, bounds are kept."""

from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from tunnelwright.engineering import load_methods
from tunnelwright.engineering.assets.zones import cut_lines
from tunnelwright.vocabulary.method import METHODS

load_methods()
SETTINGS = settings(max_examples=20, deadline=None, derandomize=True)
FACADE = METHODS["assets.building.facade_straight_drives"]
BEAM = METHODS["assets.building.burland_wroth_1974"]
DRIVES = FACADE.table("drives")
ends = st.tuples(st.floats(-25.0, 25.0), st.floats(-25.0, 25.0))
zones = st.sampled_from(("hogging", "sagging"))


def drive(loss: float = 0.01, offset: float = 0.0, face: float | None = None) -> dict[str, float | None]:
    return {
        "axis_offset_m": offset, "axis_depth_m": 18.0, "excavation_diameter_m": 6.6, "volume_loss": loss, "trough_width_factor": 0.5,
        "settlement_ratio_at_face": 0.25, "face_chainage_m": face,
    }  # fmt: skip


def strained(first: tuple[float, float], last: tuple[float, float], rows: list[dict[str, float | None]], **more: Any) -> Any:
    place = {"start_chainage_m": first[0], "start_offset_m": first[1], "end_chainage_m": last[0], "end_offset_m": last[1], "height_m": 9.0}
    return FACADE(**place, drives=DRIVES.from_rows(rows), **more)


@SETTINGS
@given(tilt=st.floats(-0.02, 0.02), level=st.floats(0.002, 0.05), stretch=st.floats(-1e-3, 1e-3), length=st.floats(4.0, 60.0))
def test_a_house_that_sinks_and_tilts_is_not_bent(tilt: float, level: float, stretch: float, length: float) -> None:
    distance = np.linspace(0.0, length, 41)
    samples = METHODS["assets.zone.cut_line"].table("samples")(
        distance_m=distance, settlement_m=level + abs(tilt) * length + tilt * distance, horizontal_displacement_m=stretch * distance
    )
    found = METHODS["assets.zone.cut_line"](samples=samples)
    assert found.zone.size == 1
    assert found.deflection_m == pytest.approx([0.0], abs=1e-12)
    assert found.horizontal_strain == pytest.approx([stretch], abs=1e-12)


@SETTINGS
@given(first=ends, last=ends, offset=st.floats(-8.0, 8.0), face=st.floats(-30.0, 30.0))
def test_a_mirror_and_a_turned_line_change_no_strain(first: tuple[float, float], last: tuple[float, float], offset: float, face: float) -> None:
    assume(np.hypot(first[0] - last[0], first[1] - last[1]) > 3.0)
    found = strained(first, last, [drive(offset=offset, face=face)])
    mirrored = strained((first[0], -first[1]), (last[0], -last[1]), [drive(offset=-offset, face=face)])
    turned = strained(last, first, [drive(offset=offset, face=face)])
    assert mirrored.tensile_strain == pytest.approx(found.tensile_strain, rel=1e-6, abs=1e-12)
    assert turned.tensile_strain == pytest.approx(found.tensile_strain, rel=1e-6, abs=1e-12)
    assert turned.damage_category == found.damage_category


@SETTINGS
@given(first=ends, last=ends, loss=st.floats(0.002, 0.02), factor=st.floats(1.1, 3.0))
def test_strain_of_a_line_that_is_not_cut_off_is_linear_in_the_loss(first: tuple[float, float], last: tuple[float, float], loss: float, factor: float) -> None:
    assume(np.hypot(first[0] - last[0], first[1] - last[1]) > 3.0)
    single = strained(first, last, [drive(loss)], limiting_settlement_m=0.0)
    assert strained(first, last, [drive(loss * factor)], limiting_settlement_m=0.0).tensile_strain == pytest.approx(factor * single.tensile_strain, rel=1e-9)
    both = strained(first, last, [drive(loss), drive(loss)], limiting_settlement_m=0.0)
    assert both.tensile_strain == pytest.approx(2 * single.tensile_strain, rel=1e-9)


@SETTINGS
@given(first=ends, last=ends, face=st.floats(-40.0, 40.0))
def test_the_worst_stage_is_no_better_than_any_other(first: tuple[float, float], last: tuple[float, float], face: float) -> None:
    assume(np.hypot(first[0] - last[0], first[1] - last[1]) > 3.0)
    place = {"start_chainage_m": first[0], "start_offset_m": first[1], "end_chainage_m": last[0], "end_offset_m": last[1], "height_m": 9.0}
    worst = METHODS["assets.building.facade_worst_stage"](**place, drives=DRIVES.from_rows([drive(face=face)]))
    there = strained(first, last, [drive(face=float(worst.face_chainage_m))])
    assert there.tensile_strain == pytest.approx(worst.tensile_strain, rel=1e-9)
    # The sweep goes in steps of a twentieth of the width and is refined about the best of them only.
    assert float(strained(first, last, [drive(face=face)]).tensile_strain) <= float(worst.tensile_strain) * 1.005 + 1e-12


@SETTINGS
@given(first=ends, last=ends, limit=st.floats(3e-4, 3e-3))
def test_the_permitted_loss_brings_the_strain_to_its_limit(first: tuple[float, float], last: tuple[float, float], limit: float) -> None:
    assume(abs(first[1] - last[1]) > 3.0)
    place = {"start_chainage_m": first[0], "start_offset_m": first[1], "end_chainage_m": last[0], "end_offset_m": last[1], "height_m": 9.0}
    factor = float(
        METHODS["assets.building.permitted_volume_loss"](
            **place, drives=DRIVES.from_rows([drive()]), limiting_settlement_m=0.0, limiting_tensile_strain=limit
        ).volume_loss_factor
    )
    assume(np.isfinite(factor))
    assert float(strained(first, last, [drive(0.01 * factor)], limiting_settlement_m=0.0).tensile_strain) == pytest.approx(limit, rel=1e-6)


@SETTINGS
@given(seed=st.integers(0, 2**32 - 1), limit=st.floats(0.0, 0.01))
def test_zones_cover_what_moves_and_do_not_overlap(seed: int, limit: float) -> None:
    rng = np.random.default_rng(seed)
    distance = np.linspace(0.0, 40.0, 401)
    waves = rng.uniform(0.1, 0.5, (5, 3, 1))
    size = rng.uniform(0.0, 0.01, (5, 3, 1))
    settlement = np.sum(size * np.sin(waves * distance + 6 * waves), axis=1)
    curvature = np.sum(-size * waves**2 * np.sin(waves * distance + 6 * waves), axis=1)
    found = cut_lines(distance, settlement, 0 * settlement, curvature, limit)
    for line in range(5):
        starts, stops = found.start_m[found.line == line], found.end_m[found.line == line]
        assert np.all(starts[1:] >= stops[:-1] - 1e-9)
        moved_m = np.mean(np.abs(settlement[line]) >= limit) * 40.0
        assert np.sum(stops - starts) == pytest.approx(moved_m, abs=0.1 * (2 * starts.size + 2))


@SETTINGS
@given(
    zone=zones, length=st.floats(2.0, 50.0), height=st.floats(3.0, 30.0), stretch=st.floats(0.0, 1e-3), limit=st.floats(2e-4, 3e-3), ratio=st.floats(0.3, 20.0)
)
def test_the_limiting_deflection_gives_the_limiting_strain(zone: str, length: float, height: float, stretch: float, limit: float, ratio: float) -> None:
    wall = {"zone": zone, "zone_length_m": length, "height_m": height, "horizontal_strain": stretch, "young_shear_ratio": ratio}
    allowed = METHODS["assets.building.limiting_deflection_ratio"](**wall, limiting_tensile_strain=limit).deflection_ratio
    if stretch >= limit:
        assert allowed == 0
        return
    found = BEAM(**wall, deflection_ratio=allowed)
    assert found.tensile_strain == pytest.approx(limit, rel=1e-9)
    over_height = METHODS["assets.building.principal_strain_height"](**wall, deflection_ratio=allowed)
    assert limit * (1 - 1e-9) <= float(over_height.tensile_strain) <= float(found.bending_total_strain + found.diagonal_total_strain)


@SETTINGS
@given(stiffness=st.floats(1e3, 1e9), spring=st.floats(1e3, 1e5), start=st.floats(-20.0, 5.0), length=st.floats(8.0, 40.0))
def test_a_stiffer_building_is_bent_less_and_keeps_the_mean(stiffness: float, spring: float, start: float, length: float) -> None:
    method = METHODS["assets.building.beam_on_springs"]
    troughs = method.table("troughs")(trough_volume_m3_m=[0.34, 0.3], trough_width_m=[9.0, 8.0], axis_offset_m=[0.0, 14.0])
    line = {"troughs": troughs, "start_offset_m": start, "end_offset_m": start + length, "spring_stiffness_kpa": spring}
    soft, stiff = (method(**line, bending_stiffness_knm2=one) for one in (stiffness, 30 * stiffness))
    assert stiff.tilt == pytest.approx(soft.tilt, abs=1e-12)
    assert stiff.mean_settlement_m == pytest.approx(soft.mean_settlement_m)
    # The chord runs through the ends, which move too, so deflection is not strictly ordered; a fifth is room enough.
    assert float(stiff.deflection_m) <= max(float(soft.deflection_m), float(soft.greenfield_deflection_m)) * 1.2 + 1e-9


@SETTINGS
@given(ratio=st.floats(1e-4, 300.0), factor=st.floats(1.05, 5.0))
def test_a_stiffer_pipe_takes_less_curvature(ratio: float, factor: float) -> None:
    soft, stiff = (METHODS["assets.pipe.curvature_factor"](stiffness_ratio=one) for one in (ratio, factor * ratio))
    for name in ("sag_curvature_factor", "hog_curvature_factor", "settlement_factor"):
        assert 0 < float(getattr(stiff, name)) < float(getattr(soft, name)) <= 1 + 1e-9


@SETTINGS
@given(seed=st.integers(1, 10**6), loss_sd=st.floats(0.05, 0.6), factor_sd=st.floats(0.0, 0.3), tie=st.floats(-1.0, 1.0))
def test_the_same_seed_gives_the_same_chances_and_worse_is_rarer(seed: int, loss_sd: float, factor_sd: float, tie: float) -> None:
    method = METHODS["assets.building.probability_monte_carlo"]
    given_inputs = {
        "start_chainage_m": 0.0, "start_offset_m": -6.0, "end_chainage_m": 6.0, "end_offset_m": 18.0, "height_m": 9.0,
        "drives": DRIVES.from_rows([drive(0.02)]),
        "volume_loss_log_sd": loss_sd, "trough_width_factor_log_sd": factor_sd, "correlation": tie, "sample_count": 60, "seed": seed,
    }  # fmt: skip
    first, second = method(**given_inputs), method(**given_inputs)
    chances = [float(getattr(first, f"probability_{number}_or_worse")) for number in range(1, 5)]
    assert chances == [float(getattr(second, f"probability_{number}_or_worse")) for number in range(1, 5)]
    assert chances == sorted(chances, reverse=True)
    assert float(first.tensile_strain_p05) <= float(first.tensile_strain_p50) <= float(first.tensile_strain_p95)
