"""What the lazy expressions of the log engine say is what the registered kernels say, on hand tables and on a generated log."""

import importlib.util
import sys
from pathlib import Path
from types import ModuleType

import ibis
import numpy as np
import pyarrow as pa
import pytest

from tunnelwright.engineering.record.counter import CounterReadings, counter_difference
from tunnelwright.engineering.record.cycle import PushSamples, schmitt_cycles, schmitt_transitions
from tunnelwright.engineering.record.integral import RateSamples, rate_integral
from tunnelwright.engineering.record.pressure import ChamberSensors, chamber_pressure_at_levels
from tunnelwright.engineering.record.ring_number import BeltSpeeds, belt_arrival_time
from tunnelwright.engineering.record.weighted import (
    LevelSamples,
    ValueSamples,
    WeightedSamples,
    mean_weighted,
    percentile_weighted,
    time_outside,
)
from tunnelwright.logs.belt import departure_ms
from tunnelwright.logs.chamber import chamber_line, with_gradients
from tunnelwright.logs.channel_map import ChannelFacts
from tunnelwright.logs.counters import increments
from tunnelwright.logs.cycles import LevelHistory, gap_ends, judged_runs, labelled_intervals, passages, run_table
from tunnelwright.logs.engine import expression_engine
from tunnelwright.logs.intervals import integral_columns, mean_columns, times_outside, valid_intervals, weighted_percentiles, with_total_stroke
from tunnelwright.logs.motion import PushRules, moving_intervals, with_runs, with_strokes
from tunnelwright.logs.phases import Phase

RELATIVE = 1e-9
RULES = PushRules(ring_length_m=1.5, rest_extension_m=0.3, high_thrust_kn=17_000.0, gap_limit_s=120.0)


def _small_drive() -> ModuleType:
    path = Path(__file__).parents[1] / "unit" / "logs" / "small_drive.py"
    if "small_drive" not in sys.modules:
        spec = importlib.util.spec_from_file_location("small_drive", path)
        assert spec is not None
        assert spec.loader is not None
        sys.modules["small_drive"] = importlib.util.module_from_spec(spec)
        spec.loader.exec_module(sys.modules["small_drive"])
    return sys.modules["small_drive"]


@pytest.fixture
def backend():
    with expression_engine() as (engine, _folder):
        yield engine


def _samples(rng: np.random.Generator, count: int = 40) -> tuple[np.ndarray, np.ndarray]:
    """Return uneven times of a hand-sized table in whole milliseconds, and in seconds."""
    time_ms = 1_767_600_000_000 + np.cumsum(rng.integers(2000, 15_000, count))
    return time_ms, (time_ms - time_ms[0]) / 1000.0


def _labels(time_ms: np.ndarray, phase: np.ndarray, stroke_m: np.ndarray) -> pa.Table:
    return pa.table({"time_ms": time_ms, "label": np.zeros(len(time_ms), dtype=np.int64), "phase": phase.astype(np.int64), "stroke_m": stroke_m})


def _with_holes(values: np.ndarray, rng: np.random.Generator, share: float) -> np.ndarray:
    return np.where(rng.random(len(values)) < share, np.nan, values)


def _column(values: np.ndarray) -> pa.Array:
    return pa.array(values, mask=~np.isfinite(values))


@pytest.mark.parametrize("interpolation", ["trapezoid", "step"])
@pytest.mark.parametrize("hole_share", [0.0, 0.25])
def test_rate_integral(backend, interpolation: str, hole_share: float) -> None:
    rng = np.random.default_rng(7)
    time_ms, time_s = _samples(rng)
    rate = _with_holes(rng.uniform(0, 600, 40), rng, hole_share)
    samples = backend.create_table("samples", pa.table({"time_ms": time_ms, "belt": _column(rate)}), temp=True)
    labels = backend.create_table("labels", with_total_stroke(ibis.memtable(_labels(time_ms, np.zeros(40), np.zeros(40)))), temp=True)
    rows = valid_intervals(samples, labels, ["belt"], 20.0, ["belt"] if interpolation == "step" else [])
    found = rows.group_by("label").aggregate(**integral_columns(rows, "belt", 1 / 3600.0), unknown=rows.dt_s.sum(where=~rows.known)).to_pyarrow().to_pylist()[0]
    kernel = rate_integral(samples=RateSamples(time_s=time_s, rate=rate), interpolation=interpolation, gap_limit_s=20.0)
    assert found["belt__integral"] == pytest.approx(float(kernel.integral), rel=RELATIVE)
    assert (found["unknown"] or 0.0) == pytest.approx(float(kernel.unknown_time_s), rel=RELATIVE)


@pytest.mark.parametrize("hole_share", [0.0, 0.2])
def test_weighted_means(backend, hole_share: float) -> None:
    rng = np.random.default_rng(11)
    time_ms, time_s = _samples(rng)
    advancing = np.arange(40) % 20 > 2
    extension = np.cumsum(np.where(advancing, rng.uniform(0.001, 0.02, 40), 0.0)) + 0.3
    value = rng.uniform(8000, 20_000, 40)
    # Holes lie within a run of advancing intervals, where the label of a longer interval is that of all its parts.
    inside = advancing & np.roll(advancing, 1) & np.roll(advancing, -1) & (rng.random(40) < hole_share)
    value = np.where(inside, np.nan, value)
    stroke = np.where(advancing, np.diff(extension, prepend=extension[0]), 0.0)
    phase = np.where(advancing, int(Phase.ADVANCING), int(Phase.SHORT_STOP))
    samples = backend.create_table("samples", pa.table({"time_ms": time_ms, "thrust": _column(value)}), temp=True)
    labels = backend.create_table("labels", with_total_stroke(ibis.memtable(_labels(time_ms, phase, stroke))), temp=True)
    rows = valid_intervals(samples, labels, ["thrust"], 1e6)
    found = rows.group_by("label").aggregate(**mean_columns(rows, "thrust")).to_pyarrow().to_pylist()[0]
    kernel = mean_weighted(samples=ValueSamples(time_s=time_s, ram_extension_m=extension, value=value, advancing=advancing.astype(float)))
    assert found["thrust__time_sum"] / found["thrust__time"] == pytest.approx(float(kernel.time_mean), rel=RELATIVE)
    assert found["thrust__stroke_sum"] / found["thrust__stroke"] == pytest.approx(float(kernel.stroke_mean), rel=RELATIVE)
    assert found["thrust__stroke"] == pytest.approx(float(kernel.stroke_m), rel=RELATIVE)
    assert found["thrust__time"] == pytest.approx(float(kernel.push_time_s), rel=RELATIVE)


@pytest.mark.parametrize("probability", [0.05, 0.5, 0.8, 0.95, 1.0])
def test_weighted_percentiles(backend, probability: float) -> None:
    rng = np.random.default_rng(3)
    value, weight = rng.integers(0, 12, 40).astype(float), rng.integers(1, 50, 40).astype(float)
    rows = backend.create_table("rows", pa.table({"label": np.zeros(40, dtype=np.int64), "time_ms": np.arange(40), "dt_s": weight, "x": value}), temp=True)
    found = weighted_percentiles(rows, "x", {"found": probability}).to_pyarrow()["found"][0].as_py()
    assert found == float(percentile_weighted(samples=WeightedSamples(value=value, weight=weight), probability=probability).percentile)


@pytest.mark.parametrize("hole_share", [0.0, 0.3])
@pytest.mark.parametrize("side", ["below", "above"])
def test_time_outside(backend, side: str, hole_share: float) -> None:
    rng = np.random.default_rng(5)
    time_ms, time_s = _samples(rng)
    level = _with_holes(200.0 + 15.0 * np.sin(np.arange(40) / 4.0) + rng.normal(0, 4, 40), rng, hole_share)
    samples = backend.create_table("samples", pa.table({"time_ms": time_ms, "crown": _column(level)}), temp=True)
    labels = backend.create_table("labels", with_total_stroke(ibis.memtable(_labels(time_ms, np.zeros(40), np.zeros(40)))), temp=True)
    limits = backend.create_table("limits", pa.table({"label": [0], "limit": [200.0]}), temp=True)
    rows = valid_intervals(samples, labels, ["crown"], 13.0)
    found = times_outside(rows, "crown", limits, side, "limit").to_pyarrow().to_pylist()[0]
    kernel = time_outside(samples=LevelSamples(time_s=time_s, value=level), lower_limit=200.0, upper_limit=200.0, gap_limit_s=13.0)
    assert found["total_s"] == pytest.approx(float(getattr(kernel, f"time_{side}_s")), rel=RELATIVE)
    assert found["longest_s"] == pytest.approx(float(getattr(kernel, f"longest_{side}_s")), rel=RELATIVE)
    assert found["depth_s"] == pytest.approx(float(getattr(kernel, f"depth_integral_{side}")), rel=RELATIVE)


def test_chamber_line(backend) -> None:
    rng = np.random.default_rng(9)
    depth = {"a": 0.8, "b": 1.6, "c": 3.2, "d": 4.6, "e": 5.8}
    pressure = np.stack([180 + 14 * z + rng.normal(0, 6, 40) for z in depth.values()], axis=1)
    pressure[rng.random(pressure.shape) < 0.2] = np.nan
    pressure[:, :2] = np.nan_to_num(pressure[:, :2], nan=190.0)
    table = pa.table({"time_ms": np.arange(40), **{name: _column(pressure[:, at]) for at, name in enumerate(depth)}})
    gradients = backend.create_table("gradients", with_gradients(backend.create_table("pressures", table, temp=True), depth, {}), temp=True)
    found = chamber_line(gradients, depth, {}, 3.35).order_by("time_ms").to_pyarrow()
    kernel = chamber_pressure_at_levels(
        sensors=ChamberSensors(depth_m=np.broadcast_to(list(depth.values()), pressure.shape), pressure_kpa=pressure),
        axis_depth_m=3.35,
        excavation_diameter_m=6.7,
    )
    assert np.asarray(found["axis_kpa"]) == pytest.approx(kernel.face_pressure_axis_kpa, rel=RELATIVE)
    assert np.asarray(found["crown_kpa"]) == pytest.approx(kernel.face_pressure_crown_kpa, rel=RELATIVE)
    assert np.asarray(found["gradient_kn_m3"]) == pytest.approx(kernel.support_unit_weight_kn_m3, rel=RELATIVE)


COUNTERS = {
    # Hand cases R4 to R6 of the method page, with their totals.
    "roll over": ([99_950.0, 99_990.0, 25.0, 60.0], 100_000.0, 110.0),
    "reset": ([812.0, 820.0, 3.0, 9.0], None, 17.0),
    "spike": ([500.0, 505.0, 9_505.0, 515.0, 520.0], None, 20.0),
    "glitch": ([500.0, 505.0, 0.0, 515.0, 520.0], None, 20.0),
    "run of zeros": ([500.0, 505.0, 0.0, 0.0, 0.0, 520.0, 525.0], None, 25.0),
    "fault": ([500.0, 505.0, 900.0, 905.0], None, 10.0),
}


def _counted(backend, time_ms: np.ndarray, values: np.ndarray, rate: float, tolerance: float, modulus: float | None) -> float:
    valid = np.isfinite(values)
    table = backend.create_table("readings", pa.table({"time_ms": time_ms[valid], "value": values[valid]}), temp=True, overwrite=True)
    facts = ChannelFacts(name="belt", kind="counter", modulus=modulus, largest_rate_per_s=rate, tolerance=tolerance)
    return increments(backend, table, facts)[0].increment.sum().to_pyarrow().as_py()


@pytest.mark.parametrize("name", COUNTERS)
def test_counter_by_hand(backend, name: str) -> None:
    readings, modulus, total = COUNTERS[name]
    rate = 40.0 if name == "roll over" else 1.5
    time_ms = 10_000 * np.arange(1, len(readings) + 1)
    assert _counted(backend, time_ms, np.array(readings), rate if modulus else 1.5, 0.0, modulus) == total


@pytest.mark.parametrize("seed", range(4))
def test_counter_with_events(backend, seed: int) -> None:
    rng = np.random.default_rng(seed)
    count = 400
    time_ms = 1_767_600_000_000 + np.cumsum(rng.integers(1000, 5000, count))
    values = np.cumsum(rng.uniform(0, 1.0, count)) + 50.0
    values[rng.integers(20, 380, 3)] = 0.0
    values[rng.integers(20, 380, 3)] += 500.0
    values[250:] -= values[250] - 0.2
    values[rng.random(count) < 0.05] = np.nan
    kernel = counter_difference(readings=CounterReadings(time_s=(time_ms - time_ms[0]) / 1000.0, counter=values), largest_rate=1.0, tolerance=0.1)
    assert _counted(backend, time_ms, values, 1.0, 0.1, None) == pytest.approx(float(kernel.total), rel=RELATIVE)


def _labelled(backend, time_ms: np.ndarray, extension: np.ndarray, thrust: np.ndarray, rules: PushRules):
    cleaned = backend.create_table(
        "cleaned", pa.table({"time_ms": time_ms, "ram_extension_a_m": _column(extension), "thrust_kn": _column(thrust)}), temp=True, overwrite=True
    )
    moving = backend.create_table(
        "moving", moving_intervals(cleaned, ["ram_extension_a_m"], rules, ["ram_extension_a_m", "thrust_kn"]), temp=True, overwrite=True
    )
    history = LevelHistory.of(passages(moving).to_pyarrow(), None)
    numbered = backend.create_table("numbered", with_runs(moving, history.fall_ms.tolist()), temp=True, overwrite=True)
    runs = judged_runs(run_table(numbered).to_pyarrow(), history, gap_ends(numbered, cleaned), rules, None)
    table = backend.create_table("runs", runs.as_table(), temp=True, overwrite=True)
    return with_strokes(labelled_intervals(numbered, table)).order_by("time_ms").to_pyarrow(), history


def test_transitions_by_hand(backend) -> None:
    # R10: HIGH above 1.2, LOW below 0.825; one change, at the sample 0.6.
    extension = np.array([0.3, 0.8, 1.3, 1.7, 1.4, 1.3, 1.7, 1.8, 1.2, 0.9, 0.6, 0.3, 0.9, 1.5])
    time_ms = 10_000 * np.arange(1, 15)
    _rows, history = _labelled(backend, time_ms, extension, np.full(14, 15_000.0), RULES)
    kernel = schmitt_transitions(ram_extension_m=extension, ring_length_m=1.5, rest_extension_m=0.3)
    assert history.fall_ms.tolist() == [time_ms[10]] == time_ms[np.asarray(kernel.transition_index, dtype=int)].tolist()


@pytest.mark.parametrize("step_s", [1.0, 10.0, 20.0])
@pytest.mark.parametrize("hole_share", [0.0, 0.02])
def test_cycles_of_a_log(backend, step_s: float, hole_share: float) -> None:
    sd = _small_drive()
    drive = sd.small_drive(3, step_s=step_s, noise=1.0)
    rng = np.random.default_rng(2)
    extension = _with_holes(drive.columns["ram_extension_a_m"], rng, hole_share)
    thrust = _with_holes(drive.columns["thrust_kn"], rng, hole_share)
    rules = PushRules(ring_length_m=1.5, rest_extension_m=0.3, high_thrust_kn=17_000.0, gap_limit_s=1e6)
    rows, history = _labelled(backend, drive.time_ms, extension, thrust, rules)
    samples = PushSamples(time_s=(drive.time_ms - drive.time_ms[0]) / 1000.0, ram_extension_m=extension, thrust_kn=thrust)
    kernel = schmitt_cycles(samples=samples, ring_length_m=1.5, rest_extension_m=0.3, high_thrust_kn=17_000.0)
    cycle, advancing = np.asarray(rows["cycle"]), np.asarray(rows["advancing"])
    assert cycle.tolist() == np.asarray(kernel.cycle).tolist()
    assert len(history.fall_ms) == float(kernel.transition_count)
    for number in range(int(kernel.cycle_count)):
        own = advancing & (cycle == number)
        assert np.asarray(rows["dt_s"])[own].sum() == pytest.approx(kernel.push_net_s[number], rel=RELATIVE)
        assert np.asarray(rows["stroke_m"])[own].sum() == pytest.approx(kernel.stroke_m[number], rel=RELATIVE)


def test_belt() -> None:
    # R18: 2.5 m/s for 40 s, at rest for 100 s, 2.5 m/s again; what was dropped at 0 passes the weigher 150 m on at 160 s.
    time_ms = 1000 * np.arange(0, 301)
    speed = np.where((time_ms >= 40_000) & (time_ms < 140_000), 0.0, 2.5)
    departure = departure_ms(time_ms, speed, 150.0, 1e6)
    arrival = belt_arrival_time(belt_speeds=BeltSpeeds(start_s=np.array([0.0, 40.0, 140.0]), belt_speed_m_s=np.array([2.5, 0.0, 2.5])), distance_m=150.0)
    assert departure[time_ms == round(1000 * float(arrival.arrival_time_s))].tolist() == [0]
    assert departure[200] == 140_000
    assert departure[100] < 0
