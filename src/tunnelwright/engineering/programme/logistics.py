"""Supply of the machine by trains: trips, bounds of the period, queues.

A train runs to the machine and back (travel time Z) and is served on its way by stations, each for its busy time D: the machine, the crane,
the muck pit. N trains share them; the period is the time from one train at the machine to the next.
"""

from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from tunnelwright.engineering.programme.sources import BOUNDS, DEFINITION, MEAN_VALUES
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Range, Remark, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Series, Values

_DISTANCE: Final = (0.0, 1e5)
_SPEED: Final = (0.1, 200.0)
_SPEED_USUAL: Final = Range(3.0, 30.0, "sites allow 8 to 12 km/h loaded")
_TRAINS: Final = (1.0, 200.0)
_WHOLE_TRAINS: Final = Require("train_count", lambda v: ~(np.mod(v["train_count"], 1) > 0), "must be a whole number")
_BUSY: Final = Require("busy_times_s", lambda v: np.sum(v["busy_times_s"]) > 0, "at least one station must be busy with a train")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TripTime(Record):
    """Time of a trip there and back."""

    trip_time_s: FloatArray


@method(
    "programme.logistics.trip_time",
    formulas={"trip_time_s": Formula("t_trip", "7.2 * x / v_tr + t_sw * n_l")},
    symbols={"distance_m": "x", "speed_km_h": "v_tr", "loop_count": "n_l"},
    valid={"speed_km_h": _SPEED_USUAL},
    possible={"distance_m": _DISTANCE, "speed_km_h": _SPEED, "loop_count": (0.0, 1000.0)},
    kind="identity",
    source=DEFINITION,
)
def trip_time(distance_m: Number, speed_km_h: Number, switch_time_s: Number = 0.0, loop_count: Number = 0.0) -> TripTime:
    """Return the time of a train to the machine and back, without waiting.

    Parameters
    ----------
    distance_m : from shaft to machine.
    speed_km_h : mean of both ways.
    switch_time_s : for each loop or switching.
    loop_count : loops and switchings of the whole trip.
    """
    return TripTime(trip_time_s=7.2 * np.divide(distance_m, speed_km_h) + np.multiply(switch_time_s, loop_count))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PeriodBounds(Record):
    """What the period cannot be below and above, and the trains from which on more of them do not help."""

    busy_max_s: FloatArray
    busy_sum_s: FloatArray
    period_deterministic_s: FloatArray
    period_upper_bound_s: FloatArray
    trains_needed_count: FloatArray


_LONGEST: Final = Algorithm("longest busy time", "D_max")
_SUM: Final = Algorithm("sum of the busy times", "D_sum")


@method(
    "programme.logistics.bounds",
    formulas={
        "period_deterministic_s": Formula("T_det", "max(D_max, (t_tr + D_sum) / n_tr)"),
        "period_upper_bound_s": Formula("T_upper", "t_tr / n_tr + D_sum"),
        # A quotient that is whole but for rounding needs no further train.
        "trains_needed_count": Formula("n_need", "ceil((t_tr + D_sum) / D_max - 1e-9)"),
    },
    found_by={"busy_max_s": _LONGEST, "busy_sum_s": _SUM},
    possible={"train_count": _TRAINS},
    requires=(_WHOLE_TRAINS, _BUSY),
    remarks=(Remark(lambda v: v["train_count"] < v["trains_needed_count"], "more trains would shorten the period: the supply is not yet bound by a station"),),
    kind="identity",
    source=BOUNDS,
)
def period_bounds(busy_times_s: Series, travel_time_s: Number, train_count: Number) -> PeriodBounds:
    """Return the period of trains that run like clockwork, and the longest that random service can make it.

    Parameters
    ----------
    busy_times_s : time that each station works per train.
    travel_time_s : on the way, without waiting.
    train_count : trains in the tunnel and at the shaft.
    """
    longest, total = float(np.max(busy_times_s)), float(np.sum(busy_times_s))
    alone = np.add(travel_time_s, total)
    return PeriodBounds(
        busy_max_s=np.asarray(longest),
        busy_sum_s=np.asarray(total),
        period_deterministic_s=np.maximum(longest, alone / train_count),
        period_upper_bound_s=np.divide(travel_time_s, train_count) + total,
        trains_needed_count=np.ceil(alone / longest - 1e-9),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MeanValues(Record):
    """Mean period, and of each station the trains at it and its load."""

    period_s: FloatArray
    queue_count: Series
    utilisation: Series


def _within_bounds(values: Values) -> Any:
    period, trains = np.asarray(values["period_s"]), np.asarray(values["train_count"])
    total, longest = np.sum(values["busy_times_s"]), np.max(values["busy_times_s"])
    low = np.maximum(longest, (values["travel_time_s"] + total) / trains)
    return np.isnan(period) | ((period >= low * (1 - 1e-9)) & (period <= (values["travel_time_s"] / trains + total) * (1 + 1e-9)))


def _every_train_is_somewhere(values: Values) -> Any:
    """Say whether the trains at the stations and on the way (by Little's law) are all trains."""
    under_way = np.asarray(values["travel_time_s"]) / values["period_s"]
    return np.isclose(np.sum(values["queue_count"], axis=-1) + under_way, values["train_count"], rtol=1e-9, equal_nan=True)


@method(
    "programme.logistics.mean_value_analysis",
    found_by={
        "period_s": Algorithm("(Z + sum of residence times) / n, from one train to all of them", "T_p", {"within the bounds": _within_bounds}),
        "queue_count": Algorithm(
            "residence time over period; a train finds on arrival what one train less would leave", "Q", {"every train is somewhere": _every_train_is_somewhere}
        ),
        "utilisation": Algorithm("busy time over period", "rho", {"below 1": lambda v: np.all(~(v["utilisation"] > 1))}),
    },
    possible={"train_count": _TRAINS},
    requires=(_WHOLE_TRAINS, _BUSY),
    kind="mean",
    source=MEAN_VALUES,
)
def mean_value_analysis(busy_times_s: Series, travel_time_s: Number, train_count: Number) -> MeanValues:
    """Return period and queues when every service lasts exponentially distributed times.

    Parameters
    ----------
    busy_times_s : mean time that each station works per train.
    travel_time_s : on the way, without waiting.
    train_count : trains in the tunnel and at the shaft.
    """
    travel, trains = np.broadcast_arrays(np.asarray(travel_time_s, dtype=np.float64), np.asarray(train_count, dtype=np.float64))
    queue = np.zeros((*trains.shape, busy_times_s.size))
    period = np.full(trains.shape, np.nan)
    most = int(np.nanmax(trains, initial=0.0, where=np.isfinite(trains)))
    for count in range(1, most + 1):
        takes_part = trains >= count
        residence = busy_times_s * (1 + queue)
        period = np.where(takes_part, (travel + residence.sum(axis=-1)) / count, period)
        queue = np.where(takes_part[..., None], residence / period[..., None], queue)
    return MeanValues(
        period_s=period, queue_count=np.where(np.isnan(period)[..., None], np.nan, queue), utilisation=busy_times_s / np.asarray(period)[..., None]
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SingleTrack(Record):
    """Shortest period of one track."""

    period_s: FloatArray


@method(
    "programme.logistics.single_track",
    formulas={"period_s": Formula("T_p", "7.2 * x / v_tr + t_occ")},
    symbols={"distance_m": "x", "speed_km_h": "v_tr", "occupied_time_s": "t_occ"},
    valid={"speed_km_h": _SPEED_USUAL},
    possible={"distance_m": _DISTANCE, "speed_km_h": _SPEED, "occupied_time_s": (0.0, 1e7)},
    kind="lower bound",
    source=DEFINITION,
)
def single_track(distance_m: Number, speed_km_h: Number, occupied_time_s: Number) -> SingleTrack:
    """Return the shortest period on a single track without a loop: one train in the tunnel at a time.

    Parameters
    ----------
    distance_m : from shaft to machine.
    speed_km_h : mean of both ways.
    occupied_time_s : that a train stands at the machine and blocks the track.
    """
    return SingleTrack(period_s=7.2 * np.divide(distance_m, speed_km_h) + occupied_time_s)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SupplyLimit(Record):
    """Distance up to which the supply keeps up with the machine."""

    busy_max_s: FloatArray
    busy_sum_s: FloatArray
    distance_m: FloatArray


@method(
    "programme.logistics.supply_limit_distance",
    formulas={"distance_m": Formula("x", "max(0, v_tr / 7.2 * (n_tr * T_cyc - D_sum - 2 * t_sw)) if D_max <= T_cyc else 0")},
    found_by={"busy_max_s": _LONGEST, "busy_sum_s": _SUM},
    symbols={"distance_m": "x", "speed_km_h": "v_tr"},
    valid={"speed_km_h": _SPEED_USUAL},
    possible={"train_count": _TRAINS, "speed_km_h": _SPEED, "cycle_time_s": (1.0, 1e8)},
    requires=(_WHOLE_TRAINS,),
    remarks=(
        Remark(lambda v: v["busy_max_s"] > v["cycle_time_s"], "one station alone takes longer than the wanted cycle: trains do not help"),
        Remark(lambda v: (v["busy_max_s"] <= v["cycle_time_s"]) & (v["distance_m"] == 0), "even at the shaft so few trains are too slow"),
    ),
    kind="identity",
    source=BOUNDS,
)
def supply_limit_distance(busy_times_s: Series, speed_km_h: Number, train_count: Number, cycle_time_s: Number, switch_time_s: Number = 0.0) -> SupplyLimit:
    """Return the distance from which on the next train or loop is needed.

    Parameters
    ----------
    busy_times_s : time that each station works per train.
    speed_km_h : mean of both ways.
    train_count : trains in the tunnel and at the shaft.
    cycle_time_s : wanted by the machine.
    switch_time_s : for loops and points on each way, there and back.

    Notes
    -----
    The period of trains that run like clockwork is the longer of the busiest station and (travel + sum of busy times) / trains; travel is
    twice distance over speed and twice the switching. Random service binds earlier: see the bounds.
    """
    longest, total = float(np.max(busy_times_s)), float(np.sum(busy_times_s))
    left_s = np.multiply(train_count, cycle_time_s) - total - 2 * np.asarray(switch_time_s)
    distance = np.maximum(0.0, np.asarray(speed_km_h) / 7.2 * left_s)
    return SupplyLimit(
        busy_max_s=np.asarray(longest),
        busy_sum_s=np.asarray(total),
        distance_m=np.where(longest > np.asarray(cycle_time_s), 0.0 * distance, distance),
    )
