"""A shield that drives through the true ground of Brennholt as its crew reads the plan, and a logger that does not see everything."""

from examples.brennholt.simulator.faults import ALL, KINDS, NONE
from examples.brennholt.simulator.plan_table import PlanRefused
from examples.brennholt.simulator.run import DEFAULT_START, Simulated, simulate

__all__ = ["ALL", "DEFAULT_START", "KINDS", "NONE", "PlanRefused", "Simulated", "simulate"]
