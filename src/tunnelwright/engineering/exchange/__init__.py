"""Arithmetic of file formats: what readers and writers compute, callable alone with numbers."""

from tunnelwright.engineering.exchange import arc, boundary, plan, surface, vertical, written

__all__ = ["arc", "boundary", "plan", "surface", "vertical", "written"]
