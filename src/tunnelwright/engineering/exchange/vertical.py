"""Vertical curves as profile files give them: two grades that meet, and a circle or a parabola between them.

grade 1 --.            .-- grade 2
           `-._    _.-'            tangent points in and out at the ends of the curve,
               `--'                point of intersection where the grades would meet
"""

from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from tunnelwright.engineering.exchange.sources import GEOMETRY, LANDXML
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Remark, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Values

_KINK: Final = 0.001


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class VerticalCircle(Record):
    """Level and grade at a station, arc length and tangent points of a circle in the station-level plane."""

    level_m: FloatArray
    gradient: FloatArray
    arc_length_m: FloatArray
    tangent_in_station_m: FloatArray
    tangent_out_station_m: FloatArray


def _is_kink(values: Values) -> Any:
    size = values["radius_m"] if "radius_m" in values else values["length_m"]
    return (size == 0) & (np.abs(values["end_gradient"] - values["start_gradient"]) > _KINK)


_KINKED: Final = Remark(_is_kink, "grades that change by more than 0.1 % without a curve make a kink that a shield cannot follow")


@method(
    "exchange.landxml.vertical_circle",
    formulas={
        "tangent_in_station_m": Formula("s_in", "s_P - R * tan(abs(atan(g_2) - atan(g_1)) / 2) / sqrt(1 + g_1^2)"),
        "tangent_out_station_m": Formula("s_out", "s_P + R * tan(abs(atan(g_2) - atan(g_1)) / 2) / sqrt(1 + g_2^2)"),
        "arc_length_m": Formula("L_arc", "R * abs(atan(g_2) - atan(g_1))"),
        "gradient": Formula("g", "g_1 if s <= s_in else (g_2 if s >= s_out else tan(asin(g_1 / sqrt(1 + g_1^2) + sign(g_2 - g_1) * (s - s_in) / R)))"),
        "level_m": Formula(
            "H",
            "H_P + (s - s_P) * g_1 if s <= s_in else (H_P + (s - s_P) * g_2 if s >= s_out"
            " else H_P + (s_in - s_P) * g_1 + (s - s_in) * tan((atan(g_1) + atan(g)) / 2))",
        ),
    },
    symbols={"pvi_station_m": "s_P", "pvi_level_m": "H_P", "station_m": "s"},
    remarks=(_KINKED,),
    kind="identity",
    source=LANDXML,
)
def vertical_circle(
    pvi_station_m: Number, pvi_level_m: Number, start_gradient: Number, end_gradient: Number, radius_m: Number, station_m: Number
) -> VerticalCircle:
    """Return level and grade on a circular vertical curve, and on its grades outside.

    Parameters
    ----------
    pvi_station_m : where the two grades meet.
    pvi_level_m : level at which they meet, off the curve.
    start_gradient : before the curve, rising positive.
    end_gradient : after the curve.
    radius_m : of the circle, always positive; the grades say whether it is a sag or a crest. 0 stands for none.
    station_m : looked at.

    Notes
    -----
    The length of such a curve in a file is that of its arc, not the horizontal one.
    """
    station, first, last, radius = (np.asarray(one, dtype=np.float64) for one in (station_m, start_gradient, end_gradient, radius_m))
    angle_1, angle_2 = np.arctan(first), np.arctan(last)
    tangent_m = radius * np.tan(np.abs(angle_2 - angle_1) / 2)
    start_m, end_m = pvi_station_m - tangent_m * np.cos(angle_1), pvi_station_m + tangent_m * np.cos(angle_2)
    # Along a circle the sine of the slope angle changes evenly with the station.
    sine = np.sin(angle_1) + np.sign(last - first) * (station - start_m) / np.where(radius > 0, radius, np.inf)
    angle = np.arcsin(np.clip(sine, -1, 1))
    before, after = station <= start_m, station >= end_m
    # A chord of the circle has the mean slope angle of its ends.
    on_curve = pvi_level_m + (start_m - pvi_station_m) * first + (station - start_m) * np.tan((angle_1 + angle) / 2)
    on_grade_1, on_grade_2 = pvi_level_m + (station - pvi_station_m) * first, pvi_level_m + (station - pvi_station_m) * last
    return VerticalCircle(
        level_m=np.where(before, on_grade_1, np.where(after, on_grade_2, on_curve)),
        gradient=np.where(before, first, np.where(after, last, np.tan(angle))),
        arc_length_m=radius * np.abs(angle_2 - angle_1),
        tangent_in_station_m=start_m,
        tangent_out_station_m=end_m,
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class VerticalParabola(Record):
    """Level and grade at a station."""

    level_m: FloatArray
    gradient: FloatArray


@method(
    "exchange.landxml.vertical_parabola",
    formulas={
        "gradient": Formula("g", "g_1 if s <= s_P - L_c / 2 else (g_2 if s >= s_P + L_c / 2 else g_1 + (g_2 - g_1) * (s - s_P + L_c / 2) / L_c)"),
        "level_m": Formula(
            "H",
            "H_P + (s - s_P) * g_1 if s <= s_P - L_c / 2 else (H_P + (s - s_P) * g_2 if s >= s_P + L_c / 2"
            " else H_P + (s - s_P) * g_1 + (g_2 - g_1) * (s - s_P + L_c / 2)^2 / (2 * L_c))",
        ),
    },
    symbols={"pvi_station_m": "s_P", "pvi_level_m": "H_P", "station_m": "s", "length_m": "L_c"},
    remarks=(_KINKED,),
    kind="identity",
    source=GEOMETRY,
)
def vertical_parabola(
    pvi_station_m: Number, pvi_level_m: Number, start_gradient: Number, end_gradient: Number, length_m: Number, station_m: Number
) -> VerticalParabola:
    """Return level and grade on a parabolic vertical curve, and on its grades outside.

    Parameters
    ----------
    pvi_station_m : where the two grades meet, in the middle of the curve.
    pvi_level_m : level at which they meet, off the curve.
    start_gradient : before the curve, rising positive.
    end_gradient : after the curve.
    length_m : horizontal length of the curve; 0 stands for none.
    station_m : looked at.
    """
    from_pvi = np.asarray(np.subtract(station_m, pvi_station_m))
    length, change = np.asarray(length_m, dtype=np.float64), np.subtract(end_gradient, start_gradient)
    before, after = from_pvi <= -length / 2, from_pvi >= length / 2
    into = from_pvi + length / 2
    divisor = np.where(length > 0, length, 1.0)
    on_curve = pvi_level_m + from_pvi * start_gradient + change * np.square(into) / (2 * divisor)
    return VerticalParabola(
        level_m=np.where(before, pvi_level_m + from_pvi * start_gradient, np.where(after, pvi_level_m + from_pvi * end_gradient, on_curve)),
        gradient=np.where(before, start_gradient, np.where(after, end_gradient, start_gradient + change * into / divisor)),
    )
