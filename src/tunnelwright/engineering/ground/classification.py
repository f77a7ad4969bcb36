"""Names of soils and rocks by their numbers; a value on a limit belongs to the upper class."""

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from tunnelwright.engineering.ground.sources import CASAGRANDE_1948, ISO_14688
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Remark, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, TextArray

Property = Literal["grain size mm", "undrained strength kPa", "consistency index", "density index", "uniaxial strength kPa"]

# Limits between the classes, and the names from the lowest class up.
CLASSES: Final[dict[str, tuple[tuple[float, ...], tuple[str, ...]]]] = {
    "grain size mm": (
        (0.002, 0.0063, 0.02, 0.063, 0.2, 0.63, 2.0, 6.3, 20.0, 63.0, 200.0, 630.0),
        ("clay", "silt", "silt", "silt", "sand", "sand", "sand", "gravel", "gravel", "gravel", "cobble", "boulder", "boulder"),
    ),
    "undrained strength kPa": (
        (10.0, 20.0, 40.0, 75.0, 150.0, 300.0),
        ("extremely low", "very low", "low", "medium", "high", "very high", "extremely high"),
    ),
    "consistency index": ((0.25, 0.50, 0.75, 1.0), ("very soft", "soft", "firm", "stiff", "very stiff")),
    "density index": ((0.15, 0.35, 0.65, 0.85), ("very loose", "loose", "medium dense", "dense", "very dense")),
    "uniaxial strength kPa": (
        (1e3, 5e3, 25e3, 50e3, 100e3, 250e3),
        ("extremely weak", "very weak", "weak", "medium strong", "strong", "very strong", "extremely strong"),
    ),
}
_GRAIN_SUB_CLASSES: Final = (
    "none", "fine", "medium", "coarse", "fine", "medium", "coarse", "fine", "medium", "coarse", "none", "none", "large",
)  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ClassName(Record):
    """Main and sub class; the sub class of anything but grains is `none`."""

    class_name: TextArray
    sub_class_name: TextArray


@method(
    "ground.classification.iso_14688",
    found_by={
        "class_name": Algorithm("class between whose limits the value lies"),
        "sub_class_name": Algorithm("third of the grain class in which the size lies, none for other properties"),
    },
    possible={"value": (-10.0, 1e7)},
    kind="identity",
    source=ISO_14688,
    dimensional=True,
)
def classification(property: Property, value: Number) -> ClassName:
    """Return the name of the class of a soil or rock.

    Parameters
    ----------
    property : what was measured.
    value : in the unit of the property; the density index as a ratio.
    """
    limits, names = CLASSES[property]
    number = np.asarray(value)
    place = np.digitize(number, limits)
    sub_names = _GRAIN_SUB_CLASSES if property == "grain size mm" else ("none",) * len(names)
    known = ~np.isnan(number)
    return ClassName(class_name=np.where(known, np.array(names)[place], "none"), sub_class_name=np.where(known, np.array(sub_names)[place], "none"))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Grading(Record):
    """Shape of a grading curve."""

    uniformity_coefficient: FloatArray
    curvature_coefficient: FloatArray
    class_name: TextArray


@method(
    "ground.grading.iso_14688_2",
    formulas={"uniformity_coefficient": Formula("C_U", "d_60 / d_10"), "curvature_coefficient": Formula("C_C", "d_30^2 / (d_10 * d_60)")},
    found_by={
        "class_name": Algorithm("by C_U: uniform below 3, poorly below 6, medium below 15; above it well graded for C_C of 1 to 3, gap graded below 0.5")
    },
    possible={"grain_size_d10_mm": (1e-6, 1000.0), "grain_size_d60_mm": (1e-6, 1000.0)},
    requires=(
        Require(
            "grain_size_d30_mm",
            lambda v: np.all((v["grain_size_d30_mm"] >= v["grain_size_d10_mm"]) & (v["grain_size_d60_mm"] >= v["grain_size_d30_mm"])),
            "must lie between d10 and d60",
        ),
    ),
    kind="identity",
    source=ISO_14688,
)
def grading(grain_size_d10_mm: Number, grain_size_d30_mm: Number, grain_size_d60_mm: Number) -> Grading:
    """Return uniformity and curvature of a grading curve, and the word for them.

    Parameters
    ----------
    grain_size_d10_mm, grain_size_d30_mm, grain_size_d60_mm : sizes below which 10, 30 and 60 % of the mass lie.

    Notes
    -----
    A wide curve whose C_C fits neither the well graded nor the gap graded is called medium graded.
    """
    uniformity = np.divide(grain_size_d60_mm, grain_size_d10_mm)
    curvature = np.square(grain_size_d30_mm) / np.multiply(grain_size_d10_mm, grain_size_d60_mm)
    wide = np.where(curvature < 0.5, "gap graded", np.where((curvature > 1) & (curvature < 3), "well graded", "medium graded"))
    narrow = np.where(uniformity < 3, "uniform", np.where(uniformity < 6, "poorly graded", "medium graded"))
    return Grading(uniformity_coefficient=uniformity, curvature_coefficient=curvature, class_name=np.where(uniformity >= 15, wide, narrow))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Plasticity(Record):
    """Place of a fine soil in the plasticity chart; the consistency is NaN without a water content."""

    plasticity_index: FloatArray
    a_line: FloatArray
    u_line: FloatArray
    consistency_index: FloatArray
    side: TextArray


@method(
    "ground.plasticity.casagrande",
    formulas={
        "plasticity_index": Formula("I_P", "w_L - w_P"),
        "a_line": Formula("I_A", "0.73 * (w_L - 0.20)"),
        "u_line": Formula("I_U", "0.9 * (w_L - 0.08)"),
        "consistency_index": Formula("I_C", "(w_L - w) / I_P"),
    },
    found_by={"side": Algorithm("clay on or above the A-line, silt below it; above the U-line the tests are in doubt")},
    requires=(
        Require("plastic_limit", lambda v: np.all(~(v["plastic_limit"] > v["liquid_limit"])), "must not exceed the liquid limit", "were the two swapped?"),
    ),
    remarks=(Remark(lambda v: v["side"] == "above U-line", "the point lies above the U-line, where no natural soil was found: check the tests"),),
    kind="identity",
    source=CASAGRANDE_1948,
)
def plasticity(liquid_limit: Number, plastic_limit: Number, water_content: Number | None = None) -> Plasticity:
    """Return the place of a fine soil in the plasticity chart.

    Parameters
    ----------
    liquid_limit, plastic_limit : as ratios.
    water_content : natural, as a ratio; without it there is no consistency.
    """
    index = np.subtract(liquid_limit, plastic_limit)
    a_line, u_line = 0.73 * np.subtract(liquid_limit, 0.20), 0.9 * np.subtract(liquid_limit, 0.08)
    water = np.nan if water_content is None else water_content
    return Plasticity(
        plasticity_index=index,
        a_line=a_line,
        u_line=u_line,
        consistency_index=np.subtract(liquid_limit, water) / index,
        side=np.where(index > u_line, "above U-line", np.where(index >= a_line, "clay", "silt")),
    )
