"""Face support: lower limit, upper limit, medium, target."""

from tunnelwright.engineering.face import air, cushion, epb, probability, selfconsistent, siblings, slurry, target, undrained, upper, water, window
from tunnelwright.engineering.face.silo import SiloLayers, janssen_silo
from tunnelwright.engineering.face.wedge import FaceLayers, search_slip_angle, wedge_silo, wedge_slices

__all__ = [
    "FaceLayers",
    "SiloLayers",
    "air",
    "cushion",
    "epb",
    "janssen_silo",
    "probability",
    "search_slip_angle",
    "selfconsistent",
    "siblings",
    "slurry",
    "target",
    "undrained",
    "upper",
    "water",
    "wedge_silo",
    "wedge_slices",
    "window",
]
