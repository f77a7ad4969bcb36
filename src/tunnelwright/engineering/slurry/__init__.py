"""Slurry: balance of the excavation, hydraulics of the circuit, air bubble, separation and re-use."""

from tunnelwright.engineering.slurry.balance import (
    bypass_zero,
    dry_solids,
    expected_excavation,
    mass_difference,
    solids_spread,
    two_hypotheses,
    volume_difference,
)
from tunnelwright.engineering.slurry.bubble import axis_pressure, compression, gas_balance
from tunnelwright.engineering.slurry.circuit import feed_flow_required, pipe_lag, return_stream
from tunnelwright.engineering.slurry.deposit import (
    coarse_durand_condolios,
    coarse_newitt,
    deposit_durand,
    deposit_thomas,
    deposit_wasp,
    deposit_wilson,
    deposit_wilson_nnadi,
    static_suspension,
)
from tunnelwright.engineering.slurry.laminar import laminar_flow, pipe_numbers, two_point_rheology
from tunnelwright.engineering.slurry.plant import filter_presses, mixture_density, ring_water, separation, solids_rate, tank_balance
from tunnelwright.engineering.slurry.pumps import booster_plan, line_pressure, suction_head, water_hammer
from tunnelwright.engineering.slurry.transition import hanks_transition, slatter_wasp_transition
from tunnelwright.engineering.slurry.turbulent import colebrook_white, darby_melson, dodge_metzner, hedstrom_plastic_viscosity, wilson_thomas

__all__ = [
    "axis_pressure",
    "booster_plan",
    "bypass_zero",
    "coarse_durand_condolios",
    "coarse_newitt",
    "colebrook_white",
    "compression",
    "darby_melson",
    "deposit_durand",
    "deposit_thomas",
    "deposit_wasp",
    "deposit_wilson",
    "deposit_wilson_nnadi",
    "dodge_metzner",
    "dry_solids",
    "expected_excavation",
    "feed_flow_required",
    "filter_presses",
    "gas_balance",
    "hanks_transition",
    "hedstrom_plastic_viscosity",
    "laminar_flow",
    "line_pressure",
    "mass_difference",
    "mixture_density",
    "pipe_lag",
    "pipe_numbers",
    "return_stream",
    "ring_water",
    "separation",
    "slatter_wasp_transition",
    "solids_rate",
    "solids_spread",
    "static_suspension",
    "suction_head",
    "tank_balance",
    "two_hypotheses",
    "two_point_rheology",
    "volume_difference",
    "water_hammer",
    "wilson_thomas",
]
