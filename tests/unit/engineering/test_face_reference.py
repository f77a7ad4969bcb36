"""The reference calculations behind the face evidence of kind independent-code.

Nothing here uses the algorithms of the package: silos are integrated as differential equations, wedges summed slice by slice, angles found
by scipy's bounded minimiser, circles integrated over chords, segments found by trying everything, design points by sequential quadratic
programming. Each result is held against the case of the evidence register that states it, so that no reference value is a pinned output.
"""

import itertools
import math
from collections.abc import Callable, Sequence

import numpy as np
import pytest
from scipy import integrate, optimize, stats

from tunnelwright.app.evidence import evidence_cases

CASES = [case for case in evidence_cases("face") if case.expected]
Ground = Sequence[tuple[float, ...]]
B1 = [(4, 18, 0, 32, 1), (10, 10, 0, 32, 1)]
COVER = [(3, 18.5, 2, 30, 0.9), (5, 10, 8, 24, 1.1)]
FACE = [(2.5, 10, 4, 30), (3, 9.5, 8, 24), (1.5, 11, 0, 36)]


def states(method: str, name: str, value: float, relative: float) -> bool:
    """Return whether some independent or sibling case of the method states this value."""
    stated = [
        case.expected[name] for case in CASES if case.method == f"face.{method}" and case.kind in ("independent-code", "sibling") and name in case.expected
    ]
    return any(isinstance(one, float | int) and math.isclose(one, value, rel_tol=relative, abs_tol=relative) for one in stated)


def silo(layers: Ground, radius: float, surcharge: float, arching: bool = True) -> float:
    stress = surcharge
    for thickness, weight, cohesion, friction, lateral in layers:
        wall = lateral * math.tan(math.radians(friction)) if arching else 0.0
        held = cohesion if arching else 0.0
        path = integrate.solve_ivp(
            lambda _, s, w=weight, c=held, t=wall: w - (c + t * s) / radius, (0, thickness), [stress], method="DOP853", rtol=1e-10, atol=1e-10
        )
        stress = max(0.0, float(path.y[0, -1]))
    return stress


def by_slices(
    angle: float,
    width: float,
    layers: Ground,
    face: Ground,
    surcharge: float,
    side: float | None = None,
    full: bool = False,
    arching: bool = True,
    count: int = 200,
) -> tuple[float, float]:
    """Return support and least slice normal of a wedge cut into thin horizontal slices."""
    height = sum(layer[0] for layer in face)
    length = height / math.tan(angle)
    stress = silo(layers, width * length / (2 * (width + length)), surcharge, arching)
    sine, cosine = math.sin(angle), math.cos(angle)
    depth = own = force = 0.0
    least = math.inf
    for thickness, weight, cohesion, friction in face:
        phi = math.radians(friction)
        slope = math.tan(phi)
        lateral = side if side is not None else (1 - math.sin(phi) + math.tan(math.pi / 4 - phi / 2) ** 2) / 2
        part = thickness / count
        for _ in range(count):
            above = stress * (1 if full else 1 - depth / height) + own
            below = stress * (1 if full else 1 - (depth + part) / height) + own + weight * part
            upper, lower = (height - depth) / math.tan(angle), (height - depth - part) / math.tan(angle)
            vertical = width * (above * upper + weight * part * (upper + lower) / 2 - below * lower)
            shear = 2 * (cohesion + lateral * slope * (above + below) / 2) * part * (upper + lower) / 2 + cohesion * width * part / sine
            normal = (vertical - shear * sine) / (cosine + slope * sine)
            force += normal * sine - (normal * slope + shear) * cosine
            least = min(least, normal)
            depth, own = depth + part, own + weight * part
    return force / (width * height), least


def greatest(value: Callable[[float], float], low: float = 45.0, high: float = 80.0) -> tuple[float, float]:
    found = optimize.minimize_scalar(lambda angle: -value(angle), bounds=(math.radians(low), math.radians(high)), method="bounded", options={"xatol": 1e-7})
    return -float(found.fun), float(found.x)


@pytest.mark.parametrize(
    ("width", "layers", "face", "surcharge", "options", "method"),
    [
        (10.0, B1, [(10, 10.5, 0, 35)], 10.0, {}, "wedge_silo"),
        (10.0, B1, [(10, 10.5, 0, 35)], 10.0, {"full": True}, "wedge_silo"),
        (math.pi * 2.5, B1, [(10, 10.5, 0, 35)], 10.0, {}, "wedge_silo"),
        (10.0, B1, [(10, 10.5, 0, 35)], 10.0, {"arching": False}, "wedge_silo"),
        (9.0, [(12, 10, 5, 28, 1)], [(9, 10, 5, 28)], 0.0, {}, "wedge_silo"),
        (math.pi / 4, [(2, 1, 0, 25, 0.8)], [(1, 1, 0, 25)], 0.0, {"side": 0.4}, "wedge_silo"),
        (math.pi / 4, [(2, 1, 0, 30, 0.8)], [(1, 1, 0, 30)], 0.0, {"side": 0.4}, "wedge_silo"),
        (math.pi / 4, [(2, 1, 0, 35, 0.8)], [(1, 1, 0, 35)], 0.0, {"side": 0.4}, "wedge_silo"),
        (math.pi / 4, [(2, 1, 0, 40, 0.8)], [(1, 1, 0, 40)], 0.0, {"side": 0.4}, "wedge_silo"),
        (2 * math.pi, [(16, 10, 0.5, 30, 0.8)], [(8, 10, 0.5, 30)], 0.0, {"side": 0.4}, "seepage_form_1996"),
        (10.0, B1, [(4, 10.5, 0, 38), (6, 9.5, 0, 27)], 10.0, {}, "wedge_slices"),
        (10.0, B1, [(4, 9.5, 0, 27), (6, 10.5, 0, 38)], 10.0, {}, "wedge_slices"),
        (6.0, COVER, FACE, 12.0, {"side": 0.45}, "wedge_slices"),
    ],
)
def test_wedges_summed_slice_by_slice(width: float, layers: Ground, face: Ground, surcharge: float, options: dict[str, object], method: str) -> None:
    support, _ = greatest(lambda angle: by_slices(angle, width, layers, face, surcharge, **options)[0])
    assert states(f"effective_support.{method}", "effective_support_pressure_kpa", support, 3e-5)


def test_slices_on_a_given_plane_with_their_least_normal_force() -> None:
    angle = math.radians(58)
    assert states("effective_support.wedge_slices", "slice_normal_min_kn", by_slices(angle, 6, COVER, FACE, 12, side=0.45, count=20)[1], 1e-6)
    assert states("effective_support.wedge_slices", "effective_support_pressure_kpa", by_slices(angle, 6, COVER, FACE, 12, side=0.45, count=1600)[0], 3e-6)
    assert states("effective_support.wedge_slices", "effective_support_pressure_kpa", by_slices(angle, 6, COVER, FACE, 12, side=0.45, arching=False)[0], 1e-5)
    assert states(
        "effective_support.wedge_slices", "effective_support_pressure_kpa", by_slices(angle, 6, COVER, FACE, 12, 0.45, full=True, count=1600)[0], 2e-6
    )


def test_silo_as_a_differential_equation() -> None:
    assert states("silo_stress.janssen_1895", "silo_stress_kpa", silo([*COVER, (2, 9, 0, 0, 1)], 40 / 26, 15), 1e-7)
    _, angle = greatest(lambda angle: by_slices(angle, 10, B1, [(10, 10.5, 0, 35)], 10)[0])
    length = 10 / math.tan(angle)
    assert states("effective_support.wedge_silo", "silo_stress_kpa", silo(B1, 10 * length / (2 * (10 + length)), 10), 1e-5)


@pytest.mark.parametrize(
    ("factors", "width", "options"), [((1.25, 1.25, 13.0), 10.0, {}), ((1.2, 1.3, 15.0), 9.0, {"side": 0.4, "full": True})], ids=["usual", "other"]
)
def test_design_strengths_put_in_before(factors: tuple[float, float, float], width: float, options: dict[str, object]) -> None:
    on_friction, on_cohesion, surcharge = factors

    def reduced(ground: Ground) -> Ground:
        return [(h, w, c / on_cohesion, math.degrees(math.atan(math.tan(math.radians(phi)) / on_friction)), *rest) for h, w, c, phi, *rest in ground]

    cover, face = reduced([(4, 18, 0, 32, 1), (10, 10, 2, 32, 1)]), reduced([(10, 10.5, 3, 35)])
    support, _ = greatest(lambda angle: by_slices(angle, width, cover, face, surcharge, count=800, **options)[0])
    assert states("window_strength_factor.en_1997_1", "effective_support_pressure_kpa", support, 2e-6)


def test_shear_of_a_heaving_prism_by_quadrature() -> None:
    def shear(depth: float) -> float:
        if depth < 5:
            return 4 + 0.55 * math.tan(math.radians(28)) * 19 * depth
        phi = math.radians(32)
        return 2 + (1 - math.sin(phi)) * math.tan(phi) * (95 + 10 * (depth - 5))

    assert states("upper.heave_prism", "shear_resistance_kpa", 2 / 8 * integrate.quad(shear, 0, 11, points=[5])[0] / 1.5, 1e-7)


def test_partial_wedges_summed_slice_by_slice() -> None:
    for count in (1, 2):
        support, _ = greatest(lambda angle, upper=FACE[:count]: by_slices(angle, 6, COVER, upper, 12, side=0.45)[0])
        assert states("effective_support.wedge_slices", f"local_wedges[{count - 1}].effective_support_pressure_kpa", support, 2e-5)


def by_equation(angle: float, width: float, layers: Ground, face: Ground, surcharge: float, lateral: float) -> float:
    """Return the support of slices that carry their own load, their force integrated upwards from the toe."""
    height = sum(layer[0] for layer in face)
    length = height / math.tan(angle)
    load = silo(layers, width * length / (2 * (width + length)), surcharge) * width * length

    def force_at_crown(support: float) -> float:
        force = above_toe = 0.0
        for thickness, weight, cohesion, friction in reversed(face):
            slope = math.tan(math.radians(friction))
            sliding = math.sin(angle) - slope * math.cos(angle)

            def growth(place: float, value: float, w: float = weight, c: float = cohesion, t: float = slope, d: float = sliding) -> float:
                plan = place / math.tan(angle)
                resisting = (
                    support * width * (math.cos(angle) + t * math.sin(angle)) + c * width / math.sin(angle) + 2 * c * plan + 2 * lateral * t * value / width
                )
                return resisting / d - w * width * plan

            path = integrate.solve_ivp(growth, (above_toe, above_toe + thickness), [force], method="DOP853", rtol=1e-9, atol=1e-9)
            force, above_toe = float(path.y[0, -1]), above_toe + thickness
        return force

    at_rest, at_ten = force_at_crown(0.0), force_at_crown(10.0)
    return 10 * (load - at_rest) / (at_ten - at_rest)


def test_slices_that_carry_their_own_load() -> None:
    support, angle = greatest(lambda angle: by_equation(angle, 6, COVER, FACE, 12, 0.9), 50, 80)
    assert states("effective_support.slices_selfconsistent", "effective_support_pressure_kpa", support, 2e-6)
    assert states("effective_support.slices_selfconsistent", "slip_angle_rad", angle, 2e-6)
    for friction in (25, 30):
        deep, _ = greatest(lambda angle, phi=friction: by_equation(angle, math.pi * 2.5, [(40, 10, 0, phi, 1)], [(10, 10, 0, phi)], 0, 1), 50, 80)
        assert states("effective_support.anagnostou_2012", "effective_support_pressure_kpa", deep / 100, 1e-6)


@pytest.mark.parametrize("friction", [20, 25, 30, 35, 40])
def test_cone_by_search_and_geometry(friction: int) -> None:
    phi = math.radians(friction)
    factor, axis = greatest(lambda a: math.tan(a) / (3 * (math.tan(a + phi) - math.tan(a - phi))), 1, 89 - friction)
    if friction > 20:
        assert states("effective_support.leca_dormieux_cone", "weight_factor", factor, 1e-5)
        return
    _, apex = np.linalg.solve([[math.tan(axis + phi), -1.0], [math.tan(axis - phi), -1.0]], [0.0, -10.0])
    assert states("effective_support.leca_dormieux_cone", "apex_height_m", float(apex) - 10, 2e-6)
    assert states("effective_support.leca_dormieux_cone", "cone_axis_angle_rad", axis, 2e-6)


def test_crown_arch_solved_for_its_pressure() -> None:
    sine, cosine = math.sin(math.pi / 6), math.cos(math.pi / 6)
    for cohesion, curvatures in itertools.product((0.0, 5.0), (1, 2)):
        pressure = optimize.brentq(lambda p, c=cohesion, n=curvatures: 216 - n * 12 * (c * cosine + p * sine) / (4 * (1 - sine)) - p, -500, 500)
        assert states("effective_support.kolymbas_2005", "effective_support_pressure_kpa", pressure, 1e-7)


def over_chords(pressure: Callable[[float], float], axis: float, radius: float, top: float) -> float:
    return float(integrate.quad(lambda z: pressure(z) * 2 * math.sqrt(max(0.0, radius**2 - (z - axis) ** 2)), max(top, axis - radius), axis + radius)[0])


def test_water_and_air_over_chords() -> None:
    assert states("water_force.circle", "water_force_kn", over_chords(lambda z: 9.81 * (z - 17.2), 16, 4, 17.2), 1e-6)
    assert states("water_force.circle", "water_force_kn", over_chords(lambda z: 10 * (z - 4), 19, 5, 4), 1e-8)
    water, medium = over_chords(lambda z: 9.81 * (z - 2), 15, 4.5, 2), over_chords(lambda z: z - 16.5, 15, 4.5, 16.5)
    assert states("air_limits.force_balance", "medium_moment_m3", medium, 1e-6)
    assert states("air_limits.force_balance", "air_pressure_global_kpa", 1.4 * 12 + (1.1 * water - 11.5 * medium) / (math.pi * 4.5**2), 1e-6)


def test_air_loss_by_shooting() -> None:
    conductivity = 4e-5 * 1.3e-6 / 1.75e-8 / 9.81 * 0.3 * 22

    def pressure_at_end(flow: float) -> float:
        return float(integrate.solve_ivp(lambda _, p: [-flow * 99 / p[0] / conductivity], (0, 9), [240.0], rtol=1e-10, atol=1e-9).y[0, -1])

    assert states("air_loss.darcy", "free_air_flow_m3_s", optimize.brentq(lambda flow: pressure_at_end(flow) - 130, 1e-4, 0.06), 1e-6)


def share_over_height(depth: float, diameter: float, omega: float) -> float:
    kink = min(diameter, depth / math.tan(omega))
    return float(integrate.quad(lambda height: min(1.0, height * math.tan(omega) / depth), 0, diameter, points=[kink])[0] / diameter)


def test_slurry_by_quadrature() -> None:
    for gradient in (70, 10, 5):
        assert states("slurry_transfer_share.penetration", "transfer_share", share_over_height(50 / gradient, 10, math.radians(30)), 1e-7)
    omega = math.radians(27)
    wanted = optimize.brentq(lambda p: p * share_over_height(p / 40, 9, omega) - 60, 1, 180)
    assert states("slurry_required_excess.penetration", "excess_pressure_kpa", wanted, 1e-7)
    coarse = optimize.brentq(lambda p: p * share_over_height(p / 12, 8, math.radians(30)) - 20, 1, 55)
    assert states("slurry_required_excess.penetration", "excess_pressure_kpa", coarse, 1e-7)
    length = 2 * math.tan(math.radians(25))
    mean = integrate.quad(lambda s: math.sqrt(1 + s * s) - s, 0, length)[0] / length
    assert states("slurry_excess_pressure.bezuijen_2001", "mean_excess_share", mean, 1e-7)
    assert states("epb_unsealed_chamber.bezuijen_2001", "seepage_pressure_low_kpa", 9.81 * 8 * (1 - mean), 1e-6)


def test_chamber_line_of_scipy() -> None:
    depth, pressure = np.array([0.8, 2.1, 3.9, 5.2, 6.6, 7.4]), np.array([98.0, 117.0, 133.0, 190.0, 171.0, 180.0])
    slope = float(stats.theilslopes(pressure, depth)[0])
    assert states("epb_gradient.theil_sen", "chamber_gradient_kn_m3", slope, 1e-7)
    assert states("epb_gradient.theil_sen", "face_pressure_crown_kpa", float(np.median(pressure - slope * depth)), 1e-7)


def best_of_all(low: list[float], high: list[float], wanted: list[float], penalty: float, step: float, scale: float) -> float:
    """Return the least cost over every way to break the rings and every multiple of the step."""
    count, best = len(low), math.inf
    for breaks in itertools.product((False, True), repeat=count - 1):
        edges = [0, *(place + 1 for place, here in enumerate(breaks) if here), count]
        total = penalty * (len(edges) - 2)
        for first, stop in itertools.pairwise(edges):
            fits = [k * step for k in range(int(300 / step)) if max(low[first:stop]) <= k * step <= min(high[first:stop])]
            total += min((sum(((p - one) / scale) ** 2 for one in wanted[first:stop]) for p in fits), default=math.inf)
        best = min(best, total)
    return best


def test_segments_by_trying_everything() -> None:
    six = [100.0, 105, 110, 140, 145, 140], [150.0, 150, 145, 190, 185, 180], [120.0, 122, 125, 160, 160, 155]
    eight = [102.0, 110, 118, 125, 120, 131, 128, 119], [160.0, 150, 149, 170, 158, 166, 171, 160], [113.0, 121.5, 128, 137, 133, 141, 140, 131]
    for penalty in (0.1, 4, 100):
        assert states("target_segments.dynamic_programme", "cost", best_of_all(*six, penalty, 5, 10), 1e-9)
    assert states("target_segments.dynamic_programme", "cost", best_of_all(*six, 1, 4, 8), 1e-9)
    assert states("target_segments.dynamic_programme", "cost", best_of_all(*eight, 0.6, 2.5, 6), 1e-9)


def log_normal(mean: float, variation: float) -> tuple[float, float]:
    spread = math.sqrt(math.log(1 + variation**2))
    return math.log(mean) - spread**2 / 2, spread


def test_design_point_by_quadratic_programming() -> None:
    (slope, slope_spread), (cohesion, cohesion_spread) = log_normal(math.tan(math.radians(32)), 0.1), log_normal(4, 0.4)

    def margin(point: np.ndarray) -> float:
        tangent = math.exp(slope + slope_spread * point[0])
        held = math.exp(cohesion + cohesion_spread * (-0.8 * point[0] + 0.6 * point[1]))
        return 8 - (10 * (1 + 0.05 * point[2]) * 8 * (1 / (9 * tangent) - 0.05) - held / tangent)

    found = optimize.minimize(
        lambda point: point @ point, np.array([-1.0, -1, 1]), constraints={"type": "eq", "fun": margin}, method="SLSQP", options={"ftol": 1e-14, "maxiter": 500}
    )
    assert states("window_probability.form", "reliability_index", math.sqrt(found.fun), 3e-6)


def uniform_wedge(cohesion: float, phi: float) -> float:
    """Return the support of a uniform wedge of 10 m below 14 m of the same strength, written out as forces."""
    lateral = (1 - math.sin(phi) + math.tan(math.pi / 4 - phi / 2) ** 2) / 2

    def support(angle: float) -> float:
        length = 10 / math.tan(angle)
        radius, stress = 10 * length / (2 * (10 + length)), 10.0
        for thickness, weight in ((4, 18), (10, 10)):
            decay = math.exp(-math.tan(phi) * thickness / radius)
            stress = max(0.0, (weight * radius - cohesion) / math.tan(phi) * (1 - decay) + stress * decay)
        load = 10.5 * 10 * 10 * length / 2 + stress * 10 * length
        side = lateral * math.tan(phi) * (stress * 100 / 3 + 10.5 * 1000 / 6) / math.tan(angle) + cohesion * 10 * length / 2
        driving = load * (math.sin(angle) - math.cos(angle) * math.tan(phi)) - 2 * side - cohesion * 100 / math.sin(angle)
        return driving / (math.sin(angle) * math.tan(phi) + math.cos(angle)) / 100

    return greatest(support, 45, 85)[0]


def test_design_point_of_a_wedge() -> None:
    (slope, slope_spread), (held, held_spread) = log_normal(math.tan(math.radians(35)), 0.1), log_normal(2, 0.4)

    def margin(point: np.ndarray) -> float:
        cohesion = math.exp(held + held_spread * (-0.3 * point[0] + math.sqrt(0.91) * point[1]))
        return 20 - uniform_wedge(cohesion, math.atan(math.exp(slope + slope_spread * point[0])))

    found = optimize.minimize(
        lambda point: point @ point, np.array([-2.0, -1]), constraints={"type": "eq", "fun": margin}, method="SLSQP", options={"ftol": 1e-12, "maxiter": 300}
    )
    assert states("window_probability.form", "reliability_index", math.sqrt(found.fun), 2e-6)


def test_moments_of_a_limit_on_a_grid() -> None:
    (slope, slope_spread), (held, held_spread) = log_normal(math.tan(math.radians(32)), 0.1), log_normal(4, 0.4)
    grid = np.linspace(-8, 8, 801)
    weight = np.outer(stats.norm.pdf(grid), stats.norm.pdf(grid)) * (grid[1] - grid[0]) ** 2
    first, second = grid[:, None], -0.8 * grid[:, None] + 0.6 * grid
    tangent, cohesion = np.exp(slope + slope_spread * first), np.exp(held + held_spread * second)
    per_weight = 8 * (1 / (9 * tangent) - 0.05)
    mean = float(np.sum(weight * (10 * per_weight - cohesion / tangent)))
    square = float(np.sum(weight * ((10 * per_weight - cohesion / tangent) ** 2 + (0.5 * per_weight) ** 2)))
    assert states("window_probability.monte_carlo", "limit_mean_kpa", mean, 1e-5)
    assert states("window_probability.monte_carlo", "limit_standard_deviation_kpa", math.sqrt(square - mean**2), 1e-5)

    def exceeded(pressure: float) -> float:
        return float(np.sum(weight * stats.norm.sf((pressure + cohesion / tangent - 10 * per_weight) / np.abs(0.5 * per_weight))))

    assert states("window_probability.monte_carlo", "limit_quantile_95_kpa", optimize.brentq(lambda p: exceeded(p) - 0.05, 0, 20, xtol=1e-6), 1e-5)


def test_joint_window_by_quadrature() -> None:
    inside = integrate.quad(
        lambda low: stats.norm.pdf(low, 150, 12) * stats.norm.sf(175, 190 + 0.5 * 15 * (low - 150) / 12, 15 * math.sqrt(0.75)), 20, 175, epsabs=1e-13
    )[0]
    assert states("window_probability.normal_limits", "probability_in_window", inside, 1e-8)
