"""The drive page: longitudinal section and strips, each at its true place."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any

import numpy as np

from tunnelwright.app.views.section import ground_section
from tunnelwright.app.views.subject import Subject, hold_places, places_of, rail_of, shown_range
from tunnelwright.drive.reconcile import STATE_CODE, CriterionSeries
from tunnelwright.report.figure import Reading
from tunnelwright.report.inputs import AHEAD, DriveSheet, Event, NamedGap, PlaceName, RingRail, StateRow, Strip
from tunnelwright.report.numbers import number_text
from tunnelwright.vocabulary.criterion import State
from tunnelwright.vocabulary.types import FloatArray

STATE_ROWS = (
    ("pressure", "face", ("face_pressure_advancing", "face_pressure_standstill")),
    ("chamber", "face", ("chamber_unit_weight",)),
    ("muck", "face", ("muck_ratio", "muck_last_five", "muck_chart")),
    ("grout", "grout", ("grout_ratio", "grout_unusual", "grout_deficit", "grout_port_share", "grout_upper_share", "grout_pressure")),
    ("data", "ring", ("data_grade",)),
    ("build", "ring", ("build_time",)),
)
NAMED_EVENTS = 3


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DriveView:
    """Everything on the drive page."""

    subject: Subject
    sheet: DriveSheet
    rail: RingRail
    first_ring: int
    last_ring: int

    @property
    def is_whole(self) -> bool:
        """Return whether the sheet shows all rings of the drive."""
        return self.last_ring - self.first_ring + 1 == self.subject.plan.push_count

    def as_dict(self) -> dict[str, Any]:
        """Return what leaves as JSON: the strips by push."""
        strips = {}
        for strip in self.sheet.strips:
            lines = {"planned": strip.planned, "measured": strip.measured, "window_low": strip.window_low, "window_high": strip.window_high}
            strips[strip.key] = {name: _plain(values[self.first_ring - 1 : self.last_ring]) for name, values in lines.items() if values is not None}
        return {
            "drive": self.subject.drive,
            "plan_revision": self.subject.plan.revision,
            "verdict": self.subject.verdict.sentence,
            "data_age": self.subject.data_age,
            "first_ring": self.first_ring,
            "last_ring": self.last_ring,
            "strips": strips,
            "needs_a_person": self.subject.summary.as_dict()["needs_a_person"] if self.subject.summary else [],
        }


def _plain(values: FloatArray) -> list[float | None]:
    return [round(float(one), 4) if np.isfinite(one) else None for one in values]


def drive_view(subject: Subject, first: int | None = None, last: int | None = None) -> DriveView:
    """Return the drive page of a subject over a range of rings."""
    low, high = shown_range(subject, first, last)
    places = places_of(subject)
    built = places.built_ring_number
    face = float(places.face_end_chainage_m[built - 1]) if built else float(places.face_start_chainage_m[0])
    sheet = DriveSheet(
        drive_name=subject.drive_title,
        places=places,
        first_ring=low,
        last_ring=high,
        chosen_ring=subject.chosen_ring,
        face_chainage_m=face,
        section=ground_section(subject),
        strips=(_pressure(subject, (low, high)), _muck(subject, (low, high)), _grout(subject, (low, high)), _rate(subject)),
        state_rows=_state_rows(subject),
        state_counts=_state_counts(subject),
        holds=hold_places(subject),
        missing_words="" if subject.reconciliation is not None else "No record yet: import the machine's log, then make rings of it.",
    )
    return DriveView(subject=subject, sheet=sheet, rail=rail_of(subject, low, high), first_ring=low, last_ring=high)


def _recorded(subject: Subject, name: str) -> FloatArray | None:
    """Return a column of the record over all pushes, NaN where nothing was recorded; None before the first ring."""
    if subject.reconciliation is None:
        return None
    recorded = subject.reconciliation.recorded
    return recorded.over_plan(recorded.number(name), subject.plan.push_count)


def _series(subject: Subject, key: str) -> CriterionSeries | None:
    if subject.reconciliation is None:
        return None
    return next(one for one in subject.reconciliation.series if one.key == key)


def _over_plan(subject: Subject, series: CriterionSeries | None) -> FloatArray | None:
    if series is None or subject.reconciliation is None:
        return None
    return subject.reconciliation.recorded.over_plan(series.value, subject.plan.push_count)


def _gaps(subject: Subject) -> tuple[NamedGap, ...]:
    missing = subject.summary.missing_rings if subject.summary is not None else ()
    return tuple(
        NamedGap(first_ring=part[0], last_ring=part[-1], words=f"no log, push {part[0]}" + (f" to {part[-1]}" if len(part) > 1 else ""))
        for part in runs_of(missing)
    )


def _events(
    subject: Subject, shown: tuple[int, int], keys: tuple[str, ...], drawn: FloatArray | None, words: Callable[[CriterionSeries, int], str]
) -> tuple[Event, ...]:
    """Return the acts among some criteria as events named at their place: one for each run of pushes, at the one with the most to say.

    Parameters
    ----------
    drawn : by push, at which value the mark stands.
    words : of a criterion at a row of the record.
    """
    if subject.reconciliation is None or drawn is None:
        return ()
    recorded = subject.reconciliation.recorded
    said: dict[int, str] = {}
    for one in subject.reconciliation.series:
        if one.key in keys:
            for row in np.flatnonzero(one.state == STATE_CODE["act"]):
                said.setdefault(int(recorded.ring_number[row]), words(one, int(row)))
    events = []
    for run in runs_of([ring for ring in sorted(said) if shown[0] <= ring <= shown[1] and np.isfinite(drawn[ring - 1])])[-NAMED_EVENTS:]:
        ring = run[-1]
        pushes = f"push {run[0]}" if len(run) == 1 else f"push {run[0]} to {run[-1]}"
        events.append(Event(ring_number=ring, state="act", words=f"{pushes}: {said[ring]}", value=float(drawn[ring - 1]), href=f"ring?ring={ring}"))
    return tuple(events)


def runs_of(rings: Iterable[int]) -> list[list[int]]:
    """Return ascending ring numbers as runs without a hole."""
    found: list[list[int]] = []
    for ring in rings:
        if found and ring == found[-1][-1] + 1:
            found[-1].append(ring)
        else:
            found.append([ring])
    return found


def _pressure_words(one: CriterionSeries, row: int) -> str:
    return "driven without a window" if one.limit_low[row] > one.limit_high[row] else f"{number_text(float(one.value[row]))} kPa"


def _ratio_words(one: CriterionSeries, row: int) -> str:
    """Return an act of muck or grout: the ratio itself, or what another criterion of the same strip says."""
    value = number_text(float(one.value[row]), 2 if one.unit == "" else 0)
    if one.unit == "":
        return value
    return f"port pressure {value} kPa out" if one.key == "grout_pressure" else f"{value} {one.unit.replace('m3', 'm³')} over five"


def _pressure(subject: Subject, shown: tuple[int, int]) -> Strip:
    face = subject.plan.face
    low, high = face.operating_lower_crown_kpa, face.operating_upper_crown_kpa
    measured = _recorded(subject, "face_pressure_crown_kpa")
    p10, p90 = _recorded(subject, "face_pressure_crown_p10_kpa"), _recorded(subject, "face_pressure_crown_p90_kpa")
    readings = [Reading(label="target", values=face.target_crown_kpa, unit="kPa", decimals=0, role="planned")]
    if measured is not None and p10 is not None and p90 is not None:
        readings += [
            Reading(label="recorded", values=measured, unit="kPa", decimals=0, is_bold=True),
            Reading(label="P10 to P90", values=p10, unit="kPa", decimals=0, values_to=p90),
        ]
    readings.append(Reading(label="working", values=low, unit="kPa", decimals=0, values_to=high, role="limit"))
    return Strip(
        key="pressure",
        title="Face pressure",
        subtitle="at crown, kPa",
        place="face",
        planned=face.target_crown_kpa,
        planned_words="target",
        measured=measured,
        measured_low=p10,
        measured_high=p90,
        window_low=low,
        window_high=high,
        window_words_low="lower, working",
        window_words_high="upper, working",
        events=_events(subject, shown, ("face_pressure_advancing", "face_pressure_standstill"), measured, _pressure_words),
        gaps=_gaps(subject),
        is_stepped=True,
        height_share=1.5,
        readings=tuple(readings),
    )


def _muck(subject: Subject, shown: tuple[int, int]) -> Strip:
    one = _series(subject, "muck_ratio")
    ratio = _over_plan(subject, one)
    count = subject.plan.push_count
    watch = np.maximum(0.05, 2.0 * subject.plan.muck.ring_sd_ratio)
    measured = _recorded(subject, "muck_mass_t")
    readings = [Reading(label="expected", values=subject.plan.muck.muck_mass_t, unit="t", decimals=1, role="planned")]
    if measured is not None and ratio is not None:
        readings += [
            Reading(label="measured", values=measured, unit="t", decimals=1, is_bold=True),
            Reading(label="ratio", values=ratio, unit="", decimals=2, is_bold=True),
        ]
    return Strip(
        key="muck",
        title="Muck ratio",
        subtitle="of expected",
        place="face",
        planned=np.ones(count),
        measured=ratio,
        window_low=1.0 - watch,
        window_high=1.0 + watch,
        window_words_high="watch",
        events=_events(subject, shown, ("muck_ratio", "muck_last_five"), ratio, _ratio_words),
        gaps=_gaps(subject),
        low=0.85,
        high=1.18,
        readings=tuple(readings),
    )


def _grout(subject: Subject, shown: tuple[int, int]) -> Strip:
    one = _series(subject, "grout_ratio")
    ratio = _over_plan(subject, one)
    grout, rings = subject.plan.grout, subject.plan.rings
    around = np.clip(rings.grout_ring_number - 1, 0, rings.count - 1).astype(int)
    factor = grout.fill_factor[around]
    injected = _recorded(subject, "grout_volume_m3")
    readings = [Reading(label="plan", values=grout.grout_volume_m3[around], unit="m³", decimals=2, role="planned")]
    if injected is not None and ratio is not None:
        readings += [
            Reading(label="injected", values=injected, unit="m³", decimals=2, is_bold=True),
            Reading(label="of annulus", values=ratio, unit="", decimals=2),
        ]
    return Strip(
        key="grout",
        title="Grout ratio",
        subtitle="of annulus",
        place="grout",
        planned=factor,
        measured=ratio,
        window_low=0.95 * factor,
        window_high=1.3 * factor,
        window_words_high="watch",
        events=_events(subject, shown, ("grout_ratio", "grout_pressure"), ratio, _ratio_words),
        gaps=_gaps(subject),
        readings=tuple(readings),
    )


def _rate(subject: Subject) -> Strip:
    measured = _recorded(subject, "advance_rate_mm_min")
    readings: list[Reading] = []
    planned = planned_rate(subject)
    if planned is not None:
        readings.append(Reading(label="planned", values=planned, unit="mm/min", decimals=0, role="planned"))
    if measured is not None:
        readings.append(Reading(label="recorded", values=measured, unit="mm/min", decimals=0, is_bold=True))
    return Strip(
        key="rate",
        title="Advance rate",
        subtitle="mm/min",
        place="face",
        planned=planned,
        planned_words="planned by ground",
        measured=measured,
        gaps=_gaps(subject),
        is_stepped=True,
        low=0.0,
        height_share=0.7,
        readings=tuple(readings),
    )


def planned_rate(subject: Subject) -> FloatArray | None:
    """Return the advance rate that the units at the face are given, by their shares; None where a unit that is met gives none."""
    shares = subject.plan.muck.unit_share
    rates = subject.plan.case.project.ground.values("advance_rate_mm_min")
    met = (shares > 0.005).any(axis=0)
    if np.isnan(rates[met]).any():
        return None
    return np.asarray(shares @ np.nan_to_num(rates))


def _state_counts(subject: Subject) -> dict[State, FloatArray] | None:
    """Return how many criteria of each push are in each state, the same counts as on the ring page; a push that the log did not see has all unchecked."""
    found = subject.reconciliation
    if found is None:
        return None
    codes = np.stack([one.state for one in found.series])
    counts: dict[State, FloatArray] = {}
    for state, code in STATE_CODE.items():
        over = np.full(subject.plan.push_count, np.nan)
        over[: subject.built_ring] = len(found.series) if state == "not checked" else 0.0
        over[found.recorded.plan_index] = (codes == code).sum(axis=0)
        counts[state] = over
    return counts


def _state_rows(subject: Subject) -> tuple[StateRow, ...]:
    count = subject.plan.push_count
    return tuple(_state_row(subject, name, place, keys, count) for name, place, keys in STATE_ROWS)  # type: ignore[arg-type]


def _state_row(subject: Subject, name: str, place: PlaceName, keys: tuple[str, ...], count: int) -> StateRow:
    """Return the worst of some criteria by push: act, watch, not checked, in order; a push that the log did not see is not checked."""
    codes = np.full(count, AHEAD, dtype=np.int64)
    words: dict[int, str] = {}
    if subject.reconciliation is None:
        return StateRow(name=name, place=place, codes=codes, words=words)
    codes[: subject.built_ring] = STATE_CODE["not checked"]
    words = {ring: "the log did not see this push" for ring in (subject.summary.missing_rings if subject.summary else ())}
    recorded = subject.reconciliation.recorded
    rank = {2: 3, 1: 2, 3: 1, 0: 0}
    own = [one for one in subject.reconciliation.series if one.key in keys]
    for row, index in enumerate(recorded.plan_index):
        worst = max(own, key=lambda one: rank[int(one.state[row])])
        codes[index] = int(worst.state[row])
        if worst.state[row]:
            words[int(index) + 1] = f"{worst.name}: {worst.comment[row]}"
    return StateRow(name=name, place=place, codes=codes, words=words)
