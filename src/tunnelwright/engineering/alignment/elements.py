"""One element of the plan, and the relations of arcs and transitions by which designs are written down."""

from dataclasses import dataclass

import numpy as np

from tunnelwright.engineering.alignment.laws import ElementType, curvature, displacement, turn
from tunnelwright.engineering.alignment.plan_curve import on_grid
from tunnelwright.engineering.alignment.sources import GEOMETRY, IFC_4_3, TRANSITIONS
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Require, method
from tunnelwright.vocabulary.types import DERIVED, FloatArray, Number, Record, Values

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(40)
# Shares of curvature and of turn as they are printed, over xi = s/L.
_LAWS = (
    ("clothoid", "xi", "xi^2 / 2"),
    ("bloss", "(3 - 2 * xi) * xi^2", "xi^3 - xi^4 / 2"),
    ("cosine", "(1 - cos(pi * xi)) / 2", "xi / 2 - sin(pi * xi) / (2 * pi)"),
    ("sine", "xi - sin(2 * pi * xi) / (2 * pi)", "xi^2 / 2 + (cos(2 * pi * xi) - 1) / (4 * pi^2)"),
    ("helmert", "2 * xi^2 if xi < 1/2 else 1 - 2 * (1 - xi)^2", "2 * xi^3 / 3 if xi < 1/2 else xi - 1/2 + 2 * (1 - xi)^3 / 3"),
)


def _by_law(column: int) -> str:
    """Return one formula that takes the share of the law at hand; that of a line or an arc is 0."""
    text = "0"
    for row in reversed(_LAWS):
        text = f'(({row[column]}) if element_type == "{row[0]}" else {text})'
    return text.replace("xi", "(s / L)")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ElementPoint(Record):
    """A point of one element of the plan."""

    northing_m: FloatArray
    easting_m: FloatArray
    bearing_rad: FloatArray
    curvature_1_m: FloatArray


def _chord_is_no_longer_than_the_way(values: Values) -> FloatArray:
    chord = np.hypot(values["northing_m"] - values["start_northing_m"], values["easting_m"] - values["start_easting_m"])
    return chord <= values["distance_m"] * (1 + 1e-9) + 1e-9


_ON_THE_WAY = {"the chord from the start is no longer than the distance run": _chord_is_no_longer_than_the_way}


@method(
    "alignment.horizontal.element",
    found_by={
        "northing_m": Algorithm("Gauss quadrature of cos(bearing) over the distance, twenty points per half radian of turn", "N", _ON_THE_WAY),
        "easting_m": Algorithm("Gauss quadrature of sin(bearing) over the distance, twenty points per half radian of turn", "E", _ON_THE_WAY),
    },
    formulas={
        "bearing_rad": Formula("beta", f"beta_1 + kappa_1 * s + (kappa_2 - kappa_1) * L * {_by_law(2)}"),
        "curvature_1_m": Formula("kappa", f"kappa_1 + (kappa_2 - kappa_1) * {_by_law(1)}"),
    },
    derived={"distance_m": Formula("s", "L")},
    symbols={"length_m": "L", "distance_m": "s"},
    possible={"length_m": (1e-6, 1e6), "bearing_rad": (-200.0, 200.0)},
    requires=(
        Require(
            "end_curvature_1_m",
            lambda v: v["element_type"] not in ("line", "circular_arc") or np.all(v["start_curvature_1_m"] == v["end_curvature_1_m"]),
            "must equal start_curvature_1_m in a line or an arc",
            "a transition needs its law: clothoid, bloss, cosine, sine or helmert",
        ),
        Require(
            "start_curvature_1_m",
            lambda v: v["element_type"] != "line" or np.all(v["start_curvature_1_m"] == 0),
            "must be 0 in a line",
            "an arc is circular_arc",
        ),
        Require(
            "distance_m",
            lambda v: np.all((v["distance_m"] >= 0) & (v["distance_m"] <= v["length_m"] * (1 + 1e-9))),
            "must lie between 0 and length_m",
        ),
    ),
    kind="identity",
    source=IFC_4_3,
)
def element_point(
    element_type: ElementType,
    length_m: Number,
    start_curvature_1_m: Number,
    end_curvature_1_m: Number,
    distance_m: Number = DERIVED,
    start_northing_m: Number = 0.0,
    start_easting_m: Number = 0.0,
    start_bearing_rad: Number = 0.0,
) -> ElementPoint:
    """Return the point at a distance in one element of the plan.

    Parameters
    ----------
    element_type : law by which the curvature changes.
    length_m : of the whole element.
    start_curvature_1_m, end_curvature_1_m : positive right.
    distance_m : from the start of the element; its end when left out.
    start_northing_m, start_easting_m, start_bearing_rad : state at the start; bearing clockwise from north.
    """
    along, across = displacement(element_type, length_m, start_curvature_1_m, end_curvature_1_m, distance_m)
    northing, easting = on_grid(along, across, start_northing_m, start_easting_m, start_bearing_rad)
    return ElementPoint(
        northing_m=northing,
        easting_m=easting,
        bearing_rad=start_bearing_rad + turn(element_type, length_m, start_curvature_1_m, end_curvature_1_m, distance_m),
        curvature_1_m=curvature(element_type, length_m, start_curvature_1_m, end_curvature_1_m, distance_m),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CubicParabola(Record):
    """Cubic parabola from a straight to a radius, in the frame of the straight."""

    arc_length_m: FloatArray
    end_offset_m: FloatArray
    end_turn_rad: FloatArray
    end_radius_m: FloatArray
    curvature_step_1_m: FloatArray


@method(
    "alignment.horizontal.cubic_parabola",
    found_by={
        "arc_length_m": Algorithm(
            "Gauss quadrature of sqrt(1 + (x^2/(2 R X))^2) over the tangent length X, forty points",
            "s",
            {"the curve is longer than its chord": lambda v: v["arc_length_m"] >= np.hypot(v["tangent_length_m"], v["end_offset_m"]) * (1 - 1e-12)},
        )
    },
    formulas={
        "end_offset_m": Formula("y_2", "X^2 / (6 * R)"),
        "end_turn_rad": Formula("tau", "atan(X / (2 * R))"),
        "end_radius_m": Formula("R_2", "R * (1 + (X / (2 * R))^2)^1.5"),
        "curvature_step_1_m": Formula("Delta_kappa", "1 / R - 1 / R_2"),
    },
    symbols={"tangent_length_m": "X", "radius_m": "R"},
    possible={"tangent_length_m": (1e-6, 1e5), "radius_m": (1e-3, 1e9)},
    kind="identity",
    source=TRANSITIONS,
)
def cubic_parabola(tangent_length_m: Number, radius_m: Number) -> CubicParabola:
    """Return the end of a cubic parabola y = x^3 / (6 R X) whose stated length X counts along the tangent.

    Parameters
    ----------
    tangent_length_m : X, from the straight end, along its tangent.
    radius_m : of the arc that the curve is meant to reach; at its end the curve is flatter than that by the curvature step.
    """
    slope = tangent_length_m / (2 * np.asarray(radius_m))
    share = (_NODES + 1) / 2
    stretch = np.sqrt(1 + (slope[..., None] * share**2) ** 2) @ _WEIGHTS / 2
    end_radius_m = radius_m * (1 + slope**2) ** 1.5
    return CubicParabola(
        arc_length_m=tangent_length_m * stretch,
        end_offset_m=np.square(tangent_length_m) / (6 * np.asarray(radius_m)),
        end_turn_rad=np.arctan(slope),
        end_radius_m=end_radius_m,
        curvature_step_1_m=1 / np.asarray(radius_m) - 1 / end_radius_m,
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ClothoidParameter(Record):
    """Parameter and turn of a clothoid."""

    clothoid_parameter_m: FloatArray
    turn_rad: FloatArray


@method(
    "alignment.horizontal.clothoid_parameter",
    formulas={"clothoid_parameter_m": Formula("A", "sqrt(L / abs(kappa_2 - kappa_1))"), "turn_rad": Formula("tau", "L * (kappa_1 + kappa_2) / 2")},
    symbols={"length_m": "L"},
    possible={"length_m": (1e-6, 1e6)},
    kind="identity",
    source=TRANSITIONS,
)
def clothoid_parameter(length_m: Number, start_curvature_1_m: Number, end_curvature_1_m: Number) -> ClothoidParameter:
    """Return the parameter of a clothoid by length and curvatures; without limit where the curvature does not change.

    Parameters
    ----------
    length_m : of the clothoid.
    start_curvature_1_m, end_curvature_1_m : positive right.
    """
    change = np.abs(np.subtract(end_curvature_1_m, start_curvature_1_m))
    return ClothoidParameter(clothoid_parameter_m=np.sqrt(np.divide(length_m, change)), turn_rad=length_m * np.add(start_curvature_1_m, end_curvature_1_m) / 2)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Arc(Record):
    """Chord, turn and rise of a circular arc."""

    chord_m: FloatArray
    turn_rad: FloatArray
    sagitta_m: FloatArray


@method(
    "alignment.horizontal.arc",
    formulas={
        "chord_m": Formula("c", "2 * R * sin(L / (2 * R))"),
        "turn_rad": Formula("tau", "L / R"),
        "sagitta_m": Formula("f", "R * (1 - cos(L / (2 * R)))"),
    },
    symbols={"length_m": "L", "radius_m": "R"},
    possible={"radius_m": (1e-3, 1e9)},
    kind="identity",
    source=GEOMETRY,
)
def arc(radius_m: Number, length_m: Number) -> Arc:
    """Return chord, turn and rise of a circular arc.

    Parameters
    ----------
    radius_m : of the arc.
    length_m : along the arc.
    """
    half_turn = np.divide(length_m, 2 * np.asarray(radius_m))
    return Arc(chord_m=2 * radius_m * np.sin(half_turn), turn_rad=2 * half_turn, sagitta_m=radius_m * (1 - np.cos(half_turn)))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TransitionArcTransition(Record):
    """A bend at an intersection point: clothoid, arc, clothoid."""

    tangent_length_m: FloatArray
    arc_length_m: FloatArray
    transition_turn_rad: FloatArray
    transition_x_m: FloatArray
    transition_y_m: FloatArray
    shift_m: FloatArray
    shift_station_m: FloatArray


@method(
    "alignment.horizontal.transition_arc_transition",
    formulas={
        "tangent_length_m": Formula("T", "(R + p) * tan(Delta / 2) + q"),
        "arc_length_m": Formula("b", "R * (Delta - 2 * tau)"),
        "transition_turn_rad": Formula("tau", "L / (2 * R)"),
        "shift_m": Formula("p", "y_t - R * (1 - cos(tau))"),
        "shift_station_m": Formula("q", "x_t - R * sin(tau)"),
    },
    found_by={
        "transition_x_m": Algorithm(
            "Gauss quadrature of the clothoid along its first tangent",
            "x_t",
            {"shorter than its arc": lambda v: v["transition_x_m"] <= v["transition_length_m"]},
        ),
        "transition_y_m": Algorithm(
            "Gauss quadrature of the clothoid across its first tangent",
            "y_t",
            {"below L^2/(6 R)": lambda v: v["transition_y_m"] <= v["transition_length_m"] ** 2 / (6 * v["radius_m"]) * (1 + 1e-12)},
        ),
    },
    symbols={"radius_m": "R", "transition_length_m": "L", "deflection_rad": "Delta"},
    possible={"radius_m": (1e-3, 1e9), "transition_length_m": (0.0, 1e5), "deflection_rad": (0.0, 3.1)},
    requires=(
        Require(
            "deflection_rad",
            lambda v: np.all(v["deflection_rad"] >= v["transition_length_m"] / v["radius_m"] * (1 - 1e-12)),
            "must be at least the turn of the two transitions, L/R",
            "shorten the transitions or reduce the radius",
        ),
    ),
    kind="identity",
    source=TRANSITIONS,
)
def transition_arc_transition(radius_m: Number, transition_length_m: Number, deflection_rad: Number) -> TransitionArcTransition:
    """Return the lengths of a bend of two equal clothoids and an arc at an intersection point.

    Parameters
    ----------
    radius_m : of the arc.
    transition_length_m : of each clothoid.
    deflection_rad : between the two tangents, without sign.

    Notes
    -----
    The clothoid ends at (x, y) in the frame of its tangent; the arc's centre stands off that tangent by R + p at q from the start.
    """
    x, y = displacement("clothoid", transition_length_m, 0.0, 1 / np.asarray(radius_m), transition_length_m)
    turned = transition_length_m / (2 * np.asarray(radius_m))
    shift_m = y - radius_m * (1 - np.cos(turned))
    shift_station_m = x - radius_m * np.sin(turned)
    return TransitionArcTransition(
        tangent_length_m=(radius_m + shift_m) * np.tan(np.asarray(deflection_rad) / 2) + shift_station_m,
        arc_length_m=radius_m * (deflection_rad - 2 * turned),
        transition_turn_rad=turned,
        transition_x_m=x,
        transition_y_m=y,
        shift_m=shift_m,
        shift_station_m=shift_station_m,
    )
