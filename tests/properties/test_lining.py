"""What must hold of any lining: balance, limits, and answers that agree with each other."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tunnelwright.engineering import load_methods
from tunnelwright.engineering.lining.frame import meshed, ring_frame
from tunnelwright.engineering.lining.settle import Bedding, Loaded, linear_joint, settled
from tunnelwright.vocabulary.method import METHODS

load_methods()
SETTINGS = settings(max_examples=25, deadline=None, derandomize=True)
FEW = settings(max_examples=8, deadline=None, derandomize=True)
RING = {"centroid_radius_m": 3.0, "lining_thickness_m": 0.3, "concrete_modulus_mpa": 30000.0}
GROUND = {"young_modulus_kpa": 5e4, "poisson_ratio": 0.3, "total_vertical_stress_kpa": 300.0}


@SETTINGS
@given(stiffness=st.floats(2e3, 1e6), poisson=st.floats(0.0, 0.49), lateral=st.floats(0.3, 2.5), limit=st.floats(0.0, 200.0))
def test_limited_shear_lies_between_slip_and_bond(stiffness: float, poisson: float, lateral: float, limit: float) -> None:
    ground = {**GROUND, "young_modulus_kpa": stiffness, "poisson_ratio": poisson, "lateral_coefficient": lateral}
    found = METHODS["lining.forces.curtis_1976"](**ground, **RING, shear_limit_kpa=limit)
    slip, bond = float(found.moment_amplitude_full_slip_knm_m), float(found.moment_amplitude_no_slip_knm_m)
    assert min(slip, bond) - 1e-9 <= float(found.moment_amplitude_limited_knm_m) <= max(slip, bond) + 1e-9
    sibling = METHODS["lining.forces.duddeck_erdmann_1985"](**ground, **RING)
    assert [float(sibling.moment_amplitude_full_slip_knm_m), float(sibling.moment_amplitude_no_slip_knm_m)] == pytest.approx([slip, bond], rel=1e-9)


@SETTINGS
@given(stiffness=st.floats(2e3, 3e5), poisson=st.floats(0.0, 0.45), lateral=st.floats(0.3, 0.9))
def test_extensible_and_inextensible_ring_agree_while_the_ring_hardly_shortens(stiffness: float, poisson: float, lateral: float) -> None:
    ground = {**GROUND, "young_modulus_kpa": stiffness, "poisson_ratio": poisson, "lateral_coefficient": lateral}
    rigid, soft = METHODS["lining.forces.curtis_1976"](**ground, **RING), METHODS["lining.forces.einstein_schwartz_1979"](**ground, **RING)
    for name in ("moment_amplitude_full_slip_knm_m", "moment_amplitude_no_slip_knm_m"):
        assert float(getattr(soft, name)) == pytest.approx(float(getattr(rigid, name)), rel=0.02)


@SETTINGS
@given(axial=st.floats(0.0, 0.95), steel=st.floats(0.0, 3e-3), fibre=st.floats(0.0, 2.0), strength=st.floats(25.0, 85.0))
def test_a_load_on_the_curve_is_used_to_one_both_ways(axial: float, steel: float, fibre: float, strength: float) -> None:
    resistance = METHODS["lining.section.resistance"]
    section = {"lining_thickness_m": 0.35, "cylinder_strength_mpa": strength, "steel_area_m2_m": steel, "fibre_tension_mpa": fibre}
    squash = float(resistance(**section, hoop_force_kn_m=0.0).axial_resistance_kn_m)
    force = (0.02 + axial) * squash
    moment = float(resistance(**section, hoop_force_kn_m=force).moment_resistance_knm_m)
    found = resistance(**section, hoop_force_kn_m=force, moment_knm_m=moment)
    assert [float(found.utilisation), float(found.ray_utilisation)] == pytest.approx([1.0, 1.0], rel=1e-6)
    inside = resistance(**section, hoop_force_kn_m=0.9 * force, moment_knm_m=0.9 * moment)
    assert float(inside.ray_utilisation) == pytest.approx(0.9, rel=1e-6)


@SETTINGS
@given(force=st.floats(50.0, 4000.0), share=st.floats(0.0, 0.495), height=st.floats(0.1, 0.5))
def test_a_joint_turns_more_with_more_moment_and_stays_in_balance(force: float, share: float, height: float) -> None:
    joint = METHODS["lining.joint.rotation_janssen_1983"]
    inputs = {"hoop_force_kn_m": force, "contact_height_m": height, "concrete_modulus_mpa": 30000.0}
    moment = share * force * height
    found, more = joint(**inputs, moment_knm_m=moment), joint(**inputs, moment_knm_m=1.01 * moment)
    assert float(more.joint_rotation_rad) >= float(found.joint_rotation_rad)
    assert float(found.secant_stiffness_knm_rad) * float(found.joint_rotation_rad) == pytest.approx(moment, rel=1e-9)
    if share > 1 / 6:
        assert float(found.edge_stress_mpa) * 1000 * float(found.compressed_height_m) / 2 == pytest.approx(force, rel=1e-9)


@FEW
@given(mean=st.floats(100, 400), radial=st.floats(-60, 60), bedding=st.floats(2e3, 6e4), turn=st.integers(0, 11))
def test_turned_loads_on_a_uniform_ring_turn_the_answer(mean: float, radial: float, bedding: float, turn: int) -> None:
    ring = METHODS["lining.forces.bedded_ring"]
    loads = {"radial_mean_kpa": mean, "tangential_amplitude_kpa": 0.5 * radial, "bedding_kn_m3": bedding}
    angle = np.radians(30.0 * np.arange(4) + turn)
    found = ring(**RING, **loads, radial_amplitude_kpa=radial, clock_angle_rad=angle)
    mirrored = ring(**RING, **loads, radial_amplitude_kpa=radial, clock_angle_rad=2 * np.pi - angle)
    opposite = ring(**RING, **loads, radial_amplitude_kpa=radial, clock_angle_rad=angle + np.pi)
    assert mirrored.moment_knm_m == pytest.approx(found.moment_knm_m, rel=1e-3, abs=1e-6 + 0.01 * abs(radial))
    assert opposite.moment_knm_m == pytest.approx(found.moment_knm_m, rel=1e-3, abs=1e-6 + 0.01 * abs(radial))


@FEW
@given(radial=st.floats(10, 60), tangential=st.floats(-60, 60), bedding=st.floats(0.0, 6e4))
def test_springs_that_pull_give_the_closed_form(radial: float, tangential: float, bedding: float) -> None:
    ring = METHODS["lining.forces.bedded_ring"](
        **RING,
        bedding_kn_m3=bedding,
        radial_mean_kpa=300.0,
        radial_amplitude_kpa=radial,
        tangential_amplitude_kpa=tangential,
        tension_bedding="on",
        clock_angle_rad=[0.0],
    )
    closed = METHODS["lining.forces.bedded_two_way"](
        radial_load_amplitude_kpa=radial,
        tangential_load_amplitude_kpa=tangential,
        centroid_radius_m=3.0,
        bending_stiffness_knm2_m=67500.0,
        bedding_kn_m3=bedding,
    )
    assert float(ring.moment_knm_m[0]) == pytest.approx(float(closed.moment_amplitude_knm_m), rel=0.01, abs=0.02 * radial)


def test_a_stiff_and_a_soft_ring_tied_together_share_moment_as_their_stiffness() -> None:
    mesh = meshed(np.empty(0), np.empty(0))
    bedding = Bedding(radial_kn_m3=2e4, tangential_kn_m3=0.0, bedded_share=np.ones(mesh.node_count), pulls=True)
    rings = []
    for bending in (67500.0, 33750.0):
        frame = ring_frame(mesh, 3.0, 9e6, bending)
        load = frame.load(240 + 60 * np.cos(2 * mesh.angle_rad), 60 * np.sin(2 * mesh.angle_rad))
        rings.append(Loaded(frame=frame, load=load, bedding=bedding, joint=linear_joint(0.0)))
    balance = settled(rings, 1e9)
    assert balance is not None
    first, second = balance
    assert first.radial_m == pytest.approx(second.radial_m, abs=1e-8)
    assert first.moment_knm_m[0] / second.moment_knm_m[0] == pytest.approx(2.0, rel=1e-3)


@SETTINGS
@given(bending=st.floats(1e5, 1e8), length=st.floats(1.0, 20.0), bed=st.floats(1e3, 1e6))
def test_a_softer_bed_never_eases_the_tail(bending: float, length: float, bed: float) -> None:
    string = METHODS["lining.flotation.ring_string"]
    inputs = {"longitudinal_stiffness_knm2": bending, "uplift_kn_m": 300.0, "fresh_length_m": length}
    stiff, soft = string(**inputs, bedding_kn_m2=bed), string(**inputs, bedding_kn_m2=bed / 2)
    assert float(soft.moment_tail_knm) >= float(stiff.moment_tail_knm) * (1 - 1e-9)
    assert float(soft.uplift_displacement_m) >= float(stiff.uplift_displacement_m) * (1 - 1e-9)
