"""The logger's columns: heading, unit and digits in which each channel is written, and the channel map that says so."""

from dataclasses import dataclass
from typing import Final

from examples.brennholt.ground_truth import EAST, TIME_ZONE
from examples.brennholt.shields import EarthPressureShield

TIME_HEADING: Final = "Time"
TIME_FORMAT: Final = "%Y-%m-%d %H:%M:%S"
ROLL_OVER_T: Final = 10_000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class LoggerColumn:
    """One column of the log.

    Parameters
    ----------
    per_unit : what a value in the unit of the channel's name is multiplied with to be written.
    lag_s : how much later than the machine the column sees an event.
    """

    heading: str
    channel: str
    unit: str
    per_unit: float = 1.0
    decimals: int = 1
    modulus: float | None = None
    lag_s: float = 0.0


def logger_columns(shield: EarthPressureShield, rolls_over: bool) -> tuple[LoggerColumn, ...]:
    """Return the columns in the order of the file."""
    chambers = [
        LoggerColumn(heading=f"Chamber {one.name} bar", channel=f"chamber_pressure_{one.name}_kpa", unit="bar", per_unit=0.01, decimals=3)
        for one in shield.chamber_sensors
    ]
    rams = [LoggerColumn(heading=f"Ram {name} mm", channel=f"ram_extension_{name}_m", unit="mm", per_unit=1000.0) for name, _ in shield.ram_groups]
    belts = []
    for number, belt in enumerate(shield.belts):
        lag_s = belt.distance_m / shield.belt_speed_m_s
        modulus = ROLL_OVER_T if rolls_over and number == 0 else None
        belts += [
            LoggerColumn(heading=f"Belt {belt.name} t/h", channel=f"belt_mass_rate_{belt.name}_t_h", unit="t/h", lag_s=lag_s),
            LoggerColumn(heading=f"Belt {belt.name} total t", channel=f"belt_mass_total_{belt.name}_t", unit="t", decimals=2, modulus=modulus, lag_s=lag_s),
        ]
    grouts = []
    for name, _ in shield.grout_ports:
        grouts += [
            LoggerColumn(heading=f"Grout {name} l", channel=f"grout_volume_{name}_m3", unit="l", per_unit=1000.0, decimals=0),
            LoggerColumn(heading=f"Grout {name} bar", channel=f"grout_pressure_{name}_kpa", unit="bar", per_unit=0.01, decimals=2),
        ]
    deviations = [
        LoggerColumn(heading=f"{end.capitalize()} {way} mm", channel=f"deviation_{end}_{way}_mm", unit="mm")
        for end in ("front", "rear")
        for way in ("horizontal", "vertical")
    ]
    return (
        LoggerColumn(heading="Ring", channel="ring_number_keyed", unit="", decimals=0),
        LoggerColumn(heading="Face station m", channel="chainage_m", unit="m", decimals=3),
        *rams,
        LoggerColumn(heading="Thrust kN", channel="thrust_kn", unit="kN", decimals=0),
        LoggerColumn(heading="Advance mm/min", channel="advance_rate_mm_min", unit="mm/min"),
        LoggerColumn(heading="Head torque kNm", channel="cutterhead_torque_knm", unit="kNm", decimals=0),
        LoggerColumn(heading="Head speed rpm", channel="cutterhead_speed_rpm", unit="rpm", decimals=2),
        *chambers,
        LoggerColumn(heading="Screw speed rpm", channel="screw_speed_rpm", unit="rpm"),
        LoggerColumn(heading="Screw inlet bar", channel="screw_pressure_1_kpa", unit="bar", per_unit=0.01, decimals=2),
        LoggerColumn(heading="Screw gate bar", channel="screw_pressure_2_kpa", unit="bar", per_unit=0.01, decimals=2),
        *belts,
        LoggerColumn(heading="Belt speed m/s", channel="belt_speed_m_s", unit="m/s", decimals=2),
        LoggerColumn(heading="Foam liquid l/min", channel="foam_liquid_l_min", unit="l/min"),
        LoggerColumn(heading="Foam air l/min", channel="foam_air_l_min", unit="l/min", decimals=0),
        LoggerColumn(heading="Water l/min", channel="water_l_min", unit="l/min"),
        *grouts,
        *deviations,
        LoggerColumn(heading="Oxygen %", channel="oxygen_pct", unit="%", decimals=2),
        LoggerColumn(heading="Methane %", channel="gas_methane_pct", unit="%", decimals=3),
    )


def channel_map_text(columns: tuple[LoggerColumn, ...], decimal: str, first_day: str, last_day: str, time_zone: str = TIME_ZONE) -> str:
    """Return the channel map of these log files."""
    lines = [
        f"# Channel map of the logger on the shield of the {EAST.title}. One [[channel]] per column; times are wall clock.",
        f'time_column = "{TIME_HEADING}"',
        f'time_format = "{TIME_FORMAT}"',
        f'time_zone = "{time_zone}"',
        'separator = ";"',
        f'decimal = "{decimal}"',
        'encoding = "utf-8"',
        "header_line_count = 1",
        "sentinels = []                          # this logger writes words; 9999 is a number like any other",
        f"drive_start = {first_day}",
        f"drive_end = {last_day}",
    ]
    for column in columns:
        lines += ["", "[[channel]]", f'source = "{column.heading}"', f'name = "{column.channel}"']
        lines += [f'unit = "{column.unit}"'] if column.unit else []
        lines += [f"modulus = {column.modulus:.1f}"] if column.modulus else []
        lines += [f"lag_s = {column.lag_s:.1f}"] if column.lag_s else []
    return "\n".join(lines) + "\n"
