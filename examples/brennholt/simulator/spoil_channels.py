"""Faults of sensors, counters and typing: the drive is in order, the reading is not."""

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Final

import numpy as np
from examples.brennholt.simulator.block import Block
from examples.brennholt.simulator.crew import mistyped
from examples.brennholt.simulator.fault_book import FaultBook
from examples.brennholt.simulator.faults import PlannedFault
from examples.brennholt.simulator.noise import stream

KEYED_AFTER_BUILD_S: Final = 60.0
DRIFTING_TOTAL: Final = "belt_mass_total_2_t"
SPIKE: Final = {
    "thrust_kn": 11_000.0,
    "chamber_pressure_2_kpa": 160.0,
    "chamber_pressure_6_kpa": -140.0,
    "cutterhead_torque_knm": 4_200.0,
    "advance_rate_mm_min": 110.0,
}


@dataclass(slots=True, kw_only=True)
class ChannelMemory:
    """What faults of channels carry from one cycle to the next.

    Parameters
    ----------
    held : the value at which a channel sticks.
    gained_t : what the drifting weigher has counted too much.
    reset_t : what a counter had when it was set to zero.
    drift_start_s : UTC second at which the offset began to drift.
    """

    held: dict[str, float] = field(default_factory=dict)
    gained_t: float = 0.0
    reset_t: float = 0.0
    drift_start_s: int = 0


def spoil_channels(block: Block, faults: tuple[PlannedFault, ...], memory: ChannelMemory, book: FaultBook, seed: int) -> None:
    """Key the ring number, and put every fault of a channel that touches this cycle into its rows."""
    _key_ring_number(block, faults, book)
    for kind, spoil in _IN_ORDER.items():
        for fault in faults:
            if fault.kind == kind:
                spoil(block, fault, memory, book)
    for number, fault in enumerate(faults):
        if fault.kind == "spikes" and fault.holds(block.cycle.index):
            _spike(block, fault, book, stream(seed, block.cycle.index, 10 + number))


def _key_ring_number(block: Block, faults: tuple[PlannedFault, ...], book: FaultBook) -> None:
    """The next ring's number is keyed a minute after a ring is built, unless somebody forgets or mistypes it."""
    cycle = block.cycle
    wrong = next((fault for fault in faults if fault.kind == "ring_mistyped"), None)
    late = next((fault for fault in faults if fault.kind == "ring_keyed_late"), None)

    def typed(ahead: int) -> float:
        number = cycle.ring_number + ahead
        return float(mistyped(number)) if wrong is not None and wrong.holds(cycle.index + ahead) else float(number)

    keyed = np.full(len(block.time_s), typed(0))
    if not (late is not None and late.holds(cycle.index + 1)):
        keyed[block.time_s > cycle.build_end_s + KEYED_AFTER_BUILD_S] = typed(1)
    if late is not None and late.holds(cycle.index):
        until_s = float(np.interp(late.amount * cycle.advance.stroke_m[-1], cycle.advance.stroke_m, cycle.advance.time_s))
        keyed[block.time_s < until_s] = typed(-1)
        book.note(block, late, (0.0, until_s), written=cycle.ring_number - 1)
    if wrong is not None and wrong.holds(cycle.index):
        book.note(block, wrong, (0.0, cycle.build_end_s), written=int(typed(0)))
    block.channels["ring_number_keyed"] = keyed


def _stick(block: Block, fault: PlannedFault, memory: ChannelMemory, book: FaultBook) -> None:
    if fault.holds(block.cycle.index):
        held = memory.held.setdefault(fault.channel, float(block.channels[fault.channel][0]))
        block.channels[fault.channel] = np.full(len(block.time_s), held)
        book.extend(block, fault, (0.0, block.end_s), held_value=round(held, 3))


def _drift_offset(block: Block, fault: PlannedFault, memory: ChannelMemory, book: FaultBook) -> None:
    if fault.holds(block.cycle.index):
        memory.drift_start_s = memory.drift_start_s or block.push_start_s
        drift_kpa = fault.amount * (block.push_start_s + block.time_s - memory.drift_start_s) / 3600.0
        block.channels[fault.channel] = block.channels[fault.channel] + np.maximum(drift_kpa, 0.0)
        book.extend(block, fault, (0.0, block.end_s), drift_kpa=round(float(drift_kpa[-1]), 2), drift_kpa_h=fault.amount)


def weigher_gain(fault: PlannedFault, ring_index: int) -> float:
    """Return how much too much the drifting weigher shows: it rises over a stretch, stays as long again, then somebody calibrates."""
    length = fault.last - fault.first + 1
    if not fault.first <= ring_index <= fault.last + length:
        return 0.0
    return fault.amount * min(1.0, (ring_index - fault.first + 1) / length)


def _drift_weigher(block: Block, fault: PlannedFault, memory: ChannelMemory, book: FaultBook) -> None:
    gain = weigher_gain(fault, block.cycle.index)
    total = block.channels[DRIFTING_TOTAL]
    counted = total - total[0]
    block.channels[fault.channel] = block.channels[fault.channel] * (1.0 + gain)
    block.channels[DRIFTING_TOTAL] = total + memory.gained_t + gain * counted
    memory.gained_t += gain * float(counted[-1])
    if gain:
        length = fault.last - fault.first + 1
        book.extend(block, fault, (0.0, block.end_s), rising_rings=length, largest_gain_ratio=fault.amount, counter=DRIFTING_TOTAL)


def _reset_counter(block: Block, fault: PlannedFault, memory: ChannelMemory, book: FaultBook) -> None:
    total = block.channels[fault.channel]
    taken = np.full(len(total), memory.reset_t)
    if fault.holds(block.cycle.index):
        at_s = block.cycle.build_start_s + 0.5 * block.cycle.steps.build_s
        after = block.time_s >= at_s
        memory.reset_t = float(total[after][0])
        taken[after] = memory.reset_t
        book.note(block, fault, (at_s, at_s), last_value_t=round(memory.reset_t, 2))
    block.channels[fault.channel] = total - taken


def _roll_over(block: Block, fault: PlannedFault, memory: ChannelMemory, book: FaultBook) -> None:
    total = block.channels[fault.channel]
    for row in np.flatnonzero(np.diff(np.floor(total / fault.amount)) > 0) + 1:
        book.note(block, fault, block.span_s(int(row) - 1, int(row)), modulus_t=fault.amount)
    block.channels[fault.channel] = np.mod(total, fault.amount)


def _zero_glitch(block: Block, fault: PlannedFault, memory: ChannelMemory, book: FaultBook) -> None:
    if fault.holds(block.cycle.index):
        first = block.row_at(0.57)
        last = first + int(fault.amount) - 1
        block.channels[fault.channel][first : last + 1] = 0.0
        book.note(block, fault, block.span_s(first, last), row_count=int(fault.amount))


def _change_unit(block: Block, fault: PlannedFault, memory: ChannelMemory, book: FaultBook) -> None:
    if fault.holds(block.cycle.index):
        for name in block.channels:
            if name.startswith(fault.channel):
                block.channels[name] = block.channels[name] * fault.amount
        book.extend(block, fault, (0.0, block.end_s), factor=fault.amount)


# A drift comes before the counter's reset, and the reset before the roll-over, as in the instrument.
_IN_ORDER: Final[dict[str, Callable[[Block, PlannedFault, ChannelMemory, FaultBook], None]]] = {
    "weigher_drift": _drift_weigher,
    "counter_reset": _reset_counter,
    "counter_roll_over": _roll_over,
    "counter_zero_glitch": _zero_glitch,
    "offset_drift": _drift_offset,
    "stuck_sensor": _stick,
    "stuck_ram": _stick,
    "unit_change": _change_unit,
}


def _spike(block: Block, fault: PlannedFault, book: FaultBook, generator: np.random.Generator) -> None:
    row = block.row_at(float(generator.uniform(0.32, 0.52)))
    height = SPIKE[fault.channel]
    block.channels[fault.channel][row] += height
    book.note(block, fault, block.span_s(row, row), height=height)
