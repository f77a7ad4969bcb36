"""What the ring engine must know of drive and machine to make rings of a log."""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PushLimits:
    """Limits of the pressure at the crown, one entry per push, in the order of the context's ring numbers."""

    hard_lower_crown_kpa: FloatArray
    operating_lower_crown_kpa: FloatArray
    operating_upper_crown_kpa: FloatArray
    hard_upper_crown_kpa: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True)
class Thresholds:
    """When something is called doubtful; editable defaults of practice.

    Parameters
    ----------
    drift_kpa, drift_rings : a chamber sensor this far from the line through the others for so many rings drifts.
    frozen_range_kpa : a sensor that stays within this while advancing is dead.
    disagree_ratio : integral of a rate against its counter.
    weigher_ratio, weigher_rings : difference of two weighers over the last rings.
    stroke_share : of the ring length by which the stroke may differ.
    full_coverage, fair_coverage : shares that grades A and B need.
    flag_share : share of doubtful samples above which the aggregate is flagged.
    """

    drift_kpa: float = 15.0
    drift_rings: int = 3
    frozen_range_kpa: float = 0.1
    disagree_ratio: float = 0.02
    weigher_ratio: float = 0.03
    weigher_rings: int = 10
    stroke_share: float = 0.05
    full_coverage: float = 0.95
    fair_coverage: float = 0.80
    flag_share: float = 0.01


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RecordContext:
    """Drive and machine as the record needs them.

    Parameters
    ----------
    ring_length_m : mean length that a push extends the rams.
    first_ring_number : of the first ring in the log, where nobody keyed a number.
    ring_numbers, chainage_m : rings of the drive and their front edges.
    start_chainage_m : front edge of the ring before the first of ``ring_numbers``.
    face_offset_m : from a ring's front edge to the face at the end of its push.
    sensor_depth_m : depth below the crown of the bore by mark of the sensor; ``sensor_side`` tells left from right.
    axis_depth_m : depth of the axis below the crown, half the bore.
    limits : of every push, none without a plan.
    weigher_distance_m : along the belt from the screw to the weigher, by mark.
    grout_ports : marks, for ports without a single reading.
    rest_extension_m, high_thrust_kn : given here they take the place of the estimated constants.
    """

    ring_length_m: float
    first_ring_number: int = 1
    ring_numbers: FloatArray = field(default_factory=lambda: np.empty(0))
    chainage_m: FloatArray = field(default_factory=lambda: np.empty(0))
    start_chainage_m: float = 0.0
    face_offset_m: float = 0.0
    sensor_depth_m: Mapping[str, float] = field(default_factory=dict)
    sensor_side: Mapping[str, str] = field(default_factory=dict)
    axis_depth_m: float = float("nan")
    limits: PushLimits | None = None
    weigher_distance_m: Mapping[str, float] = field(default_factory=dict)
    grout_ports: tuple[str, ...] = ()
    thresholds: Thresholds = Thresholds()
    rest_extension_m: float | None = None
    high_thrust_kn: float | None = None

    def place_of(self, ring_number: FloatArray) -> NDArray[np.intp]:
        """Return the place of rings in the arrays of the context, -1 for rings it does not know."""
        if not len(self.ring_numbers):
            return np.full(len(ring_number), -1)
        place = np.clip(np.searchsorted(self.ring_numbers, ring_number), 0, len(self.ring_numbers) - 1)
        return np.where(self.ring_numbers[place] == ring_number, place, -1)
