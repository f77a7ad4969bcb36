"""Paths of tools: how far a tool at a radius travels while the shield advances."""

from dataclasses import dataclass

import numpy as np

from tunnelwright.engineering.machine.sources import GEOMETRY
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Require, Rows, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Table


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DriveSegments(Table):
    """Stretches of the drive with their penetration, one row each."""

    distance_m: FloatArray
    penetration_mm_rev: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ToolPath(Record):
    """Turns of the head and path of one tool."""

    turn_count: FloatArray
    tool_path_km: FloatArray


@method(
    "machine.tool.path_length",
    found_by={"turn_count": Rows("segments", "n_turn", "previous + 1000 * x_i / p_rev")},
    formulas={"tool_path_km": Formula("s_t", "2 * pi * r_t * n_turn / 1000")},
    symbols={"turn_count": "n_turn", "distance_m": "x_i"},
    possible={"distance_m": (0.0, 1e5)},
    requires=(Require("segments", lambda v: v["segments"].penetration_mm_rev > 0, "penetration must be more than 0 in every row"),),
    kind="identity",
    source=GEOMETRY,
)
def tool_path(segments: DriveSegments, tool_radius_m: Number) -> ToolPath:
    """Return the turns of the head and the path of a tool over stretches of the drive.

    Parameters
    ----------
    segments : length and mean advance per turn of each stretch.
    tool_radius_m : distance of the tool from the axis.
    """
    turns = np.sum(1000 * segments.distance_m / segments.penetration_mm_rev, axis=-1)
    return ToolPath(turn_count=np.asarray(turns), tool_path_km=np.asarray(2 * np.pi * np.multiply(tool_radius_m, turns) / 1000))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ToolDrive(Record):
    """How far the shield drives on one tool."""

    drive_length_m: FloatArray


@method(
    "machine.tool.drive_length",
    formulas={"drive_length_m": Formula("x_life", "s_life * p_rev / (2 * pi * r_t)")},
    symbols={"tool_life_km": "s_life"},
    possible={"tool_life_km": (0.0, 1e5)},
    kind="identity",
    source=GEOMETRY,
)
def tool_drive(tool_life_km: Number, tool_radius_m: Number, penetration_mm_rev: Number) -> ToolDrive:
    """Return how far the shield drives while a tool lives.

    Parameters
    ----------
    tool_life_km : path that the tool bears.
    tool_radius_m : distance of the tool from the axis.
    penetration_mm_rev : advance per turn.
    """
    return ToolDrive(drive_length_m=np.asarray(np.multiply(tool_life_km, penetration_mm_rev) / (2 * np.pi * np.asarray(tool_radius_m))))
