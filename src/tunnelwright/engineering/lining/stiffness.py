"""Stiffness of a jointed ring and of its bedding, and the ring on springs that push and pull."""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from tunnelwright.engineering.lining.sources import BEDDING, ETA_ZETA, MUIR_WOOD_1975, TWO_WAY_RING
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Range, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record


def jointed_share(segment_count: Number) -> FloatArray:
    """Return the share of a section's stiffness that is left in a ring of so many segments."""
    return np.asarray(np.where(np.asarray(segment_count) > 4, np.square(4 / np.asarray(segment_count, dtype=np.float64)), 1.0))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class EffectiveSection(Record):
    """Second moment of a jointed ring."""

    effective_second_moment_m3: FloatArray


@method(
    "lining.stiffness.muir_wood_1975",
    formulas={"effective_second_moment_m3": Formula("I_e", "min(I_l, I_j + I_l * (4 / n_s)^2) if n_s > 4 else I_l")},
    symbols={"joint_second_moment_m3": "I_j"},
    possible={"joint_second_moment_m3": (0.0, 1.0)},
    kind="mean",
    source=MUIR_WOOD_1975,
)
def effective_second_moment(second_moment_m3: Number, segment_count: Number, joint_second_moment_m3: Number = 0.0) -> EffectiveSection:
    """Return the second moment of a ring with joints.

    Parameters
    ----------
    second_moment_m3 : of the section, per length of tunnel.
    segment_count : segments of the ring; a key of less than half a segment is not counted.
    joint_second_moment_m3 : of the joint, per length of tunnel; 0 for a hinge.

    Notes
    -----
    For the deformation of the ring. The moment's upper bound takes the whole section.
    """
    whole = np.asarray(second_moment_m3)
    jointed = np.minimum(whole, joint_second_moment_m3 + whole * jointed_share(segment_count))
    return EffectiveSection(effective_second_moment_m3=np.where(np.asarray(segment_count) > 4, jointed, whole))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SharedMoments(Record):
    """Moments of segment and joint in a staggered ring."""

    segment_moment_knm_m: FloatArray
    joint_moment_knm_m: FloatArray


@method(
    "lining.stiffness.eta_zeta",
    formulas={"segment_moment_knm_m": Formula("M_seg", "(1 + zeta) * M_b"), "joint_moment_knm_m": Formula("M_joint", "(1 - zeta) * M_b")},
    symbols={"transfer_factor": "zeta"},
    possible={"transfer_factor": (0.0, 1.0)},
    valid={"transfer_factor": Range(0.0, 0.6, "usual 0.3 to 0.5 with staggered joints, 0 without; from memory")},
    kind="mean",
    source=ETA_ZETA,
)
def shared_moments(moment_knm_m: Number, transfer_factor: Number = 0.3) -> SharedMoments:
    """Return how a moment parts between segment and joint when neighbouring rings help.

    Parameters
    ----------
    moment_knm_m : of the uniform ring with its stiffness reduced for joints.
    transfer_factor : share that goes from the joint to the segments beside it.
    """
    moment, share = np.asarray(moment_knm_m), np.asarray(transfer_factor)
    return SharedMoments(segment_moment_knm_m=(1 + share) * moment, joint_moment_knm_m=(1 - share) * moment)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BeddingModulus(Record):
    """Ground pressure per displacement of the ring."""

    bedding_kn_m3: FloatArray


@method(
    "lining.bedding.modulus",
    formulas={
        "bedding_kn_m3": Formula(
            "k_r",
            'E * (1 - nu) / ((1 + nu) * (1 - 2 * nu) * R_m) if basis == "constrained" else'
            ' (E / ((1 + nu) * R_m) if basis == "cavity" else 3 * E / ((1 + nu) * (5 - 6 * nu) * R_m))',
        )
    },
    requires=(
        Require(
            "poisson_ratio",
            lambda v: v["basis"] != "constrained" or np.all(~(v["poisson_ratio"] >= 0.5)),
            "must be less than 0.5",
            "a constrained modulus is without limit at 0.5; use basis mode_two",
        ),
    ),
    valid={"poisson_ratio": Range(0.0, 0.4, "the constrained modulus rises steeply towards 0.5")},
    kind="mean",
    source=BEDDING,
)
def bedding_modulus(
    young_modulus_kpa: Number, poisson_ratio: Number, centroid_radius_m: Number, basis: Literal["constrained", "cavity", "mode_two"] = "constrained"
) -> BeddingModulus:
    """Return the modulus of the ground springs round a ring.

    Parameters
    ----------
    young_modulus_kpa : of the ground.
    poisson_ratio : of the ground.
    centroid_radius_m : of the ring.
    basis : ``constrained`` modulus over radius, ``cavity`` for even widening, ``mode_two`` for ovalisation without shear.
    """
    nu = np.asarray(poisson_ratio)
    per_radius = np.asarray(young_modulus_kpa) / ((1 + nu) * np.asarray(centroid_radius_m))
    factor = (1 - nu) / (1 - 2 * nu) if basis == "constrained" else (np.ones_like(nu) if basis == "cavity" else 3 / (5 - 6 * nu))
    return BeddingModulus(bedding_kn_m3=per_radius * factor)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TwoWayRing(Record):
    """Second mode of a ring on springs."""

    radial_displacement_m: FloatArray
    moment_amplitude_knm_m: FloatArray


@method(
    "lining.forces.bedded_two_way",
    formulas={
        "radial_displacement_m": Formula("u_2", "R_m^4 * (2 * S_n + S_t) / (18 * EI_l) / (1 + k_r * R_m^4 / (9 * EI_l))"),
        "moment_amplitude_knm_m": Formula("M_amp", "R_m^2 / 6 * (2 * S_n + S_t) / (1 + k_r * R_m^4 / (9 * EI_l))"),
    },
    symbols={"radial_load_amplitude_kpa": "S_n", "tangential_load_amplitude_kpa": "S_t", "radial_displacement_m": "u_2"},
    possible={
        "radial_load_amplitude_kpa": (-20000.0, 20000.0),
        "tangential_load_amplitude_kpa": (-20000.0, 20000.0),
        "bending_stiffness_knm2_m": (1.0, np.inf),
    },
    kind="identity",
    source=TWO_WAY_RING,
)
def bedded_two_way(
    radial_load_amplitude_kpa: Number,
    tangential_load_amplitude_kpa: Number,
    centroid_radius_m: Number,
    bending_stiffness_knm2_m: Number,
    bedding_kn_m3: Number,
) -> TwoWayRing:
    """Return moment and displacement of an inextensible ring on radial springs that push and pull.

    Parameters
    ----------
    radial_load_amplitude_kpa : pressure with two waves round the ring, inward at the crown.
    tangential_load_amplitude_kpa : with two waves, clockwise in the first quarter.
    centroid_radius_m : of the ring.
    bending_stiffness_knm2_m : per length of tunnel.
    bedding_kn_m3 : modulus of the springs.

    Notes
    -----
    The displacement is inward at the crown.
    """
    fourth = np.power(centroid_radius_m, 4)
    load = (2 * np.asarray(radial_load_amplitude_kpa) + tangential_load_amplitude_kpa) / (
        1 + bedding_kn_m3 * fourth / (9 * np.asarray(bending_stiffness_knm2_m))
    )
    return TwoWayRing(
        radial_displacement_m=fourth * load / (18 * np.asarray(bending_stiffness_knm2_m)), moment_amplitude_knm_m=np.square(centroid_radius_m) / 6 * load
    )
