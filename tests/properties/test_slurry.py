"""What must hold of any slurry circuit: balances that close, laws that meet at their common limits, answers that undo each other."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tunnelwright.engineering import load_methods
from tunnelwright.vocabulary.method import METHODS

load_methods()
SETTINGS = settings(max_examples=25, deadline=None, derandomize=True)


@SETTINGS
@given(
    feed=st.floats(400, 2500),
    feed_density=st.floats(1.02, 1.25),
    area=st.floats(8, 150),
    rate=st.floats(5, 80),
    porosity=st.floats(0.2, 0.5),
    inflow=st.floats(0, 60),
    loss=st.floats(0, 60),
)
def test_the_balance_finds_what_the_circuit_was_given(
    feed: float, feed_density: float, area: float, rate: float, porosity: float, inflow: float, loss: float
) -> None:
    expected = METHODS["slurry.balance.expected"](face_area_m2=area, stroke_m=rate / 1000 * 30, grain_density_t_m3=2.65, porosity=porosity)
    ground = {"face_area_m2": area, "advance_rate_mm_min": rate, "density_t_m3": float(expected.muck_mass_t / expected.excavated_volume_m3)}
    for water, slurry in ((inflow, 0.0), (0.0, loss)):
        back = METHODS["slurry.circuit.return_stream"](
            feed_flow_m3_h=feed, feed_density_t_m3=feed_density, water_inflow_m3_h=water, slurry_loss_m3_h=slurry, **ground
        )
        columns = {
            "time_s": np.linspace(0, 1800, 7),
            "feed_flow_m3_h": np.full(7, feed),
            "return_flow_m3_h": np.full(7, float(back.return_flow_m3_h)),
        }
        densities = {"feed_density_t_m3": np.full(7, feed_density), "return_density_t_m3": np.full(7, float(back.return_density_t_m3))}
        volume = METHODS["slurry.balance.volume"](readings=METHODS["slurry.balance.volume"].table("readings")(**columns)).volume_difference_m3
        readings = METHODS["slurry.balance.mass"].table("readings")(**columns, **densities)
        mass = METHODS["slurry.balance.mass"](readings=readings).mass_difference_t
        found = METHODS["slurry.balance.two_hypotheses"](
            volume_difference_m3=volume, mass_difference_t=mass, density_t_m3=ground["density_t_m3"], feed_density_t_m3=feed_density
        )
        soil, gone = (found.soil_volume_if_inflow_m3, found.water_inflow_m3) if slurry == 0 else (found.soil_volume_if_loss_m3, found.slurry_loss_m3)
        assert float(soil) == pytest.approx(float(expected.excavated_volume_m3), rel=1e-6)
        assert float(gone) == pytest.approx((water + slurry) / 2, abs=1e-6 * float(soil) + 1e-9)
        if slurry == 0:
            solids = METHODS["slurry.balance.dry_solids"](readings=readings, grain_density_t_m3=2.65).dry_solids_t
            assert float(solids) == pytest.approx(float(expected.dry_solids_t), rel=1e-6)


@SETTINGS
@given(velocity=st.floats(0.001, 8), diameter=st.floats(0.1, 0.6), stress=st.floats(0, 60), consistency=st.floats(1e-3, 3), index=st.floats(0.3, 1.0))
def test_laminar_flow_rises_with_everything_that_resists(velocity: float, diameter: float, stress: float, consistency: float, index: float) -> None:
    of = METHODS["slurry.pipe.laminar_quadrature"]
    fluid = {"velocity_m_s": velocity, "pipe_diameter_m": diameter, "yield_stress_pa": stress, "consistency_pa_sn": consistency, "flow_index": index}
    one = float(of(**fluid).wall_stress_pa)
    assert one > stress
    for name in ("velocity_m_s", "consistency_pa_sn"):
        assert float(of(**{**fluid, name: 1.1 * fluid[name]}).wall_stress_pa) > one
    assert float(of(**{**fluid, "yield_stress_pa": stress + 1}).wall_stress_pa) > one
    if stress == 0:
        power_law = METHODS["slurry.pipe.dodge_metzner_1959"](
            velocity_m_s=velocity, pipe_diameter_m=diameter, density_t_m3=1e-6, consistency_pa_sn=consistency, flow_index=index
        )
        assert float(power_law.pressure_gradient_kpa_m) == pytest.approx(4 * one / diameter / 1000, rel=1e-9)


@SETTINGS
@given(
    velocities=st.lists(st.floats(0.02, 8), min_size=8, max_size=8, unique=True),
    stress=st.floats(0, 20),
    viscosity=st.floats(2e-3, 0.05),
    density=st.floats(1.02, 1.4),
    index=st.sampled_from([0.5, 0.8, 1.0]),
)
def test_friction_grows_with_velocity_through_the_transition(velocities: list[float], stress: float, viscosity: float, density: float, index: float) -> None:
    rising = np.sort(velocities)
    found = METHODS["slurry.pipe.wilson_thomas_1985"](
        velocity_m_s=rising, pipe_diameter_m=0.3, density_t_m3=density, yield_stress_pa=stress, consistency_pa_sn=viscosity, flow_index=index
    )
    assert np.all(np.diff(found.pressure_gradient_kpa_m) > -1e-12)
    is_turbulent = found.regime == "turbulent"
    assert np.all(np.diff(is_turbulent.astype(int)) >= 0)
    laminar = METHODS["slurry.pipe.laminar_quadrature"](
        velocity_m_s=rising, pipe_diameter_m=0.3, yield_stress_pa=stress, consistency_pa_sn=viscosity, flow_index=index
    )
    assert np.all(found.pressure_gradient_kpa_m >= laminar.pressure_gradient_kpa_m * (1 - 1e-9))


@SETTINGS
@given(number=st.floats(4000, 1e8), roughness=st.floats(0, 5))
def test_colebrook_stands_between_smooth_and_fully_rough(number: float, roughness: float) -> None:
    of = METHODS["slurry.pipe.colebrook_white"]
    pipe = {"velocity_m_s": 2.0, "pipe_diameter_m": 0.3, "density_t_m3": 1.0, "dynamic_viscosity_pa_s": 600 / number}
    factor, smooth = (float(of(**pipe, roughness_mm=size).darcy_friction_factor) for size in (roughness, 0.0))
    assert factor >= smooth
    if roughness > 0:
        assert factor >= (2 * np.log10(3.7 * 300 / roughness)) ** -2 * (1 - 1e-12)


@SETTINGS
@given(
    lengths=st.lists(st.floats(20, 900), min_size=1, max_size=4),
    friction=st.floats(0.2, 3.0),
    rise=st.floats(-0.03, 0.03),
    machine=st.floats(100, 900),
    booster=st.floats(200, 900),
)
def test_no_metre_of_the_line_runs_below_the_suction_pressure(lengths: list[float], friction: float, rise: float, machine: float, booster: float) -> None:
    of = METHODS["slurry.pump.march"]
    found = of(
        sections=of.table("sections")(length_m=lengths, pressure_gradient_kpa_m=friction, rise_ratio=rise),
        density_t_m3=1.15,
        chamber_pressure_kpa=200,
        machine_pump_kpa=machine,
        booster_pump_kpa=booster,
        suction_min_kpa=100,
        end_lift_m=10,
        end_pressure_kpa=50,
    )
    positions = found.booster_positions_m
    assert float(found.booster_count) == positions.size
    fall = friction + 9.81 * 1.15 * rise
    before = 200 + machine + booster * np.arange(positions.size) - fall * positions
    assert np.all(before >= 100 - 1e-6)
    spare = 200 + machine + booster * positions.size - fall * sum(lengths) - 9.81 * 1.15 * 10 - 50
    assert float(found.end_spare_kpa) == pytest.approx(spare, abs=1e-6)


@SETTINGS
@given(durations=st.lists(st.floats(5, 200), min_size=1, max_size=6), data=st.data(), regulator=st.floats(0, 20), pressure=st.floats(50, 400))
def test_air_is_fed_but_never_vented(durations: list[float], data: st.DataObject, regulator: float, pressure: float) -> None:
    flows = data.draw(st.lists(st.floats(-200, 30), min_size=len(durations), max_size=len(durations)))
    of = METHODS["slurry.bubble.gas_balance"]
    bubble = {"level_area_m2": 8, "air_volume_m3": 20, "air_pressure_kpa": pressure, "regulator_free_air_m3_min": regulator}
    steps = of.table("steps")
    whole = of(steps=steps(duration_s=durations, net_slurry_m3_h=flows), **bubble)
    halves = of(steps=steps(duration_s=np.repeat(durations, 2) / 2, net_slurry_m3_h=np.repeat(flows, 2)), **bubble)
    for name in ("level_change_lowest_m", "level_change_end_m", "air_pressure_end_kpa"):
        assert float(getattr(halves, name)) == pytest.approx(float(getattr(whole, name)), abs=1e-6)
    closed = of(steps=steps(duration_s=durations, net_slurry_m3_h=flows), **{**bubble, "regulator_free_air_m3_min": 0})
    assert float(whole.air_pressure_end_kpa) >= float(closed.air_pressure_end_kpa) - 1e-9
    assert float(whole.air_pressure_lowest_kpa) <= pressure + 1e-9
    alone = METHODS["slurry.bubble.compression"](air_volume_m3=20, air_pressure_kpa=pressure, air_volume_lost_m3=float(np.dot(durations, flows)) / 3600)
    assert float(closed.air_pressure_end_kpa) == pytest.approx(pressure + float(alone.pressure_change_kpa), abs=1e-6)


@SETTINGS
@given(
    sizes=st.lists(st.floats(0.002, 5), min_size=2, max_size=6),
    cuts=st.lists(st.tuples(st.floats(0.01, 2), st.floats(1.5, 5)), min_size=1, max_size=4),
)
def test_a_plant_loses_nothing_and_stages_only_help(sizes: list[float], cuts: list[tuple[float, float]]) -> None:
    of = METHODS["slurry.plant.partition_plitt"]
    grains = of.table("grains")(grain_size_mm=sizes, mass_ratio=np.full(len(sizes), 1 / len(sizes)))
    columns = np.array(cuts).T
    whole = of(grains=grains, stages=of.table("stages")(cut_size_mm=columns[0], sharpness=columns[1]))
    assert float(whole.removed_ratio.sum() + whole.passed_ratio) == pytest.approx(1.0)
    first = of(grains=grains, stages=of.table("stages")(cut_size_mm=columns[0][:1], sharpness=columns[1][:1]))
    assert float(whole.passed_ratio) <= float(first.passed_ratio) + 1e-12


@SETTINGS
@given(volume=st.floats(200, 5000), fines=st.floats(0.5, 40), bleed=st.floats(0, 200), hours=st.floats(0.1, 60), start=st.floats(0.0, 0.15))
def test_two_stretches_of_time_are_one(volume: float, fines: float, bleed: float, hours: float, start: float) -> None:
    of = METHODS["slurry.fines.tank_balance"]
    tank = {
        "active_volume_m3": volume,
        "fines_rate_t_h": fines,
        "fresh_concentration_t_m3": 0.04,
        "bleed_flow_m3_h": bleed,
        "limit_density_t_m3": 1.15,
        "grain_density_t_m3": 2.65,
    }
    half = of(**tank, start_concentration_t_m3=start, duration_h=hours / 2)
    end = of(**tank, start_concentration_t_m3=half.concentration_end_t_m3, duration_h=hours / 2)
    whole = of(**tank, start_concentration_t_m3=start, duration_h=hours)
    assert float(end.concentration_end_t_m3) == pytest.approx(float(whole.concentration_end_t_m3), rel=1e-9)
    if np.isfinite(whole.time_to_limit_h):
        met = of(**tank, start_concentration_t_m3=start, duration_h=whole.time_to_limit_h)
        assert float(met.density_end_t_m3) == pytest.approx(1.15, abs=1e-7)
    else:
        assert bleed >= float(whole.bleed_to_hold_m3_h) * (1 - 1e-9)


@SETTINGS
@given(
    diameter=st.floats(0.1, 0.7),
    density=st.floats(1.0, 1.4),
    stress=st.floats(0.0, 50),
    viscosity=st.floats(1e-3, 0.1),
)
def test_hanks_meets_its_own_equation(diameter: float, density: float, stress: float, viscosity: float) -> None:
    found = METHODS["slurry.transition.hanks_1963"](pipe_diameter_m=diameter, density_t_m3=density, yield_stress_pa=stress, plastic_viscosity_pa_s=viscosity)
    plug = float(found.plug_ratio)
    assert plug / (1 - plug) ** 3 == pytest.approx(float(found.hedstrom_number) / 16800, rel=1e-6, abs=1e-9)
    assert float(found.reynolds_critical) >= 2100 * (1 - 1e-12)
    laminar = METHODS["slurry.pipe.laminar_quadrature"](
        velocity_m_s=found.transition_velocity_m_s, pipe_diameter_m=diameter, yield_stress_pa=stress, consistency_pa_sn=viscosity
    )
    assert stress / float(laminar.wall_stress_pa) == pytest.approx(plug, rel=1e-6, abs=1e-9)
