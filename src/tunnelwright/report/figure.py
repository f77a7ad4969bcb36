"""The figure record: what stands on a drawing, in the values of its axes, without a word about how it is printed.

A figure is a sheet of panels. A panel has its own rectangle and two axes; strips that belong together share the lying axis (chainage, time
or stroke). Items carry values, not pixels, and a meaning, not a colour. The same record goes to the page and to the drive book.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

import numpy as np
import numpy.typing as npt

from tunnelwright.report.axes import Axis, FloatArray
from tunnelwright.report.ink import SoilKind
from tunnelwright.vocabulary.criterion import State

LineRole = Literal[
    "measured", "chosen", "planned", "forecast", "limit", "second-line", "raw", "boundary", "axis", "surface", "outline", "thin", "ghost", "leader", "grid"
]
AreaRole = Literal[
    "window-area", "unsure-area", "still-area", "spread-area", "water-area", "built-area", "paper-area", "lining-area", "outline-paper", "planned-paper"
]
WordRole = Literal["plain", "second", "planned", "limit", "watch"]
Anchor = Literal["start", "middle", "end"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Line:
    """A series; NaN is a gap. ``is_step`` holds each value over its own push."""

    x: FloatArray
    y: FloatArray
    role: LineRole
    is_step: bool = False
    words: str = ""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Band:
    """The area between two series: a window between its limits, or the doubt round a line."""

    x: FloatArray
    low: FloatArray
    high: FloatArray
    role: AreaRole
    is_step: bool = False


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Spread:
    """The spread of each push as an upright bar."""

    x: FloatArray
    low: FloatArray
    high: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Dots:
    """Single readings; hollow ones are corrected values."""

    x: FloatArray
    y: FloatArray
    is_hollow: bool = False
    radius_px: float = 2.2


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ground:
    """A closed outline filled with the hatch of its soil; ``unknown`` ground is blank with a query mark."""

    x: FloatArray
    y: FloatArray
    kind: SoilKind
    name: str = ""
    outline: LineRole | Literal["doubtful", ""] = ""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Boundary:
    """A boundary of the ground with the band in which it may lie."""

    x: FloatArray
    y: FloatArray
    half_doubt: FloatArray | None = None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Outline:
    """A closed outline with a plain area."""

    x: FloatArray
    y: FloatArray
    role: AreaRole


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WaterTable:
    """A water level with its triangle at one place; a second head is a long-short line."""

    x: FloatArray
    y: FloatArray
    sign_x: float
    words: str = ""
    is_second_head: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Borehole:
    """A borehole as a stick with a foot."""

    x: float
    top: float
    base: float
    words: str


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Bars:
    """Upright strokes between two levels, such as the joints of built rings."""

    x: FloatArray
    low: FloatArray
    high: FloatArray
    role: Literal["joint", "tenth-joint", "thin", "tick", "dimension", "outline"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Hold:
    """A hold point: a numbered double upright bar that only a signed release clears."""

    x: float
    low: float
    high: float
    number: int
    words: str = ""
    href: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """The mark of a state at a place; ``words`` say the state and why, for pointer and reader alike."""

    x: float
    y: float
    state: State
    words: str
    href: str = ""
    size_px: float = 9.0
    lift_px: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Label:
    """Words at a place, on a halo of paper.

    Parameters
    ----------
    dx, dy : pixels from the place.
    options : further positions as (dx, dy, anchor), tried after the asked one; the one least on data lines wins.
    may_move : look for a free position round the place instead of standing exactly there; a label that finds none is left out and
        its words stay in the title of the place.
    turned : written upwards.
    key : hook by which the page script puts other words in.
    """

    x: float
    y: float
    words: str
    role: WordRole = "plain"
    anchor: Anchor = "start"
    size_px: int = 12
    is_bold: bool = False
    dx: float = 0.0
    dy: float = 0.0
    options: tuple[tuple[float, float, Anchor], ...] = ()
    may_move: bool = False
    turned: bool = False
    key: str = ""
    has_halo: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Leader:
    """Words joined to a place by one upright and one lying stroke."""

    x: float
    y: float
    to_x: float
    to_y: float
    words: str
    role: WordRole = "plain"
    anchor: Anchor = "end"


@dataclass(frozen=True, slots=True, kw_only=True)
class Dimension:
    """A dimension line with end ticks, lying or upright."""

    x1: float
    y1: float
    x2: float
    y2: float
    words: str = ""
    role: Literal["dimension", "limit"] = "dimension"
    word_role: WordRole = "plain"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Limit:
    """A limit: thin, with end ticks like a dimension line, named at its end inside the strip."""

    x: FloatArray
    y: FloatArray
    words: str = ""
    is_step: bool = False
    is_above: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Gap:
    """A stretch without readings, named where it lies."""

    start: float
    end: float
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Shade:
    """A stretch that is not advance: standstill or ring build."""

    start: float
    end: float
    words: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Upright:
    """An upright line through the whole panel: where the face stands, where an event lies."""

    x: float
    role: Literal["thin", "ghost", "event", "grid", "outline"]
    words: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Oval:
    """An ellipse or circle in the values of the axes, or a spot of a fixed size."""

    x: float
    y: float
    radius_x: float
    radius_y: float
    role: LineRole | AreaRole | Literal["dot", "hollow", "plan-dot"]
    words: str = ""


Item = (
    Line
    | Band
    | Spread
    | Dots
    | Ground
    | Boundary
    | Outline
    | WaterTable
    | Borehole
    | Bars
    | Hold
    | Mark
    | Label
    | Leader
    | Dimension
    | Limit
    | Gap
    | Shade
    | Upright
    | Oval
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Panel:
    """One rectangle of the sheet with its axes.

    Parameters
    ----------
    key : short name; hook of the cursor.
    title, subtitle : what is drawn, and its unit; they stand left of the panel.
    items : drawn in this order, words last.
    is_framed : outlined and with grid lines at the upright axis' ticks.
    shows_x_ticks : tick labels below the panel.
    clip_circle : centre and radius in pixels of a circle that cuts the items instead of the rectangle.
    """

    key: str
    x: Axis
    y: Axis
    items: tuple[Item, ...] = ()
    title: str = ""
    subtitle: str = ""
    second_subtitle: str = ""
    is_framed: bool = True
    has_grid: bool = True
    shows_x_ticks: bool = False
    is_clipped: bool = True
    clip_circle: tuple[float, float, float] | None = None
    title_x_px: float = 0.0

    @property
    def left_px(self) -> float:
        """Return the left edge."""
        return min(self.x.start_px, self.x.end_px)

    @property
    def right_px(self) -> float:
        """Return the right edge."""
        return max(self.x.start_px, self.x.end_px)

    @property
    def top_px(self) -> float:
        """Return the upper edge."""
        return min(self.y.start_px, self.y.end_px)

    @property
    def bottom_px(self) -> float:
        """Return the lower edge."""
        return max(self.y.start_px, self.y.end_px)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Reading:
    """One row of the reading column: the value at the chosen push, and those of all others for the page script.

    Parameters
    ----------
    values : by push (or sample); NaN prints as a dash and never as an old value.
    values_to : for a range, its upper end.
    form : how it prints; a chainage prints with kilometres and metres parted.
    state : draw the mark of this state before the label.
    at_rest : what it says while no push or sample is chosen.
    """

    label: str
    values: FloatArray
    unit: str = ""
    decimals: int = 0
    values_to: FloatArray | None = None
    role: WordRole = "plain"
    is_bold: bool = False
    is_signed: bool = False
    form: Literal["number", "chainage"] = "number"
    state: State | None = None
    at_rest: float = math.nan


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Cursor:
    """One cursor through all strips.

    Parameters
    ----------
    numbers : push (or sample) numbers.
    chosen : index of the chosen one, -1 for none.
    tracks : for each place a push has (face, grout, ring), where that is on the lying axis in pixels.
    panels : track of each panel that the cursor crosses, from top to bottom.
    readings : rows of the reading column by panel.
    """

    numbers: npt.NDArray[np.int64]
    chosen: int
    tracks: Mapping[str, FloatArray]
    panels: Mapping[str, str]
    readings: Mapping[str, tuple[Reading, ...]] = field(default_factory=dict)
    heading: str = "Reading at push"
    is_link: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """A drawing: its size in pixels, its name for readers, its panels, and the cursor that runs through them."""

    key: str
    width_px: float
    height_px: float
    title: str
    description: str
    panels: tuple[Panel, ...]
    cursor: Cursor | None = None
    reading_left_px: float = 0.0


def page_panel(key: str, width_px: float, height_px: float, items: tuple[Item, ...]) -> Panel:
    """Return a panel over the whole sheet whose values are pixels from the upper left corner."""
    return Panel(
        key=key,
        x=Axis(low=0.0, high=width_px, start_px=0.0, end_px=width_px),
        y=Axis(low=0.0, high=height_px, start_px=0.0, end_px=height_px),
        items=items,
        is_framed=False,
        has_grid=False,
        is_clipped=False,
    )
