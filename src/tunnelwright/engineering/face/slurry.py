"""Slurry support: how deep it goes into the ground, what of its pressure holds the wedge, and what pore pressure it makes while cutting."""

from dataclasses import dataclass
from typing import Final

import numpy as np

from tunnelwright.engineering.face.declared import POSSIBLE, SYMBOLS, angle_in_radians
from tunnelwright.engineering.face.sources import BEZUIJEN_2001, DIN_4126, PENETRATED_WEDGE
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Remark, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, TextArray

# Mean over the slip plane of the excess pressure at each depth ahead of the face; 2 tan(omega) is the plan length over the radius.
MEAN_EXCESS_SHARE: Final = "(sqrt(1 + (2 * tan(omega))^2) + asinh(2 * tan(omega)) / (2 * tan(omega))) / 2 - tan(omega)"
_PRESSURES: Final = {
    "excess_pressure_kpa": (0.0, 2000.0),
    "excess_pressure_at_face_kpa": (0.0, 2000.0),
    "wanted_effective_pressure_kpa": (0.0, 2000.0),
    "stagnation_gradient_kn_m3": (0.01, 1e7),
    "porosity": (0.05, 0.9),
    "grain_unit_weight_kn_m3": (20.0, 35.0),
    "slurry_unit_weight_kn_m3": (9.5, 22.0),
    "required_ratio": (1.0, 5.0),
    "stagnation_coefficient": (1.0, 5.0),
    "distance_from_face_m": (0.0, 500.0),
    "permeability_m_s": (1e-12, 1.0),
}


def mean_excess_share(wedge_angle_from_vertical_rad: Number) -> FloatArray:
    """Return the mean share of the excess pressure at the face that stands along the slip plane."""
    length = 2 * np.tan(np.asarray(wedge_angle_from_vertical_rad, dtype=np.float64))
    return np.asarray((np.sqrt(1 + np.square(length)) + np.arcsinh(length) / length) / 2 - length / 2)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StagnationGradient(Record):
    """Pressure loss of slurry in the ground once it has come to rest."""

    stagnation_gradient_kn_m3: FloatArray
    penetration_depth_m: FloatArray


@method(
    "face.slurry_stagnation_gradient.din_4126",
    formulas={
        "stagnation_gradient_kn_m3": Formula("f_s", "a * tau_f / (d_10 / 1000)"),
        "penetration_depth_m": Formula("x", "Delta_p / f_s"),
    },
    symbols=SYMBOLS | {"static_yield_stress_kpa": "tau_f", "grain_size_d10_mm": "d_10", "stagnation_coefficient": "a", "penetration_depth_m": "x"},
    possible=POSSIBLE | _PRESSURES,
    remarks=(
        Remark(
            lambda values: np.asarray(values["stagnation_gradient_kn_m3"]) < 200,
            "stagnation gradient below 200 kN/m3: full transfer may not be assumed",
        ),
    ),
    kind="mean",
    source=DIN_4126,
)
def stagnation_gradient(
    static_yield_stress_kpa: Number, grain_size_d10_mm: Number, stagnation_coefficient: Number = 3.5, excess_pressure_kpa: Number | None = None
) -> StagnationGradient:
    """Return the pressure gradient at which slurry comes to rest in the pores, and the depth it reaches.

    Parameters
    ----------
    static_yield_stress_kpa : of the loaded, used slurry; six tenths of the laboratory value at a fresh face.
    grain_size_d10_mm : of the ground.
    stagnation_coefficient : 3.5, or 2 on the safe side.
    excess_pressure_kpa : slurry less pore pressure at the level looked at.
    """
    gradient = stagnation_coefficient * np.divide(static_yield_stress_kpa, np.divide(grain_size_d10_mm, 1000))
    excess = np.nan if excess_pressure_kpa is None else excess_pressure_kpa
    return StagnationGradient(stagnation_gradient_kn_m3=gradient, penetration_depth_m=excess / gradient)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TransferShare(Record):
    """What of the excess pressure holds the wedge."""

    penetration_depth_m: FloatArray
    transfer_share: FloatArray
    effective_excess_pressure_kpa: FloatArray
    stagnation_gradient_for_5_loss_kn_m3: FloatArray


@method(
    "face.slurry_transfer_share.penetration",
    formulas={
        "penetration_depth_m": Formula("x", "Delta_p / f_s"),
        "transfer_share": Formula("eta", "1 - x / (2 * D * tan(omega)) if x <= D * tan(omega) else D * tan(omega) / (2 * x)"),
        "effective_excess_pressure_kpa": Formula("Delta_p_eff", "eta * Delta_p"),
        "stagnation_gradient_for_5_loss_kn_m3": Formula("f_5", "10 * Delta_p / (D * tan(omega))"),
    },
    symbols=SYMBOLS | {"penetration_depth_m": "x", "transfer_share": "eta"},
    possible=POSSIBLE | _PRESSURES,
    remarks=(
        Remark(
            lambda values: np.asarray(values["transfer_share"]) <= 0.5,
            "slurry reaches beyond the wedge: more pressure holds no better, the medium is too thin",
        ),
    ),
    kind="mean",
    source=PENETRATED_WEDGE,
)
def transfer_share(
    excavation_diameter_m: Number, wedge_angle_from_vertical_rad: Number, excess_pressure_kpa: Number, stagnation_gradient_kn_m3: Number
) -> TransferShare:
    """Return the share of the excess pressure that acts inside the wedge when slurry goes into the ground.

    Parameters
    ----------
    excavation_diameter_m : height of the wedge.
    wedge_angle_from_vertical_rad : of the slip plane, 90 degrees less its angle from the horizontal.
    excess_pressure_kpa : slurry less pore pressure, taken the same over the height.
    stagnation_gradient_kn_m3 : of slurry in this ground.
    """
    length = excavation_diameter_m * np.tan(wedge_angle_from_vertical_rad)
    depth = np.divide(excess_pressure_kpa, stagnation_gradient_kn_m3)
    with np.errstate(divide="ignore", invalid="ignore"):
        share = np.where(depth > length, length / (2 * depth), 1 - depth / (2 * length))
    return TransferShare(
        penetration_depth_m=depth,
        transfer_share=share,
        effective_excess_pressure_kpa=share * excess_pressure_kpa,
        stagnation_gradient_for_5_loss_kn_m3=10 * np.divide(excess_pressure_kpa, length),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RequiredExcess(Record):
    """Excess pressure that brings a wanted effective pressure into the wedge."""

    effective_excess_pressure_max_kpa: FloatArray
    excess_pressure_kpa: FloatArray
    status: TextArray


@method(
    "face.slurry_required_excess.penetration",
    formulas={
        "effective_excess_pressure_max_kpa": Formula("w_max", "f_s * D * tan(omega) / 2"),
        "excess_pressure_kpa": Formula("Delta_p", "2 * w_max * (1 - sqrt(1 - w / w_max))"),
    },
    found_by={
        "status": Algorithm(
            "possible up to the greatest effective pressure, medium too thin beyond it",
            "",
            {"possible where there is a pressure": lambda values: (np.asarray(values["status"]) == "possible") == ~np.isnan(values["excess_pressure_kpa"])},
        )
    },
    symbols=SYMBOLS | {"effective_excess_pressure_max_kpa": "w_max", "wanted_effective_pressure_kpa": "w"},
    possible=POSSIBLE | _PRESSURES,
    remarks=(Remark(lambda values: np.asarray(values["status"]) == "medium too thin", "no pressure can bring the wanted support into the wedge"),),
    kind="mean",
    source=PENETRATED_WEDGE,
)
def required_excess(
    excavation_diameter_m: Number, wedge_angle_from_vertical_rad: Number, stagnation_gradient_kn_m3: Number, wanted_effective_pressure_kpa: Number
) -> RequiredExcess:
    """Return the excess pressure of slurry at which a wanted effective pressure acts inside the wedge; NaN where none can.

    Parameters
    ----------
    excavation_diameter_m : height of the wedge.
    wedge_angle_from_vertical_rad : of the slip plane, 90 degrees less its angle from the horizontal.
    stagnation_gradient_kn_m3 : of slurry in this ground.
    wanted_effective_pressure_kpa : with its factor.

    Notes
    -----
    Pressure times share is a parabola of the pressure as long as slurry stays inside the wedge, and constant beyond it.
    """
    greatest = stagnation_gradient_kn_m3 * np.asarray(excavation_diameter_m) * np.tan(wedge_angle_from_vertical_rad) / 2
    left = 1 - wanted_effective_pressure_kpa / greatest
    excess = np.where(left < 0, np.nan, 2 * greatest * (1 - np.sqrt(np.maximum(left, 0.0))))
    status = np.where(np.isnan(excess), "medium too thin", "possible")
    return RequiredExcess(effective_excess_pressure_max_kpa=greatest, excess_pressure_kpa=excess, status=status)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MicroStability(Record):
    """Whether slurry holds single grains of the face."""

    buoyant_grain_unit_weight_kn_m3: FloatArray
    stability_ratio: FloatArray


@method(
    "face.slurry_micro_stability.din_4126",
    formulas={
        "buoyant_grain_unit_weight_kn_m3": Formula("gamma_b", "(1 - n) * (gamma_s - gamma_F)"),
        "stability_ratio": Formula("r", "f_s * tan(phi) / gamma_b"),
    },
    symbols=SYMBOLS
    | {
        "porosity": "n",
        "grain_unit_weight_kn_m3": "gamma_s",
        "slurry_unit_weight_kn_m3": "gamma_F",
        "buoyant_grain_unit_weight_kn_m3": "gamma_b",
        "required_ratio": "r_req",
    },
    possible=POSSIBLE | _PRESSURES,
    requires=(angle_in_radians("friction_angle_rad"),),
    remarks=(Remark(lambda values: values["stability_ratio"] < values["required_ratio"], "grains may fall out of the face: ratio below the required one"),),
    kind="screening",
    source=DIN_4126,
)
def micro_stability(
    stagnation_gradient_kn_m3: Number,
    porosity: Number,
    slurry_unit_weight_kn_m3: Number,
    friction_angle_rad: Number,
    grain_unit_weight_kn_m3: Number = 26.5,
    required_ratio: Number = 1.5,
) -> MicroStability:
    """Return how well slurry that has come to rest holds single grains in the face.

    Parameters
    ----------
    stagnation_gradient_kn_m3 : of slurry in this ground.
    porosity : of the ground.
    slurry_unit_weight_kn_m3 : of the slurry.
    friction_angle_rad : of the ground in the face.
    grain_unit_weight_kn_m3 : of the solid grains.
    required_ratio : below it a caution.
    """
    buoyant = (1 - np.asarray(porosity)) * np.subtract(grain_unit_weight_kn_m3, slurry_unit_weight_kn_m3)
    return MicroStability(
        buoyant_grain_unit_weight_kn_m3=buoyant,
        stability_ratio=stagnation_gradient_kn_m3 * np.tan(friction_angle_rad) / buoyant + 0 * np.asarray(required_ratio),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ExcessPorePressure(Record):
    """Excess pore pressure ahead of a face that is being cut."""

    excess_pressure_kpa: FloatArray
    inflow_speed_m_s: FloatArray
    mean_excess_share: FloatArray
    effective_share: FloatArray


@method(
    "face.slurry_excess_pressure.bezuijen_2001",
    formulas={
        "excess_pressure_kpa": Formula("Delta_phi", "Delta_phi_0 * (sqrt(1 + (2 * x / D)^2) - 2 * x / D)"),
        "inflow_speed_m_s": Formula("v", "k * Delta_phi_0 / (gamma_w * D / 2)"),
        "mean_excess_share": Formula("m", MEAN_EXCESS_SHARE),
        "effective_share": Formula("eta", "1 - m"),
    },
    symbols=SYMBOLS
    | {
        "excess_pressure_kpa": "Delta_phi",
        "excess_pressure_at_face_kpa": "Delta_phi_0",
        "distance_from_face_m": "x",
        "mean_excess_share": "m",
        "effective_share": "eta",
    },
    possible=POSSIBLE | _PRESSURES,
    kind="screening",
    source=BEZUIJEN_2001,
)
def excess_pore_pressure(
    excavation_diameter_m: Number,
    excess_pressure_at_face_kpa: Number,
    wedge_angle_from_vertical_rad: Number,
    distance_from_face_m: Number = 0.0,
    permeability_m_s: Number | None = None,
    water_unit_weight_kn_m3: Number = 9.81,
) -> ExcessPorePressure:
    """Return the excess pore pressure ahead of a face without filter cake, and the share of the support that is left in the wedge.

    Parameters
    ----------
    excavation_diameter_m : over the cutters.
    excess_pressure_at_face_kpa : 0 with a tight cake, face pressure less pore pressure without any.
    wedge_angle_from_vertical_rad : of the slip plane, 90 degrees less its angle from the horizontal.
    distance_from_face_m : ahead of the face.
    permeability_m_s : of the ground.
    water_unit_weight_kn_m3 : one for the whole project.

    Notes
    -----
    The share left is a horizontal balance only; uplift on the slip plane and in the silo makes it worse, so it lies on the unsafe side.
    """
    distance = 2 * np.divide(distance_from_face_m, excavation_diameter_m)
    conductivity = np.nan if permeability_m_s is None else permeability_m_s
    share = mean_excess_share(wedge_angle_from_vertical_rad)
    return ExcessPorePressure(
        excess_pressure_kpa=excess_pressure_at_face_kpa * (np.sqrt(1 + np.square(distance)) - distance),
        inflow_speed_m_s=conductivity * np.asarray(excess_pressure_at_face_kpa) / (water_unit_weight_kn_m3 * np.asarray(excavation_diameter_m) / 2),
        mean_excess_share=share,
        effective_share=1 - share,
    )
