"""A small sound log as a logger writes it, and its channel map: three rings in ten-second rows, decimal commas, wall clock, bar and litres."""

import copy
import datetime
from dataclasses import dataclass, field
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np

ZONE = ZoneInfo("CET")
START = datetime.datetime(2026, 1, 5, 9, 0, tzinfo=ZONE)
NOW_MS = int(datetime.datetime(2027, 1, 1, tzinfo=datetime.UTC).timestamp() * 1000)
STEP_S = 10
FIRST_RING = 101
RING_COUNT = 3
RING_LENGTH_M = 1.5
PUSH_S, WAIT_S, BUILD_S, STANDSTILL_S = 1800, 120, 1200, 600
SENSOR_DEPTHS_M = {"1": 0.8, "2": 2.4, "3": 4.1, "4": 5.7}
# heading, channel, unit, decimals, written per unit of the name
COLUMNS = (
    ("Ring", "ring_number_keyed", "", 0, 1.0),
    ("Station m", "chainage_m", "m", 3, 1.0),
    *((f"Ram {name} mm", f"ram_extension_{name}_m", "mm", 1, 1000.0) for name in "abc"),
    ("Thrust kN", "thrust_kn", "kN", 0, 1.0),
    ("Torque kNm", "cutterhead_torque_knm", "kNm", 0, 1.0),
    ("Advance mm/min", "advance_rate_mm_min", "mm/min", 1, 1.0),
    *((f"Chamber {name} bar", f"chamber_pressure_{name}_kpa", "bar", 3, 0.01) for name in SENSOR_DEPTHS_M),
    ("Belt t/h", "belt_mass_rate_1_t_h", "t/h", 1, 1.0),
    ("Belt total t", "belt_mass_total_1_t", "t", 2, 1.0),
    ("Foam l/min", "foam_liquid_l_min", "l/min", 1, 1.0),
    ("Grout left l", "grout_volume_left_m3", "l", 0, 1000.0),
    ("Grout left bar", "grout_pressure_left_kpa", "bar", 2, 0.01),
)


@dataclass
class LogFile:
    """One file before it is written: headings and rows of text, and how they are put together."""

    columns: list[str]
    rows: list[list[str]]
    separator: str = ";"
    encoding: str = "utf-8"
    line_end: str = "\n"
    name: str = "east.csv"
    before: list[str] = field(default_factory=list)

    def at(self, heading: str) -> int:
        return self.columns.index(heading)

    def cells(self, heading: str) -> list[str]:
        return [row[self.at(heading)] for row in self.rows]

    def set_cells(self, heading: str, texts: list[str]) -> None:
        for row, text in zip(self.rows, texts, strict=True):
            row[self.at(heading)] = text

    def drop(self, heading: str) -> None:
        at = self.at(heading)
        del self.columns[at]
        for row in self.rows:
            del row[at]

    def copy(self) -> "LogFile":
        return copy.deepcopy(self)

    def content(self) -> bytes:
        lines = [*self.before, self.separator.join(self.columns), *(self.separator.join(row) for row in self.rows)]
        return (self.line_end.join(lines) + self.line_end).encode(self.encoding)


def readings(first_ring: int = FIRST_RING) -> dict[str, np.ndarray]:
    """Return the readings by channel, in the units of their names; plain functions of time."""
    ring_s = PUSH_S + WAIT_S + BUILD_S
    time_s = np.arange(0, STANDSTILL_S + RING_COUNT * ring_s + STEP_S, STEP_S)
    since = time_s - STANDSTILL_S
    ring = np.clip(since // ring_s, 0, RING_COUNT - 1)
    at_s = since - ring * ring_s
    is_pushing = (at_s > 0) & (at_s <= PUSH_S)
    stroke = np.clip(at_s, 0, PUSH_S) / PUSH_S * RING_LENGTH_M
    driven = ring * RING_LENGTH_M + stroke
    build = np.clip((at_s - PUSH_S - WAIT_S) / BUILD_S, 0, 1)
    found = {"time_s": time_s, "ring_number_keyed": first_ring + ring, "chainage_m": 100.0 + (first_ring - FIRST_RING) * RING_LENGTH_M + driven}
    for place, name in enumerate("abc"):
        is_back = build > 0.3 * (place + 1)
        found[f"ram_extension_{name}_m"] = 0.3 + 0.004 * place + np.where(is_back, 0.0, stroke)
    found["thrust_kn"] = np.where(is_pushing, 15_000 + 2000 * stroke, 4000)
    found["cutterhead_torque_knm"] = np.where(is_pushing, 2500 + 50 * np.sin(time_s / 90), 0)
    found["advance_rate_mm_min"] = np.where(is_pushing, 60_000 * RING_LENGTH_M / PUSH_S, 0.0)
    for name, depth in SENSOR_DEPTHS_M.items():
        found[f"chamber_pressure_{name}_kpa"] = 180 + 14 * depth + 5 * np.sin(time_s / 400)
    found["belt_mass_rate_1_t_h"] = np.where(is_pushing, 210.0, 0.0)
    found["belt_mass_total_1_t"] = 5000 + 70 * driven
    found["foam_liquid_l_min"] = np.where(is_pushing, 120.0, 0.0)
    found["grout_volume_left_m3"] = 20 + 3.6 * driven
    found["grout_pressure_left_kpa"] = np.where(is_pushing, 300 + 20 * stroke, 150)
    return found


def base_log(start: datetime.datetime = START, first_ring: int = FIRST_RING) -> LogFile:
    """Return the sound log; the clock on the wall runs with the zone."""
    found = readings(first_ring)
    utc = start.astimezone(datetime.UTC)
    stamps = [f"{(utc + datetime.timedelta(seconds=int(second))).astimezone(ZONE):%d.%m.%Y %H:%M:%S}" for second in found["time_s"]]
    texts = [stamps]
    texts += [[f"{value * factor:.{decimals}f}".replace(".", ",") for value in found[channel].tolist()] for _, channel, _, decimals, factor in COLUMNS]
    return LogFile(columns=["Time", *(heading for heading, *_ in COLUMNS)], rows=[list(row) for row in zip(*texts, strict=True)])


def base_map() -> dict[str, Any]:
    """Return the channel map as its file would be read."""
    channels = [{"source": heading, "name": channel, **({"unit": unit} if unit else {})} for heading, channel, unit, _, _ in COLUMNS]
    return {
        "time_column": "Time",
        "time_format": "%d.%m.%Y %H:%M:%S",
        "time_zone": str(ZONE),
        "separator": ";",
        "decimal": ",",
        "channel": channels,
    }
