"""The plan of a drive: what face, belt and grout pumps should show, push by push and ring by ring."""

from tunnelwright.drive.plan.face import FacePlan, Stations, StationWindow
from tunnelwright.drive.plan.grout import GroutPlan
from tunnelwright.drive.plan.model import Plan, plan_drive, push_at_face
from tunnelwright.drive.plan.muck import MuckPlan

__all__ = ["FacePlan", "GroutPlan", "MuckPlan", "Plan", "StationWindow", "Stations", "plan_drive", "push_at_face"]
