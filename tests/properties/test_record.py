"""Guarantees of the numeric reference of the log engine: conservation, refinement, shift of the clock, scaling; and of the charts."""

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from tunnelwright.engineering import load_methods
from tunnelwright.vocabulary.method import METHODS

load_methods()
COUNTER, INTEGRAL, STROKE, MEAN = (METHODS[f"record.{name}"] for name in ("counter.difference", "rate.integral", "stroke.run_maximum", "mean.weighted"))
OUTSIDE, PERCENTILE, SCHMITT, REPLAY = (METHODS[f"record.{name}"] for name in ("limit.time_outside", "percentile.weighted", "cycle.schmitt", "alert.replay"))
SETTINGS = settings(max_examples=25, deadline=None, derandomize=True)

steps_s = arrays(np.float64, st.integers(3, 25), elements=st.floats(0.5, 90.0))
PUSH_S, WAIT_S, BUILD_S = 1500.0, 90.0, 1800.0


def level_of(size: int, low: float = 0.0, high: float = 500.0) -> st.SearchStrategy[np.ndarray]:
    return arrays(np.float64, size, elements=st.floats(low, high).map(lambda one: round(one, 3)))


@st.composite
def series(draw: st.DrawFn, low: float = 0.0, high: float = 500.0) -> tuple[np.ndarray, np.ndarray]:
    """Return times and values of a log of uneven sampling."""
    time_s = np.concatenate([[0.0], np.cumsum(draw(steps_s))])
    return time_s, draw(level_of(len(time_s), low, high))


@st.composite
def pushes(draw: st.DrawFn) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Return times, noisy extensions, values and advancing flags."""
    time_s, value = draw(series())
    extension_m = draw(level_of(len(time_s), 0.3, 1.8))
    advancing = draw(arrays(np.float64, len(time_s), elements=st.sampled_from([0.0, 1.0])))
    return time_s, extension_m, value, advancing


def table(method: object, name: str, **columns: object) -> object:
    return method.table(name)(**columns)


def drive(count: int, step_s: float, noise_m: float, seed: int) -> tuple[np.ndarray, np.ndarray, np.ndarray, list[float]]:
    """Return a log of so many rings with its truth: pushes of 1.5 m, builds in six pieces with partial rises, a wait; and the end of every push."""
    rng = np.random.default_rng(seed)
    knots_s, knots_m, high, ends_s = [0.0, 120.0], [0.3, 0.3], [], []
    for _ in range(count):
        begin = knots_s[-1]
        high.append((begin, begin + PUSH_S))
        ends_s.append(begin + PUSH_S)
        at, now = begin + PUSH_S + WAIT_S, 1.8
        knots_s += [begin + PUSH_S, at]
        knots_m += [now, now]
        for piece in range(6):
            now = 1.8 - 1.5 * (piece + 1) / 6
            knots_s += [at + 30.0, at + 120.0, at + BUILD_S / 6]
            knots_m += [max(0.3, now - 0.2), max(0.3, now - 0.2) if piece == 5 else now, now]
            at += BUILD_S / 6
        knots_s += [at + 600.0]
        knots_m += [0.3]
    time_s = np.arange(0.0, knots_s[-1], step_s)
    extension_m = np.interp(time_s, knots_s, knots_m) + noise_m * rng.standard_normal(len(time_s))
    thrust_kn = np.where(np.any([(time_s > first) & (time_s <= last) for first, last in high], axis=0), 18000.0, 4500.0)
    return time_s, extension_m, thrust_kn, ends_s


@SETTINGS
@given(log=series(), cut=st.integers(1, 23))
def test_parts_add_up_to_the_whole(log: tuple[np.ndarray, np.ndarray], cut: int) -> None:
    time_s, rate = log
    cut = min(cut, len(time_s) - 1)
    whole = INTEGRAL(samples=table(INTEGRAL, "samples", time_s=time_s, rate=rate), gap_limit_s=60.0)
    parts = [
        INTEGRAL(samples=table(INTEGRAL, "samples", time_s=time_s[one], rate=rate[one]), gap_limit_s=60.0) for one in (slice(0, cut + 1), slice(cut, None))
    ]
    assert float(whole.integral) == pytest.approx(sum(float(part.integral) for part in parts), rel=1e-9, abs=1e-9)
    assert float(whole.unknown_time_s) == pytest.approx(sum(float(part.unknown_time_s) for part in parts), rel=1e-9, abs=1e-9)


@SETTINGS
@given(log=series(), cut=st.integers(1, 23))
def test_time_outside_adds_up(log: tuple[np.ndarray, np.ndarray], cut: int) -> None:
    time_s, value = log
    cut = min(cut, len(time_s) - 1)
    limits = {"lower_limit": 150.0, "upper_limit": 300.0}
    whole, *parts = (
        OUTSIDE(samples=table(OUTSIDE, "samples", time_s=time_s[one], value=value[one]), **limits) for one in (slice(None), slice(0, cut + 1), slice(cut, None))
    )
    for name in ("time_below_s", "depth_integral_below", "time_above_s", "depth_integral_above"):
        assert float(getattr(whole, name)) == pytest.approx(sum(float(getattr(part, name)) for part in parts), rel=1e-9, abs=1e-9)
    assert float(whole.longest_below_s) >= max(float(part.longest_below_s) for part in parts) - 1e-9


@SETTINGS
@given(log=series(), place=st.floats(0.05, 0.95), at=st.integers(0, 23))
def test_a_sample_on_the_line_between_two_changes_nothing(log: tuple[np.ndarray, np.ndarray], place: float, at: int) -> None:
    time_s, rate = log
    at = min(at, len(time_s) - 2)
    finer_s = np.insert(time_s, at + 1, time_s[at] + place * (time_s[at + 1] - time_s[at]))
    finer = np.insert(rate, at + 1, rate[at] + place * (rate[at + 1] - rate[at]))
    plain, refined = (INTEGRAL(samples=table(INTEGRAL, "samples", time_s=one, rate=other)) for one, other in ((time_s, rate), (finer_s, finer)))
    assert float(refined.integral) == pytest.approx(float(plain.integral), rel=1e-9, abs=1e-9)


@SETTINGS
@given(push=pushes(), place=st.floats(0.05, 0.95), at=st.integers(0, 23))
def test_means_survive_refinement_where_the_rams_only_rise(push: tuple[np.ndarray, ...], place: float, at: int) -> None:
    time_s, extension_m, value, _ = push
    at = min(at, len(time_s) - 2)
    columns = {"time_s": time_s, "ram_extension_m": np.sort(extension_m), "value": value}
    assume(np.ptp(extension_m) > 0.01)
    finer = {name: np.insert(one, at + 1, one[at] + place * (one[at + 1] - one[at])) for name, one in columns.items()}
    plain, refined = (MEAN(samples=table(MEAN, "samples", advancing=np.ones(len(one["time_s"])), **one)) for one in (columns, finer))
    assert float(refined.time_mean) == pytest.approx(float(plain.time_mean), rel=1e-9)
    # A stroke mean takes the mean of the ends of an interval: on one line of value over stroke and time it stays.
    assert float(refined.stroke_mean) == pytest.approx(float(plain.stroke_mean), rel=1e-9)


@SETTINGS
@given(push=pushes(), shift_s=st.floats(-1e6, 1e6).map(round))
def test_a_shift_of_the_clock_changes_nothing(push: tuple[np.ndarray, ...], shift_s: int) -> None:
    time_s, extension_m, value, advancing = push
    time_s = np.round(time_s, 2)
    rows = {"ram_extension_m": extension_m, "advancing": advancing}
    plain, shifted = (STROKE(samples=table(STROKE, "samples", time_s=one, **rows)) for one in (time_s, time_s + shift_s))
    assert float(plain.stroke_m) == float(shifted.stroke_m)
    assert float(plain.push_time_s) == pytest.approx(float(shifted.push_time_s), abs=1e-6)
    limits = {"lower_limit": 200.0, "hysteresis": 5.0, "raise_delay_s": 20.0, "clear_delay_s": 30.0, "gap_limit_s": 95.0}
    lives = [REPLAY(samples=table(REPLAY, "samples", time_s=np.rint(one), value=value), **limits) for one in (time_s, np.rint(time_s) + shift_s)]
    np.testing.assert_allclose(lives[0].raised_at_s + shift_s, lives[1].raised_at_s)
    np.testing.assert_allclose(lives[0].cleared_at_s + shift_s, lives[1].cleared_at_s)
    assert lives[0].state == lives[1].state


@SETTINGS
@given(log=series(), factor=st.floats(0.01, 100.0))
def test_a_factor_on_a_rate_is_a_factor_on_its_integral(log: tuple[np.ndarray, np.ndarray], factor: float) -> None:
    time_s, rate = log
    for way in ("trapezoid", "step"):
        plain, scaled = (INTEGRAL(samples=table(INTEGRAL, "samples", time_s=time_s, rate=one), interpolation=way) for one in (rate, factor * rate))
        assert float(scaled.integral) == pytest.approx(factor * float(plain.integral), rel=1e-9, abs=1e-9)


@SETTINGS
@given(push=pushes())
def test_stroke_never_exceeds_the_sum_of_rises(push: tuple[np.ndarray, ...]) -> None:
    time_s, extension_m, _, advancing = push
    found = STROKE(samples=table(STROKE, "samples", time_s=time_s, ram_extension_m=extension_m, advancing=advancing))
    rises_m = np.maximum(0.0, np.diff(extension_m))[advancing[1:] > 0].sum()
    assert 0 <= float(found.stroke_m) <= rises_m + 1e-12


@SETTINGS
@given(increments=arrays(np.float64, st.integers(4, 20), elements=st.floats(0.0, 9.0)), drop=st.integers(1, 18), start=st.floats(1e3, 9e4))
def test_a_deleted_reading_changes_no_total(increments: np.ndarray, drop: int, start: float) -> None:
    time_s = 10.0 * np.arange(len(increments) + 1)
    counter = start + np.concatenate([[0.0], np.cumsum(increments)])
    drop = min(drop, len(counter) - 2)
    whole = COUNTER(readings=table(COUNTER, "readings", time_s=time_s, counter=counter), largest_rate=1.0)
    fewer = COUNTER(readings=table(COUNTER, "readings", time_s=np.delete(time_s, drop), counter=np.delete(counter, drop)), largest_rate=1.0)
    assert float(whole.total) == pytest.approx(float(increments.sum()), rel=1e-9, abs=1e-9)
    assert float(fewer.total) == pytest.approx(float(whole.total), rel=1e-9, abs=1e-9)


@SETTINGS
@given(
    increments=arrays(np.float64, st.integers(8, 20), elements=st.floats(0.0, 9.0)),
    at=st.integers(1, 12),
    zeros=st.integers(1, 5),
    modulus=st.sampled_from([1e4, 1e5]),
)
def test_zeros_and_roll_over_together_keep_the_total(increments: np.ndarray, at: int, zeros: int, modulus: float) -> None:
    """A run of up to five zero readings is healed; the counter passes its end where the zeros do not hide it."""
    time_s = 10.0 * np.arange(len(increments) + 1)
    counter = 500.0 + np.concatenate([[0.0], np.cumsum(increments)])
    broken = np.array(counter)
    broken[at : min(at + zeros, len(counter) - 1)] = 0.0
    found = COUNTER(readings=table(COUNTER, "readings", time_s=time_s, counter=broken), largest_rate=1.0)
    assert float(found.total) == pytest.approx(float(increments.sum()), rel=1e-9, abs=1e-9)
    rolled = np.mod(counter - 500.0 + modulus - 30.0, modulus)
    over = COUNTER(readings=table(COUNTER, "readings", time_s=time_s, counter=rolled), largest_rate=1.0, modulus=modulus)
    assert float(over.total) == pytest.approx(float(increments.sum()), rel=1e-9, abs=1e-9)


@SETTINGS
@given(
    values=arrays(np.float64, st.integers(1, 15), elements=st.floats(-100, 100)),
    seed=st.integers(0, 1000),
    probability=st.floats(0.01, 0.99),
    factor=st.floats(0.1, 50.0),
)
def test_percentiles_know_neither_order_nor_unit_of_the_weights(values: np.ndarray, seed: int, probability: float, factor: float) -> None:
    rng = np.random.default_rng(seed)
    weights, order = rng.uniform(0.1, 5.0, len(values)), rng.permutation(len(values))
    plain = PERCENTILE(samples=table(PERCENTILE, "samples", value=values, weight=weights), probability=probability)
    other = PERCENTILE(samples=table(PERCENTILE, "samples", value=values[order], weight=factor * weights[order]), probability=probability)
    assert float(plain.percentile) == float(other.percentile)


@settings(max_examples=8, deadline=None, derandomize=True)
@given(count=st.integers(1, 4), step_s=st.sampled_from([5.0, 10.0, 30.0]), seed=st.integers(0, 99))
def test_cycles_of_a_simulated_drive(count: int, step_s: float, seed: int) -> None:
    """The simulated crew knows the truth: so many rings, 1.5 m and 25 minutes each, ends of pushes where they were."""
    time_s, extension_m, thrust_kn, ends_s = drive(count, step_s, 0.001, seed)
    samples = table(SCHMITT, "samples", time_s=time_s, ram_extension_m=extension_m, thrust_kn=thrust_kn)
    found = SCHMITT(samples=samples, ring_length_m=1.5, rest_extension_m=0.3, high_thrust_kn=18000.0)
    assert int(found.cycle_count) == count
    np.testing.assert_allclose(found.stroke_m, 1.5, atol=0.008)
    np.testing.assert_allclose(found.push_net_s, PUSH_S, atol=2 * step_s)
    for ring, end_s in enumerate(ends_s):
        assert found.cycle[np.searchsorted(time_s, end_s)] == ring


def test_one_more_ring_changes_no_ring_before_it() -> None:
    time_s, extension_m, thrust_kn, ends_s = drive(4, 10.0, 0.001, 3)
    known = time_s <= ends_s[2] + WAIT_S + BUILD_S
    whole, part = (
        SCHMITT(
            samples=table(SCHMITT, "samples", time_s=time_s[rows], ram_extension_m=extension_m[rows], thrust_kn=thrust_kn[rows]),
            ring_length_m=1.5, rest_extension_m=0.3, high_thrust_kn=18000.0,
        )
        for rows in (slice(None), known)
    )  # fmt: skip
    np.testing.assert_array_equal(part.cycle, whole.cycle[known])
    np.testing.assert_allclose(part.stroke_m, whole.stroke_m[:3])
    np.testing.assert_allclose(part.push_net_s, whole.push_net_s[:3])


def test_a_stuck_value_column_touches_no_other() -> None:
    """A value that is never read leaves the stroke of its neighbours' table alone, and gives no mean."""
    time_s = 10.0 * np.arange(6)
    rows = {"time_s": time_s, "ram_extension_m": 0.3 + 0.1 * np.arange(6), "advancing": np.ones(6)}
    silent = MEAN(samples=table(MEAN, "samples", value=np.full(6, np.nan), **rows))
    assert np.isnan(silent.time_mean)
    assert float(STROKE(samples=table(STROKE, "samples", **rows)).stroke_m) == pytest.approx(0.5)


@SETTINGS
@given(values=arrays(np.float64, st.integers(5, 30), elements=st.floats(-3, 3)), shift=st.floats(-50, 50), scale=st.floats(0.1, 20))
def test_charts_do_not_know_the_unit(values: np.ndarray, shift: float, scale: float) -> None:
    for name, result in (("record.trend.cusum", "upper_sum"), ("record.trend.ewma", "statistic")):
        chart = METHODS[name]
        plain = chart(value=values, target=0.0, standard_deviation=1.0)
        moved = chart(value=shift + scale * values, target=shift, standard_deviation=scale)
        wanted = getattr(plain, result) if result == "upper_sum" else shift + scale * plain.statistic
        np.testing.assert_allclose(getattr(moved, result), wanted, rtol=1e-7, atol=1e-7)


def test_simulated_rings_per_false_alarm() -> None:
    """The integral equation against charts that were really drawn: 400 series of normal values, CUSUM k 0.5 and h 3."""
    rng = np.random.default_rng(11)
    chart, lengths = METHODS["record.trend.cusum"], []
    for _ in range(400):
        found = float(chart(value=rng.standard_normal(600), target=0.0, standard_deviation=1.0, decision_limit=3.0).first_alarm_position)
        lengths.append(min(found, 600.0) if np.isfinite(found) else 600.0)
    expected = float(METHODS["record.trend.cusum_run_length"](decision_limit=3.0).average_run_length)
    assert np.mean(lengths) == pytest.approx(expected, rel=4 / np.sqrt(400))
