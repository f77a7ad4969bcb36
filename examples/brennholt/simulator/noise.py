"""Random streams and the noise of slow things."""

from functools import cache

import numpy as np
from numpy.typing import NDArray
from scipy.signal import cont2discrete, lfilter

Array = NDArray[np.float64]


def stream(seed: int, ring_index: int, purpose: int) -> np.random.Generator:
    """Return the stream of one ring and purpose; streams do not touch each other, so a fault in one ring leaves all others as they were."""
    return np.random.default_rng([seed, ring_index, purpose])


def slow_noise(generator: np.random.Generator, count: int, correlation: float) -> Array:
    """Return noise of mean 0 and standard deviation 1 whose neighbours correlate (a first-order autoregression, started in its steady state)."""
    white = generator.standard_normal(count)
    if count:
        white[0] /= np.sqrt(1 - correlation**2)
    return np.asarray(lfilter([np.sqrt(1 - correlation**2)], [1.0, -correlation], white))


@cache
def _loop_coefficients(natural_period_s: float, damping: float, softness_m3_kpa: float, step_s: float) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Return the recursion from screw slip [m3/s] to pressure [kPa] with the loop closed.

    Pressure rises by (advance - screw) / softness; the controller turns the screw by a share of the pressure's error and of its
    integral. Their gains follow from the period and the damping that the loop shall have. Exact for a slip held over the step.
    """
    omega = 2 * np.pi / natural_period_s
    state = np.array([[-2 * damping * omega, -(omega**2)], [1.0, 0.0]])
    inlet = np.array([[-1.0 / softness_m3_kpa], [0.0]])
    discrete = cont2discrete((state, inlet, np.array([[1.0, 0.0]]), np.zeros((1, 1))), step_s)
    moving, driven = discrete[0], discrete[1]
    denominator = (1.0, -float(np.trace(moving)), float(np.linalg.det(moving)))
    # C (z I - A)^-1 B with C = (1, 0).
    numerator = (0.0, float(driven[0, 0]), float(moving[0, 1] * driven[1, 0] - moving[1, 1] * driven[0, 0]))
    return numerator, denominator


def controlled_pressure_kpa(slip_m3_s: Array, softness_m3_kpa: float, step_s: float, natural_period_s: float = 240.0, damping: float = 0.8) -> Array:
    """Return how far the chamber pressure strays from its target while the screw is controlled and slips by this flow."""
    numerator, denominator = _loop_coefficients(natural_period_s, damping, softness_m3_kpa, step_s)
    return np.asarray(lfilter(numerator, denominator, slip_m3_s))
