"""Units that cannot be right: a median far from the usual range that one usual factor would bring back. Nothing is converted."""

import math
from collections.abc import Mapping, Sequence
from typing import Final

import duckdb

from tunnelwright.logs.channel_families import unit_of_channel
from tunnelwright.logs.channel_map import ChannelFacts
from tunnelwright.logs.days import MS_PER_DAY, LogStore, day_text
from tunnelwright.logs.engine import named, quoted
from tunnelwright.vocabulary.remark import Finding

USUAL_FACTORS: Final = (10.0, 0.1, 100.0, 0.01, 1000.0, 0.001, 1e4, 1e-4, 1e6, 1e-6)
FACTORS_OF_TIME: Final = (60.0, 1 / 60.0, 3.6, 1 / 3.6)
LEAST_SAMPLES: Final = 100
WORDS: Final = {100.0: "100 (bar to kPa, m to cm)", 1000.0: "1000", 60.0: "60 (per second to per minute)", 3.6: "3.6 (per second to per hour)"}


def factor_hint(median: float, plausible: tuple[float, float], unit: str = "") -> float | None:
    """Return the usual factor that would bring a median nearest to the middle of its range; none when it lies there already or no factor does.

    Parameters
    ----------
    unit : of the channel; seconds, minutes and hours can be mixed up only where time is a part of it.
    """
    low, high = plausible
    if low <= median <= high or median <= 0 or low <= 0:
        return None
    fitting = [factor for factor in (*USUAL_FACTORS, *(FACTORS_OF_TIME if "/" in unit or unit == "rpm" else ())) if low <= median * factor <= high]
    return min(fitting, key=lambda factor: abs(math.log(median * factor) - (math.log(low) + math.log(high)) / 2), default=None)


def hint_sentence(name: str, median: float, plausible: tuple[float, float], factor: float) -> str:
    """Return the sentence of a unit that cannot be right."""
    return (
        f"the median of {name} while advancing is {median:.4g}, usual are {plausible[0]:g} to {plausible[1]:g}; "
        f"times {WORDS.get(factor, f'{factor:g}')} it would fit. Is the unit in the channel map right? Nothing was converted"
    )


def unit_suspects(connection: duckdb.DuckDBPyConnection, store: LogStore, days: Sequence[int], facts: Mapping[str, ChannelFacts]) -> list[Finding]:
    """Return one finding per channel whose unit cannot be right, from the medians of the given days."""
    suspects: dict[str, list[tuple[int, float, float]]] = {}
    for day in days:
        for name, median, factor in _suspects_of_day(connection, store, day, facts):
            suspects.setdefault(name, []).append((day, median, factor))
    findings = []
    for name, found in suspects.items():
        first, median, factor = found[0]
        plausible = facts[name].plausible
        assert plausible is not None, "only channels with a usual range are looked at"
        findings.append(
            Finding(
                kind="unit_suspect",
                channel=name,
                where=day_text(first),
                count=len(found),
                sentence=hint_sentence(name, median, plausible, factor),
                start_time_ms=first * MS_PER_DAY,
                end_time_ms=(found[-1][0] + 1) * MS_PER_DAY,
            )
        )
    return findings


def _suspects_of_day(connection: duckdb.DuckDBPyConnection, store: LogStore, day: int, facts: Mapping[str, ChannelFacts]) -> list[tuple[str, float, float]]:
    source = f"read_parquet({quoted(store.samples_file(day))}, hive_partitioning = false)"
    columns = {row[0] for row in connection.execute(f"DESCRIBE SELECT * FROM {source}").fetchall()}
    names = [name for name, one in facts.items() if name in columns and one.plausible is not None]
    if not names:
        return []
    medians = ", ".join(f"median({named(name)}), count({named(name)})" for name in names)
    found = connection.execute(f"SELECT {medians} FROM {source} WHERE {_active(columns)}").fetchone() or ()
    suspects = []
    for at, name in enumerate(names):
        median, count = found[2 * at], found[2 * at + 1]
        plausible = facts[name].plausible
        factor = factor_hint(median, plausible, unit_of_channel(name)) if plausible is not None and count >= LEAST_SAMPLES else None
        if factor is not None:
            suspects.append((name, median, factor))
    return suspects


def _active(columns: set[str]) -> str:
    """Return the SQL of rows in which the machine seems to advance, whatever the units are."""
    if "advance_rate_mm_min" in columns:
        return "advance_rate_mm_min > 0"
    if "cutterhead_speed_rpm" in columns:
        return "cutterhead_speed_rpm > 0"
    return "true"
