"""Rigid motions from one ring plane to the next.

Axes forward, right, down; a pose is a 4 x 4 matrix whose first column is the plane's normal and whose last column is its centre.
All functions broadcast over leading axes.
"""

from typing import Final

import numpy as np

from tunnelwright.engineering.ring.geometry import TaperKind
from tunnelwright.vocabulary.types import FloatArray, Number

_EYE: Final = np.eye(4)


def _blank(*numbers: Number) -> FloatArray:
    shape = np.broadcast_shapes(*(np.shape(one) for one in numbers))
    return np.broadcast_to(_EYE, (*shape, 4, 4)).copy()


def _turn(angle_rad: Number, first: int, second: int) -> FloatArray:
    """Return the turn that carries the first axis towards the second."""
    turned = _blank(angle_rad)
    cosine, sine = np.cos(angle_rad), np.sin(angle_rad)
    turned[..., first, first] = turned[..., second, second] = cosine
    turned[..., second, first], turned[..., first, second] = sine, -sine
    return turned


def roll_turn(angle_rad: Number) -> FloatArray:
    """Return a turn about the forward axis, clockwise looking forward."""
    return _turn(angle_rad, 1, 2)


def pitch_turn(angle_rad: Number) -> FloatArray:
    """Return a turn about the right axis, nose up positive."""
    return _turn(angle_rad, 2, 0)


def heading_turn(angle_rad: Number) -> FloatArray:
    """Return a turn about the down axis, to the right positive."""
    return _turn(angle_rad, 0, 1)


def advance(distance_m: Number) -> FloatArray:
    """Return a move along the forward axis."""
    moved = _blank(distance_m)
    moved[..., 0, 3] = distance_m
    return moved


def ring_motion(wedge_rad: Number, ring_length_m: Number, widest_clock_angle_rad: Number, taper_kind: TaperKind) -> FloatArray:
    """Return the motion from a ring's rear plane to its front plane.

    The closing turn back by the orientation keeps the dowel pattern as it was: without it the next orientation would not count from the crown
    and the tunnel would spiral.
    """
    there, back = roll_turn(widest_clock_angle_rad), roll_turn(np.negative(widest_clock_angle_rad))
    if taper_kind == "double":
        half = pitch_turn(np.negative(wedge_rad) / 2)
        return there @ half @ advance(ring_length_m) @ half @ back
    return advance(ring_length_m) @ there @ pitch_turn(np.negative(wedge_rad)) @ back


def start_pose(heading_rad: Number, pitch_rad: Number, roll_rad: Number) -> FloatArray:
    """Return the pose of a plane at the origin."""
    return heading_turn(heading_rad) @ pitch_turn(pitch_rad) @ roll_turn(roll_rad)


def heading_of(pose: FloatArray) -> FloatArray:
    """Return the heading of a pose in rad, right positive."""
    return np.asarray(np.arctan2(pose[..., 1, 0], pose[..., 0, 0]))


def pitch_of(pose: FloatArray) -> FloatArray:
    """Return the pitch of a pose in rad, nose up positive."""
    return np.asarray(np.arcsin(np.clip(-pose[..., 2, 0], -1, 1)))


def roll_of(pose: FloatArray) -> FloatArray:
    """Return the roll of a pose in rad, clockwise positive."""
    return np.asarray(np.arctan2(pose[..., 2, 1], pose[..., 2, 2]))
