"""Characteristic values from tests, and design values from characteristic ones."""

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from scipy.special import ndtri, stdtrit

from tunnelwright.engineering.ground.sources import EN_1997_1_FACTORS, EN_1997_1_VALUES, SCHNEIDER_1997
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Remark, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Series, Values

_CONFIDENCE: Final = 0.95
_LEAST_TESTS: Final = 3


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CharacteristicValue(Record):
    """Characteristic value with the statistics of the tests behind it."""

    characteristic_value: FloatArray
    mean: FloatArray
    standard_deviation: FloatArray
    statistical_factor: FloatArray


def _on_the_cautious_side(values: Values) -> FloatArray:
    is_low = values["unfavourable"] == "low"
    centre = np.exp(np.mean(np.log(values["values"]), axis=-1)) if values["law"] == "lognormal" else values["mean"]
    away = (centre - values["characteristic_value"]) if is_low else (values["characteristic_value"] - centre)
    return ~(away < -1e-9 * np.abs(centre))


@method(
    "ground.characteristic.en_1997_1",
    found_by={
        "characteristic_value": Algorithm(
            "mean less (or plus, where high is unfavourable) factor times spread; for a lognormal law on the logarithms",
            "X_k",
            {"on the cautious side of the centre": _on_the_cautious_side},
        ),
        "mean": Algorithm("arithmetic mean of the tests", "x_m"),
        "standard_deviation": Algorithm("of the tests, over n - 1", "s"),
        "statistical_factor": Algorithm(
            "95 % point of Student's t with n - 1 degrees, of the normal law where the spread is known, times the root of 1/n or of 1 + 1/n",
            "k_n",
            {"positive": lambda v: ~(v["statistical_factor"] <= 0)},
        ),
    },
    requires=(
        Require(
            "values",
            lambda v: np.shape(v["values"])[-1] >= (_LEAST_TESTS if v["coefficient_of_variation"] is None else 1),
            "must hold three tests or more where the spread is not known",
            "give coefficient_of_variation",
        ),
        Require("values", lambda v: v["law"] == "normal" or np.all(v["values"] > 0), "must be positive under a lognormal law"),
    ),
    kind="lower bound",
    source=EN_1997_1_VALUES,
)
def characteristic_en_1997_1(
    values: Series,
    governed_by: Literal["mean", "local minimum"] = "mean",
    unfavourable: Literal["low", "high"] = "low",
    law: Literal["normal", "lognormal"] = "normal",
    coefficient_of_variation: Number | None = None,
) -> CharacteristicValue:
    """Return the value that 95 % of means, or of single places, exceed in the unfavourable sense.

    Parameters
    ----------
    values : test results, any unit.
    governed_by : the mean of a large volume, or one weak place.
    unfavourable : which side is cautious.
    law : of the scatter.
    coefficient_of_variation : known from elsewhere; left out, that of the tests.
    """
    count = values.shape[-1]
    mean = np.mean(values, axis=-1)
    deviation = np.std(values, axis=-1, ddof=1) if count > 1 else np.full_like(mean, np.nan)
    quantile = stdtrit(count - 1, _CONFIDENCE) if coefficient_of_variation is None else ndtri(_CONFIDENCE)
    factor = quantile * np.sqrt(1 / count if governed_by == "mean" else 1 + 1 / count)
    sign = -1.0 if unfavourable == "low" else 1.0
    if law == "lognormal":
        logs = np.log(np.where(values > 0, values, np.nan))
        spread = np.std(logs, axis=-1, ddof=1) if coefficient_of_variation is None else np.sqrt(np.log1p(np.square(coefficient_of_variation)))
        value = np.exp(np.mean(logs, axis=-1) + sign * factor * spread)
    else:
        spread = deviation if coefficient_of_variation is None else coefficient_of_variation * np.abs(mean)
        value = mean + sign * factor * spread
    return CharacteristicValue(characteristic_value=value, mean=mean, standard_deviation=deviation, statistical_factor=np.asarray(factor))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SchneiderValue(Record):
    """Characteristic value half a standard deviation from the mean."""

    characteristic_value: FloatArray


@method(
    "ground.characteristic.schneider_1997",
    found_by={
        "characteristic_value": Algorithm(
            "mean less (or plus, where high is unfavourable) half a standard deviation of the tests",
            "X_k",
            {
                "within the tests": lambda v: (
                    (v["characteristic_value"] >= np.min(v["values"]) - 1e-9) & (v["characteristic_value"] <= np.max(v["values"]) + 1e-9)
                )
            },
        )
    },
    requires=(Require("values", lambda v: np.shape(v["values"])[-1] >= 2, "must hold two tests or more"),),
    kind="screening",
    source=SCHNEIDER_1997,
)
def characteristic_schneider(values: Series, unfavourable: Literal["low", "high"] = "low") -> SchneiderValue:
    """Return a quick characteristic value, as a check of the statistical one.

    Parameters
    ----------
    values : test results, any unit.
    unfavourable : which side is cautious.
    """
    sign = -1.0 if unfavourable == "low" else 1.0
    deviation = np.std(values, axis=-1, ddof=1) if values.shape[-1] > 1 else np.nan
    return SchneiderValue(characteristic_value=np.mean(values, axis=-1) + sign * 0.5 * deviation)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DesignStrength(Record):
    """Design values of strength; NaN where no characteristic value was given."""

    design_friction_angle_rad: FloatArray
    design_cohesion_kpa: FloatArray
    design_undrained_strength_kpa: FloatArray


@method(
    "ground.design_strength.en_1997_1",
    formulas={
        "design_friction_angle_rad": Formula("phi'_d", "atan(tan(phi') / gamma_phi)"),
        "design_cohesion_kpa": Formula("c'_d", "c' / gamma_c"),
        "design_undrained_strength_kpa": Formula("c_ud", "c_u / gamma_cu"),
    },
    symbols={"cohesion_factor": "gamma_c", "undrained_factor": "gamma_cu"},
    possible={"cohesion_factor": (0.5, 5.0)},
    requires=(Require("basis", lambda v: v["basis"] != "design", "must not be design: a partial factor is put on once", "give the characteristic value"),),
    remarks=(Remark(lambda v: v["basis"] == "mean", "a factor meant for characteristic values was put on mean values"),),
    kind="identity",
    source=EN_1997_1_FACTORS,
)
def design_strength(
    friction_angle_rad: Number | None = None,
    cohesion_kpa: Number | None = None,
    undrained_strength_kpa: Number | None = None,
    friction_factor: Number = 1.25,
    cohesion_factor: Number = 1.25,
    undrained_factor: Number = 1.40,
    basis: Literal["characteristic", "mean", "design"] = "characteristic",
) -> DesignStrength:
    """Return design strengths from characteristic ones.

    Parameters
    ----------
    friction_angle_rad, cohesion_kpa, undrained_strength_kpa : characteristic; each may be left out.
    friction_factor : on the tangent of the angle.
    cohesion_factor, undrained_factor : on the strengths.
    basis : what the given values are.
    """
    angle, cohesion, undrained = (np.nan if one is None else one for one in (friction_angle_rad, cohesion_kpa, undrained_strength_kpa))
    return DesignStrength(
        design_friction_angle_rad=np.arctan(np.tan(angle) / friction_factor),
        design_cohesion_kpa=np.divide(cohesion, cohesion_factor),
        design_undrained_strength_kpa=np.divide(undrained, undrained_factor),
    )
