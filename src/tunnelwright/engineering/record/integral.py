"""Integrals of rates over the intervals between samples."""

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from tunnelwright.engineering.places import each_place
from tunnelwright.engineering.record.counter import times_in_order
from tunnelwright.engineering.record.sources import DEFINITION
from tunnelwright.vocabulary.method import Algorithm, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Table

SECONDS_PER_HOUR: Final = 3600.0
Interpolation = Literal["trapezoid", "step"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RateSamples(Table):
    """Samples of a rate per hour; a missing one is NaN."""

    time_s: FloatArray
    rate: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RateIntegral(Record):
    """Integral of a rate and the time of which nothing is known."""

    integral: FloatArray
    unknown_time_s: FloatArray


@method(
    "record.rate.integral",
    found_by={
        "integral": Algorithm(
            "sum over the intervals of mean rate (trapezoid) or rate at the start (step) times duration",
            invariants={"within the least and greatest rate": lambda v: _within(v["integral"], v["samples"].rate, v["samples"].time_s, v["unknown_time_s"])},
        ),
        "unknown_time_s": Algorithm(
            "sum of the intervals longer than the gap limit",
            invariants={"at most the whole time": lambda v: v["unknown_time_s"] <= np.ptp(v["samples"].time_s, axis=-1) + 1e-9},
        ),
    },
    units={"rate": "1/h"},
    requires=(times_in_order("samples"),),
    kind="identity",
    source=DEFINITION,
)
def rate_integral(samples: RateSamples, interpolation: Interpolation = "trapezoid", gap_limit_s: Number | None = None) -> RateIntegral:
    """Return the integral of a rate per hour over the time of its samples.

    Parameters
    ----------
    samples : time and rate per hour, in order of time; rows without a rate are passed over, the next valid one closes a longer interval.
    interpolation : straight between samples, or each sample holds until the next (archives that write on change).
    gap_limit_s : longer intervals contribute nothing and count as unknown time; without it there are no gaps.
    """

    def integrated(gap_limit: float, time_s: FloatArray, rate: FloatArray) -> tuple[float, float]:
        present = np.isfinite(rate)
        duration_s, rate = np.diff(time_s[present]), rate[present]
        level = rate[:-1] if interpolation == "step" else (rate[:-1] + rate[1:]) / 2
        gap = duration_s > gap_limit
        return float(np.sum(np.where(gap, 0.0, level * duration_s))) / SECONDS_PER_HOUR, float(np.sum(duration_s[gap]))

    integral, unknown_time_s = each_place(integrated, 2, (gap_limit_s,), (samples.time_s, samples.rate))
    return RateIntegral(integral=integral, unknown_time_s=unknown_time_s)


def _within(integral: FloatArray, rate: FloatArray, time_s: FloatArray, unknown_time_s: Number = 0.0) -> bool:
    """Return whether an integral lies between that of the least and that of the greatest rate."""
    known_h = (float(np.ptp(time_s[np.isfinite(rate)])) - np.asarray(unknown_time_s)) / SECONDS_PER_HOUR
    bounds = np.nanmin(rate) * known_h, np.nanmax(rate) * known_h
    slack = 1e-9 * (abs(bounds[0]) + abs(bounds[1]))
    return bool(np.all((integral >= bounds[0] - slack) & (integral <= bounds[1] + slack)))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SlurrySamples(Table):
    """Samples of flow and density in the feed and the return line."""

    time_s: FloatArray
    feed_flow_m3_h: FloatArray
    feed_density_t_m3: FloatArray
    return_flow_m3_h: FloatArray
    return_density_t_m3: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DrySolids(Record):
    """What came out of the ground through the slurry circuit."""

    dry_solids_t: FloatArray
    excavated_volume_m3: FloatArray


@method(
    "record.slurry.dry_solids",
    found_by={
        "dry_solids_t": Algorithm("trapezoid integral of return minus feed of flow times excess density over water, times rho_s / (rho_s - rho_w)"),
        "excavated_volume_m3": Algorithm(
            "trapezoid integral of return minus feed flow",
            invariants={
                "within the least and greatest difference of the flows": lambda v: _within(
                    v["excavated_volume_m3"], v["samples"].return_flow_m3_h - v["samples"].feed_flow_m3_h, v["samples"].time_s
                )
            },
        ),
    },
    possible={"water_density_t_m3": (0.95, 1.1)},
    requires=(
        times_in_order("samples"),
        Require("grain_density_t_m3", lambda v: v["grain_density_t_m3"] > v["water_density_t_m3"], "must be above the density of water"),
    ),
    kind="identity",
    source=DEFINITION,
)
def dry_solids(samples: SlurrySamples, grain_density_t_m3: Number = 2.65, water_density_t_m3: Number = 1.0) -> DrySolids:
    """Return the dry mass that the return line carried away more than the feed line brought, and the volume.

    Parameters
    ----------
    samples : flow and density of feed and return, in order of time; rows with a missing value are passed over.
    grain_density_t_m3 : of the ground's grains and of the bentonite alike.
    water_density_t_m3 : of the carrying water.

    Notes
    -----
    Storage in the chamber and flow through a bypass are not seen here.
    """

    def balanced(grain: float, water: float, *columns: FloatArray) -> tuple[float, float]:
        time_s, feed, feed_density, back, back_density = np.stack(columns)[:, np.isfinite(np.stack(columns)).all(axis=0)]
        solids_t_h = (back * (back_density - water) - feed * (feed_density - water)) * grain / (grain - water)
        return float(np.trapezoid(solids_t_h, time_s)) / SECONDS_PER_HOUR, float(np.trapezoid(back - feed, time_s)) / SECONDS_PER_HOUR

    columns = (samples.time_s, samples.feed_flow_m3_h, samples.feed_density_t_m3, samples.return_flow_m3_h, samples.return_density_t_m3)
    solids_t, volume_m3 = each_place(balanced, 2, (grain_density_t_m3, water_density_t_m3), columns)
    return DrySolids(dry_solids_t=solids_t, excavated_volume_m3=volume_m3)
