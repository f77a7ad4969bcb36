"""Ram forces on the ring: what still holds when some are back, and whether ring joints stay closed."""

from dataclasses import dataclass
from typing import Final

import numpy as np

from tunnelwright.engineering.ring.sources import KERN
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Remark, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Table, Values

# Remaining over required holding force; editable practice, no source.
_LEAST_HOLDING_RATIO: Final = 1.2
_RING: Final = Require("ring_inner_diameter_m", lambda v: v["ring_inner_diameter_m"] < v["ring_outer_diameter_m"], "must be less than ring_outer_diameter_m")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Rams(Table):
    """Rams round the ring, each with the force that it can give."""

    clock_angle_rad: FloatArray
    force_kn: FloatArray
    retracted: FloatArray


def kern_radius(ring_outer_diameter_m: Number, ring_inner_diameter_m: Number) -> FloatArray:
    """Return the eccentricity up to which an annular joint stays closed all round."""
    return np.asarray((np.square(ring_outer_diameter_m) + np.square(ring_inner_diameter_m)) / (8 * np.asarray(ring_outer_diameter_m)))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HoldingForce(Record):
    """Force of the rams that stay in contact, and where it acts."""

    holding_force_kn: FloatArray
    holding_ratio: FloatArray
    eccentricity_m: FloatArray
    eccentricity_clock_angle_rad: FloatArray
    kern_ratio: FloatArray


def _acts_within_the_circle(values: Values) -> FloatArray:
    return ~(values["eccentricity_m"] > values["ram_circle_radius_m"] * (1 + 1e-9))


@method(
    "ring.rams.holding_force",
    formulas={
        "holding_ratio": Formula("n_hold", "F_hold / F_req"),
        "kern_ratio": Formula("e_rel", "e_j * 8 * D_o / (D_o^2 + D_i^2)"),
    },
    found_by={
        "holding_force_kn": Algorithm(
            "sum of the forces of rams that are not retracted", "F_hold", {"it does not push back": lambda v: ~(v["holding_force_kn"] < 0)}
        ),
        "eccentricity_m": Algorithm(
            "distance from the centre of the resultant of these forces", "e_j", {"it acts within the circle of rams": _acts_within_the_circle}
        ),
        "eccentricity_clock_angle_rad": Algorithm("clock angle of that place, from 0 to one turn", "theta_e"),
    },
    symbols={"required_force_kn": "F_req"},
    possible={"required_force_kn": (0.0, 3e5), "force_kn": (0.0, 3e4), "retracted": (0.0, 1.0)},
    requires=(
        _RING,
        Require("rams", lambda v: np.all((v["rams"].retracted == 0) | (v["rams"].retracted == 1)), "retracted must be 1 or 0 for each ram"),
    ),
    remarks=(
        Remark(
            lambda v: v["holding_ratio"] < _LEAST_HOLDING_RATIO,
            "the rams that remain hold less than 1.2 times what the face and the slope push back: do not retract, a shield pushed back kills and floods",
        ),
        Remark(lambda v: v["kern_ratio"] > 1, "the remaining rams act outside the kern of the ring joint: the joint opens on the far side"),
    ),
    kind="lower bound",
    source=KERN,
)
def holding_force(
    rams: Rams, required_force_kn: Number, ram_circle_radius_m: Number, ring_outer_diameter_m: Number, ring_inner_diameter_m: Number
) -> HoldingForce:
    """Return the force that holds the shield while some rams are retracted for a segment.

    Parameters
    ----------
    rams : each with its true clock angle, the force it can give, and whether it is retracted.
    required_force_kn : face support force plus the downhill part of the weight of shield and back-up; friction on the skin is not counted.
    ram_circle_radius_m : on which the rams stand.
    ring_outer_diameter_m : of the ring.
    ring_inner_diameter_m : of the ring.
    """
    force = rams.force_kn * (1 - rams.retracted)
    total = force.sum(axis=-1)
    with np.errstate(divide="ignore", invalid="ignore"):
        right = ram_circle_radius_m * (force * np.sin(rams.clock_angle_rad)).sum(axis=-1) / total
        up = ram_circle_radius_m * (force * np.cos(rams.clock_angle_rad)).sum(axis=-1) / total
        ratio = total / np.asarray(required_force_kn)
    eccentricity = np.hypot(right, up)
    return HoldingForce(
        holding_force_kn=total,
        holding_ratio=ratio,
        eccentricity_m=eccentricity,
        eccentricity_clock_angle_rad=np.mod(np.arctan2(right, up), 2 * np.pi),
        kern_ratio=eccentricity / kern_radius(ring_outer_diameter_m, ring_inner_diameter_m),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RingJointKern(Record):
    """Kern of the ring joint and how much of it a steering moment uses."""

    kern_radius_m: FloatArray
    eccentricity_m: FloatArray
    kern_ratio: FloatArray


@method(
    "ring.joint.kern",
    formulas={
        "kern_radius_m": Formula("r_k", "(D_o^2 + D_i^2) / (8 * D_o)"),
        "eccentricity_m": Formula("e_j", "M / F_T"),
        "kern_ratio": Formula("e_rel", "abs(e_j) / r_k"),
    },
    requires=(_RING, Require("thrust_kn", lambda v: np.all(~(v["thrust_kn"] <= 0)), "must be more than 0")),
    remarks=(Remark(lambda v: v["kern_ratio"] > 1, "the resultant of the rams lies outside the kern: the ring joint opens on the far side"),),
    kind="identity",
    source=KERN,
)
def ring_joint_kern(ring_outer_diameter_m: Number, ring_inner_diameter_m: Number, thrust_kn: Number, moment_knm: Number) -> RingJointKern:
    """Return how near the steering moment of the rams comes to opening the ring joint.

    Parameters
    ----------
    ring_outer_diameter_m : of the ring.
    ring_inner_diameter_m : of the ring.
    thrust_kn : of all rams.
    moment_knm : of the ram groups about any axis across the tunnel.
    """
    kern = kern_radius(ring_outer_diameter_m, ring_inner_diameter_m)
    eccentricity = np.divide(moment_knm, thrust_kn)
    return RingJointKern(kern_radius_m=kern, eccentricity_m=eccentricity, kern_ratio=np.abs(eccentricity) / kern)
