"""The fold: acknowledged before closed, each signature for its own criteria, corrections in the place of what they correct."""

from collections.abc import Callable
from typing import Any

from hypothesis import given
from hypothesis import strategies as st
from tests.unit.store.conftest import new_entry

from tunnelwright.store import JournalEntry, entries_in_effect, fold

Numbered = Callable[..., list[JournalEntry]]


def acknowledgement(ring: int, *criteria: str, **more: Any) -> dict[str, Any]:
    return {"kind": "acknowledgement", "ring_number": ring, "data": {"criteria": list(criteria)}, **more}


def closure(ring: int, *criteria: str, **more: Any) -> dict[str, Any]:
    return {"kind": "closure", "ring_number": ring, "data": {"criteria": list(criteria)}, **more}


def test_acknowledged_act_waits_until_it_is_closed(numbered: Numbered) -> None:
    entries = numbered(acknowledgement(612, "muck_ratio", "muck_chart"), closure(612, "muck_ratio"))
    assert fold(entries[:1], "east").acts[612].waiting == ("muck_ratio", "muck_chart")
    found = fold(entries, "east").acts[612]
    assert found.waiting == ("muck_chart",)
    assert found.closed["muck_ratio"] == entries[1]


def test_closure_of_what_nobody_acknowledged_closes_nothing(numbered: Numbered) -> None:
    entries = numbered(closure(612, "muck_ratio"), acknowledgement(612, "muck_ratio"))
    assert fold(entries, "east").acts[612].waiting == ("muck_ratio",)


def test_signature_is_for_its_own_drive_ring_and_criterion(numbered: Numbered) -> None:
    entries = numbered(acknowledgement(612, "muck_ratio"), acknowledgement(612, "muck_ratio", drive="river"), closure(613, "muck_ratio"))
    assert fold(entries, "east").acts[612].waiting == ("muck_ratio",)
    assert "grout_ratio" not in fold(entries, "east").acts[612].acknowledged
    assert set(fold(entries, "east").acts) == {612}
    assert fold(entries, "west").acts == {}


def test_first_acknowledgement_of_a_criterion_is_the_one_that_counts(numbered: Numbered) -> None:
    entries = numbered(acknowledgement(612, "muck_ratio", person="I. Okafor"), acknowledgement(612, "muck_ratio", "muck_chart", person="L. Brandt"))
    found = fold(entries, "east").acts[612].acknowledged
    assert (found["muck_ratio"].person, found["muck_chart"].person) == ("I. Okafor", "L. Brandt")


def test_correction_stands_where_the_corrected_entry_stood(numbered: Numbered) -> None:
    entries = numbered(acknowledgement(612, "muck_ratio", person="I. Okafro"), closure(612, "muck_ratio"), acknowledgement(612, "muck_ratio", corrects=1))
    found = fold(entries, "east").acts[612]
    assert found.acknowledged["muck_ratio"].person == "I. Okafor"
    assert found.waiting == ()


def test_correction_of_a_correction_is_the_last_word(numbered: Numbered) -> None:
    entries = numbered({"reason": "one"}, {"reason": "two", "corrects": 1}, {"reason": "three", "corrects": 2})
    assert [one.reason for one in entries_in_effect(entries)] == ["three"]


def test_withdrawn_acknowledgement_takes_its_closure_with_it(numbered: Numbered) -> None:
    entries = numbered(acknowledgement(612, "muck_ratio"), closure(612, "muck_ratio"), {"corrects": 1, "data": {"withdraws": True}})
    assert 612 not in fold(entries, "east").acts


def test_withdrawn_closure_opens_the_act_again(numbered: Numbered) -> None:
    entries = numbered(acknowledgement(612, "muck_ratio"), closure(612, "muck_ratio"), {"corrects": 2, "data": {"withdraws": True}})
    assert fold(entries, "east").acts[612].waiting == ("muck_ratio",)


def test_releases_and_frozen_plans_are_kept_by_drive(numbered: Numbered) -> None:
    entries = numbered(
        {"kind": "release", "data": {"reason": "OH15"}}, {"kind": "plan frozen", "data": {"revision": "abc"}}, {"kind": "release", "drive": "river"}
    )
    found = fold(entries, "east")
    assert found.releases == (entries[0],)
    assert found.frozen == {"abc": entries[1]}


STEPS = st.lists(
    st.tuples(st.sampled_from(["acknowledgement", "closure", "remark"]), st.integers(1, 3), st.sampled_from(["muck_ratio", "grout_ratio"]), st.integers(0, 8)),
    max_size=12,
)


@given(STEPS)
def test_nothing_is_ever_closed_that_was_not_acknowledged_and_the_fold_repeats(steps: list[tuple[str, int, str, int]]) -> None:
    entries = []
    for number, (kind, ring, criterion, corrects) in enumerate(steps, start=1):
        withdraws = kind == "remark" and 0 < corrects < number
        given_fields = {
            "kind": kind,
            "ring_number": ring,
            "data": {"criteria": [criterion], "withdraws": withdraws},
            "corrects": corrects if withdraws else None,
        }
        entries.append(JournalEntry(id=number, **new_entry(**given_fields).as_dict()))
    state = fold(entries, "east")
    assert state == fold(iter(entries), "east")
    for signed in state.acts.values():
        for key, closing in signed.closed.items():
            assert signed.acknowledged[key].id < closing.id
    assert len(entries_in_effect(entries)) <= len(entries)
