"""What the fields of the project's models have in common: other units are accepted, and a refusal says what to do.

A field is written as the model names it, with any other unit suffix of the same kind (``friction_angle_deg`` for
``friction_angle_rad``), or as text with its unit (``"32 deg"``). A list may be named in the singular (``[[grout_port]]``).
Inside, a number always has the unit of its field's name.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any, Final

from pydantic import BaseModel, BeforeValidator, ConfigDict, ValidationInfo, model_validator
from pydantic_core import PydanticCustomError

from tunnelwright.vocabulary.quantity import quantity
from tunnelwright.vocabulary.units import convert, parse_value, split_name, unit, unit_of_name

LARGEST: Final = 1e12


@dataclass(frozen=True, slots=True)
class Given:
    """A value together with the key it was written under, when that differs from the field's name."""

    value: Any
    key: str
    other_key: str = ""


def refusal(given: object, required: str, hint: str = "", *, field: str = "") -> PydanticCustomError:
    """Return the error that becomes a Fault with these words; `field` names the one of several fields that is at fault."""
    return PydanticCustomError("refused", "{required}", {"given": shown(given), "required": required, "hint": hint, "field": field})


def shown(given: object) -> str:
    """Return a given value as a Fault prints it."""
    if isinstance(given, Given):
        return shown(given.value)
    if given is None or given == "":
        return "nothing"
    if isinstance(given, str):
        return f'"{given}"' if len(given) <= 60 else f'"{given[:57]}..."'
    if isinstance(given, bool):
        return str(given).lower()
    if isinstance(given, float | int):
        return f"{given:.12g}" if math.isfinite(given) and abs(given) < 1e300 else str(given)
    if isinstance(given, Mapping):
        return "{" + ", ".join(str(key) for key in given) + "}"
    return str(given) if len(str(given)) <= 60 else str(given)[:57] + "..."


class Part(BaseModel):
    """Base of every part of a project: frozen, and refusing what it does not know."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False, str_strip_whitespace=True)

    @model_validator(mode="before")
    @classmethod
    def _accept_other_units(cls, data: Any) -> Any:
        return with_field_names(cls, data) if isinstance(data, dict) else data


def plurals(key: str) -> tuple[str, ...]:
    """Return the names that a list written in the singular may have."""
    return f"{key}s", f"{key}es", f"{key.removesuffix('ex')}ices"


@cache
def _field_by_stem(part: type[BaseModel]) -> dict[str, str]:
    return {split_name(name)[0]: name for name in part.model_fields if unit_of_name(name)}


def field_of_key(part: type[BaseModel], key: str) -> str:
    """Return the field that a written key stands for; the key itself when there is none."""
    if key in part.model_fields:
        return key
    for plural in plurals(key):
        if plural in part.model_fields:
            return plural
    stem, suffix = split_name(key)
    by_stem = _field_by_stem(part)
    if suffix and stem in by_stem:
        return by_stem[stem]
    plain = part.model_fields.get(stem)
    return stem if suffix and plain is not None and plain.annotation is not str and unit(suffix).dimension == (0, 0, 0, 0) else key


def with_field_names(part: type[BaseModel], data: dict[str, Any]) -> dict[str, Any]:
    """Return the data under the names of the part's fields, values of renamed keys wrapped with the key as written."""
    renamed: dict[str, Any] = {}
    written: dict[str, str] = {}
    for key, value in data.items():
        field = field_of_key(part, key)
        if field in written:
            renamed[field] = Given(value, key, written[field])
        else:
            renamed[field] = value if field == key or field in plurals(key) else Given(value, key)
            written[field] = key
    return renamed


@dataclass(frozen=True, slots=True)
class Limits:
    """The range of a field, in its own unit, on top of the possible range in the quantity dictionary."""

    low: float = -math.inf
    high: float = math.inf
    above: float = -math.inf
    entry: str = ""

    def with_possible(self, field: str) -> "Limits":
        """Return the limits narrowed by the possible range of the dictionary's entry."""
        known = quantity(self.entry or field)
        return Limits(low=max(self.low, known.low), high=min(self.high, known.high), above=self.above)

    def hold(self, value: float) -> bool:
        """Return whether the value lies inside."""
        return self.low <= value <= self.high and value > self.above

    def sentence(self, written_unit: str, own_unit: str) -> str:
        """Return what is required, in the unit in which the value was written."""
        low, high, above = (convert(limit, own_unit, written_unit) for limit in (self.low, self.high, self.above))
        tail = f" {written_unit}" if written_unit else ""
        if math.isfinite(above) and above >= low:
            return f"must be above {above:g}{tail}" + (f" and at most {high:g}{tail}" if math.isfinite(high) else "")
        if math.isinf(low):
            return f"must be at most {high:g}{tail}"
        return f"must be at least {low:g}{tail}" if math.isinf(high) else f"must lie in {low:g} to {high:g}{tail}"


def number(*, low: float = -math.inf, high: float = math.inf, above: float = -math.inf, entry: str = "") -> BeforeValidator:
    """Return the validator of a number: its unit, its limits, and the possible range of its dictionary entry.

    Parameters
    ----------
    low, high : least and greatest value, in the field's unit.
    above : the value must be greater than this.
    entry : name in the quantity dictionary, where it differs from the field's.
    """
    limits = Limits(low=low, high=high, above=above, entry=entry)

    def checked(value: Any, info: ValidationInfo) -> Any:
        return None if value is None else to_number(value, info.field_name or "", limits)

    return BeforeValidator(checked)


def to_number(value: Any, field: str, limits: Limits) -> float:
    """Return a given value as a number in the field's unit.

    Raises
    ------
    PydanticCustomError
        when it is no finite number, has a unit of another kind, or lies outside the limits.
    """
    key, given = (value.key, value.value) if isinstance(value, Given) else (field, value)
    if isinstance(value, Given) and value.other_key:
        raise refusal(given, f"must be given once, but `{value.other_key}` and `{value.key}` both give it", "delete one of the two")
    own_unit, written_unit = unit_of_name(field), unit_of_name(key)
    if unit(own_unit).dimension != unit(written_unit).dimension:
        raise refusal(given, f"`{written_unit}` does not measure what `{field}` measures", f"write {field}")
    written = _as_written(given, written_unit, own_unit)
    inside = written if written_unit == own_unit else convert(written, written_unit, own_unit)
    narrowed = limits.with_possible(field)
    if not narrowed.hold(inside):
        raise refusal(given, narrowed.sentence(written_unit, own_unit), _slip(written, field, key, narrowed))
    return inside


def _as_written(given: Any, written_unit: str, own_unit: str) -> float:
    needed = f"a number in {written_unit} is needed" if written_unit else "a plain number is needed"
    if isinstance(given, str):
        try:
            given = parse_value(given, written_unit)
        except ValueError as reason:
            raise refusal(
                given, str(reason) if "unit" in str(reason) or "measure" in str(reason) else needed, _text_slip(given, str(reason), own_unit)
            ) from None
    if isinstance(given, bool) or not isinstance(given, int | float):
        raise refusal(given, needed)
    if isinstance(given, float) and not math.isfinite(given):
        raise refusal(given, "a finite number is needed", "leave the field out when the value is not known")
    if abs(given) > LARGEST:
        raise refusal(given, f"{needed}; no quantity of a project is as large", "is a decimal point missing?")
    return float(given)


def _text_slip(given: str, reason: str, own_unit: str) -> str:
    if "decimal point" in reason:
        return "write a decimal point, not a comma"
    if given.strip().lower() in ("nan", "inf", "-inf", "infinity", "null", "none", "na", "n/a", "-"):
        return "leave it empty when the value is not known"
    if "measure" in reason and own_unit:
        return f'for example "1.0 {own_unit}"'
    return ""


def _slip(written: float, field: str, key: str, limits: Limits) -> str:
    own_unit, written_unit = unit_of_name(field), unit_of_name(key)
    stem = split_name(field)[0]
    if own_unit == "rad" and written_unit == "rad" and limits.hold(math.radians(written)):
        return f'a bare number is in rad; write {stem}_deg = {written:g} or "{written:g} deg"'
    if own_unit == "rad" and written_unit == "deg" and limits.hold(written):
        return f"is it in rad? write {stem}_rad"
    inside = convert(written, written_unit, own_unit)
    if any(limits.hold(inside / power) for power in (10.0, 100.0)):
        return "is a decimal point missing?"
    if limits.hold(inside / 1000.0) or limits.hold(inside * 1000.0):
        return "is it a thousand times off? check the unit"
    if limits.hold(-inside):
        return "is the sign right?"
    return ""
