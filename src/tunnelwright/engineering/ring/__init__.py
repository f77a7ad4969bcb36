"""The segmental ring: taper, chain of planes, orientation sequence, next ring, build quality."""

from tunnelwright.engineering.ring import chain, curve, feasibility, geometry, next_ring, rams, recovery, segment, sequence, stagger, survey

__all__ = ["chain", "curve", "feasibility", "geometry", "next_ring", "rams", "recovery", "segment", "sequence", "stagger", "survey"]
