"""Criteria on a synthetic record: what is planted is found in its ring, nothing healthy is accused, missing is never in order."""

from dataclasses import replace

import numpy as np
import pytest

from tunnelwright.drive.axis import DriveCase
from tunnelwright.drive.plan import Plan, plan_drive
from tunnelwright.drive.reconcile import reconcile
from tunnelwright.drive.recorded import RecordedRings

RINGS = 50


@pytest.fixture
def plan(hand_case: DriveCase) -> Plan:
    return plan_drive(hand_case)


def healthy(plan: Plan, seed: int = 3) -> RecordedRings:
    """Return a record that follows the plan with the noise of a well-kept machine."""
    rng = np.random.default_rng(seed)
    at = np.arange(RINGS)
    ports = [port.name for port in plan.case.machine.grout_ports]
    around = np.clip(plan.rings.grout_ring_number[at] - 1, 0, None).astype(int)
    volume = plan.grout.grout_volume_m3[around] * rng.normal(1.05, 0.015, RINGS)
    zero = np.zeros(RINGS)
    numbers = {
        "face_pressure_crown_kpa": plan.face.target_crown_kpa[at] + rng.normal(0, 3, RINGS),
        "face_pressure_crown_standstill_kpa": plan.face.target_crown_kpa[at] - 5,
        "face_pressure_crown_min_kpa": plan.face.target_crown_kpa[at] - 10,
        "support_unit_weight_kn_m3": rng.normal(13.5, 0.2, RINGS),
        "stroke_m": np.full(RINGS, plan.case.ring_type.ring_length_m),
        "muck_mass_t": plan.muck.muck_mass_t[at] * rng.normal(1.0, 0.008, RINGS),
        "grout_volume_m3": volume,
        "build_s": rng.normal(2400, 120, RINGS),
        "end_time_ms": 1.7e12 + at * 5.4e6,
        **{
            f"longest_{side}{phase}_s": zero
            for side in ("below_operating_lower", "above_operating_upper", "below_hard_lower", "above_hard_upper")
            for phase in ("", "_standstill")
        },
        **{f"grout_volume_{name}_m3": volume / len(ports) for name in ports},
        **{f"grout_pressure_{name}_p50_kpa": plan.grout.port_lower_kpa[around, place] + 30 for place, name in enumerate(ports)},
        **{f"grout_pressure_{name}_p90_kpa": plan.grout.port_lower_kpa[around, place] + 40 for place, name in enumerate(ports)},
    }
    words = {f"grade_{group}": np.full(RINGS, "A") for group in ("face_pressure", "muck", "grout")}
    return RecordedRings(ring_number=np.arange(1.0, RINGS + 1), numbers=numbers, words=words)


def changed(record: RecordedRings, name: str, rows: object, value: float | np.ndarray) -> RecordedRings:
    column = np.array(record.number(name))
    column[rows] = value
    return replace(record, numbers={**record.numbers, name: column})


def states(found, key: str) -> np.ndarray:
    return next(one.state for one in found.series if one.key == key)


def test_a_healthy_drive_accuses_nobody(plan: Plan) -> None:
    for seed in range(5):
        found = reconcile(plan, healthy(plan, seed))
        acts = [one.key for one in found.series if (one.state == 2).any()]
        watches = [(one.key, found.recorded.ring_number[one.state == 1].tolist()) for one in found.series if (one.state == 1).any()]
        assert acts == []
        assert watches == [], seed


def test_over_excavation_is_an_act_in_its_own_push_only(plan: Plan) -> None:
    record = healthy(plan)
    found = reconcile(plan, changed(record, "muck_mass_t", 30, plan.muck.muck_mass_t[30] * 1.12))
    assert np.flatnonzero(states(found, "muck_ratio") == 2).tolist() == [30]
    assert found.state(31) == "act"
    assert found.state(30) == "in order"
    advice = found.advice(31)[0]
    assert advice.state == "act"
    assert "probe" in advice.do
    assert "do not re-scale the weigher" in advice.do_not
    # The advice names the span of the face, nine metres ahead of the ring, not the ring's own chainage.
    assert f"{plan.rings.face_start_chainage_m[30]:.0f}" in advice.do


def test_excess_that_is_light_in_the_next_ring_is_not_given_back(plan: Plan) -> None:
    record = changed(changed(healthy(plan), "muck_mass_t", 30, plan.muck.muck_mass_t[30] * 1.12), "muck_mass_t", 31, plan.muck.muck_mass_t[31] * 0.94)
    found = reconcile(plan, record)
    assert states(found, "muck_ratio")[[30, 31]].tolist() == [2, 1]


def test_slow_loss_shows_in_the_sums_before_any_single_ring(plan: Plan) -> None:
    record = healthy(plan)
    mass = np.array(record.number("muck_mass_t"))
    mass[25:] *= 1.035
    found = reconcile(plan, replace(record, numbers={**record.numbers, "muck_mass_t": mass}))
    assert not (states(found, "muck_ratio") == 2).any()
    assert (states(found, "muck_chart")[30:] == 1).any()
    assert not (states(found, "muck_chart")[:25] == 1).any()


def test_grout_is_judged_at_the_ring_it_surrounds(plan: Plan) -> None:
    factor = np.array(plan.grout.fill_factor)
    target = np.array(plan.grout.grout_volume_m3)
    factor[20] *= 1.5
    target[20] *= 1.5
    altered = replace(plan, grout=replace(plan.grout, fill_factor=factor, grout_volume_m3=target))
    found = reconcile(altered, healthy(plan))
    state = states(found, "grout_ratio")
    short = np.flatnonzero((state == 1) | (state == 2))
    shift = int(plan.rings.ring_number[0] - plan.rings.grout_ring_number[0])
    # Ring 21 asks for half as much again; the push that grouts it builds a ring further on.
    assert short.tolist() == [20 + shift]
    assert "ring 21 is short of grout" in next(one for one in found.series if one.key == "grout_ratio").comment[20 + shift]


def test_surge_names_the_push_whose_face_stood_there(plan: Plan) -> None:
    record = healthy(plan)
    row = 40
    found = reconcile(plan, changed(record, "grout_volume_m3", row, record.number("grout_volume_m3")[row] * 1.6))
    assert states(found, "grout_ratio")[row] >= 1
    ring = int(plan.rings.grout_ring_number[row])
    middle = (plan.rings.chainage_m[ring - 1] + plan.rings.rear_chainage_m[ring - 1]) / 2
    passed = int(np.flatnonzero((plan.rings.face_start_chainage_m <= middle) & (middle < plan.rings.face_end_chainage_m))[0]) + 1
    assert any(f"push {passed}," in one.do for one in found.advice(row + 1))


def test_pressure_rules_follow_spells_not_means(plan: Plan) -> None:
    record = healthy(plan)
    assert reconcile(plan, changed(record, "longest_below_hard_lower_s", 10, 9.0)).state(11) == "in order"
    assert reconcile(plan, changed(record, "longest_below_hard_lower_s", 10, 10.0)).state(11) == "act"
    assert reconcile(plan, changed(record, "longest_below_operating_lower_s", 10, 59.0)).state(11) == "in order"
    assert reconcile(plan, changed(record, "longest_below_operating_lower_s", 10, 60.0)).state(11) == "watch"
    assert reconcile(plan, changed(record, "longest_above_hard_upper_standstill_s", 10, 20.0)).state(11) == "act"


def test_missing_is_never_in_order(plan: Plan) -> None:
    record = healthy(plan)
    for name, key in (("face_pressure_crown_kpa", "face_pressure_advancing"), ("muck_mass_t", "muck_ratio"), ("grout_volume_m3", "grout_ratio")):
        found = reconcile(plan, changed(record, name, 20, np.nan))
        assert states(found, key)[20] == 3, name
        assert next(one for one in found.series if one.key == key).comment[20]
    # A reading that life hangs on makes the ring itself not checked.
    assert reconcile(plan, changed(record, "face_pressure_crown_kpa", 20, np.nan)).state(21) == "not checked"
    found = reconcile(plan, changed(record, "muck_mass_t", 20, np.nan))
    assert found.state(21) == "not checked"
    # The sum over five pushes lacks its base for four more, which says nothing of those rings themselves.
    assert states(found, "muck_last_five")[21:26].tolist() == [3, 3, 3, 3, 0]
    assert found.state(22) == "in order"


def test_grade_c_is_not_checked_and_twice_in_a_row_an_act(plan: Plan) -> None:
    record = healthy(plan)
    grades = np.array(record.word("grade_muck"))
    grades[[20, 21]] = "C"
    found = reconcile(plan, replace(record, words={**record.words, "grade_muck": grades}))
    assert states(found, "muck_ratio")[[20, 21]].tolist() == [3, 3]
    assert states(found, "data_grade")[[19, 20, 21, 22]].tolist() == [0, 1, 2, 0]


def test_a_ring_that_the_log_did_not_see_is_not_checked(plan: Plan) -> None:
    record = healthy(plan)
    keep = record.ring_number != 25
    cut = RecordedRings(
        ring_number=record.ring_number[keep],
        numbers={name: values[keep] for name, values in record.numbers.items()},
        words={name: values[keep] for name, values in record.words.items()},
    )
    found = reconcile(plan, cut)
    assert found.state(25) == "not checked"
    assert all(one.comment == "the log did not see this ring" for one in found.criteria(25))
    assert found.state(26) == "in order", "the neighbours keep their own values"


def test_weighers_that_differ_are_both_distrusted_unless_both_say_act(hand_case: DriveCase) -> None:
    machine = hand_case.machine
    weigher = machine.belt_weighers[0]
    two = machine.model_copy(update={"belt_weighers": (weigher, weigher.model_copy(update={"name": "2"}))})
    plan = plan_drive(replace(hand_case, machine=two))
    record = healthy(plan)
    first = np.array(record.number("muck_mass_t"))
    second = first * 1.005
    second[25:] *= 1.05
    first[45], second[45] = plan.muck.muck_mass_t[45] * 1.13, plan.muck.muck_mass_t[45] * 1.19
    numbers = {**record.numbers, f"muck_mass_{weigher.name}_t": first, "muck_mass_2_t": second, "muck_mass_t": (first + second) / 2}
    found = reconcile(plan, replace(record, numbers=numbers))
    state = states(found, "muck_ratio")
    assert (state[:25] == 0).all()
    assert (state[35:45] == 3).all(), "not in order while the instruments contradict each other"
    assert "neither is trusted" in next(one for one in found.series if one.key == "muck_ratio").comment[40]
    assert state[45] == 2, "what both show cannot be hidden by their difference"


def test_ring_state_ranks_act_then_unchecked_life_then_watch(plan: Plan) -> None:
    record = healthy(plan)
    both = changed(changed(record, "face_pressure_crown_kpa", 20, np.nan), "muck_mass_t", 20, plan.muck.muck_mass_t[20] * 1.07)
    assert reconcile(plan, both).state(21) == "not checked"
    worse = changed(both, "muck_mass_t", 20, plan.muck.muck_mass_t[20] * 1.2)
    assert reconcile(plan, worse).state(21) == "act"
