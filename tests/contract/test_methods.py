"""The battery that every registered method passes, fed by its own evidence cases, jittered."""

import math
from operator import attrgetter
from typing import Any

import numpy as np
import pytest

from tunnelwright.app.evidence import evidence_of
from tunnelwright.engineering import load_methods
from tunnelwright.vocabulary.calculate import Calculation, calculate, cautions_of
from tunnelwright.vocabulary.evidence import Case
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import METHODS, Algorithm, Method, Rows, Search, by_symbol, prepared
from tunnelwright.vocabulary.remark import InputRefused
from tunnelwright.vocabulary.sheet import row_values, sheet_of, shown_number, start_value, value_of_printed
from tunnelwright.vocabulary.types import DERIVED, Table
from tunnelwright.vocabulary.units import unit

load_methods()
METHOD_LIST = list(METHODS.values())
each_method = pytest.mark.parametrize("method", METHOD_LIST, ids=attrgetter("id"))


def good_cases(method: Method) -> list[Case]:
    cases = [case for case in evidence_of(method.id) if not case.expected_fault]
    assert cases, f"{method.id} has no evidence case to start from"
    return cases


def single_cases(method: Method) -> list[Case]:
    """Return the cases whose plain numbers are single ones: from these a test builds arrays of its own length."""
    names = [name for name, one in method.inputs.items() if one.shape.kind == "number"]
    cases = [case for case in good_cases(method) if not any(np.ndim(case.inputs.get(name, 0.0)) for name in names)]
    assert cases, f"{method.id} has no evidence case with single numbers"
    return cases


def jittered(method: Method, case: Case, seed: int) -> Calculation:
    """Return the case's calculation with every plain number moved by up to 3 %; the case itself where that is refused."""
    rng = np.random.default_rng(seed)
    base = case.compute()
    moved = {}
    for name, value in base.inputs.items():
        if method.inputs[name].shape.kind == "number" and value is not None and np.ndim(value) == 0 and not name.endswith("_count"):
            moved[name] = float(value) * (1 + rng.uniform(-0.03, 0.03))
    try:
        return case.compute(**moved)
    except InputRefused:
        return base


@each_method
def test_results_are_finite_somewhere_and_inputs_stay(method: Method) -> None:
    for case in good_cases(method):
        inputs = case.compute().inputs
        before = {name: np.array(value, copy=True) for name, value in inputs.items() if isinstance(value, np.ndarray)}
        method.function(**inputs)
        for name, value in before.items():
            np.testing.assert_array_equal(inputs[name], value, err_msg=f"{method.id} changed {name}")


@each_method
def test_arrays_broadcast_like_scalars(method: Method) -> None:
    names = [name for name, one in method.inputs.items() if one.shape.kind == "number"]
    for case in single_cases(method)[:3]:
        one = case.compute()
        scalars = {name: one.inputs[name] for name in names if one.inputs[name] is not None and np.ndim(one.inputs[name]) == 0}
        if not scalars:
            continue
        stacked = method.function(**{**one.inputs, **{name: np.full((3,), value) for name, value in scalars.items()}}).as_dict()
        for name, shape in method.results.items():
            if shape.shape.kind != "number" or np.ndim(one.record.as_dict()[name]):
                continue
            wanted = float(one.record.as_dict()[name])
            got = np.broadcast_to(stacked[name], (3,))
            np.testing.assert_allclose(
                got, wanted, rtol=1e-7, atol=1e-9 * max(1.0, abs(wanted)) if math.isfinite(wanted) else 0, err_msg=f"{method.id}: {name}"
            )


@each_method
def test_nan_stays_in_its_ring(method: Method) -> None:
    names = [name for name, one in method.inputs.items() if one.shape.kind == "number"]
    case = single_cases(method)[0]
    one = case.compute()
    scalars = {name: float(one.inputs[name]) for name in names if one.inputs[name] is not None and np.ndim(one.inputs[name]) == 0}
    for name, value in scalars.items():
        with np.errstate(all="ignore"):
            stacked = method.function(
                **{**one.inputs, **{other: np.full((2,), number) for other, number in scalars.items()}, name: np.array([value, math.nan])}
            ).as_dict()
        for result, shape in method.results.items():
            plain = one.record.as_dict()[result]
            if shape.shape.kind == "number" and np.ndim(plain) == 0 and np.ndim(stacked[result]) == 1:
                np.testing.assert_allclose(
                    stacked[result][0], plain, rtol=1e-7, atol=1e-9, err_msg=f"{method.id}: a NaN of {name} reached the other ring's {result}"
                )


@each_method
def test_empty_arrays_work(method: Method) -> None:
    case = single_cases(method)[0]
    inputs = case.compute().inputs
    names = [name for name, one in method.inputs.items() if one.shape.kind == "number" and inputs[name] is not None and np.ndim(inputs[name]) == 0]
    if not names:
        pytest.skip("this method takes lists and tables only")
    results = method.function(**{**inputs, **{name: np.empty((0,)) for name in names}}).as_dict()
    numbers = [name for name, shape in method.results.items() if shape.shape.kind == "number"]
    assert all(np.size(results[name]) == 0 for name in numbers), {name: np.shape(results[name]) for name in numbers}


@each_method
def test_outside_its_limits_it_cautions_and_still_answers(method: Method) -> None:
    case = good_cases(method)[0]
    one = case.compute()
    for name, limits in method.valid.items():
        for edge, beyond in ((limits.low, -1), (limits.high, 1)):
            if not math.isfinite(edge) or name not in method.inputs or one.inputs[name] is None:
                continue
            outside = edge + beyond * max(abs(edge) * 0.01, 1e-9)
            entry = method.quantity_of(name)
            if not entry.low <= outside <= entry.high:
                continue
            with np.errstate(all="ignore"):
                record = method.function(**prepared(method, {**one.inputs, name: outside}))
            assert any(caution.subject == name for caution in cautions_of(method, {**one.inputs, name: outside}, record)), (
                f"{method.id}: no caution for {name} = {outside}"
            )


@each_method
def test_printed_formula_gives_the_field(method: Method) -> None:
    for seed, case in enumerate(good_cases(method)):
        calculation = jittered(method, case, seed)
        known = by_symbol(method, calculation.values)
        for name, formula in method.formulas.items():
            np.testing.assert_allclose(
                formula.value(known), calculation.values[name], rtol=1e-9, atol=1e-12, equal_nan=True, err_msg=f"{method.id}: {formula.text}"
            )
        for name, found in method.found_by.items():
            _check_found(method, calculation, name, found)


def _check_found(method: Method, calculation: Calculation, name: str, found: object) -> None:
    values = calculation.values
    if isinstance(found, Rows) and _has_one_axis(values[found.table]):
        rows = row_values(method, found, values) or [start_value(method, found, values)]
        np.testing.assert_allclose(
            rows[-1] if found.gives == "last" else rows, values[name], rtol=1e-9, atol=1e-12, equal_nan=True, err_msg=f"{method.id}: {name}"
        )
    if isinstance(found, Algorithm):
        for sentence, check in found.invariants.items():
            assert np.all(check(values)), f"{method.id}: {sentence}"
    if isinstance(found, Search) and np.ndim(values[found.objective]) == 0 and np.isfinite(values[found.objective]):
        _check_extreme(method, calculation, found)


def _has_one_axis(table: Table | None) -> bool:
    """Return whether the rows can be followed one by one: a single table, or one that was left out."""
    return table is None or np.ndim(getattr(table, next(iter(table.columns())))) == 1


def _check_extreme(method: Method, calculation: Calculation, found: Search) -> None:
    values = calculation.values
    best = float(values[found.objective])
    if found.variable in method.inputs and calculation.inputs[found.variable] is not None:
        return
    for offset in (-found.step, found.step):
        place = float(values[found.variable]) + offset
        if found.variable in method.inputs:
            with np.errstate(all="ignore"):
                other = float(method.function(**{**calculation.inputs, found.variable: np.asarray(place)}).as_dict()[found.objective])
        else:
            other = float(method.formulas[found.objective].value(by_symbol(method, {**values, found.variable: place})))
        if math.isfinite(other):
            assert (other <= best + 1e-9 * abs(best)) if found.extreme == "max" else (other >= best - 1e-9 * abs(best)), (
                f"{method.id}: {found.objective} is not extreme"
            )


@each_method
def test_printed_numbers_give_the_printed_result(method: Method) -> None:
    for seed, case in enumerate(good_cases(method)):
        for line in sheet_of(jittered(method, case, seed)):
            if not line.numbers:
                continue
            again = value_of_printed(line.numbers)
            assert again is not None, f"{method.id}: {line.numbers} holds more than numbers"
            assert shown_number(again, method.quantity_of(line.name)) == line.printed, f"{method.id} {line.name}: {line.numbers}"


def _scaled(method: Method, name: str, value: Any, factors: tuple[float, float, float]) -> Any:
    measure = unit(method.quantity_of(name).unit)
    return value * factors[0] ** measure.metre * factors[1] ** measure.kilonewton * factors[2] ** measure.second


def _scaled_inputs(method: Method, inputs: dict[str, Any], factors: tuple[float, float, float]) -> dict[str, Any]:
    scaled = dict(inputs)
    for name, one in method.inputs.items():
        value = inputs[name]
        if value is None or value is DERIVED or isinstance(value, str):
            continue
        if one.shape.kind in ("number", "list"):
            scaled[name] = _scaled(method, name, value, factors)
        elif isinstance(value, Table):
            kinds = value.columns()
            columns = {column: getattr(value, column) for column in kinds if getattr(value, column) is not None}
            scaled[name] = type(value)(
                **{column: cells if kinds[column].kind != "number" else _scaled(method, column, cells, factors) for column, cells in columns.items()}
            )
    return scaled


@pytest.mark.parametrize("method", [method for method in METHOD_LIST if not method.dimensional], ids=attrgetter("id"))
def test_scaling_the_base_units_scales_each_result_by_its_unit(method: Method) -> None:
    factors = (1.7, 2.3, 0.6)
    for case in good_cases(method)[:3]:
        one = case.compute()
        with np.errstate(all="ignore"):
            record = method.function(**_scaled_inputs(method, one.inputs, factors)).as_dict()
        for name, result in method.results.items():
            if result.shape.kind not in ("number", "list", "matrix"):
                continue
            wanted = _scaled(method, name, np.asarray(one.record.as_dict()[name], dtype=float), factors)
            np.testing.assert_allclose(
                np.asarray(record[name], dtype=float),
                wanted,
                rtol=1e-4,
                atol=1e-7 * (float(np.max(np.nan_to_num(np.abs(wanted)), initial=0)) + 1e-9),
                equal_nan=True,
                err_msg=f"{method.id}: {name}",
            )


@each_method
def test_names_and_documentation(method: Method) -> None:
    assert method.summary.endswith("."), method.id
    assert method.id.split(".")[0] == method.function.__module__.split(".")[2]
    documented = method.function.__doc__ or ""
    undocumented = [name for name in method.inputs if f"{name} :" not in documented and f"{name}," not in documented]
    assert not undocumented, f"{method.id}: parameters without meaning {undocumented}"


def test_a_formula_outside_the_closed_set_is_refused() -> None:
    for text in ("__import__('os')", "a.b", "[1]", "lambda x: x", "f(x)", "a if", "x := 1"):
        with pytest.raises(ValueError, match=r"formula|closed set"):
            Formula("x", text).tree  # noqa: B018 - reading the property parses


def test_unknown_and_missing_inputs_come_all_at_once() -> None:
    with pytest.raises(InputRefused) as refusal:
        calculate("movement.trough.gaussian_peck_1969", {"volume_los": 0.01, "excavation_diameter_m": "6 furlongs", "offset_mm": "x"})
    assert [fault.field for fault in refusal.value.faults] == ["volume_los", "excavation_diameter_m", "offset_mm", "volume_loss", "trough_width_m"]
    assert "did you mean volume_loss" in refusal.value.faults[0].hint


def test_lists_of_different_lengths_are_refused() -> None:
    with pytest.raises(InputRefused) as refusal:
        calculate(
            "movement.trough.gaussian_peck_1969", {"volume_loss": [0.01, 0.02], "excavation_diameter_m": 6.0, "trough_width_m": [8, 9, 10], "offset_m": 0}
        )
    assert "equally long" in refusal.value.faults[0].required
