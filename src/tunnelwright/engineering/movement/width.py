"""Volume of the trough and its width at the surface.

~~~~~~~~~~~ surface                     K_1, h_1
-----------                             K_2, h_2 ... cut at the axis
     o      axis, depth z_0             i = K z_0  or  i = K_1 h_1 + K_2 h_2 + ...
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from tunnelwright.engineering.ground.rows import overlap_m, summed, tops_and_bases
from tunnelwright.engineering.movement.sources import GROUND_LOSS, NEW_OREILLY_1991, OREILLY_NEW_1982
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Range, Remark, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Table, Values

USUAL_FACTOR: Final = Range(0.2, 0.9, "outside it is no trough of lost ground but consolidation, a chimney or a stiff crust")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TroughVolume(Record):
    """Ground lost per metre of drive."""

    trough_volume_m3_m: FloatArray


@method(
    "movement.trough_volume.volume_loss",
    formulas={"trough_volume_m3_m": Formula("V_s", "V_L * pi / 4 * D^2")},
    valid={"volume_loss": Range(0.0, 0.05, "short term, one drive")},
    kind="identity",
    source=GROUND_LOSS,
)
def trough_volume(volume_loss: Number, excavation_diameter_m: Number) -> TroughVolume:
    """Return the volume of the trough per metre of drive.

    Parameters
    ----------
    volume_loss : of the area that is cut; negative is heave.
    excavation_diameter_m : cut diameter, not the lining's.
    """
    return TroughVolume(trough_volume_m3_m=volume_loss * np.pi / 4 * np.square(excavation_diameter_m))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SurfaceWidth(Record):
    """Width of the trough at the surface."""

    trough_width_m: FloatArray


@method(
    "movement.trough_width.oreilly_new_1982",
    formulas={"trough_width_m": Formula("i", "K * z_0")},
    symbols={"trough_width_factor": "K"},
    valid={"trough_width_factor": USUAL_FACTOR},
    kind="mean",
    source=OREILLY_NEW_1982,
)
def surface_width(trough_width_factor: Number, axis_depth_m: Number) -> SurfaceWidth:
    """Return the width of the trough at the surface in one kind of ground.

    Parameters
    ----------
    trough_width_factor : 0.4 to 0.7 from stiff to soft clay, 0.2 to 0.45 in sand and gravel.
    axis_depth_m : surface to axis, not the cover.
    """
    return SurfaceWidth(trough_width_m=np.multiply(trough_width_factor, axis_depth_m))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WidthLayers(Table):
    """Layers from the surface down; leading axes run over places."""

    thickness_m: FloatArray
    trough_width_factor: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LayeredWidth(Record):
    """Width of the trough at the surface over layers and the factor that gives it."""

    trough_width_m: FloatArray
    trough_width_factor: FloatArray


def _between_least_and_greatest(values: Values) -> FloatArray:
    layers: WidthLayers = values["layers"]
    # A row without thickness says nothing, so its factor bounds nothing.
    factor = np.where(layers.thickness_m > 0, layers.trough_width_factor, np.nan)
    found = np.asarray(values["trough_width_factor"])
    within = (found >= np.nanmin(factor, axis=-1) - 1e-9) & (found <= np.nanmax(factor, axis=-1) + 1e-9)
    return np.asarray(within | np.isnan(found))


def _ends_above_axis(values: Values) -> FloatArray:
    return np.asarray(np.sum(values["layers"].thickness_m, axis=-1) < np.asarray(values["axis_depth_m"]) * (1 - 1e-9))


@method(
    "movement.trough_width.layered_new_oreilly_1991",
    found_by={
        "trough_width_m": Algorithm("sum of factor times thickness over the layers between surface and axis", "i"),
        "trough_width_factor": Algorithm("width over axis depth", "K", {"between the least and the greatest factor": _between_least_and_greatest}),
    },
    possible={"axis_depth_m": (0.5, 400.0)},
    valid={"trough_width_factor": USUAL_FACTOR},
    remarks=(Remark(_ends_above_axis, "the layers end above the axis: the last one was taken to reach down to it"),),
    kind="mean",
    source=NEW_OREILLY_1991,
)
def layered_width(layers: WidthLayers, axis_depth_m: Number) -> LayeredWidth:
    """Return the width of the trough at the surface over layered ground.

    Parameters
    ----------
    layers : top down; what lies below the axis is ignored.
    axis_depth_m : surface to axis.

    Notes
    -----
    Measurements support the sum for sand over clay, less for clay over sand.
    """
    top_m, base_m = tops_and_bases(layers.thickness_m, last_reaches_down=True)
    width_m = summed(overlap_m(top_m, base_m, np.zeros_like(axis_depth_m), axis_depth_m), layers.trough_width_factor)
    return LayeredWidth(trough_width_m=width_m, trough_width_factor=width_m / axis_depth_m)
