"""Muck: what to expect on the belt, what came, and the ways in which the two can part."""

from tunnelwright.engineering.muck.balance import chamber_lag, ring_excess, running_mean, two_windows, weigher_scale
from tunnelwright.engineering.muck.chamber import chamber_gradient, linear_response, mixture_stiffness, standstill_pressure, top_up, volume_step
from tunnelwright.engineering.muck.foam import foam, foam_ratio_of_grading, released_gas
from tunnelwright.engineering.muck.gas_balance import gas_balance
from tunnelwright.engineering.muck.logistics import belt_rate, pit_simulation, skips
from tunnelwright.engineering.muck.mass import expected_mass, expected_mass_sampled, expected_mass_spread, mass_sum_spread
from tunnelwright.engineering.muck.screw import (
    frictional_plug,
    required_screw_speed,
    screw_efficiency,
    screw_leakage,
    screw_torque,
    screw_turn,
    shear_plug,
)
from tunnelwright.engineering.muck.volume import cut_volume, layer_areas, loose_muck, mass_in_situ, phase_relations

__all__ = [
    "belt_rate",
    "chamber_gradient",
    "chamber_lag",
    "cut_volume",
    "expected_mass",
    "expected_mass_sampled",
    "expected_mass_spread",
    "foam",
    "foam_ratio_of_grading",
    "frictional_plug",
    "gas_balance",
    "layer_areas",
    "linear_response",
    "loose_muck",
    "mass_in_situ",
    "mass_sum_spread",
    "mixture_stiffness",
    "phase_relations",
    "pit_simulation",
    "released_gas",
    "required_screw_speed",
    "ring_excess",
    "running_mean",
    "screw_efficiency",
    "screw_leakage",
    "screw_torque",
    "screw_turn",
    "shear_plug",
    "skips",
    "standstill_pressure",
    "top_up",
    "two_windows",
    "volume_step",
    "weigher_scale",
]
