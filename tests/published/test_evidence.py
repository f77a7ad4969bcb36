"""The register holds, and would notice: every real input of every method, nudged, makes at least one of its cases fail."""

import math
from operator import attrgetter

import numpy as np
import pytest

from tunnelwright.app.evidence import evidence_cases, insensitive_inputs
from tunnelwright.engineering import load_methods
from tunnelwright.vocabulary.evidence import EVIDENCE_KINDS, Case, judge
from tunnelwright.vocabulary.method import METHODS, Method
from tunnelwright.vocabulary.types import DERIVED, Table
from tunnelwright.vocabulary.units import parse_value

load_methods()
CASES = evidence_cases()
EXEMPT_COUNTS = ("_count", "seed")


@pytest.mark.parametrize("case", CASES, ids=attrgetter("id"))
def test_evidence_holds(case: Case) -> None:
    outcome = judge(case)
    assert outcome.holds or case.disputed, f"{case.source}: {outcome.reason}; got {outcome.got}, expected {dict(case.expected)}"


def test_ids_are_unique_and_kinds_known() -> None:
    ids = [case.id for case in CASES]
    assert len(ids) == len(set(ids)), sorted({one for one in ids if ids.count(one) > 1})
    assert {case.kind for case in CASES} <= set(EVIDENCE_KINDS)
    assert {case.how_known for case in CASES} <= {"read", "recomputed", "derived", "from memory"}
    assert all(case.tolerance_reason for case in CASES if (case.tolerance or case.relative_tolerance) and case.expected), "a tolerance needs its reason"


@pytest.mark.parametrize("method", METHODS.values(), ids=attrgetter("id"))
def test_two_routes_of_evidence(method: Method) -> None:
    kinds = [case.kind for case in CASES if case.method == method.id]
    assert len(kinds) >= 2, f"{method.id} has {len(kinds)} records"
    assert len(set(kinds)) >= 2 or "published" in kinds or "independent-code" in kinds, f"{method.id} has one kind of evidence only: {set(kinds)}"


def _probes(method: Method) -> list[str]:
    names = []
    for name, one in method.inputs.items():
        if one.shape.kind in ("number", "list", "choice"):
            names.append(name)
        elif one.shape.kind == "table":
            names += [f"{name}.{column}" for column, shape in one.shape.table.columns().items() if shape.kind == "number"]
    return [name for name in names if not name.endswith(EXEMPT_COUNTS) and name not in insensitive_inputs().get(method.id, {})]


@pytest.mark.parametrize(("method_id", "name"), [(method.id, name) for method in METHODS.values() for name in _probes(method)])
def test_evidence_would_notice(method_id: str, name: str) -> None:
    method = METHODS[method_id]
    cases = [case for case in CASES if case.method == method_id and not case.disputed]
    assert any(_notices(method, case, name) for case in cases), f"no case of {method_id} notices a change of {name}"


def _notices(method: Method, case: Case, name: str) -> bool:
    head, _, column = name.partition(".")
    one = method.inputs[head]
    if one.shape.kind == "choice":
        used = case.inputs.get(head, one.default)
        return any(not judge(case, **{head: other}).holds for other in one.shape.choices if other != used)
    if column:
        if not isinstance(case.inputs.get(head), list):
            return False
        rows = case.inputs[head]
        default = _column_default(one.shape.table, column)
        for at in range(len(rows)):
            nudged = {**rows[at], column: _nudged(method, column, rows[at].get(column, default))}
            if not judge(case, **{head: [*rows[:at], nudged, *rows[at + 1 :]]}).holds:
                return True
        return False
    value = case.inputs.get(head, one.default)
    if value is None or value is DERIVED:
        return False
    return not judge(case, **{head: _nudged(method, head, value)}).holds


def _column_default(table: type[Table], column: str) -> float:
    default = table.__dataclass_fields__[column].default
    return float(default) if isinstance(default, int | float) else 0.0


def _nudged(method: Method, name: str, value: object) -> object:
    if isinstance(value, list):
        return [_nudged(method, name, part) for part in value]
    if value is None:
        return value
    entry = method.quantity_of(name)
    number = parse_value(value, entry.unit) if isinstance(value, str) else float(value)
    if number != 0:
        return number * 1.05
    span = entry.high - entry.low
    return 0.05 * span if math.isfinite(span) else 1.0


def test_a_case_can_fail() -> None:
    """The comparison itself notices a wrong expectation, a missing caution and a Fault that did not come."""
    case = Case(
        id="x",
        method="movement.trough.gaussian_peck_1969",
        kind="hand",
        source="",
        how_known="derived",
        inputs={"volume_loss": 0.06, "excavation_diameter_m": 6.0, "trough_width_m": 10.0, "offset_m": 0.0},
        expected={"settlement_max_m": 0.0676789},
        relative_tolerance=1e-4,
    )
    assert judge(case).holds
    assert not judge(case, volume_loss=0.0605).holds
    assert "no Fault" in judge(Case(**{**_fields(case), "expected_fault": "offset_m"})).reason
    assert judge(Case(**{**_fields(case), "expected_caution": "outside 0 to"})).holds
    assert not judge(Case(**{**_fields(case), "expected_caution": "moonlight"})).holds
    assert np.isclose(judge(case).got["settlement_max_m"], 0.0676789, rtol=1e-4)


def _fields(case: Case) -> dict[str, object]:
    return {name: getattr(case, name) for name in case.__dataclass_fields__}
