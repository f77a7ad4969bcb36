"""Abrasivity of the ground: equivalent quartz, grinding hardness of a mineral, classes of tests."""

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from tunnelwright.engineering.machine.sources import ABRASIVITY_CLASSES, ROSIWAL, THURO_PLINNINGER
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Range, Remark, Require, Rows, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Table, TextArray

QUARTZ: Final = 100.0
MOHS_AT_ONE: Final = 2.12
MOHS_SLOPE: Final = 1.05


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Minerals(Table):
    """Minerals of a soil or rock, one row each."""

    mass_ratio: FloatArray
    grinding_hardness: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class EquivalentQuartz(Record):
    """Quartz that would grind like the mixture."""

    equivalent_quartz_ratio: FloatArray


@method(
    "machine.abrasivity.equivalent_quartz",
    found_by={"equivalent_quartz_ratio": Rows("minerals", "EQC", "previous + m_i * H_g / 100")},
    symbols={"mass_ratio": "m_i", "grinding_hardness": "H_g"},
    possible={"mass_ratio": (0.0, 1.0)},
    requires=(
        Require(
            "minerals",
            lambda v: np.sum(v["minerals"].mass_ratio, axis=-1) <= 1.0 + 1e-9,
            "shares must not add up to more than 1",
            "were per cent given?",
        ),
    ),
    remarks=(Remark(lambda v: np.sum(v["minerals"].mass_ratio, axis=-1) < 0.95, "shares add up to less than 0.95: minerals are missing"),),
    kind="identity",
    source=ROSIWAL,
)
def equivalent_quartz(minerals: Minerals) -> EquivalentQuartz:
    """Return the quartz content that would grind like the mixture.

    Parameters
    ----------
    minerals : mass share and grinding hardness of each, quartz at 100: feldspar 31 to 37, carbonate 3.6 to 4.5, clay and mica up to 4.
    """
    return EquivalentQuartz(equivalent_quartz_ratio=np.asarray(np.sum(minerals.mass_ratio * minerals.grinding_hardness / QUARTZ, axis=-1)))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class GrindingHardness(Record):
    """Grinding hardness with quartz at 100."""

    grinding_hardness: FloatArray


@method(
    "machine.abrasivity.grinding_hardness_mohs",
    formulas={"grinding_hardness": Formula("H_g", "exp((H_M - 2.12) / 1.05)")},
    symbols={"mohs_hardness": "H_M"},
    possible={"mohs_hardness": (1.0, 10.0)},
    valid={"mohs_hardness": Range(3.0, 8.0, "common rock-forming minerals")},
    kind="mean",
    source=THURO_PLINNINGER,
)
def grinding_hardness(mohs_hardness: Number) -> GrindingHardness:
    """Return the grinding hardness that belongs to a scratch hardness; quartz comes out at 104, feldspar at 40 where tables have 31 to 37.

    Parameters
    ----------
    mohs_hardness : quartz has 7.
    """
    return GrindingHardness(grinding_hardness=np.exp(np.subtract(mohs_hardness, MOHS_AT_ONE) / MOHS_SLOPE))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class AbrasivityClass(Record):
    """Class of an abrasivity test."""

    abrasivity_class: TextArray


@method(
    "machine.abrasivity.class",
    found_by={"abrasivity_class": Algorithm("class of the test's own table; classes of different tests must not be compared")},
    possible={"test_value": (0.0, 1e4)},
    kind="screening",
    source=ABRASIVITY_CLASSES,
)
def abrasivity_class(test: Literal["lcpc", "sat"], test_value: Number) -> AbrasivityClass:
    """Return the class of an abrasivity test; a bound belongs to the worse class, the last bound of each test to the one below it.

    Parameters
    ----------
    test : LCPC abrasimeter or soil abrasion test.
    test_value : in g/t for LCPC, as reported for SAT.
    """
    value = np.asarray(test_value, dtype=np.float64)
    if test == "lcpc":
        bounds, words = [value < 50, value < 250, value < 500, value <= 1250, value > 1250], ["very low", "low", "medium", "high", "very high"]
    else:
        bounds, words = [value < 7, value <= 22, value > 22], ["low", "medium", "high"]
    return AbrasivityClass(abrasivity_class=np.select(bounds, words, default="none"))
