"""Ground movement above a drive: how much, how wide, at which depth, when, and what the readings say of it."""

from tunnelwright.engineering.movement.bayes import Posterior, bayes_grid, bayes_linear
from tunnelwright.engineering.movement.consolidation import CompressibleLayers, one_dimensional
from tunnelwright.engineering.movement.contributions import LossContributions, loss_contributions
from tunnelwright.engineering.movement.depth import DepthModel, HorizontalFocus, WidthAtDepth, constant_factor, mair_scaled, moh, width_and_focus
from tunnelwright.engineering.movement.elastic import closing_and_flattening, gap_closing, point_sinks
from tunnelwright.engineering.movement.field import GroundPoints, PointMovement, RingSources, ring_sum
from tunnelwright.engineering.movement.fit import TroughFit, TroughReadings, least_squares
from tunnelwright.engineering.movement.longitudinal import DriveMovement, drive_movement, effective_face, line_strain
from tunnelwright.engineering.movement.loss import cavity_loss, gap_loss, load_factor_loss, typical_loss
from tunnelwright.engineering.movement.release import single_lag, staged
from tunnelwright.engineering.movement.shapes import modified_trough, unequal_limbs
from tunnelwright.engineering.movement.trigger import TimedReadings, developed_forecast, settlement_rate, trigger_levels
from tunnelwright.engineering.movement.trough import SettlementTrough, gaussian_trough
from tunnelwright.engineering.movement.twin import disturbed, superposition
from tunnelwright.engineering.movement.width import WidthLayers, layered_width, surface_width, trough_volume

__all__ = [
    "CompressibleLayers",
    "DepthModel",
    "DriveMovement",
    "GroundPoints",
    "HorizontalFocus",
    "LossContributions",
    "PointMovement",
    "Posterior",
    "RingSources",
    "SettlementTrough",
    "TimedReadings",
    "TroughFit",
    "TroughReadings",
    "WidthAtDepth",
    "WidthLayers",
    "bayes_grid",
    "bayes_linear",
    "cavity_loss",
    "closing_and_flattening",
    "constant_factor",
    "developed_forecast",
    "disturbed",
    "drive_movement",
    "effective_face",
    "gap_closing",
    "gap_loss",
    "gaussian_trough",
    "layered_width",
    "least_squares",
    "line_strain",
    "load_factor_loss",
    "loss_contributions",
    "mair_scaled",
    "modified_trough",
    "moh",
    "one_dimensional",
    "point_sinks",
    "ring_sum",
    "settlement_rate",
    "single_lag",
    "staged",
    "superposition",
    "surface_width",
    "trigger_levels",
    "trough_volume",
    "typical_loss",
    "unequal_limbs",
    "width_and_focus",
]
