"""Which machine suits a stretch of ground: classes by criterion, the weakest decides.

Class 2 is suited, 1 possible with measures, 0 not advised. Where two classes state the same bound the worse one counts. A
criterion without data is left out and named; the class is then one that the section has at best.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final, Literal

import numpy as np

from tunnelwright.engineering.machine.sources import MACHINE_CHOICE
from tunnelwright.vocabulary.method import Algorithm, Remark, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, TextArray, Values

MachineType = Literal["epb plain", "epb conditioned", "slurry"]
SCREW_SHARE: Final = {"shafted": 0.35, "ribbon": 0.6}
SEVERE_HEAD_KPA: Final = 1000.0
CRITERIA: Final = ("grading", "permeability", "head", "consistency", "stones")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Suitability(Record):
    """Class of a machine in a ground, what decided it and what could not be looked at."""

    suitability_class: FloatArray
    deciding_criterion: TextArray
    not_checked: TextArray


def _screw_known(values: Values) -> Any:
    """Return whether stones can be judged: the screw's diameter is needed wherever stones are expected on an EPB machine."""
    stones = values["stone_size_m"]
    if values["machine_type"] == "slurry" or stones is None or values["screw_diameter_m"] is not None:
        return True
    return ~(np.asarray(stones) > 0)


@method(
    "machine.suitability.grading_permeability_head",
    found_by={
        "suitability_class": Algorithm(
            "least class over the criteria with data, one less where the ground is too abrasive for the machine",
            invariants={"0, 1, 2 or none": lambda v: np.isin(v["suitability_class"], (0.0, 1.0, 2.0)) | np.isnan(v["suitability_class"])},
        ),
        "deciding_criterion": Algorithm("criteria that share the least class"),
        "not_checked": Algorithm("criteria without data"),
    },
    possible={"stone_size_m": (0.0, 10.0), "water_head_kpa": (-100.0, 3000.0)},
    requires=(Require("screw_diameter_m", _screw_known, "must be given with stones on an EPB machine"),),
    remarks=(
        Remark(lambda v: v["not_checked"] != "none", "criteria without data: the section has this class at best"),
        Remark(
            lambda v: v["water_head_kpa"] is not None and np.asarray(v["water_head_kpa"]) > SEVERE_HEAD_KPA,
            "water head above 1000 kPa: outside usual experience, plan interventions with specialists",
        ),
        Remark(
            lambda v: v["machine_type"] == "slurry" and v["fines_ratio"] is not None and np.asarray(v["fines_ratio"]) > 0.40,
            "more than 40 per cent fines: the plant needs centrifuge or press, and clay may clog",
        ),
    ),
    kind="screening",
    source=MACHINE_CHOICE,
)
def suitability(
    machine_type: MachineType,
    fines_ratio: Number | None = None,
    permeability_m_s: Number | None = None,
    water_head_kpa: Number | None = None,
    consistency_index: Number | None = None,
    stone_size_m: Number | None = None,
    screw_diameter_m: Number | None = None,
    screw_kind: Literal["shafted", "ribbon"] = "shafted",
    stone_crusher: Literal["yes", "no"] = "no",
    abrasivity: Literal["low", "medium", "high", "very high"] = "low",
) -> Suitability:
    """Return how a machine suits a ground by grading, permeability, water head, consistency, stones and abrasivity.

    Parameters
    ----------
    machine_type : candidate.
    fines_ratio : mass share below 0.06 mm of the soil without cobbles.
    permeability_m_s : of the most permeable connected layer in the face.
    water_head_kpa : pore pressure at the axis; where limits depend on it and it is not known, it counts as high.
    consistency_index : only for ground that its fines dominate.
    stone_size_m : largest expected, 0 for none.
    screw_diameter_m : of an EPB machine's screw conveyor.
    screw_kind : a ribbon screw lets larger stones pass.
    stone_crusher : in the chamber of a slurry machine.
    abrasivity : of the ground.
    """
    known = [
        np.asarray(np.nan if one is None else one, dtype=np.float64)
        for one in (fines_ratio, permeability_m_s, water_head_kpa, consistency_index, stone_size_m, screw_diameter_m)
    ]
    fines, permeability, head, index, stones, screw = np.broadcast_arrays(*known)
    head_or_high = np.where(np.isnan(head), np.inf, head)
    classes = {
        "grading": _grading(machine_type, fines, head_or_high),
        "permeability": _permeability(machine_type, permeability, head_or_high),
        "head": _head(machine_type, head),
        "consistency": _consistency(machine_type, index),
        "stones": _stones(machine_type, stones, SCREW_SHARE[screw_kind] * screw, stone_crusher == "yes"),
    }
    return _weakest(classes, _shift(machine_type, abrasivity))


def _classed(value: FloatArray, suited: Any, with_measures: Any) -> FloatArray:
    """Return 2 where suited, else 1 where possible with measures, else 0; NaN where there is no value."""
    return np.where(np.isnan(value), np.nan, np.where(suited, 2.0, np.where(with_measures, 1.0, 0.0)))


def _grading(machine_type: MachineType, fines: FloatArray, head_kpa: FloatArray) -> FloatArray:
    if machine_type == "epb plain":
        return _classed(fines, fines > 0.30, fines >= 0.20)
    if machine_type == "epb conditioned":
        return _classed(fines, fines > 0.10, (fines >= 0.05) | (head_kpa <= 100))
    return _classed(fines, fines < 0.20, True)


def _permeability(machine_type: MachineType, permeability: FloatArray, head_kpa: FloatArray) -> FloatArray:
    if machine_type == "epb plain":
        return _classed(permeability, permeability < 1e-5, (permeability <= 1e-4) & (head_kpa < 50))
    if machine_type == "epb conditioned":
        return _classed(permeability, permeability < 1e-5, (permeability < 1e-4) | ((permeability <= 1e-3) & (head_kpa < 200)))
    return _classed(permeability, permeability < 1e-3, permeability <= 1e-2)


def _head(machine_type: MachineType, head_kpa: FloatArray) -> FloatArray:
    if machine_type == "epb plain":
        return _classed(head_kpa, head_kpa < 200, head_kpa <= 300)
    if machine_type == "epb conditioned":
        return _classed(head_kpa, head_kpa < 300, head_kpa <= 500)
    return _classed(head_kpa, head_kpa < 500, True)


def _consistency(machine_type: MachineType, index: FloatArray) -> FloatArray:
    if machine_type == "epb plain":
        return _classed(index, (index >= 0.4) & (index < 0.75), index <= 1.0)
    if machine_type == "epb conditioned":
        return _classed(index, (index >= 0.4) & (index <= 1.0), True)
    # Clogging is low where the clay disperses or sticks little; lumps block pipes.
    return _classed(index, (index < 0.5) | ((index > 1.0) & (index <= 1.25)), True)


def _stones(machine_type: MachineType, stones_m: FloatArray, passing_m: FloatArray, has_crusher: bool) -> FloatArray:
    if machine_type == "slurry":
        return _classed(stones_m, stones_m == 0, has_crusher)
    # Stones on an EPB machine cannot be judged where the screw is not known.
    judged = np.where((stones_m > 0) & np.isnan(passing_m), np.nan, stones_m)
    return _classed(judged, judged == 0, judged <= passing_m)


def _shift(machine_type: MachineType, abrasivity: str) -> float:
    harmful = {"epb plain": ("high", "very high"), "epb conditioned": ("very high",), "slurry": ()}
    return 1.0 if abrasivity in harmful[machine_type] else 0.0


def _weakest(classes: Mapping[str, FloatArray], shift: float) -> Suitability:
    """Return the least class, lowered by the shift, with the criteria that made it and those without data."""
    stacked = np.stack([classes[name] for name in CRITERIA])
    is_known = ~np.isnan(stacked)
    least = np.min(np.where(is_known, stacked, np.inf), axis=0)
    least = np.where(np.isinf(least), np.nan, least)
    lowered = np.where((least > 0) & (shift > 0), least - 1, least)
    # A shift from full marks is the abrasivity's alone; a lower class it shares with what made the ground doubtful.
    decides = is_known & (stacked == least) & ~((least == 2) & (shift > 0))
    adds_abrasivity = (lowered < least)[None]
    deciding = _words((*CRITERIA, "abrasivity"), np.concatenate([decides, adds_abrasivity]))
    return Suitability(suitability_class=lowered, deciding_criterion=deciding, not_checked=_words(CRITERIA, ~is_known))


def _words(names: tuple[str, ...], applies: Any) -> TextArray:
    """Return at every place the names that apply, joined; none where no one does."""
    places = applies.shape[1:]
    joined = [", ".join(name for name, here in zip(names, applies[(slice(None), *place)], strict=True) if here) or "none" for place in np.ndindex(places)]
    return np.array(joined, dtype=np.str_).reshape(places)
