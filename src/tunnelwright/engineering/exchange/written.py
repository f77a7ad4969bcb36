"""Values as files write them: angles, lengths, stations, results of tests, dates of spreadsheets."""

import re
from dataclasses import dataclass
from typing import Any, Final, Literal

import numpy as np

from tunnelwright.engineering.exchange.sources import AGS, LANDXML, SERIAL_DATES
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Remark, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Table, TextArray, Values

AngleUnit = Literal["radians", "decimal degrees", "grads", "dd.mmss"]
LengthUnit = Literal["metre", "millimetre", "foot", "us survey foot"]
DateSystem = Literal["1900", "1904"]
_METRES: Final[dict[str, float]] = {"metre": 1.0, "millimetre": 0.001, "foot": 0.3048, "us survey foot": 1200 / 3937}
# A written 12.3 is 12.2999... in binary: its minutes are 30, not 29.
_LAST_DIGIT: Final = 1e-8
_MS_PER_DAY: Final = 86_400_000


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WrittenAngle(Record):
    """An angle."""

    angle_rad: FloatArray


def _sixtieths_fit(values: Values) -> Any:
    """Say whether minutes and seconds of an angle written as dd.mmss stay below 60."""
    size = np.abs(values["angle_value"])
    minutes = np.mod(np.floor(100 * size + _LAST_DIGIT), 100)
    seconds = np.mod(10_000 * size + 100 * _LAST_DIGIT, 100)
    return values["angle_unit"] != "dd.mmss" or ~((minutes >= 60) | (seconds >= 60))


@method(
    "exchange.landxml.angle",
    formulas={
        "angle_rad": Formula(
            "alpha",
            'w if unit == "radians" else (w * pi / 180 if unit == "decimal degrees" else (w * pi / 200 if unit == "grads"'
            " else sign(w) * pi / 180 * (abs(w) / 0.36 - floor(100 * abs(w) + 1e-8) / 90 - 2 / 3 * floor(abs(w) + 1e-10))))",
        )
    },
    symbols={"angle_value": "w", "angle_unit": "unit"},
    possible={"angle_value": (-1e6, 1e6)},
    requires=(Require("angle_value", _sixtieths_fit, "must have minutes and seconds below 60", "are they decimal degrees?"),),
    kind="identity",
    source=LANDXML,
    dimensional=True,
)
def written_angle(angle_value: Number, angle_unit: AngleUnit) -> WrittenAngle:
    """Return an angle as a file writes it.

    Parameters
    ----------
    angle_value : as written.
    angle_unit : of the file; ``dd.mmss`` has minutes in the first two decimals and seconds in the others.

    Notes
    -----
    Where zero lies and which way it counts is not in the unit: take headings from coordinates.
    """
    value = np.asarray(angle_value, dtype=np.float64)
    if angle_unit == "radians":
        return WrittenAngle(angle_rad=value)
    if angle_unit == "grads":
        return WrittenAngle(angle_rad=value * np.pi / 200)
    return WrittenAngle(angle_rad=(value if angle_unit == "decimal degrees" else _degrees(value)) * np.pi / 180)


def _degrees(value: FloatArray) -> FloatArray:
    """Return degrees of numbers whose decimals are minutes and seconds."""
    size = np.abs(value)
    whole, minutes = np.floor(size + _LAST_DIGIT / 100), np.floor(100 * size + _LAST_DIGIT)
    return np.asarray(np.sign(value) * (whole + (minutes - 100 * whole) / 60 + (10_000 * size - 100 * minutes) / 3600))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WrittenLength(Record):
    """A length."""

    length_m: FloatArray


@method(
    "exchange.landxml.length",
    formulas={
        "length_m": Formula("L", 'w if unit == "metre" else (0.001 * w if unit == "millimetre" else (0.3048 * w if unit == "foot" else w * 1200 / 3937))')
    },
    symbols={"length_value": "w", "length_unit": "unit"},
    remarks=(
        Remark(
            lambda v: v["length_unit"] in ("foot", "us survey foot") and np.abs(v["length_value"]) > 5000,
            "the two feet differ by 2 millionths: 0.3 m in 150 km, so make sure which one the file means",
        ),
    ),
    kind="identity",
    source=LANDXML,
    dimensional=True,
)
def written_length(length_value: Number, length_unit: LengthUnit) -> WrittenLength:
    """Return a length or coordinate as a file writes it.

    Parameters
    ----------
    length_value : as written.
    length_unit : of the file; the survey foot is 1200/3937 m, the other 0.3048 m.
    """
    return WrittenLength(length_m=np.asarray(length_value) * _METRES[length_unit])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StationEquations(Table):
    """Places at which the label jumps: distance from the start, and the label ahead of it."""

    distance_m: FloatArray
    station_ahead_m: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StationLabel(Record):
    """Station as it stands on the drawing."""

    station_m: FloatArray


def _counts_from_its_equation(values: Values) -> Any:
    """Say whether the label, less what was driven since the last equation, is the label of that equation or of the start."""
    equations, distance = values["equations"], np.asarray(values["distance_m"])
    starts = np.concatenate([[0.0], equations.distance_m])
    labels = [np.asarray(values["start_station_m"]) + np.zeros(distance.shape), *equations.station_ahead_m]
    offsets = np.stack([np.abs(values["station_m"] - label - (distance - start)) for label, start in zip(labels, starts, strict=True)])
    return np.isnan(values["station_m"]) | (np.min(offsets, axis=0) < 1e-6)


@method(
    "exchange.landxml.station_label",
    found_by={
        "station_m": Algorithm(
            "label ahead of the last equation at or before the distance, plus the way since; before the first one from the start station",
            "s",
            {"counts from an equation or the start": _counts_from_its_equation},
        )
    },
    possible={"start_station_m": (-1e6, 1e7)},
    requires=(
        Require("equations.distance_m", lambda v: np.all(np.diff(v["equations"].distance_m, axis=-1) > 0), "must increase from row to row"),
        Require("equations.distance_m", lambda v: np.all(v["equations"].distance_m >= 0), "must not lie before the start"),
    ),
    remarks=(Remark(lambda v: v["distance_m"] < 0, "a distance lies before the start of the alignment"),),
    kind="identity",
    source=LANDXML,
)
def station_label(equations: StationEquations, start_station_m: Number, distance_m: Number) -> StationLabel:
    """Return the station that a distance along an alignment bears.

    Parameters
    ----------
    equations : of the alignment, in order; the place itself bears the label ahead.
    start_station_m : label of the start.
    distance_m : along the alignment from its start, never jumping.
    """
    distance = np.asarray(distance_m, dtype=np.float64)
    passed = np.sum(equations.distance_m <= distance[..., None], axis=-1)
    starts, labels = np.concatenate([[0.0], equations.distance_m]), np.concatenate([[0.0], equations.station_ahead_m])
    base = np.where(passed > 0, labels[passed], start_station_m)
    return StationLabel(station_m=base + distance - starts[passed])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WrittenNumber(Record):
    """A number out of a result as written, and what its sign of comparison says."""

    value: FloatArray
    censoring: TextArray


_NUMBER: Final = re.compile(r"\s*(<=|>=|<|>|)\s*([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)\s*")


@method(
    "exchange.ags.number",
    found_by={
        "value": Algorithm("number behind a sign of comparison, if any; none where the text is no number"),
        "censoring": Algorithm("below for <, above for >, none for a plain number, else not a number"),
    },
    remarks=(
        Remark(lambda v: str(v["censoring"]) in ("below", "above"), "the result lies beyond a limit of the test: it is no measured value"),
        Remark(lambda v: bool(re.search(r"\d,\d", str(v["value_text"]))), "a comma stands in the number: the format writes decimal points"),
    ),
    kind="identity",
    source=AGS,
)
def written_number(value_text: str) -> WrittenNumber:
    """Return number and censoring of a result as the file writes it.

    Parameters
    ----------
    value_text : as written, for example ``<2``.
    """
    found = _NUMBER.fullmatch(str(value_text))
    if found is None:
        return WrittenNumber(value=np.asarray(np.nan), censoring=np.asarray("not a number"))
    word = {"": "none", "<": "below", ">": "above"}[found[1][:1]]
    return WrittenNumber(value=np.asarray(float(found[2])), censoring=np.asarray(word))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SerialTime(Record):
    """Date and time without a zone, as ISO text."""

    time_iso: TextArray


@method(
    "exchange.excel.serial_time",
    found_by={"time_iso": Algorithm("days since the zero day of the system, to the millisecond; the day that never was has none")},
    possible={"serial": (0.0, 2_958_466.0)},
    remarks=(
        Remark(lambda v: (v["date_system"] == "1900") & (np.floor(v["serial"]) == 60), "serial 60 stands for 29 February 1900, a day that never was"),
        Remark(lambda v: v["serial"] < 1, "below 1 a serial is a time of day without a date"),
    ),
    kind="identity",
    source=SERIAL_DATES,
    dimensional=True,
)
def serial_time(serial: Number, date_system: DateSystem) -> SerialTime:
    """Return the date and time that a spreadsheet keeps as a number.

    Parameters
    ----------
    serial : days, the time of day as a fraction.
    date_system : of the workbook; the two lie 1462 days apart.
    """
    number = np.asarray(serial, dtype=np.float64)
    texts = [_as_text(one, date_system) for one in number.flat]
    return SerialTime(time_iso=np.array(texts, dtype=np.str_).reshape(number.shape))


def _as_text(serial: float, date_system: str) -> str:
    if np.isnan(serial) or (date_system == "1900" and 60 <= serial < 61):
        return "none"
    # Of the system 1900 the days from March 1900 on count one too many, because it has a 29 February 1900.
    zero = "1904-01-01" if date_system == "1904" else ("1899-12-30" if serial >= 61 else "1899-12-31")
    moment = np.datetime64(zero, "ms") + np.timedelta64(round(serial * _MS_PER_DAY), "ms")
    return str(moment).removesuffix(".000")
