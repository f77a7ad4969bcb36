"""What every push meets: the true ground over its face span, and what the annulus takes behind the tail."""

from dataclasses import dataclass

import numpy as np
from examples.brennholt.ground_truth import UNITS, Pocket, face_shares
from examples.brennholt.simulator.plan_table import PlanTable
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]
STATIONS_PER_SPAN = 5


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class GroundMet:
    """True values of the ground in the face, mean over the span of every push."""

    density_t_m3: Array
    advance_rate_mm_min: Array
    cutting_pressure_kpa: Array
    skin_friction_kpa: Array
    torque_knm: Array
    pressure_loss_kpa_h: Array


def ground_met(plan: PlanTable, push_count: int) -> GroundMet:
    """Return what the first pushes of a plan meet."""
    start, length = plan.face_start_chainage_m[:push_count], plan.ring_length_m[:push_count]
    stations = start[:, None] + length[:, None] * (np.arange(STATIONS_PER_SPAN) + 0.5) / STATIONS_PER_SPAN
    shares = face_shares(stations.ravel()).reshape(push_count, STATIONS_PER_SPAN, len(UNITS)).mean(axis=1)
    return GroundMet(**{name: shares @ np.array([getattr(unit, name) for unit in UNITS]) for name in GroundMet.__dataclass_fields__})


class Voids:
    """Hollows beside the bore that the tail grout finds: what was dug too much, and the pocket that was there before.

    Kept as a volume that grows along the chainage, so that any stretch's share is a difference of two readings.
    """

    def __init__(self, filled_share: float = 0.8, pocket: Pocket | None = None) -> None:
        self.filled_share = filled_share
        self._pocket = pocket
        self._chainage_m = np.array([0.0])
        self._volume_m3 = np.array([0.0])

    def dig(self, chainage_m: Array, volume_m3: Array) -> None:
        """Add the hollow left by one push: volume of every interval between these chainages of the face."""
        grown = self._volume_m3[-1] + np.concatenate([[0.0], np.cumsum(volume_m3)])
        self._chainage_m = np.concatenate([self._chainage_m, chainage_m])
        self._volume_m3 = np.concatenate([self._volume_m3, grown])

    def grout_m3(self, outlet_chainage_m: ArrayLike) -> Array:
        """Return the grout that has gone into hollows when the outlet stands at chainages."""
        outlet = np.asarray(outlet_chainage_m, dtype=float)
        dug = self.filled_share * np.interp(outlet, self._chainage_m, self._volume_m3)
        if self._pocket is None:
            return dug
        within_m = np.clip(outlet, self._pocket.start_chainage_m, self._pocket.end_chainage_m) - self._pocket.start_chainage_m
        return dug + self._pocket.extra_grout_m3_m * within_m
