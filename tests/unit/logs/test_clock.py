"""From the wall clock to UTC, and clocks that were set."""

import datetime
from zoneinfo import ZoneInfo

import numpy as np

from tunnelwright.logs.clock import clock_steps, utc_of_wall_clock, zone_changes

CET = ZoneInfo("CET")


def _wall(*texts: str) -> np.ndarray:
    moments = [datetime.datetime.fromisoformat(text).replace(tzinfo=datetime.UTC) for text in texts]
    return np.array([round(moment.timestamp() * 1000) for moment in moments])


def test_file_order_decides_the_hour_that_comes_twice() -> None:
    # R17 of the method page.
    found = utc_of_wall_clock(_wall("2026-10-25 02:59:50", "2026-10-25 02:00:00", "2026-10-25 02:30:00"), CET)
    assert found.time_ms.tolist() == _wall("2026-10-25 00:59:50", "2026-10-25 01:00:00", "2026-10-25 01:30:00").tolist()
    assert not found.ambiguous.any()


def test_without_a_step_the_neighbours_decide() -> None:
    before = utc_of_wall_clock(_wall("2026-10-25 01:59:00", "2026-10-25 02:01:00", "2026-10-25 02:10:00"), CET)
    assert before.time_ms.tolist() == _wall("2026-10-24 23:59:00", "2026-10-25 00:01:00", "2026-10-25 00:10:00").tolist()
    after = utc_of_wall_clock(_wall("2026-10-25 02:50:00", "2026-10-25 02:59:00", "2026-10-25 03:01:00"), CET)
    assert after.time_ms.tolist() == _wall("2026-10-25 01:50:00", "2026-10-25 01:59:00", "2026-10-25 02:01:00").tolist()
    lone = utc_of_wall_clock(_wall("2026-10-25 02:30:00"), CET)
    assert lone.ambiguous.tolist() == [True]


def test_the_hour_that_never_comes_is_marked() -> None:
    found = utc_of_wall_clock(_wall("2026-03-29 01:59:00", "2026-03-29 02:30:00", "2026-03-29 03:30:00"), CET)
    assert found.time_ms.tolist() == _wall("2026-03-29 00:59:00", "2026-03-29 01:30:00", "2026-03-29 01:30:00").tolist()
    assert found.ambiguous.tolist() == [False, True, False]


def test_zone_changes_are_found_to_the_second() -> None:
    first, last = _wall("2026-01-01 00:00:00", "2026-12-31 00:00:00").tolist()
    offset, changes = zone_changes(CET, first, last)
    assert offset == 3_600_000
    assert [change.at_ms for change in changes] == _wall("2026-03-29 01:00:00", "2026-10-25 01:00:00").tolist()


def _times(*parts: np.ndarray) -> np.ndarray:
    return 1_767_600_000_000 + 1000 * np.concatenate(parts)


def test_a_clock_that_was_set_back() -> None:
    time_ms = _times(np.arange(0, 600), np.arange(180, 700))
    assert clock_steps(time_ms, np.arange(len(time_ms), dtype=np.uint64)) == [(600, 1020, -419_000)]


def test_the_same_rows_twice_are_no_clock() -> None:
    time_ms = _times(np.arange(0, 600), np.arange(180, 700))
    digest = np.concatenate([np.arange(0, 600), np.arange(180, 700)]).astype(np.uint64)
    assert clock_steps(time_ms, digest) == []


def test_a_moved_block_and_shuffled_rows_are_no_clock() -> None:
    moved = _times(np.arange(0, 300), np.arange(600, 900), np.arange(300, 600), np.arange(900, 1200))
    assert clock_steps(moved, np.arange(len(moved), dtype=np.uint64)) == []
    shuffled = _times(np.random.default_rng(1).permutation(1000))
    assert clock_steps(shuffled, np.arange(1000, dtype=np.uint64)) == []
