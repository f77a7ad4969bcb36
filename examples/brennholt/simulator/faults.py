"""What goes wrong in the drive and in its log, where, and how to switch it off.

A place is a share of the planned rings, so that a longer log of the same drive repeats the shorter one row by row.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

# The ground or the crew: the state of the machine differs.
IN_THE_DRIVE: Final = ("over_excavation", "loosened_pocket", "slow_loss", "interrupted_push", "ram_reset", "night_fall_back")
# A sensor or a counter: the drive is in order, the reading is not.
IN_A_CHANNEL: Final = (
    "stuck_sensor", "offset_drift", "weigher_drift", "stuck_ram", "counter_roll_over", "counter_reset", "counter_zero_glitch",
    "ring_mistyped", "ring_keyed_late", "spikes", "text_in_number", "unit_change",
)  # fmt: skip
# The logger: rows are missing, doubled, out of order, or wrongly stamped.
IN_THE_ROWS: Final = ("log_gap", "short_gaps", "duplicates", "shuffled_block", "clock_step")
KINDS: Final = (*IN_THE_DRIVE, *IN_A_CHANNEL, *IN_THE_ROWS)
# These two change a log so much that they come only when asked for.
ON_REQUEST: Final = frozenset({"slow_loss", "unit_change"})
ALL: Final = frozenset(KINDS) - ON_REQUEST
NONE: Final[frozenset[str]] = frozenset()


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedFault:
    """One fault to be made, over rings counted from 1 along the plan table."""

    kind: str
    first: int
    last: int
    channel: str = ""
    amount: float = 0.0

    def holds(self, ring_index: int) -> bool:
        """Return whether a ring, counted from 1, is touched."""
        return self.first <= ring_index <= self.last


# kind, place as share of the planned rings, length as share (at least one ring), channel, amount.
_PLACES: Final = (
    ("counter_roll_over", 0.0, 1.0, "belt_mass_total_1_t", 10_000.0),
    ("loosened_pocket", 0.0, 1.0, "", 0.0),
    ("night_fall_back", 0.067, 0.0, "", 0.003),
    ("ram_reset", 0.103, 0.0, "", 0.30),
    ("counter_zero_glitch", 0.145, 0.0, "grout_volume_2_m3", 3.0),
    ("interrupted_push", 0.165, 0.0, "", 7200.0),
    ("log_gap", 0.198, 0.0014, "", 0.0),
    ("ring_mistyped", 0.2445, 0.0, "ring_number_keyed", 0.0),
    ("counter_reset", 0.2615, 0.0, "belt_mass_total_2_t", 0.0),
    ("stuck_sensor", 0.276, 0.0055, "chamber_pressure_3_kpa", 0.0),
    ("ring_keyed_late", 0.298, 0.0, "ring_number_keyed", 0.65),
    ("stuck_ram", 0.3475, 0.0007, "ram_extension_left_m", 0.0),
    ("weigher_drift", 0.358, 0.055, "belt_mass_rate_2_t_h", 0.06),
    ("over_excavation", 0.4212, 0.0, "", 0.12),
    ("clock_step", 0.4542, 0.0055, "", 420.0),
    ("offset_drift", 0.482, 0.038, "chamber_pressure_5_kpa", 0.5),
    ("duplicates", 0.530, 0.0, "", 5.0),
    ("shuffled_block", 0.545, 0.0, "", 40.0),
    ("slow_loss", 0.558, 0.010, "", 0.02),
    ("unit_change", 0.583, 1.0, "chamber_pressure", 100.0),
    ("text_in_number", 0.120, 0.0, "cutterhead_torque_knm", 2.0),
    ("text_in_number", 0.330, 0.0, "thrust_kn", 4.0),
    ("text_in_number", 0.510, 0.0, "chamber_pressure_4_kpa", 3.0),
    ("short_gaps", 0.050, 0.0, "", 45.0),
    ("short_gaps", 0.260, 0.0, "", 120.0),
    ("short_gaps", 0.313, 0.0, "", 600.0),
    ("short_gaps", 0.435, 0.0, "", 60.0),
)
_SPIKED: Final = ("thrust_kn", "chamber_pressure_2_kpa", "cutterhead_torque_knm", "chamber_pressure_6_kpa", "advance_rate_mm_min")
_SPIKE_FIRST, _SPIKE_EVERY = 0.012, 0.0175


def planned_faults(ring_count: int, kinds: Iterable[str] = ALL) -> tuple[PlannedFault, ...]:
    """Return the faults of a drive with this many planned rings, in drive order.

    Raises
    ------
    ValueError
        for a kind that is not known.
    """
    wanted = frozenset(kinds)
    unknown = wanted - frozenset(KINDS)
    if unknown:
        raise ValueError(f"not a kind of fault: {', '.join(sorted(unknown))}; known are {', '.join(KINDS)}")
    found = []
    for kind, place, length, channel, amount in _PLACES:
        first = max(3, round(place * ring_count))
        # A stretch that has to show in ring values needs some rings, however short the drive.
        least = 3 if kind in {"log_gap", "stuck_sensor", "weigher_drift", "slow_loss", "offset_drift"} else 1
        found.append(PlannedFault(kind=kind, first=first, last=first + max(least, round(length * ring_count)) - 1, channel=channel, amount=amount))
    spike_count = int((1.0 - _SPIKE_FIRST) / _SPIKE_EVERY)
    for number in range(spike_count):
        at = max(3, round((_SPIKE_FIRST + number * _SPIKE_EVERY) * ring_count))
        found.append(PlannedFault(kind="spikes", first=at, last=at, channel=_SPIKED[number % len(_SPIKED)]))
    # A spike in a row that is lost, or whose stamp is wrong, could not be found at its true time.
    hidden = {ring for fault in found if fault.kind in wanted & {"log_gap", "clock_step"} for ring in range(fault.first, fault.last + 1)}
    found = [fault for fault in found if fault.kind in wanted and not (fault.kind == "spikes" and fault.first in hidden)]
    return tuple(sorted(found, key=lambda fault: (fault.first, fault.kind, fault.channel)))
