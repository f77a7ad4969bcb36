"""The verdict: the worst open thing first, never a calm word over an open act, and the age of the data always."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from tests.conftest import EXCESS_RING, MISSING_RING

from tunnelwright.app.holds import Hold, hold_points, holds_ahead
from tunnelwright.app.judging import age_words, data_words, plan_verdict, verdict
from tunnelwright.drive.reconcile import STATE_CODE, CriterionSeries, Reconciliation
from tunnelwright.store import JournalEntry, JournalState, fold

RINGS = 6


def with_states(found: Reconciliation, **codes: dict[int, str]) -> Reconciliation:
    """Return the reconciliation with every criterion in order, except those named, by ring number."""
    rings = found.recorded.ring_number.astype(int)
    made: list[CriterionSeries] = []
    for one in found.series:
        state = np.zeros(len(rings), dtype=int)
        for ring, word in codes.get(one.key, {}).items():
            state[rings == ring] = STATE_CODE[word]  # type: ignore[index]
        made.append(replace(one, state=state))
    rank = {0: 0, 1: 1, 3: 2, 2: 3}
    worst = np.array([max((int(one.state[row]) for one in made), key=lambda code: rank[code]) for row in range(len(rings))])
    return replace(found, series=tuple(made), ring_state=worst)


def moment_after(found: Reconciliation, **later: float) -> datetime:
    return datetime.fromtimestamp(float(np.nanmax(found.recorded.number("end_time_ms"))) / 1000, UTC) + timedelta(**later)


def signed(found: Reconciliation, *given: tuple[str, int, str]) -> JournalState:
    """Return the state after entries given by kind, ring and criterion, one a day after the log ends."""
    entries = [
        JournalEntry(
            id=number,
            time_ms=int(moment_after(found, days=number).timestamp() * 1000),
            drive="east",
            kind=kind,
            subject=criterion,
            person="I. Okafor",
            ring_number=ring,
            data={"criteria": [criterion]},
        )
        for number, (kind, ring, criterion) in enumerate(given, start=1)
    ]
    return fold(entries, "east")


def day_after(found: Reconciliation, days: int) -> str:
    moment = moment_after(found, days=days).astimezone(ZoneInfo("Europe/Vienna"))
    return f"{moment.day} {moment:%b}"


def said(found: Reconciliation, ring: int, state: JournalState | None = None) -> str:
    return verdict(found, ring, moment_after(found, minutes=2), state or JournalState()).sentence


def test_open_act_leads_even_when_the_chosen_ring_is_in_order(reconciliation: Reconciliation) -> None:
    found = with_states(reconciliation, muck_ratio={12: "act"})
    sentence = said(found, 20)
    assert sentence.startswith("Open act at push 12 (muck ")
    assert "not acknowledged" in sentence
    assert "in order" not in sentence
    assert verdict(found, 20, moment_after(found)).state == "act"


def test_act_on_which_life_hangs_is_named_before_a_later_one(reconciliation: Reconciliation) -> None:
    found = with_states(reconciliation, muck_ratio={22: "act", 23: "act"}, face_pressure_advancing={10: "act"})
    assert said(found, 20).startswith("Open act at push 10 (face pressure")
    assert " and 2 more" in said(found, 20)


def test_acknowledged_act_stays_at_the_head_with_day_and_person(reconciliation: Reconciliation) -> None:
    found = with_states(reconciliation, muck_ratio={12: "act"})
    state = signed(found, ("acknowledgement", 12, "muck_ratio"))
    sentence = said(found, 20, state)
    assert sentence.startswith("Open act at push 12 (muck ")
    assert f", acknowledged {day_after(found, 1)} by I. Okafor. Push 20" in sentence
    assert "not acknowledged" not in sentence
    assert verdict(found, 20, moment_after(found), state).state == "act"


def test_act_that_nobody_acknowledged_leads_before_a_graver_one_that_is(reconciliation: Reconciliation) -> None:
    found = with_states(reconciliation, muck_ratio={12: "act", 14: "act"}, face_pressure_advancing={20: "act"})
    state = signed(found, ("acknowledgement", 20, "face_pressure_advancing"))
    assert said(found, 23, state).startswith("Open act at push 14 (muck ")
    assert "and 1 more, not acknowledged; 1 acknowledged and not closed." in said(found, 23, state)


def test_closed_act_leaves_the_head_and_its_ring_says_who_closed_it(reconciliation: Reconciliation) -> None:
    found = with_states(reconciliation, muck_ratio={12: "act"})
    state = signed(found, ("acknowledgement", 12, "muck_ratio"), ("closure", 12, "muck_ratio"))
    assert "push 12" not in said(found, 20, state).lower()
    assert verdict(found, 20, moment_after(found), state).state == "in order"
    own = said(found, 12, state)
    assert own.startswith("Push 12: act (muck ")
    assert f"closed {day_after(found, 2)} by I. Okafor." in own
    assert verdict(found, 12, moment_after(found), state).state == "watch"


def test_another_act_at_a_closed_push_is_open_and_not_acknowledged(reconciliation: Reconciliation) -> None:
    found = with_states(reconciliation, muck_ratio={12: "act"}, grout_ratio={12: "act"})
    state = signed(found, ("acknowledgement", 12, "muck_ratio"), ("closure", 12, "muck_ratio"))
    assert said(found, 20, state).startswith("Open act at push 12 (grout")
    assert "not acknowledged" in said(found, 20, state)


def test_acknowledged_act_whose_condition_is_gone_stays_open_until_closed(reconciliation: Reconciliation) -> None:
    found = with_states(reconciliation)
    assert said(found, 20, signed(found, ("acknowledgement", 12, "muck_ratio"))).startswith("Open act at push 12 (muck cleared since), acknowledged ")


def test_closure_without_acknowledgement_closes_nothing(reconciliation: Reconciliation) -> None:
    found = with_states(reconciliation, muck_ratio={12: "act"})
    assert "Open act at push 12" in said(found, 20, signed(found, ("closure", 12, "muck_ratio")))


def test_ring_with_an_acknowledged_act_that_does_not_lead_says_that_it_is_not_closed(reconciliation: Reconciliation) -> None:
    found = with_states(reconciliation, muck_ratio={12: "act", 14: "act"})
    assert "Push 12: muck " in said(found, 12, signed(found, ("acknowledgement", 12, "muck_ratio")))
    assert "acknowledged" in said(found, 12, signed(found, ("acknowledgement", 12, "muck_ratio"))).split("Push 12")[1]
    assert "not closed" in said(found, 12, signed(found, ("acknowledgement", 12, "muck_ratio"))).split("Push 12")[1]


def test_year_of_a_signature_is_said_when_it_is_not_this_one(reconciliation: Reconciliation) -> None:
    found = with_states(reconciliation, muck_ratio={12: "act"})
    state = signed(found, ("acknowledgement", 12, "muck_ratio"))
    year = moment_after(found, days=1).year
    assert f" {year} by I. Okafor" in verdict(found, 20, moment_after(found, days=800), state).sentence


def test_the_ring_of_the_worst_act_is_not_told_twice(reconciliation: Reconciliation) -> None:
    found = with_states(reconciliation, muck_ratio={12: "act"})
    assert said(found, 12).count("push 12") + said(found, 12).count("Push 12") == 1


def test_unchecked_face_reading_is_never_called_in_order(reconciliation: Reconciliation) -> None:
    found = with_states(reconciliation, face_pressure_advancing={20: "not checked"}, muck_ratio={20: "not checked"})
    sentence = said(found, 20)
    assert "face pressure at crown, push not checked" in sentence
    assert "in order" not in sentence
    assert "inside their limits" not in sentence


def test_watch_names_its_reason(reconciliation: Reconciliation) -> None:
    found = with_states(reconciliation, grout_ratio={20: "watch"})
    assert "Push 20 on watch: grout" in said(found, 20)


def test_ring_in_order_counts_its_readings(reconciliation: Reconciliation) -> None:
    assert f"Push 20: {len(reconciliation.series)} readings inside their limits." in said(with_states(reconciliation), 20)


def test_ring_the_log_did_not_see_is_not_checked_and_one_ahead_is_planned(reconciliation: Reconciliation) -> None:
    found = with_states(reconciliation)
    assert f"Push {MISSING_RING}: not checked, the log did not see it." in said(found, MISSING_RING)
    assert "Push 900 is planned, not driven yet." in said(found, 900)


@pytest.mark.parametrize(
    ("later", "words"),
    [
        ({"minutes": 2}, "2 min old"),
        ({"minutes": 119}, "119 min old"),
        ({"hours": 5}, "5 h old"),
        ({"days": 40}, "40 days old"),
        ({"days": 2000}, "2\u202f000 days old"),
        ({"minutes": -30}, "ahead of this computer's clock"),
    ],
)
def test_age_is_always_said(reconciliation: Reconciliation, later: dict[str, float], words: str) -> None:
    assert age_words(reconciliation, moment_after(reconciliation, **later)) == words
    assert verdict(reconciliation, EXCESS_RING, moment_after(reconciliation, **later)).sentence.endswith(f"Log {words}.")


def test_data_are_dated_by_the_clock_of_the_site(reconciliation: Reconciliation) -> None:
    # The site's zone is one hour ahead of UTC in winter, when the drive starts.
    assert data_words(reconciliation) == f"log to {moment_after(reconciliation, hours=1):%d %b %Y, %H:%M}"


def test_driving_without_a_window_is_said_in_words(reconciliation: Reconciliation) -> None:
    found = with_states(reconciliation, face_pressure_advancing={12: "act"})
    row = found.row_of(12)
    closed = tuple(
        replace(one, limit_low=np.where(np.arange(found.recorded.count) == row, 1e3, one.limit_low)) if one.key == "face_pressure_advancing" else one
        for one in found.series
    )
    assert "(driven without a window)" in said(replace(found, series=closed), 12)


def test_second_line_counts_and_names_the_nearest_hold_point(reconciliation: Reconciliation) -> None:
    line = verdict(reconciliation, EXCESS_RING, moment_after(reconciliation)).second_line
    assert line.startswith(f"Push {EXCESS_RING}: ")
    assert "1 act" in line
    first = hold_points(reconciliation.plan, int(reconciliation.recorded.ring_number.max()))[0]
    assert f"needs release before push {first.ring_number}" in line
    assert "Nearest hold point: no window" in line


def test_hold_points_lie_ahead_and_hold_the_very_next_push_inside_a_closed_stretch(reconciliation: Reconciliation) -> None:
    plan = reconciliation.plan
    closed = np.flatnonzero(~plan.face.has_window) + 1
    before, inside = hold_points(plan, int(closed[0]) - 1), hold_points(plan, int(closed[0]) + 1)
    assert before[0].ring_number == closed[0]
    assert "no window" in before[0].why
    assert inside[0].ring_number == closed[0] + 2
    assert hold_points(plan, plan.push_count) == ()


def release(hold: Hold, **changed: object) -> JournalEntry:
    data = {"why": hold.why, "first_ring": hold.first_ring, "last_ring": hold.last_ring} | changed
    return JournalEntry(id=1, time_ms=0, drive="east", kind="release", subject=hold.name, person="I. Okafor", post="tunnel manager", data=data)


def test_released_hold_holds_no_more_and_the_next_is_named(reconciliation: Reconciliation) -> None:
    plan = reconciliation.plan
    first, *_ = holds_ahead(plan, 45)
    assert first.name in hold_points(plan, 45)[0].names
    left = hold_points(plan, 45, [release(first)])
    assert first.name not in {name for point in left for name in point.names}
    assert {name for point in left for name in point.names} == {one.name for one in holds_ahead(plan, 45)} - {first.name}
    released = JournalState(releases=tuple(release(one) for one in holds_ahead(plan, 0)))
    assert "Every hold point ahead is released" in plan_verdict(plan, released).second_line


def test_release_of_a_shorter_stretch_or_for_another_reason_clears_nothing(reconciliation: Reconciliation) -> None:
    plan = reconciliation.plan
    hold = next(one for one in holds_ahead(plan, 0) if one.last_ring > one.first_ring)
    for changed in ({"last_ring": hold.last_ring - 1}, {"first_ring": hold.first_ring + 1}, {"why": "another reason"}):
        assert hold.released_by([release(hold, **changed)]) is None
    # Inside the stretch only what lies ahead has to be covered, and the name is still the same.
    inside = next(one for one in holds_ahead(plan, hold.first_ring) if one.name == hold.name)
    assert inside.ring_number == hold.first_ring + 1
    assert inside.released_by([release(hold, first_ring=hold.first_ring + 1)]) is not None


def test_drive_without_record_says_that_the_plan_stands_alone(reconciliation: Reconciliation) -> None:
    made = plan_verdict(reconciliation.plan)
    closed = int((~reconciliation.plan.face.has_window).sum())
    assert made.sentence == f"No ring recorded yet: 1\u202f453 pushes are planned, {closed} of them without a window."
    assert made.state == "not checked"
    assert "Nearest hold point" in made.second_line


def test_act_that_was_acknowledged_is_open_even_when_the_record_is_gone(reconciliation: Reconciliation) -> None:
    made = plan_verdict(reconciliation.plan, signed(reconciliation, ("acknowledgement", 12, "muck_ratio")))
    assert made.sentence.startswith("Open act at push 12, acknowledged and not closed")
    assert made.state == "act"
