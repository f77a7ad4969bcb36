"""The channels that a logger may deliver: what each family measures and how its samples are to be read.

A family with a placeholder has one channel per sensor, group, port or weigher: ``chamber_pressure_3_kpa`` belongs to
``chamber_pressure_kpa``. The numbers here are editable defaults of practice; a channel map may set its own.
"""

import difflib
import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from typing import Final, Literal

from tunnelwright.vocabulary.quantity import quantity
from tunnelwright.vocabulary.units import split_name, suffix_of

Kind = Literal["level", "rate", "counter", "state"]
Interpolation = Literal["trapezoid", "step"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Family:
    """Channels of one sort.

    Parameters
    ----------
    name : dictionary name without placeholder.
    kind : decides the arithmetic: mean of a level, integral of a rate, differences of a counter, last value of a state.
    many : whether the name carries a mark of the sensor, group, port or weigher.
    spike_floor : least deviation from the neighbours that can be a spike; none for channels that jump by nature.
    resolution : range within which a channel counts as unchanged.
    stuck_s : an unchanged channel is stuck after this long in a push; none where standing still is no fault.
    largest_rate_per_s, tolerance : of a counter, in its unit.
    plausible : usual range of the median while advancing.
    words : words of column headings that point to it, for the proposal of a channel map.
    """

    name: str
    kind: Kind
    many: bool = False
    spike_floor: float | None = None
    resolution: float = 0.0
    stuck_s: float | None = None
    largest_rate_per_s: float = float("inf")
    tolerance: float = 0.0
    plausible: tuple[float, float] | None = None
    words: tuple[str, ...] = ()

    @property
    def possible(self) -> tuple[float, float]:
        """Return the range outside which a reading is no reading; a counter that is never set to zero has none."""
        if self.kind == "counter":
            return float("-inf"), float("inf")
        entry = quantity(self.name)
        return entry.low, entry.high


def _deviations() -> list[Family]:
    names = [f"deviation_{end}_{way}_mm" for end in ("front", "rear") for way in ("horizontal", "vertical")]
    return [Family(name=name, kind="level", spike_floor=20.0, words=tuple(name.split("_")[:3])) for name in names]


def _flows() -> list[Family]:
    liquids = {"foam_liquid_l_min": ("foam", "liquid"), "polymer_l_min": ("polymer",), "water_l_min": ("water",), "bentonite_l_min": ("bentonite",)}
    airs = {"foam_air_l_min": ("foam", "air"), "foam_air_nl_min": ("foam", "air", "nl")}
    slurry = {"slurry_feed_m3_h": ("slurry", "feed"), "slurry_return_m3_h": ("slurry", "return")}
    return [Family(name=name, kind="rate", many=name.startswith("foam"), words=words) for name, words in {**liquids, **airs, **slurry}.items()]


FAMILIES: Final[dict[str, Family]] = {
    family.name: family
    for family in (
        Family(name="ring_number_keyed", kind="state", words=("ring",)),
        Family(name="chainage_m", kind="state", words=("chainage",)),
        Family(
            name="ram_extension_m",
            kind="state",
            many=True,
            spike_floor=0.05,
            resolution=0.001,
            stuck_s=120.0,
            plausible=(0.02, 4.5),
            words=("ram", "extension"),
        ),
        Family(name="ram_pressure_kpa", kind="level", many=True, spike_floor=3000.0, plausible=(1000.0, 45_000.0), words=("ram", "pressure")),
        Family(name="thrust_kn", kind="level", spike_floor=3000.0, plausible=(500.0, 200_000.0), words=("thrust",)),
        Family(name="advance_rate_mm_min", kind="level", spike_floor=40.0, plausible=(5.0, 150.0), words=("advance", "rate")),
        Family(name="cutterhead_torque_knm", kind="level", spike_floor=1500.0, plausible=(50.0, 60_000.0), words=("cutterhead", "torque")),
        Family(name="cutterhead_speed_rpm", kind="level", spike_floor=1.0, plausible=(0.2, 12.0), words=("cutterhead", "speed")),
        Family(
            name="chamber_pressure_kpa",
            kind="level",
            many=True,
            spike_floor=30.0,
            resolution=0.1,
            stuck_s=600.0,
            plausible=(20.0, 1500.0),
            words=("chamber", "pressure"),
        ),
        Family(name="screw_speed_rpm", kind="level", spike_floor=8.0, plausible=(0.2, 40.0), words=("screw", "speed")),
        Family(name="screw_torque_knm", kind="level", spike_floor=100.0, plausible=(1.0, 1000.0), words=("screw", "torque")),
        Family(name="screw_pressure_kpa", kind="level", many=True, spike_floor=100.0, words=("screw", "pressure")),
        Family(name="belt_mass_rate_t_h", kind="rate", many=True, plausible=(20.0, 3000.0), words=("belt", "rate")),
        Family(name="belt_mass_total_t", kind="counter", many=True, largest_rate_per_s=1.0, tolerance=0.5, stuck_s=120.0, words=("belt", "total")),
        Family(name="belt_speed_m_s", kind="level", spike_floor=2.0, plausible=(0.3, 6.0), words=("belt", "speed")),
        *_flows(),
        Family(name="grout_volume_m3", kind="counter", many=True, largest_rate_per_s=0.02, tolerance=0.02, words=("grout", "volume")),
        Family(name="grout_pressure_kpa", kind="level", many=True, spike_floor=1000.0, plausible=(20.0, 3000.0), words=("grout", "pressure")),
        Family(name="slurry_feed_density_t_m3", kind="level", spike_floor=0.2, plausible=(0.99, 1.5), words=("slurry", "feed", "density")),
        Family(name="slurry_return_density_t_m3", kind="level", spike_floor=0.2, plausible=(0.99, 1.8), words=("slurry", "return", "density")),
        Family(name="air_bubble_pressure_kpa", kind="level", spike_floor=50.0, plausible=(20.0, 1500.0), words=("air", "bubble", "pressure")),
        Family(name="slurry_level_m", kind="level", spike_floor=1.0, words=("slurry", "level")),
        Family(name="bypass_open", kind="state", words=("bypass",)),
        *_deviations(),
        Family(name="gas_methane_pct", kind="level", words=("methane",)),
        Family(name="oxygen_pct", kind="level", words=("oxygen",)),
        Family(name="h2s_ppm", kind="level", words=("h2s",)),
        Family(name="co_ppm", kind="level", words=("co",)),
    )
}


@cache
def family_of(name: str) -> Family | None:
    """Return the family of a channel's dictionary name, none when the name is not known."""
    if name in FAMILIES:
        return FAMILIES[name]
    for family in FAMILIES.values():
        if family.many and _pattern(family).fullmatch(name):
            return family
    return None


@cache
def _pattern(family: Family) -> re.Pattern[str]:
    stem, own_unit = split_name(family.name)
    return re.compile(rf"{stem}_([A-Za-z0-9_-]+)_{suffix_of(own_unit)}")


@cache
def mark_of(name: str) -> str:
    """Return the mark of the sensor, group, port or weigher that a channel's name carries, empty when it has none."""
    family = family_of(name)
    match = _pattern(family).fullmatch(name) if family is not None and family.many else None
    return match[1] if match else ""


def unit_of_channel(name: str) -> str:
    """Return the unit of a channel: that of its family, since a mark such as ``1`` before the unit would read as a part of it."""
    family = family_of(name)
    return split_name(family.name)[1] if family is not None else ""


def channels_of(family: str, names: Iterable[str]) -> list[str]:
    """Return those of the names that belong to a family, in their order."""
    return [name for name in names if (found := family_of(name)) is not None and found.name == family]


def nearest_name(name: str) -> str:
    """Return the known name most alike, empty when none is."""
    shown = {family: (f"{split_name(family)[0]}_1_{suffix_of(split_name(family)[1])}" if entry.many else family) for family, entry in FAMILIES.items()}
    near = difflib.get_close_matches(name, [*shown.values(), *FAMILIES], n=1, cutoff=0.6)
    return near[0] if near else ""
