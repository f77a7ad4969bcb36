"""Clay that sticks: consistency, class of clogging, and the water that carries a clay through the sticky band."""

from dataclasses import dataclass
from typing import Final

import numpy as np

from tunnelwright.engineering.machine.sources import ATTERBERG, HOLLMANN_THEWES_2013
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Range, Remark, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, TextArray

STICKY_LOW: Final = 0.5
STICKY_HIGH: Final = 1.0
LITRES_PER_M3: Final = 1000.0
_LIMITS_IN_ORDER: Final = Require(
    "plastic_limit", lambda v: v["plastic_limit"] < v["liquid_limit"], "must be less than the liquid limit", "are the two limits exchanged?"
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Clogging(Record):
    """Consistency of a clay and its class of clogging."""

    plasticity_index: FloatArray
    consistency_index: FloatArray
    clogging_class: TextArray


@method(
    "machine.clogging.hollmann_thewes_2013",
    formulas={"plasticity_index": Formula("I_P", "w_L - w_P"), "consistency_index": Formula("I_C", "(w_L - w) / I_P")},
    found_by={
        "clogging_class": Algorithm(
            "fines disperse below 0.4, little to 0.5, strong to 0.75, medium to 1.0, little to 1.25, then lumps; a bound belongs to the worse",
            invariants={
                "sticks only between 0.5 and 1.0": lambda v: (
                    np.isin(v["clogging_class"], ("strong", "medium")) == ((v["consistency_index"] >= STICKY_LOW) & (v["consistency_index"] <= STICKY_HIGH))
                )
            },
        )
    },
    valid={"plasticity_index": Range(0.10, 2.0, "soils of little plasticity do not clog by this scheme")},
    requires=(_LIMITS_IN_ORDER,),
    remarks=(
        Remark(
            lambda v: v["consistency_index"] > STICKY_HIGH,
            "stiffer than the sticky band: a little water carries it through the band, so look at the way and not only at the state in the ground",
        ),
        Remark(
            lambda v: (v["consistency_index"] >= STICKY_LOW) & (v["consistency_index"] <= STICKY_HIGH),
            "in the sticky band of 0.5 to 1.0; limits known to 3 per cent points move the index, and mixing tests have found the worst at 0.8 to 1.0",
        ),
    ),
    kind="screening",
    source=HOLLMANN_THEWES_2013,
)
def clogging(liquid_limit: Number, plastic_limit: Number, water_content: Number) -> Clogging:
    """Return consistency and clogging class of a clay at a water content; free water moves it to lower consistency.

    Parameters
    ----------
    liquid_limit : of the part below 0.4 mm.
    plastic_limit : of the part below 0.4 mm.
    water_content : of the part below 0.4 mm.
    """
    plasticity = np.subtract(liquid_limit, plastic_limit)
    index = np.subtract(liquid_limit, water_content) / plasticity
    bounds = [index < 0.4, index < STICKY_LOW, index <= 0.75, index <= STICKY_HIGH, index <= 1.25, index > 1.25]
    words = ["disperses", "little", "strong", "medium", "little", "lumps"]
    return Clogging(plasticity_index=plasticity, consistency_index=index, clogging_class=np.select(bounds, words, default="none"))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WaterToTarget(Record):
    """Water that brings a clay to a consistency."""

    added_water_content: FloatArray
    added_water_l_m3: FloatArray


@method(
    "machine.clogging.water_to_target",
    formulas={
        "added_water_content": Formula("dw", "(w_L - w) - (w_L - w_P) * I_t"),
        "added_water_l_m3": Formula("q_w", "1000 * dw * rho_d"),
    },
    symbols={"consistency_index_target": "I_t"},
    requires=(_LIMITS_IN_ORDER,),
    remarks=(Remark(lambda v: v["added_water_content"] < 0, "the clay is already wetter than the target"),),
    kind="identity",
    source=ATTERBERG,
    dimensional=True,
)
def water_to_target(
    liquid_limit: Number, plastic_limit: Number, water_content: Number, consistency_index_target: Number, dry_density_t_m3: Number
) -> WaterToTarget:
    """Return the water that brings a clay from its water content to a wanted consistency.

    Parameters
    ----------
    liquid_limit : of the part below 0.4 mm.
    plastic_limit : of the part below 0.4 mm.
    water_content : before.
    consistency_index_target : wanted.
    dry_density_t_m3 : in the ground.
    """
    added = np.subtract(liquid_limit, water_content) - np.subtract(liquid_limit, plastic_limit) * consistency_index_target
    return WaterToTarget(added_water_content=added, added_water_l_m3=np.asarray(LITRES_PER_M3 * added * dry_density_t_m3))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FineWater(Record):
    """Water content of the fine part."""

    fine_water_content: FloatArray


@method(
    "machine.clogging.water_content_fine_part",
    formulas={"fine_water_content": Formula("w_f", "w / f_04")},
    symbols={"fine_part_ratio": "f_04"},
    possible={"fine_part_ratio": (0.001, 1.0)},
    valid={"fine_part_ratio": Range(0.3, 1.0, "with less fines the coarse grains carry, and hold water of their own")},
    kind="identity",
    source=ATTERBERG,
)
def fine_part_water(water_content: Number, fine_part_ratio: Number) -> FineWater:
    """Return the water content of the part below 0.4 mm when the coarse grains are taken as dry.

    Parameters
    ----------
    water_content : of the whole.
    fine_part_ratio : mass share below 0.4 mm.
    """
    return FineWater(fine_water_content=np.divide(water_content, fine_part_ratio))
