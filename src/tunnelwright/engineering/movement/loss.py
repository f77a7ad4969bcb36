"""How much ground a drive loses: experience, a cavity in clay, and the load factor."""

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from tunnelwright.engineering.movement.sources import CAVITY, LEE_ROWE_LO_1992, MACKLIN_1999, TYPICAL_LOSS
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Range, Remark, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record

TypicalGround = Literal["closed face sand", "closed face stiff clay", "closed face soft clay", "open face stiff clay", "mixed face", "weak rock"]
# Editable defaults: low and high of common experience.
TYPICAL_RANGES: Final[dict[str, tuple[float, float]]] = {
    "closed face sand": (0.003, 0.005),
    "closed face stiff clay": (0.005, 0.010),
    "closed face soft clay": (0.010, 0.020),
    "open face stiff clay": (0.010, 0.020),
    "mixed face": (0.007, 0.015),
    "weak rock": (0.001, 0.003),
}
_ACT_ABOVE: Final = 0.8


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LossRange(Record):
    """Volume loss of common experience."""

    volume_loss_low: FloatArray
    volume_loss_high: FloatArray


@method(
    "movement.loss.typical",
    found_by={
        "volume_loss_low": Algorithm("low end of experience in this ground times the multiplier", "V_low"),
        "volume_loss_high": Algorithm(
            "high end of experience in this ground times the multiplier",
            "V_high",
            {"above the low end": lambda v: ~(v["volume_loss_high"] <= v["volume_loss_low"])},
        ),
    },
    possible={"multiplier": (0.1, 10.0)},
    valid={"multiplier": Range(1.0, 2.0, "1.5 to 2 for the first 30 to 50 m, tight curves, interventions and stoppages")},
    kind="mean",
    source=TYPICAL_LOSS,
)
def typical_loss(ground: TypicalGround, multiplier: Number = 1.0) -> LossRange:
    """Return the volume loss that experience leads to expect.

    Parameters
    ----------
    ground : kind of face and ground.
    multiplier : for the first metres, stoppages and tight curves.
    """
    low, high = TYPICAL_RANGES[ground]
    return LossRange(volume_loss_low=low * np.asarray(multiplier), volume_loss_high=high * np.asarray(multiplier))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CavityLoss(Record):
    """Volume loss of an unlined cavity in clay and how it answers to pressure."""

    stability_number: FloatArray
    volume_loss: FloatArray
    volume_loss_change_1_kpa: FloatArray


@method(
    "movement.loss.cavity",
    formulas={
        "stability_number": Formula("N", "(sigma_v - p) / c_u"),
        "volume_loss": Formula("V_L", "N * c_u / G if abs(N) <= 1 else sign(N) * c_u / G * exp(abs(N) - 1)"),
        "volume_loss_change_1_kpa": Formula("dV_dp", "-1 / G if abs(N) <= 1 else -exp(abs(N) - 1) / G"),
    },
    symbols={"face_pressure_axis_kpa": "p", "shear_modulus_kpa": "G"},
    possible={"undrained_strength_kpa": (0.1, 5000.0), "shear_modulus_kpa": (10.0, 1e7), "volume_loss": (-np.inf, np.inf)},
    valid={"stability_number": Range(-4.0, 6.0, "beyond it the face is near collapse or blow-out: see the topic of the face")},
    remarks=(Remark(lambda v: np.asarray(v["volume_loss"]) < 0, "the pressure is above the ground's: the ground heaves"),),
    kind="upper bound",
    source=CAVITY,
)
def cavity_loss(total_vertical_stress_kpa: Number, face_pressure_axis_kpa: Number, undrained_strength_kpa: Number, shear_modulus_kpa: Number) -> CavityLoss:
    """Return the contraction of an unlined cavity in undrained clay under its support pressure.

    Parameters
    ----------
    total_vertical_stress_kpa : at the axis.
    face_pressure_axis_kpa : support pressure.
    undrained_strength_kpa : of the clay.
    shear_modulus_kpa : undrained.

    Notes
    -----
    Elastic up to a stability number of 1, then a plastic ring grows; over-pressure yields too. Without lining and without arching at the
    face it is more than happens.
    """
    number = np.subtract(total_vertical_stress_kpa, face_pressure_axis_kpa) / undrained_strength_kpa
    growth = np.exp(np.maximum(np.abs(number) - 1, 0.0))
    per_kpa = growth / shear_modulus_kpa
    strain = np.where(np.abs(number) <= 1, number, np.sign(number) * growth) * undrained_strength_kpa / shear_modulus_kpa
    return CavityLoss(stability_number=number, volume_loss=strain, volume_loss_change_1_kpa=-per_kpa)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LoadFactorLoss(Record):
    """Volume loss from how near the face is to collapse."""

    load_factor: FloatArray
    volume_loss: FloatArray


@method(
    "movement.loss.load_factor_macklin_1999",
    formulas={"load_factor": Formula("LF", "N / N_c"), "volume_loss": Formula("V_L", "0.0023 * exp(4.4 * LF) if LF <= 0.8 else 0 / 0")},
    possible={"critical_stability_number": (0.1, 50.0)},
    valid={"load_factor": Range(0.2, _ACT_ABOVE, "range of the observations")},
    remarks=(
        Remark(lambda v: np.asarray(v["load_factor"]) > _ACT_ABOVE, "act: above a load factor of 0.8 the stability of the face decides, not a volume loss"),
    ),
    kind="mean",
    source=MACKLIN_1999,
)
def load_factor_loss(stability_number: Number, critical_stability_number: Number) -> LoadFactorLoss:
    """Return the volume loss observed in overconsolidated clay at a load factor.

    Parameters
    ----------
    stability_number : at the axis with the support pressure.
    critical_stability_number : at collapse.
    """
    factor = np.divide(stability_number, critical_stability_number)
    return LoadFactorLoss(load_factor=factor, volume_loss=np.where(factor <= _ACT_ABOVE, 0.0023 * np.exp(4.4 * np.minimum(factor, _ACT_ABOVE)), np.nan))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class GapLoss(Record):
    """Gap on the diameter and the loss when it closes."""

    gap_m: FloatArray
    volume_loss: FloatArray


@method(
    "movement.loss.gap_lee_1992",
    formulas={"gap_m": Formula("g", "G_p + u_3D + w"), "volume_loss": Formula("V_L", "(2 * g * D + g^2) / D^2")},
    symbols={"physical_gap_m": "G_p", "face_intrusion_m": "u_3D", "workmanship_m": "w"},
    possible={"physical_gap_m": (0.0, 2.0), "face_intrusion_m": (0.0, 2.0), "workmanship_m": (0.0, 1.0)},
    valid={"volume_loss": Range(0.0, 0.05, "usual range")},
    requires=(Require("physical_gap_m", lambda v: ~(v["physical_gap_m"] >= v["excavation_diameter_m"]), "must be less than excavation_diameter_m"),),
    kind="upper bound",
    source=LEE_ROWE_LO_1992,
)
def gap_loss(physical_gap_m: Number, excavation_diameter_m: Number, face_intrusion_m: Number = 0.0, workmanship_m: Number = 0.0) -> GapLoss:
    """Return the ground loss when the whole gap around the lining closes.

    Parameters
    ----------
    physical_gap_m : twice the tail skin and the clearance for erection, as far as not grouted.
    excavation_diameter_m : cut diameter.
    face_intrusion_m : three-dimensional take at the face, as a gap.
    workmanship_m : allowance for steering.
    """
    gap_m = np.asarray(physical_gap_m) + face_intrusion_m + workmanship_m
    diameter = np.asarray(excavation_diameter_m)
    return GapLoss(gap_m=gap_m, volume_loss=(2 * gap_m * diameter + np.square(gap_m)) / np.square(diameter))
