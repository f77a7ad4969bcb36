"""The ring in the tail and the ring to build next.

tail skin ___________________        c(theta)  clearance, largest on the side that the ring has left
  ring n   |_________| n + 1 |       e         ring centre against the skin's centre, right and up
rams push here ------^               g         shield against the plane of ring n, nose right and nose up
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from tunnelwright.engineering.places import each_place
from tunnelwright.engineering.ring.geometry import GENTLE_TAPER, TaperKind, wedge_angle, wedge_formula
from tunnelwright.engineering.ring.shape import largest_gap_rad
from tunnelwright.engineering.ring.sources import RELATIVE_POSE
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Range, Remark, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Series, Values

_LEAST_READINGS: Final = 4
_READINGS_FOR_SHAPE: Final = 6
_WIDEST_GAP_RAD: Final = np.radians(120) + 1e-9
# A mean clearance this far off the nominal one is a bad reading, debris, or a squashed ring.
_IMPLAUSIBLE_MM: Final = 5.0
_QUARTER_POINTS: Final = 1e-6
_ROUND: Final = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RingInTail(Record):
    """Position and shape of the ring in the tail."""

    ring_offset_right_mm: FloatArray
    ring_offset_up_mm: FloatArray
    mean_clearance_mm: FloatArray
    ovality_mm: FloatArray
    long_axis_clock_angle_rad: FloatArray
    horizontal_minus_vertical_diameter_mm: FloatArray


def _clearance_fit(_: float, angle: FloatArray, clearance: FloatArray) -> tuple[float, ...]:
    read = np.isfinite(angle) & np.isfinite(clearance)
    angle, clearance = angle[read], clearance[read]
    if angle.size < _LEAST_READINGS:
        return (np.nan,) * 6
    position = np.column_stack([np.ones_like(angle), -np.sin(angle), -np.cos(angle)])
    two_waves = np.column_stack([np.sin(2 * angle), np.cos(2 * angle)])
    if angle.size >= _READINGS_FOR_SHAPE and largest_gap_rad(angle) <= _WIDEST_GAP_RAD:
        mean, right, up, sine, cosine = np.linalg.lstsq(np.hstack([position, two_waves]), clearance, rcond=None)[0]
        ovality = 4 * np.hypot(sine, cosine)
        long_axis = np.mod(np.arctan2(-sine, -cosine) / 2, np.pi) if ovality > _ROUND else np.nan
        return right, up, mean, ovality, long_axis, 4 * cosine
    mean, right, up = np.linalg.lstsq(position, clearance, rcond=None)[0]
    # Only at the quarter points does the shape leave position and mean alone.
    if np.abs(position.T @ two_waves[:, 1]).max() > _QUARTER_POINTS:
        return right, up, mean, np.nan, np.nan, np.nan
    left_over = clearance - position @ np.array([mean, right, up])
    return right, up, mean, np.nan, np.nan, 4 * float(left_over @ two_waves[:, 1]) / float(np.square(two_waves[:, 1]).sum())


def _is_implausible(values: Values) -> FloatArray:
    nominal = values["nominal_clearance_mm"]
    return np.asarray(False if nominal is None else np.abs(values["mean_clearance_mm"] - nominal) > _IMPLAUSIBLE_MM)


def _gap_is_wide(values: Values) -> bool:
    return bool(largest_gap_rad(np.ravel(values["clock_angle_rad"])) > _WIDEST_GAP_RAD)


def same_length(first: str, second: str) -> Require:
    """Return the condition that two lists have one entry each for the same things."""
    return Require(second, lambda v: v[first].shape[-1] == v[second].shape[-1], f"must have one entry for each of {first}")


@method(
    "ring.next.tail_clearance_fit",
    found_by={
        "ring_offset_right_mm": Algorithm("least squares of the clearances: less of it where the ring has moved to", "e_right"),
        "ring_offset_up_mm": Algorithm("the same fit, upward part", "e_up"),
        "mean_clearance_mm": Algorithm("the same fit, constant part", "c_m"),
        "ovality_mm": Algorithm(
            "four times the amplitude of two waves round the ring, from six well spread readings on; none with fewer",
            "o_v",
            {"it is no less than the difference of two diameters": lambda v: ~(v["ovality_mm"] < np.abs(v["horizontal_minus_vertical_diameter_mm"]) - 1e-9)},
        ),
        "long_axis_clock_angle_rad": Algorithm("where these two waves leave the least clearance, 0 to half a turn; none for a round ring", "theta_long"),
        "horizontal_minus_vertical_diameter_mm": Algorithm(
            "four times the cosine part of two waves; with four or five readings only where they stand at the quarter points", "dD"
        ),
    },
    requires=(
        same_length("clock_angle_rad", "tail_clearance_mm"),
        Require("tail_clearance_mm", lambda v: v["tail_clearance_mm"].shape[-1] >= _LEAST_READINGS, "must have four readings or more"),
    ),
    remarks=(
        Remark(_is_implausible, "the mean clearance is more than 5 mm off the nominal one: a bad reading, debris, or a squashed ring"),
        Remark(_gap_is_wide, "the readings leave more than 120 deg without one: the position is poorly known and the shape not at all"),
        Remark(lambda v: v["mean_clearance_mm"] < np.hypot(v["ring_offset_right_mm"], v["ring_offset_up_mm"]), "the skin touches the ring"),
    ),
    kind="identity",
    source=RELATIVE_POSE,
)
def tail_clearance_fit(clock_angle_rad: Series, tail_clearance_mm: Series, nominal_clearance_mm: Number | None = None) -> RingInTail:
    """Return where the ring stands in the tail, from clearances round it.

    Parameters
    ----------
    clock_angle_rad : true clock angles of the readings.
    tail_clearance_mm : between ring and skin; a reading from the intrados has the ring's thickness taken off already.
    nominal_clearance_mm : half the difference of skin and ring diameter; only for the caution about an implausible mean.

    Notes
    -----
    c = c_m - e_right sin - e_up cos + two waves. Offsets are of the ring's centre against the skin's centre.
    """
    nominal = np.nan if nominal_clearance_mm is None else nominal_clearance_mm
    right, up, mean, ovality, long_axis, difference = each_place(_clearance_fit, 6, [nominal], [clock_angle_rad, tail_clearance_mm])
    return RingInTail(
        ring_offset_right_mm=right,
        ring_offset_up_mm=up,
        mean_clearance_mm=mean,
        ovality_mm=ovality,
        long_axis_clock_angle_rad=long_axis,
        horizontal_minus_vertical_diameter_mm=difference,
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ShieldToRing(Record):
    """Angle of the shield against the plane of the last ring."""

    shield_to_ring_yaw_rad: FloatArray
    shield_to_ring_pitch_rad: FloatArray
    mean_extension_m: FloatArray
    residual_mm: FloatArray


def _plane_fit(radius_m: float, angle: FloatArray, extension_m: FloatArray) -> tuple[float, ...]:
    read = np.isfinite(angle) & np.isfinite(extension_m)
    plane = np.column_stack([np.ones(int(read.sum())), np.sin(angle[read]), np.cos(angle[read])])
    if np.linalg.matrix_rank(plane) < 3:
        return (np.nan,) * 4
    mean, sine, cosine = found = np.linalg.lstsq(plane, extension_m[read], rcond=None)[0]
    off = extension_m[read] - plane @ found
    return -sine / radius_m, -cosine / radius_m, mean, 1000 * float(np.sqrt(np.mean(np.square(off))))


@method(
    "ring.next.ram_plane_fit",
    found_by={
        "shield_to_ring_yaw_rad": Algorithm("least-squares plane through the extensions: longer rams on the right mean a shield that points left", "g_right"),
        "shield_to_ring_pitch_rad": Algorithm("the same plane: longer rams at the crown mean a shield that points down", "g_up"),
        "mean_extension_m": Algorithm("the same plane at the centre", "e_m"),
        "residual_mm": Algorithm(
            "root mean square of what the plane leaves over", "r_rms", {"it is none or more than none": lambda v: ~(v["residual_mm"] < 0)}
        ),
    },
    requires=(
        same_length("clock_angle_rad", "ram_extension_m"),
        Require("ram_extension_m", lambda v: v["ram_extension_m"].shape[-1] >= 3, "must have three rams or more"),
    ),
    valid={"residual_mm": Range(0.0, 3.0, "a ram without contact or with a wrong zero; common practice, no source")},
    kind="identity",
    source=RELATIVE_POSE,
)
def ram_plane_fit(clock_angle_rad: Series, ram_extension_m: Series, ram_circle_radius_m: Number) -> ShieldToRing:
    """Return how the shield stands against the plane of the last ring, from the rams' extensions.

    Parameters
    ----------
    clock_angle_rad : true clock angles of the rams whose pads are in contact.
    ram_extension_m : of these rams, each corrected for its zero.
    ram_circle_radius_m : on which the rams stand.
    """
    yaw, pitch, mean, residual = each_place(_plane_fit, 4, [ram_circle_radius_m], [clock_angle_rad, ram_extension_m])
    return ShieldToRing(shield_to_ring_yaw_rad=yaw, shield_to_ring_pitch_rad=pitch, mean_extension_m=mean, residual_mm=residual)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CandidateRing(Record):
    """What building a ring in one orientation does to the tail gap and the rams, built and after the push."""

    wedge_angle_rad: FloatArray
    built_offset_right_mm: FloatArray
    built_offset_up_mm: FloatArray
    built_clearance_mm: FloatArray
    built_yaw_rad: FloatArray
    built_pitch_rad: FloatArray
    pushed_offset_right_mm: FloatArray
    pushed_offset_up_mm: FloatArray
    pushed_clearance_mm: FloatArray
    pushed_yaw_rad: FloatArray
    pushed_pitch_rad: FloatArray
    ram_right_minus_left_mm: FloatArray
    ram_bottom_minus_top_mm: FloatArray


_SHIFT: Final = '(1000 * L * w / 2 if taper_kind == "double" else 0)'
_CLOSED: Final = "the ring touches the skin: steer the shield first, or choose another orientation"


@method(
    "ring.next.candidate",
    formulas={
        "wedge_angle_rad": wedge_formula(),
        "built_offset_right_mm": Formula("e_right_b", f"e_right - 1000 * g_right * L - {_SHIFT} * sin(psi_w)"),
        "built_offset_up_mm": Formula("e_up_b", f"e_up - 1000 * g_up * L - {_SHIFT} * cos(psi_w)"),
        "built_clearance_mm": Formula("c_b", "c_0 - hypot(e_right_b, e_up_b) - o_v / 4"),
        "built_yaw_rad": Formula("g_right_b", "g_right + w * sin(psi_w)"),
        "built_pitch_rad": Formula("g_up_b", "g_up + w * cos(psi_w)"),
        "pushed_offset_right_mm": Formula("e_right_p", "e_right_b + 1000 * dq_right * (q - L / 2)"),
        "pushed_offset_up_mm": Formula("e_up_p", "e_up_b + 1000 * dq_up * (q - L / 2)"),
        "pushed_clearance_mm": Formula("c_p", "c_0 - hypot(e_right_p, e_up_p) - o_v / 4"),
        "pushed_yaw_rad": Formula("g_right_p", "g_right_b + dq_right"),
        "pushed_pitch_rad": Formula("g_up_p", "g_up_b + dq_up"),
        "ram_right_minus_left_mm": Formula("d_rl", "-2000 * g_right_p * r_ram"),
        "ram_bottom_minus_top_mm": Formula("d_bt", "2000 * g_up_p * r_ram"),
    },
    symbols={"shield_yaw_change_rad": "dq_right", "shield_pitch_change_rad": "dq_up", "pivot_distance_m": "q"},
    possible={"shield_yaw_change_rad": (-0.05, 0.05), "shield_pitch_change_rad": (-0.05, 0.05), "pivot_distance_m": (0.0, 30.0)},
    valid={"built_clearance_mm": Range(0.0, np.inf, _CLOSED), "pushed_clearance_mm": Range(0.0, np.inf, _CLOSED)},
    requires=(GENTLE_TAPER,),
    kind="mean",
    source=RELATIVE_POSE,
)
def candidate(
    ring_outer_diameter_m: Number,
    ring_length_m: Number,
    taper_mm: Number,
    widest_clock_angle_rad: Number,
    ring_offset_right_mm: Number,
    ring_offset_up_mm: Number,
    shield_to_ring_yaw_rad: Number,
    shield_to_ring_pitch_rad: Number,
    nominal_clearance_mm: Number,
    ram_circle_radius_m: Number,
    shield_yaw_change_rad: Number = 0.0,
    shield_pitch_change_rad: Number = 0.0,
    pivot_distance_m: Number = 4.0,
    ovality_mm: Number = 0.0,
    taper_kind: TaperKind = "double",
) -> CandidateRing:
    """Return tail gap, squareness and ram difference that a ring in some orientation would give.

    Parameters
    ----------
    ring_outer_diameter_m : at which the taper is given.
    ring_length_m : at the centre.
    taper_mm : longest less shortest edge.
    widest_clock_angle_rad : of the candidate, one or many.
    ring_offset_right_mm, ring_offset_up_mm : centre of the last ring's front against the skin's centre.
    shield_to_ring_yaw_rad, shield_to_ring_pitch_rad : shield against the plane of the last ring.
    nominal_clearance_mm : half the difference of skin and ring diameter.
    ram_circle_radius_m : on which the rams stand.
    shield_yaw_change_rad, shield_pitch_change_rad : turn of the shield over the next push, nose right and nose up.
    pivot_distance_m : from the last ring's front to the point about which the shield turns.
    ovality_mm : longest less shortest diameter of the ring in the tail; 0 where it was not measured.
    taper_kind : ``double`` with both faces inclined by half, ``single`` with a square rear face.

    Notes
    -----
    To first order in the angles, which agrees with full space geometry to a tenth of a millimetre.
    """
    wedge = wedge_angle(ring_outer_diameter_m, taper_mm, taper_kind)
    sine, cosine = np.sin(widest_clock_angle_rad), np.cos(widest_clock_angle_rad)
    shift = 1000 * np.asarray(ring_length_m) * wedge / 2 if taper_kind == "double" else np.zeros(())
    arm = 1000 * (np.asarray(pivot_distance_m) - np.asarray(ring_length_m) / 2)
    right = ring_offset_right_mm - 1000 * np.multiply(shield_to_ring_yaw_rad, ring_length_m) - shift * sine
    up = ring_offset_up_mm - 1000 * np.multiply(shield_to_ring_pitch_rad, ring_length_m) - shift * cosine
    yaw, pitch = shield_to_ring_yaw_rad + wedge * sine, shield_to_ring_pitch_rad + wedge * cosine
    pushed_right, pushed_up = right + arm * shield_yaw_change_rad, up + arm * shield_pitch_change_rad
    pushed_yaw, pushed_pitch = yaw + shield_yaw_change_rad, pitch + shield_pitch_change_rad
    free = nominal_clearance_mm - np.asarray(ovality_mm) / 4
    return CandidateRing(
        wedge_angle_rad=wedge,
        built_offset_right_mm=right,
        built_offset_up_mm=up,
        built_clearance_mm=free - np.hypot(right, up),
        built_yaw_rad=yaw,
        built_pitch_rad=pitch,
        pushed_offset_right_mm=pushed_right,
        pushed_offset_up_mm=pushed_up,
        pushed_clearance_mm=free - np.hypot(pushed_right, pushed_up),
        pushed_yaw_rad=pushed_yaw,
        pushed_pitch_rad=pushed_pitch,
        ram_right_minus_left_mm=-2000 * pushed_yaw * ram_circle_radius_m,
        ram_bottom_minus_top_mm=2000 * pushed_pitch * ram_circle_radius_m,
    )
