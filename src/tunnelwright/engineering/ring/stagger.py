"""Joints against joints of the neighbour ring, and against the pads of the rams."""

from dataclasses import dataclass
from typing import Final

import numpy as np

from tunnelwright.engineering.places import each_place
from tunnelwright.engineering.ring.sources import JOINT_PATTERN
from tunnelwright.vocabulary.method import Algorithm, Require, method
from tunnelwright.vocabulary.types import Count, FloatArray, Number, Record, Series, Values

# Joints and dowels often share one division of the turn: a stagger just met must not fail by rounding.
_ROUNDING_RAD: Final = 1e-9


def circular_distance(first_rad: FloatArray, second_rad: FloatArray) -> FloatArray:
    """Return the distance of clock angles the short way round, 0 to pi."""
    return np.asarray(np.abs(np.mod(first_rad - second_rad + np.pi, 2 * np.pi) - np.pi))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class AllowedTurns(Record):
    """Relative turns that keep joints apart, and the least distance of joints at each turn."""

    allowed_turns: Series
    stagger_rad: Series


def not_empty(name: str) -> Require:
    """Return the condition that a list has entries."""
    return Require(name, lambda v: v[name].shape[-1] > 0, "must have one entry or more")


def _has_place_for_joints(values: Values) -> bool:
    return bool(np.all(np.abs(values["joint_angles_rad"]) <= 2 * np.pi + 1e-9))


@method(
    "ring.stagger.allowed_turns",
    found_by={
        "allowed_turns": Algorithm(
            "turns by whole positions at which no joint of the one ring comes closer to a joint of the other than the least stagger",
            "k",
            {"turns count from 0 to one less than the positions": lambda v: ~(v["allowed_turns"] >= v["position_count"]) & ~(v["allowed_turns"] < 0)},
        ),
        "stagger_rad": Algorithm(
            "least circular distance between the joints and the same joints turned, for each turn from 0",
            "delta_s",
            {
                "in line without a turn": lambda v: np.abs(v["stagger_rad"][..., 0]) < 1e-12,
                "a turn either way is the same": lambda v: np.allclose(v["stagger_rad"][..., 1:], v["stagger_rad"][..., :0:-1], equal_nan=True),
            },
        ),
    },
    requires=(
        not_empty("joint_angles_rad"),
        Require("position_count", lambda v: v["position_count"] >= 1, "must be 1 or more"),
        Require("joint_angles_rad", _has_place_for_joints, "must lie within one turn of the key"),
    ),
    kind="identity",
    source=JOINT_PATTERN,
)
def allowed_turns(joint_angles_rad: Series, position_count: Count, minimum_stagger_rad: Number) -> AllowedTurns:
    """Return by how many positions a ring may be turned against its neighbour without joints in line.

    Parameters
    ----------
    joint_angles_rad : lengthwise joints of the ring, from the key's centre.
    position_count : orientations round the turn.
    minimum_stagger_rad : least distance of the joints of neighbouring rings, arc over radius.
    """

    def turns(minimum: float, joints: FloatArray) -> tuple[FloatArray, FloatArray]:
        turned = joints + 2 * np.pi * np.arange(position_count)[:, None] / position_count
        stagger = circular_distance(turned[:, :, None], joints).min(axis=(1, 2))
        return np.flatnonzero(stagger >= minimum - _ROUNDING_RAD).astype(np.float64), stagger

    turn, stagger = each_place(turns, 2, [minimum_stagger_rad], [joint_angles_rad])
    return AllowedTurns(allowed_turns=turn, stagger_rad=stagger)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PadMargin(Record):
    """How far ram pads stay clear of lengthwise joints."""

    smallest_margin_rad: FloatArray
    bridged_pad_count: FloatArray


@method(
    "ring.stagger.ram_pads",
    found_by={
        "smallest_margin_rad": Algorithm("least circular distance between pad centres and joints, both with their roll, less half a pad", "m_pad"),
        "bridged_pad_count": Algorithm(
            "pads that come closer to a joint than the margin asked for",
            "n_b",
            {"no pad is counted without joints near": lambda v: v["bridged_pad_count"] >= 0},
        ),
    },
    requires=(not_empty("pad_clock_angle_rad"), not_empty("joint_clock_angle_rad")),
    possible={"pad_half_width_rad": (0.0, 1.6), "shield_roll_rad": (-0.5, 0.5), "ring_roll_rad": (-0.5, 0.5), "margin_rad": (0.0, 1.0)},
    kind="identity",
    source=JOINT_PATTERN,
)
def ram_pads(
    pad_clock_angle_rad: Series,
    pad_half_width_rad: Number,
    joint_clock_angle_rad: Series,
    shield_roll_rad: Number = 0.0,
    ring_roll_rad: Number = 0.0,
    margin_rad: Number = 0.0,
) -> PadMargin:
    """Return how far the pads of the rams stay clear of lengthwise joints, and how many do not.

    Parameters
    ----------
    pad_clock_angle_rad : centres of the pads as marked on the shield.
    pad_half_width_rad : half the angle that a pad covers.
    joint_clock_angle_rad : joints as marked on the ring in its orientation.
    shield_roll_rad : clockwise positive.
    ring_roll_rad : clockwise positive.
    margin_rad : asked for between pad edge and joint; a pad with less is counted as bridging.
    """
    relative_roll = np.subtract(shield_roll_rad, ring_roll_rad)[..., None, None]
    distance = circular_distance(pad_clock_angle_rad[..., :, None] + relative_roll, joint_clock_angle_rad[..., None, :])
    margin = distance.min(axis=-1) - np.asarray(pad_half_width_rad)[..., None]
    is_bridged = margin < np.asarray(margin_rad)[..., None] - _ROUNDING_RAD
    return PadMargin(smallest_margin_rad=margin.min(axis=-1), bridged_pad_count=is_bridged.sum(axis=-1).astype(np.float64))
