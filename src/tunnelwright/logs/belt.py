"""Muck on its way: when that which a weigher sees now left the screw."""

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
Times = NDArray[np.int64]


def departure_ms(time_ms: Times, belt_speed_m_s: FloatArray, distance_m: float, gap_limit_s: float) -> Times:
    """Return when the muck that passes the weigher at each sample was dropped on the belt.

    Parameters
    ----------
    time_ms, belt_speed_m_s : samples in order; the belt keeps the speed of a sample until the next one, a missing reading is a standing belt.
    distance_m : along the belt from the drop to the weigher.

    Notes
    -----
    The belt's travel is added up; what passes at travel X was dropped at travel X minus the distance. Muck dropped before the first sample has
    no departure here and gets an instant before all samples.
    """
    if not len(time_ms):
        return time_ms
    dt_s = np.diff(time_ms) / 1000.0
    speed = np.where(np.isfinite(belt_speed_m_s), np.maximum(belt_speed_m_s, 0.0), 0.0)[:-1]
    travel_m = np.concatenate([[0.0], np.cumsum(np.where(dt_s > gap_limit_s, 0.0, speed * dt_s))])
    dropped_at_m = travel_m - distance_m
    place = np.searchsorted(travel_m, dropped_at_m, side="right") - 1
    known = place >= 0
    place = np.clip(place, 0, max(0, len(travel_m) - 2))
    behind_m = dropped_at_m - travel_m[place]
    pace = np.concatenate([speed, [0.0]])[place]
    late_s = np.divide(behind_m, pace, out=np.zeros(len(behind_m)), where=pace > 0)
    origin = time_ms[place] + np.round(1000.0 * late_s).astype(np.int64)
    return np.where(known, np.minimum(origin, time_ms), time_ms[0] - 1)
