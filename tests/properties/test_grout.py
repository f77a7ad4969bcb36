"""What must hold of grout in any annulus: limits, and answers that undo each other."""

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from tunnelwright.engineering import load_methods
from tunnelwright.vocabulary.method import METHODS

load_methods()
SETTINGS = settings(max_examples=25, deadline=None, derandomize=True)
SLOT = {"mean_radius_m": 3.4, "annulus_thickness_m": 0.14, "grout_unit_weight_kn_m3": 19.0}


@SETTINGS
@given(flow=st.floats(0.1, 30.0), yield_kpa=st.floats(0.0, 1.0), viscosity=st.floats(1e-5, 5e-3))
def test_a_line_takes_at_least_its_start_and_its_viscous_loss(flow: float, yield_kpa: float, viscosity: float) -> None:
    line = METHODS["grout.flow.line_pressure_loss"]
    pipe = {"grout_flow_m3_h": flow, "pipe_diameter_m": 0.06, "pipe_length_m": 50.0}
    found = line(**pipe, yield_stress_kpa=yield_kpa, plastic_viscosity_kpa_s=viscosity)
    viscous = line(**pipe, yield_stress_kpa=0.0, plastic_viscosity_kpa_s=viscosity)
    assert float(found.pressure_loss_kpa) >= max(float(found.start_pressure_kpa), float(viscous.pressure_loss_kpa)) * (1 - 1e-9)
    # 4/3 of the start pressure plus the viscous loss leaves out a term that only lowers it.
    assert float(found.pressure_loss_kpa) <= float(found.pressure_loss_approximate_kpa) * (1 + 1e-9)


@SETTINGS
@given(tau=st.floats(0.05, 1.0), upper=st.floats(0.2, 1.2), apart=st.floats(0.3, 1.7), lead=st.floats(-0.9, 0.9))
def test_grout_of_two_ports_meets_where_both_say_the_same(tau: float, upper: float, apart: float, lead: float) -> None:
    between, plug = METHODS["grout.pressure.between_ports"], METHODS["grout.pressure.plug_flow"]
    lower = upper + apart
    drag = 2 * tau * 3.4 / 0.14
    high, low = 250.0, 250.0 + 19.0 * 3.4 * (np.cos(upper) - np.cos(lower)) - lead * drag * apart
    ports = {"upper_clock_angle_rad": upper, "upper_pressure_kpa": high, "lower_clock_angle_rad": lower, "lower_pressure_kpa": low}
    found = between(**SLOT, yield_stress_kpa=tau, **ports)
    meet = float(found.meeting_clock_angle_rad)
    assert meet == pytest.approx((upper + lower) / 2 + lead * apart / 2)
    for angle, pressure in ((upper, high), (lower, low)):
        along = plug(**SLOT, yield_stress_kpa=tau, port_clock_angle_rad=angle, port_pressure_kpa=pressure, clock_angle_rad=[meet])
        assert float(along.grout_pressure_kpa[0]) == pytest.approx(float(found.meeting_pressure_kpa), rel=1e-9)


@SETTINGS
@given(share=st.floats(1e-4, 0.999), radius=st.floats(1.5, 8.0), stiffness=st.floats(5e3, 2e5), excess=st.floats(20.0, 400.0), cake=st.floats(0.30, 0.41))
def test_time_and_state_of_bleeding_grout_undo_each_other(share: float, radius: float, stiffness: float, excess: float, cake: float) -> None:
    time, state = METHODS["grout.consolidation.time"], METHODS["grout.consolidation.state"]
    mortar = {
        "hole_radius_m": radius, "unload_shear_modulus_kpa": stiffness, "initial_excess_pressure_kpa": excess, "cake_permeability_m_s": 1e-8,
        "initial_porosity": 0.42, "cake_porosity": cake, "annulus_thickness_m": 0.15,
    }  # fmt: skip
    bounds = time(**mortar, expelled_depth_m=1e-6)
    depth_m = share * min(float(bounds.expelled_depth_limit_m), float(bounds.balance_depth_m))
    after_s = float(time(**mortar, expelled_depth_m=depth_m).time_s)
    assume(np.isfinite(after_s))
    found = state(**mortar, time_s=[0.0, after_s, 1e9])
    assert found.expelled_depth_m[0] == 0.0
    assert found.expelled_depth_m[1] == pytest.approx(depth_m, rel=1e-6)
    assert found.expelled_depth_m[2] == pytest.approx(min(float(bounds.expelled_depth_limit_m), float(bounds.balance_depth_m)), rel=1e-6)
    assert np.all(np.diff(found.excess_pressure_kpa) < 0)


@SETTINGS
@given(weight=st.floats(10.0, 23.0), thickness=st.floats(0.08, 0.3), backup=st.floats(0.0, 60.0), concrete=st.floats(20.0, 27.0))
def test_grout_with_the_holding_yield_stress_holds(weight: float, thickness: float, backup: float, concrete: float) -> None:
    uplift = METHODS["grout.uplift.fresh"]
    ring = {
        "ring_outer_diameter_m": 6.7, "ring_inner_diameter_m": 6.0, "annulus_thickness_m": thickness, "grout_unit_weight_kn_m3": weight,
        "backup_weight_kn_m": backup, "concrete_unit_weight_kn_m3": concrete,
    }  # fmt: skip
    tau = float(uplift(**ring).holding_yield_stress_kpa)
    held = uplift(**ring, yield_stress_kpa=tau)
    assert float(held.net_uplift_kn_m) == pytest.approx(0.0, abs=1e-9)
    if tau > 0:
        assert float(uplift(**ring, yield_stress_kpa=0.9 * tau).net_uplift_kn_m) > 0


@SETTINGS
@given(grout=st.floats(0.0, 12.0), loss=st.floats(0.0, 0.2), line=st.floats(0.0, 0.3))
def test_what_is_missing_and_what_is_too_much_exclude_each_other(grout: float, loss: float, line: float) -> None:
    found = METHODS["grout.loss.tail_void"](
        excavation_diameter_m=6.95, ring_outer_diameter_m=6.7, ring_length_m=1.5, grout_volume_m3=grout, loss_ratio=loss, line_volume_m3=line
    )
    net = METHODS["grout.volume.net"](grout_volume_m3=grout, loss_ratio=loss, line_volume_m3=line)
    annulus = METHODS["grout.volume.annulus"](excavation_diameter_m=6.95, ring_outer_diameter_m=6.7, ring_length_m=1.5)
    bore_m3 = np.pi / 4 * 6.95**2 * 1.5
    balance_m3 = float(found.volume_loss) * bore_m3 - float(found.overfill_m3)
    assert balance_m3 == pytest.approx(float(annulus.annulus_volume_m3) - float(net.net_volume_m3), abs=1e-9)
    assert min(float(found.volume_loss), float(found.overfill_m3)) == 0.0


@SETTINGS
@given(volumes=st.lists(st.floats(0.1, 2.0), min_size=4, max_size=8), scale=st.floats(0.2, 5.0), turn=st.integers(0, 7))
def test_port_shares_know_neither_amount_nor_order(volumes: list[float], scale: float, turn: int) -> None:
    check = METHODS["grout.check.ring"]
    angle, volume = np.linspace(-2.7, 2.6, len(volumes)), np.array(volumes)

    def checked(angles: np.ndarray, amounts: np.ndarray, annulus: float) -> object:
        return check(annulus_volume_m3=annulus, fill_factor=1.3, ports=check.table("ports")(clock_angle_rad=angles, grout_volume_m3=amounts))

    plain = checked(angle, volume, 4.0)
    other = checked(np.roll(angle, turn) + 2 * np.pi * (np.arange(len(volume)) % 2), np.roll(volume, turn) * scale, 4.0 * scale)
    for name in ("grout_ratio", "smallest_port_share", "largest_port_share", "upper_share", "left_right_difference"):
        assert float(getattr(other, name)) == pytest.approx(float(getattr(plain, name)), rel=1e-9, abs=1e-12)
    assert float(plain.smallest_port_share) <= 1 <= float(plain.largest_port_share) + 1e-12
