import numpy as np
import pytest

from tunnelwright.report.axes import Axis, Tick, decimals_of_step, nice_step, number_ticks, spaced_ticks, value_range, without_touching_ends


@pytest.mark.parametrize(("span", "most", "step"), [(10, 5, 2), (1.3, 4, 0.5), (300, 22, 20), (0.26, 3, 0.1), (7, 7, 1), (0, 3, 1)])
def test_step_is_round_and_not_too_fine(span: float, most: int, step: float) -> None:
    assert nice_step(span, most) == pytest.approx(step)


@pytest.mark.parametrize(("step", "decimals"), [(20, 0), (0.1, 1), (0.25, 2), (2.5, 1)])
def test_decimals_tell_neighbouring_ticks_apart(step: float, decimals: int) -> None:
    assert decimals_of_step(step) == decimals


def test_ticks_lie_inside_and_read_the_same_downwards() -> None:
    up, down = number_ticks(-60, 60, 3, is_signed=True), number_ticks(60, -60, 3, is_signed=True)
    assert [tick.words for tick in up] == ["\u221250", "0", "+50"]
    assert up == down


def test_axis_turns_values_into_places_and_back() -> None:
    axis = Axis(low=100.0, high=200.0, start_px=400.0, end_px=300.0)
    assert axis.px(150.0) == 350.0
    assert axis.value(325.0) == 175.0
    assert np.isnan(axis.pixels([np.nan, 100.0])[0])


def strip_axis(top_px: float, bottom_px: float, values: list[float]) -> Axis:
    low, high = min(values), max(values)
    return Axis(low=low, high=high, start_px=bottom_px, end_px=top_px, ticks=tuple(Tick(value, f"{value:g}") for value in values))


def test_end_tick_that_touches_the_next_strip_goes_first() -> None:
    upper, lower = without_touching_ends((strip_axis(0, 60, [0, 1, 2]), strip_axis(67, 120, [5, 6, 7])))
    assert [tick.words for tick in upper.ticks] == ["1", "2"]
    assert [tick.words for tick in lower.ticks] == ["5", "6", "7"]


def test_the_last_tick_of_a_strip_stays_and_the_neighbour_gives_way() -> None:
    alone = Axis(low=0, high=2, start_px=60, end_px=0, ticks=(Tick(0.0, "0"),))
    upper, lower = without_touching_ends((alone, strip_axis(67, 120, [5, 6, 7])))
    assert [tick.words for tick in upper.ticks] == ["0"]
    assert [tick.words for tick in lower.ticks] == ["5", "6"]


def test_ticks_far_enough_apart_all_stay() -> None:
    first, second = strip_axis(0, 40, [0, 1]), strip_axis(60, 120, [5, 6])
    assert without_touching_ends((first, second)) == (first, second)


def test_lying_ticks_keep_their_ends_and_their_gap() -> None:
    axis = Axis(low=0, high=100, start_px=0, end_px=100, ticks=tuple(Tick(float(value), str(value)) for value in range(0, 101, 20)))
    kept = [tick.words for tick in spaced_ticks(axis, [20.0] * 6) if tick.words]
    assert kept == ["0", "40", "100"]


def test_range_holds_all_values_and_survives_nothing() -> None:
    low, high = value_range([np.array([np.nan, 3.0]), None, np.array([7.0])])
    assert low < 3.0
    assert high > 7.0
    assert value_range([np.array([np.nan]), None]) == (0.0, 1.0)
    low, high = value_range([np.array([5.0, 5.0])])
    assert low < 5.0 < high
