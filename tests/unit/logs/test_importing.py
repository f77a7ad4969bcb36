"""Files of the logger in every layout that was met, into one and the same store."""

import datetime
from pathlib import Path
from types import ModuleType
from zoneinfo import ZoneInfo

import duckdb
import numpy as np
import pyarrow as pa
import pyarrow.parquet as parquet
import pytest

from tunnelwright.logs import ChannelMap, import_log, propose_channel_map
from tunnelwright.vocabulary.remark import InputRefused

NOW_MS = 1_800_000_000_000
CHANNELS = [
    {"source": "Thrust [MN]", "name": "thrust_kn", "unit": "MN"},
    {"source": "P1", "name": "chamber_pressure_1_kpa", "unit": "bar"},
    {"source": "Mass", "name": "belt_mass_total_a_t", "unit": "t"},
]


def _rows() -> list[tuple[datetime.datetime, float, float, float]]:
    start = datetime.datetime(2026, 1, 5, 22, 0, tzinfo=datetime.UTC)
    return [(start + datetime.timedelta(seconds=10 * at), 12.5 + at / 100, 1.8 + at / 1000, 1000.0 + at / 4) for at in range(1200)]


def _samples(folder: Path) -> pa.Table:
    return duckdb.sql(
        f"SELECT * FROM read_parquet('{folder}/day=*/samples.parquet', union_by_name = true, hive_partitioning = false) ORDER BY time_ms"
    ).to_arrow_table()


def _map(**changed: object) -> ChannelMap:
    return ChannelMap.from_mapping({"time_column": "Time", "channel": CHANNELS, **changed})


def _write(file: Path, text: str, encoding: str = "utf-8") -> Path:
    file.write_bytes(text.encode(encoding))
    return file


def _plain(moment: datetime.datetime) -> str:
    return moment.strftime("%Y-%m-%dT%H:%M:%SZ")


def _csv(separator: str, number: str, stamp, header: str | None = None, quote: bool = False) -> str:
    def shown(value: float) -> str:
        text = f"{value:.4f}".replace(".", number)
        return f'"{text}"' if quote else text

    head = header or separator.join(["Time", "Thrust [MN]", "P1", "Mass"])
    return "\n".join([head, *(separator.join([stamp(time), shown(a), shown(b), shown(c)]) for time, a, b, c in _rows())]) + "\n"


CET = ZoneInfo("CET")
LAYOUTS = {
    "comma and point": (_csv(",", ".", _plain), {}, "utf-8"),
    "semicolon and decimal comma": (_csv(";", ",", _plain), {}, "utf-8"),
    "comma with quoted decimal comma": (_csv(",", ",", _plain, quote=True), {}, "utf-8"),
    "tab": (_csv("\t", ".", _plain), {}, "utf-8"),
    "bar": (_csv("|", ".", _plain), {}, "utf-8"),
    "byte-order mark": ("\ufeff" + _csv(";", ".", _plain), {}, "utf-8"),
    "Latin-1": (_csv(";", ",", _plain, "Time;Thrust [MN];P1;Mass;Temp °C".replace(";Temp °C", "")).replace("Mass", "Mass") + "# Ende: Schluß\n", {}, "latin-1"),
    "three header lines": (_csv(";", ".", _plain, "Logger 7;;;\nTime;Thrust [MN];P1;Mass\n;MN;bar;t"), {}, "utf-8"),
    "trailing separator": (_csv(";", ".", _plain).replace("\n", ";\n"), {}, "utf-8"),
    "epoch seconds": (_csv(";", ".", lambda time: str(int(time.timestamp()))), {}, "utf-8"),
    "epoch milliseconds": (_csv(";", ".", lambda time: str(int(time.timestamp() * 1000))), {}, "utf-8"),
    "wall clock": (_csv(";", ",", lambda time: time.astimezone(CET).strftime("%d.%m.%Y %H:%M:%S")), {"time_zone": "CET"}, "utf-8"),
    "iso wall clock": (_csv(";", ".", lambda time: time.astimezone(CET).strftime("%Y-%m-%d %H:%M:%S")), {"time_zone": "CET"}, "utf-8"),
    "serial day": (
        _csv(";", ".", lambda time: f"{(time - datetime.datetime(1899, 12, 30, tzinfo=datetime.UTC)) / datetime.timedelta(days=1):.9f}"),
        {"time_zone": "UTC", "time_format": "serial_day"},
        "utf-8",
    ),
}


@pytest.mark.parametrize("name", LAYOUTS)
def test_every_layout_gives_the_same_store(tmp_path: Path, name: str) -> None:
    text, changed, encoding = LAYOUTS[name]
    report = import_log([_write(tmp_path / "log.csv", text, encoding)], _map(**changed), tmp_path / "store", NOW_MS)
    found = _samples(tmp_path / "store")
    assert report.days == ("2026-01-05", "2026-01-06")
    assert sum(report.day_rows.values()) == 1200
    assert found["time_ms"].to_pylist() == [round(time.timestamp() * 1000) for time, *_values in _rows()]
    assert found["thrust_kn"].to_pylist() == pytest.approx([1000 * thrust for _time, thrust, _pressure, _mass in _rows()], rel=1e-12)
    assert found["chamber_pressure_1_kpa"].to_pylist() == pytest.approx([100 * pressure for _time, _thrust, pressure, _mass in _rows()], rel=1e-12)
    assert found["belt_mass_total_a_t"].to_pylist() == pytest.approx([mass for *_values, mass in _rows()], rel=1e-12)


def test_parquet_with_timestamps(tmp_path: Path) -> None:
    times = [time for time, *_values in _rows()]
    table = pa.table({"Time": pa.array(times, type=pa.timestamp("us", tz="UTC")), "Thrust [MN]": [thrust for _time, thrust, *_values in _rows()]})
    parquet.write_table(table, tmp_path / "log.parquet")
    import_log([tmp_path / "log.parquet"], _map(), tmp_path / "store", NOW_MS)
    assert _samples(tmp_path / "store")["time_ms"].to_pylist() == [round(time.timestamp() * 1000) for time in times]


def test_the_layout_is_proposed(tmp_path: Path) -> None:
    text = _csv(";", ",", lambda time: time.strftime("%d.%m.%Y %H:%M:%S"), "Date Time;Total thrust [MN];Chamber pressure 1 [bar];Belt A total [t]")
    proposal = propose_channel_map(_write(tmp_path / "log.csv", text))
    assert (proposal.layout.separator, proposal.layout.decimal, proposal.layout.header_line_count) == (";", ",", 1)
    assert (proposal.layout.time_column, proposal.layout.time_format) == ("Date Time", "%d.%m.%Y %H:%M:%S")
    assert proposal.channel_map is not None
    assert {(one.source, one.name, one.unit) for one in proposal.channel_map.channels} == {
        ("Total thrust [MN]", "thrust_kn", "MN"),
        ("Chamber pressure 1 [bar]", "chamber_pressure_1_kpa", "bar"),
        ("Belt A total [t]", "belt_mass_total_a_t", "t"),
    }
    assert any("time_zone" in need for need in proposal.needs)


class TestDoubtfulRows:
    def test_words_marks_and_impossible_times_are_counted(self, tmp_path: Path) -> None:
        lines = _csv(";", ".", _plain).splitlines()
        lines[10] = lines[10].replace(lines[10].split(";")[1], "Bad")
        lines[11] = lines[11].replace(lines[11].split(";")[2], "---")
        lines[12] = lines[12].replace(lines[12].split(";")[1], "9999")
        lines[13] = "1970-01-01T00:00:05Z;1;1;1"
        lines[14] = "2099-01-01T00:00:00Z;1;1;1"
        lines[15] = "yesterday;1;1;1"
        lines[16] = "2025-06-01T00:00:00Z;1;1;1"
        file = _write(tmp_path / "log.csv", "\n".join(lines))
        report = import_log([file], _map(drive_start="2026-01-01"), tmp_path / "store", NOW_MS)
        assert report.put_aside_count == 4
        assert sum(report.day_rows.values()) == 1196
        found = {(finding.kind, finding.channel): finding for finding in report.findings}
        assert found["status_text", "thrust_kn"].count == 1
        assert found["status_text", "chamber_pressure_1_kpa"].count == 1
        assert found["sentinel", "thrust_kn"].count == 1
        assert sorted(finding.where for finding in report.findings if finding.kind == "impossible_time") == [f"log.csv row {row}" for row in (13, 14, 15, 16)]
        assert _samples(tmp_path / "store")["thrust_kn"].null_count == 2

    def test_a_unit_that_cannot_be_right_is_hinted_at(self, tmp_path: Path) -> None:
        wrong = [{**one, "unit": "kPa"} if one["source"] == "P1" else one for one in CHANNELS]
        report = import_log([_write(tmp_path / "log.csv", _csv(";", ".", _plain))], _map(channel=wrong), tmp_path / "store", NOW_MS)
        (finding,) = [finding for finding in report.findings if finding.kind == "unit_suspect"]
        assert finding.channel == "chamber_pressure_1_kpa"
        assert "times 100 (bar to kPa" in finding.sentence
        assert max(_samples(tmp_path / "store")["chamber_pressure_1_kpa"].to_pylist()) < 4.0

    def test_unknown_columns_are_listed(self, tmp_path: Path) -> None:
        text = "\n".join(line + (";Cabin temperature" if at == 0 else ";21") for at, line in enumerate(_csv(";", ".", _plain).splitlines()))
        report = import_log([_write(tmp_path / "log.csv", text)], _map(), tmp_path / "store", NOW_MS)
        assert [finding.sentence for finding in report.findings if finding.kind == "unknown_column"] == [
            "columns that the channel map does not name are left out: Cabin temperature"
        ]

    def test_a_sensor_replaced_in_the_drive_has_two_columns(self, tmp_path: Path) -> None:
        text = "\n".join(line + (";P1 new" if at == 0 else ";2.5") for at, line in enumerate(_csv(";", ".", _plain).splitlines()))
        swap = "2026-01-05T23:00:00Z"
        channels = [*CHANNELS[:1], {**CHANNELS[1], "valid_until": swap}, {**CHANNELS[1], "source": "P1 new", "valid_from": swap}]
        import_log([_write(tmp_path / "log.csv", text)], _map(channel=channels), tmp_path / "store", NOW_MS)
        pressure = _samples(tmp_path / "store")["chamber_pressure_1_kpa"].to_pylist()
        assert pressure[359] == pytest.approx(100 * (1.8 + 0.359))
        assert set(pressure[360:]) == {250.0}


class TestFaults:
    def test_all_files_are_refused_at_once_and_nothing_is_written(self, tmp_path: Path) -> None:
        good = _write(tmp_path / "good.csv", _csv(";", ".", _plain))
        files = [
            good,
            tmp_path / "gone.csv",
            _write(tmp_path / "empty.csv", ""),
            _write(tmp_path / "other.csv", _csv(";", ".", _plain).replace("Time", "Stamp")),
            _write(tmp_path / "wall.csv", _csv(";", ".", lambda time: time.strftime("%d.%m.%Y %H:%M:%S"))),
        ]
        (tmp_path / "junk.csv").write_bytes(bytes(range(256)) * 50)
        (tmp_path / "wide.csv").write_bytes("Time;P1\n".encode("utf-16"))
        (tmp_path / "cut.parquet").write_bytes(b"PAR1" + bytes(200))
        files += [tmp_path / "junk.csv", tmp_path / "wide.csv", tmp_path / "cut.parquet"]
        with pytest.raises(InputRefused) as refused:
            import_log(files, _map(), tmp_path / "store", NOW_MS)
        given = {(Path(fault.where).name, fault.field) for fault in refused.value.faults}
        assert given == {
            ("gone.csv", "file"),
            ("empty.csv", "file"),
            ("other.csv", "time_column"),
            ("wall.csv", "time_zone"),
            ("junk.csv", "file"),
            ("wide.csv", "encoding"),
            ("cut.parquet", "file"),
        }
        assert not (tmp_path / "store").exists()

    def test_no_file_is_a_fault(self, tmp_path: Path) -> None:
        with pytest.raises(InputRefused):
            import_log([], _map(), tmp_path / "store", NOW_MS)


class TestMerging:
    def test_again_and_overlapping_changes_nothing(self, tmp_path: Path) -> None:
        lines = _csv(";", ".", _plain).splitlines()
        first = _write(tmp_path / "a.csv", "\n".join(lines[:800]))
        second = _write(tmp_path / "b.csv", "\n".join([lines[0], *lines[500:]]))
        for store, order in (("ab", [first, second]), ("aba", [first, second, first]), ("ba", [second, first])):
            for file in order:
                import_log([file], _map(), tmp_path / store, NOW_MS)
        expected = _samples(tmp_path / "ab")
        assert expected.num_rows == 1200
        assert expected.equals(_samples(tmp_path / "aba"))
        assert expected.equals(_samples(tmp_path / "ba"))

    def test_different_readings_of_an_instant_merge_in_any_order(self, tmp_path: Path) -> None:
        at = "2026-01-05T22:00:00Z"
        files = [
            _write(tmp_path / f"{name}.csv", f"Time;Thrust [MN];P1;Mass\n{at};{value};1.8;{mass}\n2026-01-05T22:00:10Z;9;1.8;50\n")
            for name, value, mass in (("a", 10, 40), ("b", 14, 42), ("c", 12, 41))
        ]
        outcomes = []
        for number, order in enumerate(([0, 1, 2], [2, 1, 0], [1, 0, 2], [0, 1, 0, 2, 1], [1, 2, 0])):
            for place in order:
                report = import_log([files[place]], _map(), tmp_path / f"store{number}", NOW_MS)
            outcomes.append(_samples(tmp_path / f"store{number}").to_pylist())
        assert all(outcome == outcomes[0] for outcome in outcomes)
        # Lower median of 10, 12, 14; of the counter the greatest; the instant is marked.
        assert outcomes[0][0]["thrust_kn"] == 12_000.0
        assert outcomes[0][0]["belt_mass_total_a_t"] == 42.0
        assert outcomes[0][0]["row_flags"] == 128
        assert "duplicate_conflict" in {finding.kind for finding in report.findings}

    def test_columns_of_two_loggers_complete_each_other(self, tmp_path: Path) -> None:
        lines = _csv(";", ".", _plain).splitlines()
        thrust = _write(tmp_path / "thrust.csv", "\n".join(";".join(line.split(";")[:2]) for line in lines))
        rest = _write(tmp_path / "rest.csv", "\n".join(";".join([line.split(";")[0], *line.split(";")[2:]]) for line in lines))
        import_log([thrust], _map(), tmp_path / "store", NOW_MS)
        report = import_log([rest], _map(), tmp_path / "store", NOW_MS)
        found = _samples(tmp_path / "store")
        assert found.num_rows == 1200
        assert found["thrust_kn"].null_count == found["chamber_pressure_1_kpa"].null_count == 0
        assert set(found["row_flags"].to_pylist()) == {0}
        assert "duplicate_conflict" not in {finding.kind for finding in report.findings}


class TestClock:
    def test_the_hour_that_comes_twice(self, tmp_path: Path) -> None:
        start = datetime.datetime(2026, 10, 24, 23, 30, tzinfo=datetime.UTC)
        times = [start + datetime.timedelta(seconds=60 * at) for at in range(150)]
        rows = "\n".join(f"{time.astimezone(CET):%d.%m.%Y %H:%M:%S};{at};1.8;5" for at, time in enumerate(times))
        report = import_log([_write(tmp_path / "log.csv", "Time;Thrust [MN];P1;Mass\n" + rows)], _map(time_zone="CET"), tmp_path / "store", NOW_MS)
        assert _samples(tmp_path / "store")["time_ms"].to_pylist() == [round(time.timestamp() * 1000) for time in times]
        assert {finding.kind for finding in report.findings} <= {"unit_suspect"}

    def test_a_clock_set_back_is_found_and_can_be_parted(self, tmp_path: Path) -> None:
        def stamp(at: int) -> str:
            time = datetime.datetime(2026, 1, 5, tzinfo=datetime.UTC) + datetime.timedelta(seconds=10 * at - (420 if at >= 300 else 0))
            return _plain(time)

        file = _write(tmp_path / "log.csv", "\n".join(["Time;Thrust [MN];P1;Mass", *(f"{stamp(at)};{10 + at / 1000};1.8;{at}" for at in range(600))]))
        report = import_log([file], _map(), tmp_path / "store", NOW_MS)
        (step,) = [finding for finding in report.findings if finding.kind == "clock_step"]
        assert "set back by 410 s" in step.sentence
        assert step.where == "log.csv row 301"
        report = import_log([file], _map(clock_offset=[{"file": "log.csv", "first_row": 301, "offset_s": 420}]), tmp_path / "parted", NOW_MS)
        assert "clock_step" not in {finding.kind for finding in report.findings}
        assert np.diff(_samples(tmp_path / "parted")["belt_mass_total_a_t"].to_numpy()).tolist() == [1.0] * 599


def test_spikes_are_found_but_a_long_dip_is_kept(sd: ModuleType, tmp_path: Path) -> None:
    drive = sd.small_drive(1, step_s=1.0, noise=1.0)
    pressure = drive.columns["chamber_pressure_3_kpa"].copy()
    pressure[1000] += 200.0
    pressure[1500:1502] -= 150.0
    pressure[2000:2020] -= 100.0
    report = sd.stored(tmp_path, drive.table(chamber_pressure_3_kpa=pressure))
    (finding,) = [finding for finding in report.findings if finding.kind == "spike"]
    assert (finding.channel, finding.count) == ("chamber_pressure_3_kpa", 3)
