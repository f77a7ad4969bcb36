"""The summary: what is counted adds up, what needs a person is listed with a reason and with what not to do."""

from tests.conftest import EXCESS_RING, MISSING_RING

from tunnelwright.app.summary import summary_of
from tunnelwright.drive.reconcile import Reconciliation


def test_counts_add_up_to_the_rings(reconciliation: Reconciliation) -> None:
    made = summary_of(reconciliation)
    assert made.in_order_count + made.watch_count + made.act_count + made.unchecked_count == made.recorded_count
    assert made.recorded_count + len(made.missing_rings) == made.last_ring - made.first_ring + 1
    assert made.missing_rings == (MISSING_RING,)


def test_every_departure_is_listed_worst_first(reconciliation: Reconciliation) -> None:
    made = summary_of(reconciliation)
    assert len(made.needs_a_person) == made.recorded_count - made.in_order_count
    order = [("act", "not checked", "watch").index(one.state) for one in made.needs_a_person]
    assert order == sorted(order)
    planted = next(one for one in made.needs_a_person if one.ring_number == EXCESS_RING)
    assert planted.state == "act"
    assert planted.criterion == "muck_ratio"
    assert planted.why.startswith("muck, measured over expected: +")
    assert planted.do
    assert planted.do_not


def test_departure_stands_where_the_face_was(reconciliation: Reconciliation) -> None:
    planted = next(one for one in summary_of(reconciliation).needs_a_person if one.ring_number == EXCESS_RING)
    rings = reconciliation.plan.rings
    span = rings.face_start_chainage_m[EXCESS_RING - 1], rings.face_end_chainage_m[EXCESS_RING - 1]
    assert span[0] < planted.face_chainage_m < span[1]


def test_sentences_name_the_gap_and_do_not_praise(reconciliation: Reconciliation) -> None:
    first, second = summary_of(reconciliation).lines()[:2]
    assert f"The log did not see ring {MISSING_RING}." in first
    assert "it does not prove that nothing was lost" in second
