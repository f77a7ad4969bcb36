"""What a pressurised shield loses, part by part, each a share of the area that is cut.

D_c cut ========================================
        shield gap        | tail void
D_t  .--------------------.
     |  shield            |  D_l  ring, ring
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from tunnelwright.engineering.movement.sources import CONTRIBUTIONS
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Range, Remark, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Values

LINING_LOSS: Final = 0.0005
_STRAIGHT_M: Final = 1e9


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LossContributions(Record):
    """Parts of the volume loss and their sum."""

    shield_gap_ratio: FloatArray
    tail_void_ratio: FloatArray
    tail_void_m3_m: FloatArray
    shield_loss: FloatArray
    steering_loss: FloatArray
    curve_loss: FloatArray
    tail_loss: FloatArray
    volume_loss: FloatArray


def _does_not_grow(larger: str, smaller: str) -> Require:
    return Require(smaller, lambda v: ~(v[smaller] > v[larger]), f"must not be more than {larger}")


def _is_underfilled(values: Values) -> NDArray[np.bool_]:
    return np.asarray(values["tail_loss"]) > 0.01


@method(
    "movement.loss.contributions",
    formulas={
        "shield_gap_ratio": Formula("a_s", "(D_c^2 - D_t^2) / D_c^2"),
        "tail_void_ratio": Formula("a_t", "(D_t^2 - D_l^2) / D_c^2"),
        "tail_void_m3_m": Formula("V_t", "pi / 4 * (D_t^2 - D_l^2)"),
        "shield_loss": Formula("V_shield", "a_s * f_s"),
        "steering_loss": Formula("V_steer", "4 * L_s * abs(psi) / (pi * D_c)"),
        "curve_loss": Formula("V_curve", "0 if R_c > 1e9 else max(0, 4 * (L_s^2 / (8 * R_c) - c_f) / (pi * D_c))"),
        "tail_loss": Formula("V_tail", "max(0, a_t - V_gr * (1 - b) / L / (pi / 4 * D_c^2))"),
        "volume_loss": Formula("V_L", "V_face + V_shield + V_steer + V_curve + V_tail + V_lining"),
    },
    symbols={
        "excavation_diameter_m": "D_c",
        "shield_tail_diameter_m": "D_t",
        "ring_outer_diameter_m": "D_l",
        "bleed_ratio": "b",
        "face_loss": "V_face",
        "shield_gap_closed_share": "f_s",
        "steering_angle_rad": "psi",
        "free_clearance_m": "c_f",
        "lining_loss": "V_lining",
    },
    possible={
        "ring_length_m": (0.1, 4.0),
        "bleed_ratio": (0.0, 0.5),
        "face_loss": (-0.05, 0.1),
        "shield_gap_closed_share": (0.0, 1.0),
        "steering_angle_rad": (-0.1, 0.1),
        "free_clearance_m": (0.0, 1.0),
        "lining_loss": (0.0, 0.05),
        "volume_loss": (-np.inf, np.inf),
    },
    valid={"lining_loss": Range(0.0, 0.001, "squat and closing of joints"), "face_loss": Range(-0.01, 0.05, "short term")},
    requires=(
        _does_not_grow("excavation_diameter_m", "shield_tail_diameter_m"),
        _does_not_grow("shield_tail_diameter_m", "ring_outer_diameter_m"),
    ),
    remarks=(Remark(_is_underfilled, "the tail void is far from filled: it alone costs more than 1 %"),),
    kind="upper bound",
    source=CONTRIBUTIONS,
)
def loss_contributions(
    excavation_diameter_m: Number,
    shield_tail_diameter_m: Number,
    ring_outer_diameter_m: Number,
    ring_length_m: Number,
    grout_volume_m3: Number,
    bleed_ratio: Number = 0.0,
    face_loss: Number = 0.0,
    shield_gap_closed_share: Number = 0.0,
    steering_angle_rad: Number = 0.0,
    shield_length_m: Number = 0.0,
    curve_radius_m: Number = np.inf,
    free_clearance_m: Number = 0.0,
    lining_loss: Number = LINING_LOSS,
) -> LossContributions:
    """Return the parts of the volume loss of a pressurised shield and their sum.

    Parameters
    ----------
    excavation_diameter_m, shield_tail_diameter_m, ring_outer_diameter_m : outside diameters of cut, shield tail and lining.
    ring_length_m : of one ring.
    grout_volume_m3 : placed per ring in the tail void; grout that went forward into the shield gap does not count here.
    bleed_ratio : share of the grout that is lost as water.
    face_loss : share of the contraction of a cavity that comes at the face; negative for over-pressure.
    shield_gap_closed_share : 0 when slurry or medium holds the gap at the pressure of the ground, 1 when it closes.
    steering_angle_rad : between shield and path, yaw or pitch.
    shield_length_m : over which that angle sweeps.
    curve_radius_m : of the path; infinite is straight.
    free_clearance_m : overcut that the shield may use in the curve before it cuts more.
    lining_loss : squat and closing of joints.

    Notes
    -----
    The tail void is about ten times the loss that is aimed at: a ring filled to 85 % costs about 1 %. Grout above the void counts as no
    loss, not as heave.
    """
    cut2, tail2, ring2 = np.square(excavation_diameter_m), np.square(shield_tail_diameter_m), np.square(ring_outer_diameter_m)
    shield_gap, tail_void = (cut2 - tail2) / cut2, (tail2 - ring2) / cut2
    around_m = np.pi * np.asarray(excavation_diameter_m)
    is_curve = np.asarray(curve_radius_m) <= _STRAIGHT_M
    rise_m = np.square(shield_length_m) / (8 * np.where(is_curve, curve_radius_m, 1.0)) - free_clearance_m
    parts = {
        "shield_loss": shield_gap * shield_gap_closed_share,
        "steering_loss": 4 * np.multiply(shield_length_m, np.abs(steering_angle_rad)) / around_m,
        "curve_loss": np.where(is_curve | np.isnan(curve_radius_m), np.maximum(0.0, 4 * rise_m / around_m), 0.0),
        "tail_loss": np.maximum(0.0, tail_void - grout_volume_m3 * np.subtract(1.0, bleed_ratio) / ring_length_m / (np.pi / 4 * cut2)),
    }
    return LossContributions(
        shield_gap_ratio=shield_gap,
        tail_void_ratio=tail_void,
        tail_void_m3_m=np.pi / 4 * (tail2 - ring2),
        volume_loss=face_loss + sum(parts.values()) + np.asarray(lining_loss),
        **parts,
    )
