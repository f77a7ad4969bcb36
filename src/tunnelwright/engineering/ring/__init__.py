"""The segmental ring: taper, chain of planes, orientation sequence, next ring, build quality."""

from tunnelwright.engineering.ring import chain, curve, feasibility, geometry, rams, recovery, segment, stagger

__all__ = ["chain", "curve", "feasibility", "geometry", "rams", "recovery", "segment", "stagger"]
