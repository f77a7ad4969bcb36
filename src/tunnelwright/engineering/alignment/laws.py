"""Laws of curvature, and the plane curve that each of them draws.

An element runs over its length L from curvature k1 to k2; with xi = s/L and dk = k2 - k1

    curvature  k1 + dk g(xi)          turn  k1 s + dk L G(xi),   G = integral of g from 0

All laws have g(0) = 0, g(1) = 1 and G(1) = 1/2, so an element of any law turns by (k1 + k2) L/2. In the frame of the element's start, x runs along
the tangent and y to the right: x = integral of cos(turn) ds, y = integral of sin(turn) ds.
"""

from collections.abc import Callable
from typing import Final, Literal

import numpy as np

from tunnelwright.vocabulary.types import FloatArray, Number

ElementType = Literal["line", "circular_arc", "clothoid", "bloss", "cosine", "sine", "helmert"]

# Twenty Gauss points on a panel that turns by no more than this give better than 1e-12 of its length.
_PANEL_TURN_RAD: Final = 0.5
# A guard against nonsense: an element that turns by more than 200 rad loses accuracy instead of time.
_PANELS_MAX: Final = 400
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(20)


def _helmert_curvature(share: FloatArray) -> FloatArray:
    return np.where(share < 0.5, 2 * share**2, 1 - 2 * (1 - share) ** 2)


def _helmert_turn(share: FloatArray) -> FloatArray:
    return np.where(share < 0.5, 2 * share**3 / 3, share - 0.5 + 2 * (1 - share) ** 3 / 3)


CURVATURE_SHARE: Final[dict[str, Callable[[FloatArray], FloatArray]]] = {
    "line": np.zeros_like,
    "circular_arc": np.zeros_like,
    "clothoid": lambda share: share,
    "bloss": lambda share: (3 - 2 * share) * share**2,
    "cosine": lambda share: (1 - np.cos(np.pi * share)) / 2,
    "sine": lambda share: share - np.sin(2 * np.pi * share) / (2 * np.pi),
    "helmert": _helmert_curvature,
}
TURN_SHARE: Final[dict[str, Callable[[FloatArray], FloatArray]]] = {
    "line": np.zeros_like,
    "circular_arc": np.zeros_like,
    "clothoid": lambda share: share**2 / 2,
    "bloss": lambda share: share**3 - share**4 / 2,
    "cosine": lambda share: share / 2 - np.sin(np.pi * share) / (2 * np.pi),
    "sine": lambda share: share**2 / 2 + (np.cos(2 * np.pi * share) - 1) / (4 * np.pi**2),
    "helmert": _helmert_turn,
}


def turn(law: str, length_m: Number, start_curvature_1_m: Number, end_curvature_1_m: Number, distance_m: Number) -> FloatArray:
    """Return the change of bearing from the element's start to a distance in it, positive right."""
    change = np.subtract(end_curvature_1_m, start_curvature_1_m)
    return start_curvature_1_m * np.asarray(distance_m) + change * length_m * TURN_SHARE[law](_share(distance_m, length_m))


def curvature(law: str, length_m: Number, start_curvature_1_m: Number, end_curvature_1_m: Number, distance_m: Number) -> FloatArray:
    """Return the curvature at a distance in the element, positive right."""
    return start_curvature_1_m + np.subtract(end_curvature_1_m, start_curvature_1_m) * CURVATURE_SHARE[law](_share(distance_m, length_m))


def _share(distance_m: Number, length_m: Number) -> FloatArray:
    """Return the share of the element that was run through; 0 in one without length."""
    length = np.asarray(length_m, dtype=np.float64)
    return np.asarray(distance_m, dtype=np.float64) / np.where(length == 0, 1.0, length)


def displacement(law: str, length_m: Number, start_curvature_1_m: Number, end_curvature_1_m: Number, distance_m: Number) -> tuple[FloatArray, FloatArray]:
    """Return how far a distance in the element leads along its first tangent and to the right of it."""
    if law in ("line", "circular_arc"):
        return _arc_displacement(np.asarray(start_curvature_1_m), np.asarray(distance_m))
    inputs = np.broadcast_arrays(length_m, start_curvature_1_m, end_curvature_1_m, distance_m)
    length, start, end, distance = (np.asarray(one, dtype=np.float64) for one in inputs)
    # The law of Helmert changes its polynomial at mid length; each half is integrated by itself.
    first_part = np.minimum(distance, length / 2) if law == "helmert" else distance
    parts = [(np.zeros_like(distance), first_part), (first_part, distance)] if law == "helmert" else [(np.zeros_like(distance), distance)]
    along, across = np.zeros_like(distance), np.zeros_like(distance)
    for low, high in parts:
        x, y = _integrated(law, length, start, end, low, high)
        along, across = along + x, across + y
    return along, across


def _arc_displacement(curvature_1_m: FloatArray, distance_m: FloatArray) -> tuple[FloatArray, FloatArray]:
    half_turn = curvature_1_m * distance_m / 2
    # sin(t)/t stays exact for a straight line, where 1/curvature would not.
    return distance_m * np.sinc(2 * half_turn / np.pi), distance_m * np.sin(half_turn) * np.sinc(half_turn / np.pi)


def _integrated(law: str, length: FloatArray, start: FloatArray, end: FloatArray, low: FloatArray, high: FloatArray) -> tuple[FloatArray, FloatArray]:
    largest_turn = np.maximum(np.abs(start), np.abs(end)) * np.abs(high - low)
    finite = largest_turn[np.isfinite(largest_turn)]
    panels = int(np.clip(np.ceil(np.max(finite, initial=0.0) / _PANEL_TURN_RAD), 1, _PANELS_MAX))
    half = (high - low) / (2 * panels)
    along, across = np.zeros_like(half), np.zeros_like(half)
    for panel in range(panels):
        middle = low + (2 * panel + 1) * half
        place = middle[..., None] + half[..., None] * _NODES
        bearing = turn(law, length[..., None], start[..., None], end[..., None], place)
        along = along + half * (np.cos(bearing) @ _WEIGHTS)
        across = across + half * (np.sin(bearing) @ _WEIGHTS)
    return along, across
