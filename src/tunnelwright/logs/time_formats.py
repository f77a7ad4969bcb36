"""How times are written in a log, and the expressions that read them."""

import re
from collections.abc import Sequence
from typing import Final

_ISO: Final = re.compile(r"\d{4}-\d{2}-\d{2}[T ]\d{1,2}:\d{2}(:\d{2}([.,]\d+)?)?")
_ISO_OFFSET: Final = re.compile(_ISO.pattern + r"\s?(Z|[+-]\d{2}(:?\d{2})?)")
_WALL: Final = re.compile(r"(\d{1,4})([./-])(\d{1,2})\2(\d{1,4})[ T]+(\d{1,2}):(\d{2})(:\d{2})?([.,]\d+)?")
_NUMBER: Final = re.compile(r"\d+([.,]\d+)?")
# Magnitude tells the unit of an epoch: seconds, milliseconds, microseconds.
EPOCH_RANGES: Final = ((1e9, 2.2e9, 1000.0), (1e12, 2.2e12, 1.0), (1e15, 2.2e15, 0.001))
SERIAL_DAY_RANGE: Final = (20_000.0, 80_000.0)
SERIAL_DAY_ZERO_MS: Final = -2_209_161_600_000
"""Serial day 0 of spreadsheets, 30 December 1899, in milliseconds since 1970."""


def looks_like_time(text: str) -> bool:
    """Return whether a field reads like a date with a time of day."""
    return bool(_ISO_OFFSET.fullmatch(text) or _ISO.fullmatch(text) or _WALL.fullmatch(text))


def time_format_of(texts: Sequence[str], heading: str = "") -> str:
    """Return how the times of a column are written; empty when it does not read like times.

    Parameters
    ----------
    texts : the first readings of the column.
    heading : numbers are taken for times only under a heading that speaks of time.
    """
    given = [text.strip().strip('"') for text in texts if text.strip()]
    if not given:
        return ""
    usual = 0.8 * len(given)
    if sum(bool(_ISO_OFFSET.fullmatch(text)) for text in given) >= usual:
        return "iso_offset"
    if sum(bool(_ISO.fullmatch(text)) for text in given) >= usual:
        return "iso"
    walls = [match for text in given if (match := _WALL.fullmatch(text))]
    if len(walls) >= usual:
        return _wall_pattern(walls)
    speaks_of_time = not heading or re.search(r"time|date|zeit|stamp|epoch|clock", heading, re.IGNORECASE)
    numbers = [float(text.replace(",", ".")) for text in given if _NUMBER.fullmatch(text)]
    if len(numbers) >= usual and speaks_of_time:
        if all(any(low <= value <= high for low, high, _ in EPOCH_RANGES) for value in numbers):
            return "epoch"
        if all(SERIAL_DAY_RANGE[0] <= value <= SERIAL_DAY_RANGE[1] for value in numbers):
            return "serial_day"
    return ""


def _wall_pattern(walls: Sequence[re.Match[str]]) -> str:
    """Return the pattern of wall-clock times; day before month unless only month before day can be read."""
    first = walls[0]
    mark = first[2]
    if len(first[1]) == 4:
        date = f"%Y{mark}%m{mark}%d"
    else:
        year = "%Y" if len(first[4]) == 4 else "%y"
        month_first = any(int(match[3]) > 12 for match in walls) and not any(int(match[1]) > 12 for match in walls)
        date = f"%m{mark}%d{mark}{year}" if month_first else f"%d{mark}%m{mark}{year}"
    seconds = ":%S" if first[7] else ""
    return f"{date} %H:%M{seconds}" + (f"{first[8][0]}%g" if first[8] else "")


def milliseconds_sql(column: str, time_format: str) -> str:
    """Return the SQL that reads a text column as milliseconds since 1970, of the wall clock or of UTC; NULL where it cannot be read."""
    text = f"trim(CAST({column} AS VARCHAR))"
    if time_format == "iso_offset":
        return f"epoch_ms(TRY_CAST(replace({text}, ',', '.') AS TIMESTAMPTZ))"
    if time_format == "iso":
        return f"epoch_ms(TRY_CAST(replace({text}, ',', '.') AS TIMESTAMP))"
    number = f"TRY_CAST(replace({text}, ',', '.') AS DOUBLE)"
    if time_format == "epoch":
        cases = " ".join(f"WHEN {number} BETWEEN {low} AND {high} THEN {number} * {factor}" for low, high, factor in EPOCH_RANGES)
        return f"CAST(round(CASE {cases} END) AS BIGINT)"
    if time_format == "serial_day":
        inside = f"{number} BETWEEN {SERIAL_DAY_RANGE[0]} AND {SERIAL_DAY_RANGE[1]}"
        return f"CASE WHEN {inside} THEN CAST(round({number} * 86400000.0) AS BIGINT) + {SERIAL_DAY_ZERO_MS} END"
    pattern = time_format.replace("'", "''")
    return f"epoch_ms(try_strptime(regexp_replace({text}, '\\s+', ' ', 'g'), '{pattern}'))"


def is_utc(time_format: str) -> bool:
    """Return whether times written so are UTC already, so that no zone is needed."""
    return time_format in ("iso_offset", "epoch", "timestamp_utc")
