"""Queues before one server: a finite number of sources, and an open stream."""

from dataclasses import dataclass
from typing import Any

import numpy as np

from tunnelwright.engineering.programme.sources import MACHINE_REPAIR, POLLACZEK
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Values


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FiniteQueue(Record):
    """State of one server and the sources that call on it."""

    probability_empty: FloatArray
    number_in_system: FloatArray
    number_waiting: FloatArray
    waiting_time_s: FloatArray
    time_in_system_s: FloatArray


def _calls_balance(values: Values) -> Any:
    """Say whether the sources that run call as often as the server serves."""
    calls = (values["source_count"] - values["number_in_system"]) / values["mean_run_time_s"]
    return np.isclose(calls, (1 - np.asarray(values["probability_empty"])) / values["mean_service_time_s"], rtol=1e-9, equal_nan=True)


@method(
    "programme.queue.machine_repair",
    formulas={
        "number_in_system": Formula("L_s", "N_s - (1 - P_0) * t_run / t_serv"),
        "number_waiting": Formula("L_q", "L_s - (1 - P_0)"),
        "waiting_time_s": Formula("W_q", "L_q * t_serv / (1 - P_0)"),
        "time_in_system_s": Formula("W_s", "W_q + t_serv"),
    },
    found_by={
        "probability_empty": Algorithm(
            "1 / sum over n of N! / (N - n)! (t_serv / t_run)^n, by Erlang's recursion", "P_0", {"as many calls as services": _calls_balance}
        )
    },
    symbols={"source_count": "N_s", "mean_run_time_s": "t_run", "mean_service_time_s": "t_serv"},
    possible={"source_count": (1.0, 1000.0), "mean_run_time_s": (1e-3, 1e9), "mean_service_time_s": (1e-3, 1e9)},
    requires=(Require("source_count", lambda v: ~(np.mod(v["source_count"], 1) > 0), "must be a whole number"),),
    kind="mean",
    source=MACHINE_REPAIR,
)
def machine_repair(source_count: Number, mean_run_time_s: Number, mean_service_time_s: Number) -> FiniteQueue:
    """Return how long a finite number of machines waits for one crew; run and service last exponentially distributed times.

    Parameters
    ----------
    source_count : machines, or trains, or cranes.
    mean_run_time_s : between two calls of one of them.
    mean_service_time_s : of one call.
    """
    count, load = np.broadcast_arrays(np.asarray(source_count, dtype=np.float64), np.divide(mean_run_time_s, mean_service_time_s))
    inverse = np.where(np.isnan(count), np.nan, 1.0)
    for number in range(1, int(np.nanmax(count, initial=0.0, where=np.isfinite(count))) + 1):
        inverse = np.where(count >= number, 1 + inverse * number / load, inverse)
    empty = 1 / inverse
    service_s = np.asarray(mean_service_time_s)
    in_system = count - (1 - empty) * load
    waiting = in_system - (1 - empty)
    waiting_s = waiting * service_s / (1 - empty)
    return FiniteQueue(
        probability_empty=empty, number_in_system=in_system, number_waiting=waiting, waiting_time_s=waiting_s, time_in_system_s=waiting_s + service_s
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class OpenQueue(Record):
    """State of one server under an open stream of arrivals."""

    number_waiting: FloatArray
    number_in_system: FloatArray
    time_in_system_s: FloatArray
    utilisation: FloatArray


@method(
    "programme.queue.single_server",
    formulas={
        "number_waiting": Formula("L_q", "rho^2 * (1 + c_s^2) / (2 * (1 - rho))"),
        "number_in_system": Formula("L_s", "L_q + rho"),
        "time_in_system_s": Formula("W_s", "3600 / mu * (1 + rho * (1 + c_s^2) / (2 * (1 - rho)))"),
        "utilisation": Formula("rho", "lambda / mu"),
    },
    symbols={"arrival_rate_1_h": "lambda", "service_rate_1_h": "mu", "service_variation": "c_s"},
    possible={"arrival_rate_1_h": (0.0, 1e6), "service_rate_1_h": (1e-9, 1e6), "service_variation": (0.0, 10.0)},
    requires=(
        Require(
            "arrival_rate_1_h",
            lambda v: ~(v["arrival_rate_1_h"] >= v["service_rate_1_h"]),
            "must be below the rate of service",
            "else the queue grows without end",
        ),
    ),
    kind="mean",
    source=POLLACZEK,
)
def single_server(arrival_rate_1_h: Number, service_rate_1_h: Number, service_variation: Number = 1.0) -> OpenQueue:
    """Return the mean queue before one server with Poisson arrivals.

    Parameters
    ----------
    arrival_rate_1_h : arrivals, as many in any hour as in another.
    service_rate_1_h : that the server could serve without a break.
    service_variation : spread of the service over its mean: 0 like clockwork, 1 exponential.
    """
    load = np.divide(arrival_rate_1_h, service_rate_1_h)
    waits = load * (1 + np.square(service_variation)) / (2 * (1 - load))
    return OpenQueue(
        number_waiting=load * waits, number_in_system=load * waits + load, time_in_system_s=3600 / np.asarray(service_rate_1_h) * (1 + waits), utilisation=load
    )
