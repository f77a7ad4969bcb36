"""Every seeded fault of a log with what must come of it: Faults and an untouched store, or Findings and the rows that are kept."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from tests.regression.faulty_logs import spoilers as spoil
from tests.regression.faulty_logs.spoilers import Spoiler


@dataclass(frozen=True, kw_only=True)
class Refused:
    """A log that is refused as a whole.

    Parameters
    ----------
    faults : field and words that one Fault's sentence must hold, one entry per Fault.
    """

    spoil: Spoiler
    faults: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, kw_only=True)
class Kept:
    """A log that is imported with Findings.

    Parameters
    ----------
    found : rows or readings concerned by kind and channel of every Finding of the import; nothing else may be found.
    rows : instants in the store; ``aside`` rows were put aside.
    is_whole : the store is that of the sound log.
    rings : numbers of the closed rings.
    of_rings : kinds that the rings must be told of; nothing else may be found. None leaves that open.
    """

    spoil: Spoiler
    found: Mapping[tuple[str, str], int] = field(default_factory=dict)
    rows: int = 997
    aside: int = 0
    is_whole: bool = False
    rings: tuple[int, ...] = (101, 102)
    of_rings: frozenset[str] | None = frozenset()


REFUSED = (
    Refused(spoil=spoil.missing_file, faults=(("file", "does not exist", "is the name right?"),)),
    Refused(spoil=spoil.folder_for_a_file, faults=(("file", "a folder", "a file is needed"),)),
    Refused(spoil=spoil.empty_file, faults=(("file", "an empty file", "was the transfer complete?"),)),
    Refused(spoil=spoil.only_blank_lines, faults=(("file", "without a row of readings"),)),
    Refused(spoil=spoil.only_headings, faults=(("file", "without a row of readings"),)),
    Refused(spoil=spoil.binary_junk, faults=(("file", "binary data"),)),
    Refused(spoil=spoil.binary_junk_as_parquet, faults=(("file", "a damaged Parquet file"),)),
    Refused(spoil=spoil.prose, faults=(("time_column", "no column `Time`"),)),
    Refused(spoil=spoil.packed_file, faults=(("file", "binary data", "is it packed"),)),
    Refused(spoil=spoil.spreadsheet_named_csv, faults=(("file", "binary data", "a spreadsheet?"),)),
    Refused(spoil=spoil.utf_16, faults=(("encoding", "UTF-16", "save it again as UTF-8"),)),
    Refused(spoil=spoil.cut_parquet, faults=(("file", "a damaged Parquet file", "was the transfer complete?"),)),
    Refused(spoil=spoil.no_time_column, faults=(("time_column", "no column `Time`", "Moment, Ring"),)),
    Refused(spoil=spoil.other_separator, faults=(("time_column", "no column `Time`"),)),
    Refused(spoil=spoil.no_mapped_column, faults=(("channel", "none of the mapped columns", "Tag 0, Tag 1"),)),
    Refused(spoil=spoil.latin_1_against_the_map, faults=(("encoding", "not UTF-8", 'encoding = "latin-1"'),)),
    Refused(spoil=spoil.unknown_time_form, faults=(("Time", '"row 0"', "set time_format"),)),
    Refused(spoil=spoil.wall_clock_without_zone, faults=(("time_zone", "times of a wall clock", "CET"),)),
    Refused(
        spoil=spoil.three_faults_of_the_map,
        faults=(
            ("time_zone", "Europe/Brennholt", "must be the name of a time zone"),
            ("channel[2].name", "chainage_of_the_face", "did you mean chainage_m?"),
            ("channel[6].unit", "unknown unit `barr`, did you mean `bar`?"),
        ),
    ),
    Refused(spoil=spoil.channel_given_twice, faults=(("channel[10].name", "`Chamber 1 bar` and `Chamber 2 bar` both give it", "valid_from"),)),
    Refused(spoil=spoil.two_bad_and_one_good, faults=(("file", "junk.csv", "binary data"), ("file", "void.csv", "an empty file"))),
    Refused(spoil=spoil.one_very_long_line, faults=(("file", "a cell of more than 131072 characters"),)),
)

CHAMBERS = tuple(f"chamber_pressure_{name}_kpa" for name in "1234")
DOTTED = (
    "chainage_m",
    *(f"ram_extension_{name}_m" for name in "abc"),
    "advance_rate_mm_min",
    *CHAMBERS,
    "belt_mass_rate_1_t_h",
    "belt_mass_total_1_t",
    "foam_liquid_l_min",
    "grout_pressure_left_kpa",
)
ALL_CHANNELS = (*DOTTED, "ring_number_keyed", "thrust_kn", "cutterhead_torque_knm", "grout_volume_left_m3")


def of_each(kind: str, channels: tuple[str, ...], count: int) -> dict[tuple[str, str], int]:
    return {(kind, channel): count for channel in channels}


def but_for(*channels: str) -> tuple[str, ...]:
    return tuple(name for name in ALL_CHANNELS if name not in channels)


KEPT = (
    # Times.
    Kept(spoil=spoil.rows_out_of_order, is_whole=True),
    Kept(spoil=spoil.clock_at_1970, found={("impossible_time", ""): 30}, rows=967, aside=30),
    Kept(spoil=spoil.clock_ahead, found={("impossible_time", ""): 12}, rows=985, aside=12, of_rings=frozenset({"gap", "methods_disagree"})),
    Kept(spoil=spoil.outside_the_drive, found={("impossible_time", ""): 997}, aside=997, rings=(104, 105)),
    Kept(spoil=spoil.hour_that_comes_twice),
    Kept(
        spoil=spoil.hour_that_nothing_decides,
        found={("time_ambiguous", ""): 180},
        rows=180,
        rings=(),
        of_rings=frozenset({"duplicate_conflict", "stroke_mismatch"}),
    ),
    Kept(
        spoil=spoil.clock_not_put_forward,
        found={("time_ambiguous", ""): 360, ("clock_step", ""): 360, ("duplicate_conflict", ""): 360},
        rows=637,
        of_rings=None,
        rings=(101,),
    ),
    Kept(
        spoil=spoil.clock_set_back,
        found={("clock_step", ""): 30, ("duplicate_conflict", ""): 30},
        rows=967,
        of_rings=frozenset({"duplicate_conflict"}),
    ),
    Kept(spoil=spoil.words_for_times, found={("impossible_time", ""): 10}, rows=987, aside=10),
    # Rows.
    Kept(spoil=spoil.equal_rows_twice, is_whole=True),
    Kept(
        spoil=spoil.unequal_rows_twice,
        found={("clock_step", ""): 50, ("duplicate_conflict", ""): 50},
        of_rings=frozenset({"duplicate_conflict", "stroke_mismatch"}),
    ),
    Kept(spoil=spoil.last_line_cut, found={("cut_row", ""): 1}, rows=996, aside=1),
    Kept(spoil=spoil.headings_again, found={("impossible_time", ""): 1, **of_each("status_text", ALL_CHANNELS, 1)}, aside=1, is_whole=True),
    Kept(spoil=spoil.surplus_cells, is_whole=True),
    Kept(spoil=spoil.open_quote, found={("status_text", "thrust_kn"): 1}),
    Kept(spoil=spoil.open_quote_among_quotes, found={("impossible_time", ""): 1, ("unreadable_row", ""): 96}, rows=900, aside=1),
    Kept(spoil=spoil.nul_bytes_inside, found={("impossible_time", ""): 1}, aside=1, is_whole=True),
    Kept(spoil=spoil.blank_lines_and_line_ends, is_whole=True),
    Kept(spoil=spoil.preamble, is_whole=True),
    # Readings.
    Kept(
        spoil=spoil.words_for_numbers,
        found={("status_text", "chamber_pressure_2_kpa"): 40, ("status_text", "thrust_kn"): 10},
        of_rings=None,
    ),
    Kept(spoil=spoil.empty_channel, found={("missing", "chamber_pressure_3_kpa"): 997}),
    Kept(spoil=spoil.huge_numbers, found={("status_text", "chamber_pressure_1_kpa"): 6}),
    Kept(spoil=spoil.marks_for_nothing, found={("sentinel", "cutterhead_torque_knm"): 20}),
    Kept(spoil=spoil.bar_read_as_kpa, found=of_each("unit_suspect", CHAMBERS, 1), of_rings=None),
    Kept(spoil=spoil.decimal_points_for_commas, is_whole=True),
    Kept(spoil=spoil.decimal_commas_against_the_map, found=of_each("status_text", DOTTED, 997), rings=(), of_rings=None),
    Kept(spoil=spoil.thousands_marks, is_whole=True),
    Kept(spoil=spoil.columns_in_another_order, is_whole=True),
    Kept(
        spoil=spoil.headings_swapped,
        found={("unit_suspect", "thrust_kn"): 1, ("unit_suspect", "chamber_pressure_2_kpa"): 1},
        of_rings=frozenset({"unit_suspect"}),
    ),
    Kept(spoil=spoil.heading_twice, found={("unknown_column", ""): 1, ("missing", "chamber_pressure_3_kpa"): 997}),
    Kept(spoil=spoil.counter_reset, of_rings=frozenset({"counter_event"})),
    Kept(spoil=spoil.channels_not_there, found={("missing", "chamber_pressure_4_kpa"): 997, ("missing", "grout_pressure_left_kpa"): 997}),
    Kept(spoil=spoil.columns_nobody_knows, found={("unknown_column", ""): 2}, is_whole=True),
    Kept(spoil=spoil.stuck_sensor, of_rings=frozenset({"stuck"})),
    Kept(spoil=spoil.ring_mistyped, of_rings=frozenset({"ring_number_corrected"})),
    # Several files, other kinds of file.
    Kept(spoil=spoil.files_that_overlap, is_whole=True),
    Kept(
        spoil=spoil.files_that_contradict,
        found={("duplicate_conflict", ""): 150},
        of_rings=frozenset({"duplicate_conflict", "stuck", "offset_suspect"}),
    ),
    Kept(
        spoil=spoil.parquet_with_numbers_as_text,
        found={("status_text", "thrust_kn"): 100, **of_each("missing", but_for("thrust_kn", "ring_number_keyed"), 997)},
        rings=(),
        of_rings=None,
    ),
    Kept(
        spoil=spoil.parquet_with_nested_readings,
        found={("status_text", "thrust_kn"): 997, **of_each("missing", but_for("thrust_kn", "ring_number_keyed"), 997)},
        rings=(),
        of_rings=None,
    ),
    Kept(
        spoil=spoil.parquet_with_times_as_switches,
        found={("impossible_time", ""): 997, **of_each("missing", but_for("thrust_kn"), 997)},
        rows=0,
        aside=997,
        rings=(),
        of_rings=None,
    ),
)
