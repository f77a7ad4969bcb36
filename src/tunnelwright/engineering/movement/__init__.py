"""Ground movement above a drive."""

from tunnelwright.engineering.movement.trough import SettlementTrough, gaussian_trough

__all__ = ["SettlementTrough", "gaussian_trough"]
