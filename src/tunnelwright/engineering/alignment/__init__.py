"""The designed axis of a drive, and where a point lies relative to it."""

from tunnelwright.engineering.alignment.chain import AxisInPlan, Deflections, IntersectionPoints, chain, deflections
from tunnelwright.engineering.alignment.elements import arc, clothoid_parameter, cubic_parabola, element_point, transition_arc_transition
from tunnelwright.engineering.alignment.labels import LabelZones, distance_to_label, label_to_distance
from tunnelwright.engineering.alignment.offsets import cant_ramp_kink, cant_shift, parallel
from tunnelwright.engineering.alignment.plan_curve import Elements, PlanCurve
from tunnelwright.engineering.alignment.points import grid_bearing, ground_length, plumb_to_square, point_deviation
from tunnelwright.engineering.alignment.profile import Vertices, profile, ring_chainages
from tunnelwright.engineering.alignment.projection import project_point
from tunnelwright.engineering.alignment.space import axis_frame, space_curvature, space_length
from tunnelwright.engineering.alignment.vertical import unsymmetrical_parabola, vertical_circle, vertical_parabola

__all__ = [
    "AxisInPlan",
    "Deflections",
    "Elements",
    "IntersectionPoints",
    "LabelZones",
    "PlanCurve",
    "Vertices",
    "arc",
    "axis_frame",
    "cant_ramp_kink",
    "cant_shift",
    "chain",
    "clothoid_parameter",
    "cubic_parabola",
    "deflections",
    "distance_to_label",
    "element_point",
    "grid_bearing",
    "ground_length",
    "label_to_distance",
    "parallel",
    "plumb_to_square",
    "point_deviation",
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
