r"""What is cut per push: volume, layers of a mixed face, mass of soil and water, loose volume.

The circle of the face with a layer boundary at height y above the axis::

        .-----.
      /  A(y)   \        A(y) = R^2 acos(y / R) - y sqrt(R^2 - y^2)
     |-----------|  y
     |     +     |
      \         /
        `-----'
"""

from dataclasses import dataclass

import numpy as np

from tunnelwright.engineering.muck.sources import GEOMETRY, SOIL_PHASES
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Range, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Series, Values

LARGEST_SATURATION = 1.03
_CONSISTENT = 0.01


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CutVolume(Record):
    """Volume cut by one push."""

    excavated_volume_m3: FloatArray
    face_area_m2: FloatArray


@method(
    "muck.volume.geometry",
    formulas={"excavated_volume_m3": Formula("V", "(pi / 4 * D^2 + A_x) * x_s"), "face_area_m2": Formula("A_f", "pi / 4 * D^2")},
    kind="identity",
    source=GEOMETRY,
)
def cut_volume(excavation_diameter_m: Number, stroke_m: Number, extra_area_m2: Number = 0.0) -> CutVolume:
    """Return the volume in the ground that a push cuts.

    Parameters
    ----------
    excavation_diameter_m : diameter really cut, gauge wear taken off.
    stroke_m : measured mean change of the ram extension, not the nominal ring length.
    extra_area_m2 : overcut beside the circle.
    """
    face_area_m2 = np.pi / 4 * np.square(excavation_diameter_m)
    return CutVolume(excavated_volume_m3=(face_area_m2 + extra_area_m2) * stroke_m, face_area_m2=face_area_m2)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LayerAreas(Record):
    """Area of every layer within the face, from the top down."""

    layer_area_m2: Series
    layer_share: Series


@method(
    "muck.volume.layer_areas",
    found_by={
        "layer_area_m2": Algorithm(
            "difference of the circle's segments above neighbouring boundaries; a segment is R^2 acos(y / R) - y sqrt(R^2 - y^2)",
            invariants={
                "together the whole face": lambda v: np.allclose(np.sum(v["layer_area_m2"], axis=-1), np.pi / 4 * np.square(v["excavation_diameter_m"])),
                "none negative": lambda v: not np.any(v["layer_area_m2"] < -1e-12),
            },
        ),
        "layer_share": Algorithm(
            "area of the layer over area of the face", invariants={"add up to one": lambda v: np.allclose(np.sum(v["layer_share"], axis=-1), 1)}
        ),
    },
    possible={"boundary_heights_m": (-50.0, 50.0)},
    requires=(
        Require(
            "boundary_heights_m", lambda v: not np.any(np.diff(v["boundary_heights_m"]) > 0), "must fall from one to the next: list them from the top down"
        ),
    ),
    kind="identity",
    source=GEOMETRY,
)
def layer_areas(excavation_diameter_m: Number, boundary_heights_m: Series) -> LayerAreas:
    """Return the areas of the layers in a mixed face.

    Parameters
    ----------
    excavation_diameter_m : diameter really cut.
    boundary_heights_m : of the layer boundaries above the axis, from the top down; beyond the circle a layer has no area.
    """
    radius_m = np.asarray(excavation_diameter_m, dtype=np.float64)[..., None] / 2
    height_m = np.clip(boundary_heights_m, -radius_m, radius_m)
    above_m2 = np.square(radius_m) * np.arccos(height_m / radius_m) - height_m * np.sqrt(np.square(radius_m) - np.square(height_m))
    whole_m2 = np.pi * np.square(radius_m)
    area_m2 = np.diff(np.concatenate([np.zeros_like(whole_m2), above_m2, whole_m2], axis=-1), axis=-1)
    return LayerAreas(layer_area_m2=area_m2, layer_share=area_m2 / whole_m2)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SoilPhases(Record):
    """Densities and ratios of a soil."""

    density_t_m3: FloatArray
    dry_density_t_m3: FloatArray
    void_ratio: FloatArray
    porosity: FloatArray
    saturation: FloatArray
    water_content: FloatArray


def _voids(values: Values) -> FloatArray:
    void_ratio, porosity = values["void_ratio"], values["porosity"]
    return np.asarray(void_ratio if void_ratio is not None else porosity / (1 - porosity), dtype=np.float64)


def _one_of_voids(values: Values) -> FloatArray | bool:
    void_ratio, porosity = values["void_ratio"], values["porosity"]
    if void_ratio is None or porosity is None:
        return (void_ratio is None) != (porosity is None)
    return np.asarray(np.abs(void_ratio / (1 + void_ratio) - porosity) <= _CONSISTENT * porosity)


def _one_of_water(values: Values) -> FloatArray | bool:
    saturation, water = values["saturation"], values["water_content"]
    if saturation is None or water is None:
        return (saturation is None) != (water is None)
    expected = saturation * _voids(values) * values["water_density_t_m3"] / values["grain_density_t_m3"]
    return np.asarray(np.abs(water - expected) <= _CONSISTENT * expected)


def _pores_hold_the_water(values: Values) -> FloatArray | bool:
    if values["water_content"] is None or not np.all(_one_of_voids(values)):
        return True
    return np.asarray(values["water_content"] * values["grain_density_t_m3"] <= LARGEST_SATURATION * _voids(values) * values["water_density_t_m3"])


@method(
    "muck.density.phase_relations",
    formulas={
        "density_t_m3": Formula("rho", "rho_d * (1 + w)"),
        "dry_density_t_m3": Formula("rho_d", "rho_s / (1 + e)"),
        "void_ratio": Formula("e", "n / (1 - n)"),
        "porosity": Formula("n", "e / (1 + e)"),
        "saturation": Formula("S", "w * rho_s / (e * rho_w)"),
        "water_content": Formula("w", "S * e * rho_w / rho_s"),
    },
    symbols={"water_density_t_m3": "rho_w", "saturation": "S"},
    possible={"saturation": (0.0, LARGEST_SATURATION), "water_density_t_m3": (0.95, 1.1)},
    requires=(
        Require("void_ratio", _one_of_voids, "must be given, or porosity in its place; both only when they agree"),
        Require("saturation", _one_of_water, "must be given, or water_content in its place; both only when they agree"),
        Require("water_content", _pores_hold_the_water, "must not be more than fills the pores (saturation up to 1.03)"),
    ),
    kind="identity",
    source=SOIL_PHASES,
)
def phase_relations(
    grain_density_t_m3: Number,
    void_ratio: Number | None = None,
    porosity: Number | None = None,
    saturation: Number | None = None,
    water_content: Number | None = None,
    water_density_t_m3: Number = 1.0,
) -> SoilPhases:
    """Return the densities of a soil from one measure of its pores and one of the water in them.

    Parameters
    ----------
    grain_density_t_m3 : density of the grains.
    void_ratio : pores over grains by volume; or porosity.
    porosity : pores over the whole by volume.
    saturation : water over pores by volume; or water content.
    water_content : water over grains by mass.
    water_density_t_m3 : density of the pore water.
    """
    voids = (
        void_ratio
        if void_ratio is not None
        else np.divide(np.nan if porosity is None else porosity, np.subtract(1.0, np.nan if porosity is None else porosity))
    )
    pore_mass = voids * np.divide(water_density_t_m3, grain_density_t_m3)
    with np.errstate(divide="ignore", invalid="ignore"):
        filled = saturation if saturation is not None else np.divide(np.nan if water_content is None else water_content, pore_mass)
    water = water_content if water_content is not None else filled * pore_mass
    dry_t_m3 = np.divide(grain_density_t_m3, 1 + voids)
    return SoilPhases(
        density_t_m3=dry_t_m3 * (1 + np.asarray(water)),
        dry_density_t_m3=dry_t_m3,
        void_ratio=np.asarray(voids),
        porosity=np.asarray(voids / (1 + voids)),
        saturation=np.asarray(filled),
        water_content=np.asarray(water),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MassInGround(Record):
    """Mass of what a push cuts, as it lay in the ground."""

    muck_mass_t: FloatArray
    dry_mass_t: FloatArray
    water_mass_t: FloatArray


@method(
    "muck.mass.in_situ",
    formulas={"muck_mass_t": Formula("m", "rho * V"), "dry_mass_t": Formula("m_d", "rho * V / (1 + w)"), "water_mass_t": Formula("m_pw", "m - m_d")},
    kind="identity",
    source=SOIL_PHASES,
)
def mass_in_situ(density_t_m3: Number, water_content: Number, excavated_volume_m3: Number) -> MassInGround:
    """Return mass, grains and water of the ground that a push cuts.

    Parameters
    ----------
    density_t_m3 : in the ground, weighted with the areas in a mixed face.
    water_content : water over grains by mass.
    excavated_volume_m3 : volume in the ground.
    """
    mass_t = np.multiply(density_t_m3, excavated_volume_m3)
    dry_t = mass_t / np.add(1.0, water_content)
    return MassInGround(muck_mass_t=mass_t, dry_mass_t=dry_t, water_mass_t=mass_t - dry_t)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LooseMuck(Record):
    """Muck after it was cut."""

    loose_volume_m3: FloatArray
    loose_density_t_m3: FloatArray


@method(
    "muck.bulking.loose",
    formulas={"loose_volume_m3": Formula("V_l", "B_f * V"), "loose_density_t_m3": Formula("rho_l", "m / V_l")},
    valid={"bulking_factor": Range(1.0, 1.8, "sand 1.1 to 1.3, clay 1.3 to 1.6, rock 1.5 to 1.8")},
    kind="mean",
    source=GEOMETRY,
)
def loose_muck(excavated_volume_m3: Number, bulking_factor: Number, muck_mass_t: Number) -> LooseMuck:
    """Return the volume that muck takes after cutting, and its density then.

    Parameters
    ----------
    excavated_volume_m3 : volume in the ground.
    bulking_factor : loose volume over volume in the ground; with foam just after the screw 1.3 to 1.6.
    muck_mass_t : of ground and additives together.
    """
    loose_m3 = np.multiply(bulking_factor, excavated_volume_m3)
    with np.errstate(divide="ignore", invalid="ignore"):
        return LooseMuck(loose_volume_m3=loose_m3, loose_density_t_m3=np.divide(muck_mass_t, loose_m3))
