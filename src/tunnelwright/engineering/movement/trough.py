"""The transverse settlement trough.

             offset, right positive
----------------- e ------------------>        ground surface
 `--.__        |          __.--'
       `-.__   |S_max __.-'                    settlement, positive down
            `--+---'
               |<- i ->|  point of inflection
"""

from dataclasses import dataclass

import numpy as np

from tunnelwright.engineering.movement.sources import PECK_1969
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Range, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SettlementTrough(Record):
    """Movement across the drive at one distance from the axis."""

    trough_volume_m3_m: FloatArray
    settlement_max_m: FloatArray
    settlement_m: FloatArray
    slope: FloatArray
    curvature_1_m: FloatArray
    horizontal_displacement_m: FloatArray
    tensile_strain: FloatArray


@method(
    "movement.trough.gaussian_peck_1969",
    formulas={
        "trough_volume_m3_m": Formula("V_s", "V_L * pi / 4 * D^2"),
        "settlement_max_m": Formula("S_max", "V_s / (sqrt(2 * pi) * i)"),
        "settlement_m": Formula("S", "S_max * exp(-(y - e)^2 / (2 * i^2))"),
        "slope": Formula("S'", "-S * (y - e) / i^2"),
        "curvature_1_m": Formula("S''", "S / i^2 * ((y - e)^2 / i^2 - 1)"),
        "horizontal_displacement_m": Formula("u_y", "-S * (y - e) / H"),
        "tensile_strain": Formula("epsilon_y", "S / H * ((y - e)^2 / i^2 - 1)"),
    },
    symbols={"volume_loss": "V_L", "excavation_diameter_m": "D", "trough_width_m": "i", "offset_m": "y", "trough_offset_m": "e", "focus_distance_m": "H"},
    valid={"volume_loss": Range(0.0, 0.05, "short term, one drive, level greenfield surface")},
    kind="mean",
    source=PECK_1969,
)
def gaussian_trough(
    volume_loss: Number,
    excavation_diameter_m: Number,
    trough_width_m: Number,
    offset_m: Number,
    trough_offset_m: Number = 0.0,
    focus_distance_m: Number | None = None,
) -> SettlementTrough:
    """Return the settlement across the drive, shaped as a normal curve, and what follows from it.

    Parameters
    ----------
    volume_loss : trough volume over bored volume.
    excavation_diameter_m : cut diameter, not the lining's.
    trough_width_m : distance from the trough's centre to its point of inflection at the level looked at.
    offset_m : distance from the tunnel axis, positive right looking in drive direction.
    trough_offset_m : centre of the trough right of the axis.
    focus_distance_m : depth below the level looked at of the point to which the ground moves; without it there are no horizontal results.

    Notes
    -----
    The displacement points to the focus, so its horizontal part is -S (y - e) / H: ground right of the centre moves left.
    """
    trough_volume_m3_m = volume_loss * np.pi / 4 * np.square(excavation_diameter_m)
    from_centre_m = np.subtract(offset_m, trough_offset_m)
    settlement_max_m = trough_volume_m3_m / (np.sqrt(2 * np.pi) * trough_width_m)
    settlement_m = settlement_max_m * np.exp(-0.5 * np.square(from_centre_m / trough_width_m))
    curvature_1_m = settlement_m / np.square(trough_width_m) * (np.square(from_centre_m / trough_width_m) - 1)
    focus_m = np.nan if focus_distance_m is None else focus_distance_m
    return SettlementTrough(
        trough_volume_m3_m=trough_volume_m3_m,
        settlement_max_m=settlement_max_m,
        settlement_m=settlement_m,
        slope=-settlement_m * from_centre_m / np.square(trough_width_m),
        curvature_1_m=curvature_1_m,
        horizontal_displacement_m=-settlement_m * from_centre_m / focus_m,
        tensile_strain=curvature_1_m * np.square(trough_width_m) / focus_m,
    )
