"""Annulus grout and tail seal."""

from tunnelwright.engineering.grout import annulus_flow, check, consolidation, flow, uplift, volume, window

__all__ = ["annulus_flow", "check", "consolidation", "flow", "uplift", "volume", "window"]
