"""The ring on springs of the ground that may only push: the general method for a design check."""

from dataclasses import dataclass
from typing import Any, Final, Literal, TypeAlias

import numpy as np

from tunnelwright.engineering.lining.frame import Mesh, meshed, ring_frame
from tunnelwright.engineering.lining.settle import Bedding, JointLaw, Loaded, linear_joint, opening_joint, settled
from tunnelwright.engineering.lining.sources import BEDDED_RING
from tunnelwright.engineering.places import each_place
from tunnelwright.vocabulary.method import Algorithm, Range, Remark, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Series, Values

JointKind: TypeAlias = Literal["janssen", "linear", "hinge"]
Switch: TypeAlias = Literal["off", "on"]
_NUMBERS: Final = (
    "centroid_radius_m",
    "lining_thickness_m",
    "concrete_modulus_mpa",
    "bedding_kn_m3",
    "radial_mean_kpa",
    "radial_amplitude_kpa",
    "tangential_amplitude_kpa",
    "vertical_soil_kpa",
    "lateral_crown_kpa",
    "lateral_gradient_kn_m3",
    "water_crown_kpa",
    "water_unit_weight_kn_m3",
    "self_weight_kpa",
    "contact_height_m",
    "joint_stiffness_knm_rad",
    "tangential_bedding_ratio",
    "free_crown_half_angle_rad",
)
# Left out, these say that there is no such thing.
_OPTIONAL: Final = frozenset({"water_crown_kpa", "contact_height_m", "joint_stiffness_knm_rad"})


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BeddedRing(Record):
    """Forces and displacements of a bedded ring."""

    hoop_force_kn_m: Series
    moment_knm_m: Series
    radial_displacement_m: Series
    moment_max_knm_m: FloatArray
    moment_min_knm_m: FloatArray
    joint_rotation_rad: Series


def loads_at(angle_rad: FloatArray, given: Values) -> tuple[FloatArray, FloatArray]:
    """Return pressure (inward) and tangential load (clockwise) at clock angles, all of them per area of the middle surface."""
    sine, cosine = np.sin(angle_rad), np.cos(angle_rad)
    depth_m = given["centroid_radius_m"] * (1 - cosine)
    lateral = given["lateral_crown_kpa"] + given["lateral_gradient_kn_m3"] * depth_m
    radial = given["radial_mean_kpa"] + given["radial_amplitude_kpa"] * np.cos(2 * angle_rad)
    radial = radial + given["vertical_soil_kpa"] * cosine**2 + lateral * sine**2 + given["self_weight_kpa"] * cosine
    if not np.isnan(given["water_crown_kpa"]):
        radial = radial + given["water_crown_kpa"] + given["water_unit_weight_kn_m3"] * depth_m
    tangential = given["tangential_amplitude_kpa"] * np.sin(2 * angle_rad)
    tangential = tangential + (given["vertical_soil_kpa"] - lateral) * sine * cosine + given["self_weight_kpa"] * sine
    return radial, tangential


def joint_law(kind: JointKind, given: Values) -> JointLaw:
    """Return the law of a ring's joints."""
    if kind == "janssen":
        return opening_joint(given["contact_height_m"], 1000 * given["concrete_modulus_mpa"])
    return linear_joint(given["joint_stiffness_knm_rad"] if kind == "linear" else 0.0)


def _bedding(mesh: Mesh, given: Values, pulls: bool) -> Bedding:
    from_crown = np.abs(np.mod(mesh.angle_rad + np.pi, 2 * np.pi) - np.pi)
    half = given["free_crown_half_angle_rad"]
    return Bedding(
        radial_kn_m3=given["bedding_kn_m3"],
        tangential_kn_m3=given["tangential_bedding_ratio"] * given["bedding_kn_m3"],
        # A node stands at the edge of the free part: the half of its arc that lies outside is bedded.
        bedded_share=np.where(from_crown > half + 1e-9, 1.0, np.where(from_crown < half - 1e-9, 0.0, 0.5)) if half > 0 else np.ones(mesh.node_count),
        pulls=pulls,
    )


def _solve(given: Values, pulls: bool, kind: JointKind, joints: FloatArray, angles: FloatArray) -> tuple[Any, ...]:
    """Return the results of one ring, NaN where there is no balance."""
    half = given["free_crown_half_angle_rad"]
    corners = [half, -half] if half > 0 else []
    mesh = meshed(np.concatenate([angles, corners]), joints)
    axial = 1000 * given["concrete_modulus_mpa"] * given["lining_thickness_m"]
    frame = ring_frame(mesh, given["centroid_radius_m"], axial, axial * given["lining_thickness_m"] ** 2 / 12)
    load = frame.load(*loads_at(mesh.angle_rad, given))
    law = joint_law(kind, given) if joints.size else linear_joint(0.0)
    found = settled([Loaded(frame=frame, load=load, bedding=_bedding(mesh, given, pulls), joint=law)])
    if found is None:
        return _nothing(joints, angles)
    at = mesh.node_at(angles)
    order = np.cumsum(mesh.is_joint)[mesh.node_at(joints)] - 1 if joints.size else np.empty(0, dtype=int)
    ring = found[0]
    return ring.hoop_force_kn_m[at], ring.moment_knm_m[at], ring.radial_m[at], ring.moment_knm_m.max(), ring.moment_knm_m.min(), ring.rotation_rad[order]


def _nothing(joints: FloatArray, angles: FloatArray) -> tuple[Any, ...]:
    empty = np.full(angles.size, np.nan)
    return empty, empty, empty, np.nan, np.nan, np.full(joints.size, np.nan)


def _has_joints(values: Values) -> bool:
    return values["joint_angles_rad"] is not None and bool(values["joint_angles_rad"].size)


def joints_stand_apart(angles: FloatArray | None) -> bool:
    """Return whether joints leave five degrees between them."""
    if angles is None or angles.size < 2:
        return True
    sorted_rad = np.sort(np.mod(np.ravel(angles), 2 * np.pi))
    return bool(np.diff(sorted_rad, append=sorted_rad[0] + 2 * np.pi).min() >= np.radians(5) - 1e-9)


def _moves_too_far(values: Values) -> FloatArray:
    return np.abs(values["radial_displacement_m"]) > 0.02 * np.asarray(values["centroid_radius_m"])[..., None]


def _hinges_hold(values: Values) -> FloatArray:
    return ~(values["moment_max_knm_m"] < values["moment_min_knm_m"])


@method(
    "lining.forces.bedded_ring",
    found_by={
        "hoop_force_kn_m": Algorithm(
            "frame of beams of one degree on springs, springs that would pull switched off, joints by Newton's rule, until nothing changes", "N_h"
        ),
        "moment_knm_m": Algorithm(
            "the same frame",
            "M_b",
            {"between its greatest and least": lambda v: ~(v["moment_knm_m"] > v["moment_max_knm_m"][..., None] + 1e-9)},
        ),
        "radial_displacement_m": Algorithm("the same frame", "u_r"),
        "moment_max_knm_m": Algorithm("greatest at any node of the same frame", "M_max", {"not below the least": _hinges_hold}),
        "moment_min_knm_m": Algorithm("least at any node of the same frame", "M_min"),
        "joint_rotation_rad": Algorithm("rotation of the beam behind the joint less that of the beam before it", "phi_j"),
    },
    possible={
        "vertical_soil_kpa": (-2000.0, 20000.0),
        "lateral_crown_kpa": (-2000.0, 20000.0),
        "lateral_gradient_kn_m3": (-50.0, 100.0),
        "water_crown_kpa": (-100.0, 5000.0),
        "tangential_bedding_ratio": (0.0, 1.0),
        "free_crown_half_angle_rad": (0.0, 3.1),
    },
    requires=(
        Require(
            "contact_height_m",
            lambda v: not _has_joints(v) or v["joint_law"] != "janssen" or v["contact_height_m"] is not None,
            "must be given for joints of this law",
        ),
        Require(
            "joint_stiffness_knm_rad",
            lambda v: not _has_joints(v) or v["joint_law"] != "linear" or v["joint_stiffness_knm_rad"] is not None,
            "must be given for linear joints",
        ),
        Require("joint_angles_rad", lambda v: joints_stand_apart(v["joint_angles_rad"]), "must stand at least five degrees apart"),
        Require(
            "contact_height_m",
            lambda v: v["contact_height_m"] is None or np.all(~(v["contact_height_m"] > v["lining_thickness_m"])),
            "must be at most lining_thickness_m",
        ),
    ),
    valid={"joint_rotation_rad": Range(-0.01, 0.01, "editable limit of joint rotation, from memory")},
    remarks=(
        Remark(
            lambda v: np.isnan(v["moment_max_knm_m"]),
            "no balance was found: a mechanism, a joint beyond its moment, or loads that nothing holds; take no force from this",
        ),
        Remark(_moves_too_far, "the ring moves by more than a fiftieth of its radius: a mechanism, or far too soft; these forces mean nothing"),
        Remark(lambda v: _has_joints(v) & np.any(v["hoop_force_kn_m"] <= 0), "the ring is pulled somewhere: joints there are hinges, bolts are not counted on"),
    ),
    kind="mean",
    source=BEDDED_RING,
)
def bedded_ring(
    centroid_radius_m: Number,
    lining_thickness_m: Number,
    concrete_modulus_mpa: Number,
    bedding_kn_m3: Number,
    clock_angle_rad: Series,
    radial_mean_kpa: Number = 0.0,
    radial_amplitude_kpa: Number = 0.0,
    tangential_amplitude_kpa: Number = 0.0,
    vertical_soil_kpa: Number = 0.0,
    lateral_crown_kpa: Number = 0.0,
    lateral_gradient_kn_m3: Number = 0.0,
    water_crown_kpa: Number | None = None,
    water_unit_weight_kn_m3: Number = 9.81,
    self_weight_kpa: Number = 0.0,
    joint_angles_rad: Series | None = None,
    joint_law: JointKind = "janssen",
    contact_height_m: Number | None = None,
    joint_stiffness_knm_rad: Number | None = None,
    tension_bedding: Switch = "off",
    tangential_bedding_ratio: Number = 0.0,
    free_crown_half_angle_rad: Number = 0.0,
) -> BeddedRing:
    """Return the forces of a ring with or without joints on springs of the ground.

    Parameters
    ----------
    centroid_radius_m : of the ring; loads act there.
    lining_thickness_m : of the ring.
    concrete_modulus_mpa : of the ring.
    bedding_kn_m3 : modulus of the radial springs.
    clock_angle_rad : where results are wanted.
    radial_mean_kpa, radial_amplitude_kpa : pressure, even part and two-wave part, inward at the crown.
    tangential_amplitude_kpa : two-wave load along the ring, clockwise in the first quarter.
    vertical_soil_kpa : on the horizontal projection, from above and from below alike.
    lateral_crown_kpa, lateral_gradient_kn_m3 : horizontal pressure at crown level and its growth with depth.
    water_crown_kpa, water_unit_weight_kn_m3 : radial water pressure at crown level and its growth with depth; no water when the first is left out.
    self_weight_kpa : per area of the middle surface.
    joint_angles_rad : of the radial joints; a uniform ring without.
    joint_law : ``janssen`` opens beyond the middle third, ``linear`` keeps its stiffness, ``hinge`` has none.
    contact_height_m : of the joints, for the law of Janssen.
    joint_stiffness_knm_rad : per length of tunnel, for linear joints.
    tension_bedding : ``on`` lets springs pull, for comparison with closed forms.
    tangential_bedding_ratio : of tangential to radial springs; they act where the radial ones do.
    free_crown_half_angle_rad : no bedding nearer to the crown than this; usual 45 deg under shallow cover.

    Notes
    -----
    Crown moments are greater than by closed forms, for only what moves outward is bedded. Loads of water and weight that do not balance each other
    are carried by the springs. Rotations come in the order of the joints given, opening inside positive.
    """
    given = locals().copy()
    numbers = [given[name] for name in _NUMBERS]
    joints = np.empty(0) if joint_angles_rad is None else joint_angles_rad

    def one(*parts: Any) -> tuple[Any, ...]:
        values, angles, joint_places = dict(zip(_NUMBERS, parts, strict=False)), parts[-2], parts[-1]
        numbers_known = not any(np.isnan(value) for name, value in values.items() if name not in _OPTIONAL)
        if not numbers_known or np.isnan(angles).any() or np.isnan(joint_places).any():
            return _nothing(joint_places, angles)
        return _solve(values, tension_bedding == "on", joint_law, joint_places, angles)

    hoop, moment, radial, largest, least, rotation = each_place(one, 6, numbers, [clock_angle_rad, joints])
    return BeddedRing(
        hoop_force_kn_m=hoop, moment_knm_m=moment, radial_displacement_m=radial, moment_max_knm_m=largest, moment_min_knm_m=least, joint_rotation_rad=rotation
    )
