"""Signing: what people enter reaches verdict, rail and journal; what must not be entered is refused with every reason at once."""

import csv
import io
import shutil
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from tests.conftest import EXCESS_RING, MISSING_RING

from tunnelwright import app
from tunnelwright.app.views.subject import hold_places, rail_of
from tunnelwright.app.workspace import Workspace
from tunnelwright.vocabulary.remark import InputRefused

WHO, WHY = "I. Okafor", "void above crown, filled twice"
NOW = datetime(2027, 3, 4, 6, 40, tzinfo=UTC)


@pytest.fixture
def signing(recorded_folder: Path, tmp_path: Path) -> Workspace:
    """Return the recorded project with a journal of its own; only the record is copied of what the program keeps."""
    folder = tmp_path / "crosstown"
    shutil.copytree(recorded_folder, folder, ignore=shutil.ignore_patterns("logs", "journal.sqlite*"))
    return app.open_workspace(folder)


def fields(call: Callable[[], Any]) -> dict[str, str]:
    """Return the faults of a refused call by field, each as one line."""
    with pytest.raises(InputRefused) as refused:
        call()
    return {fault.field: fault.sentence() for fault in refused.value.faults}


def acts(workspace: Workspace) -> dict[int, tuple[str, ...]]:
    found = app.open_acts(app.reconcile(workspace, "east"), app.signatures(workspace, "east"))
    return {one.ring_number: one.unsigned for one in found}


def test_act_goes_from_open_to_acknowledged_to_closed_in_verdict_and_journal(signing: Workspace) -> None:
    assert acts(signing)[EXCESS_RING]
    for ring in acts(signing):
        app.acknowledge(signing, "east", ring, WHO, WHY, now=NOW)
    said = app.subject_of(signing, "east", 5, now=NOW).verdict
    assert said.sentence.startswith("Open act at push ")
    assert "acknowledged 4 Mar by I. Okafor" in said.sentence
    assert "not acknowledged" not in said.sentence
    for ring in acts(signing):
        app.close_act(signing, "east", ring, WHO, WHY, now=NOW)
    assert acts(signing) == {}
    assert "Open act" not in app.subject_of(signing, "east", 5, now=NOW).verdict.sentence
    own = app.subject_of(signing, "east", EXCESS_RING, now=NOW).verdict
    assert "closed 4 Mar by I. Okafor" in own.sentence
    assert own.state != "in order"


def test_entry_says_what_was_signed(signing: Workspace) -> None:
    made = app.acknowledge(signing, "east", EXCESS_RING, f" {WHO}\n", WHY, "probe drilling ordered", post="shift engineer", now=NOW)
    assert (made.kind, made.ring_number, made.person, made.post, made.reason) == ("acknowledgement", EXCESS_RING, WHO, "shift engineer", WHY)
    assert made.subject.startswith("muck ")
    assert "muck_ratio" in made.data["criteria"]
    assert made.data["action"] == "probe drilling ordered"
    assert made.data["revision"] == app.plan(signing, "east").revision
    assert made.time_ms == NOW.timestamp() * 1000
    assert app.journal_entries(signing, "east") == (made,)


def test_every_fault_of_an_acknowledgement_comes_at_once_and_nothing_is_written(signing: Workspace) -> None:
    found = fields(lambda: app.acknowledge(signing, "east", 9999, " ", "ok then"))
    assert set(found) == {"ring", "person", "reason"}
    assert "1 to 1453" in found["ring"]
    assert not (signing.folder / ".tunnelwright" / "journal.sqlite").exists()


@pytest.mark.parametrize("reason", ["", "ok", "two words", "... - ! ?", "a\nb"])
def test_reason_shorter_than_three_words_is_refused(signing: Workspace, reason: str) -> None:
    assert "three words" in fields(lambda: app.acknowledge(signing, "east", EXCESS_RING, WHO, reason))["reason"]


@pytest.mark.parametrize("ring", [MISSING_RING, 900, 5])
def test_ring_with_nothing_open_is_refused_and_the_open_ones_are_named(signing: Workspace, ring: int) -> None:
    for call in (app.acknowledge, app.close_act):
        found = fields(lambda call=call: call(signing, "east", ring, WHO, WHY))
        assert f"push {ring}" in found["ring"]
    assert str(EXCESS_RING) in fields(lambda: app.acknowledge(signing, "east", ring, WHO, WHY))["ring"].split("there are")[1]


def test_act_is_not_acknowledged_twice_nor_closed_twice(signing: Workspace) -> None:
    app.acknowledge(signing, "east", EXCESS_RING, WHO, WHY)
    assert f"by {WHO}" in fields(lambda: app.acknowledge(signing, "east", EXCESS_RING, "L. Brandt", WHY))["ring"]
    app.close_act(signing, "east", EXCESS_RING, WHO, WHY)
    assert "closed" in fields(lambda: app.close_act(signing, "east", EXCESS_RING, "L. Brandt", WHY))["ring"]
    assert len(app.journal_entries(signing)) == 2


def test_act_that_nobody_acknowledged_is_not_closed(signing: Workspace) -> None:
    assert "acknowledged before it is closed" in fields(lambda: app.close_act(signing, "east", EXCESS_RING, WHO, WHY))["ring"]
    assert app.journal_entries(signing) == ()


def test_project_without_record_has_nothing_to_acknowledge(planned_workspace: Workspace) -> None:
    assert "record" in fields(lambda: app.acknowledge(planned_workspace, "", 3, WHO, WHY))


def test_released_hold_leaves_rail_sheet_and_verdict(signing: Workspace) -> None:
    before = app.subject_of(signing, "east", now=NOW)
    (first, released), (second, _) = app.holds_of(signing, "east")
    # One place of this drive is held for two reasons: the window is closed by a borehole that nobody has sealed.
    assert (first.ring_number, released) == (second.ring_number, None)
    assert f"{first.why}; {second.why}" in before.verdict.second_line
    made = app.release_hold(signing, "east", first.name, WHO, "tunnel manager", WHY, now=NOW)
    assert (made.kind, made.post, made.ring_number) == ("release", "tunnel manager", first.ring_number)
    assert app.holds_of(signing, "east")[0] == (first, made)
    between = app.subject_of(signing, "east", now=NOW)
    assert [one.words for one in hold_places(between)] == [second.why]
    assert f"Nearest hold point: {second.why}" in between.verdict.second_line
    app.release_hold(signing, "east", second.name, WHO, "tunnel manager", WHY, now=NOW)
    after = app.subject_of(signing, "east", now=NOW)
    assert hold_places(after) == rail_of(after).holds == ()
    assert "Every hold point ahead is released (2)." in after.verdict.second_line


def test_hold_is_released_by_its_push_too_where_that_is_the_only_one(signing: Workspace) -> None:
    (first, _), (second, _) = app.holds_of(signing, "east")
    push = str(first.ring_number)
    found = fields(lambda: app.release_hold(signing, "east", push, WHO, "tunnel manager", WHY))["hold"]
    assert first.name in found
    assert second.name in found
    app.release_hold(signing, "east", first.name, WHO, "tunnel manager", WHY)
    assert app.release_hold(signing, "east", push, WHO, "tunnel manager", WHY).data["hold"] == second.name


def test_every_fault_of_a_release_comes_at_once_and_names_the_holds_that_are_there(signing: Workspace) -> None:
    found = fields(lambda: app.release_hold(signing, "east", "no-window-2", "", "", "fine"))
    assert set(found) == {"hold", "person", "post", "reason"}
    assert app.holds_of(signing, "east")[0][0].name in found["hold"]


def test_hold_is_not_released_twice(signing: Workspace) -> None:
    hold, _ = app.holds_of(signing, "east")[0]
    app.release_hold(signing, "east", hold.name, WHO, "tunnel manager", WHY)
    assert "not released" in fields(lambda: app.release_hold(signing, "east", hold.name, WHO, "tunnel manager", WHY))["hold"]


def test_withdrawn_acknowledgement_opens_the_act_again_and_stays_to_be_read(signing: Workspace) -> None:
    made = app.acknowledge(signing, "east", EXCESS_RING, WHO, WHY)
    taken_back = app.withdraw(signing, made.id, WHO, "signed for the wrong push")
    assert taken_back.corrects == made.id
    assert acts(signing)[EXCESS_RING] == tuple(made.data["criteria"])
    assert app.journal_entries(signing) == (made, taken_back)
    assert "still counts" in fields(lambda: app.withdraw(signing, made.id, WHO, "signed for the wrong push"))["entry"]


def test_remark_is_kept_with_its_ring(signing: Workspace) -> None:
    made = app.remark(signing, "east", WHO, "gauge 3 replaced", ring=12)
    assert (made.subject, made.ring_number, made.reason) == ("ring 12", 12, "gauge 3 replaced")
    assert set(fields(lambda: app.remark(signing, "east", "", "gauge", ring=0))) == {"person", "reason", "ring"}


def test_frozen_plan_is_entered_once_and_stays_frozen(signing: Workspace) -> None:
    made = app.plan(signing, "east")
    for _ in range(2):
        app.freeze_plan(signing, made, NOW, person=WHO)
    (entry,) = app.journal_entries(signing)
    assert (entry.kind, entry.person, entry.data["revision"]) == ("plan frozen", WHO, made.revision)
    assert "frozen plan" in fields(lambda: app.withdraw(signing, entry.id, WHO, WHY))["entry"]


def test_journal_as_a_table_can_be_read_again(signing: Workspace) -> None:
    app.remark(signing, "east", WHO, 'gauge "3", replaced at night', now=NOW)
    (row,) = csv.DictReader(io.StringIO(app.as_csv(app.journal_table(app.journal_entries(signing)))))
    assert (row["entry"], row["time"], row["reason"]) == ("1", "2027-03-04T06:40:00+00:00", 'gauge "3", replaced at night')
    assert app.journal_table(()).num_rows == 0


def test_text_of_an_entry_cannot_pass_for_two(signing: Workspace) -> None:
    made = app.remark(signing, "east", WHO, "gauge replaced\n2  closure\x1b[2J by nobody")
    assert made.reason == "gauge replaced 2 closure [2J by nobody"


def test_journal_of_an_unknown_drive_is_refused(signing: Workspace) -> None:
    assert "drive" in fields(lambda: app.journal_entries(signing, "nowhere"))
    assert "drive" in fields(lambda: app.signatures(signing, "nowhere"))


def test_journal_lies_where_the_project_says(signing: Workspace, tmp_path: Path) -> None:
    app.remark(signing, "east", WHO, "in the own file")
    kept = signing.folder / ".tunnelwright"
    assert (kept / "journal.sqlite").is_file()
    (kept / "journal.url").write_text(f"sqlite:///{tmp_path / 'elsewhere.sqlite'}\n", encoding="utf-8")
    app.remark(signing, "east", WHO, "in the named store")
    assert [one.reason for one in app.journal_entries(signing)] == ["in the named store"]
    assert (tmp_path / "elsewhere.sqlite").is_file()
