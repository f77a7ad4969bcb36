"""Segments and their key, and what roll does to clock angles."""

from dataclasses import dataclass

import numpy as np

from tunnelwright.engineering.ring.sources import RING_GEOMETRY, SEGMENT_GEOMETRY
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Range, Require, method
from tunnelwright.vocabulary.types import DERIVED, FloatArray, Number, Record, Series


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TrueClockAngle(Record):
    """Clock angles after roll, and what roll moves."""

    true_clock_angle_rad: Series
    arc_shift_m: FloatArray
    level_change_m: Series


@method(
    "ring.roll.true_clock_angle",
    formulas={"arc_shift_m": Formula("s_arc", "R * rho_roll")},
    found_by={
        "true_clock_angle_rad": Algorithm("marked angle plus roll, counted from 0 to one turn", "theta_t"),
        "level_change_m": Algorithm(
            "radius times the change of the cosine of the clock angle",
            "dz",
            {"no more than the way along the arc": lambda v: ~(np.abs(v["level_change_m"]) > np.abs(v["arc_shift_m"])[..., None] * (1 + 1e-9) + 1e-12)},
        ),
    },
    valid={"roll_rad": Range(-0.01, 0.01, "10 mm/m is the usual alarm limit of a shield; common practice, no source")},
    kind="identity",
    source=RING_GEOMETRY,
)
def true_clock_angle(clock_angle_rad: Series, roll_rad: Number, radius_m: Number) -> TrueClockAngle:
    """Return the true clock angles of rams, ports or sensors on a rolled shield or ring.

    Parameters
    ----------
    clock_angle_rad : as marked on the shield or ring.
    roll_rad : of the shield or ring, clockwise positive.
    radius_m : at which the ram, port or sensor sits.

    Notes
    -----
    The level change is positive upwards: a sensor whose level is taken without the roll reads the pressure of another level.
    """
    roll = np.asarray(roll_rad)[..., None]
    return TrueClockAngle(
        true_clock_angle_rad=np.mod(clock_angle_rad + roll, 2 * np.pi),
        arc_shift_m=np.multiply(radius_m, roll_rad),
        level_change_m=np.asarray(radius_m)[..., None] * (np.cos(clock_angle_rad + roll) - np.cos(clock_angle_rad)),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SegmentWeight(Record):
    """Volume and weight of a ring and of one of its segments."""

    ring_volume_m3: FloatArray
    ring_weight_kn: FloatArray
    segment_weight_kn: FloatArray


@method(
    "ring.segment.weight",
    formulas={
        "ring_volume_m3": Formula("V_r", "pi / 4 * (D_o^2 - D_i^2) * L"),
        "ring_weight_kn": Formula("W_r", "gamma_l * V_r"),
        "segment_weight_kn": Formula("W_seg", "W_r * phi_seg / (2 * pi)"),
    },
    derived={"segment_angle_rad": Formula("phi_seg", "2 * pi")},
    symbols={"segment_angle_rad": "phi_seg"},
    possible={"segment_angle_rad": (0.01, 6.2832)},
    requires=(Require("ring_inner_diameter_m", lambda v: v["ring_inner_diameter_m"] < v["ring_outer_diameter_m"], "must be less than ring_outer_diameter_m"),),
    kind="identity",
    source=SEGMENT_GEOMETRY,
)
def segment_weight(
    ring_outer_diameter_m: Number,
    ring_inner_diameter_m: Number,
    ring_length_m: Number,
    segment_angle_rad: Number = DERIVED,
    concrete_unit_weight_kn_m3: Number = 25.0,
) -> SegmentWeight:
    """Return volume and weight of a ring, and the weight of a segment.

    Parameters
    ----------
    ring_outer_diameter_m : of the ring.
    ring_inner_diameter_m : of the ring.
    ring_length_m : at the centre.
    segment_angle_rad : that the segment covers; the whole ring when left out.
    concrete_unit_weight_kn_m3 : of the reinforced concrete.

    Notes
    -----
    The segment is a mean one: the longer side of a tapered ring weighs more, the shorter side less.
    """
    volume = np.pi / 4 * (np.square(ring_outer_diameter_m) - np.square(ring_inner_diameter_m)) * ring_length_m
    weight = concrete_unit_weight_kn_m3 * volume
    return SegmentWeight(ring_volume_m3=volume, ring_weight_kn=weight, segment_weight_kn=weight * segment_angle_rad / (2 * np.pi))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class KeyInsertion(Record):
    """How a key is pushed in: how far it starts off its place, its widths, and the stroke it takes."""

    insertion_offset_m: FloatArray
    width_rear_m: FloatArray
    width_middle_m: FloatArray
    width_front_m: FloatArray
    stroke_needed_m: FloatArray


@method(
    "ring.key.insertion",
    formulas={
        "insertion_offset_m": Formula("x_ins", "min(L, (t_l * tan(kappa_k / 2) + g_s / 1000) / tan(epsilon_k))"),
        "width_middle_m": Formula("b_mid", "r_mid * kappa_k"),
        "width_rear_m": Formula("b_rear", "r_mid * kappa_k - L * tan(epsilon_k)"),
        "width_front_m": Formula("b_front", "r_mid * kappa_k + L * tan(epsilon_k)"),
        "stroke_needed_m": Formula("s_need", "L + T_w / 2000 + x_ins + c_ram"),
    },
    symbols={"key_angle_rad": "kappa_k", "joint_skew_rad": "epsilon_k", "seal_gap_mm": "g_s", "ram_clearance_m": "c_ram"},
    possible={"key_angle_rad": (0.01, 2.1), "joint_skew_rad": (0.001, 0.8), "seal_gap_mm": (0.0, 50.0), "ram_clearance_m": (0.0, 2.0)},
    valid={"width_rear_m": Range(0.0, np.inf, "the key comes to a point before its rear edge: skew or length is wrong")},
    kind="identity",
    source=SEGMENT_GEOMETRY,
)
def key_insertion(
    mean_radius_m: Number,
    lining_thickness_m: Number,
    ring_length_m: Number,
    key_angle_rad: Number,
    joint_skew_rad: Number,
    seal_gap_mm: Number = 5.0,
    taper_mm: Number = 0.0,
    ram_clearance_m: Number = 0.15,
) -> KeyInsertion:
    """Return how far a key must start in front of its place to be pushed in, and the ram stroke that this takes.

    Parameters
    ----------
    mean_radius_m : to the middle of the lining's thickness.
    lining_thickness_m : of the ring.
    ring_length_m : at the centre.
    key_angle_rad : between the radial faces of the key.
    joint_skew_rad : of each side of the key against the tunnel axis.
    seal_gap_mm : room for the gasket on each side.
    taper_mm : longest less shortest edge of the ring.
    ram_clearance_m : between the retracted pad and the key.
    """
    slope = np.tan(joint_skew_rad)
    middle = np.multiply(mean_radius_m, key_angle_rad)
    insertion = np.minimum(ring_length_m, (lining_thickness_m * np.tan(np.asarray(key_angle_rad) / 2) + np.asarray(seal_gap_mm) / 1000) / slope)
    return KeyInsertion(
        insertion_offset_m=insertion,
        width_rear_m=middle - ring_length_m * slope,
        width_middle_m=middle,
        width_front_m=middle + ring_length_m * slope,
        stroke_needed_m=ring_length_m + np.asarray(taper_mm) / 2000 + insertion + ram_clearance_m,
    )
