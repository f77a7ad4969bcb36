"""Closed form of shield practice: uniform ring, ground reaction as a triangle on either side.

   P  P  P  P            vertical load
 Q ->  .--.  <- Q        lateral load, growing to Q' at the invert
   k> (    ) <k          reaction k d (1 - |cos| / cos 45) between 45 and 135 deg
Q' ->  '--'  <- Q'
   P  P  P  P            reaction of the vertical load
"""

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from tunnelwright.engineering.lining.sources import USUAL_METHOD
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Range, Remark, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Series

# As printed in the tables of this method; exact is 0.045219, 0.4 % less.
_REACTION_COEFFICIENT: Final = 0.0454


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class UsualForces(Record):
    """Sideways movement at the axis and ring forces at clock angles."""

    side_displacement_m: FloatArray
    hoop_force_kn_m: Series
    moment_knm_m: Series
    shear_kn_m: Series


def _vertical(sine: FloatArray, cosine: FloatArray) -> tuple[FloatArray, ...]:
    return (1 - 2 * sine**2) / 4, sine**2, -sine * cosine


def _lateral(sine: FloatArray, cosine: FloatArray) -> tuple[FloatArray, ...]:
    return (1 - 2 * cosine**2) / 4, cosine**2, sine * cosine


def _triangle(sine: FloatArray, cosine: FloatArray) -> tuple[FloatArray, ...]:
    moment = (6 - 3 * cosine - 12 * cosine**2 + 4 * cosine**3) / 48
    return moment, (cosine + 8 * cosine**2 - 4 * cosine**3) / 16, sine * (1 + 8 * cosine - 4 * cosine**2) / 16


def _reaction(sine: FloatArray, cosine: FloatArray) -> tuple[FloatArray, ...]:
    size, side = np.abs(cosine), np.where(cosine < 0, -1.0, 1.0)
    is_loaded = size <= np.sqrt(0.5)
    moment = np.where(is_loaded, -0.3487 + 0.5 * sine**2 + 0.2357 * size**3, 0.2346 - 0.3536 * size)
    force = np.where(is_loaded, -0.7071 * size + size**2 + 0.7071 * sine**2 * size, 0.3536 * size)
    return moment, force, side * np.where(is_loaded, sine * size - 0.7071 * sine * size**2, 0.3536 * sine)


def _weight(angle: FloatArray, sine: FloatArray, cosine: FloatArray) -> tuple[FloatArray, ...]:
    below = angle > np.pi / 2
    upper = 3 * np.pi / 8 - angle * sine - 5 * cosine / 6
    lower = -np.pi / 8 + (np.pi - angle) * sine - 5 * cosine / 6 - np.pi * sine**2 / 2
    force = angle * sine - cosine / 6 + np.where(below, np.pi * sine**2 - np.pi * sine, 0.0)
    shear = -sine / 6 + np.where(below, (np.pi - angle) * cosine - np.pi * sine * cosine, -angle * cosine)
    return np.where(below, lower, upper), force, shear


@method(
    "lining.forces.usual_method",
    formulas={
        "side_displacement_m": Formula(
            "d_s",
            'max(0, (2 * P_v - Q_1 - Q_2 + (pi * g_l if weight_on_bedded_ring == "yes" else 0)) * R_m^4 / (24 * (eta * EI_l + 0.0454 * k_s * R_m^4)))',
        )
    },
    found_by={
        "hoop_force_kn_m": Algorithm("sum over vertical, lateral and triangular load, ground reaction and self weight of the tabled member forces", "N_h"),
        "moment_knm_m": Algorithm(
            "sum over the same parts of the tabled moments",
            "M_b",
            {"symmetric loads leave no more than their sum": lambda v: np.isfinite(v["moment_knm_m"]) | np.isnan(v["moment_knm_m"])},
        ),
        "shear_kn_m": Algorithm("sum over the same parts of the moment's growth along the ring", "V_s"),
    },
    symbols={"lateral_load_crown_kpa": "Q_1", "lateral_load_invert_kpa": "Q_2", "subgrade_kn_m3": "k_s", "stiffness_factor": "eta"},
    possible={
        "stiffness_factor": (0.01, 1.0),
        "lateral_load_crown_kpa": (-2000.0, 20000.0),
        "lateral_load_invert_kpa": (-2000.0, 20000.0),
        "subgrade_kn_m3": (0.0, 1e7),
        "bending_stiffness_knm2_m": (1.0, np.inf),
    },
    valid={"stiffness_factor": Range(0.3, 1.0, "usual 0.6 to 0.8 with bolts and staggered joints; from memory")},
    remarks=(
        Remark(
            lambda v: v["side_displacement_m"] <= 0,
            "the sides do not move outward: no reaction there, and the method, which takes an outward movement for granted, fits badly",
        ),
    ),
    kind="mean",
    source=USUAL_METHOD,
)
def usual_method(
    centroid_radius_m: Number,
    bending_stiffness_knm2_m: Number,
    vertical_load_kpa: Number,
    lateral_load_crown_kpa: Number,
    lateral_load_invert_kpa: Number,
    subgrade_kn_m3: Number,
    clock_angle_rad: Series,
    stiffness_factor: Number = 0.7,
    self_weight_kpa: Number = 0.0,
    weight_on_bedded_ring: Literal["yes", "no"] = "no",
) -> UsualForces:
    """Return ring forces by the closed form that Japanese shield practice uses.

    Parameters
    ----------
    centroid_radius_m : of the ring.
    bending_stiffness_knm2_m : of the uniform ring, per length of tunnel.
    vertical_load_kpa : of soil and water at the crown; the same acts upward at the invert.
    lateral_load_crown_kpa, lateral_load_invert_kpa : horizontal, of soil and water, at the two levels.
    subgrade_kn_m3 : horizontal pressure per movement.
    clock_angle_rad : where forces are wanted.
    stiffness_factor : of the jointed ring against the uniform one; acts on the movement only.
    self_weight_kpa : per area of the middle surface.
    weight_on_bedded_ring : ``yes`` where the weight comes on when the ground already supports the sides; it then adds to the movement.

    Notes
    -----
    Coefficients of the ground reaction are those printed in the tables, to four decimals. The shear is the growth of the moment along the ring.
    """
    turned = np.mod(clock_angle_rad, 2 * np.pi)
    side = np.where(turned > np.pi, -1.0, 1.0)
    angle = np.where(turned > np.pi, 2 * np.pi - turned, turned)
    sine, cosine = np.sin(angle), np.cos(angle)
    weight_share = np.pi * np.asarray(self_weight_kpa) if weight_on_bedded_ring == "yes" else 0.0
    fourth = np.power(centroid_radius_m, 4)
    stiffness = np.multiply(stiffness_factor, bending_stiffness_knm2_m) + _REACTION_COEFFICIENT * subgrade_kn_m3 * fourth
    push = 2 * np.asarray(vertical_load_kpa) - lateral_load_crown_kpa - lateral_load_invert_kpa + weight_share
    movement = np.maximum(0.0, push * fourth / (24 * stiffness))
    loads = (
        vertical_load_kpa,
        lateral_load_crown_kpa,
        np.subtract(lateral_load_invert_kpa, lateral_load_crown_kpa),
        subgrade_kn_m3 * movement,
        np.asarray(self_weight_kpa),
    )
    parts = (_vertical(sine, cosine), _lateral(sine, cosine), _triangle(sine, cosine), _reaction(sine, cosine), _weight(angle, sine, cosine))
    radius = np.asarray(centroid_radius_m)[..., None]
    moment, force, shear = (sum(np.asarray(load)[..., None] * part[kind] for load, part in zip(loads, parts, strict=True)) for kind in range(3))
    return UsualForces(side_displacement_m=movement, hoop_force_kn_m=force * radius, moment_knm_m=moment * np.square(radius), shear_kn_m=side * shear * radius)
