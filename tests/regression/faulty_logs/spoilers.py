"""What goes wrong with a logger's files before they reach us, one function per fault; each takes the scene of a sound log and spoils it."""

import datetime
import gzip
import io
import zipfile
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

import pyarrow as pa
import pyarrow.parquet as parquet
from tests.regression.faulty_logs.base_log import FIRST_RING, RING_COUNT, START, ZONE, LogFile, base_log, base_map, readings


@dataclass
class Scene:
    """The files that are handed to the import, and the channel map."""

    log: LogFile = field(default_factory=base_log)
    channel_map: dict[str, Any] = field(default_factory=base_map)
    raw: dict[str, bytes] = field(default_factory=dict)
    others: list[LogFile] = field(default_factory=list)
    absent: list[str] = field(default_factory=list)
    folders: list[str] = field(default_factory=list)
    with_log: bool = True

    def instead(self, name: str, content: bytes) -> None:
        """Hand in these bytes in place of the log."""
        self.raw[name], self.with_log = content, False

    def channel(self, name: str) -> dict[str, Any]:
        """Return the map's entry of a channel."""
        return next(one for one in self.channel_map["channel"] if one["name"] == name)


Spoiler = Callable[[Scene], None]

# --- files that are no log ---------------------------------------------------


def missing_file(scene: Scene) -> None:
    scene.absent, scene.with_log = ["nowhere.csv"], False


def folder_for_a_file(scene: Scene) -> None:
    scene.folders, scene.with_log = ["logs.csv"], False


def empty_file(scene: Scene) -> None:
    scene.instead("east.csv", b"")


def only_blank_lines(scene: Scene) -> None:
    scene.instead("east.csv", b"\n\n   \n\n")


def only_headings(scene: Scene) -> None:
    scene.log.rows = []


def binary_junk(scene: Scene) -> None:
    scene.instead("east.csv", bytes((7 * one * one + 13) % 256 for one in range(4000)))


def binary_junk_as_parquet(scene: Scene) -> None:
    scene.instead("east.parquet", b"PAR1" + bytes((7 * one * one + 13) % 256 for one in range(4000)))


def prose(scene: Scene) -> None:
    scene.instead("east.csv", b"Dear colleague,\nplease find the log of Monday on the other drive.\nKind regards\n")


def packed_file(scene: Scene) -> None:
    scene.instead("east.csv.gz", gzip.compress(scene.log.content(), mtime=0))


def spreadsheet_named_csv(scene: Scene) -> None:
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as archive:
        archive.writestr("xl/worksheets/sheet1.xml", "<worksheet/>" * 50)
    scene.instead("east.csv", packed.getvalue())


def utf_16(scene: Scene) -> None:
    scene.log.encoding = "utf-16"


def cut_parquet(scene: Scene) -> None:
    whole = parquet_of(scene)
    scene.instead("east.parquet", whole[: len(whole) // 2])


# --- files that do not fit the map -------------------------------------------


def no_time_column(scene: Scene) -> None:
    scene.log.columns[0] = "Moment"


def other_separator(scene: Scene) -> None:
    scene.log.separator = "|"


def no_mapped_column(scene: Scene) -> None:
    scene.log.columns = ["Time", *(f"Tag {number}" for number in range(len(scene.log.columns) - 1))]


def latin_1_against_the_map(scene: Scene) -> None:
    scene.log.columns[1], scene.log.encoding = "Ring für heute", "latin-1"
    scene.channel_map["encoding"] = "utf-8"


def unknown_time_form(scene: Scene) -> None:
    scene.channel_map["time_format"] = ""
    scene.log.set_cells("Time", [f"row {number}" for number in range(len(scene.log.rows))])


def wall_clock_without_zone(scene: Scene) -> None:
    scene.channel_map["time_zone"] = ""


def three_faults_of_the_map(scene: Scene) -> None:
    scene.channel("thrust_kn")["unit"] = "barr"
    scene.channel("chainage_m")["name"] = "chainage_of_the_face"
    scene.channel_map["time_zone"] = "Europe/Brennholt"


def channel_given_twice(scene: Scene) -> None:
    scene.channel("chamber_pressure_2_kpa")["name"] = "chamber_pressure_1_kpa"


def two_bad_and_one_good(scene: Scene) -> None:
    scene.raw = {"junk.csv": bytes(range(256)) * 8, "void.csv": b""}


def parquet_with_times_as_switches(scene: Scene) -> None:
    rows = len(scene.log.rows)
    table = pa.table({"Time": pa.array([True] * rows), "Thrust kN": pa.array([1.0] * rows)})
    scene.instead("east.parquet", written(table))


# --- times -------------------------------------------------------------------


def rows_out_of_order(scene: Scene) -> None:
    rows = scene.log.rows
    scene.log.rows = rows[300:400] + rows[:300] + rows[:399:-1]


def clock_at_1970(scene: Scene) -> None:
    stamps = scene.log.cells("Time")
    scene.log.set_cells("Time", [*stamps[:-30], *(f"01.01.1970 00:{number:02d}:00" for number in range(30))])


def clock_ahead(scene: Scene) -> None:
    stamps = scene.log.cells("Time")
    scene.log.set_cells("Time", [stamp.replace("2026", "2062") if 100 <= at < 112 else stamp for at, stamp in enumerate(stamps)])


def outside_the_drive(scene: Scene) -> None:
    scene.channel_map["drive_start"] = datetime.date(2026, 2, 1)
    scene.others.append(second_day(datetime.datetime(2026, 2, 2, 9, tzinfo=ZONE), "february.csv"))


def hour_that_comes_twice(scene: Scene) -> None:
    """Two and a half hours from half past two of the summer's last night: the hour is there twice."""
    scene.log = base_log(datetime.datetime(2026, 10, 25, 1, 30, tzinfo=ZONE))


def hour_that_nothing_decides(scene: Scene) -> None:
    """Only a half hour of that night, alone in its file."""
    log = base_log(datetime.datetime(2026, 10, 25, 2, 10, tzinfo=ZONE))
    log.rows = log.rows[:180]
    scene.log = log


def clock_not_put_forward(scene: Scene) -> None:
    """The clock of the logger stays at winter time in the night in which it should jump."""
    winter = datetime.timezone(datetime.timedelta(hours=1))
    first = datetime.datetime(2026, 3, 29, 1, 30, tzinfo=winter)
    scene.log.set_cells("Time", [f"{first + datetime.timedelta(seconds=10 * at):%d.%m.%Y %H:%M:%S}" for at in range(len(scene.log.rows))])


def clock_set_back(scene: Scene) -> None:
    stamps = scene.log.cells("Time")
    scene.log.set_cells("Time", [*stamps[:300], *stamps[270:-30]])


def words_for_times(scene: Scene) -> None:
    stamps = scene.log.cells("Time")
    scene.log.set_cells("Time", ["n/a" if at % 100 == 50 else stamp for at, stamp in enumerate(stamps)])


# --- rows --------------------------------------------------------------------


def equal_rows_twice(scene: Scene) -> None:
    scene.log.rows[200:200] = [list(row) for row in scene.log.rows[150:200]]


def unequal_rows_twice(scene: Scene) -> None:
    again = [list(row) for row in scene.log.rows[150:200]]
    for row in again:
        row[scene.log.at("Thrust kN")] = "1234"
    scene.log.rows += again


def last_line_cut(scene: Scene) -> None:
    scene.log.rows[-1] = scene.log.rows[-1][:8]
    scene.log.rows[-1][-1] = "15"
    content = scene.log.content()
    scene.instead("east.csv", content.rstrip(b"\n"))


def headings_again(scene: Scene) -> None:
    scene.log.rows.insert(350, list(scene.log.columns))


def surplus_cells(scene: Scene) -> None:
    for row in scene.log.rows[100:110]:
        row += ["7", "8"]


def open_quote(scene: Scene) -> None:
    scene.log.rows[200][scene.log.at("Thrust kN")] = '"15000'


def open_quote_among_quotes(scene: Scene) -> None:
    """A logger that quotes its stamps forgets to close a quote, behind what a first look sees."""
    stamps = scene.log.cells("Time")
    scene.log.set_cells("Time", [f'"{stamp}' if at == 900 else f'"{stamp}"' for at, stamp in enumerate(stamps)])


def nul_bytes_inside(scene: Scene) -> None:
    """A logger that lost power leaves a line of zeros, here behind what a first look sees."""
    once = scene.log.content()
    rows = once[once.index(b"\n") + 1 :]
    scene.instead("east.csv", once + rows * 2 + b"\x00" * 40 + b"\n" + rows)


def blank_lines_and_line_ends(scene: Scene) -> None:
    scene.log.line_end, scene.log.encoding = "\r\n", "utf-8-sig"
    content = scene.log.content().replace(b"05.01.2026 09:30:00", b"\r\n\r\n05.01.2026 09:30:00")
    scene.instead("east.csv", content)


def preamble(scene: Scene) -> None:
    scene.log.before = ["Logger 4, firmware 2.11", "Export of 05.01.2026", ""]


def one_very_long_line(scene: Scene) -> None:
    scene.log.rows[100][scene.log.at("Thrust kN")] = "x" * 200_000


# --- readings ----------------------------------------------------------------


def words_for_numbers(scene: Scene) -> None:
    scene.log.set_cells("Chamber 2 bar", ["Bad" if 100 <= at < 140 else text for at, text in enumerate(scene.log.cells("Chamber 2 bar"))])
    scene.log.set_cells("Thrust kN", ["NaN" if 100 <= at < 110 else text for at, text in enumerate(scene.log.cells("Thrust kN"))])


def empty_channel(scene: Scene) -> None:
    scene.log.set_cells("Chamber 3 bar", [""] * len(scene.log.rows))


def huge_numbers(scene: Scene) -> None:
    huge = ["1e308", "-1e300", "inf", "1e400", "9" * 40]
    scene.log.set_cells("Chamber 1 bar", [huge[at % 5] if 100 <= at < 110 else text for at, text in enumerate(scene.log.cells("Chamber 1 bar"))])


def marks_for_nothing(scene: Scene) -> None:
    scene.log.set_cells("Torque kNm", ["9999" if at % 50 == 7 else text for at, text in enumerate(scene.log.cells("Torque kNm"))])


def bar_read_as_kpa(scene: Scene) -> None:
    for name in "1234":
        scene.channel(f"chamber_pressure_{name}_kpa")["unit"] = "kPa"


def decimal_points_for_commas(scene: Scene) -> None:
    for row in scene.log.rows:
        row[1:] = [text.replace(",", ".") for text in row[1:]]


def decimal_commas_against_the_map(scene: Scene) -> None:
    scene.channel_map["decimal"] = "."


def thousands_marks(scene: Scene) -> None:
    scene.log.set_cells("Thrust kN", [f"{int(text):,}".replace(",", ".") + ",0" for text in scene.log.cells("Thrust kN")])


def columns_in_another_order(scene: Scene) -> None:
    scene.log.columns.reverse()
    for row in scene.log.rows:
        row.reverse()


def headings_swapped(scene: Scene) -> None:
    thrust, pressure = scene.log.at("Thrust kN"), scene.log.at("Chamber 2 bar")
    scene.log.columns[thrust], scene.log.columns[pressure] = scene.log.columns[pressure], scene.log.columns[thrust]


def heading_twice(scene: Scene) -> None:
    scene.log.columns[scene.log.at("Chamber 3 bar")] = "Chamber 2 bar"


def counter_reset(scene: Scene) -> None:
    """The weigher is set to zero in the middle of the first push."""
    texts = scene.log.cells("Belt total t")
    masses = [float(text.replace(",", ".")) for text in texts]
    scene.log.set_cells("Belt total t", [*texts[:130], *(f"{mass - masses[130]:.2f}".replace(".", ",") for mass in masses[130:])])


def channels_not_there(scene: Scene) -> None:
    for heading in ("Chamber 4 bar", "Grout left bar"):
        scene.log.drop(heading)


def columns_nobody_knows(scene: Scene) -> None:
    for heading in ("Cabin temperature", "Spare 7"):
        scene.log.columns.append(heading)
        for row in scene.log.rows:
            row.append("21,5")


def stuck_sensor(scene: Scene) -> None:
    scene.log.set_cells("Chamber 2 bar", ["2,136"] * len(scene.log.rows))


def ring_mistyped(scene: Scene) -> None:
    """The second of three."""
    scene.log.set_cells("Ring", ["1102" if text == str(FIRST_RING + 1) else text for text in scene.log.cells("Ring")])


# --- several files -----------------------------------------------------------


def files_that_overlap(scene: Scene) -> None:
    second = scene.log.copy()
    second.name, second.rows = "east-2.csv", second.rows[250:]
    scene.log.rows = scene.log.rows[:400]
    scene.others.append(second)


def files_that_contradict(scene: Scene) -> None:
    second = scene.log.copy()
    second.name, second.rows = "east-2.csv", second.rows[250:]
    second.set_cells("Chamber 1 bar", ["3,333"] * len(second.rows))
    scene.log.rows = scene.log.rows[:400]
    scene.others.append(second)


def parquet_with_numbers_as_text(scene: Scene) -> None:
    found = readings()
    stamps = pa.array([int(START.timestamp() * 1000) + 1000 * int(second) for second in found["time_s"]], pa.timestamp("ms", "UTC"))
    texts = [f"{value:.1f}" if at % 10 else "Bad" for at, value in enumerate(found["thrust_kn"].tolist())]
    scene.instead("east.parquet", written(pa.table({"Time": stamps, "Thrust kN": texts, "Ring": found["ring_number_keyed"]})))


def parquet_with_nested_readings(scene: Scene) -> None:
    found = readings()
    stamps = pa.array([int(START.timestamp() * 1000) + 1000 * int(second) for second in found["time_s"]], pa.timestamp("ms", "UTC"))
    lists = pa.array([[value, value] for value in found["thrust_kn"].tolist()])
    scene.instead("east.parquet", written(pa.table({"Time": stamps, "Thrust kN": lists, "Ring": found["ring_number_keyed"]})))


def second_day(start: datetime.datetime, name: str) -> LogFile:
    """Return the log of the next rings on another day."""
    log = base_log(start, FIRST_RING + RING_COUNT)
    log.name = name
    return log


def parquet_of(scene: Scene) -> bytes:
    """Return the sound log as Parquet, all columns as text."""
    return written(pa.table({heading: scene.log.cells(heading) for heading in scene.log.columns}))


def written(table: pa.Table) -> bytes:
    """Return a table as the bytes of a Parquet file."""
    sink = io.BytesIO()
    parquet.write_table(table, sink)
    return sink.getvalue()
