"""State of strain of one unit of a building, from its lateral strain and angular distortion."""

from dataclasses import dataclass
from typing import Final

import numpy as np

from tunnelwright.engineering.assets.sources import SON_CORDING_2005
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record

_CLASS_LIMITS: Final = np.array([0.0005, 0.00075, 0.00167, 0.00333])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class UnitStrain(Record):
    """Principal strain of a unit, its direction and class: 0 negligible, 1 very slight, 2 slight, 3 moderate to severe, 4 severe."""

    tensile_strain: FloatArray
    crack_angle_rad: FloatArray
    damage_class: FloatArray


@method(
    "assets.building.son_cording_2005",
    formulas={
        "tensile_strain": Formula("eps_p", "eps_L / 2 + sqrt((eps_L / 2)^2 + (beta_d / 2)^2)"),
        "crack_angle_rad": Formula("theta_c", "atan2(beta_d, eps_L) / 2"),
    },
    found_by={"damage_class": Algorithm("0 below 0.5e-3, 1 below 0.75e-3, 2 below 1.67e-3, 3 below 3.33e-3, else 4; a limit belongs to the class above")},
    symbols={"lateral_strain": "eps_L"},
    possible={"lateral_strain": (-0.05, 0.05)},
    kind="mean",
    source=SON_CORDING_2005,
)
def son_cording(lateral_strain: Number, angular_distortion: Number) -> UnitStrain:
    """Return the principal strain of a unit of a building.

    Parameters
    ----------
    lateral_strain : extension positive.
    angular_distortion : slope of the unit less its tilt; it is the shear of the unit.
    """
    half = np.asarray(lateral_strain) / 2
    strain = half + np.hypot(half, np.asarray(angular_distortion) / 2)
    reached = np.sum(np.asarray(strain)[..., None] >= _CLASS_LIMITS * (1 - 1e-12), axis=-1)
    return UnitStrain(
        tensile_strain=strain,
        crack_angle_rad=np.arctan2(angular_distortion, lateral_strain) / 2,
        damage_class=np.where(np.isnan(strain), np.nan, reached),
    )
