"""Bits of quality of single samples, and what is taken out before anything is summed."""

import ibis
import numpy as np
import pyarrow as pa
import pytest

from tunnelwright.logs.engine import expression_engine
from tunnelwright.logs.quality import Quality, clean, sample_bits
from tunnelwright.logs.spikes import spike_mask
from tunnelwright.logs.suspects import factor_hint

NAMES = ["thrust_kn", "screw_speed_rpm"]


@pytest.fixture
def tables():
    with expression_engine() as (backend, _folder):
        samples = backend.create_table(
            "samples",
            pa.table({"time_ms": [0, 1000, 2000, 3000], "thrust_kn": [15_000.0, None, -9e9, 16_000.0], "screw_speed_rpm": [8.0, 8.0, 40.0, 8.0]}),
            temp=True,
        )
        spikes = backend.create_table("spikes", pa.table({"time_ms": [2000], "channel": ["screw_speed_rpm"]}), temp=True)
        yield samples, spikes


def test_bits(tables) -> None:
    found = sample_bits(tables[0], NAMES, tables[1]).order_by("time_ms").to_pyarrow()
    assert found["thrust_kn"].to_pylist() == [0, int(Quality.MISSING), int(Quality.OUT_OF_RANGE), 0]
    assert found["screw_speed_rpm"].to_pylist() == [0, 0, int(Quality.SPIKE), 0]


def test_cleaning(tables) -> None:
    found = clean(tables[0], NAMES, tables[1], ["screw_speed_rpm"]).order_by(ibis.asc("time_ms")).to_pyarrow()
    assert found["thrust_kn"].to_pylist() == [15_000.0, None, None, 16_000.0]
    assert found["screw_speed_rpm"].to_pylist() == [8.0, 8.0, None, 8.0]


@pytest.mark.parametrize(("step_ms", "width", "expected"), [(1000, 1, 1), (1000, 2, 2), (1000, 3, 0), (10_000, 1, 0)])
def test_a_spike_is_short_in_samples_and_in_time(step_ms: int, width: int, expected: int) -> None:
    # A dip of ten seconds at ten-second logging is real.
    values = 200.0 + np.random.default_rng(4).normal(0, 1, 200)
    values[100 : 100 + width] += 150.0
    assert spike_mask(step_ms * np.arange(200), values, 30.0).sum() == expected


def test_a_noisy_channel_has_a_higher_threshold() -> None:
    values = 200.0 + 40.0 * np.random.default_rng(4).normal(0, 1, 2000)
    # Nearly half of the samples lie beyond the floor.
    assert spike_mask(1000 * np.arange(2000), values, 30.0).sum() < 20


def test_factors() -> None:
    assert factor_hint(1.8, (20.0, 1500.0)) == 100.0
    assert factor_hint(180.0, (20.0, 1500.0)) is None
    assert factor_hint(0.0, (20.0, 1500.0)) is None
    assert factor_hint(0.5, (20.0, 60.0), "t/h") == 60.0
    assert factor_hint(0.5, (20.0, 60.0), "kPa") == 100.0
