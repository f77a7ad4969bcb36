"""The machine: its choice, thrust and torque, steering, overcut, tools and what its records teach."""

from tunnelwright.engineering.machine.abrasivity import abrasivity_class, equivalent_quartz, grinding_hardness
from tunnelwright.engineering.machine.clogging import clogging, fine_part_water, water_to_target
from tunnelwright.engineering.machine.disc_force import disc_force, disc_penetration
from tunnelwright.engineering.machine.grading import envelope_excess
from tunnelwright.engineering.machine.group_pressures import group_pressures
from tunnelwright.engineering.machine.overcut import articulated_overcut, rigid_overcut, shifted_bore, worn_diameter
from tunnelwright.engineering.machine.rates import cutterhead_power, penetration_of_rates, specific_energy, torque_limited_penetration
from tunnelwright.engineering.machine.response import response_fit
from tunnelwright.engineering.machine.steering import face_moment, mixed_face_moment, ram_moments, roll_capacity, turning_moment, weight_moment
from tunnelwright.engineering.machine.suitability import suitability
from tunnelwright.engineering.machine.thrust import face_thrust, installed_thrust, net_tool_thrust, ring_build_holding, skin_drained, skin_undrained
from tunnelwright.engineering.machine.thrust_sum import thrust_sum
from tunnelwright.engineering.machine.tool_life import gamma_update, tool_interval, tool_survival, weibull_fit
from tunnelwright.engineering.machine.tool_path import tool_drive, tool_path
from tunnelwright.engineering.machine.torque import disc_torque, drive_curve, torque_coefficient_of_record, torque_of_diameter, torque_sum

__all__ = [
    "abrasivity_class",
    "articulated_overcut",
    "clogging",
    "cutterhead_power",
    "disc_force",
    "disc_penetration",
    "disc_torque",
    "drive_curve",
    "envelope_excess",
    "equivalent_quartz",
    "face_moment",
    "face_thrust",
    "fine_part_water",
    "gamma_update",
    "grinding_hardness",
    "group_pressures",
    "installed_thrust",
    "mixed_face_moment",
    "net_tool_thrust",
    "penetration_of_rates",
    "ram_moments",
    "response_fit",
    "rigid_overcut",
    "ring_build_holding",
    "roll_capacity",
    "shifted_bore",
    "skin_drained",
    "skin_undrained",
    "specific_energy",
    "suitability",
    "thrust_sum",
    "tool_drive",
    "tool_interval",
    "tool_path",
    "tool_survival",
    "torque_coefficient_of_record",
    "torque_limited_penetration",
    "torque_of_diameter",
    "torque_sum",
    "turning_moment",
    "water_to_target",
    "weibull_fit",
    "weight_moment",
    "worn_diameter",
]
