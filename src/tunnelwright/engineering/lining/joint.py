"""Radial joints: rotation under moment, limit of moment, contact stress, rotation that ovalisation asks for.

     outside
|  _______  |        h_j  height of the contact
| |       | |        x    height still compressed
|_|_______|_|        N acts M/N off the centre of the contact
     inside
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from tunnelwright.engineering.lining.sources import EN_1992_BEARING, JANSSEN_1983, MODE_TWO_KINEMATICS, PLASTIC_CONTACT
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Range, Remark, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record

# Less contact than this at the edge is taken as failed.
_LEAST_CONTACT_M: Final = 0.02
_NO_THRUST: Final = "without compression the joint is a hinge: bolts are not counted on"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class JointRotation(Record):
    """How a radial joint turns, and how much of it stays compressed."""

    eccentricity_ratio: FloatArray
    joint_rotation_rad: FloatArray
    secant_stiffness_knm_rad: FloatArray
    compressed_height_m: FloatArray
    edge_stress_mpa: FloatArray
    opening_mm: FloatArray


@method(
    "lining.joint.rotation_janssen_1983",
    formulas={
        "eccentricity_ratio": Formula("m", "abs(M_b) / h_j / sqrt(N_h)^2"),
        "joint_rotation_rad": Formula(
            "phi_j",
            "12 * M_b / (1000 * E_l * h_j^2) if m <= 1/6 else sign(M_b) * 8 * N_h / (9000 * E_l * h_j * sqrt(1 - 2 * m)^4)",
        ),
        "secant_stiffness_knm_rad": Formula("k_phi", "1000 * E_l * h_j^2 / 12 if m <= 1/6 else 9000 * E_l * h_j * abs(M_b) * sqrt(1 - 2 * m)^4 / (8 * N_h)"),
        "compressed_height_m": Formula("x", "h_j if m <= 1/6 else 3 * h_j / 2 * sqrt(1 - 2 * m)^2"),
        "edge_stress_mpa": Formula("sigma_edge", "N_h / (1000 * h_j) * (1 + 6 * m) if m <= 1/6 else 2 * N_h / (1000 * x)"),
        "opening_mm": Formula("w_o", "1000 * abs(phi_j) * (h_j - x)"),
    },
    remarks=(
        Remark(lambda v: v["hoop_force_kn_m"] <= 0, _NO_THRUST),
        Remark(
            lambda v: v["eccentricity_ratio"] >= 0.5,
            "the moment is more than the joint can carry at this hoop force: there is no rotation at which it balances",
        ),
        Remark(
            lambda v: (v["eccentricity_ratio"] > 0.4) & (v["eccentricity_ratio"] < 0.5),
            "the joint is near its limit of moment: rotation grows without limit and the concrete at the edge will crush before",
        ),
    ),
    kind="mean",
    source=JANSSEN_1983,
    # The stiffness counts per metre of tunnel, its unit is that of one joint.
    dimensional=True,
)
def joint_rotation(hoop_force_kn_m: Number, moment_knm_m: Number, contact_height_m: Number, concrete_modulus_mpa: Number) -> JointRotation:
    """Return how a radial joint turns under hoop force and moment.

    Parameters
    ----------
    hoop_force_kn_m : compression positive.
    moment_knm_m : about the centre of the contact.
    contact_height_m : of the joint faces, grooves taken off.
    concrete_modulus_mpa : of the segments beside the joint.

    Notes
    -----
    A block as deep as the contact is high turns with the joint. Up to a sixth of the height of eccentricity the contact is whole; beyond, it opens and
    the joint softens. The opening is that at the far edge of the contact.
    """
    force, height = np.asarray(hoop_force_kn_m), np.asarray(contact_height_m)
    modulus = 1000 * np.asarray(concrete_modulus_mpa)
    with np.errstate(divide="ignore", invalid="ignore"):
        # A pulled joint has no ratio: the root makes it none.
        ratio = np.abs(moment_knm_m) / height / np.sqrt(force) ** 2
        is_whole = ratio <= 1 / 6
        left = np.sqrt(1 - 2 * ratio)
        open_rotation = np.sign(moment_knm_m) * 8 * force / (9 * modulus * height * left**4)
        rotation = np.where(is_whole, 12 * np.asarray(moment_knm_m) / (modulus * np.square(height)), open_rotation)
        secant = np.where(is_whole, modulus * np.square(height) / 12, 9 * modulus * height * np.abs(moment_knm_m) * left**4 / (8 * force))
        compressed = np.where(is_whole, height, 1.5 * height * left**2)
        stress = np.where(is_whole, force / (1000 * height) * (1 + 6 * ratio), 2 * force / (1000 * compressed))
    return JointRotation(
        eccentricity_ratio=ratio,
        joint_rotation_rad=rotation,
        secant_stiffness_knm_rad=secant,
        compressed_height_m=compressed,
        edge_stress_mpa=stress,
        opening_mm=1000 * np.abs(rotation) * (height - compressed),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class JointMomentLimit(Record):
    """Moment that a joint can carry at a hoop force."""

    moment_limit_knm_m: FloatArray


@method(
    "lining.joint.moment_limit",
    formulas={"moment_limit_knm_m": Formula("M_lim", "max(0, N_h) / 2 * max(0, h_j - N_h / (1000 * f_joint))")},
    symbols={"contact_strength_mpa": "f_joint"},
    possible={"contact_strength_mpa": (1.0, 300.0)},
    remarks=(
        Remark(lambda v: v["hoop_force_kn_m"] <= 0, _NO_THRUST),
        Remark(lambda v: v["hoop_force_kn_m"] > 1000 * v["contact_strength_mpa"] * v["contact_height_m"], "the hoop force alone crushes the contact"),
    ),
    kind="upper bound",
    source=PLASTIC_CONTACT,
)
def moment_limit(hoop_force_kn_m: Number, contact_height_m: Number, contact_strength_mpa: Number) -> JointMomentLimit:
    """Return the greatest moment of a joint, with the contact fully used at one edge.

    Parameters
    ----------
    hoop_force_kn_m : compression positive.
    contact_height_m : of the joint faces, grooves taken off.
    contact_strength_mpa : of the concrete under partial load.
    """
    force = np.asarray(hoop_force_kn_m)
    used_m = force / (1000 * np.asarray(contact_strength_mpa))
    return JointMomentLimit(moment_limit_knm_m=np.maximum(0.0, force) / 2 * np.maximum(0.0, contact_height_m - used_m))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class JointBearing(Record):
    """Contact stress of a radial joint against the strength under partial load."""

    eccentricity_m: FloatArray
    loaded_height_m: FloatArray
    spread_height_m: FloatArray
    contact_stress_mpa: FloatArray
    bearing_strength_mpa: FloatArray
    utilisation: FloatArray


@method(
    "lining.joint.bearing",
    formulas={
        "eccentricity_m": Formula("e", "abs(M_b) / max(0, N_h) + e_imp / 1000"),
        "loaded_height_m": Formula("h_c", "h_j - 2 * e if h_j - 2 * e >= 0.02 else 0"),
        "spread_height_m": Formula("h_1", "min(3 * h_c, t_l - 2 * (e + abs(e_jc) / 1000))"),
        "contact_stress_mpa": Formula("sigma_c", "N_h / (1000 * h_c)"),
        "bearing_strength_mpa": Formula("f_b", "f_cd * sqrt(h_1 / h_c) if h_c > 0 else f_cd"),
        "utilisation": Formula("u_b", "N_h / (1000 * h_c) / f_b"),
    },
    symbols={"lip_mm": "e_imp", "contact_eccentricity_mm": "e_jc"},
    possible={"lip_mm": (0.0, 100.0), "contact_eccentricity_mm": (-500.0, 500.0)},
    requires=(
        Require(
            "contact_height_m",
            lambda v: np.all(~(v["contact_height_m"] / 2 + np.abs(v["contact_eccentricity_mm"]) / 1000 > v["lining_thickness_m"] / 2 + 1e-9)),
            "the contact must lie within the thickness of the lining",
        ),
    ),
    remarks=(
        Remark(lambda v: v["hoop_force_kn_m"] <= 0, _NO_THRUST),
        Remark(lambda v: v["loaded_height_m"] == 0, "the resultant comes within 10 mm of the edge of the contact: the joint fails"),
    ),
    kind="lower bound",
    source=EN_1992_BEARING,
    # The contact that counts as failed is given in metres.
    dimensional=True,
)
def joint_bearing(
    hoop_force_kn_m: Number,
    moment_knm_m: Number,
    contact_height_m: Number,
    lining_thickness_m: Number,
    design_strength_mpa: Number,
    lip_mm: Number = 5.0,
    contact_eccentricity_mm: Number = 0.0,
) -> JointBearing:
    """Return how far the contact of a radial joint is used, as a rectangular block under partial load.

    Parameters
    ----------
    hoop_force_kn_m : design value with the moment, compression positive.
    moment_knm_m : design value about the centre of the contact.
    contact_height_m : of the joint faces, grooves taken off.
    lining_thickness_m : into which the force spreads.
    design_strength_mpa : of the concrete in compression.
    lip_mm : lips and steps of building, added to the eccentricity.
    contact_eccentricity_mm : of the contact's centre from the middle of the thickness.

    Notes
    -----
    The force spreads in the thickness only, to three times the loaded height at most, so that the strength grows by the root of three at most.
    """
    force = np.maximum(0.0, np.asarray(hoop_force_kn_m))
    with np.errstate(divide="ignore", invalid="ignore"):
        eccentricity = np.abs(moment_knm_m) / force + np.asarray(lip_mm) / 1000
        left = contact_height_m - 2 * eccentricity
        loaded = np.where(left >= _LEAST_CONTACT_M, left, np.where(np.isnan(left), np.nan, 0.0))
        spread = np.minimum(3 * loaded, lining_thickness_m - 2 * (eccentricity + np.abs(contact_eccentricity_mm) / 1000))
        stress = np.asarray(hoop_force_kn_m) / (1000 * loaded)
        strength = np.where(loaded > 0, design_strength_mpa * np.sqrt(spread / loaded), design_strength_mpa)
    return JointBearing(
        eccentricity_m=eccentricity,
        loaded_height_m=loaded,
        spread_height_m=spread,
        contact_stress_mpa=stress,
        bearing_strength_mpa=strength,
        utilisation=stress / strength,
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class OvalRotation(Record):
    """Joint rotation from ovalisation."""

    joint_rotation_rad: FloatArray


@method(
    "lining.joint.rotation_from_ovalisation",
    formulas={"joint_rotation_rad": Formula("phi_j", "3 * d_2 * sin(2 * pi / n_s) / R_m")},
    valid={
        "segment_count": Range(5, 30, "with fewer segments the second mode is not spread over the joints"),
        "joint_rotation_rad": Range(-0.01, 0.01, "editable limit from memory"),
    },
    kind="mean",
    source=MODE_TWO_KINEMATICS,
)
def rotation_from_ovalisation(radial_amplitude_m: Number, centroid_radius_m: Number, segment_count: Number) -> OvalRotation:
    """Return the greatest joint rotation when all of an ovalisation is gathered in the joints.

    Parameters
    ----------
    radial_amplitude_m : two-wave part of the displacement, half the change of one diameter.
    centroid_radius_m : of the ring.
    segment_count : segments of equal size.
    """
    return OvalRotation(joint_rotation_rad=3 * np.asarray(radial_amplitude_m) * np.sin(2 * np.pi / np.asarray(segment_count)) / centroid_radius_m)
