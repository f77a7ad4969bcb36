"""Overcut: room that a straight or jointed shield needs in a curve, the crescent of a shifted bore, the cut of worn tools."""

from dataclasses import dataclass
from typing import Final

import numpy as np

from tunnelwright.engineering.machine.sources import GEOMETRY
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Range, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record

MM_PER_M: Final = 1000.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RigidOvercut(Record):
    """Room for a straight body in a curve."""

    overcut_mm: FloatArray
    tail_offset_mm: FloatArray


@method(
    "machine.overcut.rigid_chord",
    formulas={
        "overcut_mm": Formula("u", "1000 * L_s^2 / 4 / (sqrt((R_c + D_s / 2)^2 + L_s^2 / 4) + R_c + D_s / 2)"),
        "tail_offset_mm": Formula("e_tail", "1000 * L_s^2 / (sqrt(R_c^2 + L_s^2) + R_c)"),
    },
    symbols={"overcut_mm": "u"},
    requires=(Require("curve_radius_m", lambda v: v["curve_radius_m"] > v["shield_length_m"], "must be more than the shield's length"),),
    kind="identity",
    source=GEOMETRY,
)
def rigid_overcut(curve_radius_m: Number, shield_outer_diameter_m: Number, shield_length_m: Number) -> RigidOvercut:
    """Return the overcut that a straight shield needs in a curve, exactly.

    Parameters
    ----------
    curve_radius_m : to the middle of the body's axis.
    shield_outer_diameter_m : of the skin.
    shield_length_m : from cutting edge to tail.

    Notes
    -----
    The corners of the body's outer side lie at sqrt((R + D/2)^2 + (L/2)^2), the middle of its inner side at R - D/2; the cut must
    hold both. The difference of two nearly equal lengths is written as a quotient, which keeps its digits.
    """
    outer_m = np.add(curve_radius_m, np.divide(shield_outer_diameter_m, 2.0))
    half_m2 = np.square(np.divide(shield_length_m, 2.0))
    overcut_mm = MM_PER_M * half_m2 / (np.sqrt(np.square(outer_m) + half_m2) + outer_m)
    length_m2 = np.square(shield_length_m)
    tail_mm = MM_PER_M * length_m2 / (np.sqrt(np.square(curve_radius_m) + length_m2) + curve_radius_m)
    return RigidOvercut(overcut_mm=overcut_mm, tail_offset_mm=np.asarray(tail_mm))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ArticulatedOvercut(Record):
    """Angle of the joint and room for the longer body."""

    articulation_angle_rad: FloatArray
    overcut_mm: FloatArray


@method(
    "machine.overcut.articulated",
    formulas={
        "articulation_angle_rad": Formula("alpha_a", "asin(L_1 / (2 * R_c)) + asin(L_2 / (2 * R_c))"),
        "overcut_mm": Formula("u", "1000 * max(L_1, L_2)^2 / (8 * R_c)"),
    },
    symbols={"overcut_mm": "u"},
    valid={"articulation_angle_rad": Range(0.0, float(np.radians(3.0)), "usual joints turn by 1 to 3 deg; leave some for correction curves")},
    requires=(
        Require("curve_radius_m", lambda v: v["curve_radius_m"] > np.maximum(v["front_length_m"], v["rear_length_m"]), "must be more than the bodies' lengths"),
    ),
    kind="identity",
    source=GEOMETRY,
)
def articulated_overcut(curve_radius_m: Number, front_length_m: Number, rear_length_m: Number) -> ArticulatedOvercut:
    """Return the angle of the joint of a shield in two bodies, and the overcut by the usual approximation, slightly large.

    Parameters
    ----------
    curve_radius_m : to the middle of the bodies' axes.
    front_length_m : of the body before the joint.
    rear_length_m : of the body behind it.
    """
    diameter_m = 2 * np.asarray(curve_radius_m)
    angle_rad = np.arcsin(front_length_m / diameter_m) + np.arcsin(rear_length_m / diameter_m)
    overcut_mm = MM_PER_M * np.square(np.maximum(front_length_m, rear_length_m)) / (4 * diameter_m)
    return ArticulatedOvercut(articulation_angle_rad=angle_rad, overcut_mm=overcut_mm)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ShiftedBore(Record):
    """What a bore shifted to one side cuts beside the plain circle."""

    extra_area_m2: FloatArray
    extra_volume_m3: FloatArray


@method(
    "machine.overcut.shifted_bore",
    formulas={
        "extra_area_m2": Formula("A_x", "D^2 / 2 * asin(e / (1000 * D)) + e / 2000 * sqrt(D^2 - (e / 1000)^2)"),
        "extra_volume_m3": Formula("V_x", "A_x * x_s"),
    },
    symbols={"shift_mm": "e"},
    possible={"shift_mm": (0.0, 1000.0)},
    kind="identity",
    source=GEOMETRY,
)
def shifted_bore(excavation_diameter_m: Number, shift_mm: Number, stroke_m: Number | None = None) -> ShiftedBore:
    """Return area and volume of the crescent that a shifted bore cuts; muck and grout grow by it.

    Parameters
    ----------
    excavation_diameter_m : of the cut.
    shift_mm : of its centre.
    stroke_m : of the push; without it there is no volume.
    """
    shift_m = np.divide(shift_mm, MM_PER_M)
    diameter_m2 = np.square(excavation_diameter_m)
    area_m2 = diameter_m2 / 2 * np.arcsin(shift_m / excavation_diameter_m) + shift_m / 2 * np.sqrt(diameter_m2 - np.square(shift_m))
    return ShiftedBore(extra_area_m2=area_m2, extra_volume_m3=np.asarray(area_m2 * (np.nan if stroke_m is None else stroke_m)))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WornDiameter(Record):
    """Diameter that worn tools cut."""

    excavation_diameter_m: FloatArray


@method(
    "machine.overcut.worn_diameter",
    formulas={"excavation_diameter_m": Formula("D", "D_new - 2 * w_g / 1000")},
    symbols={"new_diameter_m": "D_new", "gauge_wear_mm": "w_g"},
    possible={"new_diameter_m": (1.0, 20.0)},
    kind="identity",
    source=GEOMETRY,
)
def worn_diameter(new_diameter_m: Number, gauge_wear_mm: Number) -> WornDiameter:
    """Return the diameter of the cut with worn gauge tools; less muck comes, and the gap round the skin closes.

    Parameters
    ----------
    new_diameter_m : with new tools.
    gauge_wear_mm : of the gauge tools, radial.
    """
    return WornDiameter(excavation_diameter_m=np.asarray(new_diameter_m - 2 * np.divide(gauge_wear_mm, MM_PER_M)))
