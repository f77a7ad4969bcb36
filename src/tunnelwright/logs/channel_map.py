"""The channel map: which column of the logger is which channel, in which unit, and how the file is written."""

import datetime
import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Annotated, Any, Self
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, ValidationError, model_validator
from pydantic_core import PydanticCustomError

from tunnelwright.logs.channel_families import Family, Interpolation, Kind, family_of, nearest_name, unit_of_channel
from tunnelwright.vocabulary.remark import Fault, InputRefused
from tunnelwright.vocabulary.units import UnitMismatch, UnitUnknown, convert

DEFAULT_SENTINELS = (9999.0, -9999.0, 1e30, -1e30)
Locate = Callable[[tuple[str | int, ...]], str]


def _refusal(required: str, given: object, hint: str = "", field: str = "") -> PydanticCustomError:
    return PydanticCustomError(
        "refused", "{required}", {"required": required, "given": "nothing" if given is None else str(given), "hint": hint, "field": field}
    )


def _in_utc(moment: datetime.datetime) -> datetime.datetime:
    return moment.replace(tzinfo=datetime.UTC) if moment.tzinfo is None else moment.astimezone(datetime.UTC)


Moment = Annotated[datetime.datetime, AfterValidator(_in_utc)]


class _Entry(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False, str_strip_whitespace=True)


class Channel(_Entry):
    """One column of the logger.

    Parameters
    ----------
    source : heading of the column in the file.
    name : dictionary name of the channel.
    unit : in which the column is written; empty means that of the name.
    factor, offset : the reading is ``written * factor + offset``, still in the unit of the column (strokes to litres, absolute to gauge).
    kind, interpolation : of the samples; empty kind means that of the family. Archives that write on change hold their value: ``step``.
    plausible : usual range of the median while advancing, in the unit of the name.
    modulus : reading at which a counter starts again at zero.
    lag_s : how much later than the machine the channel sees an event.
    resolution : smallest step of the reading.
    largest_rate_per_s, tolerance : fastest count of a counter, and the creep that means nothing.
    valid_from, valid_until : UTC; a sensor replaced in the drive has two entries.
    """

    source: Annotated[str, Field(min_length=1)]
    name: str
    unit: str = ""
    factor: float = 1.0
    offset: float = 0.0
    kind: Kind | None = None
    interpolation: Interpolation = "trapezoid"
    plausible: tuple[float, float] | None = None
    modulus: Annotated[float | None, Field(gt=0)] = None
    lag_s: Annotated[float, Field(ge=0, le=86_400)] = 0.0
    resolution: Annotated[float | None, Field(ge=0)] = None
    largest_rate_per_s: Annotated[float | None, Field(gt=0)] = None
    tolerance: Annotated[float | None, Field(ge=0)] = None
    valid_from: Moment | None = None
    valid_until: Moment | None = None

    @model_validator(mode="after")
    def _check(self) -> Self:
        if family_of(self.name) is None:
            near = nearest_name(self.name)
            raise _refusal("must be the dictionary name of a channel", self.name, f"did you mean {near}?" if near else "", "name")
        try:
            self.scale_and_shift  # noqa: B018
        except (UnitUnknown, UnitMismatch) as reason:
            raise _refusal(str(reason), self.unit, f'for example "{unit_of_channel(self.name)}"', "unit") from None
        if self.factor == 0.0:
            raise _refusal("must not be 0", self.factor, "", "factor")
        if self.plausible is not None and not self.plausible[0] < self.plausible[1]:
            raise _refusal("must be low and high, in that order", self.plausible, "", "plausible")
        if self.modulus is not None and self.arithmetic != "counter":
            raise _refusal(f"only a counter has one; {self.name} is a {self.arithmetic}", self.modulus, 'or set kind = "counter"', "modulus")
        if self.valid_from is not None and self.valid_until is not None and self.valid_from >= self.valid_until:
            raise _refusal("must lie after valid_from", self.valid_until, "", "valid_until")
        return self

    @property
    def family(self) -> Family:
        """Return what is known of channels of this sort."""
        family = family_of(self.name)
        assert family is not None, "checked when the channel was made"
        return family

    @property
    def arithmetic(self) -> Kind:
        """Return the kind in force."""
        return self.kind or self.family.kind

    @property
    def scale_and_shift(self) -> tuple[float, float]:
        """Return the two numbers that turn what is written into the unit of the name."""
        own = unit_of_channel(self.name)
        written = self.unit or own
        return convert(self.factor, written, own), convert(self.offset, written, own)

    def holds_at_ms(self) -> tuple[int | None, int | None]:
        """Return the UTC milliseconds from and before which the entry is valid."""
        moments = (self.valid_from, self.valid_until)
        return tuple(None if moment is None else round(moment.timestamp() * 1000) for moment in moments)  # type: ignore[return-value]


class ClockOffset(_Entry):
    """A stretch of a file whose clock was wrong by a constant, as a person has decided.

    Parameters
    ----------
    file : name of the file, without folder.
    first_row, last_row : data rows counted from 1; without a last row to the end of the file.
    offset_s : added to the recorded time.
    """

    file: str
    first_row: Annotated[int, Field(ge=1)]
    last_row: int | None = None
    offset_s: float


def _known_zone(name: str) -> str:
    if name:
        try:
            ZoneInfo(name)
        except (ZoneInfoNotFoundError, ValueError, OSError):
            raise _refusal("must be the name of a time zone", name, "for example CET or UTC") from None
    return name


class ChannelMap(_Entry):
    """How a logger's files are read.

    Parameters
    ----------
    time_column : heading of the column with the time, or with the date when the time of day stands apart.
    time_of_day_column : heading of the time of day, empty when it stands with the date.
    time_format : ``iso``, ``epoch``, ``serial_day`` or a pattern such as ``%d.%m.%Y %H:%M:%S``; empty means to look at the file.
    time_zone : IANA name of the zone of a wall clock.
    separator, decimal, encoding, header_line_count : empty means to look at the file.
    drive_start, drive_end : stated dates of the drive; rows more than a day outside are put aside.
    sentinels : numbers that stand for a missing reading.
    """

    time_column: Annotated[str, Field(min_length=1)]
    time_of_day_column: str = ""
    time_format: str = ""
    time_zone: Annotated[str, AfterValidator(_known_zone)] = ""
    separator: Annotated[str, Field(pattern=r"^(,|;|\t|\||)$")] = ""
    decimal: Annotated[str, Field(pattern=r"^(\.|,|)$")] = ""
    encoding: Annotated[str, Field(pattern=r"^(utf-8|latin-1|)$")] = ""
    header_line_count: Annotated[int | None, Field(ge=0, le=50)] = None
    drive_start: datetime.date | None = None
    drive_end: datetime.date | None = None
    sentinels: tuple[float, ...] = DEFAULT_SENTINELS
    channels: Annotated[tuple[Channel, ...], Field(min_length=1)]
    clock_offsets: tuple[ClockOffset, ...] = ()

    @model_validator(mode="after")
    def _check(self) -> Self:
        for at, channel in enumerate(self.channels):
            for other in self.channels[:at]:
                if channel.name == other.name and _overlap(channel, other):
                    raise _refusal(
                        f"must be given once at any time, but `{other.source}` and `{channel.source}` both give it",
                        channel.name,
                        "give the two entries dates: valid_from, valid_until",
                        f"channels[{at + 1}].name",
                    )
        if self.drive_start and self.drive_end and self.drive_end < self.drive_start:
            raise _refusal("must not lie before drive_start", self.drive_end, "", "drive_end")
        return self

    @property
    def names(self) -> tuple[str, ...]:
        """Return the dictionary names, each once, in the order of the map."""
        return tuple(dict.fromkeys(channel.name for channel in self.channels))

    def entries(self, name: str) -> tuple[Channel, ...]:
        """Return the entries of one channel, several when a sensor was replaced."""
        return tuple(channel for channel in self.channels if channel.name == name)

    @classmethod
    def from_mapping(cls, data: Mapping[str, Any], where: str = "channel map", locate: Locate | None = None) -> Self:
        """Return the map that was read from a file.

        Parameters
        ----------
        data : the tables of the file; channels stand under ``channel`` or ``channels``.
        where : name of the file, for Faults.
        locate : gives file and line of a path inside the data.

        Raises
        ------
        InputRefused
            with every Fault.
        """
        renamed = {{"channel": "channels", "clock_offset": "clock_offsets"}.get(key, key): value for key, value in data.items()}
        try:
            return cls.model_validate(renamed)
        except ValidationError as error:
            # A list whose every entry was refused is not an empty list.
            items = [item for item in error.errors(include_url=False) if not (item["type"] == "too_short" and item["input"])]
            raise InputRefused([_fault(item, where, locate) for item in items], where) from None


def _overlap(one: Channel, other: Channel) -> bool:
    def bounds(channel: Channel) -> tuple[float, float]:
        start, end = channel.holds_at_ms()
        return (-math.inf if start is None else start), (math.inf if end is None else end)

    (start, end), (other_start, other_end) = bounds(one), bounds(other)
    return start < other_end and other_start < end


_NEEDED = {
    "missing": "is needed",
    "extra_forbidden": "no field of this name is known",
    "literal_error": "must be one of the known words",
    "string_type": "text in quotes is needed",
    "tuple_type": "a list is needed",
    "too_short": "at least one is needed",
    "string_too_short": "must not be empty",
    "string_pattern_mismatch": "is not one of the known marks",
    "finite_number": "a finite number is needed",
    "date_from_datetime_parsing": "a date is needed, for example 2025-03-31",
    "datetime_from_date_parsing": "a date with time is needed, for example 2025-03-31T06:00:00Z",
    "model_type": "a table of fields is needed",
}


def _fault(item: Any, where: str, locate: Locate | None) -> Fault:
    path: tuple[str | int, ...] = tuple(item["loc"])
    context = item.get("ctx", {})
    given = item["input"]
    if item["type"] == "refused":
        required, hint, given = context["required"], context["hint"], context["given"]
        path = (*path, context["field"]) if context["field"] else path
    else:
        required, hint = _NEEDED.get(item["type"], ""), ""
        if item["type"] == "literal_error":
            required = f"must be one of {context['expected']}".replace("'", "")
        required = required or str(item["msg"])[0].lower() + str(item["msg"])[1:]
    shown = "nothing" if item["type"] == "missing" else (f"{given:g}" if isinstance(given, float) else str(given))
    return Fault(
        where=locate(path) if locate else where, field=_written(path), given=shown if len(shown) <= 60 else shown[:57] + "...", required=required, hint=hint
    )


def _written(path: tuple[str | int, ...]) -> str:
    words = ""
    for step in path:
        words += f"[{step + 1}]" if isinstance(step, int) else f".{step}" if words else str(step)
    return words.replace("channels[", "channel[") or "channel map"


@dataclass(frozen=True, slots=True, kw_only=True)
class ChannelFacts:
    """What the log store keeps of a channel, so that its samples can be read without the map."""

    name: str
    kind: Kind
    interpolation: Interpolation = "trapezoid"
    modulus: float | None = None
    lag_s: float = 0.0
    resolution: float = 0.0
    largest_rate_per_s: float = math.inf
    tolerance: float = 0.0
    plausible: tuple[float, float] | None = None

    @classmethod
    def of(cls, channel: Channel) -> Self:
        """Return the facts of an entry of the map, the family's where the entry is silent."""
        family = channel.family
        return cls(
            name=channel.name,
            kind=channel.arithmetic,
            interpolation=channel.interpolation,
            modulus=channel.modulus,
            lag_s=channel.lag_s,
            resolution=family.resolution if channel.resolution is None else channel.resolution,
            largest_rate_per_s=family.largest_rate_per_s if channel.largest_rate_per_s is None else channel.largest_rate_per_s,
            tolerance=family.tolerance if channel.tolerance is None else channel.tolerance,
            plausible=channel.plausible or family.plausible,
        )
