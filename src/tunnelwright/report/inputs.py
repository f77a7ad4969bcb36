"""What the figure builders need to know: plain arrays by push, with the three places of each push.

The application fills these records; the builders know nothing of projects, plans or logs. Arrays are one entry per push, NaN where
there is nothing; levels and chainages in metres.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from tunnelwright.report.axes import FloatArray
from tunnelwright.report.figure import Reading, WordRole
from tunnelwright.report.ink import SoilKind
from tunnelwright.vocabulary.criterion import State

IntArray = npt.NDArray[np.int64]
PlaceName = Literal["face", "grout", "ring"]
AssetKind = Literal["building", "bridge", "pipe", "sewer", "street", "other"]
# Codes of the states of one row of the states strip; -1 is ahead of the machine: planned, nothing to say yet.
STATE_CODES: Mapping[int, State] = {0: "in order", 1: "watch", 2: "act", 3: "not checked"}
AHEAD = -1


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Places:
    """Every push of a drive and the three chainages at which it touches the ground.

    Parameters
    ----------
    ring_number : of each push.
    ring_chainage_m : front edge of the ring that the push builds.
    face_start_chainage_m, face_end_chainage_m : the span over which the face moves.
    grout_chainage_m : where the grout of this push lies.
    grout_ring_number : the ring that this grout surrounds.
    built_ring_number : the last ring that stands; everything after it is planned.
    """

    ring_number: IntArray
    ring_chainage_m: FloatArray
    face_start_chainage_m: FloatArray
    face_end_chainage_m: FloatArray
    grout_chainage_m: FloatArray
    grout_ring_number: IntArray
    built_ring_number: int

    def at(self, place: PlaceName) -> FloatArray:
        """Return the chainage at which values of this kind are drawn; face values stand in the middle of their span."""
        if place == "face":
            return (self.face_start_chainage_m + self.face_end_chainage_m) / 2
        return self.grout_chainage_m if place == "grout" else self.ring_chainage_m

    def index_of(self, ring_number: int) -> int:
        """Return the position of a push, -1 when the drive has none of this number."""
        found = np.flatnonzero(self.ring_number == ring_number)
        return int(found[0]) if found.size else -1

    def last_index(self) -> int:
        """Return the position of the last built ring, -1 before the first."""
        return int(np.count_nonzero(self.ring_number <= self.built_ring_number)) - 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Event:
    """Something named at its place on a strip, such as ``push 846: 31 kPa low``."""

    ring_number: int
    state: State
    words: str
    value: float
    href: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class NamedGap:
    """Pushes without readings, and what the sheet says of them."""

    first_ring: int
    last_ring: int
    words: str


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Strip:
    """One strip of the longitudinal sheet.

    Parameters
    ----------
    key, title, subtitle : hook, name and unit.
    place : which of the three places its values have.
    low, high : fixed range of the axis; NaN lets the values decide.
    planned, measured : lines.
    second, second_words : a further measured line that is compared with it, thinner (vertical beside lateral, raw beside corrected).
    measured_low, measured_high : spread within each push.
    window_low, window_high, window_words_low, window_words_high : limits and their names at the end.
    forecast, forecast_low, forecast_high : continuation of what is measured, with its doubt.
    corrected : by push, whether the measured value was corrected; such values are hollow.
    points : measured single readings (chainage, value), for what is not measured by push.
    is_downward : the axis points down (settlement).
    is_stepped : planned and measured hold over each push.
    height_share : share of the height against the other strips.
    readings : rows of the reading column.
    """

    key: str
    title: str
    subtitle: str
    place: PlaceName
    planned: FloatArray | None = None
    measured: FloatArray | None = None
    second: FloatArray | None = None
    measured_words: str = ""
    second_words: str = ""
    planned_words: str = ""
    measured_low: FloatArray | None = None
    measured_high: FloatArray | None = None
    window_low: FloatArray | None = None
    window_high: FloatArray | None = None
    window_words_low: str = ""
    window_words_high: str = ""
    has_window_ahead: bool = True
    forecast: FloatArray | None = None
    forecast_low: FloatArray | None = None
    forecast_high: FloatArray | None = None
    forecast_words: str = ""
    corrected: npt.NDArray[np.bool_] | None = None
    raw: FloatArray | None = None
    raw_words: str = ""
    point_chainage_m: FloatArray | None = None
    point_value: FloatArray | None = None
    events: tuple[Event, ...] = ()
    gaps: tuple[NamedGap, ...] = ()
    low: float = np.nan
    high: float = np.nan
    is_downward: bool = False
    is_stepped: bool = False
    is_signed: bool = False
    height_share: float = 1.0
    readings: tuple[Reading, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StateRow:
    """One row of the states strip: a code per push (see ``STATE_CODES``), and what to say of the exceptions by ring number."""

    name: str
    place: PlaceName
    codes: IntArray
    words: Mapping[int, str]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class GroundLayer:
    """A layer along the drive; ``base_doubt_m`` is half the band in which its base may lie."""

    name: str
    kind: SoilKind
    chainage_m: FloatArray
    top_level_m: FloatArray
    base_level_m: FloatArray
    base_doubt_m: FloatArray | None = None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class GroundLens:
    """A lens, or with kind ``unknown`` a region that no borehole reached; outline as chainage and level."""

    name: str
    kind: SoilKind
    chainage_m: FloatArray
    level_m: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WaterLevel:
    """A water table or the head of a deeper aquifer along the drive."""

    name: str
    chainage_m: FloatArray
    level_m: FloatArray
    is_second_head: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class BoreholeStick:
    """A borehole projected on the section; ``remark`` says how far off the axis it is and whether it was sealed."""

    name: str
    chainage_m: float
    top_level_m: float
    base_level_m: float
    remark: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class AssetOutline:
    """An asset above the drive.

    Parameters
    ----------
    foundation_level_m : underside of what it stands on; axis of a pipe or sewer.
    top_level_m : roof or deck; NaN draws a usual height.
    diameter_m : of pipes and sewers.
    pile_toe_level_m : NaN without piles.
    """

    name: str
    kind: AssetKind
    start_chainage_m: float
    end_chainage_m: float
    foundation_level_m: float
    top_level_m: float = float("nan")
    diameter_m: float = 0.0
    pile_toe_level_m: float = float("nan")


@dataclass(frozen=True, slots=True, kw_only=True)
class HoldPlace:
    """A hold point: its number, where it lies, before which push it needs its release, and why."""

    number: int
    chainage_m: float
    ring_number: int
    words: str
    href: str = ""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class GroundSection:
    """What stands in the section above the strips.

    Parameters
    ----------
    chainage_m, surface_level_m, axis_level_m : street and tunnel axis along the drive.
    outer_diameter_m, shield_diameter_m, shield_length_m : of the lining and the machine.
    """

    chainage_m: FloatArray
    surface_level_m: FloatArray
    axis_level_m: FloatArray
    outer_diameter_m: float
    shield_diameter_m: float
    shield_length_m: float
    layers: tuple[GroundLayer, ...] = ()
    lenses: tuple[GroundLens, ...] = ()
    waters: tuple[WaterLevel, ...] = ()
    boreholes: tuple[BoreholeStick, ...] = ()
    assets: tuple[AssetOutline, ...] = ()
    low_level_m: float = float("nan")
    high_level_m: float = float("nan")
    readings: tuple[Reading, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DriveSheet:
    """Everything on the longitudinal sheet.

    Parameters
    ----------
    first_ring, last_ring : range shown.
    chosen_ring : push on which the cursor stands.
    is_open : a push is going on after the last built ring; the face may stand anywhere in its span.
    face_chainage_m : where the face stands now.
    state_counts : by state how many criteria of each push are in it, NaN ahead of the machine; without it the rows of the states strip are counted.
    """

    drive_name: str
    places: Places
    first_ring: int
    last_ring: int
    chosen_ring: int
    face_chainage_m: float
    section: GroundSection | None
    strips: tuple[Strip, ...]
    state_rows: tuple[StateRow, ...] = ()
    state_counts: Mapping[State, FloatArray] | None = None
    holds: tuple[HoldPlace, ...] = ()
    missing_words: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class PhaseSpan:
    """A phase of a push cycle between two times in seconds."""

    name: str
    kind: Literal["advance", "stop", "build", "unknown"]
    start_s: float
    end_s: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PushLine:
    """One series of a panel of the push chart, by sample."""

    name: str
    values: FloatArray
    role: Literal["measured", "chosen", "second-line", "raw", "planned", "forecast"] = "measured"


@dataclass(frozen=True, slots=True, kw_only=True)
class PushReading:
    """A value of the whole push in the reading column; under the cursor it gives way to the sample of the line that it names."""

    label: str
    value: float
    unit: str = ""
    decimals: int = 0
    role: WordRole = "plain"
    is_bold: bool = False
    line: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class PushNote:
    """Words at one moment of a panel, such as ``crown port slows from here``; with a state they get its mark."""

    time_s: float
    value: float
    words: str
    state: State | None = None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PushPanel:
    """One panel of the push chart: lines, a window, notes, and the readings of the whole push."""

    key: str
    title: str
    subtitle: str
    lines: tuple[PushLine, ...]
    window_low: float = float("nan")
    window_high: float = float("nan")
    window_words: str = ""
    second_subtitle: str = ""
    notes: tuple[PushNote, ...] = ()
    readings: tuple[PushReading, ...] = ()
    low: float = float("nan")
    high: float = float("nan")
    height_share: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PushChart:
    """One push over time or stroke.

    Parameters
    ----------
    time_s : of each sample, from midnight of the site's day, so that ticks read as clock times.
    stroke_m : ram stroke of each sample.
    along : what the lying axis is; over stroke only samples during advance are drawn.
    gaps : named stretches without samples, as start, end, words.
    """

    ring_number: int
    time_s: FloatArray
    stroke_m: FloatArray
    phases: tuple[PhaseSpan, ...]
    panels: tuple[PushPanel, ...]
    along: Literal["time", "stroke"] = "time"
    gaps: tuple[tuple[float, float, str], ...] = ()
    missing_words: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class FaceStratum:
    """A stratum across the face, between two levels."""

    name: str
    kind: SoilKind
    top_level_m: float
    base_level_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class FaceSensor:
    """A chamber sensor: clock angle from the crown clockwise seen in drive direction, radius, reading, and its state."""

    name: str
    clock_angle_deg: float
    radius_m: float
    pressure_kpa: float
    state: State = "in order"
    remark: str = ""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FaceSheet:
    """The face at one chainage.

    Parameters
    ----------
    sensors_are_planned : the pressures at the sensors are targets of the plan and not readings.
    level_m : levels of the pressure lines, from above the crown to below the invert.
    water_kpa, ground_kpa, support_kpa, lower_kpa, upper_kpa : pressures at these levels; None leaves a line out.
    """

    chainage_m: float
    ring_number: int
    axis_level_m: float
    diameter_m: float
    strata: tuple[FaceStratum, ...]
    water_level_m: float = float("nan")
    second_head_level_m: float = float("nan")
    second_head_words: str = ""
    sensors: tuple[FaceSensor, ...] = ()
    sensors_are_planned: bool = False
    level_m: FloatArray | None = None
    water_kpa: FloatArray | None = None
    ground_kpa: FloatArray | None = None
    support_kpa: FloatArray | None = None
    lower_kpa: FloatArray | None = None
    upper_kpa: FloatArray | None = None
    target_crown_kpa: float = float("nan")


@dataclass(frozen=True, slots=True, kw_only=True)
class RingMark:
    """A ring that needs a person."""

    ring_number: int
    state: State
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RingRail:
    """The strip on top of every sheet.

    Parameters
    ----------
    ring_count : rings of the drive; ``built_ring_number`` the last that stands (0 before the first).
    open_ring_number : the ring whose push is going on, 0 for none.
    chosen_ring : where the caret stands, 0 for none.
    shown_from, shown_to : range of this sheet, 0 for none.
    href : address of a ring with ``{ring}`` in it; marks and holds become links, and the page script follows it.
    """

    drive_name: str
    ring_count: int
    built_ring_number: int
    open_ring_number: int = 0
    chosen_ring: int = 0
    shown_from: int = 0
    shown_to: int = 0
    marks: tuple[RingMark, ...] = ()
    holds: tuple[HoldPlace, ...] = ()
    href: str = "?ring={ring}"
