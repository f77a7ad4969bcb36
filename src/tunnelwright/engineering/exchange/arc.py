"""Circular arcs as files give them: by radius and sense of turning, by bulge, by a direction from another axis."""

from dataclasses import dataclass
from typing import Any, Final, Literal

import numpy as np

from tunnelwright.engineering.exchange.sources import DXF, IFC, LANDXML
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Remark, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Values

Rotation = Literal["cw", "ccw"]
YesNo = Literal["yes", "no"]
# Coordinates of a file are rounded: a half circle's chord may come out longer than its diameter by that share.
_ROUNDING: Final = 1e-4


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ArcCentre(Record):
    """Centre, length and first heading of an arc; the half angle is that between its first heading and its chord."""

    half_angle_rad: FloatArray
    start_heading_rad: FloatArray
    arc_length_m: FloatArray
    centre_easting_m: FloatArray
    centre_northing_m: FloatArray


def _chord_m(values: Values) -> Any:
    return np.hypot(values["end_easting_m"] - values["start_easting_m"], values["end_northing_m"] - values["start_northing_m"])


@method(
    "exchange.landxml.arc_centre",
    formulas={
        "half_angle_rad": Formula(
            "delta",
            'asin(min(1, hypot(E_2 - E_1, N_2 - N_1) / (2 * R))) if longer == "no" else pi - asin(min(1, hypot(E_2 - E_1, N_2 - N_1) / (2 * R)))',
        ),
        "start_heading_rad": Formula(
            "psi_0",
            'mod(atan2(E_2 - E_1, N_2 - N_1) - delta, 2 * pi) if rotation == "cw" else mod(atan2(E_2 - E_1, N_2 - N_1) + delta, 2 * pi)',
        ),
        "arc_length_m": Formula("L_arc", "2 * R * delta"),
        "centre_easting_m": Formula("E_c", 'E_1 + R * cos(psi_0) if rotation == "cw" else E_1 - R * cos(psi_0)'),
        "centre_northing_m": Formula("N_c", 'N_1 - R * sin(psi_0) if rotation == "cw" else N_1 + R * sin(psi_0)'),
    },
    symbols={"longer_arc": "longer"},
    possible={"radius_m": (1e-3, 1e7)},
    requires=(
        Require("radius_m", lambda v: ~(_chord_m(v) > 2 * v["radius_m"] * (1 + _ROUNDING)), "must be at least half the distance of the two points"),
        Require("end_easting_m", lambda v: ~(_chord_m(v) <= 0), "must differ from the start: a full circle has no such description"),
    ),
    kind="identity",
    source=LANDXML,
)
def arc_centre(
    start_easting_m: Number,
    start_northing_m: Number,
    end_easting_m: Number,
    end_northing_m: Number,
    radius_m: Number,
    rotation: Rotation,
    longer_arc: YesNo = "no",
) -> ArcCentre:
    """Return the centre of an arc whose file leaves it out.

    Parameters
    ----------
    start_easting_m, start_northing_m : first point.
    end_easting_m, end_northing_m : last point.
    radius_m : always positive.
    rotation : ``cw`` turns right in the direction of travel, ``ccw`` left.
    longer_arc : ``yes`` for the arc of more than a half circle; two points and a radius allow both.
    """
    east, north = np.subtract(end_easting_m, start_easting_m), np.subtract(end_northing_m, start_northing_m)
    radius = np.asarray(radius_m, dtype=np.float64)
    acute = np.arcsin(np.minimum(1.0, np.hypot(east, north) / (2 * radius)))
    half_angle = acute if longer_arc == "no" else np.pi - acute
    turn = 1.0 if rotation == "cw" else -1.0
    heading = np.mod(np.arctan2(east, north) - turn * half_angle, 2 * np.pi)
    return ArcCentre(
        half_angle_rad=half_angle,
        start_heading_rad=heading,
        arc_length_m=2 * radius * half_angle,
        centre_easting_m=start_easting_m + turn * radius * np.cos(heading),
        centre_northing_m=start_northing_m - turn * radius * np.sin(heading),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BulgeArc(Record):
    """Radius, angle swept and centre of the arc between two vertices; a straight piece has both without limit."""

    radius_m: FloatArray
    sweep_rad: FloatArray
    centre_x_m: FloatArray
    centre_y_m: FloatArray


@method(
    "exchange.dxf.bulge_arc",
    formulas={
        "radius_m": Formula("R", "hypot(x_2 - x_1, y_2 - y_1) * (1 + b^2) / (4 * abs(b))"),
        "sweep_rad": Formula("phi", "4 * atan(b)"),
        "centre_x_m": Formula("x_c", "(x_1 + x_2) / 2 - (y_2 - y_1) * (1 - b^2) / (4 * b)"),
        "centre_y_m": Formula("y_c", "(y_1 + y_2) / 2 + (x_2 - x_1) * (1 - b^2) / (4 * b)"),
    },
    symbols={"start_x_m": "x_1", "start_y_m": "y_1", "end_x_m": "x_2", "end_y_m": "y_2", "bulge": "b"},
    possible={"bulge": (-1e6, 1e6)},
    requires=(
        Require(
            "bulge",
            lambda v: ~((v["bulge"] != 0) & (np.hypot(v["end_x_m"] - v["start_x_m"], v["end_y_m"] - v["start_y_m"]) == 0)),
            "must be 0 there",
        ),
    ),
    remarks=(Remark(lambda v: v["bulge"] == 0, "without a bulge the piece is straight: radius and centre have no limit"),),
    kind="identity",
    source=DXF,
)
def bulge_arc(start_x_m: Number, start_y_m: Number, end_x_m: Number, end_y_m: Number, bulge: Number) -> BulgeArc:
    """Return the arc between two vertices of a polyline.

    Parameters
    ----------
    start_x_m, start_y_m : first vertex.
    end_x_m, end_y_m : next vertex.
    bulge : tangent of a quarter of the angle swept, positive anticlockwise, beyond 1 for more than a half circle.
    """
    along_x, along_y = np.subtract(end_x_m, start_x_m), np.subtract(end_y_m, start_y_m)
    b = np.asarray(bulge, dtype=np.float64)
    with np.errstate(divide="ignore", invalid="ignore"):
        radius = np.hypot(along_x, along_y) * (1 + np.square(b)) / (4 * np.abs(b))
        aside = (1 - np.square(b)) / (4 * b)
        centre_x, centre_y = np.add(start_x_m, end_x_m) / 2 - along_y * aside, np.add(start_y_m, end_y_m) / 2 + along_x * aside
    return BulgeArc(
        radius_m=radius,
        sweep_rad=4 * np.arctan(b),
        centre_x_m=centre_x,
        centre_y_m=centre_y,
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Heading(Record):
    """Heading and curvature in the project's sense."""

    heading_rad: FloatArray
    curvature_1_m: FloatArray


@method(
    "exchange.ifc.heading",
    formulas={"heading_rad": Formula("psi", "mod(pi / 2 - theta, 2 * pi)"), "curvature_1_m": Formula("kappa", "0 if R_l == 0 else -1 / R_l")},
    symbols={"direction_rad": "theta", "radius_left_m": "R_l"},
    possible={"direction_rad": (-4 * np.pi, 4 * np.pi), "radius_left_m": (-1e9, 1e9)},
    remarks=(Remark(lambda v: (v["radius_left_m"] != 0) & (np.abs(v["radius_left_m"]) < 1), "a radius below 1 m: is the file's unit the metre?"),),
    kind="identity",
    source=IFC,
)
def heading(direction_rad: Number, radius_left_m: Number) -> Heading:
    """Return heading and curvature of an alignment segment.

    Parameters
    ----------
    direction_rad : anticlockwise from east.
    radius_left_m : positive to the left, 0 for a straight.
    """
    radius = np.asarray(radius_left_m, dtype=np.float64)
    return Heading(
        heading_rad=np.mod(np.pi / 2 - np.asarray(direction_rad), 2 * np.pi), curvature_1_m=np.where(radius == 0, 0.0, -1 / np.where(radius == 0, 1.0, radius))
    )
