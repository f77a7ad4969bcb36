"""The ground along a drive: stresses, water, boundaries, what the face shows, and the spread of all of it."""

from tunnelwright.engineering.ground.boundary import AxisPolyline, Picks, borehole_projection, boundary_in_face, bridge, semivariogram_slope
from tunnelwright.engineering.ground.characteristic import characteristic_en_1997_1, characteristic_schneider, design_strength
from tunnelwright.engineering.ground.classification import classification, grading, plasticity
from tunnelwright.engineering.ground.earth_pressure import Footprints, at_rest_en_1997_1, jaky, mayne_kulhawy, newmark, two_to_one
from tunnelwright.engineering.ground.face import Boundaries, cover, cutter_arc, face_segments, mixed_face
from tunnelwright.engineering.ground.face_fraction import upper_fraction
from tunnelwright.engineering.ground.kriging import simple_kriging, universal_kriging
from tunnelwright.engineering.ground.permeability import carrier, drainage_class, hazen, layered_permeability
from tunnelwright.engineering.ground.spread import lognormal, total_spread, variance_reduction_markov, variance_reduction_squared_exponential
from tunnelwright.engineering.ground.strength import (
    friction_from_cone,
    friction_from_spt,
    history_from_cone,
    linear_depth,
    spt_correction,
    strength_from_cone,
    strength_from_history,
    strength_from_spt,
)
from tunnelwright.engineering.ground.stress import WeightLayers, layered_stress
from tunnelwright.engineering.ground.water import PermeableLayers, PorePressures, aquitard_flow, heave_check, hydrostatic, measured_profile, tidal_wave

__all__ = [
    "AxisPolyline",
    "Boundaries",
    "Footprints",
    "PermeableLayers",
    "Picks",
    "PorePressures",
    "WeightLayers",
    "aquitard_flow",
    "at_rest_en_1997_1",
    "borehole_projection",
    "boundary_in_face",
    "bridge",
    "carrier",
    "characteristic_en_1997_1",
    "characteristic_schneider",
    "classification",
    "cover",
    "cutter_arc",
    "design_strength",
    "drainage_class",
    "face_segments",
    "friction_from_cone",
    "friction_from_spt",
    "grading",
    "hazen",
    "heave_check",
    "history_from_cone",
    "hydrostatic",
    "jaky",
    "layered_permeability",
    "layered_stress",
    "linear_depth",
    "lognormal",
    "mayne_kulhawy",
    "measured_profile",
    "mixed_face",
    "newmark",
    "plasticity",
    "semivariogram_slope",
    "simple_kriging",
    "spt_correction",
    "strength_from_cone",
    "strength_from_history",
    "strength_from_spt",
    "tidal_wave",
    "total_spread",
    "two_to_one",
    "universal_kriging",
    "upper_fraction",
    "variance_reduction_markov",
    "variance_reduction_squared_exponential",
]
