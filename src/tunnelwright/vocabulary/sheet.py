"""Calculation sheets that cannot lie: the printed numbers, put into the printed formula, give the printed result.

A sheet is made from the method's declaration and one calculation. Inputs are printed with four significant digits, and with more until the formula
evaluated on the *printed* text rounds to the printed result.
"""

import ast
import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from tunnelwright.vocabulary.calculate import Calculation
from tunnelwright.vocabulary.formula import Formula, names_in, parse, resolved
from tunnelwright.vocabulary.method import Algorithm, FoundBy, Method, Rows, Search, by_symbol, prepared
from tunnelwright.vocabulary.printing import formula_as_mathml, formula_as_text, formula_with_numbers, symbol_as_mathml, symbol_as_text
from tunnelwright.vocabulary.types import Table, Values

LEAST_DIGITS: Final = 4
MOST_DIGITS: Final = 17


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetLine:
    """One line of a calculation sheet.

    Parameters
    ----------
    name : dictionary name of the result.
    meaning : what it is, in words.
    symbol, formula, numbers : as printed; ``numbers`` is empty for a result without a printable formula.
    value : full precision, in ``unit``; a word for a choice.
    printed : the value as printed, in ``shown_unit``.
    source : short reference and how well it is known.
    how : for results found by search or algorithm, how they were found.
    mathml, mathml_numbers, symbol_mathml : the same for pages.
    """

    name: str
    meaning: str
    symbol: str
    formula: str
    numbers: str
    value: Any
    unit: str
    printed: str
    shown_unit: str
    source: str
    how: str = ""
    mathml: str = ""
    mathml_numbers: str = ""
    symbol_mathml: str = ""

    def as_dict(self) -> dict[str, Any]:
        """Return what leaves as JSON."""
        value = self.value if not isinstance(self.value, float) or math.isfinite(self.value) else None
        line = {"symbol": self.symbol, "formula": self.formula, "numbers": self.numbers, "value": value, "unit": self.unit, "source": self.source}
        return {**line, "name": self.name, "printed": f"{self.printed} {self.shown_unit}".strip(), **({"how": self.how} if self.how else {})}


def sheet_of(calculation: Calculation, at: int = 0) -> tuple[SheetLine, ...]:
    """Return the lines of one calculation; of array inputs those of the element with flat index ``at``."""
    method = calculation.method
    values = _element(calculation, at)
    lines: list[SheetLine] = []
    for name in method.inputs:
        if name in method.derived and _was_derived(method, calculation, name):
            lines.append(formula_line(method, name, method.derived[name], values))
    for name in method.results:
        if name in method.formulas:
            if _has_all(method.formulas[name], by_symbol(method, values)):
                lines.append(formula_line(method, name, method.formulas[name], values))
        elif _was_given(method.found_by[name], calculation):
            lines.append(_plain_line(method, name, Algorithm("as given"), values))
        else:
            lines += _found_lines(method, name, values)
    return tuple(lines)


def _has_all(formula: Formula, known: Mapping[str, Any]) -> bool:
    """Return whether every symbol of the branch taken has a value; a result whose optional input was left out has no line."""
    return not any(_is_missing(known.get(symbol)) for symbol in names_in(resolved(parse(formula.text), known)))


def _is_missing(value: Any) -> bool:
    return value is None or (isinstance(value, float | np.ndarray) and np.ndim(value) == 0 and bool(np.isnan(value)))


def _was_given(found: FoundBy, calculation: Calculation) -> bool:
    """Return whether what is usually searched was an input of this calculation."""
    return isinstance(found, Search) and calculation.inputs.get(found.variable) is not None


def _was_derived(method: Method, calculation: Calculation, name: str) -> bool:
    derived = method.derived[name].value(by_symbol(method, calculation.values))
    return bool(np.array_equal(np.asarray(derived), np.asarray(calculation.inputs[name])))


def _element(calculation: Calculation, at: int) -> dict[str, Any]:
    """Return the values of one element: broadcasting numbers become scalars, lists and tables stay whole."""
    method = calculation.method
    shapes = {name: one.shape.kind for name, one in method.inputs.items()} | {name: one.shape.kind for name, one in method.results.items()}
    values = calculation.values
    numeric = [np.shape(values[name]) for name, kind in shapes.items() if kind == "number" and values[name] is not None]
    common = np.broadcast_shapes(*numeric) if numeric else ()
    element: dict[str, Any] = {}
    for name, value in values.items():
        if shapes[name] in ("number", "text", "choice") and value is not None and not isinstance(value, str):
            element[name] = np.broadcast_to(np.asarray(value), common).reshape(-1)[at] if common else np.asarray(value)[()]
        else:
            element[name] = _rows_at(value, common, at) if isinstance(value, Table) else value
    return element


def _rows_at(table: Table, common: tuple[int, ...], at: int) -> Table:
    columns = {name: getattr(table, name) for name in table.columns() if getattr(table, name) is not None}
    if all(column.ndim == 1 for column in columns.values()) or not common:
        return table
    return type(table)(**{name: np.broadcast_to(column, (*common, column.shape[-1])).reshape(-1, column.shape[-1])[at] for name, column in columns.items()})


def formula_line(method: Method, name: str, formula: Formula, values: Values, how: str = "", name_shown: str = "") -> SheetLine:
    """Return one line: formula, numbers put in, result."""
    known = by_symbol(method, values)
    tree = resolved(parse(formula.text), known)
    outcome = formula.value(known)
    full = float(outcome) if np.ndim(outcome) == 0 else float(np.asarray(outcome).flat[0])
    quantity = method.quantity_of(name)
    numbers, angles, printed = _put_in(formula, known, _units_by_symbol(method), full, quantity)
    return SheetLine(
        name=name_shown or name,
        meaning=quantity.meaning,
        symbol=symbol_as_text(formula.symbol),
        formula=formula_as_text(formula.text),
        numbers=formula_with_numbers(tree, numbers, angles),
        value=full,
        unit=quantity.unit,
        printed=printed,
        shown_unit=quantity.shown_unit,
        source=method.source.sentence(),
        how=how,
        mathml=formula_as_mathml(parse(formula.text)),
        mathml_numbers=formula_as_mathml(tree, numbers, angles),
        symbol_mathml=f"<math>{symbol_as_mathml(formula.symbol)}</math>",
    )


def _units_by_symbol(method: Method) -> dict[str, str]:
    units = {}
    tables = [one.shape.table for one in method.inputs.values() if one.shape.table]
    names = [*method.inputs, *method.results, *(column for table in tables for column in table.columns())]
    for name in names:
        units[name] = units[method.symbol_of(name)] = method.quantity_of(name).unit
    return units


def _put_in(formula: Formula, known: Mapping[str, Any], units: Mapping[str, str], full: float, quantity: Any) -> tuple[dict[str, str], dict[str, str], str]:
    printed = shown_number(full, quantity)
    tree = resolved(parse(formula.text), known)
    scalars = {symbol: value for symbol in formula.names() if (value := _scalar(known.get(symbol))) is not None}
    numbers: dict[str, str] = {}
    angles: dict[str, str] = {}
    for digits in range(LEAST_DIGITS, MOST_DIGITS + 1):
        numbers = {symbol: significant(value, digits) for symbol, value in scalars.items()}
        angles = {symbol: f"{significant(math.degrees(value), digits)} deg" for symbol, value in scalars.items() if units.get(symbol) == "rad"}
        again = value_of_printed(formula_with_numbers(tree, numbers, angles))
        if again is None or shown_number(again, quantity) == printed:
            break
    return numbers, angles, printed


def _scalar(value: Any) -> float | None:
    if value is None or isinstance(value, str | Table):
        return None
    array = np.asarray(value)
    return float(array.flat[0]) if array.size and array.dtype.kind in "fiub" else None


def value_of_printed(text: str) -> float | None:
    """Return the value of a printed line as a pocket calculator would give it; None when it holds more than numbers."""
    expression = re.sub(r"(-?[\d.]+(?:e[-+]?\d+)?) deg", r"(\1*pi/180)", text).replace(" x ", "*")
    try:
        return float(Formula("", expression).value({}))
    except (ValueError, TypeError):
        return None


def significant(value: float, digits: int) -> str:
    """Return a number with so many significant digits, without an exponent where a person would write none."""
    if not math.isfinite(value):
        return "nan" if math.isnan(value) else ("inf" if value > 0 else "-inf")
    if value == 0:
        return "0"
    exponent = math.floor(math.log10(abs(value)))
    if -5 <= exponent < 9:
        return f"{value:.{max(0, digits - 1 - exponent)}f}"
    mantissa, _, power = f"{value:.{digits - 1}e}".partition("e")
    return f"{mantissa}e{int(power)}"


def shown_number(value: float, quantity: Any) -> str:
    """Return a value in its shown unit with the dictionary's decimals, and with more where these would hide it."""
    if not math.isfinite(value):
        return "none" if math.isnan(value) else "without limit"
    shown = quantity.shown(value)
    if shown == 0:
        return f"{0:.{quantity.decimals}f}"
    needed = 3 - math.floor(math.log10(abs(shown)))
    return f"{shown:.{max(quantity.decimals, min(needed, 12))}f}" if needed <= 12 else significant(shown, 4)


def _found_lines(method: Method, name: str, values: Values) -> list[SheetLine]:
    found = method.found_by[name]
    if isinstance(found, Search):
        return _search_lines(method, found, values)
    if isinstance(found, Rows):
        return _row_lines(method, name, found, values)
    return [_plain_line(method, name, found, values)]


def _plain_line(method: Method, name: str, found: Algorithm, values: Values) -> SheetLine:
    quantity = method.quantity_of(name)
    value = values[name]
    scalar = _scalar(value) if np.ndim(value) == 0 else None
    return SheetLine(
        name=name,
        meaning=quantity.meaning,
        symbol=symbol_as_text(method.symbol_of(name)),
        formula="",
        numbers="",
        value=_plain_value(value),
        unit=quantity.unit,
        printed=shown_number(scalar, quantity) if scalar is not None else _words(value),
        shown_unit=quantity.shown_unit if scalar is not None else "",
        source=method.source.sentence(),
        how=found.how,
    )


def _plain_value(value: Any) -> Any:
    if isinstance(value, Table):
        return None
    array = np.asarray(value)
    return array.tolist() if array.size != 1 or array.dtype.kind in "US" else (float(array.flat[0]) if array.dtype.kind == "f" else array.tolist())


def _words(value: Any) -> str:
    if isinstance(value, Table):
        return f"table of {value.row_count} rows"
    array = np.asarray(value)
    return str(array) if array.ndim == 0 else f"{array.size} values"


def _search_lines(method: Method, found: Search, values: Values) -> list[SheetLine]:
    """Return the extreme and its two neighbours, whichever of the two results declares the search."""
    name = found.objective
    quantity = method.quantity_of(name)
    optimum = float(np.asarray(values[found.variable]))
    word = "greatest" if found.extreme == "max" else "least"
    lines = []
    for offset, how in ((-found.step, "neighbour below"), (0.0, f"{word} over {found.variable.replace('_', ' ')}"), (found.step, "neighbour above")):
        place = optimum + offset
        value = float(values[name]) if offset == 0 else _at_place(method, name, found, values, place)
        place_text = shown_number(place, method.quantity_of(found.variable))
        lines.append(
            SheetLine(
                name=name,
                meaning=quantity.meaning,
                symbol=symbol_as_text(method.symbol_of(name)),
                formula="",
                numbers="",
                value=value,
                unit=quantity.unit,
                printed=shown_number(value, quantity),
                shown_unit=quantity.shown_unit,
                source=method.source.sentence(),
                how=f"{how}: {symbol_as_text(method.symbol_of(found.variable))} = {place_text} {method.quantity_of(found.variable).shown_unit}",
            )
        )
    return lines


def _at_place(method: Method, name: str, found: Search, values: Values, place: float) -> float:
    if found.variable in method.inputs:
        inputs = {one: values[one] for one in method.inputs} | {found.variable: place}
        return float(np.asarray(method.function(**prepared(method, inputs)).as_dict()[name]))
    return float(method.formulas[found.objective].value(by_symbol(method, {**values, found.variable: place})))


def start_value(method: Method, found: Rows, values: Values) -> float:
    """Return the value before the first row."""
    return float(Formula("", found.start).value(by_symbol(method, values)))


def row_values(method: Method, found: Rows, values: Values) -> list[float]:
    """Return the values of a result row by row; none where an optional table was left out."""
    table = values[found.table]
    if table is None:
        return []
    known = by_symbol(method, values)
    previous = start_value(method, found, values)
    outcomes = []
    for row in range(table.row_count):
        columns = {column: getattr(table, column)[..., row] for column in table.columns() if getattr(table, column) is not None}
        previous = float(np.asarray(Formula(found.symbol, found.formula).value({**known, **by_symbol(method, columns), "previous": previous})))
        outcomes.append(previous)
    return outcomes


def _row_lines(method: Method, name: str, found: Rows, values: Values) -> list[SheetLine]:
    table = values[found.table]
    previous = start_value(method, found, values)
    table_words = found.table.replace("_", " ")
    start = Formula(found.symbol, found.start)
    is_worked_out = not isinstance(start.tree, ast.Name | ast.Constant)
    lines = [formula_line(method, name, start, values, how=f"before the first row of {table_words}")] if is_worked_out else []
    for row, outcome in enumerate(row_values(method, found, values)):
        columns = {column: getattr(table, column)[..., row] for column in table.columns() if getattr(table, column) is not None}
        lines.append(
            formula_line(
                method,
                name,
                Formula(found.symbol, found.formula),
                {**values, **columns, "previous": previous},
                how=f"row {row + 1} of {table_words}",
            )
        )
        previous = outcome
    return lines
