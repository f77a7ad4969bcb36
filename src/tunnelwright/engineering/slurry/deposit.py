"""Velocities below which grains settle in a horizontal pipe, grains that a slurry at rest holds, and the friction of coarse grains.

Show the band of all formulas: a single one hides a quarter to either side.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from tunnelwright.engineering.slurry.sources import (
    DURAND_1953,
    DURAND_CONDOLIOS_1952,
    NEWITT_1955,
    STATIC_SUSPENSION,
    THOMAS_1979,
    WASP_1977,
    WILSON_1979,
    WILSON_NNADI_1990,
)
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Range, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record

GRAVITY: Final = 9.81
_SINKS: Final = Require("grain_density_t_m3", lambda v: v["grain_density_t_m3"] > v["carrier_density_t_m3"], "must be more than the carrier's")
_RELATIVE: Final = "(rho_s / rho_c - 1)"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DepositVelocity(Record):
    """Velocity below which a bed forms."""

    deposit_velocity_m_s: FloatArray


def _excess(grain_density_t_m3: Number, carrier_density_t_m3: Number) -> FloatArray:
    """Return by how much grains are heavier than their carrier, relative to it."""
    return np.asarray(np.divide(grain_density_t_m3, carrier_density_t_m3) - 1)


def _falling(pipe_diameter_m: Number, excess: FloatArray) -> FloatArray:
    """Return sqrt(2 g D (S - 1)), the velocity that the formulas of this family scale."""
    return np.asarray(np.sqrt(2 * GRAVITY * np.asarray(pipe_diameter_m) * excess))


@method(
    "slurry.deposit.durand",
    formulas={"deposit_velocity_m_s": Formula("v_dep", f"F_L * sqrt(2 * 9.81 * D_p * {_RELATIVE})")},
    symbols={"froude_coefficient": "F_L"},
    possible={"froude_coefficient": (0.1, 3.0)},
    valid={"froude_coefficient": Range(0.8, 1.4, "fine sand to gravel; 1.34 from 2 mm up")},
    requires=(_SINKS,),
    kind="upper bound",
    source=DURAND_1953,
    dimensional=True,
)
def deposit_durand(pipe_diameter_m: Number, grain_density_t_m3: Number, carrier_density_t_m3: Number, froude_coefficient: Number = 1.34) -> DepositVelocity:
    """Return the deposit velocity of sand and gravel, on the safe side.

    Parameters
    ----------
    pipe_diameter_m : inside.
    grain_density_t_m3 : of the grains.
    carrier_density_t_m3 : of the feed slurry, not of water.
    froude_coefficient : F_L.
    """
    return DepositVelocity(deposit_velocity_m_s=np.asarray(froude_coefficient * _falling(pipe_diameter_m, _excess(grain_density_t_m3, carrier_density_t_m3))))


@method(
    "slurry.deposit.wasp_1977",
    formulas={"deposit_velocity_m_s": Formula("v_dep", f"3.116 * C_v^0.186 * sqrt(2 * 9.81 * D_p * {_RELATIVE}) * (d / (1000 * D_p))^(1 / 6)")},
    valid={"grain_size_mm": Range(0.05, 2.0, "fine to medium sand"), "solids_ratio": Range(0.01, 0.3, "range of the tests")},
    requires=(_SINKS,),
    kind="mean",
    source=WASP_1977,
    dimensional=True,
)
def deposit_wasp(
    pipe_diameter_m: Number, grain_size_mm: Number, solids_ratio: Number, grain_density_t_m3: Number, carrier_density_t_m3: Number
) -> DepositVelocity:
    """Return the deposit velocity of sand with its concentration.

    Parameters
    ----------
    pipe_diameter_m : inside.
    grain_size_mm : median.
    solids_ratio : coarse grains by volume.
    grain_density_t_m3 : of the grains.
    carrier_density_t_m3 : of the feed slurry.
    """
    falling = _falling(pipe_diameter_m, _excess(grain_density_t_m3, carrier_density_t_m3))
    size = np.power(np.divide(grain_size_mm, 1000.0) / pipe_diameter_m, 1 / 6)
    return DepositVelocity(deposit_velocity_m_s=3.116 * np.power(solids_ratio, 0.186) * falling * size)


@method(
    "slurry.deposit.wilson_1979",
    formulas={"deposit_velocity_m_s": Formula("v_dep", f"8.8 * (mu_s * {_RELATIVE} / 0.66)^0.55 * D_p^0.7 * d^1.75 / (d^2 + 0.11 * D_p^0.7)")},
    symbols={"sliding_coefficient": "mu_s"},
    possible={"sliding_coefficient": (0.05, 1.0)},
    valid={"grain_size_mm": Range(0.1, 50.0, "range of the nomogram"), "sliding_coefficient": Range(0.3, 0.6, "grains on steel")},
    requires=(_SINKS,),
    kind="mean",
    source=WILSON_1979,
    dimensional=True,
)
def deposit_wilson(
    pipe_diameter_m: Number, grain_size_mm: Number, grain_density_t_m3: Number, carrier_density_t_m3: Number, sliding_coefficient: Number = 0.4
) -> DepositVelocity:
    """Return the velocity at which a stationary bed of one grain size can no longer lie, largest over the concentration.

    Parameters
    ----------
    pipe_diameter_m : inside.
    grain_size_mm : of the grains.
    grain_density_t_m3 : of the grains.
    carrier_density_t_m3 : of the feed slurry.
    sliding_coefficient : of a bed on the pipe.
    """
    driving = np.power(sliding_coefficient * _excess(grain_density_t_m3, carrier_density_t_m3) / 0.66, 0.55)
    width = np.power(pipe_diameter_m, 0.7)
    return DepositVelocity(deposit_velocity_m_s=np.asarray(8.8 * driving * width * np.power(grain_size_mm, 1.75) / (np.square(grain_size_mm) + 0.11 * width)))


@method(
    "slurry.deposit.wilson_nnadi_1990",
    formulas={"deposit_velocity_m_s": Formula("v_dep", f"(0.018 / f_D)^0.13 * sqrt(2 * 9.81 * D_p * {_RELATIVE})")},
    possible={"darcy_friction_factor": (0.001, 1.0)},
    valid={"darcy_friction_factor": Range(0.008, 0.03, "usual pipes")},
    requires=(_SINKS,),
    kind="upper bound",
    source=WILSON_NNADI_1990,
    dimensional=True,
)
def deposit_wilson_nnadi(pipe_diameter_m: Number, grain_density_t_m3: Number, carrier_density_t_m3: Number, darcy_friction_factor: Number) -> DepositVelocity:
    """Return the cap of the deposit velocity in large pipes; the smaller of this and the nomogram counts.

    Parameters
    ----------
    pipe_diameter_m : inside.
    grain_density_t_m3 : of the grains.
    carrier_density_t_m3 : of the feed slurry.
    darcy_friction_factor : of the carrier in the pipe.
    """
    falling = _falling(pipe_diameter_m, _excess(grain_density_t_m3, carrier_density_t_m3))
    return DepositVelocity(deposit_velocity_m_s=np.asarray(np.power(np.divide(0.018, darcy_friction_factor), 0.13) * falling))


@method(
    "slurry.deposit.thomas_1979",
    formulas={"deposit_velocity_m_s": Formula("v_dep", f"9.0 * (9.81 * nu_k * {_RELATIVE})^0.37 * (D_p / nu_k)^0.11")},
    requires=(_SINKS,),
    kind="lower bound",
    source=THOMAS_1979,
    dimensional=True,
)
def deposit_thomas(pipe_diameter_m: Number, kinematic_viscosity_m2_s: Number, grain_density_t_m3: Number, carrier_density_t_m3: Number) -> DepositVelocity:
    """Return the deposit velocity of grains so fine that they lie within the viscous sub-layer; coarser ones settle earlier.

    Parameters
    ----------
    pipe_diameter_m : inside.
    kinematic_viscosity_m2_s : of the carrier.
    grain_density_t_m3 : of the grains.
    carrier_density_t_m3 : of the feed slurry.
    """
    settling = np.power(GRAVITY * kinematic_viscosity_m2_s * _excess(grain_density_t_m3, carrier_density_t_m3), 0.37)
    return DepositVelocity(deposit_velocity_m_s=9.0 * settling * np.power(np.divide(pipe_diameter_m, kinematic_viscosity_m2_s), 0.11))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SuspensionYield(Record):
    """Yield stress that holds a grain at rest."""

    yield_stress_needed_pa: FloatArray


@method(
    "slurry.suspension.static_grain",
    formulas={"yield_stress_needed_pa": Formula("tau_need", "9.81 * (rho_s - rho_c) * d / Y")},
    symbols={"yield_factor": "Y"},
    possible={"yield_factor": (1.0, 50.0)},
    valid={"yield_factor": Range(5.0, 12.0, "10 is usual, 20 has been used and is unsafe")},
    requires=(_SINKS,),
    kind="lower bound",
    source=STATIC_SUSPENSION,
    dimensional=True,
)
def static_suspension(grain_size_mm: Number, grain_density_t_m3: Number, carrier_density_t_m3: Number, yield_factor: Number = 10.0) -> SuspensionYield:
    """Return the yield stress that a slurry at rest needs to hold a grain; in motion it holds none.

    Parameters
    ----------
    grain_size_mm : of the grain.
    grain_density_t_m3 : of the grain.
    carrier_density_t_m3 : of the slurry.
    yield_factor : Y, weight over strength at which a grain just stays.
    """
    return SuspensionYield(yield_stress_needed_pa=np.asarray(GRAVITY * np.subtract(grain_density_t_m3, carrier_density_t_m3) * grain_size_mm / yield_factor))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CoarseFriction(Record):
    """Friction of the mixture over that of its carrier."""

    friction_multiplier: FloatArray


@method(
    "slurry.coarse.durand_condolios",
    formulas={"friction_multiplier": Formula("m_c", f"1 + 81 * C_v * (v_p^2 * sqrt(C_D) / (9.81 * D_p * {_RELATIVE}))^(-1.5)")},
    symbols={"friction_multiplier": "m_c", "drag_coefficient": "C_D"},
    possible={"drag_coefficient": (0.05, 1000.0), "velocity_m_s": (0.05, 30.0)},
    valid={"solids_ratio": Range(0.0, 0.25, "range of the tests")},
    requires=(_SINKS,),
    kind="mean",
    source=DURAND_CONDOLIOS_1952,
    dimensional=True,
)
def coarse_durand_condolios(
    velocity_m_s: Number, pipe_diameter_m: Number, grain_density_t_m3: Number, carrier_density_t_m3: Number, solids_ratio: Number, drag_coefficient: Number
) -> CoarseFriction:
    """Return by how much coarse grains in suspension raise the friction, to about 30 per cent either way.

    Parameters
    ----------
    velocity_m_s : mean over the section.
    pipe_diameter_m : inside.
    grain_density_t_m3 : of the grains.
    carrier_density_t_m3 : of the slurry with its fines.
    solids_ratio : coarse grains by volume.
    drag_coefficient : of the median grain.
    """
    weight = GRAVITY * np.asarray(pipe_diameter_m) * _excess(grain_density_t_m3, carrier_density_t_m3)
    return CoarseFriction(friction_multiplier=1 + 81 * solids_ratio * np.power(np.square(velocity_m_s) * np.sqrt(drag_coefficient) / weight, -1.5))


@method(
    "slurry.coarse.newitt_1955",
    formulas={"friction_multiplier": Formula("m_c", f"1 + 66 * C_v * 9.81 * D_p * {_RELATIVE} / v_p^2")},
    symbols={"friction_multiplier": "m_c"},
    possible={"velocity_m_s": (0.05, 30.0)},
    valid={"solids_ratio": Range(0.0, 0.35, "range of the tests")},
    requires=(_SINKS,),
    kind="mean",
    source=NEWITT_1955,
    dimensional=True,
)
def coarse_newitt(
    velocity_m_s: Number, pipe_diameter_m: Number, grain_density_t_m3: Number, carrier_density_t_m3: Number, solids_ratio: Number
) -> CoarseFriction:
    """Return by how much gravel that slides as a bed raises the friction.

    Parameters
    ----------
    velocity_m_s : mean over the section.
    pipe_diameter_m : inside.
    grain_density_t_m3 : of the grains.
    carrier_density_t_m3 : of the slurry with its fines.
    solids_ratio : coarse grains by volume.
    """
    weight = GRAVITY * np.asarray(pipe_diameter_m) * _excess(grain_density_t_m3, carrier_density_t_m3)
    return CoarseFriction(friction_multiplier=1 + 66 * solids_ratio * weight / np.square(velocity_m_s))
