"""Annulus grout and tail seal."""

from tunnelwright.engineering.grout import check, volume, window

__all__ = ["check", "volume", "window"]
