"""Jointed pipes, tracks and existing tunnels: lines whose pieces follow the ground of one finished drive."""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from tunnelwright.engineering.assets.sources import EXISTING_TUNNEL, JOINTED, TRACK
from tunnelwright.engineering.movement.depth import DepthModel, width_and_focus
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Range, Remark, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Values

_ROOT_2_PI: Final = np.sqrt(2 * np.pi)
_PHASES: Final = np.linspace(-1.0, 1.0, 4801)
_REACH_WIDTHS: Final = 5.5
# A parallel line never leaves the trough; a sine of this size is parallel.
_PARALLEL: Final = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class JointMovement(Record):
    """Worst rotation and opening of joints over all positions of the joints."""

    joint_rotation_rad: FloatArray
    joint_opening_m: FloatArray
    joint_edge_opening_m: FloatArray
    rotation_bound_rad: FloatArray


def _not_above_bound(values: Values) -> NDArray[np.bool_]:
    return np.asarray(~(np.asarray(values["joint_rotation_rad"]) > np.asarray(values["rotation_bound_rad"]) * (1 + 1e-9)))


@method(
    "assets.pipe.jointed_rigid_units",
    formulas={"rotation_bound_rad": Formula("phi_max", "l_u * abs(V_s) / (sqrt(2 * pi) * i^3) * sin(theta_x)^2")},
    found_by={
        "joint_rotation_rad": Algorithm(
            "greatest |S(s + l) - 2 S(s) + S(s - l)| / l over all places s of a joint", "phi_j", {"not above the bound": _not_above_bound}
        ),
        "joint_opening_m": Algorithm("greatest difference of movement along the pipe between the middles of neighbouring units", "w_j"),
        "joint_edge_opening_m": Algorithm("greatest sum of that opening and rotation times radius at one joint", "w_e"),
    },
    symbols={"unit_length_m": "l_u", "focus_distance_m": "H"},
    possible={"unit_length_m": (0.05, 100.0)},
    kind="upper bound",
    source=JOINTED,
)
def jointed_rigid_units(
    trough_volume_m3_m: Number,
    trough_width_m: Number,
    focus_distance_m: Number,
    unit_length_m: Number,
    pipe_outer_diameter_m: Number,
    crossing_angle_rad: Number = np.pi / 2,
) -> JointMovement:
    """Return rotation and opening of the joints of a pipe whose units follow the ground, wherever the joints lie.

    Parameters
    ----------
    trough_volume_m3_m : of the drive.
    trough_width_m : across the drive, at the pipe.
    focus_distance_m : depth of the focus of horizontal movement below the pipe.
    unit_length_m : between joints.
    pipe_outer_diameter_m : outside.
    crossing_angle_rad : between pipe and drive; a right angle is square.

    Notes
    -----
    Joints are free. Caulked or leaded ones hold: judge such a pipe as a continuous one too.
    """
    numbers = (trough_volume_m3_m, trough_width_m, focus_distance_m, unit_length_m, pipe_outer_diameter_m, crossing_angle_rad)
    volume, width, focus, unit, diameter, angle = (np.asarray(one, dtype=np.float64)[..., None] for one in np.broadcast_arrays(*numbers))
    sine = np.sin(angle)
    # Places and units are taken across the drive: a skew unit spans less of the trough.
    span = unit * sine
    joint = _PHASES * (_REACH_WIDTHS * width + span)

    def settlement(offset: FloatArray) -> FloatArray:
        return np.asarray(volume / (_ROOT_2_PI * width) * np.exp(-0.5 * np.square(offset / width)))

    def along(offset: FloatArray) -> FloatArray:
        return np.asarray(-offset / focus * settlement(offset) * sine)

    rotation = np.abs(settlement(joint + span) - 2 * settlement(joint) + settlement(joint - span)) / unit
    opening = along(joint + span / 2) - along(joint - span / 2)
    bound = np.asarray(unit_length_m) * np.abs(trough_volume_m3_m) / (_ROOT_2_PI * np.power(trough_width_m, 3)) * np.square(np.sin(crossing_angle_rad))
    return JointMovement(
        joint_rotation_rad=_greatest(rotation),
        joint_opening_m=_greatest(opening),
        joint_edge_opening_m=_greatest(opening + rotation * diameter / 2),
        rotation_bound_rad=bound,
    )


def _greatest(values: FloatArray) -> FloatArray:
    """Return the greatest along the last axis, by a parabola through it and its neighbours."""
    if not values.size:
        return np.zeros(values.shape[:-1])
    at = np.clip(np.argmax(values, axis=-1), 1, values.shape[-1] - 2)[..., None]
    before, here, after = (np.take_along_axis(values, at + step, axis=-1)[..., 0] for step in (-1, 0, 1))
    bend = before - 2 * here + after
    top = here - np.square(after - before) / (8 * np.where(bend < 0, bend, -1.0))
    return np.where((bend < 0) & (here >= before) & (here >= after), top, np.max(values, axis=-1))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TrackGeometry(Record):
    """Faults of a track; versine positive where its middle has settled more than its ends."""

    cross_level_max_m: FloatArray
    twist_max: FloatArray
    versine_max_m: FloatArray
    versine_min_m: FloatArray


@method(
    "assets.track.geometry",
    found_by={
        "cross_level_max_m": Algorithm("greatest difference of settlement between the rails", "c_max"),
        "twist_max": Algorithm("greatest change of cross level over the base, per length", "tw_max"),
        "versine_max_m": Algorithm("greatest settlement of the middle of the chord against its ends", "v_max"),
        "versine_min_m": Algorithm("least of the same", "v_min", {"below the greatest": lambda v: ~(v["versine_min_m"] > v["versine_max_m"])}),
    },
    possible={"rail_spacing_m": (0.3, 5.0), "twist_base_m": (0.1, 30.0), "chord_m": (0.5, 100.0)},
    remarks=(Remark(lambda _: True, "a track engineer judges the track: limits, rates and tamping are the railway's"),),
    kind="mean",
    source=TRACK,
)
def track_geometry(
    trough_volume_m3_m: Number,
    trough_width_m: Number,
    crossing_angle_rad: Number,
    rail_spacing_m: Number = 1.5,
    twist_base_m: Number = 3.0,
    chord_m: Number = 10.0,
) -> TrackGeometry:
    """Return what a finished drive does to a straight track over it.

    Parameters
    ----------
    trough_volume_m3_m, trough_width_m : of the drive at the surface.
    crossing_angle_rad : between track and drive.
    rail_spacing_m : between the rails' centres.
    twist_base_m : over which twist is taken.
    chord_m : over which the versine is taken.
    """
    numbers = (trough_volume_m3_m, trough_width_m, crossing_angle_rad, rail_spacing_m, twist_base_m, chord_m)
    volume, width, angle, spacing, base, chord = (np.asarray(one, dtype=np.float64)[..., None] for one in np.broadcast_arrays(*numbers))
    sine, cosine = np.sin(angle), np.cos(angle)
    sine = np.where(np.abs(sine) < _PARALLEL, 0.0, sine)

    def settlement(offset: FloatArray) -> FloatArray:
        return np.asarray(volume / (_ROOT_2_PI * width) * np.exp(-0.5 * np.square(offset / width)))

    def cross_level(offset: FloatArray) -> FloatArray:
        half = spacing / 2 * cosine
        return settlement(offset + half) - settlement(offset - half)

    place = _PHASES * (_REACH_WIDTHS * width + np.maximum(base, chord) * sine + spacing)
    twist = np.abs(cross_level(place + base / 2 * sine) - cross_level(place - base / 2 * sine)) / base
    versine = settlement(place) - (settlement(place - chord / 2 * sine) + settlement(place + chord / 2 * sine)) / 2
    return TrackGeometry(
        cross_level_max_m=_greatest(np.abs(cross_level(place))),
        twist_max=_greatest(twist),
        versine_max_m=_greatest(versine),
        versine_min_m=-_greatest(-versine),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ExistingTunnel(Record):
    """What a new drive does to a tunnel above it; NaN where the tunnel reaches down to the new axis."""

    settlement_m: FloatArray
    radius_m: FloatArray
    joint_opening_m: FloatArray
    vertical_diameter_change_m: FloatArray


def _reaches_axis(values: Values) -> NDArray[np.bool_]:
    invert = np.asarray(values["existing_axis_depth_m"]) + np.asarray(values["existing_outer_diameter_m"]) / 2
    return np.asarray(invert >= np.asarray(values["axis_depth_m"]))


@method(
    "assets.tunnel.flexible",
    formulas={"joint_opening_m": Formula("w_j", "L_r * D_x / R")},
    found_by={
        "settlement_m": Algorithm("trough of the depth law at the axis of the existing tunnel", "S"),
        "radius_m": Algorithm("width squared over settlement there", "R"),
        "vertical_diameter_change_m": Algorithm("settlement at the invert less settlement at the crown, each with the width of its own depth", "dD_v"),
    },
    symbols={"existing_ring_length_m": "L_r", "existing_outer_diameter_m": "D_x", "trough_width_factor": "K"},
    possible={
        "axis_depth_m": (0.5, 400.0),
        "existing_axis_depth_m": (0.1, 400.0),
        "existing_outer_diameter_m": (0.3, 20.0),
        "existing_ring_length_m": (0.1, 10.0),
        "settlement_m": (-np.inf, np.inf),
    },
    valid={"trough_width_factor": Range(0.2, 0.9, "outside it is no trough of lost ground")},
    requires=(
        Require(
            "existing_axis_depth_m",
            lambda v: ~(np.asarray(v["existing_axis_depth_m"]) < np.asarray(v["existing_outer_diameter_m"]) / 2),
            "must be at least the tunnel's radius: its axis, not its cover",
        ),
    ),
    remarks=(Remark(_reaches_axis, "not checked: the existing tunnel reaches down to the axis of the new drive, where no trough is described"),),
    kind="upper bound",
    source=EXISTING_TUNNEL,
)
def existing_tunnel(
    trough_volume_m3_m: Number,
    trough_width_factor: Number,
    axis_depth_m: Number,
    existing_axis_depth_m: Number,
    existing_outer_diameter_m: Number,
    existing_ring_length_m: Number,
    depth_model: DepthModel = "mair 1993 scaled",
) -> ExistingTunnel:
    """Return how a segmental tunnel square above a new drive bends and changes shape when it follows the ground.

    Parameters
    ----------
    trough_volume_m3_m, trough_width_factor : of the new drive.
    axis_depth_m : of the new drive.
    existing_axis_depth_m, existing_outer_diameter_m, existing_ring_length_m : of the existing tunnel.
    depth_model : how the trough narrows with depth.

    Notes
    -----
    The invert settles more than the crown: the ring lengthens upright. Openings are at the far edge, the near one being the hinge.
    """
    radius_m = np.asarray(existing_outer_diameter_m) / 2
    within = np.asarray(np.add(existing_axis_depth_m, radius_m) < axis_depth_m)

    def trough(level_m: FloatArray) -> tuple[FloatArray, FloatArray]:
        width = width_and_focus(depth_model, trough_width_factor, axis_depth_m, np.where(within, level_m, np.nan))[0]
        return width, trough_volume_m3_m / (_ROOT_2_PI * width)

    width, settlement_m = trough(np.asarray(existing_axis_depth_m, dtype=np.float64))
    bend_radius_m = np.square(width) / np.where(settlement_m != 0, np.abs(settlement_m), np.nan)
    return ExistingTunnel(
        settlement_m=settlement_m,
        radius_m=bend_radius_m,
        joint_opening_m=existing_ring_length_m * np.asarray(existing_outer_diameter_m) / bend_radius_m,
        vertical_diameter_change_m=trough(np.add(existing_axis_depth_m, radius_m))[1] - trough(np.subtract(existing_axis_depth_m, radius_m))[1],
    )
