"""The registry of methods as people list it, and one calculation with its sheet."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from tunnelwright.app.evidence import evidence_cases, has_external_evidence
from tunnelwright.engineering import load_methods
from tunnelwright.vocabulary.calculate import Calculation, as_plain
from tunnelwright.vocabulary.calculate import calculate as run
from tunnelwright.vocabulary.method import METHODS, Method
from tunnelwright.vocabulary.sheet import sheet_of


@dataclass(frozen=True, slots=True, kw_only=True)
class MethodLine:
    """One method of the registry."""

    id: str
    summary: str
    kind: str
    source: str
    how_known: str
    inputs: tuple[str, ...]
    results: tuple[str, ...]
    valid: str
    evidence_count: int
    external: bool


def methods(topic: str = "") -> list[MethodLine]:
    """Return the registered methods whose id begins with a topic, all without one."""
    load_methods()
    by_method: dict[str, list[Any]] = {}
    for case in evidence_cases():
        by_method.setdefault(case.method, []).append(case)
    return [_line(METHODS[one], by_method.get(one, [])) for one in sorted(METHODS) if one.startswith(topic)]


def _line(method: Method, cases: list[Any]) -> MethodLine:
    limits = "; ".join(f"{name} {limit.low:g} to {limit.high:g}" + (f" ({limit.reason})" if limit.reason else "") for name, limit in method.valid.items())
    return MethodLine(
        id=method.id,
        summary=method.summary,
        kind=method.kind,
        source=method.source.short,
        how_known=method.source.how_known,
        inputs=tuple(method.inputs),
        results=tuple(method.results),
        valid=limits,
        evidence_count=len(cases),
        external=has_external_evidence(cases),
    )


def calculate(method_id: str, inputs: Mapping[str, Any]) -> Calculation:
    """Run any registered method on inputs by name, with units accepted.

    Raises
    ------
    InputRefused
        with every Fault of the inputs.
    """
    load_methods()
    return run(method_id, inputs)


def calculation_as_dict(made: Calculation) -> dict[str, Any]:
    """Return a calculation as it leaves as JSON."""
    return {
        "method": made.method.id,
        "results": {name: as_plain(value) for name, value in made.record.as_dict().items()},
        "cautions": [caution.sentence for caution in made.cautions],
        "sheet": [line.as_dict() for line in sheet_of(made)],
    }
