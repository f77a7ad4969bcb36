"""The registry of engineering methods and the declaration that puts one into it.

A method is a pure function that returns a small record. The signature gives names, units (by suffix), defaults and choices; the
decorator gives what is said once: formulas, symbols, validity, kind, source. Nothing is checked inside a kernel: limits are data, checked by
``tunnelwright.vocabulary.calculate`` for one case and by the stages for all rings at once.
"""

import functools
import inspect
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any, Final, Literal, TypeVar, get_type_hints

import numpy as np

from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.quantity import Quantity, quantity
from tunnelwright.vocabulary.source import Source
from tunnelwright.vocabulary.types import DERIVED, Record, Shape, Values, shape_of, shapes_of

MethodKind = Literal["lower bound", "upper bound", "mean", "screening", "identity"]


@dataclass(frozen=True, slots=True)
class Range:
    """Limits of validity of an input or a result; outside them stands a number with a Caution."""

    low: float
    high: float
    reason: str = ""


@dataclass(frozen=True, slots=True)
class Require:
    """A condition between inputs without which there is no answer: a broken one is a Fault.

    Parameters
    ----------
    field : the input that is named in the Fault.
    holds : takes all inputs by name, says whether the condition holds (scalar or array).
    required : what must be so, in words.
    hint : how to mend it.
    """

    field: str
    holds: Callable[[Values], Any]
    required: str
    hint: str = ""


@dataclass(frozen=True, slots=True)
class Remark:
    """A condition on inputs and results under which the result carries a Caution.

    Parameters
    ----------
    applies : takes inputs and results by name, says whether the condition holds (scalar or array).
    sentence : of the Caution, or what makes it from inputs and results, where it has to name places.
    """

    applies: Callable[[Values], Any]
    sentence: str | Callable[[Values], str]


@dataclass(frozen=True, slots=True)
class Search:
    """A result found as an extreme; the sheet shows the extreme and its two neighbours.

    Parameters
    ----------
    variable : the result that was searched for, for example ``slip_angle_rad``. Either the function takes it as an input
        (then the sheet calls it there), or the formula of ``objective`` contains its symbol.
    objective : the result that is extreme there.
    extreme : ``max`` or ``min``.
    step : distance to the two neighbours, in the variable's unit.
    """

    variable: str
    objective: str
    extreme: Literal["max", "min"]
    step: float


@dataclass(frozen=True, slots=True)
class Rows:
    """A result that runs over the rows of a table; the sheet prints one line per row.

    Parameters
    ----------
    table : name of the input table.
    formula : expression per row over column symbols, other inputs, earlier results and ``previous``.
    start : value or symbol of ``previous`` before the first row.
    gives : ``last`` row's value (a fold) or one value for ``each`` row (a list).
    symbol : of the result.
    """

    table: str
    symbol: str
    formula: str
    start: str = "0"
    gives: Literal["last", "each"] = "last"


@dataclass(frozen=True, slots=True)
class Algorithm:
    """A result without a printable formula: how it is found, and what must hold whenever it was found rightly.

    Parameters
    ----------
    how : one sentence.
    symbol : of the result.
    invariants : by sentence, a check over inputs and results by name; the contract test runs them on random inputs.
    """

    how: str
    symbol: str = ""
    invariants: Mapping[str, Callable[[Values], Any]] = field(default_factory=dict)


FoundBy = Search | Rows | Algorithm


@dataclass(frozen=True, slots=True)
class Input:
    """One input of a method, read from its signature."""

    name: str
    shape: Shape
    unit: str
    required: bool
    default: Any = None


@dataclass(frozen=True, slots=True)
class Result:
    """One result of a method, read from its record."""

    name: str
    shape: Shape
    unit: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Method:
    """A registered engineering method."""

    id: str
    function: Callable[..., Record]
    inputs: dict[str, Input]
    results: dict[str, Result]
    formulas: Mapping[str, Formula]
    found_by: Mapping[str, FoundBy]
    derived: Mapping[str, Formula]
    symbols: Mapping[str, str]
    units: Mapping[str, str]
    valid: Mapping[str, Range]
    possible: Mapping[str, tuple[float, float]]
    requires: tuple[Require, ...]
    remarks: tuple[Remark, ...]
    kind: MethodKind
    source: Source
    dimensional: bool
    summary: str

    @property
    def topic(self) -> str:
        """Return the engineering package that holds the method."""
        return self.id.split(".")[0]

    def __call__(self, **inputs: Any) -> Any:
        """Return the kernel's record for inputs by name; numbers become arrays, defaults are filled in."""
        return self.function(**prepared(self, inputs))

    def table(self, name: str) -> Any:
        """Return the class of an input that is a table.

        Raises
        ------
        TypeError
            when the input is none.
        """
        found = self.inputs[name].shape.table
        if found is None:
            raise TypeError(f"{self.id}: {name} is no table")
        return found

    def symbol_of(self, name: str) -> str:
        """Return the symbol of an input or result; its name where no symbol was declared."""
        if name in self.symbols:
            return self.symbols[name]
        found = self.found_by.get(name)
        declared = self.formulas.get(name) or (found if isinstance(found, Rows | Algorithm) else None)
        return (declared.symbol if declared else "") or quantity(name).symbol or name

    def quantity_of(self, name: str) -> Quantity:
        """Return the dictionary entry of a name, with this method's own unit and possible range where it declares them."""
        entry = quantity(name)
        own_unit = self.units.get(name, entry.unit)
        low, high = self.possible.get(name, (entry.low, entry.high))
        shown = entry.shown_unit if own_unit == entry.unit else own_unit
        return Quantity(
            name=name, meaning=entry.meaning, symbol=entry.symbol, sign=entry.sign, low=low, high=high, unit=own_unit, shown_unit=shown, decimals=entry.decimals
        )


METHODS: Final[dict[str, Method]] = {}
Kernel = TypeVar("Kernel", bound=Callable[..., Any])


def method(
    id: str,
    *,
    kind: MethodKind,
    source: Source,
    formulas: Mapping[str, Formula] | None = None,
    found_by: Mapping[str, FoundBy] | None = None,
    derived: Mapping[str, Formula] | None = None,
    symbols: Mapping[str, str] | None = None,
    units: Mapping[str, str] | None = None,
    valid: Mapping[str, Range] | None = None,
    possible: Mapping[str, tuple[float, float]] | None = None,
    requires: tuple[Require, ...] = (),
    remarks: tuple[Remark, ...] = (),
    dimensional: bool = False,
) -> Callable[[Kernel], Kernel]:
    """Register a kernel under its id; every result needs a formula or an entry of ``found_by``.

    Parameters
    ----------
    id : ``topic.quantity.author_year`` or ``topic.quantity.plain_name``, as in the catalogue.
    kind : what the result is, compared with the truth.
    source : where the method comes from.
    formulas : by result name; over symbols of inputs and of earlier results.
    found_by : by result name, where there is no closed formula.
    derived : by input name, the formula that gives an input left out (its default in the signature is ``DERIVED``).
    symbols : by name, where the dictionary's symbol does not fit this formula.
    units : by name, where the unit is not the suffix's.
    valid : by name of input or result; outside it a Caution.
    possible : by name; outside it a Fault; narrower or wider than the dictionary's.
    requires : conditions between inputs; broken ones are Faults.
    remarks : conditions under which a result carries a Caution.
    dimensional : True when the source's coefficients carry units, so that scaling the base units must not be tested.
    """
    declaration: dict[str, Any] = {
        "formulas": formulas or {},
        "found_by": found_by or {},
        "derived": derived or {},
        "symbols": symbols or {},
        "units": units or {},
        "valid": valid or {},
        "possible": possible or {},
        "requires": requires,
        "remarks": remarks,
        "kind": kind,
        "source": source,
        "dimensional": dimensional,
    }

    def register(function: Kernel) -> Kernel:
        entry = _declared(id, function, declaration)

        @functools.wraps(function)
        def kernel(*positional: Any, **named: Any) -> Any:
            return function(**prepared(entry, _bound(entry, positional, named)))

        if id in METHODS and METHODS[id].function.__qualname__ != function.__qualname__:
            raise ValueError(f"two methods call themselves {id}")
        kernel.method = entry  # type: ignore[attr-defined]
        METHODS[id] = entry
        return kernel  # type: ignore[return-value]

    return register


def _bound(entry: Method, positional: tuple[Any, ...], named: Mapping[str, Any]) -> dict[str, Any]:
    return {**dict(zip(entry.inputs, positional, strict=False)), **named}


def prepared(entry: Method, given: Mapping[str, Any]) -> dict[str, Any]:
    """Return the inputs as the kernel takes them: arrays of float64, defaults filled in, derived inputs computed."""
    unknown = [name for name in given if name not in entry.inputs]
    missing = [name for name, one in entry.inputs.items() if one.required and name not in given]
    if unknown or missing:
        raise TypeError(f"{entry.id}: missing {missing}, unknown {unknown}")
    values = {name: _as_kind(one.shape, given.get(name, one.default)) for name, one in entry.inputs.items()}
    for name, formula in entry.derived.items():
        if values[name] is DERIVED:
            values[name] = formula.value(by_symbol(entry, {known: value for known, value in values.items() if value is not DERIVED}))
    return values


def _as_kind(shape: Shape, value: Any) -> Any:
    if value is None or value is DERIVED:
        return value
    if shape.kind == "number":
        return np.asarray(value, dtype=np.float64)
    if shape.kind == "list":
        return np.atleast_1d(np.asarray(value, dtype=np.float64))
    if shape.kind == "text list":
        return np.atleast_1d(np.asarray(value, dtype=np.str_))
    return int(value) if shape.kind == "count" else value


def by_symbol(entry: Method, values: Values) -> dict[str, Any]:
    """Return values by symbol as formulas know them; a name stands for itself too."""
    return {**values, **{entry.symbol_of(name): value for name, value in values.items()}}


def _declared(id: str, function: Callable[..., Any], declaration: Mapping[str, Any]) -> Method:
    """Return the method that signature, record and declaration describe; a result without an explanation is refused at import."""
    hints = get_type_hints(function, include_extras=True)
    record = hints["return"]

    def unit_of(name: str) -> str:
        return str(declaration["units"].get(name, quantity(name).unit))

    inputs = {
        name: Input(
            name,
            shape_of(hints[name]),
            unit_of(name),
            parameter.default is parameter.empty,
            None if parameter.default is parameter.empty else parameter.default,
        )
        for name, parameter in inspect.signature(function).parameters.items()
    }
    results = {name: Result(name, shape, unit_of(name)) for name, shape in shapes_of(record).items()}
    explained = (*declaration["formulas"], *declaration["found_by"])
    unexplained = [name for name in results if name not in explained]
    undeclared = [name for name in explained if name not in results]
    undeclared += [name for name, one in inputs.items() if one.default is DERIVED and name not in declaration["derived"]]
    if unexplained or undeclared:
        raise TypeError(f"{id}: results without formula or found_by {unexplained}; declared but absent {undeclared}")
    summary = (inspect.getdoc(function) or "").splitlines()[0]
    return Method(id=id, function=function, inputs=inputs, results=results, summary=summary, **declaration)
