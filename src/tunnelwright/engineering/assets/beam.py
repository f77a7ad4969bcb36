"""The building as a deep beam under a central load: bending, shear and stretching of one zone.

hogging: neutral axis at the foundation, which holds the ground        t = H,   I = H^3 / 3
sagging: neutral axis at mid-height                                    t = H/2, I = H^3 / 12

    Delta/L = (L / (12 t) + 3 I / (2 t L H) E/G) eps_b        Delta/L = (1 + H L^2 / (18 I) G/E) eps_d
"""

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from tunnelwright.engineering.assets.categories import SERIOUS, STRAIN_IS_A_RANKING, category_of
from tunnelwright.engineering.assets.sources import BURLAND_WROTH_1974, DEEP_BEAM
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Remark, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, TextArray, Values

Zone = Literal["hogging", "sagging"]
Switch = Literal["off", "on"]

ISOTROPIC_WALL: Final = 2.6
MASONRY_POISSON: Final = 0.3
_SYMBOLS: Final = {"zone_length_m": "L", "height_m": "H"}
BEAM_POSSIBLE: Final = {"height_m": (0.1, 500.0), "zone_length_m": (0.01, 1e5), "young_shear_ratio": (0.1, 200.0)}
_BENDING: Final = '(L / (12 * H) + H / (2 * L) * E_G if zone == "hogging" else L / (6 * H) + H / (4 * L) * E_G)'
_DIAGONAL: Final = '(1 + L^2 / (6 * H^2 * E_G) if zone == "hogging" else 1 + 2 * L^2 / (3 * H^2 * E_G))'


def _is_out_of_proportion(values: Values) -> NDArray[np.bool_]:
    ratio = np.divide(values["zone_length_m"], values["height_m"])
    return np.asarray((ratio > 6) | (ratio < 0.3))


OUT_OF_PROPORTION: Final = Remark(_is_out_of_proportion, "length over height lies outside 0.3 to 6: a beam is a poor picture of this building")


def beam_coefficients(length_m: Number, height_m: Number, is_hogging: NDArray[np.bool_] | bool, young_shear_ratio: Number) -> tuple[FloatArray, FloatArray]:
    """Return deflection ratio over bending strain, and over diagonal strain.

    Parameters
    ----------
    length_m, height_m : of the zone and of the building.
    is_hogging : whether the neutral axis lies at the foundation.
    young_shear_ratio : E/G.
    """
    slenderness = np.divide(length_m, height_m)
    # Sagging with the axis at mid-height is hogging of a beam half as high.
    slenderness = np.where(is_hogging, slenderness, 2 * slenderness)
    return slenderness / 12 + np.asarray(young_shear_ratio) / (2 * slenderness), 1 + np.square(slenderness) / (6 * np.asarray(young_shear_ratio))


def total_strains(bending: FloatArray, diagonal: FloatArray, stretch: Number, poisson_ratio: Number) -> tuple[FloatArray, FloatArray]:
    """Return bending and diagonal strain with the horizontal strain of the ground superposed.

    Parameters
    ----------
    bending, diagonal : of the beam alone.
    stretch : horizontal strain that counts.
    poisson_ratio : of the wall.
    """
    stretch = np.asarray(stretch, dtype=np.float64)
    inclined = stretch * np.subtract(1.0, poisson_ratio) / 2 + np.hypot(stretch * np.add(1.0, poisson_ratio) / 2, diagonal)
    return np.asarray(bending + stretch), np.asarray(inclined)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BeamStrain(Record):
    """Strains of one zone of a building."""

    bending_coefficient: FloatArray
    diagonal_coefficient: FloatArray
    bending_strain: FloatArray
    diagonal_strain: FloatArray
    bending_total_strain: FloatArray
    diagonal_total_strain: FloatArray
    tensile_strain: FloatArray
    governing_mode: TextArray
    damage_category: FloatArray


@method(
    "assets.building.burland_wroth_1974",
    formulas={
        "bending_coefficient": Formula("k_b", _BENDING),
        "diagonal_coefficient": Formula("k_d", _DIAGONAL),
        "bending_strain": Formula("eps_b", "abs(DR) / k_b"),
        "diagonal_strain": Formula("eps_d", "abs(DR) / k_d"),
        "bending_total_strain": Formula("eps_bt", 'eps_b + (eps_h if count_compression == "on" else max(eps_h, 0))'),
        "diagonal_total_strain": Formula(
            "eps_dt",
            '(eps_h if count_compression == "on" else max(eps_h, 0)) * (1 - nu) / 2'
            ' + sqrt(((eps_h if count_compression == "on" else max(eps_h, 0)) * (1 + nu) / 2)^2 + eps_d^2)',
        ),
        "tensile_strain": Formula("eps_t", "max(eps_bt, eps_dt)"),
    },
    found_by={
        "governing_mode": Algorithm("the greater of both totals, bending when they are equal"),
        "damage_category": Algorithm("by limiting tensile strain 0.05, 0.075, 0.15, 0.3 % times the condition factor"),
    },
    symbols=_SYMBOLS,
    possible=BEAM_POSSIBLE,
    remarks=(OUT_OF_PROPORTION, STRAIN_IS_A_RANKING, SERIOUS),
    kind="upper bound",
    source=BURLAND_WROTH_1974,
)
def burland_wroth(
    deflection_ratio: Number,
    zone: Zone,
    zone_length_m: Number,
    height_m: Number,
    horizontal_strain: Number = 0.0,
    young_shear_ratio: Number = ISOTROPIC_WALL,
    poisson_ratio: Number = MASONRY_POISSON,
    count_compression: Switch = "off",
    condition_factor: Number = 1.0,
) -> BeamStrain:
    """Return the strains of a building zone that follows the ground.

    Parameters
    ----------
    deflection_ratio : deflection over length of the zone.
    zone : bent like a hill or like a bowl.
    zone_length_m : along the line.
    height_m : foundation to eaves.
    horizontal_strain : average over the zone, extension positive.
    young_shear_ratio : 2.6 for a wall of masonry, 12.5 for a frame, 0.5 for walls without tie in hogging.
    poisson_ratio : of the wall.
    count_compression : only where a continuous foundation lies at the level of the compression.
    condition_factor : multiplies the limits of the categories.
    """
    for_bending, for_diagonal = beam_coefficients(zone_length_m, height_m, zone == "hogging", young_shear_ratio)
    bending, diagonal = np.abs(deflection_ratio) / for_bending, np.abs(deflection_ratio) / for_diagonal
    stretch = horizontal_strain if count_compression == "on" else np.maximum(horizontal_strain, 0.0)
    bending_total, diagonal_total = total_strains(bending, diagonal, stretch, poisson_ratio)
    governing = np.maximum(bending_total, diagonal_total)
    return BeamStrain(
        bending_coefficient=for_bending,
        diagonal_coefficient=for_diagonal,
        bending_strain=bending,
        diagonal_strain=diagonal,
        bending_total_strain=bending_total,
        diagonal_total_strain=diagonal_total,
        tensile_strain=governing,
        governing_mode=np.where(bending_total >= diagonal_total, "bending", "diagonal"),
        damage_category=category_of(governing, condition_factor),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LimitingDeflection(Record):
    """Deflection ratio that a building bears."""

    deflection_ratio: FloatArray


@method(
    "assets.building.limiting_deflection_ratio",
    formulas={
        "deflection_ratio": Formula(
            "DR",
            f"0 if max(eps_h, 0) >= eps_lim else min((eps_lim - max(eps_h, 0)) * {_BENDING},"
            f" sqrt(max(0, (eps_lim - max(eps_h, 0) * (1 - nu) / 2)^2 - (max(eps_h, 0) * (1 + nu) / 2)^2)) * {_DIAGONAL})",
        )
    },
    symbols=_SYMBOLS,
    possible=BEAM_POSSIBLE,
    remarks=(OUT_OF_PROPORTION,),
    kind="identity",
    source=BURLAND_WROTH_1974,
)
def limiting_deflection_ratio(
    limiting_tensile_strain: Number,
    zone: Zone,
    zone_length_m: Number,
    height_m: Number,
    horizontal_strain: Number = 0.0,
    young_shear_ratio: Number = ISOTROPIC_WALL,
    poisson_ratio: Number = MASONRY_POISSON,
) -> LimitingDeflection:
    """Return the deflection ratio at which the governing strain reaches a limit: one line of the interaction chart.

    Parameters
    ----------
    limiting_tensile_strain : of the category.
    zone : bent like a hill or like a bowl.
    zone_length_m : along the line.
    height_m : foundation to eaves.
    horizontal_strain : extension positive; compression counts as none.
    young_shear_ratio : E/G.
    poisson_ratio : of the wall.
    """
    for_bending, for_diagonal = beam_coefficients(zone_length_m, height_m, zone == "hogging", young_shear_ratio)
    stretch, limit = np.maximum(horizontal_strain, 0.0), np.asarray(limiting_tensile_strain, dtype=np.float64)
    left = np.square(limit - stretch * np.subtract(1.0, poisson_ratio) / 2) - np.square(stretch * np.add(1.0, poisson_ratio) / 2)
    ratio = np.minimum((limit - stretch) * for_bending, np.sqrt(np.maximum(left, 0.0)) * for_diagonal)
    return LimitingDeflection(deflection_ratio=np.where(stretch >= limit, 0.0, ratio))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HeightStrain(Record):
    """Greatest principal strain over the height of the wall and where it occurs."""

    tensile_strain: FloatArray
    neutral_axis_distance_m: FloatArray


_GRID: Final = np.linspace(0.0, 1.0, 201)
_ZOOMS: Final = 4


def _not_below_either_formula(values: Values) -> NDArray[np.bool_]:
    is_hogging = values["zone"] == "hogging"
    coefficients = beam_coefficients(values["zone_length_m"], values["height_m"], is_hogging, values["young_shear_ratio"])
    bending, diagonal = (np.abs(values["deflection_ratio"]) / one for one in coefficients)
    either = np.maximum(*total_strains(bending, diagonal, np.maximum(values["horizontal_strain"], 0.0), values["poisson_ratio"]))
    return np.asarray(~(np.asarray(values["tensile_strain"]) < either * (1 - 1e-9)))


@method(
    "assets.building.principal_strain_height",
    found_by={
        "tensile_strain": Algorithm(
            "greatest principal strain between neutral axis and tension edge, bending growing linearly and shear falling as a parabola",
            "eps_t",
            {"not below bending or diagonal strain alone": _not_below_either_formula},
        ),
        "neutral_axis_distance_m": Algorithm("distance from the neutral axis at which it occurs", "y_n"),
    },
    symbols=_SYMBOLS,
    possible=BEAM_POSSIBLE,
    remarks=(OUT_OF_PROPORTION,),
    kind="upper bound",
    source=DEEP_BEAM,
)
def principal_strain_height(
    deflection_ratio: Number,
    zone: Zone,
    zone_length_m: Number,
    height_m: Number,
    horizontal_strain: Number = 0.0,
    young_shear_ratio: Number = ISOTROPIC_WALL,
    poisson_ratio: Number = MASONRY_POISSON,
) -> HeightStrain:
    """Return the greatest principal strain of a wall where bending and shear act together.

    Parameters
    ----------
    deflection_ratio : deflection over length of the zone.
    zone : bent like a hill or like a bowl.
    zone_length_m : along the line.
    height_m : foundation to eaves.
    horizontal_strain : average over the zone; compression counts as none.
    young_shear_ratio : E/G.
    poisson_ratio : of the wall.
    """
    for_bending, for_diagonal = beam_coefficients(zone_length_m, height_m, zone == "hogging", young_shear_ratio)
    bending, diagonal = np.abs(deflection_ratio) / for_bending, np.abs(deflection_ratio) / for_diagonal
    stretch, poisson = np.maximum(horizontal_strain, 0.0), np.asarray(poisson_ratio)
    bending, diagonal, stretch, poisson = (one[..., None] for one in np.broadcast_arrays(bending, diagonal, stretch, poisson))

    def principal(place: FloatArray) -> FloatArray:
        return total_strains(bending * 0.0, diagonal * (1 - np.square(place)), stretch + bending * place, poisson)[1]

    low, high = np.zeros(bending.shape), np.ones(bending.shape)
    for _ in range(_ZOOMS):
        places = low + (high - low) * _GRID
        best = np.take_along_axis(places, np.argmax(principal(places), axis=-1)[..., None], axis=-1)
        step = (high - low) / (_GRID.size - 1)
        low, high = np.maximum(best - step, 0.0), np.minimum(best + step, 1.0)
    lever = np.asarray(height_m) * (1.0 if zone == "hogging" else 0.5)
    return HeightStrain(tensile_strain=principal(best)[..., 0], neutral_axis_distance_m=best[..., 0] * lever)
