"""A beam with free ends on springs that the greenfield settlement drives: EI w'''' + k (w - S) = 0.

Cubic elements with four Gauss points each. The best straight line through S moves the beam without bending it, so only what is left of S
goes into the equations; a very stiff beam would lose digits otherwise. Where the beam lifts off, springs are taken out and its weight bends it.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy import linalg

from tunnelwright.engineering.assets.sources import BEAM_ON_SPRINGS
from tunnelwright.engineering.places import each_place
from tunnelwright.vocabulary.method import Algorithm, Remark, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Table, Values

_ROOT_2_PI: Final = np.sqrt(2 * np.pi)
_ELEMENTS: Final = 300
_GAUSS, _WEIGHT = np.polynomial.legendre.leggauss(4)
_PLACE: Final = (_GAUSS + 1) / 2
_SHARE: Final = _WEIGHT / 2
_MOST_ROUNDS: Final = 60
_LIFTED: Final = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Troughs(Table):
    """Normal troughs across which the asset lies; their settlements add up."""

    trough_volume_m3_m: FloatArray
    trough_width_m: FloatArray
    axis_offset_m: FloatArray

    def settlement_m(self, offset_m: FloatArray) -> FloatArray:
        """Return the greenfield settlement at places.

        Parameters
        ----------
        offset_m : places, any shape.
        """
        from_axis = (np.asarray(offset_m)[..., None] - self.axis_offset_m) / self.trough_width_m
        return np.asarray(np.sum(self.trough_volume_m3_m / (_ROOT_2_PI * self.trough_width_m) * np.exp(-0.5 * np.square(from_axis)), axis=-1))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SprungBeam(Record):
    """What a stiff building does on settling ground; ``gap_length_m`` is where it has lifted off, 0 when no load was given."""

    settlement_start_m: FloatArray
    settlement_end_m: FloatArray
    deflection_m: FloatArray
    deflection_ratio: FloatArray
    greenfield_deflection_m: FloatArray
    moment_max_knm: FloatArray
    moment_min_knm: FloatArray
    mean_settlement_m: FloatArray
    tilt: FloatArray
    gap_length_m: FloatArray


def _is_bent_less(values: Values) -> NDArray[np.bool_]:
    """Return whether a beam without gap is bent no more than the ground; a gap bends it by its own weight."""
    bent, ground = np.asarray(values["deflection_m"]), np.asarray(values["greenfield_deflection_m"])
    return np.asarray((bent <= ground * 1.5 + 1e-12) | (np.asarray(values["gap_length_m"]) > 0) | np.isnan(bent))


@method(
    "assets.building.beam_on_springs",
    found_by={
        "settlement_start_m": Algorithm("beam at its start", "w_1"),
        "settlement_end_m": Algorithm("beam at its end", "w_2"),
        "deflection_m": Algorithm("greatest distance of the beam from the chord through its ends", "Delta_w", {"not far above the ground's": _is_bent_less}),
        "deflection_ratio": Algorithm("deflection over length", "DR"),
        "greenfield_deflection_m": Algorithm("the same of the ground", "Delta_S"),
        "moment_max_knm": Algorithm("greatest EI w''"),
        "moment_min_knm": Algorithm("least EI w''"),
        "mean_settlement_m": Algorithm("mean of the ground, which a beam that nowhere lifts off keeps", "w_m"),
        "tilt": Algorithm("slope of the best straight line through the ground, which such a beam keeps", "omega_t"),
        "gap_length_m": Algorithm("length over which springs would have to pull more than the line load"),
    },
    possible={
        "bending_stiffness_knm2": (1e-6, 1e15),
        "spring_stiffness_kpa": (1e-3, 1e9),
        "line_load_kn_m": (0.0, 1e5),
    },
    requires=(
        Require("end_offset_m", lambda v: ~(v["end_offset_m"] <= v["start_offset_m"]), "must be more than start_offset_m"),
        Require("troughs", lambda v: v["troughs"].row_count >= 1, "must hold a row"),
    ),
    remarks=(
        Remark(lambda v: np.asarray(v["gap_length_m"]) > 0, "gap below the building: springs were taken out there"),
        Remark(lambda v: v["line_load_kn_m"] is None, "no line load given: whether a gap opens below the building was not checked"),
    ),
    kind="mean",
    source=BEAM_ON_SPRINGS,
)
def beam_on_springs(
    troughs: Troughs,
    start_offset_m: Number,
    end_offset_m: Number,
    bending_stiffness_knm2: Number,
    spring_stiffness_kpa: Number,
    line_load_kn_m: Number | None = None,
) -> SprungBeam:
    """Return how a stiff building smooths the settlement of the ground under it.

    Parameters
    ----------
    troughs : greenfield, added up.
    start_offset_m, end_offset_m : of the building across the drives.
    bending_stiffness_knm2 : EI of the building, for the same width as the springs.
    spring_stiffness_kpa : reaction per settlement and per length.
    line_load_kn_m : weight of the building per length, which closes gaps; without it springs may pull.

    Notes
    -----
    Moments are EI w'' with settlement down: hogging is positive. Never to let a wall on separate footings pass.
    """

    def at_place(*numbers: float) -> tuple[float, ...]:
        if not np.all(np.isfinite(numbers[:4])):
            return (np.nan,) * len(names)
        return _solved(troughs, *numbers)

    names = tuple(SprungBeam.__dataclass_fields__)
    numbers = [start_offset_m, end_offset_m, bending_stiffness_knm2, spring_stiffness_kpa, line_load_kn_m]
    return SprungBeam(**dict(zip(names, each_place(at_place, len(names), numbers), strict=True)))


def _shapes() -> tuple[FloatArray, FloatArray]:
    """Return the cubic shapes at the Gauss points of an element of length 1, and their second derivatives there; rows are points."""
    s = _PLACE
    value = [1 - 3 * s**2 + 2 * s**3, s - 2 * s**2 + s**3, 3 * s**2 - 2 * s**3, s**3 - s**2]
    bend = [-6 + 12 * s, -4 + 6 * s, 6 - 12 * s, 6 * s - 2]
    return np.stack(value, axis=1), np.stack(bend, axis=1)


_VALUE, _BEND = _shapes()


def _solved(troughs: Troughs, start_m: float, end_m: float, stiffness: float, spring: float, load: float) -> tuple[float, ...]:
    """Return the results of one beam; a load that is NaN was not given."""
    length_m = end_m - start_m
    step = length_m / _ELEMENTS
    nodes_m = np.linspace(start_m, end_m, _ELEMENTS + 1)
    points_m = nodes_m[:-1, None] + step * _PLACE
    ground = troughs.settlement_m(points_m)
    mean = float(np.sum(ground * _SHARE) / _ELEMENTS)
    from_middle = points_m - (start_m + end_m) / 2
    tilt = float(np.sum(ground * from_middle * _SHARE) / np.sum(np.square(from_middle) * _SHARE))
    left = ground - mean - tilt * from_middle
    beam = _Beam(step=step, stiffness=stiffness, spring=spring, left=left)
    moved, holds = beam.settled(load)
    at_nodes = moved[::2] + mean + tilt * (nodes_m - (start_m + end_m) / 2)
    moment = np.append(stiffness * beam.bend(moved), 0.0)
    share = (nodes_m - start_m) / length_m
    deflection = float(np.max(np.abs(at_nodes - at_nodes[0] - share * (at_nodes[-1] - at_nodes[0]))))
    free = troughs.settlement_m(nodes_m)
    free_deflection = float(np.max(np.abs(free - free[0] - share * (free[-1] - free[0]))))
    gap_m = float(np.sum(~holds * _SHARE) * step)
    ends = float(at_nodes[0]), float(at_nodes[-1])
    return *ends, deflection, deflection / length_m, free_deflection, float(np.max(moment)), float(np.min(moment)), mean, tilt, gap_m


@dataclass(frozen=True, slots=True, kw_only=True)
class _Beam:
    """Equations of one beam; ``left`` is the settlement less its best straight line at the Gauss points."""

    step: float
    stiffness: float
    spring: float
    left: FloatArray

    def settled(self, load: float) -> tuple[FloatArray, NDArray[np.bool_]]:
        """Return nodal movement and slope times step, and where the springs hold."""
        holds = np.ones(self.left.shape, dtype=np.bool_)
        moved = self._solve(holds, load)
        if np.isnan(load):
            return moved, holds
        for _ in range(_MOST_ROUNDS):
            # A spring may not pull more than the weight that presses it: k (S - w) < q.
            pull = self.spring * (self.left - self._at_points(moved))
            now = pull <= load + _LIFTED * (load + float(np.max(np.abs(pull))))
            if np.array_equal(now, holds) or not now.any():
                break
            holds = now
            moved = self._solve(holds, load)
        return moved, holds

    def _at_points(self, moved: FloatArray) -> FloatArray:
        return self._of_elements(moved) @ _VALUE.T

    def bend(self, moved: FloatArray) -> FloatArray:
        """Return the curvature at the Gauss points, flat.

        Parameters
        ----------
        moved : nodal movement and slope times step.
        """
        return np.asarray(self._of_elements(moved) @ _BEND.T / self.step**2).reshape(-1)

    @staticmethod
    def _of_elements(moved: FloatArray) -> FloatArray:
        nodes = moved.reshape(-1, 2)
        return np.concatenate([nodes[:-1], nodes[1:]], axis=1)

    def _solve(self, holds: NDArray[np.bool_], load: float) -> FloatArray:
        bending = self.stiffness / self.step**3 * np.einsum("pi,pj,p->ij", _BEND, _BEND, _SHARE)
        springs = self.spring * self.step * np.einsum("pi,pj,ep->eij", _VALUE, _VALUE, holds * _SHARE)
        pushed = np.where(holds, self.spring * self.left, 0.0 if np.isnan(load) else load)
        force = self.step * np.einsum("pi,ep->ei", _VALUE, pushed * _SHARE)
        size = 2 * (len(self.left) + 1)
        band, right = np.zeros((4, size)), np.zeros(size)
        first = 2 * np.arange(len(self.left))
        for row in range(4):
            right += np.bincount(first + row, weights=force[:, row], minlength=size)
            for column in range(row + 1):
                # Lower band: entry (row, column) stands row - column below the diagonal.
                band[row - column] += np.bincount(first + column, weights=bending[row, column] + springs[:, row, column], minlength=size)
        return np.asarray(linalg.solveh_banded(band, right, lower=True))
