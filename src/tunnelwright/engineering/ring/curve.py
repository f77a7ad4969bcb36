"""What must fit a curve: shield, articulation, tail skin over the lining, back-up cars."""

from dataclasses import dataclass

import numpy as np

from tunnelwright.engineering.ring.sources import CIRCLE_GEOMETRY
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Remark, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record

_AXIS_RADIUS = {"axis_radius_m": (10.0, np.inf)}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ShieldInCurve(Record):
    """Room that a rigid shield takes in a curve."""

    chord_sagitta_m: FloatArray
    concentric_overcut_m: FloatArray
    tail_swing_m: FloatArray


@method(
    "ring.curve.shield",
    formulas={
        "chord_sagitta_m": Formula("s_chord", "L_s^2 / (8 * R_a)"),
        "concentric_overcut_m": Formula("c_over", "L_s^2 / (16 * (R_a + r_s))"),
        "tail_swing_m": Formula("s_swing", "L_s^2 / (2 * R_a)"),
    },
    symbols={"shield_radius_m": "r_s"},
    possible={**_AXIS_RADIUS, "shield_radius_m": (0.5, 12.0)},
    kind="lower bound",
    source=CIRCLE_GEOMETRY,
)
def shield_in_curve(axis_radius_m: Number, shield_length_m: Number, shield_radius_m: Number) -> ShieldInCurve:
    """Return the overcut that a rigid shield needs in a curve.

    Parameters
    ----------
    axis_radius_m : of the axis in space, or of the curve back to it.
    shield_length_m : of the rigid body.
    shield_radius_m : outside of its skin.

    Notes
    -----
    Sagitta: one-sided overcut inside the curve for a shield whose ends lie on the axis. Concentric: the bore radius rc for which a cylinder of
    length Ls just passes obeys hypot(R - rc + 2 r, Ls/2) = R + rc, whose root is rc = r + Ls^2 / (16 (R + r)) exactly. Swing: outward move of
    the tail when the front follows the tangent, the worst way to drive.
    """
    length_m2 = np.square(shield_length_m)
    return ShieldInCurve(
        chord_sagitta_m=length_m2 / (8 * np.asarray(axis_radius_m)),
        concentric_overcut_m=length_m2 / (16 * np.add(axis_radius_m, shield_radius_m)),
        tail_swing_m=length_m2 / (2 * np.asarray(axis_radius_m)),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ArticulationAngle(Record):
    """Angle between the bodies of an articulated shield."""

    articulation_angle_rad: FloatArray


@method(
    "ring.curve.articulation",
    formulas={"articulation_angle_rad": Formula("alpha_a", "asin(L_1 / (2 * R_a)) + asin(L_2 / (2 * R_a))")},
    symbols={"articulation_limit_rad": "alpha_lim"},
    possible={**_AXIS_RADIUS, "articulation_limit_rad": (0.0, 0.2)},
    remarks=(Remark(lambda v: v["articulation_angle_rad"] > v["articulation_limit_rad"], "the curve asks for more articulation than the machine has"),),
    kind="identity",
    source=CIRCLE_GEOMETRY,
)
def articulation(axis_radius_m: Number, front_length_m: Number, rear_length_m: Number, articulation_limit_rad: Number = 0.0262) -> ArticulationAngle:
    """Return the angle at which an articulated shield follows a curve.

    Parameters
    ----------
    axis_radius_m : of the curve.
    front_length_m, rear_length_m : of the two bodies.
    articulation_limit_rad : what the machine allows; only for the caution.
    """
    radius = np.asarray(axis_radius_m)
    angle = np.arcsin(front_length_m / (2 * radius)) + np.arcsin(rear_length_m / (2 * radius))
    return ArticulationAngle(articulation_angle_rad=angle)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TailInCurve(Record):
    """Tail gap that a curve takes."""

    clearance_loss_mm: FloatArray
    clearance_loss_centred_mm: FloatArray


@method(
    "ring.curve.tail_skin",
    formulas={
        "clearance_loss_mm": Formula("dc", "1000 * x_t^2 / (2 * R_a)"),
        "clearance_loss_centred_mm": Formula("dc_mid", "1000 * x_t^2 / (8 * R_a)"),
    },
    symbols={"covered_length_m": "x_t"},
    possible={**_AXIS_RADIUS, "covered_length_m": (0.0, 20.0)},
    kind="mean",
    source=CIRCLE_GEOMETRY,
)
def tail_skin(axis_radius_m: Number, covered_length_m: Number) -> TailInCurve:
    """Return the tail gap that a straight skin loses over a curved lining.

    Parameters
    ----------
    axis_radius_m : of the lining.
    covered_length_m : of lining inside the skin.

    Notes
    -----
    The first loss holds when the skin is square to the ring at one end, the second when skin and lining are centred on each other.
    """
    full = 1000 * np.square(covered_length_m) / np.asarray(axis_radius_m)
    return TailInCurve(clearance_loss_mm=full / 2, clearance_loss_centred_mm=full / 8)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CarInCurve(Record):
    """How far a car stands off its track's centre line in a curve."""

    inside_m: FloatArray
    outside_m: FloatArray


@method(
    "ring.curve.backup_car",
    formulas={
        "inside_m": Formula("s_in", "R_a - sqrt(R_a^2 - (a_b / 2)^2)"),
        "outside_m": Formula("s_out", "hypot(R_a - s_in, a_b / 2 + a_o) - R_a"),
    },
    symbols={"bogie_base_m": "a_b"},
    possible={**_AXIS_RADIUS, "bogie_base_m": (0.0, 40.0)},
    requires=(Require("bogie_base_m", lambda v: v["bogie_base_m"] < 2 * v["axis_radius_m"], "the bogies must find room on the curve"),),
    kind="identity",
    source=CIRCLE_GEOMETRY,
)
def backup_car(axis_radius_m: Number, bogie_base_m: Number, overhang_m: Number) -> CarInCurve:
    """Return how far a car on two bogies stands inside and outside the centre line of a curve.

    Parameters
    ----------
    axis_radius_m : of the track.
    bogie_base_m : distance of the bogies.
    overhang_m : of the car beyond a bogie.
    """
    radius = np.asarray(axis_radius_m)
    middle = np.sqrt(np.square(radius) - np.square(np.asarray(bogie_base_m) / 2))
    return CarInCurve(inside_m=radius - middle, outside_m=np.hypot(middle, np.asarray(bogie_base_m) / 2 + overhang_m) - radius)
