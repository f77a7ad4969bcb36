"""Grout on its way from the pump: the pressure that the line takes."""

from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from tunnelwright.engineering.grout.sources import BUCKINGHAM_REINER
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Values

# Newton's method from the right halves its distance even at the double root of a plug at rest.
_NEWTON_STEPS: Final = 64


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LineLoss(Record):
    """Pressure that a grout line takes."""

    velocity_m_s: FloatArray
    pressure_loss_kpa: FloatArray
    start_pressure_kpa: FloatArray
    pressure_loss_approximate_kpa: FloatArray


def _flows_at_that_loss(values: Values) -> Any:
    """Return whether the wall stress found carries the flow, by the equation in its usual form."""
    wall = values["pressure_loss_kpa"] * values["pipe_diameter_m"] / (4 * values["pipe_length_m"])
    share = values["yield_stress_kpa"] / wall
    shear_rate = wall / values["plastic_viscosity_kpa_s"] * (1 - 4 / 3 * share + share**4 / 3)
    return np.isclose(shear_rate, 8 * values["velocity_m_s"] / values["pipe_diameter_m"], rtol=1e-6, atol=1e-9, equal_nan=True)


@method(
    "grout.flow.line_pressure_loss",
    formulas={
        "velocity_m_s": Formula("v_p", "Q_gr / 3600 / (pi / 4 * D_p^2)"),
        "start_pressure_kpa": Formula("p_start", "4 * tau_y * L_p / D_p"),
        "pressure_loss_approximate_kpa": Formula("dp_appr", "16 * tau_y * L_p / (3 * D_p) + 32 * mu_p * v_p * L_p / D_p^2"),
    },
    found_by={
        "pressure_loss_kpa": Algorithm(
            "4 L / D times the wall stress tau_w that solves 8 v / D = tau_w / mu (1 - 4/3 x + x^4/3) with x = tau_y / tau_w",
            symbol="dp",
            invariants={"the wall stress carries the flow": _flows_at_that_loss},
        )
    },
    symbols={"plastic_viscosity_kpa_s": "mu_p"},
    possible={"plastic_viscosity_kpa_s": (0.0, 0.1), "pipe_diameter_m": (0.005, 0.5), "pipe_length_m": (0.01, 1e4)},
    kind="mean",
    source=BUCKINGHAM_REINER,
)
def line_pressure_loss(
    grout_flow_m3_h: Number, pipe_diameter_m: Number, pipe_length_m: Number, yield_stress_kpa: Number, plastic_viscosity_kpa_s: Number
) -> LineLoss:
    """Return the pressure that grout loses in a line, as a Bingham fluid in laminar flow.

    Parameters
    ----------
    grout_flow_m3_h : in this line.
    pipe_diameter_m : inside.
    pipe_length_m : from pump to port.
    yield_stress_kpa : below it the grout does not flow.
    plastic_viscosity_kpa_s : slope of shear stress over shear rate beyond it.
    """
    velocity = np.divide(grout_flow_m3_h, 3600) / (np.pi / 4 * np.square(pipe_diameter_m))
    viscous = 8 * velocity * plastic_viscosity_kpa_s / pipe_diameter_m
    slender = np.divide(pipe_length_m, pipe_diameter_m)
    return LineLoss(
        velocity_m_s=velocity,
        pressure_loss_kpa=4 * _wall_stress_kpa(viscous, np.asarray(yield_stress_kpa, dtype=np.float64)) * slender,
        start_pressure_kpa=4 * yield_stress_kpa * slender,
        pressure_loss_approximate_kpa=16 / 3 * yield_stress_kpa * slender + 32 * plastic_viscosity_kpa_s * velocity * slender / pipe_diameter_m,
    )


def _wall_stress_kpa(viscous: FloatArray, yield_kpa: FloatArray) -> FloatArray:
    """Return the root of w - 4/3 y + y^4 / (3 w^3) = viscous that is not less than y; the left side rises and is convex there."""
    wall = viscous + 4 / 3 * yield_kpa
    with np.errstate(divide="ignore", invalid="ignore"):
        for _ in range(_NEWTON_STEPS):
            share = np.where(wall > 0, yield_kpa / np.where(wall > 0, wall, 1.0), 0.0)
            excess = wall * (1 - 4 / 3 * share + share**4 / 3) - viscous
            slope = 1 - share**4
            wall = np.maximum(yield_kpa, wall - np.where(slope > 0, excess / np.where(slope > 0, slope, 1.0), 0.0))
    return np.asarray(wall)
