"""The quantity dictionary: what every shared name means, its sign, its possible range and how it is shown."""

import dataclasses
import math
import tomllib
from dataclasses import dataclass
from functools import cache
from importlib import resources

from tunnelwright.vocabulary.units import convert, split_name, unit_of_name


@dataclass(frozen=True, slots=True, kw_only=True)
class Quantity:
    """One entry of the dictionary.

    Parameters
    ----------
    name : with its unit as suffix.
    symbol : as used in formulas, empty where none is usual.
    meaning : one line, without the unit.
    sign : what a positive value means, where that could be asked.
    low, high : possible range in the unit of the name; outside it an input is refused.
    shown_unit : unit on pages, in tables and on sheets.
    decimals : shown in that unit.
    """

    name: str
    meaning: str
    symbol: str = ""
    sign: str = ""
    low: float = -math.inf
    high: float = math.inf
    shown_unit: str = ""
    decimals: int = 2
    unit: str = ""

    def shown(self, value: float) -> float:
        """Return a value in the unit in which it is shown."""
        return value if self.shown_unit == self.unit else convert(value, self.unit, self.shown_unit)


@cache
def quantities() -> dict[str, Quantity]:
    """Return the dictionary by name, read once from ``data/quantities.toml``."""
    text = resources.files("tunnelwright.data").joinpath("quantities.toml").read_text(encoding="utf-8")
    entries = {}
    for name, entry in tomllib.loads(text).items():
        low, high = entry.pop("possible", (-math.inf, math.inf))
        own_unit = entry.pop("unit", unit_of_name(name))
        entries[name] = Quantity(name=name, unit=own_unit, low=low, high=high, shown_unit=entry.pop("shown_unit", own_unit), **entry)
    return entries


@cache
def quantity(name: str) -> Quantity:
    """Return the entry of a name; a member of a family that of the family; a name outside the dictionary a plain entry.

    Notes
    -----
    ``chamber_pressure_s3_kpa`` belongs to ``chamber_pressure_kpa``: the word that names the member is left out. A unit is no such word
    (``end_s`` is no ``end``), and the family's symbol stays its own: two members in one formula must not share it.
    """
    known = quantities().get(name) or _family(name)
    if known is not None:
        return known
    stem, own_unit = split_name(name)
    return Quantity(name=name, meaning=stem.replace("_", " "), unit=own_unit, shown_unit=own_unit)


def _family(name: str) -> Quantity | None:
    words = name.split("_")
    for place in range(len(words) - 1, 0, -1):
        found = quantities().get("_".join(words[:place] + words[place + 1 :]))
        if found is not None and found.unit == unit_of_name(name):
            return dataclasses.replace(found, symbol="")
    return None
