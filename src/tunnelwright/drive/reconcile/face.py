"""Criteria of the face: pressure at the crown while advancing and standing, and unit weight in the chamber."""

import numpy as np

from tunnelwright.drive.plan import Plan
from tunnelwright.drive.reconcile.series import CriterionSeries, full, states, words
from tunnelwright.drive.recorded import RecordedRings
from tunnelwright.vocabulary.types import FloatArray

WATCH_AFTER_S = 60.0
ACT_AFTER_S = 10.0
GRADIENT_IN_ORDER = (12.0, 16.0)
GRADIENT_ACT = (10.0, 20.0)


def face_pressure(plan: Plan, recorded: RecordedRings, phase: str) -> CriterionSeries:
    """Return the face pressure at the crown against the window of the push, advancing or at standstill.

    Notes
    -----
    Watch: outside the operating limits for 60 s at a stretch. Act: outside the hard limits for 10 s at a stretch. A reading of grade C is not checked.
    """
    at = recorded.plan_index
    suffix = "" if phase == "advancing" else "_standstill"
    value = recorded.number(f"face_pressure_crown{suffix}_kpa")
    low, high = plan.face.operating_lower_crown_kpa[at], plan.face.operating_upper_crown_kpa[at]
    watch_below, watch_above = (recorded.number(f"longest_{side}{suffix}_s") for side in ("below_operating_lower", "above_operating_upper"))
    act_below, act_above = (recorded.number(f"longest_{side}{suffix}_s") for side in ("below_hard_lower", "above_hard_upper"))
    no_window = ~plan.face.has_window[at]
    unchecked = np.isnan(value) | (recorded.word("grade_face_pressure") == "C") | no_window
    act = (act_below >= ACT_AFTER_S) | (act_above >= ACT_AFTER_S)
    watch = (watch_below >= WATCH_AFTER_S) | (watch_above >= WATCH_AFTER_S)
    act, unchecked = act | no_window, unchecked & ~no_window
    lowest = recorded.number("face_pressure_crown_min_kpa")
    return CriterionSeries(
        key=f"face_pressure_{phase}",
        name="Face pressure at crown, push" if phase == "advancing" else "Face pressure at crown, standstill",
        place="face",
        unit="kPa",
        operator="within",
        value=value,
        limit_low=low,
        limit_high=high,
        state=states(recorded.count, act=act, watch=watch, unchecked=unchecked),
        comment=words(
            recorded.count,
            (no_window, "this push has no window; it must not be driven without a decision"),
            (np.isnan(value), "no valid reading of the chamber in this phase"),
            (recorded.word("grade_face_pressure") == "C", "chamber sensors cover too little of the push or are doubtful"),
            (act_below >= ACT_AFTER_S, _spells(act_below, "s at a stretch below the least pressure that holds the face", lowest)),
            (act_above >= ACT_AFTER_S, _spells(act_above, "s at a stretch above the greatest pressure", None)),
            (watch_below >= WATCH_AFTER_S, _spells(watch_below, "s at a stretch below the operating limit", lowest)),
            (watch_above >= WATCH_AFTER_S, _spells(watch_above, "s at a stretch above the operating limit", None)),
        ),
        life_hangs_on_it=True,
        method="face.window_limits.allowance",
    )


def _spells(seconds: FloatArray, text: str, lowest: FloatArray | None) -> list[str]:
    ends = [
        "" if lowest is None or np.isnan(one) else f"; lowest 10 s mean {one:.0f} kPa"
        for one in (lowest if lowest is not None else np.full(len(seconds), np.nan))
    ]
    return [f"{0 if np.isnan(one) else one:.0f} {text}{end}" for one, end in zip(seconds, ends, strict=True)]


def chamber_unit_weight(recorded: RecordedRings) -> CriterionSeries:
    """Return the apparent unit weight of the medium in the chamber, from the sensors at their heights."""
    value = recorded.number("support_unit_weight_kn_m3")
    grade_c = recorded.word("grade_face_pressure") == "C"
    act = (value < GRADIENT_ACT[0]) | (value > GRADIENT_ACT[1])
    watch = (value < GRADIENT_IN_ORDER[0]) | (value > GRADIENT_IN_ORDER[1])
    return CriterionSeries(
        key="chamber_unit_weight",
        name="Unit weight in chamber",
        place="face",
        unit="kN/m3",
        operator="within",
        value=value,
        limit_low=full(recorded.count, GRADIENT_IN_ORDER[0]),
        limit_high=full(recorded.count, GRADIENT_IN_ORDER[1]),
        state=states(recorded.count, act=act, watch=watch, unchecked=np.isnan(value) | grade_c),
        comment=words(
            recorded.count,
            (np.isnan(value), "fewer than two valid sensor levels"),
            (grade_c, "chamber sensors cover too little of the push or are doubtful"),
            (value < GRADIENT_ACT[0], "gas or foam at the crown, or an empty chamber: the level of support is not proven"),
            (value > GRADIENT_ACT[1], "compacted or blocked chamber"),
            (watch, "outside the usual band of conditioned muck"),
        ),
        method="record.chamber_pressure.at_levels",
    )
