"""What must hold of any machine: balances of forces, monotone limits, answers that undo each other."""

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from tunnelwright.engineering import load_methods
from tunnelwright.vocabulary.method import METHODS

load_methods()
SETTINGS = settings(max_examples=25, deadline=None, derandomize=True)
GROUPS = [0.0, 65.0, 115.0, 180.0, 245.0, 295.0]


def ram_areas(areas: list[float]) -> object:
    table = METHODS["machine.steering.group_pressures"].table("groups")
    return table(ram_area_m2=areas, clock_angle_rad=np.radians(GROUPS), half_angle_rad=np.full(6, 0.4))


@SETTINGS
@given(
    areas=st.lists(st.floats(0.2, 0.6), min_size=6, max_size=6),
    pressures=st.lists(st.floats(5e3, 3e4), min_size=6, max_size=6),
    radius=st.floats(1.5, 6.0),
)
def test_groups_give_back_the_moments_of_any_pressures(areas: list[float], pressures: list[float], radius: float) -> None:
    moments = METHODS["machine.steering.ram_moments"]
    forces = np.multiply(areas, pressures)
    pushed = moments(
        groups=moments.table("groups")(force_kn=forces, clock_angle_rad=np.radians(GROUPS), half_angle_rad=np.full(6, 0.4)), ram_circle_radius_m=radius
    )
    found = METHODS["machine.steering.group_pressures"](
        groups=ram_areas(areas),
        ram_circle_radius_m=radius,
        thrust_kn=pushed.thrust_kn,
        moment_nose_up_knm=pushed.moment_nose_up_knm,
        moment_nose_right_knm=pushed.moment_nose_right_knm,
        pressure_min_kpa=5e3,
        pressure_max_kpa=3e4,
    )
    assert float(found.feasible) == 1
    again = moments(
        groups=moments.table("groups")(force_kn=found.group_force_kn, clock_angle_rad=np.radians(GROUPS), half_angle_rad=np.full(6, 0.4)),
        ram_circle_radius_m=radius,
    )
    for name in ("thrust_kn", "moment_nose_up_knm", "moment_nose_right_knm"):
        assert float(getattr(again, name)) == pytest.approx(float(getattr(pushed, name)), abs=1e-6 * float(pushed.thrust_kn))
    # The pressures that were there meet the wish too, so the most even ones spread no more.
    assert np.std(found.group_pressure_kpa) <= np.std(pressures) * (1 + 1e-7) + 1e-6


@SETTINGS
@given(up=st.floats(-8e4, 8e4), right=st.floats(-8e4, 8e4))
def test_groups_stay_within_their_bounds_whatever_is_asked(up: float, right: float) -> None:
    found = METHODS["machine.steering.group_pressures"](
        groups=ram_areas([0.4] * 6),
        ram_circle_radius_m=3.0,
        thrust_kn=30000,
        moment_nose_up_knm=up,
        moment_nose_right_knm=right,
        pressure_min_kpa=3e3,
        pressure_max_kpa=2.5e4,
    )
    assert np.all(found.group_pressure_kpa >= 3e3 - 1e-6)
    assert np.all(found.group_pressure_kpa <= 2.5e4 + 1e-6)
    largest = np.hypot(up, right) / 3.0
    assert float(found.feasible) == 1 or largest > 5000


@SETTINGS
@given(
    pressure=st.floats(50, 600),
    more=st.floats(0, 200),
    gradient=st.floats(-0.06, 0.06),
    adhesion=st.floats(0, 80),
    breakaway=st.floats(1.0, 1.5),
)
def test_thrust_is_the_sum_of_its_parts_and_grows_with_the_face(pressure: float, more: float, gradient: float, adhesion: float, breakaway: float) -> None:
    shield = {
        "shield_outer_diameter_m": 6.6,
        "shield_length_m": 9.5,
        "shield_weight_kn": 3400,
        "friction_coefficient": 0.25,
        "effective_vertical_stress_kpa": 180,
        "effective_horizontal_stress_kpa": 90,
        "backup_weight_kn": 2200,
        "gradient": gradient,
        "adhesion_kpa": adhesion,
        "breakaway_factor": breakaway,
    }
    of = METHODS["machine.thrust.component_sum"]
    one, other = of(face_pressure_axis_kpa=pressure, **shield), of(face_pressure_axis_kpa=pressure + more, **shield)
    area = METHODS["machine.thrust.face_pressure"](face_pressure_axis_kpa=1.0, shield_outer_diameter_m=6.6).face_thrust_kn
    assert float(other.thrust_required_kn - one.thrust_required_kn) == pytest.approx(float(area) * more, abs=1e-6)
    drained = METHODS["machine.thrust.skin_drained"](**{name: shield[name] for name in METHODS["machine.thrust.skin_drained"].inputs})
    assert float(one.skin_friction_kn) >= float(drained.skin_friction_kn) - 1e-9


@SETTINGS
@given(penetration=st.floats(0.1, 39.0), radius=st.floats(150, 260), strength=st.floats(30, 250), spacing=st.floats(60, 110))
def test_a_disc_force_gives_its_penetration_back(penetration: float, radius: float, strength: float, spacing: float) -> None:
    rock = {"disc_radius_mm": radius, "tip_width_mm": 15, "compressive_strength_mpa": strength, "tensile_strength_mpa": strength / 12, "spacing_mm": spacing}
    force = METHODS["machine.disc_force.csm_rostami_1997"](penetration_mm_rev=penetration, **rock)
    back = METHODS["machine.disc_force.csm_penetration"](normal_force_kn=force.normal_force_kn, **rock)
    assert float(back.penetration_mm_rev) == pytest.approx(penetration, rel=1e-9)


@SETTINGS
@given(shape=st.floats(1.2, 5.0), scale=st.floats(80, 900), count=st.integers(1, 40), reliability=st.floats(0.05, 0.999))
def test_an_interval_has_the_reliability_asked_for(shape: float, scale: float, count: int, reliability: float) -> None:
    interval = METHODS["machine.tool_life.weibull_interval"](
        life_scale_km=scale, life_shape=shape, tool_count=count, reliability=reliability, tool_radius_m=3, penetration_mm_rev=25
    )
    survival = METHODS["machine.tool_life.weibull_survival"](life_scale_km=scale, life_shape=shape, tool_count=count, tool_path_km=interval.tool_path_km)
    assert float(survival.survival_all) == pytest.approx(reliability, rel=1e-9)
    assert float(interval.drive_length_m) == pytest.approx(
        float(METHODS["machine.tool.drive_length"](tool_life_km=interval.tool_path_km, tool_radius_m=3, penetration_mm_rev=25).drive_length_m)
    )


@SETTINGS
@given(paths=st.lists(st.floats(20, 800), min_size=6, max_size=30), factor=st.floats(0.2, 5.0), data=st.data())
def test_a_life_fit_follows_the_unit_of_its_paths(paths: list[float], factor: float, data: st.DataObject) -> None:
    failed = data.draw(st.lists(st.sampled_from([0.0, 1.0]), min_size=len(paths), max_size=len(paths)))
    assume(sum(failed) >= 1)
    fit = METHODS["machine.tool_life.weibull_censored"]
    table = fit.table("tool_records")
    one = fit(tool_records=table(tool_path_km=paths, failed=failed))
    other = fit(tool_records=table(tool_path_km=np.multiply(paths, factor), failed=failed))
    np.testing.assert_allclose(other.life_shape, one.life_shape, rtol=1e-6)
    np.testing.assert_allclose(other.life_scale_km, factor * one.life_scale_km, rtol=1e-6)


@SETTINGS
@given(share=st.floats(0.0, 1.0), fines=st.floats(0.0, 1.0), permeability=st.floats(1e-9, 0.05), head=st.floats(0, 1200))
def test_a_criterion_more_never_makes_a_machine_suit_better(share: float, fines: float, permeability: float, head: float) -> None:
    of = METHODS["machine.suitability.grading_permeability_head"]
    for machine_type in ("epb plain", "epb conditioned", "slurry"):
        known = {"machine_type": machine_type, "fines_ratio": fines, "permeability_m_s": permeability, "water_head_kpa": head}
        with_stones = of(**known, stone_size_m=share, screw_diameter_m=0.9)
        assert float(with_stones.suitability_class) <= float(of(**known).suitability_class)
        assert str(with_stones.deciding_criterion) != "none"


@SETTINGS
@given(radius=st.floats(40, 2000), length=st.floats(2, 14), diameter=st.floats(2, 15))
def test_a_straight_shield_fits_the_overcut_it_asks_for(radius: float, length: float, diameter: float) -> None:
    found = METHODS["machine.overcut.rigid_chord"](curve_radius_m=radius, shield_outer_diameter_m=diameter, shield_length_m=length)
    corner = np.hypot(radius + diameter / 2, length / 2)
    assert corner - (radius - diameter / 2) == pytest.approx(diameter + float(found.overcut_mm) / 1000, abs=1e-9)
    assert float(found.tail_offset_mm) >= float(found.overcut_mm)
