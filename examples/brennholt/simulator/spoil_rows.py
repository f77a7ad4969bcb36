"""Faults of the logger: rows that are missing, doubled, out of order, wrongly stamped, or hold words."""

import numpy as np
from examples.brennholt.simulator.block import Block
from examples.brennholt.simulator.fault_book import FaultBook
from examples.brennholt.simulator.faults import PlannedFault
from examples.brennholt.simulator.noise import stream

WORDS = ("---", "Bad", "#N/A")


def spoil_rows(block: Block, faults: tuple[PlannedFault, ...], book: FaultBook, seed: int) -> None:
    """Put every fault of the logger that touches this cycle into its rows."""
    touching = {fault.kind: fault for fault in faults if fault.holds(block.cycle.index)}
    for fault in faults:
        if fault.kind == "clock_step":
            _step_clock(block, fault, book)
    if "duplicates" in touching:
        _double(block, touching["duplicates"], book)
    if "shuffled_block" in touching:
        _shuffle(block, touching["shuffled_block"], book, stream(seed, block.cycle.index, 4))
    if "short_gaps" in touching:
        _cut(block, touching["short_gaps"], book)
    for fault in faults:
        if fault.kind == "log_gap":
            _lose_rings(block, fault, book)
    if "text_in_number" in touching and len(block.time_s):
        _write_words(block, touching["text_in_number"], book)


def _step_clock(block: Block, fault: PlannedFault, book: FaultBook) -> None:
    cycle = block.cycle
    ahead = np.full(len(block.time_s), fault.holds(cycle.index))
    if cycle.index == fault.first:
        at_s = 0.3 * cycle.push_end_s
        ahead &= block.time_s >= at_s
        book.note(block, fault, (at_s, at_s), step_s=fault.amount)
    if cycle.index == fault.last:
        at_s = cycle.build_end_s + 60.0
        ahead &= block.time_s < at_s
        book.note(block, fault, (at_s, at_s), step_s=-fault.amount)
    block.stamp_s = block.stamp_s + np.where(ahead, int(fault.amount), 0)


def _double(block: Block, fault: PlannedFault, book: FaultBook) -> None:
    """Write some rows twice alike, and as many again twice with other values."""
    count = int(fault.amount)
    first = block.row_at(0.40)
    chosen = np.arange(first, first + 2 * count)
    order = np.sort(np.concatenate([np.arange(len(block.time_s)), chosen]))
    block.keep(order)
    second = np.flatnonzero(np.diff(order, prepend=-1) == 0)
    for name, change in (("thrust_kn", 60.0), ("chamber_pressure_1_kpa", 2.0)):
        block.channels[name][second[count:]] += change
    book.note(block, fault, block.span_s(second[0], second[-1]), alike_count=count, different_count=count)


def _shuffle(block: Block, fault: PlannedFault, book: FaultBook, generator: np.random.Generator) -> None:
    first = block.row_at(0.35)
    order = np.arange(len(block.time_s))
    part = order[first : first + int(fault.amount)]
    span = block.span_s(part[0], part[-1])
    order[first : first + len(part)] = generator.permutation(part)
    block.keep(order)
    book.note(block, fault, span, row_count=len(part))


def _cut(block: Block, fault: PlannedFault, book: FaultBook) -> None:
    start_s = 0.62 * block.cycle.push_end_s
    lost = (block.time_s >= start_s) & (block.time_s < start_s + fault.amount)
    block.keep(~lost)
    book.note(block, fault, (start_s, start_s + fault.amount), row_count=int(lost.sum()))


def _lose_rings(block: Block, fault: PlannedFault, book: FaultBook) -> None:
    """Lose all rows from the end of the build before the first ring to the middle of the last ring's build."""
    cycle = block.cycle
    start_s, end_s = block.time_s[0], block.end_s
    if cycle.index == fault.first - 1:
        start_s = cycle.build_end_s
    elif cycle.index == fault.last:
        end_s = cycle.build_start_s + 0.5 * cycle.steps.build_s
    elif not fault.holds(cycle.index):
        return
    block.keep((block.time_s < start_s) | (block.time_s >= end_s))
    entry = {"first_missing_ring": cycle.ring_number + fault.first - cycle.index, "last_missing_ring": cycle.ring_number + fault.last - cycle.index}
    book.extend(block, fault, (float(start_s), float(end_s)), **entry)


def _write_words(block: Block, fault: PlannedFault, book: FaultBook) -> None:
    first = block.row_at(0.22)
    rows = range(first, min(first + int(fault.amount), len(block.time_s)))
    word = WORDS[block.cycle.index % len(WORDS)]
    block.texts += [(row, fault.channel, word) for row in rows]
    book.note(block, fault, block.span_s(rows[0], rows[-1]), written=word, row_count=len(rows))
