"""Forces of a disc cutter in intact rock, and the penetration that a force gives."""

from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from tunnelwright.engineering.machine.sources import CSM
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Range, Remark, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Values

BASE_PRESSURE_COEFFICIENT: Final = 2.12
LEAST_PENETRATION_MM: Final = 0.05
GREATEST_PENETRATION_MM: Final = 40.0
HALVINGS: Final = 60
N_PER_KN: Final = 1000.0
_SYMBOLS: Final = {"disc_radius_mm": "R_disc", "tip_width_mm": "t_tip", "spacing_mm": "s_d"}
_ROCK: Final = Range(20.0, 400.0, "intact rock; joints raise the penetration, soft rock breaks otherwise")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DiscForce(Record):
    """Contact of a disc with the rock and its forces."""

    contact_angle_rad: FloatArray
    base_pressure_mpa: FloatArray
    total_force_kn: FloatArray
    normal_force_kn: FloatArray
    rolling_force_kn: FloatArray


@method(
    "machine.disc_force.csm_rostami_1997",
    formulas={
        "contact_angle_rad": Formula("phi_c", "acos((R_disc - p_rev) / R_disc)"),
        "base_pressure_mpa": Formula("P_0", "2.12 * (sigma_c^2 * sigma_t * s_d / (phi_c * sqrt(R_disc * t_tip)))^(1/3)"),
        "total_force_kn": Formula("F_disc", "P_0 * t_tip * R_disc * phi_c / 1000"),
        "normal_force_kn": Formula("F_n", "F_disc * cos(phi_c / 2)"),
        "rolling_force_kn": Formula("F_r", "F_disc * sin(phi_c / 2)"),
    },
    symbols=_SYMBOLS,
    valid={"compressive_strength_mpa": _ROCK, "penetration_mm_rev": Range(0.5, 20.0, "range of cutting tests")},
    kind="mean",
    source=CSM,
)
def disc_force(
    disc_radius_mm: Number,
    tip_width_mm: Number,
    penetration_mm_rev: Number,
    compressive_strength_mpa: Number,
    tensile_strength_mpa: Number,
    spacing_mm: Number,
) -> DiscForce:
    """Return the forces of a disc that rolls with even pressure under its tip.

    Parameters
    ----------
    disc_radius_mm : of the cutter.
    tip_width_mm : of its edge.
    penetration_mm_rev : into the rock per turn of the head.
    compressive_strength_mpa : uniaxial, of the intact rock.
    tensile_strength_mpa : by the splitting test.
    spacing_mm : between neighbouring tracks.
    """
    angle_rad = np.arccos(np.subtract(disc_radius_mm, penetration_mm_rev) / disc_radius_mm)
    rock = np.square(compressive_strength_mpa) * np.multiply(tensile_strength_mpa, spacing_mm)
    pressure_mpa = BASE_PRESSURE_COEFFICIENT * np.cbrt(rock / (angle_rad * np.sqrt(np.multiply(disc_radius_mm, tip_width_mm))))
    force_kn = pressure_mpa * np.multiply(tip_width_mm, disc_radius_mm) * angle_rad / N_PER_KN
    return DiscForce(
        contact_angle_rad=angle_rad,
        base_pressure_mpa=pressure_mpa,
        total_force_kn=force_kn,
        normal_force_kn=force_kn * np.cos(angle_rad / 2),
        rolling_force_kn=force_kn * np.sin(angle_rad / 2),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DiscPenetration(Record):
    """Penetration of a disc under a force."""

    penetration_mm_rev: FloatArray


def _normal_force_kn(values: Values) -> FloatArray:
    names = ("disc_radius_mm", "tip_width_mm", "penetration_mm_rev", "compressive_strength_mpa", "tensile_strength_mpa", "spacing_mm")
    return np.asarray(disc_force(**{name: values[name] for name in names}).normal_force_kn)


def _force_is_met(values: Values) -> Any:
    force_kn = _normal_force_kn(values)
    return np.isnan(force_kn) | np.isclose(force_kn, values["normal_force_kn"], rtol=1e-9)


@method(
    "machine.disc_force.csm_penetration",
    found_by={
        "penetration_mm_rev": Algorithm(
            "penetration between 0.05 and 40 mm at which the force model gives the normal force, by bisection",
            symbol="p_rev",
            invariants={"the force model gives the force back": _force_is_met},
        )
    },
    symbols=_SYMBOLS,
    valid={"compressive_strength_mpa": _ROCK, "penetration_mm_rev": Range(0.5, 20.0, "range of cutting tests")},
    remarks=(Remark(lambda v: np.isnan(v["penetration_mm_rev"]), "no penetration between 0.05 and 40 mm per turn belongs to this force"),),
    kind="mean",
    source=CSM,
)
def disc_penetration(
    disc_radius_mm: Number,
    tip_width_mm: Number,
    normal_force_kn: Number,
    compressive_strength_mpa: Number,
    tensile_strength_mpa: Number,
    spacing_mm: Number,
) -> DiscPenetration:
    """Return the penetration that a normal force gives; none where it lies outside 0.05 to 40 mm per turn.

    Parameters
    ----------
    disc_radius_mm : of the cutter.
    tip_width_mm : of its edge.
    normal_force_kn : on the disc.
    compressive_strength_mpa : uniaxial, of the intact rock.
    tensile_strength_mpa : by the splitting test.
    spacing_mm : between neighbouring tracks.
    """
    rock = {
        "disc_radius_mm": disc_radius_mm,
        "tip_width_mm": tip_width_mm,
        "compressive_strength_mpa": compressive_strength_mpa,
        "tensile_strength_mpa": tensile_strength_mpa,
        "spacing_mm": spacing_mm,
    }
    shape = np.broadcast_shapes(np.shape(normal_force_kn), *(np.shape(one) for one in rock.values()))
    # The force grows with the penetration, and over nearly three decades of it: halved on a logarithmic axis.
    low, high = np.full(shape, np.log(LEAST_PENETRATION_MM)), np.full(shape, np.log(GREATEST_PENETRATION_MM))
    is_reached = (_normal_force_kn({**rock, "penetration_mm_rev": LEAST_PENETRATION_MM}) <= normal_force_kn) & (
        _normal_force_kn({**rock, "penetration_mm_rev": GREATEST_PENETRATION_MM}) >= normal_force_kn
    )
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        is_below = _normal_force_kn({**rock, "penetration_mm_rev": np.exp(middle)}) < normal_force_kn
        low, high = np.where(is_below, middle, low), np.where(is_below, high, middle)
    return DiscPenetration(penetration_mm_rev=np.where(is_reached, np.exp((low + high) / 2), np.nan))
