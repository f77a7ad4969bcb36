"""Rings that want to float: in fresh grout, along a floating string, and in the finished tunnel."""

from dataclasses import dataclass

import numpy as np

from tunnelwright.engineering.lining.loads import RING_HAS_A_HOLE, ring_weight
from tunnelwright.engineering.lining.sources import BEAM_ON_BED, BUOYANCY
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Range, Remark, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Values


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FinishedFlotation(Record):
    """Safety of a finished tunnel against floating, and the cover it needs."""

    ring_weight_kn_m: FloatArray
    uplift_kn_m: FloatArray
    safety_factor: FloatArray
    least_cover_m: FloatArray


@method(
    "lining.flotation.finished",
    formulas={
        "ring_weight_kn_m": Formula("W_l", "gamma_l * pi * t_l * (D_o - t_l)"),
        "uplift_kn_m": Formula("U", "gamma_w * pi / 4 * D_o^2"),
        "safety_factor": Formula("FS", "(W_l + (D_o * C + D_o^2 / 2 - pi / 8 * D_o^2) * gamma'_s) / U"),
        "least_cover_m": Formula("C_min", "((FS_req * U - W_l) / gamma'_s - D_o^2 / 2 + pi / 8 * D_o^2) / D_o"),
    },
    symbols={"effective_unit_weight_kn_m3": "gamma'_s", "water_unit_weight_kn_m3": "gamma_w", "uplift_kn_m": "U"},
    possible={"effective_unit_weight_kn_m3": (1.0, 30.0)},
    requires=(RING_HAS_A_HOLE,),
    remarks=(
        Remark(lambda v: v["safety_factor"] < v["required_safety"], "ring and ground above weigh less than the required safety over the uplift"),
        Remark(lambda v: v["least_cover_m"] < 0, "the ring is heavy enough by itself: flotation asks for no cover"),
    ),
    kind="lower bound",
    source=BUOYANCY,
)
def finished(
    ring_outer_diameter_m: Number,
    lining_thickness_m: Number,
    effective_unit_weight_kn_m3: Number,
    cover_m: Number | None = None,
    water_unit_weight_kn_m3: Number = 9.81,
    concrete_unit_weight_kn_m3: Number = 25.0,
    required_safety: Number = 1.2,
) -> FinishedFlotation:
    """Return the safety of a finished tunnel against floating up, without friction beside the block of ground above it.

    Parameters
    ----------
    ring_outer_diameter_m : of the ring.
    lining_thickness_m : of the ring.
    effective_unit_weight_kn_m3 : of the ground above, under water.
    cover_m : from ground or bed to the crown, with scour and dredging taken off; left out for the least cover alone.
    water_unit_weight_kn_m3 : of the water.
    concrete_unit_weight_kn_m3 : of the lining.
    required_safety : 1.1 while building, 1.2 and more for good.
    """
    diameter = np.asarray(ring_outer_diameter_m)
    weight = ring_weight(diameter, lining_thickness_m, concrete_unit_weight_kn_m3)
    uplift = water_unit_weight_kn_m3 * np.pi / 4 * np.square(diameter)
    shoulders = np.square(diameter) / 2 - np.pi / 8 * np.square(diameter)
    cover = np.nan if cover_m is None else np.asarray(cover_m)
    return FinishedFlotation(
        ring_weight_kn_m=weight,
        uplift_kn_m=uplift,
        safety_factor=(weight + (diameter * cover + shoulders) * effective_unit_weight_kn_m3) / uplift,
        least_cover_m=((required_safety * uplift - weight) / effective_unit_weight_kn_m3 - shoulders) / diameter,
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RingString(Record):
    """Moments and rise of a string of rings in fresh grout."""

    moment_tail_knm: FloatArray
    moment_span_knm: FloatArray
    uplift_displacement_m: FloatArray
    closed_joint_moment_knm: FloatArray


def _coefficients(stiffness: FloatArray) -> FloatArray:
    """Return shear and moment at the tail and the two amplitudes on the bed, for length, load and stiffness one.

    Parameters
    ----------
    stiffness : length over the characteristic length of the bed.
    """
    one, zero = np.ones_like(stiffness), np.zeros_like(stiffness)
    rows = [
        [one, one, zero, 2 * stiffness**2],
        [one, zero, -2 * stiffness**3, -2 * stiffness**3],
        [one / 6, one / 2, -one, zero],
        [one / 2, one, stiffness, -stiffness],
    ]
    matrix = np.stack([np.stack(row, axis=-1) for row in rows], axis=-2)
    right = np.broadcast_to(-np.array([1 / 2, 1.0, 1 / 24, 1 / 6]), (*stiffness.shape, 4))
    return np.asarray(np.linalg.solve(matrix, right[..., None])[..., 0])


def _greatest_rise(shear: FloatArray, moment: FloatArray, first: FloatArray, second: FloatArray, stiffness: FloatArray) -> FloatArray:
    """Return the greatest rise, in the floating length or on the bed beyond it."""
    with np.errstate(invalid="ignore"):
        root = np.sqrt(9 * shear**2 / 4 - 6 * moment)
    places = np.stack([-1.5 * shear - root, -1.5 * shear + root, np.ones_like(shear)])
    inside = (places > 0) & (places <= 1)
    rises = places**2 * (places**2 / 24 + places * shear / 6 + moment / 2)
    floating = np.max(np.where(inside, rises, -np.inf), axis=0)
    turn = np.arctan2(second - first, first + second)
    on_bed = np.exp(-turn) * (first * np.cos(turn) + second * np.sin(turn))
    return np.asarray(np.where((turn > 0) & (turn < np.pi), np.maximum(floating, on_bed), floating))


def _no_less_than_clamped(values: Values) -> FloatArray:
    return ~(values["moment_tail_knm"] < values["uplift_kn_m"] * values["fresh_length_m"] ** 2 / 12 * (1 - 1e-6))


@method(
    "lining.flotation.ring_string",
    found_by={
        "moment_tail_knm": Algorithm(
            "uniformly loaded beam clamped at the tail, joined in displacement, slope, moment and shear to a half-infinite beam on the bed",
            "M_tail",
            {"no less than with a rigid bed": _no_less_than_clamped},
        ),
        "moment_span_knm": Algorithm("the moment of the other sign in the floating length of the same beam", "M_span"),
        "uplift_displacement_m": Algorithm("the greatest rise of the same beam", "w_up", {"it rises": lambda v: ~(v["uplift_displacement_m"] < 0)}),
    },
    formulas={"closed_joint_moment_knm": Formula("M_0", "F_T * R_m / 2")},
    symbols={"longitudinal_stiffness_knm2": "EI_x", "uplift_kn_m": "q_u", "bedding_kn_m2": "k_x"},
    possible={"longitudinal_stiffness_knm2": (1.0, 1e12), "bedding_kn_m2": (1e-3, 1e12), "uplift_kn_m": (0.0, 5000.0)},
    remarks=(
        Remark(
            lambda v: v["moment_tail_knm"] > v["closed_joint_moment_knm"],
            "the ring joint next to the tail opens: dowels, bolts and gasket must carry what the thrust does not",
        ),
    ),
    kind="mean",
    source=BEAM_ON_BED,
)
def ring_string(
    longitudinal_stiffness_knm2: Number,
    uplift_kn_m: Number,
    fresh_length_m: Number,
    bedding_kn_m2: Number,
    thrust_kn: Number | None = None,
    centroid_radius_m: Number | None = None,
) -> RingString:
    """Return moments and rise of the rings that float in fresh grout behind the tail.

    Parameters
    ----------
    longitudinal_stiffness_knm2 : of the tube with its ring joints, a tenth to a fifth of the solid tube.
    uplift_kn_m : net of weights.
    fresh_length_m : over which the grout does not hold yet, stops included.
    bedding_kn_m2 : of the tube where the grout holds: modulus times diameter.
    thrust_kn : that presses the rings together; with the radius it gives the moment up to which joints stay closed.
    centroid_radius_m : of the ring.

    Notes
    -----
    Clamped in the tail, which is the worst for the moment there; without bending of the shield. All values are sizes without sign.
    """
    bending, load, length = np.asarray(longitudinal_stiffness_knm2), np.asarray(uplift_kn_m), np.asarray(fresh_length_m)
    stiffness = np.power(bedding_kn_m2 / (4 * bending), 0.25) * length
    load, length, bending, stiffness = np.broadcast_arrays(load, length, bending, stiffness)
    # A length of nothing floats nowhere; the system would have no answer.
    known = np.where((stiffness > 0) & np.isfinite(stiffness), stiffness, 1.0)
    shear, moment, first, second = np.moveaxis(_coefficients(known), -1, 0)
    place = np.clip(-shear, 0.0, 1.0)
    span = np.abs(place**2 / 2 + shear * place + moment)
    rise = _greatest_rise(shear, moment, first, second, known)
    scale = load * np.square(length)
    thrust = np.nan if thrust_kn is None else np.asarray(thrust_kn)
    radius = np.nan if centroid_radius_m is None else np.asarray(centroid_radius_m)
    lost = np.where(np.isnan(stiffness), np.nan, 0.0)
    return RingString(
        moment_tail_knm=np.abs(moment) * scale + lost,
        moment_span_knm=span * scale + lost,
        uplift_displacement_m=rise * scale * np.square(length) / bending + lost,
        closed_joint_moment_knm=np.asarray(thrust * radius / 2),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FreshGroutFlotation(Record):
    """Uplift of a ring in fresh grout against what the ring joint holds."""

    net_uplift_kn_m: FloatArray
    uplift_per_ring_kn: FloatArray
    resistance_kn: FloatArray
    utilisation: FloatArray


@method(
    "lining.flotation.fresh_grout",
    formulas={
        "net_uplift_kn_m": Formula("q_net", "gamma_g * pi / 4 * D_o^2 - gamma_l * pi * t_l * (D_o - t_l) - w_b"),
        "uplift_per_ring_kn": Formula("U_r", "q_net * L"),
        "resistance_kn": Formula("R_j", "T_d + mu_j * F_T"),
        "utilisation": Formula("u_f", "U_r / R_j"),
    },
    symbols={"backup_weight_kn_m": "w_b", "joint_friction": "mu_j", "dowel_resistance_kn": "T_d"},
    possible={"joint_friction": (0.0, 1.0), "dowel_resistance_kn": (0.0, 1e5)},
    valid={"joint_friction": Range(0.0, 0.5, "usual 0.3 to 0.5 with packing; from memory")},
    requires=(RING_HAS_A_HOLE,),
    remarks=(
        Remark(lambda v: v["utilisation"] > 1, "the ring joint holds less than the ring lifts: steps between rings, unless the grout's own yield stress holds"),
        Remark(lambda v: v["net_uplift_kn_m"] <= 0, "the ring does not float in this grout"),
    ),
    kind="upper bound",
    source=BUOYANCY,
)
def fresh_grout(
    ring_outer_diameter_m: Number,
    lining_thickness_m: Number,
    grout_unit_weight_kn_m3: Number,
    ring_length_m: Number,
    backup_weight_kn_m: Number = 0.0,
    thrust_kn: Number = 0.0,
    joint_friction: Number = 0.3,
    dowel_resistance_kn: Number = 0.0,
    concrete_unit_weight_kn_m3: Number = 25.0,
) -> FreshGroutFlotation:
    """Return whether friction and dowels of the ring joint hold a ring down in fresh grout.

    Parameters
    ----------
    ring_outer_diameter_m : of the ring.
    lining_thickness_m : of the ring.
    grout_unit_weight_kn_m3 : fresh, taken as a liquid.
    ring_length_m : of the ring.
    backup_weight_kn_m : share of the back-up that stands on the ring.
    thrust_kn : of the rams on the ring.
    joint_friction : of the ring joint.
    dowel_resistance_kn : of all dowels or bolts of one ring joint, in shear.
    concrete_unit_weight_kn_m3 : of the lining.
    """
    diameter = np.asarray(ring_outer_diameter_m)
    net = grout_unit_weight_kn_m3 * np.pi / 4 * np.square(diameter) - ring_weight(diameter, lining_thickness_m, concrete_unit_weight_kn_m3)
    net = net - backup_weight_kn_m
    resistance = dowel_resistance_kn + np.multiply(joint_friction, thrust_kn)
    with np.errstate(divide="ignore", invalid="ignore"):
        utilisation = net * ring_length_m / resistance
    return FreshGroutFlotation(net_uplift_kn_m=net, uplift_per_ring_kn=net * ring_length_m, resistance_kn=resistance, utilisation=utilisation)
