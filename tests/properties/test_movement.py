"""What must hold of ground movement whatever the drive: volume, symmetry, superposition, and answers that undo each other."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import integrate

from tunnelwright.engineering import load_methods
from tunnelwright.vocabulary.method import METHODS

load_methods()
SETTINGS = settings(max_examples=25, deadline=None, derandomize=True)
BORE = {"volume_loss": 0.01, "excavation_diameter_m": 6.6}
DEPTH_LAWS = ("movement.depth.mair_1993_scaled", "movement.depth.moh_1996", "movement.depth.constant_k")
shares = st.floats(0.05, 0.95)


def trapezoid(values: np.ndarray, places: np.ndarray) -> float:
    return float(integrate.trapezoid(values, places))


@SETTINGS
@given(law=st.sampled_from(DEPTH_LAWS), factor=st.floats(0.2, 0.9), axis=st.floats(8.0, 40.0), share=st.floats(0.0, 0.7))
def test_the_volume_of_the_trough_is_the_same_at_every_depth(law: str, factor: float, axis: float, share: float) -> None:
    width = float(METHODS[law](trough_width_factor=factor, axis_depth_m=axis, depth_m=share * axis).trough_width_m)
    offsets = np.linspace(-9 * width, 9 * width, 1201)
    trough = METHODS["movement.trough.gaussian_peck_1969"](**BORE, trough_width_m=width, offset_m=offsets)
    assert trapezoid(trough.settlement_m, offsets) == pytest.approx(float(trough.trough_volume_m3_m[0]), rel=1e-6)


@SETTINGS
@given(law=st.sampled_from(DEPTH_LAWS), factor=st.floats(0.2, 0.9), share=st.floats(0.05, 0.7), offset=st.floats(-15.0, 15.0))
def test_horizontal_and_vertical_strain_cancel(law: str, factor: float, share: float, offset: float) -> None:
    """Ground of constant volume: the focus of each law of depth is the one that keeps it."""
    step = 1e-3

    def settlement(depth_m: float) -> float:
        at = METHODS[law](trough_width_factor=factor, axis_depth_m=20.0, depth_m=depth_m)
        return float(METHODS["movement.trough.gaussian_peck_1969"](**BORE, trough_width_m=at.trough_width_m, offset_m=offset).settlement_m)

    depth = share * 20.0
    at = METHODS[law](trough_width_factor=factor, axis_depth_m=20.0, depth_m=depth)
    across = METHODS["movement.trough.gaussian_peck_1969"](
        **BORE, trough_width_m=at.trough_width_m, offset_m=offset, focus_distance_m=at.focus_distance_m
    ).tensile_strain
    downward = (settlement(depth + step) - settlement(depth - step)) / (2 * step)
    assert float(across) + downward == pytest.approx(0.0, abs=1e-8)


@SETTINGS
@given(face=st.floats(-60.0, 60.0), joint=st.floats(-40.0, 40.0), offset=st.floats(-20.0, 20.0), ratio=st.floats(0.1, 0.5))
def test_two_half_drives_make_the_whole_and_a_mirror_turns_only_sideways_movement(face: float, joint: float, offset: float, ratio: float) -> None:
    method = METHODS["movement.longitudinal.attewell_woodman_1982"]
    point = {**BORE, "trough_width_m": 9.0, "chainage_m": 0.0, "focus_distance_m": 25.0, "settlement_ratio_at_face": ratio}
    whole = method(**point, offset_m=offset, face_chainage_m=face)
    reached = float(whole.effective_face_chainage_m)
    if reached > joint:
        first = method(**point, offset_m=offset, face_chainage_m=joint, end_chainage_m=joint)
        second = method(**point, offset_m=offset, face_chainage_m=face, start_chainage_m=joint)
        for name in ("settlement_m", "slope_along", "curvature_along_1_m", "horizontal_displacement_along_m", "shear_strain"):
            assert float(getattr(first, name) + getattr(second, name)) == pytest.approx(float(getattr(whole, name)), abs=1e-12)
    mirrored = method(**point, offset_m=-offset, face_chainage_m=face)
    assert mirrored.settlement_m == pytest.approx(whole.settlement_m)
    assert mirrored.horizontal_displacement_across_m == pytest.approx(-whole.horizontal_displacement_across_m)
    assert mirrored.shear_strain == pytest.approx(-whole.shear_strain)


@SETTINGS
@given(ratio=st.floats(0.02, 0.98), width=st.floats(2.0, 30.0))
def test_the_lag_gives_back_the_share_above_the_face(ratio: float, width: float) -> None:
    shift = float(METHODS["movement.release.single_lag"](trough_width_m=width, settlement_ratio_at_face=ratio).face_shift_m)
    open_face = METHODS["movement.longitudinal.attewell_woodman_1982"](
        **BORE, trough_width_m=width, chainage_m=0.0, offset_m=0.0, face_chainage_m=shift, settlement_ratio_at_face=0.5
    )
    assert float(open_face.developed_ratio) == pytest.approx(ratio, rel=1e-9)


@SETTINGS
@given(
    where=st.tuples(st.floats(-20.0, 20.0), st.floats(-25.0, 25.0), st.floats(0.0, 8.0)),
    turn=st.floats(-3.0, 3.0),
    share=shares,
    model=st.sampled_from(("mair 1993 scaled", "constant k", "moh 1996")),
)
def test_ring_sums_turn_with_the_map_and_grow_with_the_share(where: tuple[float, float, float], turn: float, share: float, model: str) -> None:
    along = 1.5 * np.arange(20) - 15.0

    def moved(turned: float, released: float) -> np.ndarray:
        cosine, sine = np.cos(turned), np.sin(turned)
        rings = METHODS["movement.field.ring_sum"].table("rings")(
            east_m=along * cosine,
            north_m=along * sine,
            axis_depth_m=18.0,
            ring_length_m=1.5,
            trough_volume_m3_m=0.3,
            trough_width_factor=0.5,
            released_share=released,
        )
        point = (where[0] * cosine - where[1] * sine, where[0] * sine + where[1] * cosine)
        points = METHODS["movement.field.ring_sum"].table("points")(east_m=point[0], north_m=point[1], depth_m=where[2])
        found = METHODS["movement.field.ring_sum"](rings=rings, points=points, depth_model=model)
        east, north = float(found.horizontal_displacement_east_m[0]), float(found.horizontal_displacement_north_m[0])
        return np.array([float(found.settlement_m[0]), east * cosine + north * sine, north * cosine - east * sine])

    straight = moved(0.0, 1.0)
    assert moved(turn, share) == pytest.approx(share * straight, rel=1e-7, abs=1e-12)
    assert straight[0] >= 0


@SETTINGS
@given(
    radius=st.floats(1.5, 6.0),
    depth=st.floats(10.0, 30.0),
    poisson=st.floats(0.05, 0.49),
    flat=st.floats(-0.01, 0.01),
    at=st.tuples(st.floats(3.0, 30.0), st.floats(0.1, 0.9)),
)
def test_elastic_ground_is_in_equilibrium_and_its_surface_free(radius: float, depth: float, poisson: float, flat: float, at: tuple[float, float]) -> None:
    """Second differences of the displacements satisfy the equations of elasticity; at the surface no traction is left."""
    method, step = METHODS["movement.elastic.verruijt_booker_1996"], 2e-3 * depth
    offsets, depths = np.meshgrid(step * np.arange(-1, 2), step * np.arange(-1, 2), indexing="ij")
    tunnel = {"excavation_diameter_m": 2 * radius, "axis_depth_m": depth, "radial_strain": 0.005, "ovalisation": flat, "poisson_ratio": poisson}
    down_scale = 0.005 * radius**2 / depth
    squeeze = 2 * (1 - poisson) / (1 - 2 * poisson)

    def around(across: float, below: float) -> tuple[np.ndarray, np.ndarray]:
        found = method(**tunnel, offset_m=across + offsets, depth_m=below + depths)
        return found.horizontal_displacement_m / down_scale * depth**2 / step**2, found.settlement_m / down_scale * depth**2 / step**2

    sideways, down = around(radius + at[0], at[1] * depth)
    mixed_down = (down[2, 2] - down[0, 2] - down[2, 0] + down[0, 0]) / 4
    mixed_sideways = (sideways[2, 2] - sideways[0, 2] - sideways[2, 0] + sideways[0, 0]) / 4
    second = {name: (one[2, 1] - 2 * one[1, 1] + one[0, 1], one[1, 2] - 2 * one[1, 1] + one[1, 0]) for name, one in (("u", sideways), ("w", down))}
    largest = 1 + max(abs(one) for pair in second.values() for one in pair)
    assert squeeze * second["u"][0] + second["u"][1] + (squeeze - 1) * mixed_down == pytest.approx(0.0, abs=0.02 * largest * squeeze)
    assert squeeze * second["w"][1] + second["w"][0] + (squeeze - 1) * mixed_sideways == pytest.approx(0.0, abs=0.02 * largest * squeeze)
    sideways, down = around(at[0], 0.0)
    slopes = [(one[2, 1] - one[0, 1], one[1, 2] - one[1, 0]) for one in (sideways, down)]
    assert slopes[0][1] + slopes[1][0] == pytest.approx(0.0, abs=0.02 * (abs(slopes[1][0]) + depth / step))
    assert (1 - poisson) * slopes[1][1] + poisson * slopes[0][0] == pytest.approx(0.0, abs=0.02 * (abs(slopes[0][0]) + depth / step))


@SETTINGS
@given(
    settlements=st.lists(st.floats(-0.004, 0.02), min_size=4, max_size=4), cut=st.integers(1, 3), prior=st.floats(-0.002, 0.02), spread=st.floats(0.001, 0.02)
)
def test_epoch_by_epoch_is_all_at_once(settlements: list[float], cut: int, prior: float, spread: float) -> None:
    method = METHODS["movement.fit.bayes_linear"]
    offsets, drive = np.array([-8.0, 0.0, 5.0, 12.0]), {"excavation_diameter_m": 6.6, "trough_width_m": 9.0}

    def updated(first: int, last: int, mean: float, sd: float) -> tuple[float, float]:
        table = method.table("readings")(offset_m=offsets[first:last], settlement_m=np.array(settlements[first:last]), standard_deviation_m=0.0007)
        found = method(readings=table, **drive, prior_volume_loss_mean=mean, prior_volume_loss_sd=sd)
        return float(found.volume_loss_mean), float(found.volume_loss_sd)

    batch = updated(0, 4, prior, spread)
    assert updated(cut, 4, *updated(0, cut, prior, spread)) == pytest.approx(batch, rel=1e-9, abs=1e-15)


@SETTINGS
@given(loss=st.floats(0.002, 0.03), factor=st.floats(0.3, 0.8), centre=st.floats(-2.0, 2.0))
def test_least_squares_finds_what_made_the_readings(loss: float, factor: float, centre: float) -> None:
    offsets = np.array([-20.0, -10.0, -4.0, 0.0, 6.0, 13.0, 24.0])
    made = METHODS["movement.trough.gaussian_peck_1969"](
        volume_loss=loss, excavation_diameter_m=6.6, trough_width_m=factor * 18.0, offset_m=offsets, trough_offset_m=centre
    )
    readings = METHODS["movement.fit.least_squares"].table("readings")(offset_m=offsets, settlement_m=made.settlement_m, standard_deviation_m=0.0007)
    found = METHODS["movement.fit.least_squares"](readings=readings, excavation_diameter_m=6.6, axis_depth_m=18.0, fit_offset="on")
    got = (float(found.volume_loss), float(found.trough_width_factor), float(found.trough_offset_m))
    assert got == pytest.approx((loss, factor, centre), rel=1e-4, abs=1e-4)
