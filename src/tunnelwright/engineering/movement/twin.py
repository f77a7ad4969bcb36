"""Two drives beside each other: troughs added, and the second one made larger by the first."""

from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy import special

from tunnelwright.engineering.movement.sources import HUNT_2005, SUPERPOSITION
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Range, Remark, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Values

_ROOT_2_PI: Final = np.sqrt(2 * np.pi)
_SYMBOLS: Final = {
    "trough_volume_first_m3_m": "V_1",
    "trough_width_first_m": "i_1",
    "axis_offset_first_m": "y_1",
    "trough_volume_second_m3_m": "V_2",
    "trough_width_second_m": "i_2",
    "axis_offset_second_m": "y_2",
}
_FIRST: Final = "V_1 / (sqrt(2 * pi) * i_1) * exp(-(y - y_1)^2 / (2 * i_1^2))"
_SECOND: Final = "V_2 / (sqrt(2 * pi) * i_2) * exp(-(y - y_2)^2 / (2 * i_2^2))"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TwinSettlement(Record):
    """Settlement from each of two drives and from both."""

    settlement_first_m: FloatArray
    settlement_second_m: FloatArray
    settlement_m: FloatArray


def _normal_curve(volume: Number, width_m: Number, from_axis_m: Number) -> FloatArray:
    return np.asarray(volume / (_ROOT_2_PI * np.asarray(width_m)) * np.exp(-0.5 * np.square(np.divide(from_axis_m, width_m))))


@method(
    "movement.twin.superposition",
    formulas={
        "settlement_first_m": Formula("S_1", _FIRST),
        "settlement_second_m": Formula("S_2", f"f_2 * {_SECOND}"),
        "settlement_m": Formula("S", "S_1 + S_2"),
    },
    symbols={**_SYMBOLS, "second_drive_volume_loss_factor": "f_2"},
    possible={"second_drive_volume_loss_factor": (0.0, 5.0)},
    valid={"second_drive_volume_loss_factor": Range(1.0, 1.5, "1.0 for a clear pillar above three diameters, more when closer")},
    kind="mean",
    source=SUPERPOSITION,
)
def superposition(
    trough_volume_first_m3_m: Number,
    trough_width_first_m: Number,
    axis_offset_first_m: Number,
    trough_volume_second_m3_m: Number,
    trough_width_second_m: Number,
    axis_offset_second_m: Number,
    offset_m: Number,
    second_drive_volume_loss_factor: Number = 1.0,
) -> TwinSettlement:
    """Return the settlement across two drives as the sum of their troughs.

    Parameters
    ----------
    trough_volume_first_m3_m, trough_volume_second_m3_m : of each drive.
    trough_width_first_m, trough_width_second_m : at the level looked at.
    axis_offset_first_m, axis_offset_second_m : where the axes lie, from one origin.
    offset_m : of the point, from the same origin.
    second_drive_volume_loss_factor : on the volume of the second drive.
    """
    first_m = _normal_curve(trough_volume_first_m3_m, trough_width_first_m, np.subtract(offset_m, axis_offset_first_m))
    second_m = second_drive_volume_loss_factor * _normal_curve(trough_volume_second_m3_m, trough_width_second_m, np.subtract(offset_m, axis_offset_second_m))
    return TwinSettlement(settlement_first_m=first_m, settlement_second_m=second_m, settlement_m=first_m + second_m)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DisturbedTwin(Record):
    """Settlement from each of two drives and from both, and what the disturbance does to the second volume."""

    settlement_first_m: FloatArray
    settlement_second_m: FloatArray
    settlement_m: FloatArray
    second_volume_factor: FloatArray


def _between_one_and_full(values: Values) -> FloatArray:
    factor = np.asarray(values["second_volume_factor"])
    return np.asarray(np.isnan(factor) | ((factor >= 1 - 1e-12) & (factor <= 1 + np.asarray(values["disturbance_factor"]) + 1e-12)))


def _are_apart(values: Values) -> FloatArray:
    apart = np.abs(np.asarray(values["axis_offset_second_m"]) - np.asarray(values["axis_offset_first_m"]))
    return np.asarray(apart > np.asarray(values["disturbance_width_factor"]) * np.asarray(values["trough_width_first_m"]))


@method(
    "movement.twin.hunt_2005",
    formulas={
        "settlement_first_m": Formula("S_1", _FIRST),
        "settlement_second_m": Formula("S_2", f"(1 + M * max(0, 1 - abs(y - y_1) / (A * i_1))) * {_SECOND}"),
        "settlement_m": Formula("S", "S_1 + S_2"),
    },
    found_by={
        "second_volume_factor": Algorithm(
            "1 plus M times the mean of the triangle over the first drive, weighted by the second trough, in closed form",
            "f_V",
            {"between 1 and 1 + M": _between_one_and_full},
        )
    },
    symbols={**_SYMBOLS, "disturbance_factor": "M", "disturbance_width_factor": "A"},
    possible={"disturbance_factor": (0.0, 5.0), "disturbance_width_factor": (0.1, 10.0)},
    valid={"disturbance_factor": Range(0.0, 1.5, "0.6 is usual"), "disturbance_width_factor": Range(2.5, 3.0, "width of the disturbed ground")},
    remarks=(Remark(_are_apart, "the second axis lies outside the ground that the first drive disturbed"),),
    kind="mean",
    source=HUNT_2005,
)
def disturbed(
    trough_volume_first_m3_m: Number,
    trough_width_first_m: Number,
    axis_offset_first_m: Number,
    trough_volume_second_m3_m: Number,
    trough_width_second_m: Number,
    axis_offset_second_m: Number,
    offset_m: Number,
    disturbance_factor: Number = 0.6,
    disturbance_width_factor: Number = 2.5,
) -> DisturbedTwin:
    """Return the settlement across two drives where the ground over the first one was softened for the second.

    Parameters
    ----------
    trough_volume_first_m3_m, trough_volume_second_m3_m : of each drive, undisturbed.
    trough_width_first_m, trough_width_second_m : at the level looked at.
    axis_offset_first_m, axis_offset_second_m : where the axes lie, from one origin.
    offset_m : of the point, from the same origin.
    disturbance_factor : greatest increase, over the first axis.
    disturbance_width_factor : widths of the first trough to either side at which the increase has gone.
    """
    first_m = _normal_curve(trough_volume_first_m3_m, trough_width_first_m, np.subtract(offset_m, axis_offset_first_m))
    plain_m = _normal_curve(trough_volume_second_m3_m, trough_width_second_m, np.subtract(offset_m, axis_offset_second_m))
    reach_m = np.multiply(disturbance_width_factor, trough_width_first_m)
    triangle = np.maximum(0.0, 1 - np.abs(np.subtract(offset_m, axis_offset_first_m)) / reach_m)
    second_m = (1 + disturbance_factor * triangle) * plain_m
    apart = np.subtract(axis_offset_first_m, axis_offset_second_m) / trough_width_second_m
    mean = _triangle_mean(apart, reach_m / trough_width_second_m)
    return DisturbedTwin(
        settlement_first_m=first_m,
        settlement_second_m=second_m,
        settlement_m=first_m + second_m,
        second_volume_factor=1 + disturbance_factor * mean,
    )


def _triangle_mean(centre: FloatArray, half_base: FloatArray) -> FloatArray:
    """Return the mean of a triangle of height one under the standard normal curve: the second difference of E[(Z - t)+]."""

    def excess(place: FloatArray) -> FloatArray:
        return np.asarray(np.exp(-0.5 * np.square(place)) / _ROOT_2_PI - place * special.ndtr(-place))

    return (excess(centre - half_base) - 2 * excess(centre) + excess(centre + half_base)) / half_base
