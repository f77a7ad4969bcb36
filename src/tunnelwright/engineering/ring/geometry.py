r"""The single tapered ring: its radius, its edges, and the taper that a drive needs.

 shortest edge L - T/2
   .---------------.
  /        |        \       double: both faces lean by half the wedge angle
 /         | D       \      single: the front face leans by the whole of it, the rear face is square
'---------------------'
 longest edge  L + T/2      at the clock angle psi; the tunnel turns away from it
"""

from dataclasses import dataclass
from typing import Literal, TypeAlias

import numpy as np

from tunnelwright.engineering.ring.sources import RING_GEOMETRY
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Range, Require, method
from tunnelwright.vocabulary.types import DERIVED, FloatArray, Number, Record, Values

TaperKind: TypeAlias = Literal["double", "single"]
# Steeper tapers are slips: taper given as per cent, or twice.
_STEEPEST_TAPER = 0.02


def wedge_angle(diameter_m: Number, taper_mm: Number, taper_kind: TaperKind) -> FloatArray:
    """Return the angle between the two faces of a ring in rad."""
    taper_m = np.asarray(taper_mm) / 1000
    return 2 * np.arctan(taper_m / (2 * np.asarray(diameter_m))) if taper_kind == "double" else np.arctan(taper_m / diameter_m)


def wedge_formula(diameter: str = "D_o") -> Formula:
    """Return the printed formula of the wedge angle over the symbol of the diameter at which the taper is given."""
    return Formula("w", f'2 * atan(T_w / (2000 * {diameter})) if taper_kind == "double" else atan(T_w / (1000 * {diameter}))')


def _is_gentle(values: Values) -> FloatArray:
    diameter = values.get("taper_diameter_m")
    return values["taper_mm"] / 1000 <= _STEEPEST_TAPER * (values["ring_outer_diameter_m"] if diameter is None else diameter)


GENTLE_TAPER = Require("taper_mm", _is_gentle, "must be at most a fiftieth of the diameter", "is it in mm, and the whole taper, not per cent of the length?")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RingRadius(Record):
    """Inclination of the faces and the radius of rings in one orientation."""

    face_angle_rad: FloatArray
    wedge_angle_rad: FloatArray
    ring_radius_m: FloatArray
    ring_radius_first_order_m: FloatArray


@method(
    "ring.geometry.radius",
    formulas={
        "face_angle_rad": Formula("alpha", 'atan(T_w / (2000 * D_t)) if taper_kind == "double" else atan(T_w / (1000 * D_t))'),
        "wedge_angle_rad": Formula("w", '2 * alpha if taper_kind == "double" else alpha'),
        "ring_radius_m": Formula("R_ring", "L / (2 * sin(w / 2))"),
        "ring_radius_first_order_m": Formula("R_1", "1000 * L * D_t / T_w"),
    },
    derived={"taper_diameter_m": Formula("D_t", "D_o")},
    requires=(GENTLE_TAPER,),
    kind="identity",
    source=RING_GEOMETRY,
)
def ring_radius(
    ring_outer_diameter_m: Number, ring_length_m: Number, taper_mm: Number, taper_kind: TaperKind = "double", taper_diameter_m: Number = DERIVED
) -> RingRadius:
    """Return the radius of the curve that rings build when all stand in one orientation.

    Parameters
    ----------
    ring_outer_diameter_m : of the ring.
    ring_length_m : at the centre.
    taper_mm : longest less shortest edge; 0 for a straight ring, which has no radius.
    taper_kind : ``double`` with both faces inclined by half, ``single`` with a square rear face.
    taper_diameter_m : at which the taper is measured; the outer one when left out.

    Notes
    -----
    Rings in one orientation have their lengthwise joints in line. With stagger the reachable radius is larger: see ``ring.feasibility.reachable_radius``.
    """
    wedge = wedge_angle(taper_diameter_m, taper_mm, taper_kind)
    with np.errstate(divide="ignore", invalid="ignore"):
        radius = ring_length_m / (2 * np.sin(wedge / 2))
        first_order = 1000 * np.multiply(ring_length_m, taper_diameter_m) / taper_mm
    return RingRadius(
        face_angle_rad=wedge / 2 if taper_kind == "double" else wedge, wedge_angle_rad=wedge, ring_radius_m=radius, ring_radius_first_order_m=first_order
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class EdgeLength(Record):
    """Length of the ring along a line on it."""

    edge_length_m: FloatArray


@method(
    "ring.geometry.edge_length",
    formulas={"edge_length_m": Formula("l", "L + T_w / 1000 * x_m / D_t * cos(theta_c - psi_w)")},
    derived={"measuring_radius_m": Formula("x_m", "D_o / 2"), "taper_diameter_m": Formula("D_t", "D_o")},
    symbols={"measuring_radius_m": "x_m"},
    possible={"measuring_radius_m": (0.0, 10.0)},
    requires=(GENTLE_TAPER,),
    kind="identity",
    source=RING_GEOMETRY,
)
def edge_length(
    ring_outer_diameter_m: Number,
    ring_length_m: Number,
    taper_mm: Number,
    widest_clock_angle_rad: Number,
    clock_angle_rad: Number,
    measuring_radius_m: Number = DERIVED,
    taper_diameter_m: Number = DERIVED,
) -> EdgeLength:
    """Return the length of a tapered ring along a line parallel to its axis.

    Parameters
    ----------
    ring_outer_diameter_m : of the ring.
    ring_length_m : at the centre.
    taper_mm : longest less shortest edge.
    widest_clock_angle_rad : where the ring is longest.
    clock_angle_rad : of the line.
    measuring_radius_m : distance of the line from the centre; the outer radius when left out.
    taper_diameter_m : at which the taper is measured; the outer one when left out.
    """
    half_taper_m = np.asarray(taper_mm) / 1000 * measuring_radius_m / taper_diameter_m
    return EdgeLength(edge_length_m=ring_length_m + half_taper_m * np.cos(np.subtract(clock_angle_rad, widest_clock_angle_rad)))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Widest(Record):
    """Where a ring is longest."""

    widest_clock_angle_rad: FloatArray


@method(
    "ring.geometry.widest_from_key",
    formulas={"widest_clock_angle_rad": Formula("psi_w", "mod(theta_key + delta_k, 2 * pi)")},
    kind="identity",
    source=RING_GEOMETRY,
)
def widest_from_key(key_clock_angle_rad: Number, key_to_widest_rad: Number) -> Widest:
    """Return the clock angle at which a ring is longest, from 0 to one turn.

    Parameters
    ----------
    key_clock_angle_rad : where the key's centre stands.
    key_to_widest_rad : from there to the longest edge, clockwise.
    """
    return Widest(widest_clock_angle_rad=np.mod(np.add(key_clock_angle_rad, key_to_widest_rad), 2 * np.pi))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DesignTaper(Record):
    """Taper of a ring for a drive, and its radius."""

    taper_mm: FloatArray
    ring_radius_m: FloatArray


@method(
    "ring.geometry.design_taper",
    formulas={
        "taper_mm": Formula("T_w", "1000 * D_o * L * (1 / R_a + 1 / R_corr)"),
        "ring_radius_m": Formula("R_ring", "1000 * D_o * L / T_w"),
    },
    possible={"axis_radius_m": (10.0, np.inf)},
    valid={"correction_radius_m": Range(300.0, 2000.0, "usual reserve for steering back; common practice, no source")},
    kind="identity",
    source=RING_GEOMETRY,
)
def design_taper(ring_outer_diameter_m: Number, ring_length_m: Number, axis_radius_m: Number, correction_radius_m: Number) -> DesignTaper:
    """Return the taper that builds the tightest curve and still steers back inside it.

    Parameters
    ----------
    ring_outer_diameter_m : of the ring.
    ring_length_m : at the centre.
    axis_radius_m : least radius of the axis in space.
    correction_radius_m : of the curvature kept in reserve.
    """
    curvature = 1 / np.asarray(axis_radius_m) + 1 / np.asarray(correction_radius_m)
    return DesignTaper(taper_mm=1000 * np.multiply(ring_outer_diameter_m, ring_length_m) * curvature, ring_radius_m=1 / curvature)
