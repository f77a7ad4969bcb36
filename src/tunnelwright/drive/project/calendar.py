"""When people work."""

import datetime
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from tunnelwright.drive.fields import Part, number, refusal

Weekday = Literal["Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"]
WEEK: tuple[Weekday, ...] = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


class Shift(Part):
    """A shift of every working day; one that ends before it starts runs past midnight."""

    name: str
    start: datetime.time
    end: datetime.time

    @property
    def hours(self) -> float:
        """Return the length of the shift."""
        start, end = (moment.hour + moment.minute / 60 for moment in (self.start, self.end))
        return (end - start) % 24 or 24.0


class Closure(Part):
    """Days on which nobody works: a holiday, a shut-down, a settlement curfew."""

    name: str = ""
    first: datetime.date
    last: datetime.date

    @model_validator(mode="after")
    def _check(self) -> Self:
        if self.last < self.first:
            raise refusal(self.last, f"must not lie before the first day, {self.first}", "are the two swapped?", field="last")
        return self


class Calendar(Part):
    """Working days, shifts and closures of the programme, in one time zone."""

    time_zone: str = "UTC"
    start_date: datetime.date = datetime.date(2025, 1, 6)
    end_date: datetime.date | None = None
    working_days: Annotated[tuple[Weekday, ...], Field(min_length=1)] = WEEK
    shifts: Annotated[tuple[Shift, ...], Field(min_length=1)] = (
        Shift(name="day", start=datetime.time(6), end=datetime.time(18)),
        Shift(name="night", start=datetime.time(18), end=datetime.time(6)),
    )
    closures: tuple[Closure, ...] = ()
    availability: Annotated[float, number(above=0.0, high=1.0)] = 0.8
    build_time_s: Annotated[float, number(above=0.0, entry="build_time_s")] = 2100.0
    learning_start_factor: Annotated[float, number(low=1.0, high=10.0)] = 2.5
    learning_ring_count: Annotated[float, number(above=0.0)] = 50.0

    @property
    def scheduled_hours_per_week(self) -> float:
        """Return the hours of all shifts in a week without closures."""
        return sum(shift.hours for shift in self.shifts) * len(set(self.working_days))
