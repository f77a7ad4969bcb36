"""The designed axis in the plan: a chain of elements evaluated at chainages."""

from dataclasses import dataclass

import numpy as np

from tunnelwright.engineering.alignment.plan_curve import Elements, PlanCurve, on_grid, straight_and_arc_keep_their_curvature
from tunnelwright.engineering.alignment.sources import GEOMETRY, IFC_4_3
from tunnelwright.vocabulary.method import Algorithm, Remark, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Series, Table, Values

KEEP_CURVATURE = Require(
    "elements",
    straight_and_arc_keep_their_curvature,
    "must give a line the curvature 0 at both ends and an arc one curvature",
    "a transition needs its law: clothoid, bloss, cosine, sine or helmert",
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class AxisInPlan(Record):
    """Points of the axis in the plan."""

    northing_m: FloatArray
    easting_m: FloatArray
    bearing_rad: FloatArray
    curvature_1_m: FloatArray


def _no_further_than_the_way(values: Values) -> FloatArray:
    from_start = np.hypot(values["northing_m"] - values["start_northing_m"], values["easting_m"] - values["start_easting_m"])
    return from_start <= np.abs(values["chainage_m"] - values["start_chainage_m"]) * (1 + 1e-9) + 1e-6


def _within_the_curvatures(values: Values) -> FloatArray:
    elements = values["elements"]
    ends = np.concatenate([[0.0], elements.start_curvature_1_m, elements.end_curvature_1_m])
    return (values["curvature_1_m"] >= ends.min() - 1e-12) & (values["curvature_1_m"] <= ends.max() + 1e-12)


def _beyond(values: Values) -> FloatArray:
    distance = values["chainage_m"] - values["start_chainage_m"]
    total = float(np.sum(values["elements"].length_m))
    return (distance < -1e-9 * total) | (distance > total * (1 + 1e-9))


_WAY = {"the way from the start is no shorter than the straight line": _no_further_than_the_way}


@method(
    "alignment.horizontal.chain",
    found_by={
        "northing_m": Algorithm("quadrature from the start of the element in which the chainage lies; element starts are summed from the first", "N", _WAY),
        "easting_m": Algorithm("quadrature from the start of the element in which the chainage lies; element starts are summed from the first", "E", _WAY),
        "bearing_rad": Algorithm("bearing at the start plus the turns of the elements before plus the turn inside the element", "beta"),
        "curvature_1_m": Algorithm(
            "law of the element in which the chainage lies; a joint belongs to the element ahead",
            "kappa",
            {"between the curvatures of the elements": _within_the_curvatures},
        ),
    },
    possible={"length_m": (0.0, 1e6)},
    requires=(KEEP_CURVATURE,),
    remarks=(Remark(_beyond, "a chainage lies beyond the elements: the end tangent is extended there"),),
    kind="identity",
    source=IFC_4_3,
)
def chain(
    elements: Elements,
    chainage_m: Number,
    start_chainage_m: Number = 0.0,
    start_northing_m: Number = 0.0,
    start_easting_m: Number = 0.0,
    start_bearing_rad: Number = 0.0,
) -> AxisInPlan:
    """Return the points of a chain of elements at chainages.

    Parameters
    ----------
    elements : in drive order, each tangent to the one before; curvature positive right.
    chainage_m : where, along the axis in the plan; one or many.
    start_chainage_m : of the start of the first element.
    start_northing_m, start_easting_m, start_bearing_rad : state there; bearing clockwise from north, not wrapped along the way.
    """
    points = PlanCurve(elements).at(np.subtract(chainage_m, start_chainage_m))
    northing, easting = on_grid(points.along_m, points.across_m, start_northing_m, start_easting_m, start_bearing_rad)
    return AxisInPlan(northing_m=northing, easting_m=easting, bearing_rad=start_bearing_rad + points.bearing_rad, curvature_1_m=points.curvature_1_m)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class IntersectionPoints(Table):
    """Intersection points of the tangents of a design."""

    northing_m: FloatArray
    easting_m: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Deflections(Record):
    """Bearings and lengths of the legs between intersection points, and the turns between legs."""

    bearing_rad: Series
    deflection_rad: Series
    distance_m: Series


def _turns_add_up(values: Values) -> bool:
    bearing = values["bearing_rad"]
    difference = np.sum(values["deflection_rad"], axis=-1) - (bearing[..., -1] - bearing[..., 0])
    return bool(np.allclose(np.sin(difference / 2), 0, atol=1e-9))


@method(
    "alignment.horizontal.deflections",
    found_by={
        "bearing_rad": Algorithm("atan2 of easting and northing difference of neighbouring points, 0 to 2 pi", "beta"),
        "deflection_rad": Algorithm(
            "difference of neighbouring bearings, wrapped to -pi to pi, positive right", "Delta", {"the turns add up to the change of bearing": _turns_add_up}
        ),
        "distance_m": Algorithm("straight distance of neighbouring points", "d", {"not negative": lambda v: v["distance_m"] >= 0}),
    },
    requires=(Require("points", lambda v: v["points"].row_count >= 2, "must hold two points or more"),),
    kind="identity",
    source=GEOMETRY,
)
def deflections(points: IntersectionPoints) -> Deflections:
    """Return bearings, turns and lengths of a traverse of intersection points.

    Parameters
    ----------
    points : in drive order.
    """
    north, east = np.diff(points.northing_m), np.diff(points.easting_m)
    bearing = np.mod(np.arctan2(east, north), 2 * np.pi)
    turned = np.diff(bearing)
    return Deflections(bearing_rad=bearing, deflection_rad=np.pi - np.mod(np.pi - turned, 2 * np.pi), distance_m=np.hypot(north, east))
