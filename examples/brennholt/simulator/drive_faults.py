"""What is written down of faults in the drive itself: the log shows them truly, if one looks."""

from typing import Any, Final

from examples.brennholt.simulator.block import Block
from examples.brennholt.simulator.fault_book import FaultBook
from examples.brennholt.simulator.faults import PlannedFault

# Less than this is the noise of a pump.
SURGE_M3: Final = 0.05


def note_drive_faults(block: Block, faults: dict[str, PlannedFault], book: FaultBook) -> None:
    """Write down every fault in the drive that touches this cycle, and grout that went into a hollow."""
    cycle = block.cycle
    push_s = (0.0, cycle.push_end_s)
    for kind, fault in faults.items():
        if kind == "over_excavation":
            least_kpa = round(float(cycle.chamber.pressure_kpa.min()), 1)
            book.note(
                block, fault, push_s, excess_ratio=fault.amount, excess_volume_m3=round(float(cycle.chamber.excess_m3.sum()), 3), least_axis_kpa=least_kpa
            )
        elif kind == "slow_loss":
            book.extend(block, fault, push_s, excess_ratio=fault.amount)
        elif kind == "night_fall_back":
            book.note(block, fault, (cycle.build_end_s, block.end_s), fall_back_m=fault.amount)
        elif kind in {"interrupted_push", "ram_reset"}:
            before, after = cycle.advance.stretches[:2]
            halt_s = (float(cycle.advance.time_s[before.stop - 1]), float(cycle.advance.time_s[after.start]))
            detail: dict[str, Any] = {"groups": list(cycle.ram_reset.groups), "retreat_m": fault.amount} if cycle.ram_reset is not None else {}
            book.note(block, fault, halt_s, **detail)
    if cycle.grouting.hollow_m3 > SURGE_M3:
        surge = PlannedFault(kind="grout_surge", first=cycle.index, last=cycle.index)
        outlet = [round(float(end), 3) for end in cycle.grouting.outlet_chainage_m[[0, -1]]]
        book.note(block, surge, push_s, hollow_m3=round(cycle.grouting.hollow_m3, 3), outlet_chainage_m=outlet)
