"""View records: the same numbers as the stages gave, at their places, with nothing measured where nothing was."""

import itertools

import numpy as np
import pytest
from tests.conftest import EXCESS_RING, MISSING_RING

from tunnelwright.app.views import drive_view, push_view, subject_of
from tunnelwright.app.views.drive import runs_of
from tunnelwright.app.views.push_series import on_common_times
from tunnelwright.app.workspace import Workspace
from tunnelwright.drive.reconcile import Reconciliation
from tunnelwright.logs import ChannelSeries
from tunnelwright.vocabulary.remark import InputRefused


def test_unknown_drive_and_ring_are_refused_with_what_would_do(workspace: Workspace) -> None:
    with pytest.raises(InputRefused) as refused:
        subject_of(workspace, "nowhere")
    assert refused.value.faults[0].field == "drive"
    with pytest.raises(InputRefused) as refused:
        subject_of(workspace, "east", 1454)
    assert "1 to 1453" in refused.value.faults[0].required


def test_page_stands_on_the_last_recorded_ring_unless_asked(workspace: Workspace, reconciliation: Reconciliation) -> None:
    assert subject_of(workspace, "east").chosen_ring == int(reconciliation.recorded.ring_number.max())
    assert subject_of(workspace, "east", 900).chosen_ring == 900


@pytest.mark.parametrize(("ring", "span"), [(1, (1, 300)), (700, (550, 849)), (1453, (1154, 1453))])
def test_sheet_shows_a_stretch_around_the_chosen_ring(workspace: Workspace, ring: int, span: tuple[int, int]) -> None:
    view = drive_view(subject_of(workspace, "east", ring))
    assert (view.first_ring, view.last_ring) == span


@pytest.mark.parametrize("asked", [(5, 5), (0, 40), (40, 20), (1, 2000)])
def test_range_that_cannot_be_shown_falls_back_to_the_usual(workspace: Workspace, asked: tuple[int, int]) -> None:
    view = drive_view(subject_of(workspace, "east", 700), *asked)
    assert (view.first_ring, view.last_ring) == (550, 849)


def test_strips_carry_record_and_plan(workspace: Workspace, reconciliation: Reconciliation) -> None:
    view = drive_view(subject_of(workspace, "east", EXCESS_RING))
    strips = {strip.key: strip for strip in view.sheet.strips}
    row = reconciliation.row_of(EXCESS_RING)
    assert strips["pressure"].measured[EXCESS_RING - 1] == pytest.approx(reconciliation.recorded.number("face_pressure_crown_kpa")[row])
    assert strips["pressure"].planned[EXCESS_RING - 1] == reconciliation.plan.face.target_crown_kpa[EXCESS_RING - 1]
    for strip in strips.values():
        assert np.isnan(strip.measured[MISSING_RING - 1])
        assert not np.isfinite(strip.measured[view.sheet.places.built_ring_number :]).any()


def test_gap_and_act_are_named_at_their_place(workspace: Workspace) -> None:
    muck = next(strip for strip in drive_view(subject_of(workspace, "east", EXCESS_RING)).sheet.strips if strip.key == "muck")
    assert [gap.words for gap in muck.gaps] == [f"no log, push {MISSING_RING}"]
    event = next(event for event in muck.events if event.ring_number == EXCESS_RING)
    assert event.state == "act"
    assert event.words == f"push {EXCESS_RING}: {event.value:.2f}"


def test_events_outside_the_sheet_are_not_named(workspace: Workspace) -> None:
    view = drive_view(subject_of(workspace, "east", 700))
    assert all(strip.events == () for strip in view.sheet.strips)


def test_push_that_the_log_did_not_see_is_not_checked_in_every_row(workspace: Workspace) -> None:
    view = drive_view(subject_of(workspace, "east", MISSING_RING))
    assert {int(row.codes[MISSING_RING - 1]) for row in view.sheet.state_rows} == {3}
    assert {int(row.codes[900]) for row in view.sheet.state_rows} == {-1}


def test_counts_of_states_are_those_of_the_ring(workspace: Workspace, reconciliation: Reconciliation) -> None:
    view = drive_view(subject_of(workspace, "east", EXCESS_RING))
    for ring in (EXCESS_RING, MISSING_RING, 5):
        assert {state: int(values[ring - 1]) for state, values in view.sheet.state_counts.items()} == reconciliation.counts(ring)
    assert all(np.isnan(values[900]) for values in view.sheet.state_counts.values())


def test_recorded_push_has_chart_criteria_and_sheets(workspace: Workspace) -> None:
    view = push_view(subject_of(workspace, "east", EXCESS_RING), "muck.excess.single_ring")
    assert [panel.key for panel in view.chart.panels] == ["chamber", "thrust", "torque", "rate", "muck", "grout"]
    assert view.opened.calculation.method.id == "muck.excess.single_ring"
    muck = next(line for line in view.criteria if line.key == "muck_ratio")
    assert muck.sheet in view.sheets
    assert sum(view.counts.values()) == len(view.criteria)
    assert {advice.criterion for advice in view.advice} >= {"muck_ratio"}


def test_number_of_a_criterion_is_the_result_of_the_sheet_it_opens(workspace: Workspace) -> None:
    view = push_view(subject_of(workspace, "east", EXCESS_RING))
    for key, result in (("muck_ratio", "mass_ratio"), ("grout_ratio", "grout_ratio")):
        line = next(line for line in view.criteria if line.key == key)
        results = view.sheets[line.sheet].calculation.record.as_dict()
        assert line.criterion.value == pytest.approx(float(results[result])), key


def test_stroke_runs_from_nothing_to_the_recorded_stroke(workspace: Workspace, reconciliation: Reconciliation) -> None:
    view = push_view(subject_of(workspace, "east", 20))
    stroke = view.chart.stroke_m[np.isfinite(view.chart.stroke_m)]
    assert stroke[0] == pytest.approx(0.0, abs=0.01)
    assert (np.diff(stroke) >= 0).all()
    assert stroke[-1] == pytest.approx(reconciliation.recorded.number("stroke_m")[reconciliation.row_of(20)], rel=0.02)


def test_phases_fill_the_cycle_in_order(workspace: Workspace) -> None:
    chart = push_view(subject_of(workspace, "east", 20)).chart
    assert [phase.kind for phase in chart.phases][:1] == ["advance"]
    assert "build" in {phase.kind for phase in chart.phases}
    for before, after in zip(chart.phases, chart.phases[1:], strict=False):
        assert before.end_s == pytest.approx(after.start_s, abs=1.5)


def test_planned_ring_has_a_plan_and_no_criteria(workspace: Workspace) -> None:
    view = push_view(subject_of(workspace, "east", 900))
    assert view.is_planned
    assert not view.is_missing
    assert view.criteria == ()
    assert view.chart is None
    face = view.subject.plan.face
    planned = {one.name: one for one in view.planned}
    assert planned["target_crown_kpa"].value == face.target_crown_kpa[899]
    assert planned["operating_lower_crown_kpa"].sheet in view.sheets


def test_missing_ring_is_not_a_planned_one(workspace: Workspace) -> None:
    view = push_view(subject_of(workspace, "east", MISSING_RING))
    assert view.is_missing
    assert {line.criterion.state for line in view.criteria} == {"not checked"}
    assert view.chart is None


def test_sheet_that_does_not_exist_opens_none(workspace: Workspace) -> None:
    assert push_view(subject_of(workspace, "east", 20), "no.such.method").opened is None


def test_project_without_log_can_be_looked_at(planned_workspace: Workspace) -> None:
    subject = subject_of(planned_workspace)
    view = drive_view(subject)
    assert view.sheet.missing_words
    assert view.sheet.state_counts is None
    assert all(strip.measured is None for strip in view.sheet.strips)
    assert push_view(subject).is_planned


def test_face_is_drawn_with_its_strata_joined(workspace: Workspace) -> None:
    face = push_view(subject_of(workspace, "east", 900)).face
    names = [stratum.name for stratum in face.strata]
    assert all(one != other for one, other in itertools.pairwise(names))
    for above, below in zip(face.strata, face.strata[1:], strict=False):
        assert above.base_level_m == pytest.approx(below.top_level_m)
    assert face.sensors_are_planned


def test_runs_join_neighbours() -> None:
    assert runs_of([3, 4, 5, 9, 12, 13]) == [[3, 4, 5], [9], [12, 13]]
    assert runs_of([]) == []


def channel(name: str, times: list[int], values: list[float], *, is_thinned: bool = False) -> ChannelSeries:
    return ChannelSeries(name=name, time_ms=np.array(times, dtype=np.int64), value=np.array(values), is_thinned=is_thinned)


def test_channels_meet_on_common_times_and_gaps_stay_gaps() -> None:
    whole = channel("a", [0, 1000, 2000, 9000], [1.0, 2.0, 3.0, 4.0])
    broken = channel("b", [0, 1, 9000], [5.0, np.nan, 7.0])
    time_s, values = on_common_times({"a": whole, "b": broken}, 100)
    assert time_s.tolist() == [0.0, 0.001, 1.0, 2.0, 9.0]
    assert values["a"][2:].tolist() == [2.0, 3.0, 4.0]
    assert np.isnan(values["b"][1:4]).all()
    assert values["b"][[0, 4]].tolist() == [5.0, 7.0]


def test_thinned_channels_keep_their_extremes() -> None:
    times = list(range(0, 100_000, 100))
    dip = [200.0 - 90.0 * (at == 50_000) for at in times]
    time_s, values = on_common_times({"a": channel("a", times, dip, is_thinned=True)}, 40)
    assert time_s.size == 40
    assert np.nanmin(values["a"]) == 110.0
    assert np.nanmax(values["a"]) == 200.0
    assert time_s[int(np.nanargmin(values["a"]))] == pytest.approx(50.0, abs=100 / 20)


def test_no_channel_gives_no_samples() -> None:
    time_s, values = on_common_times({"a": channel("a", [0, 1], [np.nan, np.nan])}, 100)
    assert time_s.size == 0
    assert values == {}
