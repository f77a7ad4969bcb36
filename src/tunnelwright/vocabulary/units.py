"""A closed table of units, and the unit that a name carries as its suffix.

Inside the program a number has the unit of its name's suffix and nothing else. Units are met only at the border: in
files, on the command line, in forms. The base is metre, kilonewton, second; a tonne is kN s2/m.
"""

import difflib
import math
import re
from dataclasses import dataclass
from functools import lru_cache
from typing import Final


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit: its factor to the base units and the exponents of metre, kilonewton, second and angle."""

    text: str
    factor: float
    metre: int = 0
    kilonewton: int = 0
    second: int = 0
    angle: int = 0

    @property
    def dimension(self) -> tuple[int, int, int, int]:
        """Return the exponents of metre, kilonewton, second, angle."""
        return self.metre, self.kilonewton, self.second, self.angle


class UnitUnknown(ValueError):
    """A unit that is not in the table, with the nearest one that is."""


class UnitMismatch(ValueError):
    """A unit of another kind than the name demands."""


# text, factor to base, metre, kilonewton, second, angle
_ATOMS: Final = {
    "m": (1.0, 1, 0, 0, 0),
    "mm": (1e-3, 1, 0, 0, 0),
    "cm": (1e-2, 1, 0, 0, 0),
    "km": (1e3, 1, 0, 0, 0),
    "um": (1e-6, 1, 0, 0, 0),
    "l": (1e-3, 3, 0, 0, 0),
    "kN": (1.0, 0, 1, 0, 0),
    "N": (1e-3, 0, 1, 0, 0),
    "MN": (1e3, 0, 1, 0, 0),
    "tf": (9.80665, 0, 1, 0, 0),
    "kNm": (1.0, 1, 1, 0, 0),
    "MNm": (1e3, 1, 1, 0, 0),
    "kNm2": (1.0, 2, 1, 0, 0),
    "mPa": (1e-6, -2, 1, 0, 0),
    "Pa": (1e-3, -2, 1, 0, 0),
    "kPa": (1.0, -2, 1, 0, 0),
    "MPa": (1e3, -2, 1, 0, 0),
    "GPa": (1e6, -2, 1, 0, 0),
    "bar": (100.0, -2, 1, 0, 0),
    "mbar": (0.1, -2, 1, 0, 0),
    "t": (1.0, -1, 1, 2, 0),
    "kg": (1e-3, -1, 1, 2, 0),
    "g": (1e-6, -1, 1, 2, 0),
    "s": (1.0, 0, 0, 1, 0),
    "ms": (1e-3, 0, 0, 1, 0),
    # of a power law, whose exponent n is another input: it can be written but not converted
    "s^n": (1.0, 0, 0, 0, 0),
    "min": (60.0, 0, 0, 1, 0),
    "h": (3600.0, 0, 0, 1, 0),
    "day": (86400.0, 0, 0, 1, 0),
    "yr": (365.25 * 86400.0, 0, 0, 1, 0),
    "rpm": (1 / 60.0, 0, 0, -1, 0),
    "rev": (1.0, 0, 0, 0, 0),
    "kW": (1.0, 1, 1, -1, 0),
    "W": (1e-3, 1, 1, -1, 0),
    "MW": (1e3, 1, 1, -1, 0),
    "kWh": (3600.0, 1, 1, 0, 0),
    "MJ": (1e3, 1, 1, 0, 0),
    "J": (1e-3, 1, 1, 0, 0),
    "kJ": (1.0, 1, 1, 0, 0),
    "rad": (1.0, 0, 0, 0, 1),
    "mrad": (1e-3, 0, 0, 0, 1),
    "deg": (math.pi / 180.0, 0, 0, 0, 1),
    "gon": (math.pi / 200.0, 0, 0, 0, 1),
    "degC": (1.0, 0, 0, 0, 0),
    "%": (1e-2, 0, 0, 0, 0),
    "permille": (1e-3, 0, 0, 0, 0),
    "ppm": (1e-6, 0, 0, 0, 0),
    "ring": (1.0, 0, 0, 0, 0),
    "1": (1.0, 0, 0, 0, 0),
}
_SPELLINGS: Final = {
    "°": "deg",
    "degree": "deg",
    "degrees": "deg",
    "°C": "degC",
    "tonne": "t",
    "tonnes": "t",
    "L": "l",
    "Nl": "l",
    "litre": "l",
    "litres": "l",
    "sec": "s",
    "minute": "min",
    "minutes": "min",
    "hour": "h",
    "hours": "h",
    "d": "day",
    "days": "day",
    "year": "yr",
    "years": "yr",
    "percent": "%",
    "pct": "%",
    "‰": "permille",
    "µm": "um",
    "μm": "um",
}
# Canonical unit of every suffix that a name may carry, by what it measures. A litre of gas at normal conditions (Nl) counts as a litre.
_CANONICAL: Final = (
    *("m", "mm", "cm", "km", "um", "m2", "mm2", "m3", "l", "m4", "m3/m", "m2/m", "mm2/m", "mm/m", "1/m", "1/km"),
    *("kN", "N", "MN", "kN/m", "kN/m2", "kN/m3", "kNm", "MNm", "kNm/m", "kNm/rad", "kNm2", "kNm2/m"),
    *("kPa", "MPa", "GPa", "Pa", "bar", "mbar", "kPa/m", "kPa/min", "kPa/h", "1/kPa", "kPa s", "Pa s", "mPa s"),
    *("rad", "mrad", "deg", "gon", "s", "ms", "min", "h", "day", "yr", "1/s", "1/h", "rpm"),
    *("m/s", "mm/s", "mm/min", "cm/min", "m/min", "m/h", "m/day", "mm/day", "km/h", "mm/rev", "m2/s", "m2/yr"),
    *("m3/s", "m3/min", "m3/h", "l/s", "l/min", "Nl/min", "l/m3", "m3/s/kPa"),
    *("t", "kg", "g", "t/m3", "kg/m3", "kg/m2", "t/h", "kg/s", "kg/min", "g/t"),
    *("kW", "MW", "kWh", "MJ/m3", "kWh/m3", "degC", "ppm"),
)


def suffix_of(unit: str) -> str:
    """Return the suffix that a name with this unit carries, for example ``kn_m3``."""
    return unit.lower().replace("/", "_").replace(" ", "_")


_UNIT_OF_SUFFIX: Final = {suffix_of(unit): unit for unit in _CANONICAL} | {"pct": "%", "pa_sn": "Pa s^n"}


@lru_cache(maxsize=4096)
def unit(text: str) -> Unit:
    """Return the unit with this text.

    Raises
    ------
    UnitUnknown
        when a part of the text is not in the table; the message names the nearest unit.
    """
    cleaned = text.strip().replace("per cent", "%").replace("·", " ").replace("³", "3").replace("²", "2")
    cleaned = _SPELLINGS.get(cleaned, cleaned)
    if cleaned in ("", "-"):
        return Unit("", 1.0)
    factor, exponents = 1.0, [0, 0, 0, 0]
    for position, part in enumerate(cleaned.split("/")):
        sign = 1 if position == 0 else -1
        tokens = part.split()
        if position and not tokens:
            raise UnitUnknown(f"the unit `{text}` is not complete")
        for token in tokens:
            atom_factor, atom_exponents = _atom(token)
            factor *= atom_factor**sign
            exponents = [total + sign * one for total, one in zip(exponents, atom_exponents, strict=True)]
    return Unit(cleaned, factor, *exponents)


def _atom(token: str) -> tuple[float, tuple[int, ...]]:
    token = _SPELLINGS.get(token, token)
    if token in _ATOMS:
        factor, *exponents = _ATOMS[token]
        return factor, tuple(exponents)
    match = re.fullmatch(r"([A-Za-z%]+)\^?([1-4])", token)
    if match and match[1] in _ATOMS:
        factor, *exponents = _ATOMS[match[1]]
        power = int(match[2])
        return factor**power, tuple(power * one for one in exponents)
    near = _nearest(token)
    raise UnitUnknown(f"unknown unit `{token}`" + (f", did you mean {' or '.join(f'`{one}`' for one in near)}?" if near else ""))


def _nearest(token: str) -> list[str]:
    """Return the units that a person may have meant: those that differ only in capitals, else the one most alike."""
    same_letters = [text for text in _ATOMS if text.lower() == token.lower()]
    return same_letters or difflib.get_close_matches(token, _ATOMS, n=1, cutoff=0.5)


@lru_cache(maxsize=4096)
def split_name(name: str) -> tuple[str, str]:
    """Return the stem of a name and the unit its suffix stands for; the unit is empty when there is none."""
    parts = name.split("_")
    for count in (3, 2, 1):
        if len(parts) > count:
            suffix = "_".join(parts[-count:])
            if suffix in _UNIT_OF_SUFFIX:
                return "_".join(parts[:-count]), _UNIT_OF_SUFFIX[suffix]
    return name, ""


def unit_of_name(name: str) -> str:
    """Return the unit that a name's suffix stands for."""
    return split_name(name)[1]


def convert(value: float, given: str, wanted: str) -> float:
    """Return a value given in one unit in another of the same kind.

    Raises
    ------
    UnitUnknown, UnitMismatch
        when one of the two is not in the table, or they measure different things.
    """
    from_unit, to_unit = unit(given), unit(wanted)
    if not _same_measure(from_unit, to_unit):
        raise UnitMismatch(f"`{given}` does not measure what {f'`{wanted}`' if wanted else 'a plain number'} measures")
    # Dividing by 1000 is exact where multiplying by 0.001 is not: 1001 mm are 1.001 m.
    if from_unit.factor < to_unit.factor:
        return value / (to_unit.factor / from_unit.factor)
    return value * (from_unit.factor / to_unit.factor)


def _same_measure(one: Unit, other: Unit) -> bool:
    if one.dimension == other.dimension:
        return "degC" not in (one.text, other.text) or one.text == other.text
    return _slope_as_angle(one, other) or _slope_as_angle(other, one)


def _slope_as_angle(slope: Unit, angle: Unit) -> bool:
    """Return whether a small lean is given as a slope where an angle is meant; guidance systems say mm/m."""
    return slope.text == "mm/m" and angle.dimension == (0, 0, 0, 1)


_NUMBER: Final = r"[-+−]?(?:\d+(?:[ \u00a0\u202f]\d{3})*(?:\.\d*)?|\.\d+)(?:[eE][-+]?\d+)?"
_NUMBER_AND_UNIT: Final = re.compile(rf"\s*({_NUMBER})\s*((?:1\s*)?/.*?|[^\W\d_].*?|[%°‰].*?|)\s*")


def parse_value(text: str, wanted: str) -> float:
    """Return a number written as text, with or without its unit, in the wanted unit.

    Raises
    ------
    ValueError
        when the text is no number; UnitUnknown and UnitMismatch (both ValueErrors) when the unit does not fit.
    """
    match = _NUMBER_AND_UNIT.fullmatch(text)
    if match is None:
        raise ValueError("is not a number" + ("; write a decimal point, not a comma" if re.fullmatch(r"\s*[-+−]?[\d.]*\d,\d+.*", text) else ""))
    number = float(re.sub(r"[ \u00a0\u202f]", "", match[1]).replace("−", "-"))
    return convert(number, match[2], wanted) if match[2] else number
