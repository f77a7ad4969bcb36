"""The ring cycle: time, energy and quantities of one ring."""

from tunnelwright.engineering.cycle import energy, rate, ring

__all__ = ["energy", "rate", "ring"]
