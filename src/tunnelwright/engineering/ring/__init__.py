"""The segmental ring: taper, chain of planes, orientation sequence, next ring, build quality."""

from tunnelwright.engineering.ring import chain, geometry

__all__ = ["chain", "geometry"]
