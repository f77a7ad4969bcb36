"""The record of a small drive whose truth is known, without and with each fault of a logger."""

from pathlib import Path
from types import ModuleType

import numpy as np
import pyarrow as pa
import pytest

from tunnelwright.vocabulary.remark import InputRefused

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def clean_record(sd: ModuleType, tmp_path_factory: pytest.TempPathFactory):
    return sd.record_of(tmp_path_factory.mktemp("clean"), sd.small_drive(6))


class TestWithoutFault:
    def test_rings_and_times(self, sd: ModuleType, clean_record) -> None:
        truth = sd.small_drive(6).truth[:5]
        assert sd.column(clean_record, "ring_number").tolist() == [101, 102, 103, 104, 105]
        assert clean_record.open_ring["ring_number"].to_pylist() == [106]
        for name in ("push_net_s", "wait_before_build_s", "build_s", "wait_after_build_s"):
            # Two sampling intervals of five seconds.
            assert sd.column(clean_record, name) == pytest.approx([ring[name] for ring in truth], abs=10.0), name
        assert sd.column(clean_record, "start_time_ms") == pytest.approx([ring["start_ms"] for ring in truth], abs=10_000)

    def test_amounts(self, sd: ModuleType, clean_record) -> None:
        truth = sd.small_drive(6).truth[:5]
        for name, tolerance in (("stroke_m", 1e-9), ("muck_mass_t", 1e-9), ("grout_volume_m3", 1e-9), ("solution_volume_m3", 1e-9)):
            assert sd.column(clean_record, name) == pytest.approx([ring[name] for ring in truth], rel=tolerance), name
        assert sd.column(clean_record, "muck_mass_integral_a_t") == pytest.approx(np.full(5, 105.0), rel=1e-3)
        assert sd.column(clean_record, "advance_rate_mm_min") == pytest.approx(np.full(5, 50.0), rel=1e-9)

    def test_thrust_is_weighted_by_stroke(self, sd: ModuleType, clean_record) -> None:
        # 15 000 + 2 000 kN/m times the stroke; the first interval begins at the holding force, 2.5 s of 1 800 s at half the difference.
        expected = 15000.0 + 2000.0 * 0.75 - (15000.0 - 4000.0) / 2 * 5.0 / 1800.0
        assert sd.column(clean_record, "thrust_kn") == pytest.approx(np.full(5, expected), rel=1e-9)

    def test_chamber_line(self, sd: ModuleType, clean_record) -> None:
        assert sd.column(clean_record, "support_unit_weight_kn_m3") == pytest.approx(np.full(5, sd.GAMMA), rel=1e-9)
        crown, axis = sd.column(clean_record, "face_pressure_crown_kpa"), sd.column(clean_record, "face_pressure_axis_kpa")
        assert axis - crown == pytest.approx(np.full(5, sd.GAMMA * sd.AXIS_DEPTH_M), rel=1e-9)
        # Mean of 180 + 5 sin(t / 400 s) over the first push, 600 to 2 400 s.
        assert crown[0] == pytest.approx(180.0 + 5.0 * 400.0 / 1800.0 * (np.cos(600.0 / 400.0) - np.cos(2400.0 / 400.0)), abs=1e-3)
        assert sd.column(clean_record, "face_pressure_crown_min_kpa")[0] == pytest.approx(175.0, abs=0.01)

    def test_places_follow_the_context(self, sd: ModuleType, clean_record) -> None:
        assert sd.column(clean_record, "face_start_chainage_m").tolist() == [107.0, 108.5, 110.0, 111.5, 113.0]
        assert sd.column(clean_record, "face_end_chainage_m").tolist() == [108.5, 110.0, 111.5, 113.0, 114.5]

    def test_nothing_is_found_and_all_is_of_grade_a(self, sd: ModuleType, clean_record) -> None:
        assert clean_record.findings == ()
        for group in ("face_pressure", "muck", "grout", "thrust", "rams"):
            assert set(sd.column(clean_record, f"grade_{group}")) == {"A"}, group
            assert set(sd.column(clean_record, f"flags_{group}")) == {""}, group

    def test_time_before_the_first_push_belongs_to_no_ring(self, clean_record) -> None:
        assert clean_record.unattributed["cycle_time_s"] == 600.0
        assert clean_record.unattributed["muck_mass_a_t"] == 0.0


def _with(drive, name: str, change):
    return {name: change(drive.columns[name].copy(), drive.time_ms)}


class TestPressureBelowTheWindow:
    def test_a_dip_in_the_push_is_timed(self, sd: ModuleType, tmp_path: Path) -> None:
        drive = sd.small_drive(3)
        at_s = (drive.time_ms - sd.START_MS) / 1000.0
        dip = np.where((at_s >= 1200.0) & (at_s <= 1260.0), -60.0, 0.0)
        table = drive.table(**{name: drive.columns[name] + dip for name in drive.columns if name.startswith("chamber_pressure")})
        record = sd.record_of(tmp_path, table, limits=sd.limits(100, hard_lower=140.0))
        # 60 s in full; the means of the two slopes of 5 s lie 30 kPa down, about 150, above the hard limit.
        assert sd.column(record, "time_below_hard_lower_s")[0] == pytest.approx(60.0)
        assert sd.column(record, "longest_below_hard_lower_s")[0] == pytest.approx(60.0)
        assert sd.column(record, "time_below_hard_lower_s")[1] == 0.0
        assert sd.column(record, "time_below_hard_lower_standstill_s").tolist() == [0.0, 0.0]
        assert sd.column(record, "face_pressure_crown_min_kpa")[0] < 130.0


class TestGaps:
    def test_a_short_gap_in_a_push_costs_coverage_but_no_muck(self, sd: ModuleType, tmp_path: Path) -> None:
        drive = sd.small_drive(3)
        at_s = (drive.time_ms - sd.START_MS) / 1000.0
        record = sd.record_of(tmp_path, drive.kept((at_s <= 1200.0) | (at_s >= 1320.0)))
        assert sd.column(record, "unknown_time_s")[0] == 120.0
        assert sd.column(record, "muck_mass_t")[0] == pytest.approx(105.0, rel=1e-9)
        assert sd.column(record, "stroke_m")[0] == pytest.approx(1.5, rel=1e-9)
        assert sd.column(record, "advance_rate_mm_min")[0] == pytest.approx(50.0, rel=1e-6)
        # The foam's rate has no counter: what ran in the gap is not known.
        assert sd.column(record, "solution_volume_m3")[0] == pytest.approx(3.6 - 0.12 * 2, rel=1e-9)
        assert "gap" in sd.column(record, "flags_muck")[0]
        assert "gap" in sd.kinds(record)

    def test_three_rings_that_ran_unseen_are_named_and_booked_to_nobody(self, sd: ModuleType, tmp_path: Path) -> None:
        drive = sd.small_drive(9)
        at_s = (drive.time_ms - sd.START_MS) / 1000.0
        # From the middle of the second push to the middle of the fifth: the rams stand as before, only the chainage tells.
        record = sd.record_of(tmp_path, drive.kept((at_s <= 600 + 3300 + 900) | (at_s >= 600 + 4 * 3300 + 900)))
        assert sd.column(record, "ring_number").tolist() == [101, 102, 105, 106, 107, 108]
        assert record.missing == (103, 104)
        assert {"rings_missing", "stroke_mismatch"} <= sd.kinds(record)
        masses = sd.column(record, "muck_mass_t")
        assert masses[[0, 3, 4, 5]] == pytest.approx(np.full(4, 105.0), rel=1e-9)
        assert masses[[1, 2]] == pytest.approx(np.full(2, 52.5), rel=1e-2)
        assert record.unattributed["muck_mass_a_t"] == pytest.approx(3 * 105.0, rel=1e-2)
        assert record.unattributed["unknown_time_s"] == pytest.approx(3 * 3300.0, abs=10.0)

    def test_an_unseen_ring_is_found_without_a_chainage(self, sd: ModuleType, tmp_path: Path) -> None:
        drive = sd.small_drive(6)
        del drive.columns["chainage_m"]
        at_s = (drive.time_ms - sd.START_MS) / 1000.0
        record = sd.record_of(tmp_path, drive.kept((at_s <= 600 + 3300 + 1500) | (at_s >= 600 + 2 * 3300 + 900)))
        assert sd.column(record, "cycle").tolist() == [0, 1, 2, 3, 4]
        assert "stroke_mismatch" in sd.kinds(record)


class TestClock:
    def test_a_clock_put_forward_in_a_push_is_suspected(self, sd: ModuleType, tmp_path: Path) -> None:
        drive = sd.small_drive(4)
        at_s = (drive.time_ms - sd.START_MS) / 1000.0
        record = sd.record_of(tmp_path, drive.table(time_ms=drive.time_ms + np.where(at_s > 1500, 420_000, 0)))
        assert [(finding.kind, finding.ring_number) for finding in record.findings if finding.kind == "clock_step"] == [("clock_step", 101)]
        assert sd.column(record, "unknown_time_s").tolist() == [425.0, 0.0, 0.0]
        assert sd.column(record, "muck_mass_t") == pytest.approx(np.full(3, 105.0), rel=1e-9)


class TestInterruptions:
    def test_a_push_interrupted_for_two_hours_stays_one_ring(self, sd: ModuleType, tmp_path: Path) -> None:
        drive = sd.small_drive(3)
        at_s = (drive.time_ms - sd.START_MS) / 1000.0
        before, after = drive.table().slice(0, int((at_s <= 1500).sum())), drive.table().slice(int((at_s <= 1500).sum()))
        still = _repeated(
            before,
            1440,
            5000,
            {"thrust_kn": 5000.0, "cutterhead_speed_rpm": 0.0, "advance_rate_mm_min": 0.0, "belt_mass_rate_a_t_h": 0.0, "foam_liquid_l_min": 0.0},
        )
        record = sd.record_of(tmp_path, pa.concat_tables([before, still, _later(after, 7_200_000)]))
        assert sd.column(record, "ring_number").tolist() == [101, 102]
        assert sd.column(record, "short_stop_s")[0] == pytest.approx(7200.0, abs=35.0)
        assert sd.column(record, "push_net_s")[0] == pytest.approx(1800.0, abs=35.0)
        assert sd.column(record, "stroke_m")[0] == pytest.approx(1.5, abs=0.03)
        assert sd.column(record, "muck_mass_t")[0] == pytest.approx(105.0, rel=1e-9)

    def test_a_ram_reset_in_the_push_is_no_build(self, sd: ModuleType, tmp_path: Path) -> None:
        drive = sd.small_drive(3)
        at_s = (drive.time_ms - sd.START_MS) / 1000.0
        reset = np.where((at_s > 1600.0) & (at_s < 1640.0), -0.2, 0.0)
        record = sd.record_of(tmp_path, drive.table(ram_extension_a_m=drive.columns["ram_extension_a_m"] + reset))
        assert sd.column(record, "ring_number").tolist() == [101, 102]
        assert sd.column(record, "build_s")[0] == pytest.approx(900.0, abs=10.0)


def _later(table: pa.Table, ms: int) -> pa.Table:
    shifted = pa.array(np.asarray(table["time_ms"]) + ms)
    return table.set_column(table.schema.get_field_index("time_ms"), "time_ms", shifted)


def _repeated(table: pa.Table, count: int, step_ms: int, changed: dict[str, float]) -> pa.Table:
    last = {name: table[name][-1].as_py() for name in table.column_names} | changed
    times = last["time_ms"] + step_ms * np.arange(1, count + 1)
    return pa.table({name: times if name == "time_ms" else np.full(count, float(value)) for name, value in last.items()})


class TestSensors:
    def test_a_drifting_sensor_is_left_out_and_named(self, sd: ModuleType, tmp_path: Path) -> None:
        drive = sd.small_drive(9)
        at_s = (drive.time_ms - sd.START_MS) / 1000.0
        drift = np.where(at_s > 3 * 3300.0, 8.0 + (at_s - 3 * 3300.0) / 3300.0 * 10.0, 0.0)
        record = sd.record_of(tmp_path, drive.table(chamber_pressure_2_kpa=drive.columns["chamber_pressure_2_kpa"] + drift))
        found = [finding for finding in record.findings if finding.kind == "offset_suspect"]
        assert {finding.channel for finding in found} == {"chamber_pressure_2_kpa"}
        truth = sd.record_of(tmp_path / "truth", sd.small_drive(9)) if (tmp_path / "truth").mkdir() is None else None
        late = slice(5, None)
        assert sd.column(record, "face_pressure_crown_kpa")[late] == pytest.approx(sd.column(truth, "face_pressure_crown_kpa")[late], rel=1e-9)
        assert set(sd.column(record, "grade_face_pressure")[late]) == {"B"}

    def test_a_dead_sensor_is_left_out_and_named(self, sd: ModuleType, tmp_path: Path) -> None:
        drive = sd.small_drive(3)
        record = sd.record_of(tmp_path, drive.table(chamber_pressure_5_kpa=np.full(len(drive.time_ms), 212.4)))
        assert ("stuck", "chamber_pressure_5_kpa") in {(finding.kind, finding.channel) for finding in record.findings}
        assert sd.column(record, "support_unit_weight_kn_m3") == pytest.approx(np.full(2, sd.GAMMA), rel=1e-9)

    def test_one_zero_is_a_fault_but_two_are_an_event(self, sd: ModuleType, tmp_path: Path) -> None:
        drive = sd.small_drive(3)
        at_s = (drive.time_ms - sd.START_MS) / 1000.0
        lost = (at_s > 900) & (at_s < 960)
        one = drive.table(chamber_pressure_1_kpa=np.where(lost, 0.0, drive.columns["chamber_pressure_1_kpa"]))
        record = sd.record_of(tmp_path, one)
        assert sd.column(record, "face_pressure_crown_min_kpa")[0] > 170.0
        upper = {f"chamber_pressure_{name}_kpa": np.where(lost, 0.0, drive.columns[f"chamber_pressure_{name}_kpa"]) for name in ("1", "2", "3")}
        (tmp_path / "two").mkdir()
        record = sd.record_of(tmp_path / "two", drive.table(**upper))
        assert sd.column(record, "face_pressure_crown_min_kpa")[0] < 0.0

    def test_a_stuck_ram_group_is_named_and_changes_nothing(self, sd: ModuleType, tmp_path: Path) -> None:
        drive = sd.small_drive(4)
        at_s = (drive.time_ms - sd.START_MS) / 1000.0
        held = np.where((at_s > 3300 + 900) & (at_s < 3300 + 4000), 0.7, drive.columns["ram_extension_c_m"])
        record = sd.record_of(tmp_path, drive.table(ram_extension_c_m=held))
        assert ("stuck", "ram_extension_c_m") in {(finding.kind, finding.channel) for finding in record.findings}
        assert sd.column(record, "ring_number").tolist() == [101, 102, 103]
        assert sd.column(record, "stroke_m") == pytest.approx(np.full(3, 1.5), abs=0.01)

    def test_a_unit_that_changes_is_suspected_and_not_converted(self, sd: ModuleType, tmp_path: Path) -> None:
        drive = sd.small_drive(4)
        at_s = (drive.time_ms - sd.START_MS) / 1000.0
        late = at_s > 600 + 2 * 3300
        in_bar = {name: np.where(late, values / 100.0, values) for name, values in drive.columns.items() if name.startswith("chamber_pressure")}
        record = sd.record_of(tmp_path, drive.table(**in_bar))
        suspected = {finding.channel for finding in record.findings if finding.kind == "unit_suspect"}
        assert suspected == set(in_bar)
        assert sd.column(record, "grade_face_pressure").tolist()[:3] == ["A", "A", "C"]
        assert sd.column(record, "face_pressure_crown_kpa")[2] < 5.0


class TestCounters:
    def test_roll_over_reset_and_glitch_lose_no_muck(self, sd: ModuleType, tmp_path: Path) -> None:
        drive = sd.small_drive(4)
        total = drive.columns["belt_mass_total_a_t"]
        at_s = (drive.time_ms - sd.START_MS) / 1000.0
        rolled = np.mod(total + 99_850.0, 100_000.0)
        glitchy = np.where((at_s > 5000) & (at_s < 5012), 0.0, total)
        table = drive.table(belt_mass_total_a_t=rolled, belt_mass_total_b_t=glitchy)
        sd.stored(
            tmp_path,
            table,
            changes={
                "channel": [
                    {"source": name, "name": name, **({"modulus": 100_000} if name == "belt_mass_total_a_t" else {})}
                    for name in table.column_names
                    if name != "time_ms"
                ]
            },
        )
        record = sd.rings_of(tmp_path / "store", sd.context())
        assert sd.column(record, "muck_mass_a_t") == pytest.approx(np.full(3, 105.0), rel=1e-9)
        assert sd.column(record, "muck_mass_b_t") == pytest.approx(np.full(3, 105.0), rel=1e-9)
        words = {(finding.channel, finding.sentence.split()[1]) for finding in record.findings if finding.kind == "counter_event"}
        assert ("belt_mass_total_a_t", "rolled") in words
        assert ("belt_mass_total_b_t", "fell") in words

    def test_a_reset_in_the_build_loses_nothing(self, sd: ModuleType, tmp_path: Path) -> None:
        drive = sd.small_drive(4)
        at_s = (drive.time_ms - sd.START_MS) / 1000.0
        total = drive.columns["belt_mass_total_a_t"]
        record = sd.record_of(tmp_path, drive.table(belt_mass_total_a_t=np.where(at_s > 600 + 2500, total - 105.0, total)))
        assert sd.column(record, "muck_mass_a_t") == pytest.approx(np.full(3, 105.0), rel=1e-9)

    def test_a_weigher_that_reads_high_is_called_out(self, sd: ModuleType, tmp_path: Path) -> None:
        drive = sd.small_drive(13)
        record = sd.record_of(tmp_path, drive.table(belt_mass_total_b_t=1.06 * drive.columns["belt_mass_total_b_t"]))
        assert "weighers_differ" in sd.kinds(record)
        assert set(sd.column(record, "grade_muck")) == {"B"}

    def test_a_rate_that_disagrees_with_its_counter_is_called_out(self, sd: ModuleType, tmp_path: Path) -> None:
        drive = sd.small_drive(3)
        record = sd.record_of(tmp_path, drive.table(belt_mass_rate_a_t_h=1.1 * drive.columns["belt_mass_rate_a_t_h"]))
        assert "methods_disagree" in sd.kinds(record)
        assert sd.column(record, "muck_mass_t") == pytest.approx(np.full(2, 105.0), rel=1e-9)

    def test_muck_on_a_long_belt_is_booked_to_its_own_ring(self, sd: ModuleType, tmp_path: Path) -> None:
        drive = sd.small_drive(4)
        # 3 000 m at 2.5 m/s are 20 minutes: the end of a ring passes the weigher long after its push.
        late = 240
        total = np.concatenate([np.zeros(late), drive.columns["belt_mass_total_a_t"][:-late]])
        rate = np.concatenate([np.zeros(late), drive.columns["belt_mass_rate_a_t_h"][:-late]])
        table = drive.table(belt_mass_total_a_t=total, belt_mass_rate_a_t_h=rate, belt_speed_m_s=np.full(len(total), 2.5))
        record = sd.record_of(tmp_path, table, weigher_distance_m={"a": 3000.0})
        assert sd.column(record, "muck_mass_a_t") == pytest.approx(np.full(3, 105.0), rel=1e-6)
        assert sd.column(record, "muck_mass_integral_a_t") == pytest.approx(np.full(3, 105.0), rel=1e-6)


class TestRingNumbers:
    def test_a_mistyped_and_a_late_number_are_put_right(self, sd: ModuleType, tmp_path: Path) -> None:
        drive = sd.small_drive(8)
        keyed = drive.columns["ring_number_keyed"].copy()
        keyed[keyed == 104] = 140.0
        keyed[keyed == 106] = 105.0
        record = sd.record_of(tmp_path, drive.table(ring_number_keyed=keyed))
        assert sd.column(record, "ring_number").tolist() == [101, 102, 103, 104, 105, 106, 107]
        assert [finding.ring_number for finding in record.findings if finding.kind == "ring_number_corrected"] == [104, 106]

    def test_a_number_that_stays_is_a_conflict_and_the_chain_is_kept(self, sd: ModuleType, tmp_path: Path) -> None:
        drive = sd.small_drive(10)
        keyed = drive.columns["ring_number_keyed"].copy()
        keyed[keyed > 104] += 10
        record = sd.record_of(tmp_path, drive.table(ring_number_keyed=keyed))
        assert sd.column(record, "ring_number").tolist() == list(range(101, 110))
        assert "ring_number_conflict" in sd.kinds(record)
        assert sd.column(record, "grade_muck")[-1] == "C"

    def test_without_keyed_numbers_rings_are_counted_from_the_first(self, sd: ModuleType, tmp_path: Path) -> None:
        drive = sd.small_drive(3)
        del drive.columns["ring_number_keyed"]
        record = sd.record_of(tmp_path, drive)
        assert sd.column(record, "ring_number").tolist() == [101, 102]


class TestNoise:
    def test_noise_does_not_add_stroke(self, sd: ModuleType, tmp_path: Path) -> None:
        record = sd.record_of(tmp_path, sd.small_drive(3, step_s=1.0, noise=1.0))
        assert sd.column(record, "stroke_m") == pytest.approx(np.full(2, 1.5), abs=0.005)
        assert sd.column(record, "face_pressure_crown_kpa")[0] == pytest.approx(179.0, abs=0.2)

    def test_status_text_in_a_voting_channel_does_not_end_the_push(self, sd: ModuleType, tmp_path: Path) -> None:
        drive = sd.small_drive(3)
        thrust = pa.array(drive.columns["thrust_kn"], mask=np.arange(len(drive.time_ms)) % 37 == 0)
        table = drive.table()
        record = sd.record_of(tmp_path, table.set_column(table.schema.get_field_index("thrust_kn"), "thrust_kn", thrust))
        assert sd.column(record, "push_net_s") == pytest.approx(np.full(2, 1800.0), abs=10.0)
        assert sd.column(record, "short_stop_s").tolist() == [0.0, 0.0]


class TestGoingOn:
    def test_a_ring_added_gives_the_same_as_all_at_once(self, sd: ModuleType, tmp_path: Path) -> None:
        drive = sd.small_drive(14, step_s=10.0)
        table = drive.table()
        until = int((drive.time_ms <= sd.START_MS + 1000 * (600 + 11 * 3300 + 1000)).sum())
        context = sd.context()
        sd.stored(tmp_path, table.slice(0, until))
        before = sd.rings_of(tmp_path / "store", context)
        sd.stored(tmp_path, table.slice(until))
        after = sd.rings_of(tmp_path / "store", context, previous=before)
        at_once = sd.rings_of(tmp_path / "store", context)
        assert after.table.num_rows == 13
        for one, other in ((after.table, at_once.table), (after.open_ring, at_once.open_ring)):
            assert one.column_names == other.column_names
            for name in one.column_names:
                left, right = one[name].to_pylist(), other[name].to_pylist()
                assert left == right or left == pytest.approx(right, rel=1e-9, nan_ok=True), name
        assert dict(after.unattributed) == pytest.approx(dict(at_once.unattributed))
        assert after.findings == at_once.findings
        assert before.resume is not None
        assert before.resume.state.cycle == 11

    def test_a_change_before_the_open_ring_is_noticed(self, sd: ModuleType, tmp_path: Path) -> None:
        drive = sd.small_drive(6)
        context = sd.context()
        at_s = (drive.time_ms - sd.START_MS) / 1000.0
        hole = (at_s > 5000) & (at_s < 5200)
        sd.stored(tmp_path, drive.kept(~hole))
        before = sd.rings_of(tmp_path / "store", context)
        assert sd.column(before, "unknown_time_s")[1] > 0
        sd.stored(tmp_path, drive.kept(hole))
        after = sd.rings_of(tmp_path / "store", context, previous=before)
        assert sd.column(after, "unknown_time_s").tolist() == [0.0] * 5

    def test_a_store_without_samples_is_a_fault(self, sd: ModuleType, tmp_path: Path) -> None:
        with pytest.raises(InputRefused):
            sd.rings_of(tmp_path / "nothing", sd.context())
