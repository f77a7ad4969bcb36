"""From ring to ring: one ring's motion, a chain of rings, and how errors grow along it."""

from dataclasses import dataclass

import numpy as np

from tunnelwright.engineering.ring.geometry import GENTLE_TAPER, TaperKind, wedge_angle, wedge_formula
from tunnelwright.engineering.ring.motions import advance, heading_of, pitch_of, ring_motion, roll_of, start_pose
from tunnelwright.engineering.ring.sources import RANDOM_WALK, RING_CHAIN, RING_GEOMETRY
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Range, Remark, Require, method
from tunnelwright.vocabulary.types import FloatArray, Matrix, Number, Record, Series, Values

# Share of the greatest possible bend below which a pattern counts as straight: rounding, no curve.
_STRAIGHT_SHARE = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RingMotion(Record):
    """Motion from the rear plane of a ring to its front plane."""

    wedge_angle_rad: FloatArray
    matrix: Matrix
    heading_change_rad: FloatArray
    pitch_change_rad: FloatArray
    offset_right_m: FloatArray
    offset_up_m: FloatArray
    offset_forward_m: FloatArray


def _turns_without_stretching(values: Values) -> bool:
    rotation = values["matrix"][..., :3, :3]
    return bool(np.allclose(rotation @ np.swapaxes(rotation, -1, -2), np.eye(3), atol=1e-12) and np.all(np.linalg.det(rotation) > 0))


@method(
    "ring.chain.transform",
    formulas={
        "wedge_angle_rad": wedge_formula(),
        "heading_change_rad": Formula("dpsi", "atan2(-sin(w) * sin(psi_w), cos(w))"),
        "pitch_change_rad": Formula("dpitch", "asin(-sin(w) * cos(psi_w))"),
        "offset_right_m": Formula("x_right", '-L * sin(w / 2) * sin(psi_w) if taper_kind == "double" else 0'),
        "offset_up_m": Formula("x_up", '-L * sin(w / 2) * cos(psi_w) if taper_kind == "double" else 0'),
        "offset_forward_m": Formula("x_fwd", 'L * cos(w / 2) if taper_kind == "double" else L'),
    },
    found_by={
        "matrix": Algorithm(
            "turn to the longest edge, lean, advance, lean, turn back; axes forward, right, down",
            "M",
            {
                "it turns without stretching": _turns_without_stretching,
                "its last column is the move": lambda v: np.allclose(v["matrix"][..., 1, 3], v["offset_right_m"], atol=1e-12),
                "its first column is the new normal": lambda v: np.allclose(heading_of(v["matrix"]), v["heading_change_rad"], atol=1e-12),
            },
        )
    },
    requires=(GENTLE_TAPER,),
    kind="identity",
    source=RING_CHAIN,
    # The matrix holds directions and metres side by side, so it has no one unit to scale by.
    dimensional=True,
)
def transform(
    ring_outer_diameter_m: Number, ring_length_m: Number, taper_mm: Number, widest_clock_angle_rad: Number, taper_kind: TaperKind = "double"
) -> RingMotion:
    """Return the exact motion from one ring plane to the next.

    Parameters
    ----------
    ring_outer_diameter_m : at which the taper is given.
    ring_length_m : at the centre.
    taper_mm : longest less shortest edge.
    widest_clock_angle_rad : where the ring is longest; the tunnel turns away from there.
    taper_kind : ``double`` with both faces inclined by half, ``single`` with a square rear face.
    """
    wedge = wedge_angle(ring_outer_diameter_m, taper_mm, taper_kind)
    motion = ring_motion(wedge, ring_length_m, widest_clock_angle_rad, taper_kind)
    return RingMotion(
        wedge_angle_rad=wedge,
        matrix=motion,
        heading_change_rad=heading_of(motion),
        pitch_change_rad=pitch_of(motion),
        offset_right_m=motion[..., 1, 3],
        offset_up_m=-motion[..., 2, 3],
        offset_forward_m=motion[..., 0, 3],
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SmallMotion(Record):
    """Motion of one ring for small angles."""

    wedge_angle_rad: FloatArray
    heading_change_rad: FloatArray
    pitch_change_rad: FloatArray
    offset_right_m: FloatArray
    offset_up_m: FloatArray


@method(
    "ring.chain.small_angle",
    formulas={
        "wedge_angle_rad": wedge_formula(),
        "heading_change_rad": Formula("dpsi", "-w * sin(psi_w)"),
        "pitch_change_rad": Formula("dpitch", "-w * cos(psi_w)"),
        "offset_right_m": Formula("x_right", '-L * w / 2 * sin(psi_w) if taper_kind == "double" else 0'),
        "offset_up_m": Formula("x_up", '-L * w / 2 * cos(psi_w) if taper_kind == "double" else 0'),
    },
    requires=(GENTLE_TAPER,),
    kind="mean",
    source=RING_CHAIN,
)
def small_angle(
    ring_outer_diameter_m: Number, ring_length_m: Number, taper_mm: Number, widest_clock_angle_rad: Number, taper_kind: TaperKind = "double"
) -> SmallMotion:
    """Return the motion of one ring to first order, good to hundredths of a millimetre for one ring and not meant for a chain.

    Parameters
    ----------
    ring_outer_diameter_m : at which the taper is given.
    ring_length_m : at the centre.
    taper_mm : longest less shortest edge.
    widest_clock_angle_rad : where the ring is longest; the tunnel turns away from there.
    taper_kind : ``double`` with both faces inclined by half, ``single`` with a square rear face.
    """
    wedge = wedge_angle(ring_outer_diameter_m, taper_mm, taper_kind)
    sine, cosine = np.sin(widest_clock_angle_rad), np.cos(widest_clock_angle_rad)
    shift_m = np.asarray(ring_length_m) * wedge / 2 if taper_kind == "double" else np.zeros(np.broadcast_shapes(np.shape(ring_length_m), wedge.shape))
    return SmallMotion(
        wedge_angle_rad=wedge, heading_change_rad=-wedge * sine, pitch_change_rad=-wedge * cosine, offset_right_m=-shift_m * sine, offset_up_m=-shift_m * cosine
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ChainEnd(Record):
    """Pose of the last front plane of a chain of rings, seen from its start."""

    forward_m: FloatArray
    right_m: FloatArray
    down_m: FloatArray
    heading_rad: FloatArray
    pitch_rad: FloatArray
    roll_rad: FloatArray


@method(
    "ring.chain.pose",
    found_by={
        "forward_m": Algorithm("product of the motions of all rings, taken from the pose of the first plane", "x_f"),
        "right_m": Algorithm("the same product, second row of the last column", "x_r"),
        "down_m": Algorithm("the same product, third row of the last column", "x_d"),
        "heading_rad": Algorithm("direction of the last plane's normal in plan", "psi_h"),
        "pitch_rad": Algorithm("rise of the last plane's normal", "theta_p"),
        "roll_rad": Algorithm("turn of the dowel pattern about the last plane's normal", "rho_roll"),
    },
    possible={"start_roll_rad": (-1.5708, 1.5708)},
    requires=(GENTLE_TAPER,),
    kind="identity",
    source=RING_CHAIN,
)
def chain_pose(
    ring_outer_diameter_m: Number,
    ring_length_m: Number,
    taper_mm: Number,
    widest_clock_angle_rad: Series,
    taper_kind: TaperKind = "double",
    joint_gap_mm: Number = 0.0,
    start_heading_rad: Number = 0.0,
    start_pitch_rad: Number = 0.0,
    start_roll_rad: Number = 0.0,
) -> ChainEnd:
    """Return where a chain of rings ends and how its last plane stands.

    Parameters
    ----------
    ring_outer_diameter_m : at which the taper is given.
    ring_length_m : at the centre.
    taper_mm : longest less shortest edge.
    widest_clock_angle_rad : of each ring in order, counted on the rolled ring when the start is rolled.
    taper_kind : ``double`` with both faces inclined by half, ``single`` with a square rear face.
    joint_gap_mm : mean gap of the ring joints (packing, gasket), added along each front normal.
    start_heading_rad, start_pitch_rad, start_roll_rad : of the first plane.

    Notes
    -----
    Forward, right and down are level and counted from the centre of the first plane; forward is where heading is zero. Rounding over 1500 rings
    stays near 1e-12, so that the product need not be made orthonormal again on the way.
    """
    wedge = wedge_angle(ring_outer_diameter_m, taper_mm, taper_kind)
    gap = advance(np.asarray(joint_gap_mm) / 1000)
    pose = start_pose(start_heading_rad, start_pitch_rad, start_roll_rad)
    for at in range(widest_clock_angle_rad.shape[-1]):
        pose = pose @ ring_motion(wedge, ring_length_m, widest_clock_angle_rad[..., at], taper_kind) @ gap
    return ChainEnd(
        forward_m=pose[..., 0, 3],
        right_m=pose[..., 1, 3],
        down_m=pose[..., 2, 3],
        heading_rad=heading_of(pose),
        pitch_rad=pitch_of(pose),
        roll_rad=roll_of(pose),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MeanBend(Record):
    """Mean curvature of a pattern of rings."""

    curvature_right_1_m: FloatArray
    curvature_up_1_m: FloatArray
    effective_radius_m: FloatArray
    bend_clock_angle_rad: FloatArray


@method(
    "ring.chain.superposition",
    found_by={
        "curvature_right_1_m": Algorithm("wedge angle over length, times the mean of -sin of the orientations", "kappa_right"),
        "curvature_up_1_m": Algorithm("wedge angle over length, times the mean of -cos of the orientations", "kappa_up"),
        "effective_radius_m": Algorithm("one over the length of the curvature vector; none where the pattern is straight", "R_eff"),
        "bend_clock_angle_rad": Algorithm("clock angle of the curvature vector: a quarter turn for a right-hand curve, 0 for a sag", "theta_b"),
    },
    requires=(
        GENTLE_TAPER,
        Require("ring_length_m", lambda v: np.all(~(v["ring_length_m"] <= 0)), "must be more than 0"),
        Require("widest_clock_angle_rad", lambda v: v["widest_clock_angle_rad"].shape[-1] > 0, "must have one entry or more"),
    ),
    kind="mean",
    source=RING_CHAIN,
)
def superposition(ring_outer_diameter_m: Number, ring_length_m: Number, taper_mm: Number, widest_clock_angle_rad: Series) -> MeanBend:
    """Return the mean curvature of a pattern of rings by adding the small turns of its rings.

    Parameters
    ----------
    ring_outer_diameter_m : at which the taper is given.
    ring_length_m : at the centre.
    taper_mm : longest less shortest edge, double taper.
    widest_clock_angle_rad : of each ring of the pattern.
    """
    full_1_m = wedge_angle(ring_outer_diameter_m, taper_mm, "double") / np.asarray(ring_length_m)
    right, up = -np.sin(widest_clock_angle_rad).mean(axis=-1), -np.cos(widest_clock_angle_rad).mean(axis=-1)
    share = np.hypot(right, up)
    is_straight = (share <= _STRAIGHT_SHARE) | (full_1_m == 0)
    curvature_1_m = np.where(is_straight, np.nan, full_1_m * share)
    return MeanBend(
        curvature_right_1_m=full_1_m * right,
        curvature_up_1_m=full_1_m * up,
        effective_radius_m=1 / curvature_1_m,
        bend_clock_angle_rad=np.where(is_straight, np.nan, np.mod(np.arctan2(right, up), 2 * np.pi)),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PatternRadius(Record):
    """Radius of a pattern of rings."""

    effective_radius_m: FloatArray


@method(
    "ring.chain.alternating_radius",
    formulas={"effective_radius_m": Formula("R_eff", "R_ring / cos(Delta / 2)")},
    symbols={"separation_rad": "Delta"},
    possible={"separation_rad": (0.0, 3.1416)},
    remarks=(Remark(lambda v: v["separation_rad"] > 3.14, "opposite orientations build a straight tunnel: the radius is without limit"),),
    kind="identity",
    source=RING_GEOMETRY,
)
def alternating_radius(ring_radius_m: Number, separation_rad: Number) -> PatternRadius:
    """Return the radius of rings that alternate between two orientations.

    Parameters
    ----------
    ring_radius_m : with all rings in one orientation.
    separation_rad : angle between the two orientations.
    """
    return PatternRadius(effective_radius_m=ring_radius_m / np.cos(np.asarray(separation_rad) / 2))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ErrorGrowth(Record):
    """Standard deviations at the end of a chain of rings."""

    heading_error_rad: FloatArray
    position_error_mm: FloatArray


@method(
    "ring.chain.error_growth",
    formulas={
        "heading_error_rad": Formula("s_psi", "s * sqrt(n_r)"),
        "position_error_mm": Formula("s_y", "1000 * s * L * sqrt((n_r - 1) * n_r * (2 * n_r - 1) / 6)"),
    },
    symbols={"angular_error_rad": "s"},
    possible={"angular_error_rad": (0.0, 0.05), "ring_count": (1.0, 1e6)},
    valid={"angular_error_rad": Range(0.0, 0.002, "more is a build fault, not scatter")},
    kind="mean",
    source=RANDOM_WALK,
)
def error_growth(angular_error_rad: Number, ring_count: Number, ring_length_m: Number) -> ErrorGrowth:
    """Return how far the heading and position of ring planes scatter after some rings.

    Parameters
    ----------
    angular_error_rad : standard deviation of the build error of one ring, independent from ring to ring.
    ring_count : rings built since the last surveyed plane.
    ring_length_m : at the centre.

    Notes
    -----
    This growth is why an orientation schedule for a whole drive is a forecast, and the instruction is planned anew from the last measured plane.
    """
    count = np.asarray(ring_count)
    return ErrorGrowth(
        heading_error_rad=angular_error_rad * np.sqrt(count),
        position_error_mm=1000 * np.multiply(angular_error_rad, ring_length_m) * np.sqrt((count - 1) * count * (2 * count - 1) / 6),
    )
