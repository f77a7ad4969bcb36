"""Foam: how much solution, agent and air a push takes, and what becomes of the air."""

from dataclasses import dataclass
from typing import Final

import numpy as np

from tunnelwright.engineering.muck.sources import BOYLE, EFNARC_2005, FOAM_PRACTICE
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Range, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record

ATMOSPHERE_KPA: Final = 101.325
POSSIBLE_ATMOSPHERE: Final = (60.0, 110.0)
LEAST_FOAM_RATIO: Final = 0.20


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Foam(Record):
    """Foam of one push and its parts."""

    foam_volume_m3: FloatArray
    solution_volume_m3: FloatArray
    agent_volume_m3: FloatArray
    air_volume_m3: FloatArray
    free_air_volume_m3: FloatArray


@method(
    "muck.foam.efnarc_2005",
    formulas={
        "foam_volume_m3": Formula("V_foam", "FIR * V"),
        "solution_volume_m3": Formula("V_sol", "V_foam / FER"),
        "agent_volume_m3": Formula("V_agent", "C_f * V_sol"),
        "air_volume_m3": Formula("V_air", "V_foam * (1 - 1 / FER)"),
        "free_air_volume_m3": Formula("V_free", "V_air * (p_atm + p_c) / p_atm"),
    },
    symbols={"surfactant_concentration": "C_f", "atmospheric_pressure_kpa": "p_atm"},
    possible={
        "foam_injection_ratio": (0.0, 1.5),
        "surfactant_concentration": (0.0, 0.2),
        "atmospheric_pressure_kpa": POSSIBLE_ATMOSPHERE,
        "chamber_pressure_kpa": (-50.0, 1500.0),
    },
    valid={
        "foam_injection_ratio": Range(0.0, 0.8, "usual with foam"),
        "foam_expansion_ratio": Range(5.0, 30.0, "usual with foam"),
        "surfactant_concentration": Range(0.005, 0.05, "usual with foam"),
    },
    kind="identity",
    source=EFNARC_2005,
)
def foam(
    excavated_volume_m3: Number,
    foam_injection_ratio: Number,
    foam_expansion_ratio: Number,
    surfactant_concentration: Number,
    chamber_pressure_kpa: Number,
    atmospheric_pressure_kpa: Number = ATMOSPHERE_KPA,
) -> Foam:
    """Return the foam of a push, split into solution, agent and air.

    Parameters
    ----------
    excavated_volume_m3 : volume in the ground.
    foam_injection_ratio : foam at chamber pressure over volume in the ground.
    foam_expansion_ratio : foam at chamber pressure over solution.
    surfactant_concentration : agent over solution.
    chamber_pressure_kpa : gauge.
    atmospheric_pressure_kpa : absolute, at the site.

    Notes
    -----
    Both ratios are at chamber pressure. An expansion ratio measured at the generator's outlet in free air mixed with an injection ratio under
    pressure is wrong in water by the ratio of the pressures.
    """
    foam_m3 = np.multiply(foam_injection_ratio, excavated_volume_m3)
    solution_m3 = foam_m3 / foam_expansion_ratio
    air_m3 = foam_m3 - solution_m3
    return Foam(
        foam_volume_m3=foam_m3,
        solution_volume_m3=solution_m3,
        agent_volume_m3=surfactant_concentration * solution_m3,
        air_volume_m3=air_m3,
        free_air_volume_m3=air_m3 * np.divide(np.add(atmospheric_pressure_kpa, chamber_pressure_kpa), atmospheric_pressure_kpa),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FoamRatio(Record):
    """First estimate of the foam injection ratio."""

    foam_injection_ratio: FloatArray


@method(
    "muck.foam_ratio.grading_japanese",
    formulas={
        "foam_injection_ratio": Formula(
            "FIR",
            "max(0.2, (1.6 if C_U < 4 else (1.2 if C_U <= 15 else 1)) / 200 * (max(0, 60 - 4 * (100 * X)^0.8)"
            " + max(0, 80 - 3.3 * (100 * Y)^0.8) + max(0, 90 - 2.7 * (100 * Z)^0.8)))",
        )
    },
    symbols={"passing_0_075_mm": "X", "passing_0_42_mm": "Y", "passing_2_mm": "Z"},
    valid={"passing_0_075_mm": Range(0.0, 0.3, "a first estimate for sand and gravel")},
    kind="screening",
    source=FOAM_PRACTICE,
)
def foam_ratio_of_grading(passing_0_075_mm: Number, passing_0_42_mm: Number, passing_2_mm: Number, uniformity_coefficient: Number) -> FoamRatio:
    """Return a first estimate of the foam injection ratio of a sand from its grading; at least 20 per cent.

    Parameters
    ----------
    passing_0_075_mm : share by mass that passes 0.075 mm.
    passing_0_42_mm : share that passes 0.42 mm.
    passing_2_mm : share that passes 2 mm.
    uniformity_coefficient : the more uniform, the more foam.
    """
    terms = [(60.0, 4.0, passing_0_075_mm), (80.0, 3.3, passing_0_42_mm), (90.0, 2.7, passing_2_mm)]
    missing = sum(np.maximum(0.0, most - slope * np.power(100 * np.asarray(share), 0.8)) for most, slope, share in terms)
    uniformity = np.asarray(uniformity_coefficient, dtype=np.float64)
    factor = np.where(uniformity < 4, 1.6, np.where(uniformity <= 15, 1.2, np.where(np.isnan(uniformity), np.nan, 1.0)))
    return FoamRatio(foam_injection_ratio=np.maximum(LEAST_FOAM_RATIO, factor / 200 * missing))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ReleasedGas(Record):
    """Gas of the foam after the screw."""

    gas_volume_m3: FloatArray


@method(
    "muck.foam.released_gas",
    formulas={"gas_volume_m3": Formula("V_gas", "V_air * (p_atm + p_c) / p_atm * (1 - a_esc)")},
    symbols={"escaped_share": "a_esc", "atmospheric_pressure_kpa": "p_atm"},
    possible={"escaped_share": (0.0, 1.0), "atmospheric_pressure_kpa": POSSIBLE_ATMOSPHERE, "chamber_pressure_kpa": (-50.0, 1500.0)},
    kind="mean",
    source=BOYLE,
)
def released_gas(
    air_volume_m3: Number, chamber_pressure_kpa: Number, escaped_share: Number = 0.5, atmospheric_pressure_kpa: Number = ATMOSPHERE_KPA
) -> ReleasedGas:
    """Return the volume of gas still in the muck once it has come down to atmospheric pressure.

    Parameters
    ----------
    air_volume_m3 : air of the foam at chamber pressure.
    chamber_pressure_kpa : gauge.
    escaped_share : part that leaves the muck on its way.
    atmospheric_pressure_kpa : absolute, at the site.
    """
    expanded_m3 = air_volume_m3 * np.divide(np.add(atmospheric_pressure_kpa, chamber_pressure_kpa), atmospheric_pressure_kpa)
    return ReleasedGas(gas_volume_m3=expanded_m3 * np.subtract(1.0, escaped_share))
