"""Buildings, pipes, piles, tracks and tunnels that the ground moves: what they strain and what they bear."""

from tunnelwright.engineering.assets.beam import BeamStrain, burland_wroth, limiting_deflection_ratio, principal_strain_height
from tunnelwright.engineering.assets.categories import category_of, damage_category, lognormal_probability, rankin
from tunnelwright.engineering.assets.facade import FacadeStrain, StagedFacadeStrain, facade_straight_drives, facade_worst_stage
from tunnelwright.engineering.assets.field import StraightDrives
from tunnelwright.engineering.assets.foundations import Columns, angular_distortion, settlement_envelope, zone_screen
from tunnelwright.engineering.assets.lines import existing_tunnel, jointed_rigid_units, track_geometry
from tunnelwright.engineering.assets.permitted import permitted_volume_loss
from tunnelwright.engineering.assets.pipes import axial_slip, curvature_factor, flexible_pipe, klar_pipe, troughs_pipe, vesic_pipe
from tunnelwright.engineering.assets.probability import sampled_categories
from tunnelwright.engineering.assets.springs import Troughs, beam_on_springs
from tunnelwright.engineering.assets.stiffness import franzius, potts_addenbrooke, vesic_spring
from tunnelwright.engineering.assets.strain_state import son_cording
from tunnelwright.engineering.assets.zones import LineSamples, LineZones, cut_line, gaussian_cuts

__all__ = [
    "BeamStrain",
    "Columns",
    "FacadeStrain",
    "LineSamples",
    "LineZones",
    "StagedFacadeStrain",
    "StraightDrives",
    "Troughs",
    "angular_distortion",
    "axial_slip",
    "beam_on_springs",
    "burland_wroth",
    "category_of",
    "curvature_factor",
    "cut_line",
    "damage_category",
    "existing_tunnel",
    "facade_straight_drives",
    "facade_worst_stage",
    "flexible_pipe",
    "franzius",
    "gaussian_cuts",
    "jointed_rigid_units",
    "klar_pipe",
    "limiting_deflection_ratio",
    "lognormal_probability",
    "permitted_volume_loss",
    "potts_addenbrooke",
    "principal_strain_height",
    "rankin",
    "sampled_categories",
    "settlement_envelope",
    "son_cording",
    "track_geometry",
    "troughs_pipe",
    "vesic_pipe",
    "vesic_spring",
    "zone_screen",
]
