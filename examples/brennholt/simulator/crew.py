"""The crew: when it works, how long its steps take, what it types into the machine."""

import datetime
from dataclasses import dataclass
from zoneinfo import ZoneInfo

import numpy as np
from examples.brennholt.ground_truth import CLOSURES
from examples.brennholt.simulator.push import Stop

SEGMENT_COUNT = 6
NIGHTS_CLOSED_DAYS = 14
DAY_START, DAY_END = datetime.time(6), datetime.time(22)


@dataclass(frozen=True, slots=True, kw_only=True)
class Steps:
    """Durations of one cycle besides the push.

    Parameters
    ----------
    segment_s : of each segment, from the rams' retreat to their contact.
    pause_s : after the ring is built, until the next push may begin.
    """

    stops: tuple[Stop, ...]
    wait_before_build_s: float
    segment_s: tuple[float, ...]
    pause_s: float

    @property
    def build_s(self) -> float:
        """Return the time from the first ram's retreat to the last ram's contact."""
        return sum(self.segment_s)


def skill(ring_index: int) -> float:
    """Return the pace of a crew that learns: 0.55 at the first ring, 1 after a hundred."""
    return 1.0 - 0.45 * float(np.exp(-ring_index / 25.0))


def steps_of(ring_index: int, generator: np.random.Generator) -> Steps:
    """Return how long the crew takes over one ring, in whole seconds."""
    slower = 1.0 / skill(ring_index)
    places = np.sort(generator.uniform(0.15, 0.85, generator.poisson(0.35)))
    stops = [Stop(at_share=float(place), duration_s=float(5 * round(generator.lognormal(np.log(150.0), 0.5) / 5))) for place in places]
    wait = slower * generator.lognormal(np.log(300.0), 0.35)
    segments = slower * generator.lognormal(np.log(265.0), 0.15, SEGMENT_COUNT)
    pause = slower * generator.lognormal(np.log(520.0), 0.4)
    if generator.random() < 0.05:
        pause += generator.lognormal(np.log(4500.0), 0.5)
    return Steps(
        stops=tuple(stops), wait_before_build_s=float(round(max(wait, 120.0))), segment_s=tuple(float(round(max(one, 120.0))) for one in segments),
        pause_s=float(round(max(pause, 240.0))),
    )  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Calendar:
    """Working time in local wall clock: no push begins on a Sunday or a closed day from 06:00 on, nor by night in the first two weeks."""

    zone: ZoneInfo
    start: datetime.datetime

    def next_push_s(self, earliest_s: int) -> int:
        """Return the UTC second at which a push may begin, not before the earliest."""
        local = datetime.datetime.fromtimestamp(earliest_s, self.zone)
        for _ in range(4):
            opening = self._opening(local)
            if opening is None:
                break
            local = opening
        return int(local.timestamp())

    def _opening(self, local: datetime.datetime) -> datetime.datetime | None:
        """Return when work begins again, none while it goes on."""
        morning = local.replace(hour=DAY_START.hour, minute=10, second=0, microsecond=0)
        if local.weekday() == 6 and local.time() >= DAY_START:
            return morning + datetime.timedelta(days=1)
        for first, last in CLOSURES:
            closed = datetime.datetime.combine(datetime.date.fromisoformat(first), DAY_START, self.zone)
            opening = datetime.datetime.combine(datetime.date.fromisoformat(last), morning.time(), self.zone) + datetime.timedelta(days=1)
            if closed <= local < opening:
                return opening
        if local - self.start < datetime.timedelta(days=NIGHTS_CLOSED_DAYS):
            if local.time() >= DAY_END:
                return morning + datetime.timedelta(days=1)
            if local.time() < DAY_START:
                return morning
        return None


def mistyped(ring_number: int) -> int:
    """Return the number that hasty fingers type: the last two digits swapped, or the next key when they are equal."""
    tens, ones = ring_number // 10 % 10, ring_number % 10
    if tens == ones:
        return ring_number + 10
    return ring_number - 10 * tens - ones + 10 * ones + tens
