"""Which chamber sensors may speak, and muck on its way."""

import numpy as np

from tunnelwright.logs.belt import departure_ms
from tunnelwright.logs.chamber import sensor_health
from tunnelwright.logs.context import RecordContext

DEPTHS = {"a": 0.8, "b": 1.6, "c": 3.2, "d": 4.6, "e": 5.8}
CONTEXT = RecordContext(ring_length_m=1.5, sensor_depth_m=DEPTHS, axis_depth_m=3.35)


def _health(medians: np.ndarray, ranges: np.ndarray | None = None):
    return sensor_health(tuple(DEPTHS), medians, np.full(medians.shape, 8.0) if ranges is None else ranges, np.full(len(medians), 1800.0), CONTEXT)


def _good(rings: int) -> np.ndarray:
    return np.tile([180 + 14 * depth for depth in DEPTHS.values()], (rings, 1))


def test_good_sensors_all_speak() -> None:
    health = _health(_good(8))
    assert not health.excluded.any()
    assert np.abs(health.residual_kpa).max() < 1e-9


def test_a_drift_counts_from_the_first_of_three_rings_until_three_without() -> None:
    medians = _good(12)
    medians[4:8, 2] -= 20.0
    health = _health(medians)
    assert np.flatnonzero(health.drifting[:, 2]).tolist() == [4, 5, 6, 7, 8, 9]
    assert not health.drifting[:, [0, 1, 3, 4]].any()


def test_one_ring_is_an_outlier_of_its_own() -> None:
    medians = _good(8)
    medians[3, 4] += 60.0
    health = _health(medians)
    assert np.argwhere(health.outlier).tolist() == [[3, 4]]
    assert not health.drifting.any()


def test_a_frozen_sensor_is_out_but_two_sensors_always_stay() -> None:
    ranges = np.full((3, 5), 8.0)
    ranges[:, 1] = 0.0
    assert np.argwhere(_health(_good(3), ranges).excluded)[:, 1].tolist() == [1, 1, 1]
    ranges[:, :4] = 0.0
    assert not _health(_good(3), ranges).excluded.any()


def test_a_belt_at_rest_carries_nothing() -> None:
    time_ms = 1000 * np.arange(10)
    assert departure_ms(time_ms, np.zeros(10), 5.0, 30.0).tolist() == [-1] * 10
    moving = departure_ms(time_ms, np.full(10, 2.0), 5.0, 30.0)
    assert moving.tolist() == [-1, -1, -1, 500, 1500, 2500, 3500, 4500, 5500, 6500]
