import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from tunnelwright.report.decimate import column_extremes, runs, stepped, thinned, without_absent_places

heights = arrays(np.float64, st.integers(5, 4000), elements=st.one_of(st.floats(-100, 100), st.just(np.nan)))


@settings(max_examples=60, deadline=None)
@given(heights)
def test_each_pixel_column_keeps_its_extremes(y: np.ndarray) -> None:
    x = np.linspace(0.0, 200.0, y.size)
    kept_x, kept_y = thinned(x, y)
    for column in range(201):
        inside, kept_inside = y[np.floor(x) == column], kept_y[np.floor(kept_x) == column]
        inside, kept_inside = inside[np.isfinite(inside)], kept_inside[np.isfinite(kept_inside)]
        # A flat stretch that runs through whole columns has its extremes at its ends, in other columns.
        if inside.size and np.ptp(inside) > 0:
            assert inside.min() == kept_inside.min()
            assert inside.max() == kept_inside.max()


def test_one_wild_reading_in_a_long_series_is_kept() -> None:
    x, y = np.linspace(0, 100, 10_000), np.sin(np.arange(10_000))
    y[4321] = 55.0
    kept_x, kept_y = thinned(x, y)
    assert 55.0 in kept_y
    assert kept_x.size <= 4 * 101


def test_gap_stays_a_gap_of_its_true_length() -> None:
    x, y = np.linspace(0, 100, 10_000), np.cos(np.arange(10_000))
    y[5000:5010] = np.nan
    kept_x, kept_y = thinned(x, y)
    first, second = runs(np.isfinite(kept_y))
    assert kept_x[first[1] - 1] == x[4999]
    assert kept_x[second[0]] == x[5010]


def test_flat_stretch_needs_only_its_ends() -> None:
    x = np.arange(1000.0)
    kept_x, kept_y = thinned(x, np.r_[np.full(600, 4.0), np.full(400, 6.0)])
    assert kept_x.tolist() == [0.0, 599.0, 600.0, 999.0]
    assert kept_y.tolist() == [4.0, 4.0, 6.0, 6.0]


def test_absent_places_become_gaps() -> None:
    x, y = without_absent_places(np.array([np.nan, 1.0, np.nan, 2.0]), np.array([9.0, 1.0, 9.0, 2.0]))
    assert x.tolist() == [1.0, 1.0, 1.0, 2.0]
    assert np.isnan(y).tolist() == [True, False, True, False]


def test_step_holds_each_value_over_its_own_push() -> None:
    x, y = stepped(np.array([1.0, 2.0, 3.0]), np.array([5.0, 6.0, 7.0]))
    assert x.tolist() == [0.5, 1.5, 1.5, 2.5, 2.5, 3.5]
    assert y.tolist() == [5.0, 5.0, 6.0, 6.0, 7.0, 7.0]


def test_bars_of_one_column_become_one_that_spans_them() -> None:
    x, low, high = column_extremes(np.array([0.0, 0.5, 1.0, 10.0, 11.0]), np.array([3.0, 2.0, 4.0, 1.0, np.nan]), np.array([5.0, 9.0, 6.0, 2.0, 3.0]))
    assert x.tolist() == [0.5, 10.0]
    assert low.tolist() == [2.0, 1.0]
    assert high.tolist() == [9.0, 2.0]
