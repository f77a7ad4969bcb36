"""What must hold of muck in any ground and machine: balances, limits, and answers that undo each other."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tunnelwright.engineering import load_methods
from tunnelwright.vocabulary.method import METHODS

load_methods()
SETTINGS = settings(max_examples=25, deadline=None, derandomize=True)
RING = {"excavation_diameter_m": 6.65, "stroke_m": 1.5, "density_t_m3": 2.05}


@SETTINGS
@given(diameter=st.floats(2.0, 16.0), heights=st.lists(st.floats(-10.0, 10.0), min_size=1, max_size=6), lower=st.floats(0.0, 3.0))
def test_layers_fill_the_face_whatever_their_boundaries(diameter: float, heights: list[float], lower: float) -> None:
    areas = METHODS["muck.volume.layer_areas"]
    falling = sorted(heights, reverse=True)
    found = areas(excavation_diameter_m=diameter, boundary_heights_m=falling)
    assert found.layer_area_m2.sum() == pytest.approx(np.pi / 4 * diameter**2)
    sunk = areas(excavation_diameter_m=diameter, boundary_heights_m=np.array(falling) - lower)
    assert sunk.layer_area_m2[0] >= found.layer_area_m2[0] - 1e-9
    turned = areas(excavation_diameter_m=diameter, boundary_heights_m=-np.array(falling[::-1]))
    np.testing.assert_allclose(turned.layer_area_m2, found.layer_area_m2[::-1], atol=1e-9)


@SETTINGS
@given(grain=st.floats(2.5, 2.8), void_ratio=st.floats(0.2, 2.0), saturation=st.floats(0.05, 1.0))
def test_any_pair_of_phases_gives_the_same_soil(grain: float, void_ratio: float, saturation: float) -> None:
    phases = METHODS["muck.density.phase_relations"]
    one = phases(grain_density_t_m3=grain, void_ratio=void_ratio, saturation=saturation)
    other = phases(grain_density_t_m3=grain, porosity=float(one.porosity), water_content=float(one.water_content))
    for name in ("density_t_m3", "dry_density_t_m3", "void_ratio", "saturation"):
        assert float(getattr(other, name)) == pytest.approx(float(getattr(one, name)), rel=1e-9)


@SETTINGS
@given(factor=st.floats(0.1, 5.0), foam=st.floats(0.0, 0.8), water=st.floats(0.0, 10.0))
def test_twice_the_stroke_is_twice_of_everything(factor: float, foam: float, water: float) -> None:
    volume, mixing, mass = METHODS["muck.volume.geometry"], METHODS["muck.foam.efnarc_2005"], METHODS["muck.mass.expected"]

    def of(scale: float) -> tuple[float, float, float]:
        cut = volume(excavation_diameter_m=6.65, stroke_m=1.5 * scale)
        dose = mixing(
            excavated_volume_m3=cut.excavated_volume_m3,
            foam_injection_ratio=foam,
            foam_expansion_ratio=12,
            surfactant_concentration=0.02,
            chamber_pressure_kpa=120,
        )
        out = mass(
            density_t_m3=2.05,
            water_content=0.2,
            excavated_volume_m3=cut.excavated_volume_m3,
            solution_volume_m3=dose.solution_volume_m3,
            added_water_t=water * scale,
        )
        return float(cut.excavated_volume_m3), float(dose.free_air_volume_m3), float(out.muck_mass_t)

    np.testing.assert_allclose(of(factor), factor * np.array(of(1.0)), rtol=1e-12, atol=1e-200)


@SETTINGS
@given(first=st.floats(0.0, 0.03), second=st.floats(0.0, 0.03), third=st.floats(0.0, 0.03))
def test_independent_spreads_add_in_squares(first: float, second: float, third: float) -> None:
    spread = METHODS["muck.mass.expected_uncertainty"]
    together = spread(**RING, density_sd_ratio=first, weigher_sd_ratio=second, stroke_sd_mm=1500 * third)
    apart = [spread(**RING, **one) for one in ({"density_sd_ratio": first}, {"weigher_sd_ratio": second}, {"stroke_sd_mm": 1500 * third})]
    assert float(together.muck_mass_sd_t) ** 2 == pytest.approx(sum(float(one.muck_mass_sd_t) ** 2 for one in apart), rel=1e-9, abs=1e-18)


@SETTINGS
@given(excess=st.floats(-15.0, 15.0), factor=st.floats(0.9, 1.1))
def test_an_excess_that_was_put_in_is_found(excess: float, factor: float) -> None:
    found = METHODS["muck.excess.single_ring"](
        measured_mass_t=factor * (110.0 + 2.05 * excess), expected_mass_t=110.0, density_t_m3=2.05, excavated_volume_m3=52.0, weigher_scale_factor=factor
    )
    assert float(found.muck_excess_m3) == pytest.approx(excess, rel=1e-9, abs=1e-9)


@SETTINGS
@given(pressure=st.floats(150.0, 500.0), share=st.floats(0.05, 0.4), inflow=st.floats(-1.5, 1.0))
def test_gas_that_is_pressed_and_let_go_comes_back(pressure: float, share: float, inflow: float) -> None:
    step = METHODS["muck.chamber.volume_step"]
    change = float(step(absolute_pressure_kpa=pressure, chamber_volume_m3=40.0, gas_share=share, net_inflow_m3=inflow).pressure_change_kpa)
    back = step(absolute_pressure_kpa=pressure + change, chamber_volume_m3=40.0, gas_share=share - inflow / 40.0, net_inflow_m3=-inflow)
    assert float(back.pressure_change_kpa) == pytest.approx(-change, rel=1e-9, abs=1e-9)


@settings(max_examples=8, deadline=None, derandomize=True)
@given(rate=st.floats(5.0, 60.0), speed=st.floats(0.0, 4.0), leak=st.floats(0.0, 1e-4), cut_s=st.floats(20.0, 160.0))
def test_a_spell_cut_in_two_is_the_same_spell(rate: float, speed: float, leak: float, cut_s: float) -> None:
    """Conservation, K26: the way the steps are written down changes neither pressure nor gas."""
    balance = METHODS["muck.chamber.gas_balance"]
    chamber = {
        "absolute_pressure_kpa": 300.0, "chamber_volume_m3": 40.0, "gas_share": 0.2, "face_area_m2": 30.0, "volume_per_turn_m3": 0.28,
        "screw_efficiency": 0.75, "leak_conductance_m3_s_kpa": leak, "leak_reference_pressure_kpa": 250.0,
    }  # fmt: skip
    spells = [np.array([180.0]), np.array([cut_s, 180.0 - cut_s])]
    whole, parts = (
        balance(steps=balance.table("steps")(duration_s=one, screw_speed_rpm=np.full(len(one), speed), advance_rate_mm_min=np.full(len(one), rate)), **chamber)
        for one in spells
    )
    np.testing.assert_allclose(parts.absolute_pressures_kpa, whole.absolute_pressures_kpa, rtol=1e-7)
    assert float(parts.gas_share_end) == pytest.approx(float(whole.gas_share_end), rel=1e-7)


def test_volume_of_soil_follows_the_flows() -> None:
    """With a closed screw the gas loses exactly what the face gains: 30 m2 at 60 mm/min over 50 s are 1.5 m3."""
    balance = METHODS["muck.chamber.gas_balance"]
    found = balance(
        steps=balance.table("steps")(duration_s=50.0, screw_speed_rpm=0.0, advance_rate_mm_min=60.0),
        absolute_pressure_kpa=300.0, chamber_volume_m3=40.0, gas_share=0.2, face_area_m2=30.0, volume_per_turn_m3=0.28, screw_efficiency=0.75,
    )  # fmt: skip
    assert float(found.gas_share_end) == pytest.approx((8.0 - 1.5) / 40.0, rel=1e-9)


@SETTINGS
@given(shear=st.floats(0.5, 20.0), length=st.floats(2.0, 20.0), pressure=st.floats(50.0, 400.0), angle=st.floats(0.0, 0.5))
def test_a_plug_as_long_as_needed_leaves_nothing(shear: float, length: float, pressure: float, angle: float) -> None:
    plug = METHODS["muck.screw.plug_shear"]
    given_screw = {"entry_pressure_kpa": pressure, "wall_shear_kpa": shear, "screw_diameter_m": 0.9, "density_t_m3": 1.8, "rise_angle_rad": angle}
    needed_m = float(plug(**given_screw, screw_length_m=length).plug_length_needed_m)
    assert float(plug(**given_screw, screw_length_m=needed_m).gate_pressure_kpa) == pytest.approx(0.0, abs=1e-9)
    assert float(plug(**given_screw, screw_length_m=0.9 * needed_m).gate_pressure_kpa) == pytest.approx(0.1 * pressure, rel=1e-6)


@settings(max_examples=12, deadline=None, derandomize=True)
@given(rings=st.integers(1, 12), trucks=st.floats(0.0, 150.0), days=st.integers(1, 9))
def test_the_pit_never_holds_more_than_came(rings: int, trucks: float, days: int) -> None:
    pit = METHODS["muck.logistics.pit_simulation"]
    calendar = {"work_start_h": 0, "work_end_h": 24, "work_days_per_week": 7, "truck_start_h": 7, "truck_end_h": 17, "truck_days_per_week": 5}
    found = pit(loose_volume_per_ring_m3=80.0, ring_interval_s=86400.0 / rings, truck_rate_m3_h=trucks, day_count=days, **calendar)
    faster = pit(loose_volume_per_ring_m3=80.0, ring_interval_s=86400.0 / rings, truck_rate_m3_h=trucks + 20.0, day_count=days, **calendar)
    assert float(faster.pit_peak_m3) <= float(found.pit_peak_m3) <= 80.0 * rings * days + 1e-6
    assert float(faster.pit_end_m3) <= float(found.pit_end_m3) <= float(found.pit_peak_m3)
