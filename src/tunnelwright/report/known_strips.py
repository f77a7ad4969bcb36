"""The strips of the longitudinal sheet that every drive has, with their names, units, places and reading rows.

The application gives arrays by push in the units of the quantity dictionary; what a strip is called, where its values stand and what the
reading column says of them is decided here once.
"""

import numpy as np

from tunnelwright.report.axes import FloatArray
from tunnelwright.report.decimate import BoolArray
from tunnelwright.report.figure import Reading
from tunnelwright.report.inputs import Event, NamedGap, Strip
from tunnelwright.report.numbers import number_text


def _constant(like: FloatArray, value: float) -> FloatArray:
    return np.full(like.size, value)


def _range_words(word: str, low: float, high: float) -> str:
    return f"{word} {number_text(low, 2)} to {number_text(high, 2)}"


def face_pressure_strip(
    target_kpa: FloatArray,
    lower_kpa: FloatArray,
    upper_kpa: FloatArray,
    recorded_kpa: FloatArray,
    p10_kpa: FloatArray,
    p90_kpa: FloatArray,
    *,
    events: tuple[Event, ...] = (),
    gaps: tuple[NamedGap, ...] = (),
) -> Strip:
    """Return the face pressure at the crown: working window, target, recorded with its spread in the push."""
    return Strip(
        key="face_pressure",
        title="Face pressure",
        subtitle="at crown, kPa",
        place="face",
        planned=target_kpa,
        planned_words="target",
        measured=recorded_kpa,
        measured_low=p10_kpa,
        measured_high=p90_kpa,
        window_low=lower_kpa,
        window_high=upper_kpa,
        window_words_low="lower, working",
        window_words_high="upper, working",
        height_share=1.5,
        events=events,
        gaps=gaps,
        readings=(
            Reading(label="target", values=target_kpa, unit="kPa", role="planned"),
            Reading(label="recorded", values=recorded_kpa, unit="kPa", is_bold=True),
            Reading(label="P10 to P90", values=p10_kpa, values_to=p90_kpa, unit="kPa"),
            Reading(label="working", values=lower_kpa, values_to=upper_kpa, unit="kPa", role="limit"),
        ),
    )


def muck_ratio_strip(
    expected_t: FloatArray,
    measured_t: FloatArray,
    watch_low: float,
    watch_high: float,
    *,
    raw_t: FloatArray | None = None,
    corrected: BoolArray | None = None,
    events: tuple[Event, ...] = (),
    gaps: tuple[NamedGap, ...] = (),
) -> Strip:
    """Return muck measured over expected; raw values stay drawn beside corrected ones, which are hollow."""
    ratio = measured_t / expected_t
    return Strip(
        key="muck_ratio",
        title="Muck ratio",
        subtitle="of expected",
        place="face",
        planned=_constant(ratio, 1.0),
        measured=ratio,
        raw=None if raw_t is None else raw_t / expected_t,
        raw_words="raw",
        corrected=corrected,
        window_low=_constant(ratio, watch_low),
        window_high=_constant(ratio, watch_high),
        window_words_high=_range_words("watch", watch_low, watch_high),
        events=events,
        gaps=gaps,
        readings=(
            Reading(label="expected", values=expected_t, unit="t", decimals=1, role="planned"),
            Reading(label="measured", values=measured_t, unit="t", decimals=1, is_bold=True),
            Reading(label="ratio", values=ratio, decimals=2, is_bold=True),
        ),
    )


def grout_ratio_strip(
    planned_m3: FloatArray, injected_m3: FloatArray, watch_low: float, watch_high: float, *, events: tuple[Event, ...] = (), gaps: tuple[NamedGap, ...] = ()
) -> Strip:
    """Return grout injected over planned, at the place where it lies."""
    ratio = injected_m3 / planned_m3
    return Strip(
        key="grout_ratio",
        title="Grout ratio",
        subtitle="of plan",
        place="grout",
        planned=_constant(ratio, 1.0),
        measured=ratio,
        window_low=_constant(ratio, watch_low),
        window_high=_constant(ratio, watch_high),
        window_words_high=_range_words("watch", watch_low, watch_high),
        events=events,
        gaps=gaps,
        readings=(
            Reading(label="plan", values=planned_m3, unit="m³", decimals=2, role="planned"),
            Reading(label="injected", values=injected_m3, unit="m³", decimals=2, is_bold=True),
        ),
    )


def advance_rate_strip(planned_mm_min: FloatArray, recorded_mm_min: FloatArray, *, events: tuple[Event, ...] = (), gaps: tuple[NamedGap, ...] = ()) -> Strip:
    """Return the advance rate, planned and recorded, each holding over its push."""
    return Strip(
        key="advance_rate",
        title="Advance rate",
        subtitle="mm/min",
        place="face",
        planned=planned_mm_min,
        planned_words="planned",
        measured=recorded_mm_min,
        is_stepped=True,
        height_share=0.8,
        events=events,
        gaps=gaps,
        readings=(
            Reading(label="planned", values=planned_mm_min, unit="mm/min", role="planned"),
            Reading(label="recorded", values=recorded_mm_min, unit="mm/min", is_bold=True),
        ),
    )


def deviation_strip(
    lateral_mm: FloatArray,
    vertical_mm: FloatArray,
    tolerance_mm: float,
    *,
    return_lateral_mm: FloatArray | None = None,
    events: tuple[Event, ...] = (),
) -> Strip:
    """Return where the ring centres lie against the axis, right and up positive, with the curve back ahead of the last ring."""
    return Strip(
        key="deviation",
        title="Deviation",
        subtitle="of ring centre, mm",
        place="ring",
        planned=_constant(lateral_mm, 0.0),
        measured=lateral_mm,
        measured_words="lateral, right +",
        second=vertical_mm,
        second_words="vertical, up +",
        window_low=_constant(lateral_mm, -tolerance_mm),
        window_high=_constant(lateral_mm, tolerance_mm),
        window_words_high=f"tolerance ±{number_text(tolerance_mm)}",
        forecast=return_lateral_mm,
        forecast_words="return curve",
        is_signed=True,
        low=-1.2 * tolerance_mm,
        high=1.2 * tolerance_mm,
        events=events,
        readings=(
            Reading(label="lateral", values=lateral_mm, unit="mm", is_signed=True, is_bold=True),
            Reading(label="vertical", values=vertical_mm, unit="mm", is_signed=True, is_bold=True),
        ),
    )


def settlement_strip(
    planned_final_mm: FloatArray,
    level_mm: float,
    level_words: str,
    *,
    expected_mm: FloatArray | None = None,
    expected_low_mm: FloatArray | None = None,
    expected_high_mm: FloatArray | None = None,
    point_chainage_m: FloatArray | None = None,
    point_mm: FloatArray | None = None,
    events: tuple[Event, ...] = (),
) -> Strip:
    """Return settlement over the axis, downwards: planned, expected now with its doubt, and what points measured.

    The arrays by push stand at the ring's own chainage; the measured points have theirs.
    """
    limit = _constant(planned_final_mm, level_mm)
    expected = () if expected_mm is None else (Reading(label="expected now", values=expected_mm, unit="mm", decimals=1, role="planned"),)
    return Strip(
        key="settlement",
        title="Settlement",
        subtitle="over the axis, mm",
        place="ring",
        planned=planned_final_mm,
        planned_words="planned, final",
        forecast=expected_mm,
        forecast_low=expected_low_mm,
        forecast_high=expected_high_mm,
        forecast_words="expected now",
        window_high=limit,
        window_words_high=level_words,
        point_chainage_m=point_chainage_m,
        point_value=point_mm,
        is_downward=True,
        low=0.0,
        height_share=1.2,
        events=events,
        readings=(
            Reading(label="planned, final", values=planned_final_mm, unit="mm", decimals=1, role="planned"),
            *expected,
            Reading(label=level_words.split(":")[0], values=limit, unit="mm", role="limit"),
        ),
    )
