"""The project's models: frozen, checked field by field; `checks` sets the parts against each other."""

from tunnelwright.drive.fields import Part
from tunnelwright.drive.project.assets import Asset
from tunnelwright.drive.project.calendar import Calendar, Closure, Shift
from tunnelwright.drive.project.drives import AxisStart, DesignAxis, Drive, Element, Twin, Vertex
from tunnelwright.drive.project.ground import Aquifer, Borehole, FreeWater, Ground, HeadPoint, Lens, Pick, Piezometer, SurfacePoint, Unit
from tunnelwright.drive.project.machines import BeltWeigher, ChamberSensor, Grouting, GroutPort, Machine, RamGroup, Rams, Screw, SlurryCircuit
from tunnelwright.drive.project.models import Project
from tunnelwright.drive.project.ring_types import RingType
from tunnelwright.drive.project.spread import DEFAULT_VARIATION, Spread

__all__ = [
    "DEFAULT_VARIATION",
    "Aquifer",
    "Asset",
    "AxisStart",
    "BeltWeigher",
    "Borehole",
    "Calendar",
    "ChamberSensor",
    "Closure",
    "DesignAxis",
    "Drive",
    "Element",
    "FreeWater",
    "Ground",
    "GroutPort",
    "Grouting",
    "HeadPoint",
    "Lens",
    "Machine",
    "Part",
    "Pick",
    "Piezometer",
    "Project",
    "RamGroup",
    "Rams",
    "RingType",
    "Screw",
    "Shift",
    "SlurryCircuit",
    "Spread",
    "SurfacePoint",
    "Twin",
    "Unit",
    "Vertex",
]
