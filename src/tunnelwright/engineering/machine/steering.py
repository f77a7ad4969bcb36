"""Moments on the shield: rams, face, weight, a hard segment of the face, the ground beside it; and its resistance to roll.

Clock angles run from the crown, clockwise looking in drive direction. Nose-up and nose-right moments are positive: more force at
the invert lifts the nose, more force at the left turns it right.
"""

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from tunnelwright.engineering.machine.sources import ELASTIC_BEDDING, GEOMETRY, STATICS
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Remark, Require, Rows, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Table

ARM: Final = "r_ram * (sin(delta) / delta if delta != 0 else 1)"
WATCH_ROLL: Final = 0.5
ACT_ROLL: Final = 0.8


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RamGroups(Table):
    """Groups of rams with their forces, one row each."""

    force_kn: FloatArray
    clock_angle_rad: FloatArray
    half_angle_rad: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RamMoments(Record):
    """Sum of the rams' forces, their moments and where their resultant stands."""

    thrust_kn: FloatArray
    moment_nose_up_knm: FloatArray
    moment_nose_right_knm: FloatArray
    thrust_centre_right_m: FloatArray
    thrust_centre_up_m: FloatArray


def lever_arm_m(ram_circle_radius_m: Number, half_angle_rad: FloatArray) -> FloatArray:
    """Return the distance of a group's resultant from the axis: on the circle for a point, inside it for an arc."""
    return np.asarray(np.asarray(ram_circle_radius_m)[..., None] * np.sinc(half_angle_rad / np.pi))


@method(
    "machine.steering.ram_moments",
    found_by={
        "thrust_kn": Rows("groups", "F_T", "previous + F"),
        "moment_nose_up_knm": Rows("groups", "M_up", f"previous - F * {ARM} * cos(theta_c)"),
        "moment_nose_right_knm": Rows("groups", "M_right", f"previous - F * {ARM} * sin(theta_c)"),
    },
    formulas={"thrust_centre_right_m": Formula("x_F", "-M_right / F_T"), "thrust_centre_up_m": Formula("y_F", "-M_up / F_T")},
    symbols={"half_angle_rad": "delta"},
    kind="identity",
    source=STATICS,
)
def ram_moments(groups: RamGroups, ram_circle_radius_m: Number) -> RamMoments:
    """Return thrust, moments and centre of thrust of groups of rams.

    Parameters
    ----------
    groups : force, clock angle of the middle and half the arc of each group; half angle 0 stands for a single ram.
    ram_circle_radius_m : on which the rams stand.
    """
    arm_m = lever_arm_m(ram_circle_radius_m, groups.half_angle_rad)
    thrust_kn = np.sum(groups.force_kn, axis=-1)
    up_knm = -np.sum(groups.force_kn * arm_m * np.cos(groups.clock_angle_rad), axis=-1)
    right_knm = -np.sum(groups.force_kn * arm_m * np.sin(groups.clock_angle_rad), axis=-1)
    with np.errstate(divide="ignore", invalid="ignore"):
        centre_right_m, centre_up_m = -right_knm / thrust_kn, -up_knm / thrust_kn
    return RamMoments(
        thrust_kn=np.asarray(thrust_kn),
        moment_nose_up_knm=up_knm,
        moment_nose_right_knm=right_knm,
        thrust_centre_right_m=centre_right_m,
        thrust_centre_up_m=centre_up_m,
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class NoseUpMoment(Record):
    """A moment that turns the nose up, or down when negative."""

    moment_nose_up_knm: FloatArray


@method(
    "machine.steering.face_moment",
    formulas={"moment_nose_up_knm": Formula("M_face", "-gamma_S * pi / 64 * D_s^4")},
    symbols={"moment_nose_up_knm": "M_face"},
    kind="identity",
    source=STATICS,
)
def face_moment(support_unit_weight_kn_m3: Number, shield_outer_diameter_m: Number) -> NoseUpMoment:
    """Return the moment of the support pressure, which grows with depth and so holds the invert back: nose-down.

    Parameters
    ----------
    support_unit_weight_kn_m3 : growth of the pressure with depth in the chamber.
    shield_outer_diameter_m : of the pressurised section.
    """
    return NoseUpMoment(moment_nose_up_knm=np.asarray(-support_unit_weight_kn_m3 * np.pi / 64 * np.asarray(shield_outer_diameter_m) ** 4))


@method(
    "machine.steering.weight_moment",
    formulas={"moment_nose_up_knm": Formula("M_w", "-W_s * a_g")},
    symbols={"gravity_lever_m": "a_g", "moment_nose_up_knm": "M_w"},
    possible={"gravity_lever_m": (-20.0, 20.0)},
    kind="identity",
    source=STATICS,
)
def weight_moment(shield_weight_kn: Number, gravity_lever_m: Number) -> NoseUpMoment:
    """Return the moment of the shield's weight: nose-down where the head is the heavy end.

    Parameters
    ----------
    shield_weight_kn : of the shield.
    gravity_lever_m : centre of gravity ahead of the centre of the reaction.
    """
    return NoseUpMoment(moment_nose_up_knm=-np.multiply(shield_weight_kn, gravity_lever_m))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MixedFaceMoment(Record):
    """A hard segment of the face and the moment of the tools that press on it."""

    segment_area_m2: FloatArray
    segment_centroid_m: FloatArray
    moment_nose_up_knm: FloatArray


@method(
    "machine.steering.mixed_face_moment",
    formulas={
        "segment_area_m2": Formula("A_seg", "D^2 / 4 * acos(2 * y_0 / D) - y_0 * sqrt(D^2 / 4 - y_0^2)"),
        "segment_centroid_m": Formula("y_seg", "2 * (D^2 / 4 - y_0^2)^1.5 / (3 * A_seg)"),
        "moment_nose_up_knm": Formula("M_mix", 'F_tool * y_seg if hard_side == "crown" else -F_tool * y_seg'),
    },
    symbols={"boundary_height_m": "y_0", "moment_nose_up_knm": "M_mix"},
    possible={"boundary_height_m": (0.0, 10.0)},
    requires=(
        Require(
            "boundary_height_m",
            lambda v: v["boundary_height_m"] < v["excavation_diameter_m"] / 2,
            "must be less than half the diameter",
            "it is the distance of the boundary from the axis",
        ),
    ),
    kind="mean",
    source=GEOMETRY,
)
def mixed_face_moment(
    net_tool_thrust_kn: Number, boundary_height_m: Number, excavation_diameter_m: Number, hard_side: Literal["crown", "invert"]
) -> MixedFaceMoment:
    """Return the moment of a face that is hard on one side: a hard crown holds the top back and lifts the nose.

    Parameters
    ----------
    net_tool_thrust_kn : on the harder segment.
    boundary_height_m : distance of the boundary from the axis, on the side of the hard segment.
    excavation_diameter_m : of the cut.
    hard_side : where the harder ground stands.
    """
    radius_m = np.divide(excavation_diameter_m, 2.0)
    half_chord_m = np.sqrt(np.square(radius_m) - np.square(boundary_height_m))
    area_m2 = np.square(radius_m) * np.arccos(boundary_height_m / radius_m) - boundary_height_m * half_chord_m
    centroid_m = 2 * half_chord_m**3 / (3 * area_m2)
    sign = 1.0 if hard_side == "crown" else -1.0
    return MixedFaceMoment(segment_area_m2=area_m2, segment_centroid_m=centroid_m, moment_nose_up_knm=np.asarray(sign * net_tool_thrust_kn * centroid_m))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TurningMoment(Record):
    """Moment that turns the shield in the ground."""

    moment_knm: FloatArray


@method(
    "machine.steering.turning_moment",
    formulas={"moment_knm": Formula("M", "k_h * D_s * phi * L_s^3 / 12")},
    symbols={"subgrade_reaction_kn_m3": "k_h", "turn_angle_rad": "phi"},
    possible={"subgrade_reaction_kn_m3": (0.0, 1e7)},
    remarks=(Remark(lambda v: np.abs(v["turn_angle_rad"]) > np.radians(1.0), "more than 1 deg: the ground beside the shield yields, the moment is too high"),),
    kind="screening",
    source=ELASTIC_BEDDING,
)
def turning_moment(subgrade_reaction_kn_m3: Number, shield_outer_diameter_m: Number, shield_length_m: Number, turn_angle_rad: Number) -> TurningMoment:
    """Return the moment that turns a stiff shield by a small angle against elastic ground on both sides.

    Parameters
    ----------
    subgrade_reaction_kn_m3 : pressure over displacement.
    shield_outer_diameter_m : of the skin.
    shield_length_m : in contact with the ground.
    turn_angle_rad : small.
    """
    return TurningMoment(
        moment_knm=np.asarray(subgrade_reaction_kn_m3 * np.multiply(shield_outer_diameter_m, turn_angle_rad) * np.asarray(shield_length_m) ** 3 / 12)
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RollCapacity(Record):
    """Resistance of the skin to roll and how much of it the torque uses."""

    roll_capacity_knm: FloatArray
    roll_utilisation: FloatArray


@method(
    "machine.roll.capacity",
    formulas={"roll_capacity_knm": Formula("T_roll", "F_skin * D_s / 2"), "roll_utilisation": Formula("r_roll", "abs(T) / T_roll")},
    remarks=(
        Remark(lambda v: v["roll_utilisation"] > ACT_ROLL, "torque above 0.8 of the skin's resistance: reverse the head before the shield rolls; act"),
        Remark(
            lambda v: (v["roll_utilisation"] > WATCH_ROLL) & (v["roll_utilisation"] <= ACT_ROLL),
            "torque above half of the skin's resistance: watch the roll, reverse the head in time",
        ),
    ),
    kind="upper bound",
    source=STATICS,
)
def roll_capacity(skin_friction_kn: Number, shield_outer_diameter_m: Number, torque_knm: Number) -> RollCapacity:
    """Return how far the skin can take the head's torque; a shield that slides spends its friction along the axis, so less is left.

    Parameters
    ----------
    skin_friction_kn : of the shield in the ground.
    shield_outer_diameter_m : of the skin.
    torque_knm : of the head.
    """
    capacity_knm = np.multiply(skin_friction_kn, shield_outer_diameter_m) / 2
    with np.errstate(divide="ignore", invalid="ignore"):
        utilisation = np.abs(torque_knm) / capacity_knm
    return RollCapacity(roll_capacity_knm=capacity_knm, roll_utilisation=np.asarray(utilisation))
