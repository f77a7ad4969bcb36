"""The designed axis of a drive, and where a point lies relative to it."""

from tunnelwright.engineering.alignment.chain import AxisInPlan, Deflections, IntersectionPoints, chain, deflections
from tunnelwright.engineering.alignment.elements import arc, clothoid_parameter, cubic_parabola, element_point, transition_arc_transition
from tunnelwright.engineering.alignment.plan_curve import Elements, PlanCurve
from tunnelwright.engineering.alignment.profile import Vertices, profile, ring_chainages
from tunnelwright.engineering.alignment.projection import project_point
from tunnelwright.engineering.alignment.space import axis_frame, space_curvature, space_length
from tunnelwright.engineering.alignment.vertical import unsymmetrical_parabola, vertical_circle, vertical_parabola

__all__ = [
    "AxisInPlan",
    "Deflections",
    "Elements",
    "IntersectionPoints",
    "PlanCurve",
    "Vertices",
    "arc",
    "axis_frame",
    "chain",
    "clothoid_parameter",
    "cubic_parabola",
    "deflections",
    "element_point",
    "profile",
    "project_point",
    "ring_chainages",
    "space_curvature",
    "space_length",
    "transition_arc_transition",
    "unsymmetrical_parabola",
    "vertical_circle",
    "vertical_parabola",
]
