"""Damage categories by limiting tensile strain, and the first screen of all."""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy import special

from tunnelwright.engineering.assets.sources import DAMAGE_CATEGORIES, LOGNORMAL, RANKIN_1988
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Remark, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, TextArray, Values

# Upper limits of the categories 0, 1, 2 and 3; 4 stands for 4 and 5, which strain cannot tell apart.
STRAIN_LIMITS: Final = np.array([0.0005, 0.00075, 0.0015, 0.003])
STRAIN_IS_A_RANKING: Final = Remark(lambda _: True, "ranks assets for attention; greenfield strain is no guarantee, survey the building before the drive")

_SETTLEMENT_LIMITS_M: Final = np.array([0.010, 0.050, 0.075])
_SLOPE_LIMITS: Final = np.array([1 / 500, 1 / 200, 1 / 50])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Screen(Record):
    """First sorting of a building: 1 negligible to 4 high."""

    screen_category: FloatArray
    state: TextArray


@method(
    "assets.screen.rankin_1988",
    found_by={
        "screen_category": Algorithm(
            "the worse of both: settlement below 10, 50, 75 mm and slope below 1/500, 1/200, 1/50 are 1, 2, 3; a limit belongs to the class above"
        ),
        "state": Algorithm("1 in order, 2 watch, 3 and 4 act"),
    },
    kind="screening",
    source=RANKIN_1988,
    dimensional=True,
)
def rankin(settlement_max_m: Number, slope: Number) -> Screen:
    """Return whether a building needs a closer look at all.

    Parameters
    ----------
    settlement_max_m : greatest of the footprint over all stages; heave counts like settlement.
    slope : steepest of the ground there, in any direction.

    Notes
    -----
    Sensitive, listed or cracked buildings are looked at whatever the class.
    """
    category = _count_reached(np.abs(settlement_max_m), _SETTLEMENT_LIMITS_M)
    category = 1 + np.maximum(category, _count_reached(np.abs(slope), _SLOPE_LIMITS))
    words = np.array(["in order", "watch", "act", "act", "not checked"])
    return Screen(screen_category=category, state=words[np.where(np.isnan(category), 5, category).astype(np.int64) - 1])


def _count_reached(value: Number, limits: FloatArray) -> FloatArray:
    """Return how many limits a value has reached; NaN for NaN."""
    number = np.asarray(value, dtype=np.float64)
    return np.where(np.isnan(number), np.nan, np.sum(number[..., None] >= limits * (1 - 1e-12), axis=-1))


def category_of(tensile_strain: Number, condition_factor: Number = 1.0) -> FloatArray:
    """Return the damage category of a strain, 4 for 4 and 5; NaN for NaN.

    Parameters
    ----------
    tensile_strain : extension positive.
    condition_factor : multiplies the limits.
    """
    return _count_reached(np.divide(tensile_strain, condition_factor), STRAIN_LIMITS)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Damage(Record):
    """Category of damage; the limit is infinite for the last one."""

    damage_category: FloatArray
    limiting_tensile_strain: FloatArray


def _is_serious(values: Values) -> NDArray[np.bool_]:
    return np.asarray(values["damage_category"]) >= 3


SERIOUS: Final = Remark(_is_serious, "category 3 or more: look at the stiffness of the building or protect it")


@method(
    "assets.building.damage_category",
    found_by={
        "damage_category": Algorithm("0 below 0.05 %, 1 below 0.075 %, 2 below 0.15 %, 3 below 0.3 %, else 4 for 4-5; a limit belongs to the category above"),
        "limiting_tensile_strain": Algorithm("strain at which the next category begins", "eps_lim"),
    },
    remarks=(SERIOUS,),
    kind="identity",
    source=DAMAGE_CATEGORIES,
)
def damage_category(tensile_strain: Number, condition_factor: Number = 1.0) -> Damage:
    """Return the category of damage that a tensile strain stands for.

    Parameters
    ----------
    tensile_strain : governing one, extension positive.
    condition_factor : multiplies the limits; 0.5 to 0.8 for a building in poor condition.
    """
    category = category_of(tensile_strain, condition_factor)
    above = np.append(STRAIN_LIMITS, np.inf)[np.where(np.isnan(category), 4, category).astype(np.int64)]
    return Damage(damage_category=category, limiting_tensile_strain=np.where(np.isnan(category), np.nan, above * condition_factor))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CategoryProbabilities(Record):
    """Chance of each category or a worse one."""

    probability_1_or_worse: FloatArray
    probability_2_or_worse: FloatArray
    probability_3_or_worse: FloatArray
    probability_4_or_worse: FloatArray


@method(
    "assets.building.probability_lognormal",
    formulas={
        f"probability_{number}_or_worse": Formula(f"P_{number}", f"Phi(ln(eps_t / ({100 * limit:g} / 100 * f_cond)) / s_ln)")
        for number, limit in enumerate(STRAIN_LIMITS, start=1)
    },
    possible={"tensile_strain": (1e-9, 0.05), "log_sd": (1e-3, 5.0)},
    kind="mean",
    source=LOGNORMAL,
)
def lognormal_probability(tensile_strain: Number, log_sd: Number, condition_factor: Number = 1.0) -> CategoryProbabilities:
    """Return the chance of each category when the logarithm of the strain is normal.

    Parameters
    ----------
    tensile_strain : median.
    log_sd : spread of the logarithm.
    condition_factor : multiplies the limits.
    """
    from_limit = np.log(np.asarray(tensile_strain)[..., None] / (STRAIN_LIMITS * np.asarray(condition_factor)[..., None])) / np.asarray(log_sd)[..., None]
    chance = special.ndtr(from_limit)
    return CategoryProbabilities(**{f"probability_{at + 1}_or_worse": chance[..., at] for at in range(4)})
