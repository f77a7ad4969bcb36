"""Where a slurry's flow turns from laminar to turbulent."""

from dataclasses import dataclass
from typing import Final

import numpy as np

from tunnelwright.engineering.slurry.laminar import KG_PER_T, THINNEST_PA_S, hedstrom
from tunnelwright.engineering.slurry.sources import HANKS_1963, SLATTER_WASP_2000
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Range, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record

NEWTONIAN_CRITICAL: Final = 2100.0
HANKS_HEDSTROM: Final = 16800.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Transition(Record):
    """Plug, Reynolds number and velocity at the end of laminar flow."""

    hedstrom_number: FloatArray
    plug_ratio: FloatArray
    reynolds_critical: FloatArray
    transition_velocity_m_s: FloatArray


@method(
    "slurry.transition.hanks_1963",
    formulas={
        "hedstrom_number": Formula("He", "1000 * rho * tau_0 * D_p^2 / mu_p^2"),
        "plug_ratio": Formula("phi_c", "1 - 2 * sqrt(5600 / He) * sinh(asinh(1.5 * sqrt(He / 5600)) / 3) if He > 0 else 0"),
        "reynolds_critical": Formula("Re_c", "2100 * (1 - 4 / 3 * phi_c + phi_c^4 / 3) / (1 - phi_c)^3"),
        "transition_velocity_m_s": Formula("v_tr", "Re_c * mu_p / (1000 * rho * D_p)"),
    },
    possible={"plastic_viscosity_pa_s": (THINNEST_PA_S, 10.0), "density_t_m3": (0.5, 3.5)},
    kind="mean",
    source=HANKS_1963,
)
def hanks_transition(pipe_diameter_m: Number, density_t_m3: Number, yield_stress_pa: Number, plastic_viscosity_pa_s: Number) -> Transition:
    """Return the velocity at which the laminar flow of a Bingham slurry ends.

    Parameters
    ----------
    pipe_diameter_m : inside.
    density_t_m3 : of the slurry.
    yield_stress_pa : 0 for a Newtonian fluid.
    plastic_viscosity_pa_s : of the slurry.

    Notes
    -----
    The plug ratio solves phi / (1 - phi)^3 = He / 16800, a cubic in 1 - phi with one real root, written with hyperbolic functions. With that
    equation Re_c = He / (8 phi) (1 - 4/3 phi + phi^4/3) turns into a form that holds without a yield stress, where it gives 2100.
    """
    number = hedstrom(pipe_diameter_m, density_t_m3, yield_stress_pa, plastic_viscosity_pa_s)
    root = np.sqrt(number / (HANKS_HEDSTROM / 3))
    with np.errstate(divide="ignore", invalid="ignore"):
        plug = np.where(number > 0, 1 - 2 / root * np.sinh(np.arcsinh(1.5 * root) / 3), number)
    critical = NEWTONIAN_CRITICAL * (1 - 4 / 3 * plug + plug**4 / 3) / (1 - plug) ** 3
    velocity = critical * plastic_viscosity_pa_s / (KG_PER_T * np.multiply(density_t_m3, pipe_diameter_m))
    return Transition(hedstrom_number=number, plug_ratio=plug, reynolds_critical=critical, transition_velocity_m_s=velocity)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TransitionVelocity(Record):
    """Velocity at the end of laminar flow."""

    transition_velocity_m_s: FloatArray


@method(
    "slurry.transition.slatter_wasp",
    formulas={"transition_velocity_m_s": Formula("v_tr", "26 * sqrt(tau_0 / (1000 * rho))")},
    possible={"density_t_m3": (0.5, 3.5)},
    valid={"yield_stress_pa": Range(1.0, 100.0, "for high Hedstrom numbers, where the viscosity no longer counts")},
    kind="mean",
    source=SLATTER_WASP_2000,
)
def slatter_wasp_transition(density_t_m3: Number, yield_stress_pa: Number) -> TransitionVelocity:
    """Return the velocity at which laminar flow ends in large pipes; higher than by Hanks, and the safer one against deposition.

    Parameters
    ----------
    density_t_m3 : of the slurry.
    yield_stress_pa : of the slurry.
    """
    return TransitionVelocity(transition_velocity_m_s=26 * np.sqrt(np.divide(yield_stress_pa, KG_PER_T * np.asarray(density_t_m3))))
