"""The ring page: verdict, criteria, the push as time series, one opened sheet."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final
from zoneinfo import ZoneInfo

import numpy as np

from tunnelwright.app.methods import calculation_as_dict
from tunnelwright.app.views.section import short_name
from tunnelwright.app.views.subject import Subject, rail_of
from tunnelwright.drive.explain import Explained, explain_push, explain_record
from tunnelwright.drive.reconcile import Advice
from tunnelwright.logs import series_of
from tunnelwright.report.ink import SoilKind
from tunnelwright.report.inputs import FaceSensor, FaceSheet, FaceStratum, PhaseSpan, PushChart, PushLine, PushPanel, PushReading, RingRail
from tunnelwright.vocabulary.criterion import Criterion
from tunnelwright.vocabulary.types import FloatArray

MOST_POINTS: Final = 1500
# Methods that a criterion's number opens, by its key: the calculation of this push that explains it.
OPENS: Final = {
    "face_pressure_advancing": "face.window_limits.allowance",
    "face_pressure_standstill": "face.window_limits.allowance",
    "muck_ratio": "muck.excess.single_ring",
    "grout_ratio": "grout.volume.annulus",
}
DECIMALS: Final = {"kPa": 0, "kN/m3": 1, "m3": 1, "min": 0, "sd": 1, "": 2}


@dataclass(frozen=True, slots=True, kw_only=True)
class CriterionLine:
    """One row of the table of criteria, with the sheet its number opens."""

    key: str
    criterion: Criterion
    decimals: int
    sheet: str


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PushView:
    """Everything on the ring page."""

    subject: Subject
    ring_number: int
    criteria: tuple[CriterionLine, ...]
    counts: dict[str, int]
    advice: tuple[Advice, ...]
    findings: tuple[str, ...]
    chart: PushChart | None
    face: FaceSheet
    explained: tuple[Explained, ...]
    opened: Explained | None
    rail: RingRail
    when: str

    def as_dict(self) -> dict[str, Any]:
        """Return what leaves as JSON."""
        criteria = [
            {name: getattr(line.criterion, name) for name in ("name", "value", "operator", "limit_low", "limit_high", "unit", "state", "comment")}
            | {"key": line.key}
            for line in self.criteria
        ]
        return {
            "drive": self.subject.drive,
            "ring_number": self.ring_number,
            "verdict": self.subject.verdict.sentence,
            "data_age": self.subject.data_age,
            "plan_revision": self.subject.plan.revision,
            "criteria": criteria,
            "advice": [{"criterion": one.criterion, "state": one.state, "do": one.do, "do_not": one.do_not} for one in self.advice],
            "findings": list(self.findings),
            "sheets": [{"title": one.title, "chainage_m": one.chainage_m, **calculation_as_dict(one.calculation)} for one in self.explained],
        }


def push_view(subject: Subject, sheet: str = "") -> PushView:
    """Return the ring page of a subject; ``sheet`` is the id of the method whose calculation is opened."""
    ring = subject.chosen_ring
    found = subject.reconciliation
    explained = [*explain_push(subject.plan, ring), *(explain_record(found, ring) if found is not None else [])]
    opened = [one for one in explained if one.calculation.method.id == sheet]
    row = found.row_of(ring) if found is not None else None
    return PushView(
        subject=subject,
        ring_number=ring,
        criteria=_criteria(subject, ring),
        counts=dict(found.counts(ring)) if found is not None else {},
        advice=tuple(found.advice(ring)) if found is not None else (),
        findings=_findings(subject, ring),
        chart=_chart(subject, ring) if row is not None else None,
        face=face_drawing(subject, ring),
        explained=tuple(explained),
        opened=opened[-1] if opened else None,
        rail=rail_of(subject),
        when=_when(subject, row),
    )


def _criteria(subject: Subject, ring: int) -> tuple[CriterionLine, ...]:
    if subject.reconciliation is None:
        return ()
    lines = zip(subject.reconciliation.series, subject.reconciliation.criteria(ring), strict=True)
    return tuple(CriterionLine(key=one.key, criterion=criterion, decimals=DECIMALS.get(one.unit, 2), sheet=OPENS.get(one.key, "")) for one, criterion in lines)


def _findings(subject: Subject, ring: int) -> tuple[str, ...]:
    if subject.record is None:
        return ()
    return tuple(dict.fromkeys(one.sentence for one in subject.record.findings if one.ring_number == ring))


def _zone(subject: Subject) -> ZoneInfo:
    return ZoneInfo(subject.plan.case.project.calendar.time_zone)


def _number(subject: Subject, row: int, name: str) -> float:
    assert subject.reconciliation is not None
    return float(subject.reconciliation.recorded.number(name)[row])


def _when(subject: Subject, row: int | None) -> str:
    if row is None:
        return ""
    start, end = (datetime.fromtimestamp(_number(subject, row, name) / 1000, _zone(subject)) for name in ("start_time_ms", "end_time_ms"))
    return f"{start:%d %b %Y, %H:%M} to {end:%H:%M}, {start:%Z}"


def _chart(subject: Subject, ring: int) -> PushChart:
    """Return the push over time from the typed log: chamber, thrust, torque, rate, muck, grout."""
    assert subject.reconciliation is not None
    row = subject.reconciliation.row_of(ring)
    assert row is not None
    machine = subject.plan.case.machine
    start, end = int(_number(subject, row, "start_time_ms")), int(_number(subject, row, "end_time_ms"))
    sensors = sorted(machine.chamber_sensors, key=lambda one: -one.depth_below_crown_m)
    weighers, ports = machine.belt_weighers, machine.grout_ports
    channels = [
        *(f"chamber_pressure_{one.name}_kpa" for one in sensors),
        "thrust_kn", "cutterhead_torque_knm", "advance_rate_mm_min", "ram_extension_m",
        *(f"belt_mass_total_{one.name}_t" for one in weighers),
        *(f"grout_volume_{one.name}_m3" for one in ports),
    ]  # fmt: skip
    series = series_of(subject.workspace.log_store(subject.drive), start, end, channels, MOST_POINTS)
    midnight = datetime.fromtimestamp(start / 1000, _zone(subject)).replace(hour=0, minute=0, second=0, microsecond=0).timestamp()
    time = np.asarray(series["time_ms"], dtype=np.float64) / 1000 - midnight
    extension = series.get("ram_extension_m", np.full(len(time), np.nan))
    push_end = _number(subject, row, "push_end_time_ms") / 1000 - midnight
    stroke = np.where(time <= push_end, np.fmax.accumulate(np.nan_to_num(extension - np.nanmin(extension[:20]) if len(extension) else extension)), np.nan)
    panels = [
        _chamber_panel(subject, ring, row, series, sensors),
        _level_panel("thrust", "Thrust", "MN", series.get("thrust_kn"), 1e-3, _number(subject, row, "thrust_kn"), 1),
        _level_panel("torque", "Torque", "MNm", series.get("cutterhead_torque_knm"), 1e-3, _number(subject, row, "cutterhead_torque_knm"), 2),
        _level_panel("rate", "Advance", "mm/min", series.get("advance_rate_mm_min"), 1.0, _number(subject, row, "advance_rate_mm_min"), 0),
        _muck_panel(subject, ring, row, series, stroke),
        _grout_panel(subject, ring, row, series),
    ]
    return PushChart(
        ring_number=ring, time_s=time, stroke_m=stroke, phases=_phases(subject, row, midnight), panels=tuple(panel for panel in panels if panel.lines)
    )


def _phases(subject: Subject, row: int, midnight: float) -> tuple[PhaseSpan, ...]:
    start, push_end, end = (_number(subject, row, name) / 1000 - midnight for name in ("start_time_ms", "push_end_time_ms", "end_time_ms"))
    wait, build = _number(subject, row, "wait_before_build_s"), _number(subject, row, "build_s")
    spans = [PhaseSpan(name="push", kind="advance", start_s=start, end_s=push_end)]
    if np.isfinite(wait) and np.isfinite(build):
        spans += [
            PhaseSpan(name="stop", kind="stop", start_s=push_end, end_s=push_end + wait),
            PhaseSpan(name="ring build", kind="build", start_s=push_end + wait, end_s=push_end + wait + build),
            PhaseSpan(name="stop", kind="stop", start_s=push_end + wait + build, end_s=end),
        ]
    else:
        spans.append(PhaseSpan(name="standstill", kind="stop", start_s=push_end, end_s=end))
    return tuple(span for span in spans if span.end_s - span.start_s > 1)


def _chamber_panel(subject: Subject, ring: int, row: int, series: dict[str, FloatArray], sensors: list[Any]) -> PushPanel:
    face, index = subject.plan.face, ring - 1
    lines, readings = [], []
    for place, sensor in enumerate(sensors):
        values = series.get(f"chamber_pressure_{sensor.name}_kpa")
        if values is None:
            continue
        is_top = place == len(sensors) - 1
        lines.append(PushLine(name=sensor.name, values=values, role="chosen" if is_top else "measured"))
        readings.append(
            PushReading(label=sensor.name, value=float(np.nanmedian(values)) if np.isfinite(values).any() else np.nan, unit="kPa" if is_top else "")
        )
    readings.append(PushReading(label="at crown", value=_number(subject, row, "face_pressure_crown_kpa"), unit="kPa", is_bold=True))
    return PushPanel(
        key="chamber",
        title="Chamber",
        subtitle="kPa",
        lines=tuple(lines),
        window_low=float(face.operating_lower_crown_kpa[index]),
        window_high=float(face.operating_upper_crown_kpa[index]),
        window_words="working window, crown",
        readings=tuple(readings),
        height_share=1.6,
    )


def _level_panel(key: str, title: str, unit: str, values: FloatArray | None, factor: float, mean: float, decimals: int) -> PushPanel:
    lines = () if values is None or not np.isfinite(values).any() else (PushLine(name=title.lower(), values=values * factor),)
    reading = PushReading(label="mean of push", value=mean * factor, unit=unit, decimals=decimals, is_bold=True)
    return PushPanel(key=key, title=title, subtitle=unit, lines=lines, readings=(reading,), low=0.0)


def _muck_panel(subject: Subject, ring: int, row: int, series: dict[str, FloatArray], stroke: FloatArray) -> PushPanel:
    assert subject.reconciliation is not None
    balance = subject.reconciliation.balance
    expected = float(balance.expected_mass_t[row])
    lines = []
    for place, weigher in enumerate(subject.plan.case.machine.belt_weighers):
        values = series.get(f"belt_mass_total_{weigher.name}_t")
        if values is not None and np.isfinite(values).any():
            first = values[np.isfinite(values)][0]
            lines.append(PushLine(name=weigher.name, values=values - first, role="chosen" if place == 0 else "second-line"))
    whole = float(np.nanmax(stroke)) if np.isfinite(stroke).any() else np.nan
    if lines and whole > 0:
        lines.insert(0, PushLine(name="expected over stroke", values=expected * stroke / whole, role="planned"))
    readings = (
        PushReading(label="expected", value=expected, unit="t", decimals=1, role="plan"),
        PushReading(label="measured", value=float(balance.measured_mass_t[row]), unit="t", decimals=1, is_bold=True),
    )
    return PushPanel(key="muck", title="Muck", subtitle="t, as weighed", lines=tuple(lines), readings=readings, low=0.0, height_share=1.2)


def _grout_panel(subject: Subject, ring: int, row: int, series: dict[str, FloatArray]) -> PushPanel:
    lines, readings = [], []
    around = int(subject.plan.rings.grout_ring_number[ring - 1])
    share = float(subject.plan.grout.grout_volume_m3[max(0, around - 1)]) / max(1, len(subject.plan.case.machine.grout_ports))
    readings.append(PushReading(label="plan, each", value=share, unit="m³", decimals=2, role="plan"))
    for port in subject.plan.case.machine.grout_ports:
        values = series.get(f"grout_volume_{port.name}_m3")
        if values is None or not np.isfinite(values).any():
            continue
        lines.append(PushLine(name=port.name, values=values - values[np.isfinite(values)][0], role="measured"))
        readings.append(PushReading(label=port.name, value=_number(subject, row, f"grout_volume_{port.name}_m3"), decimals=2, is_bold=True))
    return PushPanel(key="grout", title="Grout", subtitle=f"m³, round ring {around}", lines=tuple(lines), readings=tuple(readings), low=0.0, height_share=1.2)


def face_drawing(subject: Subject, ring: int) -> FaceSheet:
    """Return the face at the station that governs the lower limit of a push: strata, water and pressures over the height."""
    made, index = subject.plan, ring - 1
    at = int(made.face.lower_station[index])
    sections, machine = made.sections, made.case.machine
    diameter, axis = sections.excavation_diameter_m, float(sections.points.level_m[at])
    column = sections.columns["normal"]
    units = made.case.project.ground.units_in_order
    low, high = axis - diameter / 2, axis + diameter / 2
    strata = []
    for top, base, unit in zip(column.top_level_m[at], column.base_level_m[at], column.unit_index[at], strict=True):
        if top - base > 1e-6 and top > low - 1.5 and base < high + 1.5:
            kind: SoilKind = units[int(unit)].kind if units[int(unit)].kind != "mixed" else "gravel"  # type: ignore[assignment]
            name = short_name(units[int(unit)].name)
            if strata and strata[-1].name == name:
                strata[-1] = FaceStratum(name=name, kind=kind, top_level_m=strata[-1].top_level_m, base_level_m=float(base))
            else:
                strata.append(FaceStratum(name=name, kind=kind, top_level_m=float(top), base_level_m=float(base)))
    level = np.linspace(high, low, 25)
    water = np.interp(-level, -column.top_level_m[at], column.pore_pressure_top_kpa[at])
    support = made.face.target_crown_kpa[index] + machine.support_unit_weight_kn_m3 * (high - level)
    return FaceSheet(
        chainage_m=float(made.stations.chainage_m[at]),
        ring_number=ring,
        axis_level_m=axis,
        diameter_m=diameter,
        strata=tuple(strata),
        sensors=_sensors(subject, ring),
        level_m=level,
        water_kpa=water,
        support_kpa=support,
        lower_kpa=made.face.operating_lower_crown_kpa[index] + machine.support_unit_weight_low_kn_m3 * (high - level),
        upper_kpa=made.face.operating_upper_crown_kpa[index] + machine.support_unit_weight_high_kn_m3 * (high - level),
        target_crown_kpa=float(made.face.target_crown_kpa[index]),
    )


def _sensors(subject: Subject, ring: int) -> tuple[FaceSensor, ...]:
    machine, made = subject.plan.case.machine, subject.plan
    radius = made.sections.excavation_diameter_m / 2
    found = []
    for place, sensor in enumerate(machine.chamber_sensors):
        height = radius - sensor.depth_below_crown_m
        reach = min(radius * 0.85, np.sqrt(max(0.0, (radius * 0.9) ** 2 - height**2)))
        across = {"left": -reach, "right": reach, "centre": 0.0}[sensor.side]
        angle = float(np.degrees(np.arctan2(across, height)))
        found.append(
            FaceSensor(
                name=sensor.name,
                clock_angle_deg=angle,
                radius_m=float(np.hypot(across, height)),
                pressure_kpa=float(made.face.target_sensor_kpa[ring - 1, place]),
            )
        )
    return tuple(found)
