"""Evidence that a method gives what its source says: one case, how it is computed and when it holds."""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Final, Literal

import numpy as np

from tunnelwright.vocabulary.calculate import Calculation, as_plain, calculate
from tunnelwright.vocabulary.remark import InputRefused

EvidenceKind = Literal["published", "hand", "analytic-limit", "sibling", "independent-code", "common-practice"]
EVIDENCE_KINDS: Final = ("published", "hand", "analytic-limit", "sibling", "independent-code", "common-practice")
# Kinds that share no code with the method and come from outside the project.
EXTERNAL_KINDS: Final = ("published", "independent-code")


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """One record of the evidence register.

    Parameters
    ----------
    expected : by result name, a number, a word, a list, or ``{between = [low, high]}``; ``local_wedges[0].height_m`` reaches into a table.
    tolerance, relative_tolerance : what the source printed allows; never what makes the case pass.
    expected_fault : the field whose Fault is the right answer.
    expected_caution : words that a caution must contain.
    disputed : reason why our value differs from the source's; the record stays and is shown.
    """

    id: str
    method: str
    kind: EvidenceKind
    source: str
    how_known: str
    inputs: Mapping[str, Any]
    expected: Mapping[str, Any] = field(default_factory=dict)
    tolerance: float = 0.0
    relative_tolerance: float = 0.0
    tolerance_reason: str = ""
    expected_fault: str = ""
    expected_caution: str = ""
    disputed: str = ""

    def compute(self, **changed: Any) -> Calculation:
        """Return the calculation of this case, with some inputs changed."""
        return calculate(self.method, {**self.inputs, **changed})


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What one case came to."""

    case: Case
    holds: bool
    got: dict[str, Any]
    reason: str = ""


def judge(case: Case, **changed: Any) -> Outcome:
    """Compute a case and compare it with what is expected."""
    try:
        calculation = case.compute(**changed)
    except InputRefused as refusal:
        fields = [fault.field for fault in refusal.faults]
        holds = bool(case.expected_fault) and any(case.expected_fault in one for one in fields)
        return Outcome(case=case, holds=holds, got={"faults": fields}, reason="" if holds else str(refusal))
    if case.expected_fault:
        return Outcome(case=case, holds=False, got={}, reason=f"no Fault of {case.expected_fault}")
    results = calculation.record.as_dict()
    got = {name: as_plain(reach(results, name)) for name in case.expected}
    wrong = [name for name, wanted in case.expected.items() if not agrees(reach(results, name), wanted, case)]
    if case.expected_caution and not any(case.expected_caution in caution.sentence for caution in calculation.cautions):
        wrong.append(f"caution `{case.expected_caution}`")
    return Outcome(case=case, holds=not wrong, got=got, reason=f"differs: {', '.join(wrong)}" if wrong else "")


def reach(results: Mapping[str, Any], path: str) -> Any:
    """Return a result, or one cell of a table or list: ``local_wedges[0].height_m``, ``fractions[2]``."""
    name, *steps = re.findall(r"[^.\[\]]+", path)
    value = results[name]
    for step in steps:
        value = (
            value[..., int(step)]
            if step.lstrip("-").isdigit() and isinstance(value, np.ndarray)
            else (value.rows()[int(step)] if step.isdigit() else (value[step] if isinstance(value, Mapping) else getattr(value, step)))
        )
    return value


def agrees(got: Any, wanted: Any, case: Case) -> bool:
    """Return whether a result is what the case expects, within the case's tolerance."""
    if isinstance(wanted, Mapping):
        low, high = wanted["between"]
        return bool(np.all((np.asarray(got) >= low) & (np.asarray(got) <= high)))
    if isinstance(wanted, str) or (isinstance(wanted, list) and wanted and isinstance(wanted[0], str)):
        if wanted == "none":
            return bool(np.all(np.isnan(np.asarray(got, dtype=np.float64)))) if np.asarray(got).dtype.kind == "f" else bool(np.all(np.asarray(got) == "none"))
        return bool(np.array_equal(np.asarray(got), np.asarray(wanted)))
    numbers, target = np.asarray(got, dtype=np.float64), np.asarray(wanted, dtype=np.float64)
    if numbers.shape != target.shape and target.ndim:
        return False
    allowed = np.maximum(case.tolerance, case.relative_tolerance * np.abs(target)) + 1e-12 * np.abs(target)
    return bool(np.all((np.abs(numbers - target) <= allowed) | (np.isnan(numbers) & np.isnan(target))))
