"""A quantity of the ground with its spread and the basis of its value."""

import math
from typing import Any, Final, Literal, Self

from pydantic import BeforeValidator, ConfigDict, ValidationInfo, model_validator

from tunnelwright.drive.fields import Given, Limits, Part, refusal, to_number
from tunnelwright.vocabulary.units import convert, split_name, unit_of_name

Basis = Literal["mean", "characteristic", "design"]
Law = Literal["normal", "lognormal", "truncated_normal", "uniform", "triangular", "none"]

# Coefficients of variation taken where a project gives none, each with a caution: ground.md 1 and the literature named in
# docs/theory. That of a friction angle is the variation of its tangent.
DEFAULT_VARIATION: Final[dict[str, float]] = {
    "unit_weight_kn_m3": 0.05,
    "unit_weight_saturated_kn_m3": 0.05,
    "friction_angle_rad": 0.10,
    "cohesion_kpa": 0.40,
    "undrained_strength_reference_kpa": 0.25,
    "undrained_strength_gradient_kpa_m": 0.25,
    "young_modulus_kpa": 0.40,
    "oedometer_modulus_kpa": 0.40,
    "earth_pressure_coefficient_at_rest": 0.20,
    "permeability_m_s": 1.0,
    "water_content": 0.15,
    "liquid_limit": 0.15,
    "plastic_limit": 0.15,
}
_NORMAL_BY_DEFAULT: Final = ("unit_weight_kn_m3", "unit_weight_saturated_kn_m3", "undrained_strength_gradient_kpa_m")


class Spread(Part):
    """A value of the ground, what it stands for and how far it may be off.

    Parameters
    ----------
    value : in the unit of the field that holds it.
    basis : whether the value is a mean, a characteristic or a design value; never mixed silently.
    cov : coefficient of variation; of a friction angle it is that of its tangent.
    law : of the spread.
    low, high : ends of a bounded law, in the field's unit.
    source : where the value comes from, as text.
    is_assumed : the project gave no spread and the usual one of this kind of quantity was taken.
    """

    value: float
    basis: Basis
    cov: float
    law: Law = "lognormal"
    low: float = -math.inf
    high: float = math.inf
    source: str = ""
    is_assumed: bool = False

    model_config = ConfigDict(allow_inf_nan=True)

    @model_validator(mode="after")
    def _check(self) -> Self:
        if not 0.0 <= self.cov <= 5.0:
            raise refusal(self.cov, "a coefficient of variation lies in 0 to 5", "it is a ratio, not a percentage", field="cov")
        if not self.low <= self.value <= self.high:
            raise refusal(self.value, f"the value must lie between low {self.low:g} and high {self.high:g}", field="value")
        if self.law in ("truncated_normal", "uniform", "triangular") and not (math.isfinite(self.low) and math.isfinite(self.high)):
            raise refusal(self.law, "a bounded law needs `low` and `high`", field="law")
        return self

    @property
    def sd(self) -> float:
        """Return the standard deviation in the field's unit; for a friction angle that of its tangent."""
        return self.cov * abs(self.value)


def spread(*, low: float = -math.inf, high: float = math.inf, above: float = -math.inf, entry: str = "") -> BeforeValidator:
    """Return the validator of a field that holds a `Spread`: a bare number, text with unit, or a table."""
    limits = Limits(low=low, high=high, above=above, entry=entry)

    def checked(value: Any, info: ValidationInfo) -> Any:
        if value is None or isinstance(value, Spread):
            return value
        return to_spread(value, info.field_name or "", limits, basis=(info.data or {}).get("basis"))

    return BeforeValidator(checked)


_KEYS: Final = ("value", "mean", "cov", "sd", "law", "low", "high", "basis", "source")


def to_spread(value: Any, field: str, limits: Limits, *, basis: str | None) -> dict[str, Any]:
    """Return what stands in a field as the fields of a `Spread`, in the field's unit."""
    key, given = (value.key, value.value) if isinstance(value, Given) else (field, value)
    table = dict(given) if isinstance(given, dict) else {"value": given}
    unknown = [one for one in table if one not in _KEYS]
    if unknown:
        raise refusal(unknown[0], "a value with spread knows " + ", ".join(_KEYS))
    if "mean" in table and "value" in table:
        raise refusal(table["mean"], "`value` and `mean` are the same thing", "delete one of the two")
    if "mean" in table:
        table["value"] = table.pop("mean")
        table.setdefault("basis", "mean")
    if "value" not in table:
        raise refusal(given, "a value is needed", "for example { value = 32, cov = 0.1 }")
    _convert(table, value, field, key, limits)
    table.setdefault("basis", basis)
    if table["basis"] is None:
        raise refusal(given, "its basis must be stated", 'write basis = "mean", "characteristic" or "design" for the unit or with the value')
    _complete(table, field)
    return table


def _convert(table: dict[str, Any], value: Any, field: str, key: str, limits: Limits) -> None:
    twice = value.other_key if isinstance(value, Given) else ""
    table["value"] = to_number(Given(table["value"], key, twice), field, limits)
    for name in ("low", "high", "sd"):
        if name in table:
            table[name] = to_number(Given(table[name], key), field, Limits(entry="-"))
    if "cov" in table:
        table["cov"] = to_number(table["cov"], "cov", Limits(entry="-"))


def _complete(table: dict[str, Any], field: str) -> None:
    """Fill in law and coefficient of variation; the latter from the standard deviation, else the usual one."""
    table.setdefault("law", "normal" if field in _NORMAL_BY_DEFAULT else "lognormal")
    sd = table.pop("sd", None)
    if sd is not None and "cov" in table:
        raise refusal(sd, "`sd` and `cov` say the same thing", "delete one of the two")
    if sd is not None:
        value = table["value"]
        if value == 0.0:
            raise refusal(sd, "a value of 0 has no coefficient of variation", "give a mean above 0")
        table["cov"] = sd / (math.sin(value) * math.cos(value)) if field == "friction_angle_rad" else sd / abs(value)
    if "cov" not in table:
        table["is_assumed"] = field in DEFAULT_VARIATION
        table["cov"] = DEFAULT_VARIATION.get(field, 0.0)


def shown_in(field: str, value: float) -> str:
    """Return a value of the field as a sentence shows it: angles in degrees."""
    if unit_of_name(field) == "rad":
        return f"{split_name(field)[0]} {convert(value, 'rad', 'deg'):g} deg"
    return f"{field} {value:g}"
