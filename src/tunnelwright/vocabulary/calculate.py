"""One calculation of any registered method from inputs as a person or a file gives them.

Names may carry any unit suffix of the same kind (``friction_angle_deg``), values may be text with a unit (``"1.8 bar"``); a bare number has the unit
of the suffix under which it was given. All Faults come at once; limits of validity give Cautions.
"""

import dataclasses
import difflib
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from tunnelwright.vocabulary.method import METHODS, Input, Method, prepared
from tunnelwright.vocabulary.remark import Caution, Fault, InputRefused
from tunnelwright.vocabulary.types import DERIVED, Record, Shape, Table, Values
from tunnelwright.vocabulary.units import convert, parse_value, split_name, unit


@dataclass(frozen=True, slots=True, kw_only=True)
class Calculation:
    """What went into a method, what came out, and what has to be said about it."""

    method: Method
    inputs: dict[str, Any]
    record: Record
    cautions: tuple[Caution, ...]

    @property
    def values(self) -> dict[str, Any]:
        """Return inputs and results by name."""
        return {**self.inputs, **self.record.as_dict()}


def calculate(method_id: str, given: Mapping[str, Any]) -> Calculation:
    """Run one registered method on raw inputs.

    Raises
    ------
    InputRefused
        with every Fault of the inputs.
    """
    method = method_named(method_id)
    return calculation(method, read_inputs(method, given))


def calculation(method: Method, given: Values) -> Calculation:
    """Run a method on inputs that already have its own names and units.

    Raises
    ------
    InputRefused
        when a declared condition between the inputs does not hold.
    """
    inputs = prepared(method, given)
    faults = _unequal_lengths(method, inputs) or broken_requirements(method, inputs)
    if faults:
        raise InputRefused(faults, method.id)
    with np.errstate(all="ignore"):
        record = method.function(**inputs)
    return Calculation(method=method, inputs=inputs, record=record, cautions=cautions_of(method, inputs, record))


def _unequal_lengths(method: Method, inputs: Values) -> list[Fault]:
    """Return a Fault when lists of numbers do not fit each other: one length for all, or single numbers."""
    shapes = {name: np.shape(inputs[name]) for name, one in method.inputs.items() if one.shape.kind == "number" and inputs[name] is not None}
    try:
        np.broadcast_shapes(*shapes.values())
    except ValueError:
        listed = {name: shape for name, shape in shapes.items() if shape}
        given = ", ".join(f"{name} {'x'.join(map(str, shape))}" for name, shape in listed.items())
        return [Fault(where=method.id, field=next(iter(listed)), given=given, required="lists of numbers must be equally long, or single numbers")]
    return []


def method_named(method_id: str) -> Method:
    """Return the registered method with this id.

    Raises
    ------
    InputRefused
        when there is none; the hint names the nearest ids.
    """
    if method_id in METHODS:
        return METHODS[method_id]
    near = difflib.get_close_matches(method_id, METHODS, n=3, cutoff=0.4)
    raise InputRefused(
        [
            Fault(
                where="method",
                field="id",
                given=method_id,
                required="must be the id of a registered method",
                hint=f"did you mean {' or '.join(near)}?" if near else "list them with `methods`",
            )
        ],
        method_id,
    )


def read_inputs(method: Method, given: Mapping[str, Any]) -> dict[str, Any]:
    """Return the inputs by their own names and units; raise InputRefused with every Fault."""
    faults: list[Fault] = []
    clean: dict[str, Any] = {}
    for name, value in given.items():
        if value is None:
            continue
        found = _named_input(method, name)
        if found is None:
            faults.append(_unknown(method, name))
        elif found[0].name in clean:
            faults.append(Fault(where=method.id, field=name, given="the same input twice", required="must be given once"))
        else:
            own_faults: list[Fault] = []
            clean[found[0].name] = _value(method, found[0], value, found[1], own_faults)
            faults += [dataclasses.replace(fault, field=fault.field.replace(found[0].name, name, 1)) for fault in own_faults]
    missing = [one for name, one in method.inputs.items() if one.required and name not in clean]
    faults += [Fault(where=method.id, field=one.name, given="nothing", required="must be given" + (f" in {one.unit}" if one.unit else "")) for one in missing]
    if faults:
        raise InputRefused(faults, method.id)
    return clean


def _named_input(method: Method, name: str) -> tuple[Input, str] | None:
    if name in method.inputs:
        return method.inputs[name], method.inputs[name].unit
    stem, given_unit = split_name(name)
    for one in method.inputs.values():
        if one.shape.kind in ("number", "list") and (matched := _same_stem(one.name, one.unit, name, stem, given_unit)) is not None:
            return one, matched
    return None


def _same_stem(own_name: str, own_unit: str, name: str, stem: str, given_unit: str) -> str | None:
    """Return the unit under which a value was given when the name is the same but for its suffix."""
    own_stem = split_name(own_name)[0]
    if own_unit and name == own_stem:
        return own_unit
    if given_unit and own_unit and stem == own_stem and unit(given_unit).dimension == unit(own_unit).dimension:
        return given_unit
    return None


def _unknown(method: Method, name: str) -> Fault:
    near = difflib.get_close_matches(name, method.inputs, n=1, cutoff=0.5)
    return Fault(
        where=method.id,
        field=name,
        given="an input of this name",
        required=f"must be one of {', '.join(method.inputs)}",
        hint=f"did you mean {near[0]}?" if near else "",
    )


def _value(method: Method, one: Input, value: Any, given_unit: str, faults: list[Fault]) -> Any:
    kind = one.shape.kind
    if kind == "table":
        return _table(method, one, value, faults)
    if kind == "mapping":
        if isinstance(value, Mapping):
            return dict(value)
        faults.append(Fault(where=method.id, field=one.name, given=repr(value), required="must be an object of inputs by name"))
        return None
    if kind == "choice":
        return _choice(method, one.name, one.shape, value, faults)
    if kind in ("text", "text list"):
        return str(value) if kind == "text" else [str(part) for part in np.atleast_1d(value)]
    numbers = _numbers(method, one.name, value, given_unit, one.unit, faults)
    if kind == "count" and numbers is not None and (np.ndim(numbers) or not float(numbers).is_integer() or float(numbers) < 0):
        faults.append(Fault(where=method.id, field=one.name, given=str(value), required="must be a whole number, 0 or more"))
    return numbers


def _choice(method: Method, name: str, shape: Shape, value: Any, faults: list[Fault]) -> Any:
    if isinstance(value, str) and value in shape.choices:
        return value
    near = difflib.get_close_matches(str(value), shape.choices, n=1)
    faults.append(
        Fault(
            where=method.id,
            field=name,
            given=repr(value),
            required=f"must be one of {', '.join(shape.choices)}",
            hint=f"did you mean {near[0]}?" if near else "",
        )
    )
    return None


def _numbers(method: Method, name: str, value: Any, given_unit: str, own_unit: str, faults: list[Fault]) -> Any:
    try:
        numbers = _number(value, given_unit, own_unit)
    except (ValueError, TypeError) as reason:
        faults.append(
            Fault(where=method.id, field=name, given=repr(value), required=f"must be a number{f' in {own_unit}' if own_unit else ''}", hint=str(reason))
        )
        return None
    entry = method.quantity_of(name)
    array = np.asarray(numbers, dtype=np.float64)
    outside = (array < entry.low) | (array > entry.high)
    if outside.any():
        worst = float(array[outside].flat[0])
        faults.append(
            Fault(
                where=method.id,
                field=name,
                given=f"{worst:g}{f' {own_unit}' if own_unit else ''}",
                required=possible_in_words(entry.low, entry.high, own_unit),
                hint=_slip(worst, entry.low, entry.high, own_unit),
            )
        )
    return numbers


def possible_in_words(low: float, high: float, own_unit: str) -> str:
    """Return a possible range as the words of a Fault."""
    if own_unit == "rad" and math.isfinite(high) and math.isfinite(low):
        return f"must lie in {low:.4g} to {high:.4g} rad ({math.degrees(low):.4g} to {math.degrees(high):.4g} deg)"
    if math.isinf(high):
        return f"must be {low:g} or more" + (f" {own_unit}" if own_unit else "")
    if math.isinf(low):
        return f"must be {high:g} or less" + (f" {own_unit}" if own_unit else "")
    return f"must lie in {low:g} to {high:g}" + (f" {own_unit}" if own_unit else "")


def _slip(value: float, low: float, high: float, own_unit: str) -> str:
    if own_unit == "rad" and low <= math.radians(value) <= high:
        return 'were degrees meant? write "32 deg" or use the suffix _deg'
    if low <= value / 100 <= high and value > high:
        return "was a ratio meant, not per cent?" if not own_unit else "is a decimal point missing?"
    return "is a decimal point missing?" if low <= value / 10 <= high and value > high else ""


def _number(value: Any, given_unit: str, own_unit: str) -> Any:
    if isinstance(value, bool | np.bool_):
        return float(value)
    if isinstance(value, str):
        return convert(parse_value(value, given_unit), given_unit, own_unit)
    if isinstance(value, Mapping):
        raise TypeError("an object stands where a number is needed")
    if isinstance(value, Sequence | np.ndarray):
        return np.array([math.nan if part is None else _number(part, given_unit, own_unit) for part in value], dtype=np.float64)
    if value is None:
        return math.nan
    return convert(float(value), given_unit, own_unit) if given_unit != own_unit else float(value)


def _table(method: Method, one: Input, value: Any, faults: list[Fault]) -> Table | None:
    table = one.shape.table
    assert table is not None
    if isinstance(value, table):
        return value
    if isinstance(value, Mapping):
        value = [dict(zip(value, row, strict=False)) for row in zip(*value.values(), strict=False)]
    if not isinstance(value, Sequence) or isinstance(value, str) or not all(isinstance(row, Mapping) for row in value):
        faults.append(Fault(where=method.id, field=one.name, given=type(value).__name__, required=f"must be a list of rows with {', '.join(table.columns())}"))
        return None
    if not value:
        faults.append(Fault(where=method.id, field=one.name, given="no rows", required="must have at least one row"))
        return None
    before = len(faults)
    rows = [_row(method, f"{one.name}[{number}]", table, row, faults) for number, row in enumerate(value, start=1)]
    if len(faults) > before:
        return None
    return table.from_rows(rows)


def _row(method: Method, where: str, table: type[Table], row: Mapping[str, Any], faults: list[Fault]) -> dict[str, Any]:
    clean: dict[str, Any] = {}
    for name, value in row.items():
        found = _column(method, table, name)
        if found is None:
            near = difflib.get_close_matches(name, table.columns(), n=1, cutoff=0.5)
            faults.append(
                Fault(
                    where=method.id,
                    field=f"{where}.{name}",
                    given="a column of this name",
                    required=f"must be one of {', '.join(table.columns())}",
                    hint=f"did you mean {near[0]}?" if near else "",
                )
            )
            continue
        own_name, given_unit = found
        shape = table.columns()[own_name]
        own_faults: list[Fault] = []
        if shape.kind == "choice":
            clean[own_name] = _choice(method, own_name, shape, value, own_faults)
        elif shape.kind in ("text", "text list"):
            clean[own_name] = str(value)
        elif value is not None:
            clean[own_name] = _numbers(method, own_name, value, given_unit, method.quantity_of(own_name).unit, own_faults)
        faults += [Fault(where=one.where, field=f"{where}.{one.field}", given=one.given, required=one.required, hint=one.hint) for one in own_faults]
    absent = [name for name in table.columns() if name not in clean and not _has_default(table, name) and not (name in row and row[name] is None)]
    faults += [Fault(where=method.id, field=f"{where}.{name}", given="nothing", required="must be given") for name in absent]
    return clean


def _column(method: Method, table: type[Table], name: str) -> tuple[str, str] | None:
    columns = table.columns()
    if name in columns:
        return name, method.quantity_of(name).unit
    stem, given_unit = split_name(name)
    for own_name in columns:
        matched = _same_stem(own_name, method.quantity_of(own_name).unit, name, stem, given_unit)
        if matched is not None:
            return own_name, matched
    return None


def _has_default(table: type[Table], name: str) -> bool:
    field = table.__dataclass_fields__[name]  # type: ignore[attr-defined]
    return field.default is not dataclasses.MISSING or field.default_factory is not dataclasses.MISSING


def broken_requirements(method: Method, inputs: Values) -> list[Fault]:
    """Return a Fault for every declared condition between inputs that does not hold."""
    faults = []
    for one in method.requires:
        with np.errstate(all="ignore"):
            holds = np.asarray(one.holds(inputs), dtype=bool)
        if not holds.all():
            faults.append(Fault(where=method.id, field=one.field, given=_given(inputs.get(one.field)), required=one.required, hint=one.hint))
    return faults


def _given(value: Any) -> str:
    if value is None or value is DERIVED:
        return "nothing"
    if isinstance(value, Table):
        return f"{value.row_count} rows"
    return str(np.array2string(np.asarray(value), precision=6, threshold=5)) if not isinstance(value, str | Mapping) else str(value)


def cautions_of(method: Method, inputs: Values, record: Record) -> tuple[Caution, ...]:
    """Return a Caution for every value outside the method's validity and for every remark that applies."""
    values = {**inputs, **record.as_dict()}
    cautions = []
    for name, limits in method.valid.items():
        value = _limited(values, name)
        if value is None:
            continue
        outside = (value < limits.low) | (value > limits.high)
        if np.any(outside):
            cautions.append(
                Caution(subject=name, sentence=_outside(method, name, float(np.asarray(value)[outside].flat[0]), limits.low, limits.high, limits.reason))
            )
    for remark in method.remarks:
        with np.errstate(all="ignore"):
            if np.any(np.asarray(remark.applies(values), dtype=bool)):
                sentence = remark.sentence if isinstance(remark.sentence, str) else remark.sentence(values)
                cautions.append(Caution(subject=method.id, sentence=sentence))
    return tuple(cautions)


def _limited(values: Values, name: str) -> Any:
    """Return the numbers under a name; ``layers.friction_angle_rad`` means a column of a table."""
    head, _, column = name.partition(".")
    value = values.get(head)
    if value is not None and column:
        value = getattr(value, column)
    return None if value is None or isinstance(value, str | Table) else np.asarray(value, dtype=np.float64)


def _outside(method: Method, name: str, value: float, low: float, high: float, reason: str) -> str:
    entry = method.quantity_of(name.rpartition(".")[2])
    shown = [entry.shown(one) for one in (value, low, high)]
    unit_text = f" {entry.shown_unit}" if entry.shown_unit else ""
    limits = f"above {shown[2]:.6g}" if math.isinf(low) else (f"below {shown[1]:.6g}" if math.isinf(high) else f"outside {shown[1]:.6g} to {shown[2]:.6g}")
    # The number carries its unit, so the name goes without.
    spoken = split_name(name)[0].replace("_", " ")
    return f"{spoken} {shown[0]:.6g}{unit_text} is {limits}{unit_text}, the validity of {method.id}" + (f": {reason}" if reason else "")


def as_plain(value: Any) -> Any:
    """Return a result as JSON knows it: NaN and infinite become null, a table becomes a list of rows."""
    if isinstance(value, Table):
        return [{name: as_plain(cell) for name, cell in row.items()} for row in value.rows()]
    if value is None:
        return None
    array = np.asarray(value)
    if array.dtype.kind in "US":
        return array.tolist()
    if array.dtype.kind == "b":
        return array.tolist()
    return _nulled(array.tolist())


def _nulled(value: Any) -> Any:
    if isinstance(value, list):
        return [_nulled(part) for part in value]
    return value if not isinstance(value, float) or math.isfinite(value) else None
