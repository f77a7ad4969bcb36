"""The push over time: the typed log of one cycle as panels of a chart, every channel on common times."""

from collections import OrderedDict
from collections.abc import Mapping
from datetime import datetime
from typing import Final
from zoneinfo import ZoneInfo

import numpy as np

from tunnelwright.app.views.subject import Subject
from tunnelwright.logs import ChannelSeries, series_of
from tunnelwright.report.inputs import PhaseSpan, PushChart, PushLine, PushPanel, PushReading
from tunnelwright.vocabulary.types import FloatArray

MOST_POINTS: Final = 3000
KEPT_PUSHES: Final = 16
NAMED_GAP_S: Final = 60.0
_Kept = dict[str, ChannelSeries]
_KEPT: OrderedDict[tuple[str, float, int, int], _Kept] = OrderedDict()


def push_chart_of(subject: Subject, ring: int, row: int) -> PushChart:
    """Return one push over the time of day: chamber, thrust, torque, rate, muck, grout; a channel the log does not have is left out.

    Parameters
    ----------
    row : of this ring in the record.
    """
    start, end = (int(recorded(subject, row, name)) for name in ("start_time_ms", "end_time_ms"))
    read = _read(subject, start, end)
    midnight_s = _midnight_s(subject, start)
    time_s, values = on_common_times(read, MOST_POINTS)
    time_s = time_s - midnight_s
    push_end_s = recorded(subject, row, "push_end_time_ms") / 1000 - midnight_s
    stroke = _stroke(values, time_s, push_end_s)
    panels = [
        _chamber_panel(subject, ring, row, values),
        _level_panel("thrust", "Thrust", "MN", values.get("thrust_kn"), 1e-3, recorded(subject, row, "thrust_kn"), 1),
        _level_panel("torque", "Torque", "MNm", values.get("cutterhead_torque_knm"), 1e-3, recorded(subject, row, "cutterhead_torque_knm"), 2),
        _level_panel("rate", "Advance", "mm/min", values.get("advance_rate_mm_min"), 1.0, recorded(subject, row, "advance_rate_mm_min"), 0),
        _muck_panel(subject, row, values, stroke),
        _grout_panel(subject, ring, row, values),
    ]
    return PushChart(
        ring_number=ring,
        time_s=time_s,
        stroke_m=stroke,
        phases=_phases(subject, row, midnight_s),
        panels=tuple(panel for panel in panels if panel.lines),
        gaps=_gaps(read, midnight_s),
    )


def recorded(subject: Subject, row: int, name: str) -> float:
    """Return one number of the record; NaN when the log does not give it."""
    assert subject.reconciliation is not None
    return float(subject.reconciliation.recorded.number(name)[row])


def site_time(subject: Subject, milliseconds: float) -> datetime:
    """Return an instant on the clock of the site."""
    return datetime.fromtimestamp(milliseconds / 1000, ZoneInfo(subject.plan.case.project.calendar.time_zone))


def _midnight_s(subject: Subject, start_ms: int) -> float:
    return site_time(subject, start_ms).replace(hour=0, minute=0, second=0, microsecond=0).timestamp()


def _read(subject: Subject, start_ms: int, end_ms: int) -> _Kept:
    """Return the channels of a cycle; the last few cycles are kept, since a page is asked for again with another sheet opened."""
    store = subject.workspace.log_store(subject.drive)
    key = (str(store), subject.workspace.record_file(subject.drive).stat().st_mtime, start_ms, end_ms)
    if key not in _KEPT:
        _KEPT[key] = series_of(store, start_ms, end_ms, _channels(subject), MOST_POINTS)
        while len(_KEPT) > KEPT_PUSHES:
            _KEPT.popitem(last=False)
    return _KEPT[key]


def _channels(subject: Subject) -> list[str]:
    machine = subject.plan.case.machine
    return [
        *(f"chamber_pressure_{one.name}_kpa" for one in machine.chamber_sensors),
        "thrust_kn", "cutterhead_torque_knm", "advance_rate_mm_min",
        *(f"ram_extension_{group.name}_m" for group in (machine.rams.groups if machine.rams else ())),
        *(f"belt_mass_total_{one.name}_t" for one in machine.belt_weighers),
        *(f"grout_volume_{one.name}_m3" for one in machine.grout_ports),
    ]  # fmt: skip


def on_common_times(read: Mapping[str, ChannelSeries], most: int) -> tuple[FloatArray, dict[str, FloatArray]]:
    """Return seconds and the channels at them, NaN in gaps.

    Channels that were thinned have times of their own; then each stretch gets two places that hold its lowest and its highest reading, so that a dip stays a
    dip and moves by less than the stretch.
    """
    present = {name: one for name, one in read.items() if np.isfinite(one.value).any()}
    if not present:
        return np.empty(0), {}
    times = np.unique(np.concatenate([one.time_ms for one in present.values()]))
    if times.size <= 2 * most and not any(one.is_thinned for one in present.values()):
        return times / 1000.0, {name: _at(one, times) for name, one in present.items()}
    edges = np.linspace(times[0], times[-1] + 1, most // 2 + 1)
    middle = (edges[:-1] + edges[1:]) / 2
    places = np.stack([edges[:-1], middle], axis=1).ravel()
    return places / 1000.0, {name: _extremes(one, edges) for name, one in present.items()}


def _at(one: ChannelSeries, times: np.ndarray) -> FloatArray:
    # A gap is one missing value between two samples, so both straight pieces beside it are missing too.
    return np.asarray(np.interp(times, one.time_ms, one.value, left=np.nan, right=np.nan))


def _extremes(one: ChannelSeries, edges: FloatArray) -> FloatArray:
    cell = np.clip(np.searchsorted(edges, one.time_ms, side="right") - 1, 0, edges.size - 2)
    low, high = np.full(edges.size - 1, np.nan), np.full(edges.size - 1, np.nan)
    np.fmin.at(low, cell, one.value)
    np.fmax.at(high, cell, one.value)
    return np.stack([low, high], axis=1).ravel()


def _gaps(read: Mapping[str, ChannelSeries], midnight_s: float) -> tuple[tuple[float, float, str], ...]:
    """Return the stretches in which no channel has a reading, with their length in words."""
    times = [one.time_ms[np.isfinite(one.value)] for one in read.values()]
    if not times:
        return ()
    every = np.unique(np.concatenate(times)) / 1000.0
    breaks = np.flatnonzero(np.diff(every) > NAMED_GAP_S)
    return tuple(
        (float(every[at] - midnight_s), float(every[at + 1] - midnight_s), f"no log, {(every[at + 1] - every[at]) / 60:.0f} min") for at in breaks.tolist()
    )


def _stroke(values: Mapping[str, FloatArray], time_s: FloatArray, push_end_s: float) -> FloatArray:
    """Return the stroke of the push from the mean of the ram groups; it never runs back while pushing."""
    rams = [one for name, one in values.items() if name.startswith("ram_extension_")]
    if not rams:
        return np.full(time_s.size, np.nan)
    pushing = time_s <= push_end_s
    mean = np.where(pushing, np.mean(np.stack(rams), axis=0), np.nan)
    if not np.isfinite(mean).any():
        return mean
    reached = np.fmax.accumulate(mean)
    return np.where(pushing, reached - np.nanmin(reached), np.nan)


def _phases(subject: Subject, row: int, midnight_s: float) -> tuple[PhaseSpan, ...]:
    start, push_end, end = (recorded(subject, row, name) / 1000 - midnight_s for name in ("start_time_ms", "push_end_time_ms", "end_time_ms"))
    wait, build = recorded(subject, row, "wait_before_build_s"), recorded(subject, row, "build_s")
    spans = [PhaseSpan(name="push", kind="advance", start_s=start, end_s=push_end)]
    if np.isfinite(wait) and np.isfinite(build):
        built = push_end + wait + build
        spans += [
            PhaseSpan(name="stop", kind="stop", start_s=push_end, end_s=push_end + wait),
            PhaseSpan(name="ring build", kind="build", start_s=push_end + wait, end_s=built),
            PhaseSpan(name="stop", kind="stop", start_s=built, end_s=end),
        ]
    else:
        spans.append(PhaseSpan(name="standstill", kind="stop", start_s=push_end, end_s=end))
    return tuple(span for span in spans if span.end_s - span.start_s > 1)


def _chamber_panel(subject: Subject, ring: int, row: int, values: Mapping[str, FloatArray]) -> PushPanel:
    """Return the chamber sensors, the lowest first; the highest one is the thick line."""
    face, index = subject.plan.face, ring - 1
    sensors = sorted(subject.plan.case.machine.chamber_sensors, key=lambda one: -one.depth_below_crown_m)
    shown = [one for one in sensors if f"chamber_pressure_{one.name}_kpa" in values]
    lines, readings = [], []
    for place, sensor in enumerate(shown):
        series = values[f"chamber_pressure_{sensor.name}_kpa"]
        name = f"sensor {sensor.name}"
        lines.append(PushLine(name=name, values=series, role="measured" if place == len(shown) - 1 else "second-line"))
        readings.append(PushReading(label=name, value=float(np.nanmedian(series)), line=name))
    level = PushReading(label="at crown", value=recorded(subject, row, "face_pressure_crown_kpa"), unit="kPa", is_bold=True)
    return PushPanel(
        key="chamber",
        title="Chamber",
        subtitle="kPa",
        lines=tuple(lines),
        window_low=float(face.operating_lower_crown_kpa[index]),
        window_high=float(face.operating_upper_crown_kpa[index]),
        window_words="working window, crown",
        readings=(*_few(readings), level),
        height_share=1.9,
    )


def _few(readings: list[PushReading]) -> list[PushReading]:
    """Return the lowest, a middle and the highest sensor: more rows than that do not fit beside the panel, the lines of all are drawn."""
    return readings if len(readings) <= 3 else [readings[0], readings[len(readings) // 2], readings[-1]]


def _level_panel(key: str, title: str, unit: str, values: FloatArray | None, factor: float, mean: float, decimals: int) -> PushPanel:
    name = title.lower()
    lines = () if values is None else (PushLine(name=name, values=values * factor),)
    reading = PushReading(label="mean", value=mean * factor, unit=unit, decimals=decimals, is_bold=True, line=name)
    return PushPanel(key=key, title=title, subtitle=unit, lines=lines, readings=(reading,), low=0.0)


def _from_start(series: FloatArray) -> FloatArray:
    present = series[np.isfinite(series)]
    return series - present[0]


def _muck_panel(subject: Subject, row: int, values: Mapping[str, FloatArray], stroke: FloatArray) -> PushPanel:
    assert subject.reconciliation is not None
    balance = subject.reconciliation.balance
    expected = float(balance.expected_mass_t[row])
    lines = []
    for place, weigher in enumerate(subject.plan.case.machine.belt_weighers):
        series = values.get(f"belt_mass_total_{weigher.name}_t")
        if series is not None:
            lines.append(PushLine(name=f"weigher {weigher.name}", values=_from_start(series), role="chosen" if place == 0 else "second-line"))
    whole = float(np.nanmax(stroke)) if np.isfinite(stroke).any() else np.nan
    if lines and whole > 0:
        lines.insert(0, PushLine(name="expected over stroke", values=expected * stroke / whole, role="planned"))
    readings = (
        PushReading(label="expected", value=expected, unit="t", decimals=1, role="planned", line="expected over stroke"),
        PushReading(label="measured", value=float(balance.measured_mass_t[row]), unit="t", decimals=1, is_bold=True),
    )
    return PushPanel(key="muck", title="Muck", subtitle="t", second_subtitle="as weighed", lines=tuple(lines), readings=readings, low=0.0, height_share=1.3)


def _grout_panel(subject: Subject, ring: int, row: int, values: Mapping[str, FloatArray]) -> PushPanel:
    around = int(subject.plan.rings.grout_ring_number[ring - 1])
    ports = subject.plan.case.machine.grout_ports
    lines, readings = [], []
    if around >= 1:
        share = float(subject.plan.grout.grout_volume_m3[around - 1]) / max(1, len(ports))
        readings.append(PushReading(label="plan, each", value=share, unit="m³", decimals=2, role="planned"))
    for port in ports:
        series = values.get(f"grout_volume_{port.name}_m3")
        if series is not None:
            name = f"port {port.name}"
            lines.append(PushLine(name=name, values=_from_start(series)))
            readings.append(PushReading(label=name, value=recorded(subject, row, f"grout_volume_{port.name}_m3"), decimals=2, is_bold=True, line=name))
    return PushPanel(
        key="grout",
        title="Grout",
        subtitle="m³",
        second_subtitle=f"round ring {around}" if around >= 1 else "",
        lines=tuple(lines),
        readings=tuple(readings),
        low=0.0,
        height_share=1.5,
    )
