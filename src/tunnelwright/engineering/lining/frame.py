"""A ring as a frame of straight beams between nodes on the circle.

Each node has a radial displacement u (outward), a tangential one v (clockwise) and a rotation; at a joint it has two rotations, of the beam before and
of the beam behind, and a spring between them. Beams carry hoop force N (compression positive) and moment M (positive with tension inside).
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from tunnelwright.vocabulary.types import FloatArray

# Longest beam: one degree keeps moments within 0.1 per mille of the smooth ring.
_LONGEST_BEAM_RAD: Final = np.radians(1.0)
# Places closer than this share a node.
_SAME_PLACE_RAD: Final = 1e-6
# Tangential stiffness per node, as a share of EA, that holds the ring against turning as a whole.
_AGAINST_TURNING: Final = 1e-8


@dataclass(frozen=True, slots=True)
class Mesh:
    """Nodes round the ring and their degrees of freedom.

    Parameters
    ----------
    angle_rad : of the nodes, from the crown, clockwise.
    is_joint : which nodes are joints.
    """

    angle_rad: FloatArray
    is_joint: NDArray[np.bool_]

    @property
    def node_count(self) -> int:
        """Return the number of nodes."""
        return int(self.angle_rad.size)

    @property
    def freedom_count(self) -> int:
        """Return the number of degrees of freedom."""
        return 3 * self.node_count + int(self.is_joint.sum())

    @property
    def beam_angle_rad(self) -> FloatArray:
        """Return the angle from each node to the next."""
        return np.diff(self.angle_rad, append=self.angle_rad[0] + 2 * np.pi)

    @property
    def tributary_rad(self) -> FloatArray:
        """Return the angle for which each node stands."""
        after = self.beam_angle_rad
        return (after + np.roll(after, 1)) / 2

    @property
    def rotation_before(self) -> NDArray[np.intp]:
        """Return the rotation of the beam that ends at each node."""
        return 3 * np.arange(self.node_count) + 2

    @property
    def rotation_behind(self) -> NDArray[np.intp]:
        """Return the rotation of the beam that begins at each node."""
        return np.where(self.is_joint, 3 * self.node_count + np.cumsum(self.is_joint) - 1, self.rotation_before)

    def node_at(self, clock_angle_rad: FloatArray) -> NDArray[np.intp]:
        """Return the nearest node of each clock angle."""
        off = np.abs(np.mod(clock_angle_rad[:, None] - self.angle_rad + np.pi, 2 * np.pi) - np.pi)
        return np.argmin(off, axis=1)


def meshed(places_rad: FloatArray, joints_rad: FloatArray) -> Mesh:
    """Return a mesh with a node exactly at every place and joint and beams of one degree at most between them."""
    wanted = np.mod(np.concatenate([joints_rad, places_rad, [0.0]]), 2 * np.pi)
    wanted = np.where(2 * np.pi - wanted < _SAME_PLACE_RAD, 0.0, wanted)
    fixed: list[float] = []
    for place in wanted:
        if not any(abs(place - one) < _SAME_PLACE_RAD for one in fixed):
            fixed.append(float(place))
    corners = np.sort(fixed)
    ends = np.append(corners[1:], corners[0] + 2 * np.pi)
    counts = np.ceil((ends - corners) / _LONGEST_BEAM_RAD - 1e-9).astype(int)
    angle = np.concatenate([np.linspace(start, end, count, endpoint=False) for start, end, count in zip(corners, ends, counts, strict=True)])
    mesh = Mesh(angle, np.zeros(angle.size, dtype=bool))
    is_joint = np.zeros(angle.size, dtype=bool)
    if joints_rad.size:
        is_joint[mesh.node_at(joints_rad)] = True
    return Mesh(angle, is_joint)


def _turned(beam_angle_rad: FloatArray) -> FloatArray:
    """Return for each beam the matrix from node displacements (u, v, rotation at both ends) to displacements along and across the chord."""
    sine, cosine = np.sin(beam_angle_rad / 2), np.cos(beam_angle_rad / 2)
    turn = np.zeros((beam_angle_rad.size, 6, 6))
    turn[:, 0, 0], turn[:, 0, 1] = -sine, cosine
    turn[:, 1, 0], turn[:, 1, 1] = cosine, sine
    turn[:, 3, 3], turn[:, 3, 4] = sine, cosine
    turn[:, 4, 3], turn[:, 4, 4] = cosine, -sine
    turn[:, 2, 2] = turn[:, 5, 5] = 1.0
    return turn


def _beam_stiffness(length_m: FloatArray, axial_kn_m: float, bending_knm2_m: float) -> FloatArray:
    """Return the stiffness of straight beams along and across their chords."""
    along, bend = axial_kn_m / length_m, bending_knm2_m / length_m**3
    local = np.zeros((length_m.size, 6, 6))
    local[:, 0, 0] = local[:, 3, 3] = along
    local[:, 0, 3] = local[:, 3, 0] = -along
    rows = ((12, 6, -12, 6), (6, 4, -6, 2), (-12, -6, 12, -6), (6, 2, -6, 4))
    places, powers = (1, 2, 4, 5), (0, 1, 0, 1)
    for row, values in enumerate(rows):
        for column, value in enumerate(values):
            local[:, places[row], places[column]] = value * bend * length_m ** (powers[row] + powers[column])
    return local


@dataclass(frozen=True, slots=True)
class RingFrame:
    """A ring's frame: mesh, beams, and the stiffness that does not change while springs and joints settle."""

    mesh: Mesh
    radius_m: float
    stiffness: FloatArray
    turn: FloatArray
    rows: NDArray[np.intp]
    columns: NDArray[np.intp]
    values: FloatArray
    freedoms: NDArray[np.intp]

    def forces(self, displacement: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return hoop force and moment at the nodes."""
        ends = np.einsum("bij,bjk,bk->bi", self.stiffness, self.turn, displacement[self.freedoms])
        # Pressed at its first end means pushed along; the second end of the beam before is pulled the other way.
        hoop = (ends[:, 0] - np.roll(ends[:, 3], 1)) / 2
        return hoop, (np.roll(ends[:, 5], 1) - ends[:, 2]) / 2

    def load(self, radial_kpa: FloatArray, tangential_kpa: FloatArray) -> FloatArray:
        """Return nodal forces of a pressure (inward positive) and a tangential load (clockwise positive) given at the nodes."""
        force = np.zeros(self.mesh.freedom_count)
        arc_m = self.radius_m * self.mesh.tributary_rad
        nodes = 3 * np.arange(self.mesh.node_count)
        force[nodes], force[nodes + 1] = -radial_kpa * arc_m, tangential_kpa * arc_m
        return force


def ring_frame(mesh: Mesh, radius_m: float, axial_kn_m: float, bending_knm2_m: float) -> RingFrame:
    """Return the frame of a ring."""
    beam = mesh.beam_angle_rad
    local = _beam_stiffness(2 * radius_m * np.sin(beam / 2), axial_kn_m, bending_knm2_m)
    turn = _turned(beam)
    whole = np.einsum("bji,bjk,bkl->bil", turn, local, turn)
    first = 3 * np.arange(mesh.node_count)
    second = np.roll(first, -1)
    freedoms = np.stack([first, first + 1, mesh.rotation_behind, second, second + 1, np.roll(mesh.rotation_before, -1)], axis=1)
    rows, columns = np.repeat(freedoms, 6, axis=1).ravel(), np.tile(freedoms, (1, 6)).ravel()
    held = first + 1
    against_turning = np.full(mesh.node_count, _AGAINST_TURNING * axial_kn_m)
    return RingFrame(
        mesh=mesh,
        radius_m=radius_m,
        stiffness=local,
        turn=turn,
        rows=np.concatenate([rows, held]),
        columns=np.concatenate([columns, held]),
        values=np.concatenate([whole.ravel(), against_turning]),
        freedoms=freedoms,
    )
