"""The ring page: verdict, criteria, the push as time series, one opened sheet."""

from dataclasses import dataclass
from typing import Any, Final

from tunnelwright.app.registry import calculation_as_dict
from tunnelwright.app.views.face import face_drawing
from tunnelwright.app.views.push_series import push_chart_of, recorded, site_time
from tunnelwright.app.views.subject import Subject, rail_of
from tunnelwright.drive.explain import Explained, explain_push, explain_record
from tunnelwright.drive.reconcile import Advice
from tunnelwright.report.inputs import FaceSheet, PushChart, RingRail
from tunnelwright.vocabulary.criterion import Criterion

# Methods that a criterion's number opens, by its key: the calculation of this push that explains it.
OPENS: Final = {
    "face_pressure_advancing": "face.window_limits.allowance",
    "face_pressure_standstill": "face.window_limits.allowance",
    "muck_ratio": "muck.excess.single_ring",
    "grout_ratio": "grout.volume.annulus",
}
DECIMALS: Final = {"kPa": 0, "kN/m3": 1, "m3": 1, "min": 0, "sd": 1, "": 2}
GRADES: Final = ("A", "B", "C")


@dataclass(frozen=True, slots=True, kw_only=True)
class CriterionLine:
    """One row of the table of criteria, with the sheet its number opens.

    Parameters
    ----------
    words : what a value of 1, 2, 3 ... is called where the value is a grade; empty for a number.
    sheet : key of the calculation behind the value, empty where there is none.
    """

    key: str
    criterion: Criterion
    decimals: int
    sheet: str
    words: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedValue:
    """One planned value of a push: its name in the quantity dictionary, what it is called here, and the sheet its number opens."""

    name: str
    words: str
    value: float
    sheet: str = ""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PushView:
    """Everything on the ring page.

    Parameters
    ----------
    is_planned : the machine has not driven this push yet.
    is_missing : it has, but the log did not see it.
    planned : the plan of this push.
    sheets : the calculations behind the push by key.
    opened_key : key of the opened one, empty for none.
    """

    subject: Subject
    ring_number: int
    is_planned: bool
    is_missing: bool
    criteria: tuple[CriterionLine, ...]
    counts: dict[str, int]
    planned: tuple[PlannedValue, ...]
    advice: tuple[Advice, ...]
    findings: tuple[str, ...]
    chart: PushChart | None
    face: FaceSheet
    sheets: dict[str, Explained]
    opened_key: str
    rail: RingRail
    when: str

    @property
    def opened(self) -> Explained | None:
        """Return the opened calculation."""
        return self.sheets.get(self.opened_key)

    def as_dict(self) -> dict[str, Any]:
        """Return what leaves as JSON."""
        criteria = [
            {name: getattr(line.criterion, name) for name in ("name", "value", "operator", "limit_low", "limit_high", "unit", "state", "comment")}
            | {"key": line.key, "sheet": line.sheet}
            for line in self.criteria
        ]
        return {
            "drive": self.subject.drive,
            "ring_number": self.ring_number,
            "is_planned": self.is_planned,
            "is_missing": self.is_missing,
            "verdict": self.subject.verdict.sentence,
            "data_age": self.subject.data_age,
            "plan_revision": self.subject.plan.revision,
            "planned": {one.name: one.value for one in self.planned},
            "criteria": criteria,
            "advice": [{"criterion": one.criterion, "state": one.state, "do": one.do, "do_not": one.do_not} for one in self.advice],
            "findings": list(self.findings),
            "sheets": [
                {"key": key, "title": one.title, "chainage_m": one.chainage_m, **calculation_as_dict(one.calculation)} for key, one in self.sheets.items()
            ],
        }


def push_view(subject: Subject, sheet: str = "") -> PushView:
    """Return the ring page of a subject; ``sheet`` is the key of the calculation that is opened, one that does not exist opens none."""
    ring, found = subject.chosen_ring, subject.reconciliation
    row = found.row_of(ring) if found is not None else None
    is_planned = ring > subject.built_ring
    sheets = keyed([*explain_push(subject.plan, ring), *(explain_record(found, ring) if found is not None else [])])
    return PushView(
        subject=subject,
        ring_number=ring,
        is_planned=is_planned,
        is_missing=row is None and not is_planned,
        criteria=() if is_planned else _criteria(subject, ring, sheets),
        counts={} if is_planned or found is None else {str(state): count for state, count in found.counts(ring).items()},
        planned=_planned(subject, ring, sheets),
        advice=tuple(found.advice(ring)) if found is not None else (),
        findings=_findings(subject, ring),
        chart=push_chart_of(subject, ring, row) if row is not None else None,
        face=face_drawing(subject, ring),
        sheets=sheets,
        opened_key=sheet if sheet in sheets else "",
        rail=rail_of(subject),
        when=_when(subject, row),
    )


def keyed(explained: list[Explained]) -> dict[str, Explained]:
    """Return calculations by the id of their method; a method used again gets a number behind it (``grout.volume.annulus-2``)."""
    sheets: dict[str, Explained] = {}
    for one in explained:
        method = one.calculation.method.id
        earlier = sum(other.calculation.method.id == method for other in sheets.values())
        sheets[f"{method}-{earlier + 1}" if earlier else method] = one
    return sheets


def _sheet_of(method: str, sheets: dict[str, Explained]) -> str:
    """Return the key of the last calculation by a method, which is the measured one where there are two; empty when there is none."""
    return next((key for key, one in reversed(sheets.items()) if one.calculation.method.id == method), "")


def _criteria(subject: Subject, ring: int, sheets: dict[str, Explained]) -> tuple[CriterionLine, ...]:
    if subject.reconciliation is None:
        return ()
    lines = zip(subject.reconciliation.series, subject.reconciliation.criteria(ring), strict=True)
    return tuple(
        CriterionLine(
            key=one.key,
            criterion=criterion,
            decimals=DECIMALS.get(one.unit, 2),
            sheet=_sheet_of(OPENS[one.key], sheets) if one.key in OPENS and criterion.value == criterion.value else "",
            words=GRADES if one.key == "data_grade" else (),
        )
        for one, criterion in lines
    )


def _planned(subject: Subject, ring: int, sheets: dict[str, Explained]) -> tuple[PlannedValue, ...]:
    """Return the plan of a push, from the window to the grout round the ring it builds."""
    plan, at = subject.plan, ring - 1
    face, muck, grout = plan.face, plan.muck, plan.grout
    rows = (
        ("cover_m", "Cover to crown", face.cover_m, ""),
        ("hard_lower_crown_kpa", "Face pressure at crown, hard lower limit", face.hard_lower_crown_kpa, "face.window_partial_factors.daub_2016"),
        ("operating_lower_crown_kpa", "Face pressure at crown, working lower limit", face.operating_lower_crown_kpa, "face.window_limits.allowance"),
        ("target_crown_kpa", "Face pressure at crown, target", face.target_crown_kpa, "face.target_preferred.rule"),
        ("operating_upper_crown_kpa", "Face pressure at crown, working upper limit", face.operating_upper_crown_kpa, "face.window_limits.allowance"),
        ("hard_upper_crown_kpa", "Face pressure at crown, hard upper limit", face.hard_upper_crown_kpa, plan.case.project.choices.upper_limit),
        ("excavated_volume_m3", "Volume of the bore", muck.excavated_volume_m3, "muck.volume.geometry"),
        ("muck_mass_t", "Muck expected on the belt", muck.muck_mass_t, "muck.mass.expected"),
        ("annulus_volume_m3", f"Annulus round ring {ring}", grout.annulus_volume_m3, "grout.volume.annulus"),
        ("grout_volume_m3", f"Grout planned round ring {ring}", grout.grout_volume_m3, "grout.volume.target"),
    )
    return tuple(
        PlannedValue(name=name, words=words, value=float(values[at]), sheet=method if method in sheets and values[at] == values[at] else "")
        for name, words, values, method in rows
    )


def _findings(subject: Subject, ring: int) -> tuple[str, ...]:
    if subject.record is None:
        return ()
    return tuple(dict.fromkeys(one.sentence for one in subject.record.findings if one.ring_number == ring))


def _when(subject: Subject, row: int | None) -> str:
    """Return the cycle's first and last instant on the clock of the site."""
    if row is None:
        return ""
    start, end = (site_time(subject, recorded(subject, row, name)) for name in ("start_time_ms", "end_time_ms"))
    last = f"{end:%H:%M}" if end.date() == start.date() else f"{end:%d %b, %H:%M}"
    return f"{start:%d %b %Y, %H:%M} to {last}"
