"""One plain sentence of what to do for every criterion that is not in order, and one of what not to do.

Advice passes vetoes: it never asks for a pressure above the upper limit, never for grout while a seal is in doubt, and never explains an excess away.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from tunnelwright.drive.plan import Plan, push_at_face
from tunnelwright.drive.reconcile.series import STATE_OF_CODE, CriterionSeries
from tunnelwright.vocabulary.criterion import State


@dataclass(frozen=True, slots=True, kw_only=True)
class Advice:
    """What follows from one criterion of one ring."""

    ring_number: int
    criterion: str
    state: State
    do: str
    do_not: str


# Words by criterion and side: below its limits, above them, or not checked.
_DO: Final[dict[tuple[str, str], tuple[str, str]]] = {
    ("face_pressure", "low"): (
        "Stop the screw, push on until the crown shows {target} kPa, and watch the street above {face}.",
        "Do not open the gate and do not enter the chamber to look.",
    ),
    ("face_pressure", "high"): (
        "Turn the screw faster until the crown shows {target} kPa; look at the street above {face} for heave or slurry.",
        "Do not drop the pressure in one step below {lower} kPa.",
    ),
    ("face_pressure", "no window"): (
        "Stop before this push. Check the inputs and the water; treat the ground, add ballast or change the mode; a licensed engineer decides and signs.",
        "Do not advance without a window, and do not lower a factor without that signature.",
    ),
    ("face_pressure", "not checked"): (
        "Compare the chamber sensors with each other and with the bulkhead gauge before the next push.",
        "Do not take the last good value for the present one.",
    ),
    ("chamber_unit_weight", "low"): (
        "Bleed air from the crown, add less foam, fill the chamber while holding {target} kPa.",
        "Do not trust a pressure at the axis alone.",
    ),
    ("chamber_unit_weight", "high"): ("Condition more and turn the cutterhead before pushing on; test each sensor.", "Do not raise thrust to force it."),
    ("chamber_unit_weight", "not checked"): ("Have the chamber sensors checked; two levels are the least.", "Do not steer the pressure by one sensor."),
    ("muck", "high"): (
        "Stop and look: weigher zero, belt, pressure record of this push; probe and grout from the machine above {face} and tell monitoring.",
        "Do not explain the excess away, do not re-scale the weigher on it, and do not count a light ring against it.",
    ),
    ("muck", "low"): (
        "Check weigher and belt, then whether the chamber was being filled; judge it with the next push.",
        "Do not count it against an earlier excess.",
    ),
    ("muck", "not checked"): (
        "Weigh skips or trucks of the next ring against the belt, zero the weighers on the empty belt.",
        "Do not call the muck in order until one weigher is proven.",
    ),
    ("grout", "low"): (
        "Make up the ring from the segments behind the back-up once the seal is safe, crown first, at no more than {grout_upper} kPa.",
        "Do not grout after the stop through the tail, and open no port without its valve.",
    ),
    ("grout", "high"): (
        "Record where it went: face pressure, street, chamber; compare with the muck of push {passed}, whose face stood there.",
        "Do not stop grouting while pushing, and do not book it as waste before the muck there is explained.",
    ),
    ("grout_pressure", "high"): (
        "Lower pump rate at this port, flush and test its line and sensor.",
        "Do not push the pressure above {grout_upper} kPa at the crown.",
    ),
    ("grout_pressure", "low"): ("Raise the pump rate evenly over the ports; check for wash-out by water.", "Do not raise one port alone."),
    ("grout", "not checked"): ("Read the pump counters by hand for every port.", "Do not take a missing port for zero."),
    ("build_time", "high"): ("Note the cause of the long build.", "Do not hurry bolts or rams to make it up; check the face pressure of the stop."),
    ("data_grade", "high"): ("Have the named channels repaired before the next push.", "Do not decide on this ring's numbers alone."),
}
_FAMILY: Final = {
    "face_pressure_advancing": "face_pressure",
    "face_pressure_standstill": "face_pressure",
    "muck_ratio": "muck",
    "muck_last_five": "muck",
    "muck_chart": "muck",
    "grout_ratio": "grout",
    "grout_unusual": "grout",
    "grout_deficit": "grout",
    "grout_port_share": "grout",
    "grout_upper_share": "grout",
}
# In these a value on the wrong side of its only limit means too little grout.
_SHORT_OF_GROUT: Final = frozenset({"grout_deficit", "grout_port_share", "grout_upper_share"})
_ALWAYS_HIGH: Final = frozenset({"muck_chart", "build_time", "data_grade"})


def advice_of(plan: Plan, ring_index: int, row: int, series: list[CriterionSeries]) -> list[Advice]:
    """Return the advice for one recorded ring, the worst first; `row` counts in the record, `ring_index` in the plan."""
    found = []
    for one in series:
        state = STATE_OF_CODE[int(one.state[row])]
        if state == "in order":
            continue
        words = _words(one, row, state)
        if words is not None:
            places = _places(plan, ring_index)
            found.append(Advice(ring_number=ring_index + 1, criterion=one.key, state=state, do=words[0].format(**places), do_not=words[1].format(**places)))
    order = {"act": 0, "not checked": 1, "watch": 2}
    return _without_repeats(sorted(found, key=lambda advice: order[advice.state]))


def _without_repeats(found: list[Advice]) -> list[Advice]:
    seen: set[str] = set()
    return [advice for advice in found if not (advice.do in seen or seen.add(advice.do))]  # type: ignore[func-returns-value]


def _words(one: CriterionSeries, row: int, state: State) -> tuple[str, str] | None:
    family = _FAMILY.get(one.key, one.key)
    if state == "not checked":
        return _DO.get((family, "not checked"))
    return _DO.get((family, _side(one, row)))


def _side(one: CriterionSeries, row: int) -> str:
    if one.key in _SHORT_OF_GROUT:
        return "low"
    if one.key in _ALWAYS_HIGH:
        return "high"
    if one.key == "grout_pressure":
        return "high" if int(one.state[row]) == 2 else "low"
    if "no window" in str(one.comment[row]):
        return "no window"
    if one.key.startswith("face_pressure"):
        return "high" if "above" in str(one.comment[row]) else "low"
    high = one.limit_high[row]
    return "high" if np.isfinite(high) and one.value[row] > high else "low"


def _places(plan: Plan, index: int) -> dict[str, str]:
    """Return the numbers that advice names; targets are already inside the window of the push."""
    face, grout = plan.face, plan.grout
    around = max(0, int(plan.rings.grout_ring_number[index]) - 1)
    passed = int(push_at_face(plan.rings, plan.ring_sections.chainage_m[around : around + 1])[0]) + 1
    return {
        "target": _kpa(face.target_crown_kpa[index]),
        "lower": _kpa(face.operating_lower_crown_kpa[index]),
        "grout_upper": _kpa(grout.grout_upper_kpa[around]),
        "face": f"chainage {plan.rings.face_start_chainage_m[index]:.0f} to {plan.rings.face_end_chainage_m[index]:.0f} m",
        "passed": str(passed),
    }


def _kpa(value: float) -> str:
    return f"{value:.0f}" if np.isfinite(value) else "no agreed number of"
