"""Two neighbouring rings with staggered joints that help each other."""

from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from tunnelwright.engineering.lining.bedded import Switch, joints_stand_apart
from tunnelwright.engineering.lining.frame import Mesh, meshed, ring_frame
from tunnelwright.engineering.lining.settle import Bedding, Loaded, linear_joint, settled
from tunnelwright.engineering.lining.sources import BEDDED_RING
from tunnelwright.engineering.places import each_place
from tunnelwright.vocabulary.method import Algorithm, Remark, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Series, Values

_NAMES: Final = (
    "centroid_radius_m",
    "lining_thickness_m",
    "concrete_modulus_mpa",
    "bedding_kn_m3",
    "radial_mean_kpa",
    "radial_amplitude_kpa",
    "tangential_amplitude_kpa",
    "joint_stiffness_knm_rad",
    "coupling_kn_m3",
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CoupledRings(Record):
    """Moments and displacements of two coupled rings."""

    moment_a_knm_m: Series
    moment_b_knm_m: Series
    radial_displacement_a_m: Series
    radial_displacement_b_m: Series


def _loaded(mesh: Mesh, given: Values, pulls: bool) -> Loaded:
    axial = 1000 * given["concrete_modulus_mpa"] * given["lining_thickness_m"]
    frame = ring_frame(mesh, given["centroid_radius_m"], axial, axial * given["lining_thickness_m"] ** 2 / 12)
    two_waves = given["radial_amplitude_kpa"] * np.cos(2 * mesh.angle_rad)
    load = frame.load(given["radial_mean_kpa"] + two_waves, given["tangential_amplitude_kpa"] * np.sin(2 * mesh.angle_rad))
    bedding = Bedding(radial_kn_m3=given["bedding_kn_m3"], tangential_kn_m3=0.0, bedded_share=np.ones(mesh.node_count), pulls=pulls)
    return Loaded(frame=frame, load=load, bedding=bedding, joint=linear_joint(given["joint_stiffness_knm_rad"]))


def _solve(given: Values, pulls: bool, joints_a: FloatArray, joints_b: FloatArray, angles: FloatArray) -> tuple[FloatArray, ...]:
    # Both rings have nodes at the same places, so that coupling ties node to node.
    mesh_a = meshed(np.concatenate([angles, joints_b]), joints_a)
    mesh_b = meshed(np.concatenate([angles, joints_a]), joints_b)
    found = settled([_loaded(mesh_a, given, pulls), _loaded(mesh_b, given, pulls)], given["coupling_kn_m3"])
    if found is None:
        return (np.full(angles.size, np.nan),) * 4
    at = mesh_a.node_at(angles)
    first, second = found
    return first.moment_knm_m[at], second.moment_knm_m[at], first.radial_m[at], second.radial_m[at]


@method(
    "lining.forces.coupled_rings",
    found_by={
        "moment_a_knm_m": Algorithm("two frames of beams on springs, joints of each at its own places, tied node to node by the coupling", "M_a"),
        "moment_b_knm_m": Algorithm("the same frames, ring B", "M_b2"),
        "radial_displacement_a_m": Algorithm("the same frames, ring A, outward positive", "u_a"),
        "radial_displacement_b_m": Algorithm("the same frames, ring B, outward positive", "u_b"),
    },
    possible={"coupling_kn_m3": (0.0, 1e12), "joint_angles_a_rad": (-6.2832, 6.2832), "joint_angles_b_rad": (-6.2832, 6.2832)},
    requires=(
        Require("joint_angles_a_rad", lambda v: joints_stand_apart(v["joint_angles_a_rad"]), "must stand at least five degrees apart"),
        Require("joint_angles_b_rad", lambda v: joints_stand_apart(v["joint_angles_b_rad"]), "must stand at least five degrees apart"),
    ),
    remarks=(Remark(lambda v: np.isnan(v["moment_a_knm_m"]), "no balance was found: take no force from this"),),
    kind="mean",
    source=BEDDED_RING,
    # The stiffness of joints counts per metre of tunnel, its unit is that of one joint.
    dimensional=True,
)
def coupled_rings(
    centroid_radius_m: Number,
    lining_thickness_m: Number,
    concrete_modulus_mpa: Number,
    bedding_kn_m3: Number,
    radial_mean_kpa: Number,
    radial_amplitude_kpa: Number,
    tangential_amplitude_kpa: Number,
    joint_angles_a_rad: Series,
    joint_angles_b_rad: Series,
    joint_stiffness_knm_rad: Number,
    coupling_kn_m3: Number,
    clock_angle_rad: Series,
    tension_bedding: Switch = "off",
) -> CoupledRings:
    """Return the moments of two neighbouring rings whose joints stand at different places and which are tied to each other.

    Parameters
    ----------
    centroid_radius_m : of the rings.
    lining_thickness_m : of the rings.
    concrete_modulus_mpa : of the rings.
    bedding_kn_m3 : modulus of the radial springs.
    radial_mean_kpa, radial_amplitude_kpa : pressure, even part and two-wave part, inward at the crown.
    tangential_amplitude_kpa : two-wave load along the ring, clockwise in the first quarter.
    joint_angles_a_rad, joint_angles_b_rad : radial joints of the two rings.
    joint_stiffness_knm_rad : per length of tunnel.
    coupling_kn_m3 : force between the rings per displacement, radial and tangential, spread round the ring, per length of tunnel.
    clock_angle_rad : where results are wanted.
    tension_bedding : ``on`` lets springs pull, for comparison with closed forms.

    Notes
    -----
    Check the coupling force against dowels and the friction of packing under the rams' remaining force.
    """
    given = locals().copy()

    def one(*parts: Any) -> tuple[FloatArray, ...]:
        values, (joints_a, joints_b, angles) = dict(zip(_NAMES, parts, strict=False)), parts[-3:]
        if any(np.isnan(one).any() for one in (*values.values(), joints_a, joints_b, angles)):
            return (np.full(angles.size, np.nan),) * 4
        return _solve(values, tension_bedding == "on", joints_a, joints_b, angles)

    lists = [joint_angles_a_rad, joint_angles_b_rad, clock_angle_rad]
    first, second, radial_a, radial_b = each_place(one, 4, [given[name] for name in _NAMES], lists)
    return CoupledRings(moment_a_knm_m=first, moment_b_knm_m=second, radial_displacement_a_m=radial_a, radial_displacement_b_m=radial_b)
