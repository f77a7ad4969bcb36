"""Two-chamber shield: face pressures from the air cushion, and the cushion for a wanted face pressure.

bulkhead
front chamber | working chamber
|             |     p_air      |
|   gamma_S   |~~~~~~~~~~~~~~~~|  level h_L above the invert
|             |    gamma_W     |
|             o  opening h_o   |
|_____________|________________|  invert
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from tunnelwright.engineering.face.declared import MEDIUM_WEIGHT, POSSIBLE, SYMBOLS
from tunnelwright.engineering.face.sources import HYDROSTATIC_CHAMBER
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Remark, Require, method
from tunnelwright.vocabulary.types import DERIVED, FloatArray, Number, Record

_SYMBOLS: Final = SYMBOLS | {
    "air_pressure_kpa": "p_air",
    "level_above_invert_m": "h_L",
    "working_chamber_unit_weight_kn_m3": "gamma_W",
    "opening_above_invert_m": "h_o",
    "opening_pressure_kpa": "p_open",
}
_POSSIBLE: Final = POSSIBLE | {
    "air_pressure_kpa": (0.0, 2000.0),
    "level_above_invert_m": (0.0, 20.0),
    "opening_above_invert_m": (0.0, 20.0),
    "working_chamber_unit_weight_kn_m3": (9.5, 22.0),
    "face_pressure_crown_kpa": (0.0, 2000.0),
}
_LEVEL_INSIDE: Final = Require(
    "level_above_invert_m", lambda values: ~(values["level_above_invert_m"] > values["excavation_diameter_m"]), "must lie between invert and crown"
)
_REMARKS: Final = (
    Remark(
        lambda values: (
            (values["level_above_invert_m"] < 0.4 * values["excavation_diameter_m"]) | (values["level_above_invert_m"] > 0.85 * values["excavation_diameter_m"])
        ),
        "level outside 0.4 to 0.85 of the diameter: air may escape through the opening, or the air line may flood",
    ),
    Remark(lambda values: np.asarray(values["support_unit_weight_kn_m3"]) > 15, "slurry heavier than 15 kN/m3: check the density"),
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ChamberPressures(Record):
    """Face pressures below an air cushion."""

    opening_pressure_kpa: FloatArray
    face_pressure_crown_kpa: FloatArray
    face_pressure_axis_kpa: FloatArray
    face_pressure_invert_kpa: FloatArray


def _level_formula(symbol: str, height: str) -> Formula:
    loaded = "(gamma_W - gamma_S) * (h_L - h_o)"
    return Formula(symbol, f"p_air + gamma_S * (h_L - {height}) + {loaded} if gamma_W != gamma_S else p_air + gamma_S * (h_L - {height})")


@method(
    "face.slurry_cushion_chamber.hydrostatic",
    formulas={
        "opening_pressure_kpa": Formula("p_open", "p_air + gamma_W * (h_L - h_o)"),
        "face_pressure_crown_kpa": _level_formula("s_crown", "D"),
        "face_pressure_axis_kpa": _level_formula("s_axis", "D / 2"),
        "face_pressure_invert_kpa": _level_formula("s_invert", "0"),
    },
    derived={"working_chamber_unit_weight_kn_m3": Formula("gamma_W", "gamma_S")},
    symbols=_SYMBOLS,
    possible=_POSSIBLE,
    requires=(
        MEDIUM_WEIGHT,
        _LEVEL_INSIDE,
        Require(
            "opening_above_invert_m",
            lambda values: (
                values["opening_above_invert_m"] is not None
                or np.asarray(values["working_chamber_unit_weight_kn_m3"]) == np.asarray(values["support_unit_weight_kn_m3"])
            ),
            "must be given where the two chambers hold media of different weight",
        ),
    ),
    remarks=_REMARKS,
    kind="identity",
    source=HYDROSTATIC_CHAMBER,
)
def cushion_chamber(
    excavation_diameter_m: Number,
    air_pressure_kpa: Number,
    level_above_invert_m: Number,
    support_unit_weight_kn_m3: Number,
    working_chamber_unit_weight_kn_m3: Number = DERIVED,
    opening_above_invert_m: Number | None = None,
) -> ChamberPressures:
    """Return the pressures at crown, axis and invert of the front chamber below an air cushion.

    Parameters
    ----------
    excavation_diameter_m : over the cutters.
    air_pressure_kpa : of the cushion.
    level_above_invert_m : of the medium in the working chamber.
    support_unit_weight_kn_m3 : of the medium in the front chamber, which is full.
    working_chamber_unit_weight_kn_m3 : left out, as in front.
    opening_above_invert_m : height of the opening that joins the chambers; needed where the weights differ.

    Notes
    -----
    A level above the axis is usual; then the crown has less pressure than the air.
    """
    front, working = np.asarray(support_unit_weight_kn_m3), np.asarray(working_chamber_unit_weight_kn_m3)
    level = np.asarray(level_above_invert_m, dtype=np.float64)
    opening = np.nan if opening_above_invert_m is None else opening_above_invert_m
    loaded = np.where(working != front, (working - front) * (level - opening), 0.0)

    def at_height(height_m: Number) -> FloatArray:
        return np.asarray(air_pressure_kpa + front * (level - height_m) + loaded)

    return ChamberPressures(
        opening_pressure_kpa=air_pressure_kpa + working * (level - opening),
        face_pressure_crown_kpa=at_height(excavation_diameter_m),
        face_pressure_axis_kpa=at_height(np.divide(excavation_diameter_m, 2)),
        face_pressure_invert_kpa=at_height(0.0),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CushionSetting(Record):
    """Air pressure of the cushion."""

    air_pressure_kpa: FloatArray


@method(
    "face.slurry_cushion_setting.hydrostatic",
    formulas={"air_pressure_kpa": Formula("p_air", "s_crown + gamma_S * (D - h_L)")},
    symbols=_SYMBOLS,
    possible=_POSSIBLE,
    requires=(MEDIUM_WEIGHT, _LEVEL_INSIDE),
    remarks=_REMARKS,
    kind="identity",
    source=HYDROSTATIC_CHAMBER,
)
def cushion_setting(
    excavation_diameter_m: Number, face_pressure_crown_kpa: Number, level_above_invert_m: Number, support_unit_weight_kn_m3: Number
) -> CushionSetting:
    """Return the air pressure that gives a wanted face pressure at the crown, one medium in both chambers.

    Parameters
    ----------
    excavation_diameter_m : over the cutters.
    face_pressure_crown_kpa : wanted.
    level_above_invert_m : of the medium in the working chamber.
    support_unit_weight_kn_m3 : of the medium.
    """
    fall_m = np.subtract(excavation_diameter_m, level_above_invert_m)
    return CushionSetting(air_pressure_kpa=face_pressure_crown_kpa + np.multiply(support_unit_weight_kn_m3, fall_m))
