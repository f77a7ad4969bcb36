"""One target pressure at the crown: preferred value, look-ahead, and as few steps for the crew as the windows allow."""

from dataclasses import dataclass
from typing import Final

import numpy as np

from tunnelwright.engineering.face.declared import MEDIUM_WEIGHT, POSSIBLE, SYMBOLS
from tunnelwright.engineering.face.segments import best_segments
from tunnelwright.engineering.face.sources import DYNAMIC_PROGRAMME, TARGET_RULE, WINDOW_BOOKKEEPING
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Remark, Require, method
from tunnelwright.vocabulary.types import Count, FloatArray, Number, Record, Series, Table, TextArray, Values

_PRESSURES: Final = {
    name: (-1000.0, 10000.0) for name in ("operating_lower_crown_kpa", "operating_upper_crown_kpa", "preferred_crown_kpa", "service_pressure_axis_kpa")
}
_BY_SHARE: Final = "p_low + f_w * (p_high - p_low)"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PreferredPressure(Record):
    """Pressure that would be set if a ring stood alone."""

    service_pressure_crown_kpa: FloatArray
    preferred_crown_kpa: FloatArray
    status: TextArray


@method(
    "face.target_preferred.rule",
    formulas={
        "service_pressure_crown_kpa": Formula("p_service", "s_service - gamma_S * D / 2"),
        "preferred_crown_kpa": Formula(
            "p_pref", f"max(p_low, min(p_high, p_service if p_service > {_BY_SHARE} else {_BY_SHARE})) if p_high >= p_low else 0 / 0"
        ),
    },
    found_by={
        "status": Algorithm(
            "window, no_window, or service above window where the service pressure lies above the operating upper limit",
            "",
            {"a window has a preferred pressure": lambda values: (np.asarray(values["status"]) == "no_window") == np.isnan(values["preferred_crown_kpa"])},
        )
    },
    symbols=SYMBOLS
    | {"service_pressure_axis_kpa": "s_service", "window_share": "f_w", "service_pressure_crown_kpa": "p_service", "preferred_crown_kpa": "p_pref"},
    possible=POSSIBLE | _PRESSURES | {"window_share": (0.0, 1.0)},
    requires=(MEDIUM_WEIGHT,),
    remarks=(
        Remark(
            lambda values: np.asarray(values["status"]) == "service above window",
            "the wanted settlement cannot be reached by face pressure alone: the target stays at the operating upper limit",
        ),
    ),
    kind="screening",
    source=TARGET_RULE,
)
def preferred_pressure(
    operating_lower_crown_kpa: Number,
    operating_upper_crown_kpa: Number,
    excavation_diameter_m: Number,
    support_unit_weight_kn_m3: Number,
    service_pressure_axis_kpa: Number | None = None,
    window_share: Number = 0.2,
) -> PreferredPressure:
    """Return the pressure a share of the window above its lower end, or the service pressure where that is greater.

    Parameters
    ----------
    operating_lower_crown_kpa, operating_upper_crown_kpa : the window.
    excavation_diameter_m : over the cutters, to bring the service pressure from the axis to the crown.
    support_unit_weight_kn_m3 : of the medium in the chamber.
    service_pressure_axis_kpa : pressure at the axis that keeps settlement small.
    window_share : of the width.
    """
    low, high = np.asarray(operating_lower_crown_kpa, dtype=np.float64), np.asarray(operating_upper_crown_kpa, dtype=np.float64)
    service_axis = np.nan if service_pressure_axis_kpa is None else service_pressure_axis_kpa
    service = service_axis - np.multiply(support_unit_weight_kn_m3, excavation_diameter_m) / 2
    by_share = low + window_share * (high - low)
    wanted = np.where(service > by_share, service, by_share)
    is_open = high >= low
    status = np.where(is_open, np.where(service > high, "service above window", "window"), "no_window")
    preferred = np.where(is_open, np.maximum(low, np.minimum(high, wanted)), np.nan)
    return PreferredPressure(service_pressure_crown_kpa=service, preferred_crown_kpa=preferred, status=status)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WindowRings(Table):
    """Windows of successive rings in drive order, with the pressure preferred in each."""

    operating_lower_crown_kpa: FloatArray
    operating_upper_crown_kpa: FloatArray
    preferred_crown_kpa: FloatArray | None = None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LookAhead(Record):
    """Windows that hold for the rings around as well."""

    operating_lower_crown_kpa: Series
    operating_upper_crown_kpa: Series
    closed_by_look_ahead: Series


def _never_wider(values: Values) -> bool:
    rings = values["rings"]
    low, high = values["operating_lower_crown_kpa"], values["operating_upper_crown_kpa"]
    return bool(np.all(~(low < rings.operating_lower_crown_kpa)) and np.all(~(high > rings.operating_upper_crown_kpa)))


@method(
    "face.target_look_ahead.extremes",
    found_by={
        "operating_lower_crown_kpa": Algorithm("greatest lower limit of the rings from some back to some ahead", "p_low", {"never wider": _never_wider}),
        "operating_upper_crown_kpa": Algorithm("least upper limit of the same rings", "p_high"),
        "closed_by_look_ahead": Algorithm("1 where the ring alone has a window and the rings around leave none", ""),
    },
    symbols=SYMBOLS,
    possible=_PRESSURES,
    remarks=(
        Remark(
            lambda values: np.asarray(values["closed_by_look_ahead"]) > 0,
            "the rings around close a window: there the pressure must change inside the ring, within its own limits",
        ),
    ),
    kind="identity",
    source=WINDOW_BOOKKEEPING,
)
def look_ahead(rings: WindowRings, rings_back: Count = 1, rings_ahead: Count = 3) -> LookAhead:
    """Return the limits that hold over a ring and its neighbours, so that pressure rises before weak ground is reached.

    Parameters
    ----------
    rings : in drive order; limits only.
    rings_back, rings_ahead : number of neighbours looked at.

    Notes
    -----
    Extremes are given as they are, also where they leave no window. A ring without limits (NaN) has none here either and does not touch its neighbours.
    """
    lower, upper = rings.operating_lower_crown_kpa, rings.operating_upper_crown_kpa
    count = lower.shape[-1]
    place = np.arange(count)[:, None] + np.arange(-rings_back, rings_ahead + 1)
    inside = (place >= 0) & (place < count)
    place = np.clip(place, 0, max(count - 1, 0))
    low = np.max(np.where(inside & ~np.isnan(lower[place]), lower[place], -np.inf), axis=1, initial=-np.inf)
    high = np.min(np.where(inside & ~np.isnan(upper[place]), upper[place], np.inf), axis=1, initial=np.inf)
    low, high = np.where(np.isnan(lower), np.nan, low), np.where(np.isnan(upper), np.nan, high)
    closed = (lower <= upper) & ~(low <= high)
    return LookAhead(operating_lower_crown_kpa=low, operating_upper_crown_kpa=high, closed_by_look_ahead=closed.astype(np.float64))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Segments(Table):
    """Runs of rings with one target; positions from 1."""

    first_ring: FloatArray
    last_ring: FloatArray
    target_crown_kpa: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SegmentedTargets(Record):
    """Targets in few steps."""

    cost: FloatArray
    segments: Segments
    target_crown_kpa: Series
    no_window_rings: Series


def _targets_inside(values: Values) -> bool:
    rings, target = values["rings"], values["target_crown_kpa"]
    return bool(np.all(~(target < rings.operating_lower_crown_kpa - 1e-6)) and np.all(~(target > rings.operating_upper_crown_kpa + 1e-6)))


@method(
    "face.target_segments.dynamic_programme",
    found_by={
        "cost": Algorithm(
            "squared distance of targets from preferred pressures over the square of the scale, plus the penalty for each change; least over all ways to "
            "break the drive, found exactly by dynamic programming",
            "J",
            {"a cost is not negative": lambda values: ~(values["cost"] < 0)},
        ),
        "segments": Algorithm("breaks and targets of the least cost; of equals the one with fewer changes, then with the larger smallest margin"),
        "target_crown_kpa": Algorithm("target of the segment that holds the ring", "p", {"every target lies in its ring's window": _targets_inside}),
        "no_window_rings": Algorithm("rings whose limits leave nothing between them; each breaks the segment"),
    },
    symbols=SYMBOLS | {"change_penalty": "lambda", "pressure_scale_kpa": "s", "pressure_step_kpa": "Delta_p"},
    possible=_PRESSURES | {"change_penalty": (0.0, 1e6), "pressure_step_kpa": (0.1, 100.0), "pressure_scale_kpa": (0.1, 1000.0)},
    requires=(
        Require("rings", lambda values: values["rings"].preferred_crown_kpa is not None, "must have a column preferred_crown_kpa"),
        Require("segment_rings_max", lambda values: values["segment_rings_max"] >= 1, "must be 1 or more"),
    ),
    remarks=(
        Remark(lambda values: len(values["no_window_rings"]) > 0, "some rings have no window and no target: stop and decide before them"),
        Remark(
            lambda values: np.any(np.abs(np.diff(np.asarray(values["target_crown_kpa"]))) > 20),
            "a step of more than 20 kPa between two rings: go there in ramps of 10 kPa a ring within every window, or inside the ring if none fits",
        ),
    ),
    kind="identity",
    source=DYNAMIC_PROGRAMME,
    dimensional=False,
)
def segmented_targets(
    rings: WindowRings,
    change_penalty: Number = 4.0,
    pressure_step_kpa: Number = 5.0,
    pressure_scale_kpa: Number = 10.0,
    segment_rings_max: Count = 200,
) -> SegmentedTargets:
    """Return targets that follow the preferred pressures in as few and as round steps as the windows allow.

    Parameters
    ----------
    rings : windows and preferred pressures in drive order.
    change_penalty : cost of a change, in squares of the scale.
    pressure_step_kpa : targets are multiples of it.
    pressure_scale_kpa : distance from the preferred pressure that costs 1.
    segment_rings_max : longest segment.

    Notes
    -----
    A window that holds no multiple of the step is met by a fifth of the step, and if that fails by the middle of the window.
    """
    preferred = np.full_like(rings.operating_lower_crown_kpa, np.nan) if rings.preferred_crown_kpa is None else rings.preferred_crown_kpa
    settings = [np.asarray(value, dtype=np.float64) for value in (change_penalty, pressure_step_kpa, pressure_scale_kpa)]
    places = np.broadcast_shapes(*(value.shape for value in settings))
    each = [np.broadcast_to(value, places).reshape(-1) for value in settings]
    found = [
        best_segments(rings.operating_lower_crown_kpa, rings.operating_upper_crown_kpa, preferred, float(penalty), float(step), float(scale), segment_rings_max)
        for penalty, step, scale in zip(*each, strict=True)
    ]
    cost = np.array([one.cost for one in found]).reshape(places)
    first = found[0] if found else best_segments(np.empty(0), np.empty(0), np.empty(0), 0.0, 1.0, 1.0, 1)
    return SegmentedTargets(
        cost=cost,
        segments=Segments(first_ring=first.first_ring, last_ring=first.last_ring, target_crown_kpa=first.segment_target_kpa),
        target_crown_kpa=first.target_kpa,
        no_window_rings=first.no_window_ring,
    )
