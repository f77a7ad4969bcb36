"""Balance of frames on springs that may only push and joints that soften.

Springs are switched by the sign of the radial displacement and joints are replaced by their tangent, both anew after each solution, until nothing
changes. Newton's rule on a softening joint comes from the stiff side and does not swing, which a fixed point on secants does near the limit.
"""

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from typing import Final, TypeAlias

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.sparse import linalg

from tunnelwright.engineering.lining.frame import RingFrame
from tunnelwright.vocabulary.types import FloatArray

_ROUNDS_MAX: Final = 80
_SETTLED_RAD: Final = 1e-9
_SETTLED_SHARE: Final = 1e-9
# A hinge keeps a trace of stiffness, so that its rotation has a value.
_HINGE_TRACE: Final = 1e-9

JointLaw: TypeAlias = Callable[[FloatArray, FloatArray], tuple[FloatArray, FloatArray]]


def linear_joint(stiffness_knm_rad: float) -> JointLaw:
    """Return a joint whose moment grows with its rotation; 0 for a hinge."""
    return lambda rotation, _: (stiffness_knm_rad * rotation, np.full_like(rotation, stiffness_knm_rad))


def opening_joint(contact_height_m: float, modulus_kpa: float) -> JointLaw:
    """Return a joint that opens once the resultant leaves the middle third of its contact."""
    whole = modulus_kpa * contact_height_m**2 / 12

    def law(rotation: FloatArray, hoop_force: FloatArray) -> tuple[FloatArray, FloatArray]:
        force = np.maximum(hoop_force, 0.0)
        size = np.abs(rotation)
        is_open = size > 2 * force / (modulus_kpa * contact_height_m)
        share = np.sqrt(8 * force / (9 * modulus_kpa * contact_height_m * np.where(is_open, size, 1.0)))
        moment = np.where(is_open, np.sign(rotation) * force * contact_height_m / 2 * (1 - share), whole * rotation)
        tangent = np.where(is_open, force * contact_height_m / 4 * share / np.where(is_open, size, 1.0), whole)
        return moment, tangent

    return law


@dataclass(frozen=True, slots=True, kw_only=True)
class Bedding:
    """Springs of the ground on each node of a ring.

    Parameters
    ----------
    radial_kn_m3, tangential_kn_m3 : moduli; the tangential spring acts where the radial one does.
    bedded_share : share of each node's arc that has springs at all.
    pulls : whether springs hold inward movement too.
    """

    radial_kn_m3: float
    tangential_kn_m3: float
    bedded_share: FloatArray
    pulls: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Loaded:
    """A ring with what acts on it."""

    frame: RingFrame
    load: FloatArray
    bedding: Bedding
    joint: JointLaw


@dataclass(frozen=True, slots=True)
class Balance:
    """Displacements and forces of a ring at its nodes, and the rotations of its joints in the order of the nodes."""

    radial_m: FloatArray
    hoop_force_kn_m: FloatArray
    moment_knm_m: FloatArray
    rotation_rad: FloatArray


class _State:
    """What may still change of one ring: springs in contact, joint rotations and hoop forces at the joints."""

    def __init__(self, ring: Loaded) -> None:
        self.ring = ring
        mesh = ring.frame.mesh
        self.nodes = 3 * np.arange(mesh.node_count)
        self.before, self.behind = mesh.rotation_before[mesh.is_joint], mesh.rotation_behind[mesh.is_joint]
        self.touching: NDArray[np.bool_] = ring.bedding.bedded_share > 0
        self.rotation = np.zeros(self.before.size)
        self.hoop = np.zeros(self.before.size)

    def entries(self) -> tuple[FloatArray, NDArray[np.intp], NDArray[np.intp], FloatArray]:
        """Return values, rows and columns of the stiffness, and the load."""
        frame, bedding = self.ring.frame, self.ring.bedding
        arc_m = frame.radius_m * frame.mesh.tributary_rad * bedding.bedded_share * self.touching
        moment, tangent = self.ring.joint(self.rotation, self.hoop)
        tangent = tangent + _HINGE_TRACE * float(frame.stiffness[0, 2, 2])
        left_over = moment - tangent * self.rotation
        rows = np.concatenate([frame.rows, self.nodes, self.nodes + 1, self.before, self.behind, self.before, self.behind])
        columns = np.concatenate([frame.columns, self.nodes, self.nodes + 1, self.before, self.behind, self.behind, self.before])
        springs = [bedding.radial_kn_m3 * arc_m, bedding.tangential_kn_m3 * arc_m]
        values = np.concatenate([frame.values, *springs, tangent, tangent, -tangent, -tangent])
        load = self.ring.load.copy()
        load[self.before] += left_over
        load[self.behind] -= left_over
        return values, rows, columns, load

    def update(self, displacement: FloatArray) -> bool:
        """Take over a solution; return whether nothing changed any more."""
        bedding, frame = self.ring.bedding, self.ring.frame
        touching = (bedding.bedded_share > 0) & (bedding.pulls | (displacement[self.nodes] > 0))
        rotation = displacement[self.behind] - displacement[self.before]
        hoop = frame.forces(displacement)[0][frame.mesh.is_joint]
        is_settled = bool(
            np.array_equal(touching, self.touching)
            and np.all(np.abs(rotation - self.rotation) <= _SETTLED_RAD)
            and np.all(np.abs(hoop - self.hoop) <= _SETTLED_SHARE * (1 + np.abs(hoop)))
        )
        self.touching, self.rotation, self.hoop = touching, rotation, hoop
        return is_settled

    def balance(self, displacement: FloatArray) -> Balance:
        hoop, moment = self.ring.frame.forces(displacement)
        return Balance(displacement[self.nodes], hoop, moment, self.rotation)


def settled(rings: list[Loaded], coupling_kn_m3: float = 0.0) -> list[Balance] | None:
    """Return the balance of rings, None where none was found.

    Parameters
    ----------
    rings : one ring, or two on the same mesh.
    coupling_kn_m3 : radial and tangential, between nodes of the two rings.
    """
    states = [_State(ring) for ring in rings]
    offsets = np.cumsum([0, *(ring.frame.mesh.freedom_count for ring in rings)])
    for _ in range(_ROUNDS_MAX):
        parts = [state.entries() for state in states]
        values = [part[0] for part in parts]
        rows = [part[1] + offset for part, offset in zip(parts, offsets, strict=False)]
        columns = [part[2] + offset for part, offset in zip(parts, offsets, strict=False)]
        if len(rings) == 2:
            first, second, tied = _tied(rings[0].frame, int(offsets[1]), coupling_kn_m3)
            values += [tied, tied, -tied, -tied]
            rows += [first, second, first, second]
            columns += [first, second, second, first]
        matrix = sparse.csc_matrix((np.concatenate(values), (np.concatenate(rows), np.concatenate(columns))), shape=(offsets[-1], offsets[-1]))
        displacement = _solved(matrix, np.concatenate([part[3] for part in parts]))
        if displacement is None:
            return None
        pieces = [displacement[start:end] for start, end in pairwise(offsets)]
        if all([state.update(piece) for state, piece in zip(states, pieces, strict=True)]):
            return [state.balance(piece) for state, piece in zip(states, pieces, strict=True)]
    return None


def _tied(frame: RingFrame, offset: int, coupling_kn_m3: float) -> tuple[NDArray[np.intp], NDArray[np.intp], FloatArray]:
    nodes = 3 * np.arange(frame.mesh.node_count)
    first = np.concatenate([nodes, nodes + 1])
    return first, first + offset, np.tile(coupling_kn_m3 * frame.radius_m * frame.mesh.tributary_rad, 2)


def _solved(matrix: sparse.csc_matrix, load: FloatArray) -> FloatArray | None:
    """Return the displacements, None for a mechanism."""
    try:
        found = linalg.splu(matrix, permc_spec="COLAMD").solve(load)
    except RuntimeError:
        return None
    return np.asarray(found) if np.all(np.isfinite(found)) else None
