"""Turbulent friction in pipes: Newtonian, Bingham, Herschel-Bulkley and power law. Darcy factors unless the name says Fanning."""

from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from tunnelwright.engineering.slurry.laminar import (
    FLOWING,
    HALVINGS,
    KG_PER_T,
    PA_PER_KPA,
    THINNEST_PA_S,
    gradient_kpa_m,
    hedstrom,
    laminar_wall_stress_pa,
    reynolds,
)
from tunnelwright.engineering.slurry.sources import COLEBROOK_1939, DARBY_MELSON_1981, DODGE_METZNER_1959, HEDSTROM_1952, WILSON_THOMAS_1985
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Range, Remark, method
from tunnelwright.vocabulary.types import BoolArray, FloatArray, Number, Record, TextArray, Values

LAMINAR_REYNOLDS: Final = 2300.0
TURBULENT_REYNOLDS: Final = 4000.0
LAMINAR_METZNER_REED: Final = 2100.0
DARBY_MELSON_HEDSTROM: Final = 1e5
# Laminar flow with more friction than this is creeping: the logarithmic law has no meaning there and would call it turbulent.
CREEPING_DARCY: Final = 0.64
DOUBLINGS: Final = 80
NEWTON_STEPS: Final = 12
_VISCOUS: Final = {"plastic_viscosity_pa_s": (THINNEST_PA_S, 10.0)}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PipeFriction(Record):
    """Pressure gradient, friction factor and regime."""

    pressure_gradient_kpa_m: FloatArray
    darcy_friction_factor: FloatArray
    regime: TextArray


def _turbulent_velocity(wall_pa: Any, density_kg_m3: Any, diameter_m: Any, yield_pa: Any, consistency: Any, index: Any) -> FloatArray:
    """Return the mean velocity that belongs to a wall stress by the thickened sub-layer of Wilson and Thomas."""
    friction_velocity = np.sqrt(wall_pa / density_kg_m3)
    plug = yield_pa / wall_pa
    thickening = 2 * (1 + plug * index) / (1 + index)
    blunting = -2.5 * np.log1p(-plug) - 2.5 * plug * (1 + 0.5 * plug)
    wall_viscosity = wall_pa / np.power((wall_pa - yield_pa) / consistency, 1.0 / np.asarray(index))
    newtonian = 2.5 * np.log(density_kg_m3 * diameter_m * friction_velocity / wall_viscosity)
    return np.asarray(friction_velocity * (newtonian + 11.6 * (thickening - 1) - 2.5 * np.log(thickening) - blunting))


def _wilson_thomas_wall(velocity: Any, density_kg_m3: Any, diameter_m: Any, yield_pa: Any, consistency: Any, index: Any) -> tuple[FloatArray, BoolArray]:
    """Return the wall stress that governs, and where it is that of turbulent flow."""
    laminar_pa = laminar_wall_stress_pa(velocity, diameter_m, yield_pa, consistency, index)
    fluid = (density_kg_m3, diameter_m, yield_pa, consistency, index)
    with np.errstate(divide="ignore", invalid="ignore"):
        # The velocity rises with the stress: where the laminar stress would already carry less than the flow in turbulence, turbulence asks for more.
        is_turbulent = (_turbulent_velocity(laminar_pa, *fluid) < velocity) & (8 * laminar_pa < CREEPING_DARCY * density_kg_m3 * np.square(velocity))
        low, high = np.log(laminar_pa), np.log(laminar_pa)
        for _ in range(DOUBLINGS):
            high = np.where(is_turbulent & (_turbulent_velocity(np.exp(high), *fluid) < velocity), high + np.log(2.0), high)
        for _ in range(HALVINGS):
            middle = (low + high) / 2
            is_below = _turbulent_velocity(np.exp(middle), *fluid) < velocity
            low, high = np.where(is_below, middle, low), np.where(is_below, high, middle)
        return np.where(is_turbulent, np.exp((low + high) / 2), laminar_pa), np.asarray(is_turbulent)


def _not_below_laminar(values: Values) -> Any:
    """Return whether the gradient is at least that of laminar flow, whichever way the method names the viscosity."""
    consistency = values["consistency_pa_sn"] if "consistency_pa_sn" in values else values["plastic_viscosity_pa_s"]
    laminar_pa = laminar_wall_stress_pa(
        values["velocity_m_s"], values["pipe_diameter_m"], values["yield_stress_pa"], consistency, values.get("flow_index", np.asarray(1.0))
    )
    return values["pressure_gradient_kpa_m"] >= gradient_kpa_m(laminar_pa, values["pipe_diameter_m"]) * (1 - 1e-9)


@method(
    "slurry.pipe.wilson_thomas_1985",
    formulas={"darcy_friction_factor": Formula("f_D", "2 * D_p * i_p / (rho * v_p^2)")},
    found_by={
        "pressure_gradient_kpa_m": Algorithm(
            "4 / D times the wall stress at which the smooth turbulent law gives the velocity, by bisection; that of laminar flow where it is larger",
            symbol="i_p",
            invariants={"not less than laminar": _not_below_laminar},
        ),
        "regime": Algorithm("the larger of laminar and turbulent gradient governs"),
    },
    possible=FLOWING,
    valid={"flow_index": Range(0.3, 1.0, "shear-thinning slurries")},
    kind="mean",
    source=WILSON_THOMAS_1985,
    dimensional=True,
)
def wilson_thomas(
    velocity_m_s: Number, pipe_diameter_m: Number, density_t_m3: Number, yield_stress_pa: Number, consistency_pa_sn: Number, flow_index: Number = 1.0
) -> PipeFriction:
    """Return the friction of a slurry with a yield stress in a smooth pipe; a mean estimate that pumps should not be sized on alone.

    Parameters
    ----------
    velocity_m_s : mean over the section.
    pipe_diameter_m : inside.
    density_t_m3 : of the slurry.
    yield_stress_pa : 0 for a fluid without one.
    consistency_pa_sn : K; the plastic viscosity when the flow index is 1.
    flow_index : n.
    """
    velocity, diameter, density, yield_pa, consistency, index = np.broadcast_arrays(
        velocity_m_s, pipe_diameter_m, density_t_m3, yield_stress_pa, consistency_pa_sn, flow_index
    )
    wall_pa, is_turbulent = _wilson_thomas_wall(velocity, KG_PER_T * density, diameter, yield_pa, consistency, index)
    gradient = gradient_kpa_m(wall_pa, diameter)
    with np.errstate(divide="ignore", invalid="ignore"):
        factor = 2 * diameter * gradient / (density * np.square(velocity))
    return PipeFriction(pressure_gradient_kpa_m=gradient, darcy_friction_factor=factor, regime=np.where(is_turbulent, "turbulent", "laminar"))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class NewtonianFriction(Record):
    """Reynolds number, friction factor and pressure gradient."""

    reynolds_number: FloatArray
    darcy_friction_factor: FloatArray
    pressure_gradient_kpa_m: FloatArray


def colebrook_factor(reynolds_number: Any, relative_roughness: Any) -> FloatArray:
    """Return the Darcy factor, laminar below a Reynolds number of 2300.

    Notes
    -----
    Newton's method on x = 1 / sqrt(f): x + 2 log10(k / 3.7 + 2.51 x / Re) = 0 is nearly straight in x, so a few steps from an explicit start give all digits.
    """
    with np.errstate(divide="ignore", invalid="ignore"):
        number = np.asarray(reynolds_number, dtype=np.float64)
        inverse = -2 * np.log10(relative_roughness / 3.7 + 5.74 / np.power(number, 0.9))
        for _ in range(NEWTON_STEPS):
            argument = relative_roughness / 3.7 + 2.51 * inverse / number
            slope = 1 + 2 / np.log(10.0) * 2.51 / number / argument
            inverse = inverse - (inverse + 2 * np.log10(argument)) / slope
        return np.where(number < LAMINAR_REYNOLDS, 64 / number, 1 / np.square(inverse))


def _colebrook_is_met(values: Values) -> Any:
    factor, number = values["darcy_friction_factor"], values["reynolds_number"]
    with np.errstate(divide="ignore", invalid="ignore"):
        right = -2 * np.log10(values["roughness_mm"] / 1000 / values["pipe_diameter_m"] / 3.7 + 2.51 / (number * np.sqrt(factor)))
        return (number < LAMINAR_REYNOLDS) | np.isclose(1 / np.sqrt(factor), right, rtol=1e-9)


@method(
    "slurry.pipe.colebrook_white",
    formulas={
        "reynolds_number": Formula("Re", "1000 * rho * v_p * D_p / mu_d"),
        "pressure_gradient_kpa_m": Formula("i_p", "f_D * rho * v_p^2 / (2 * D_p)"),
    },
    found_by={
        "darcy_friction_factor": Algorithm(
            "root of 1 / sqrt(f) = -2 log10(k / (3.7 D) + 2.51 / (Re sqrt(f))); 64 / Re below a Reynolds number of 2300",
            symbol="f_D",
            invariants={"the equation holds": _colebrook_is_met},
        )
    },
    symbols={"dynamic_viscosity_pa_s": "mu_d"},
    possible={"dynamic_viscosity_pa_s": (THINNEST_PA_S, 100.0)},
    remarks=(
        Remark(
            lambda v: (v["reynolds_number"] >= LAMINAR_REYNOLDS) & (v["reynolds_number"] < TURBULENT_REYNOLDS),
            "Reynolds number between 2300 and 4000: the flow may be laminar or turbulent, the turbulent factor is given",
        ),
    ),
    kind="mean",
    source=COLEBROOK_1939,
)
def colebrook_white(
    velocity_m_s: Number, pipe_diameter_m: Number, density_t_m3: Number, dynamic_viscosity_pa_s: Number, roughness_mm: Number
) -> NewtonianFriction:
    """Return the friction of water or another Newtonian fluid.

    Parameters
    ----------
    velocity_m_s : mean over the section.
    pipe_diameter_m : inside.
    density_t_m3 : of the fluid.
    dynamic_viscosity_pa_s : of the fluid.
    roughness_mm : equivalent sand roughness of the wall.
    """
    number = reynolds(velocity_m_s, pipe_diameter_m, density_t_m3, dynamic_viscosity_pa_s)
    factor = colebrook_factor(number, np.divide(roughness_mm, 1000.0) / pipe_diameter_m)
    gradient = factor * density_t_m3 * np.square(velocity_m_s) / (2 * np.asarray(pipe_diameter_m))
    return NewtonianFriction(reynolds_number=number, darcy_friction_factor=factor, pressure_gradient_kpa_m=gradient)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class UpperFriction(Record):
    """Pressure gradient from above."""

    pressure_gradient_kpa_m: FloatArray


@method(
    "slurry.pipe.hedstrom_plastic_viscosity",
    found_by={
        "pressure_gradient_kpa_m": Algorithm(
            "the larger of the laminar gradient with yield stress and that of a Newtonian fluid with the plastic viscosity in the rough pipe",
            symbol="i_p",
            invariants={"not less than laminar": _not_below_laminar},
        )
    },
    possible=_VISCOUS,
    kind="upper bound",
    source=HEDSTROM_1952,
)
def hedstrom_plastic_viscosity(
    velocity_m_s: Number, pipe_diameter_m: Number, density_t_m3: Number, yield_stress_pa: Number, plastic_viscosity_pa_s: Number, roughness_mm: Number
) -> UpperFriction:
    """Return the friction of a Bingham slurry from above: for the size of pumps, not for deposition.

    Parameters
    ----------
    velocity_m_s : mean over the section.
    pipe_diameter_m : inside.
    density_t_m3 : of the slurry.
    yield_stress_pa : of the slurry.
    plastic_viscosity_pa_s : of the slurry.
    roughness_mm : equivalent sand roughness of the wall.
    """
    laminar_pa = laminar_wall_stress_pa(velocity_m_s, pipe_diameter_m, yield_stress_pa, plastic_viscosity_pa_s, 1.0)
    number = reynolds(velocity_m_s, pipe_diameter_m, density_t_m3, plastic_viscosity_pa_s)
    # At rest the laminar factor is infinite and the velocity nothing: only the yield stress is left.
    factor = np.where(number > 0, colebrook_factor(number, np.divide(roughness_mm, 1000.0) / pipe_diameter_m), 0.0)
    turbulent = factor * density_t_m3 * np.square(velocity_m_s) / (2 * np.asarray(pipe_diameter_m))
    return UpperFriction(pressure_gradient_kpa_m=np.maximum(gradient_kpa_m(laminar_pa, pipe_diameter_m), turbulent))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FanningFriction(Record):
    """Fanning friction factor and pressure gradient."""

    fanning_friction_factor: FloatArray
    pressure_gradient_kpa_m: FloatArray


@method(
    "slurry.pipe.darby_melson_1981",
    formulas={"pressure_gradient_kpa_m": Formula("i_p", "2 * f_F * rho * v_p^2 / D_p")},
    found_by={
        "fanning_friction_factor": Algorithm(
            "exact laminar factor and 10^a Re^-0.193 with a = -1.47 (1 + 0.146 exp(-2.9e-5 He)), joined with the exponent 1.7 + 40000 / Re",
            symbol="f_F",
            invariants={"not less than laminar": _not_below_laminar},
        )
    },
    possible=_VISCOUS,
    remarks=(
        Remark(
            lambda v: hedstrom(v["pipe_diameter_m"], v["density_t_m3"], v["yield_stress_pa"], v["plastic_viscosity_pa_s"]) < DARBY_MELSON_HEDSTROM,
            "Hedstrom number below 1e5: the turbulent factor is too small there, at a yield stress of nothing half of a smooth pipe's",
        ),
    ),
    kind="mean",
    source=DARBY_MELSON_1981,
)
def darby_melson(
    velocity_m_s: Number, pipe_diameter_m: Number, density_t_m3: Number, yield_stress_pa: Number, plastic_viscosity_pa_s: Number
) -> FanningFriction:
    """Return the friction of a Bingham slurry in a smooth pipe by one formula for laminar and turbulent flow.

    Parameters
    ----------
    velocity_m_s : mean over the section.
    pipe_diameter_m : inside.
    density_t_m3 : of the slurry.
    yield_stress_pa : of the slurry.
    plastic_viscosity_pa_s : of the slurry.
    """
    laminar_pa = laminar_wall_stress_pa(velocity_m_s, pipe_diameter_m, yield_stress_pa, plastic_viscosity_pa_s, 1.0)
    number = reynolds(velocity_m_s, pipe_diameter_m, density_t_m3, plastic_viscosity_pa_s)
    kinetic_kpa = density_t_m3 * np.square(velocity_m_s) / 2
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        laminar = laminar_pa / PA_PER_KPA / kinetic_kpa
        decades = -1.47 * (1 + 0.146 * np.exp(-2.9e-5 * hedstrom(pipe_diameter_m, density_t_m3, yield_stress_pa, plastic_viscosity_pa_s)))
        turbulent = np.power(10.0, decades) * np.power(number, -0.193)
        exponent = 1.7 + 40000 / number
        # Written over the larger of the two, so that a large exponent neither overflows nor vanishes.
        larger, smaller = np.maximum(laminar, turbulent), np.minimum(laminar, turbulent)
        factor = larger * np.power(1 + np.power(smaller / larger, exponent), 1 / exponent)
    return FanningFriction(fanning_friction_factor=factor, pressure_gradient_kpa_m=4 * factor * kinetic_kpa / pipe_diameter_m)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PowerLawFriction(Record):
    """Reynolds number of a power-law fluid, its Fanning factor and pressure gradient."""

    reynolds_metzner_reed: FloatArray
    fanning_friction_factor: FloatArray
    pressure_gradient_kpa_m: FloatArray


def _dodge_metzner_factor(number: Any, index: Any) -> FloatArray:
    """Return the turbulent Fanning factor: root of x = 4 / n^0.75 log10(Re f^(1 - n/2)) - 0.4 / n^1.2 with x = 1 / sqrt(f)."""
    slope = 4 / np.power(index, 0.75)
    inverse = np.full(np.broadcast_shapes(np.shape(number), np.shape(index)), 12.0)
    with np.errstate(divide="ignore", invalid="ignore"):
        for _ in range(NEWTON_STEPS):
            defect = inverse - slope * (np.log10(number) - (2 - index) * np.log10(inverse)) + 0.4 / np.power(index, 1.2)
            inverse = np.maximum(inverse - defect / (1 + slope * (2 - index) / np.log(10.0) / inverse), 1e-3)
    return np.asarray(1 / np.square(inverse))


@method(
    "slurry.pipe.dodge_metzner_1959",
    formulas={
        "reynolds_metzner_reed": Formula("Re_MR", "1000 * rho * v_p^(2 - n_f) * D_p^n_f / (8^(n_f - 1) * K_c * ((3 * n_f + 1) / (4 * n_f))^n_f)"),
        "pressure_gradient_kpa_m": Formula("i_p", "2 * f_F * rho * v_p^2 / D_p"),
    },
    found_by={
        "fanning_friction_factor": Algorithm(
            "root of 1 / sqrt(f) = 4 / n^0.75 log10(Re f^(1 - n/2)) - 0.4 / n^1.2; 16 / Re below a Reynolds number of 2100",
            symbol="f_F",
            invariants={
                "the equation holds": lambda v: (
                    (v["reynolds_metzner_reed"] < LAMINAR_METZNER_REED)
                    | np.isclose(
                        1 / np.sqrt(v["fanning_friction_factor"]),
                        4 / v["flow_index"] ** 0.75 * np.log10(v["reynolds_metzner_reed"] * v["fanning_friction_factor"] ** (1 - v["flow_index"] / 2))
                        - 0.4 / v["flow_index"] ** 1.2,
                    )
                )
            },
        )
    },
    possible=FLOWING,
    valid={"flow_index": Range(0.3, 1.0, "range of the tests")},
    remarks=(
        Remark(
            lambda v: (v["reynolds_metzner_reed"] >= LAMINAR_METZNER_REED) & (v["reynolds_metzner_reed"] < TURBULENT_REYNOLDS),
            "just above the end of laminar flow: the factor is uncertain",
        ),
    ),
    kind="mean",
    source=DODGE_METZNER_1959,
    dimensional=True,
)
def dodge_metzner(velocity_m_s: Number, pipe_diameter_m: Number, density_t_m3: Number, consistency_pa_sn: Number, flow_index: Number) -> PowerLawFriction:
    """Return the friction of a power-law fluid in a smooth pipe.

    Parameters
    ----------
    velocity_m_s : mean over the section.
    pipe_diameter_m : inside.
    density_t_m3 : of the fluid.
    consistency_pa_sn : K.
    flow_index : n.
    """
    index = np.asarray(flow_index)
    resistance = np.power(8.0, index - 1) * consistency_pa_sn * np.power((3 * index + 1) / (4 * index), index)
    number = KG_PER_T * density_t_m3 * np.power(velocity_m_s, 2 - index) * np.power(pipe_diameter_m, index) / resistance
    with np.errstate(divide="ignore", invalid="ignore"):
        factor = np.where(number < LAMINAR_METZNER_REED, 16 / number, _dodge_metzner_factor(number, index))
    gradient = 2 * factor * density_t_m3 * np.square(velocity_m_s) / np.asarray(pipe_diameter_m)
    return PowerLawFriction(reynolds_metzner_reed=number, fanning_friction_factor=factor, pressure_gradient_kpa_m=gradient)
