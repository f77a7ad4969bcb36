"""Water on the face: force on a circle, wholly or partly below the water level."""

from dataclasses import dataclass

import numpy as np

from tunnelwright.engineering.face.declared import POSSIBLE, SYMBOLS
from tunnelwright.engineering.face.sources import WATER_ON_CIRCLE
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import method
from tunnelwright.vocabulary.types import FloatArray, Number, Record

_SHARE = "max(-1, min(1, 2 * (z_w - z_a) / D))"


def wetted_segment_m2(radius_m: FloatArray, level_below_axis_m: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return area [m2] and first moment about its level [m3] of the part of a circle below a level."""
    share = np.clip(level_below_axis_m / radius_m, -1.0, 1.0)
    chord = np.sqrt(1 - np.square(share))
    area_m2 = np.square(radius_m) * (np.arccos(share) - share * chord)
    return area_m2, 2 / 3 * (radius_m * chord) ** 3 - level_below_axis_m * area_m2


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WaterForce(Record):
    """Water on the face in a state of rest."""

    wetted_area_m2: FloatArray
    water_force_kn: FloatArray
    mean_pore_pressure_kpa: FloatArray


@method(
    "face.water_force.circle",
    formulas={
        "wetted_area_m2": Formula("A_s", f"D^2 / 4 * (acos({_SHARE}) - {_SHARE} * sqrt(1 - {_SHARE}^2))"),
        "water_force_kn": Formula("W", f"gamma_w * (2 / 3 * (D / 2 * sqrt(1 - {_SHARE}^2))^3 - (z_w - z_a) * A_s)"),
        "mean_pore_pressure_kpa": Formula("u_mean", "W / (pi / 4 * D^2)"),
    },
    symbols=SYMBOLS,
    possible=POSSIBLE | {"axis_depth_m": (0.1, 1000.0), "water_table_depth_m": (-500.0, 1000.0)},
    kind="identity",
    source=WATER_ON_CIRCLE,
)
def water_force(excavation_diameter_m: Number, axis_depth_m: Number, water_table_depth_m: Number, water_unit_weight_kn_m3: Number = 9.81) -> WaterForce:
    """Return the force of water at rest on a circular face, and the mean pressure over the whole face.

    Parameters
    ----------
    excavation_diameter_m : over the cutters.
    axis_depth_m : of the axis below ground or bed.
    water_table_depth_m : below ground or bed; negative where the piezometric level stands above it.
    water_unit_weight_kn_m3 : one for the whole project.

    Notes
    -----
    A confined aquifer is not hydrostatic from the surface; give its own piezometric level, or integrate the pressure over chords.
    """
    diameter_m, below_axis_m = np.asarray(excavation_diameter_m, dtype=np.float64), np.subtract(water_table_depth_m, axis_depth_m)
    area_m2, moment_m3 = wetted_segment_m2(diameter_m / 2, below_axis_m)
    force_kn = water_unit_weight_kn_m3 * moment_m3
    return WaterForce(wetted_area_m2=area_m2, water_force_kn=force_kn, mean_pore_pressure_kpa=force_kn / (np.pi / 4 * np.square(diameter_m)))
