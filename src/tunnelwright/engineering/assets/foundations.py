r"""Pile toes about a tunnel, what piles settle, and the bays of a frame between its columns.

   \ 60 | 45 /        A  above the springline and steep: more than the surface
C   \ B | B /   C     B  flatter: about as the surface
     \ A| A/          C  beyond, or below the springline: less
      ( o )           nearer than one diameter: stop
"""

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from tunnelwright.engineering.assets.sources import ANGULAR_DISTORTION, PILE_ENVELOPE, PILE_ZONES
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Remark, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Table, TextArray, Values

PileZone = Literal["A", "B", "C"]

_STEEP_RAD: Final = np.pi / 4
_FLAT_RAD: Final = np.pi / 3
_ZONE_A_FACTOR: Final = 1.2
_ZONE_A_MORE_M: Final = 0.004
_FINISHES: Final = 1 / 500
_PANELS: Final = 1 / 300
_STRUCTURE: Final = 1 / 150
_ROUNDING: Final = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ToeZone(Record):
    """Where a pile's toe stands."""

    pile_zone: TextArray
    angle_from_vertical_rad: FloatArray
    clear_distance_m: FloatArray


@method(
    "assets.pile.zone_screen",
    formulas={
        "angle_from_vertical_rad": Formula("alpha_t", "atan2(max(abs(y_t) - D / 2, 0), z_0 - z_t)"),
        "clear_distance_m": Formula("d_t", "hypot(y_t, z_t - z_0) - D / 2"),
    },
    found_by={
        "pile_zone": Algorithm(
            "stop nearer than one diameter; A above the springline up to 45 degrees from the vertical through the nearer springline point, B up to 60, else C"
        ),
    },
    symbols={"toe_offset_m": "y_t", "toe_depth_m": "z_t"},
    possible={"toe_offset_m": (-1000.0, 1000.0), "toe_depth_m": (0.0, 200.0), "axis_depth_m": (0.5, 400.0)},
    remarks=(
        Remark(lambda v: np.asarray(v["pile_zone"]) == "stop", "stop: the toe is nearer than one diameter or in the way, a special study decides"),
        Remark(lambda v: np.asarray(v["pile_zone"]) == "A", "inner zone: base load is lost, check the capacity that is left before any settlement"),
    ),
    kind="screening",
    source=PILE_ZONES,
)
def zone_screen(toe_offset_m: Number, toe_depth_m: Number, axis_depth_m: Number, excavation_diameter_m: Number) -> ToeZone:
    """Return in which zone about a new tunnel a pile's toe stands.

    Parameters
    ----------
    toe_offset_m : from the tunnel axis, either side.
    toe_depth_m : of the toe.
    axis_depth_m : of the tunnel.
    excavation_diameter_m : cut diameter.
    """
    beside_m = np.maximum(np.abs(toe_offset_m) - np.asarray(excavation_diameter_m) / 2, 0.0)
    angle = np.arctan2(beside_m, np.subtract(axis_depth_m, toe_depth_m))
    clear_m = np.hypot(toe_offset_m, np.subtract(toe_depth_m, axis_depth_m)) - np.asarray(excavation_diameter_m) / 2
    is_above = np.asarray(toe_depth_m) < axis_depth_m
    zone = np.where(is_above & (angle <= _STEEP_RAD + _ROUNDING), "A", np.where(is_above & (angle <= _FLAT_RAD + _ROUNDING), "B", "C"))
    zone = np.where(clear_m < excavation_diameter_m, "stop", zone)
    return ToeZone(pile_zone=np.where(np.isnan(clear_m), "not checked", zone), angle_from_vertical_rad=angle, clear_distance_m=clear_m)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PileSettlement(Record):
    """Bounds of the settlement of a pile's head."""

    settlement_low_m: FloatArray
    settlement_high_m: FloatArray


@method(
    "assets.pile.settlement_envelope",
    formulas={
        "settlement_low_m": Formula("S_low", "min(S_0, S_t)"),
        "settlement_high_m": Formula("S_high", 'max(1.2 * max(S_0, S_t), max(S_0, S_t) + 0.004) if pile_zone == "A" else max(S_0, S_t)'),
    },
    symbols={"surface_settlement_m": "S_0", "toe_settlement_m": "S_t"},
    possible={"surface_settlement_m": (-0.5, 2.0), "toe_settlement_m": (-0.5, 2.0), "settlement_high_m": (-np.inf, np.inf)},
    remarks=(Remark(lambda v: v["pile_zone"] == "A", "the increase in the inner zone is doubtful: check the base capacity first"),),
    kind="mean",
    source=PILE_ENVELOPE,
    dimensional=True,
)
def settlement_envelope(surface_settlement_m: Number, toe_settlement_m: Number, pile_zone: PileZone) -> PileSettlement:
    """Return between which settlements the head of a pile will lie.

    Parameters
    ----------
    surface_settlement_m : of the ground at the pile, which a friction pile follows.
    toe_settlement_m : of the ground at the toe, which an end-bearing pile follows.
    pile_zone : where the toe stands.
    """
    high_m = np.maximum(surface_settlement_m, toe_settlement_m)
    if pile_zone == "A":
        high_m = np.maximum(_ZONE_A_FACTOR * high_m, high_m + _ZONE_A_MORE_M)
    return PileSettlement(settlement_low_m=np.minimum(surface_settlement_m, toe_settlement_m), settlement_high_m=high_m)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Columns(Table):
    """Columns of a frame in one line; leading axes run over frames or stages."""

    position_m: FloatArray
    settlement_m: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FrameDistortion(Record):
    """Greatest slope of a bay less the tilt of the whole."""

    angular_distortion: FloatArray
    state: TextArray


def _stand_apart(values: Values) -> bool:
    position_m = np.sort(values["columns"].position_m, axis=-1)
    return bool(position_m.shape[-1] >= 2 and np.all(~(np.diff(position_m, axis=-1) <= 0)))


def _breaks(values: Values) -> NDArray[np.bool_]:
    return np.asarray(values["angular_distortion"]) >= _STRUCTURE * (1 - _ROUNDING)


@method(
    "assets.frame.angular_distortion",
    found_by={
        "angular_distortion": Algorithm("greatest size of slope less tilt over the bays", "beta_d"),
        "state": Algorithm("watch from 1/500 on, where finishes crack, act from 1/300 on, where panels crack"),
    },
    possible={"position_m": (-1e5, 1e5)},
    requires=(Require("columns", _stand_apart, "must hold two columns or more at different places"),),
    remarks=(Remark(_breaks, "1/150 reached: damage to the structure is likely"),),
    kind="mean",
    source=ANGULAR_DISTORTION,
)
def angular_distortion(columns: Columns, tilt: Number = 0.0) -> FrameDistortion:
    """Return the greatest angular distortion between neighbouring columns.

    Parameters
    ----------
    columns : position and settlement, in any order.
    tilt : rigid tilt of the frame to take off, positive where settlement grows with position.
    """
    order = np.argsort(columns.position_m, axis=-1, kind="stable")
    position_m, settlement_m = (np.take_along_axis(one, order, axis=-1) for one in (columns.position_m, columns.settlement_m))
    slope = np.diff(settlement_m, axis=-1) / np.diff(position_m, axis=-1)
    distortion = np.max(np.abs(slope - np.asarray(tilt)[..., None]), axis=-1)
    limits = np.array([_FINISHES, _PANELS]) * (1 - _ROUNDING)
    state = np.where(distortion >= limits[1], "act", np.where(distortion >= limits[0], "watch", "in order"))
    return FrameDistortion(angular_distortion=distortion, state=np.where(np.isnan(distortion), "not checked", state))
