"""Laminar flow of slurries in pipes, and the two numbers of a viscometer.

One law serves all: shear stress = yield stress + K (shear rate)^n. Newtonian with no yield stress and n = 1, Bingham with n = 1,
power law with no yield stress, Herschel-Bulkley with both. Inside this module stresses are in Pa.
"""

from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from tunnelwright.engineering.slurry.sources import DIMENSIONLESS, LAMINAR_PROFILE, VISCOMETER
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Remark, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Values

PA_PER_KPA: Final = 1000.0
KG_PER_T: Final = 1000.0
HALVINGS: Final = 60
# One pound per hundred square feet in Pa; the bob of the usual instrument would give 0.511 per degree.
PA_PER_DEGREE: Final = 0.4788026
THINNEST_PA_S: Final = 1e-6
FLOWING: Final = {"consistency_pa_sn": (THINNEST_PA_S, 1000.0)}


def mean_velocity(excess_pa: Any, yield_stress_pa: Any, consistency_pa_sn: Any, flow_index: Any, pipe_diameter_m: Any) -> FloatArray:
    """Return the mean velocity of laminar flow whose wall stress exceeds the yield stress by this much.

    Notes
    -----
    V = R / tau_w^3 times the integral of tau^2 (shear rate) from the yield stress to the wall stress. With y = tau - tau_0 the integrand is
    (y + tau_0)^2 (y / K)^(1/n), a sum of three powers of y, so the integral is exact.
    """
    power = 1.0 / np.asarray(flow_index)
    wall_pa = excess_pa + yield_stress_pa
    sheared, plug = excess_pa / wall_pa, yield_stress_pa / wall_pa
    share = np.square(sheared) / (power + 3) + 2 * sheared * plug / (power + 2) + np.square(plug) / (power + 1)
    return np.asarray(pipe_diameter_m / 2 * np.power(excess_pa / consistency_pa_sn, power) * sheared * share)


def laminar_wall_stress_pa(velocity_m_s: Any, pipe_diameter_m: Any, yield_stress_pa: Any, consistency_pa_sn: Any, flow_index: Any) -> FloatArray:
    """Return the wall stress of laminar flow at a mean velocity; at rest the yield stress, which holds the slurry.

    Notes
    -----
    The share in the exact velocity lies between 1 / (1/n + 3) and 1 / (1/n + 1). That brackets the excess over the yield stress from
    both sides; it is then halved on a logarithmic axis.
    """
    power = 1.0 / np.asarray(flow_index)
    rate = velocity_m_s / np.asarray(pipe_diameter_m)
    with np.errstate(divide="ignore", invalid="ignore"):
        low = np.log(consistency_pa_sn * np.power(2 * rate * (power + 1), flow_index))
        high = np.log(np.maximum(yield_stress_pa, consistency_pa_sn * np.power(4 * rate * (power + 3), flow_index)))
        for _ in range(HALVINGS):
            middle = (low + high) / 2
            is_below = mean_velocity(np.exp(middle), yield_stress_pa, consistency_pa_sn, flow_index, pipe_diameter_m) < velocity_m_s
            low, high = np.where(is_below, middle, low), np.where(is_below, high, middle)
        excess_pa = np.where(np.equal(velocity_m_s, 0), 0.0, np.exp((low + high) / 2))
    return np.asarray(yield_stress_pa + excess_pa)


def gradient_kpa_m(wall_stress_pa: Any, pipe_diameter_m: Any) -> FloatArray:
    """Return the pressure gradient that a wall stress takes."""
    return np.asarray(4 * wall_stress_pa / pipe_diameter_m / PA_PER_KPA)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LaminarFlow(Record):
    """Stress at the wall and pressure gradient."""

    wall_stress_pa: FloatArray
    pressure_gradient_kpa_m: FloatArray


def _velocity_is_met(values: Values) -> Any:
    excess_pa = values["wall_stress_pa"] - values["yield_stress_pa"]
    with np.errstate(divide="ignore", invalid="ignore"):
        found = mean_velocity(excess_pa, values["yield_stress_pa"], values["consistency_pa_sn"], values["flow_index"], values["pipe_diameter_m"])
    return np.isclose(found, values["velocity_m_s"], rtol=1e-6) | (values["velocity_m_s"] == 0)


@method(
    "slurry.pipe.laminar_quadrature",
    formulas={"pressure_gradient_kpa_m": Formula("i_p", "4 * tau_w / D_p / 1000")},
    found_by={
        "wall_stress_pa": Algorithm(
            "stress at which the exact integral of the velocity profile gives the mean velocity, by bisection",
            symbol="tau_w",
            invariants={
                "the profile has the mean velocity": _velocity_is_met,
                "at least the yield stress": lambda v: v["wall_stress_pa"] >= v["yield_stress_pa"],
            },
        )
    },
    possible=FLOWING,
    kind="identity",
    source=LAMINAR_PROFILE,
    dimensional=True,
)
def laminar_flow(velocity_m_s: Number, pipe_diameter_m: Number, yield_stress_pa: Number, consistency_pa_sn: Number, flow_index: Number = 1.0) -> LaminarFlow:
    """Return wall stress and pressure gradient of laminar flow; whether the flow is laminar is another method's business.

    Parameters
    ----------
    velocity_m_s : mean over the section.
    pipe_diameter_m : inside.
    yield_stress_pa : 0 for a fluid without one.
    consistency_pa_sn : K; the plastic viscosity when the flow index is 1.
    flow_index : n.
    """
    wall_pa = laminar_wall_stress_pa(velocity_m_s, pipe_diameter_m, yield_stress_pa, consistency_pa_sn, flow_index)
    return LaminarFlow(wall_stress_pa=wall_pa, pressure_gradient_kpa_m=gradient_kpa_m(wall_pa, pipe_diameter_m))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TwoPointRheology(Record):
    """Bingham constants of a slurry."""

    plastic_viscosity_pa_s: FloatArray
    yield_stress_pa: FloatArray


@method(
    "slurry.rheology.viscometer_two_point",
    formulas={
        "plastic_viscosity_pa_s": Formula("mu_p", "(r_600 - r_300) / 1000"),
        "yield_stress_pa": Formula("tau_0", "0.4788026 * (r_300 - 1000 * mu_p)"),
    },
    symbols={"reading_600": "r_600", "reading_300": "r_300"},
    possible={"reading_600": (0.0, 600.0), "reading_300": (0.0, 600.0)},
    requires=(Require("reading_600", lambda v: v["reading_600"] >= v["reading_300"], "must not be less than the reading at 300", "are the two exchanged?"),),
    remarks=(Remark(lambda v: v["yield_stress_pa"] < 0, "a negative yield stress: the slurry thickens with shear or the readings are wrong"),),
    kind="identity",
    source=VISCOMETER,
    dimensional=True,
)
def two_point_rheology(reading_600: Number, reading_300: Number) -> TwoPointRheology:
    """Return plastic viscosity and yield stress from two readings of the rotational viscometer; a line through more speeds is better.

    Parameters
    ----------
    reading_600 : degrees of the dial at 600 turns a minute.
    reading_300 : degrees of the dial at 300 turns a minute.

    Notes
    -----
    The factor is that of the unit in which field sheets state yield stress. The geometry of the usual bob would give 0.511 Pa per degree, 6.7 per cent more.
    """
    viscosity = np.subtract(reading_600, reading_300) / 1000
    return TwoPointRheology(plastic_viscosity_pa_s=viscosity, yield_stress_pa=PA_PER_DEGREE * (reading_300 - 1000 * viscosity))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PipeNumbers(Record):
    """Reynolds and Hedstrom number."""

    reynolds_number: FloatArray
    hedstrom_number: FloatArray


@method(
    "slurry.pipe.numbers",
    formulas={
        "reynolds_number": Formula("Re", "1000 * rho * v_p * D_p / mu_p"),
        "hedstrom_number": Formula("He", "1000 * rho * tau_0 * D_p^2 / mu_p^2"),
    },
    possible={"plastic_viscosity_pa_s": (THINNEST_PA_S, 10.0)},
    kind="identity",
    source=DIMENSIONLESS,
)
def pipe_numbers(velocity_m_s: Number, pipe_diameter_m: Number, density_t_m3: Number, yield_stress_pa: Number, plastic_viscosity_pa_s: Number) -> PipeNumbers:
    """Return the Reynolds number with the plastic viscosity, and the Hedstrom number.

    Parameters
    ----------
    velocity_m_s : mean over the section.
    pipe_diameter_m : inside.
    density_t_m3 : of the slurry.
    yield_stress_pa : 0 for a Newtonian fluid.
    plastic_viscosity_pa_s : of the slurry.
    """
    return PipeNumbers(
        reynolds_number=reynolds(velocity_m_s, pipe_diameter_m, density_t_m3, plastic_viscosity_pa_s),
        hedstrom_number=hedstrom(pipe_diameter_m, density_t_m3, yield_stress_pa, plastic_viscosity_pa_s),
    )


def reynolds(velocity_m_s: Any, pipe_diameter_m: Any, density_t_m3: Any, viscosity_pa_s: Any) -> FloatArray:
    """Return the Reynolds number of a pipe."""
    return np.asarray(KG_PER_T * density_t_m3 * velocity_m_s * pipe_diameter_m / viscosity_pa_s)


def hedstrom(pipe_diameter_m: Any, density_t_m3: Any, yield_stress_pa: Any, viscosity_pa_s: Any) -> FloatArray:
    """Return the Hedstrom number of a pipe."""
    return np.asarray(KG_PER_T * density_t_m3 * yield_stress_pa * np.square(pipe_diameter_m) / np.square(viscosity_pa_s))
