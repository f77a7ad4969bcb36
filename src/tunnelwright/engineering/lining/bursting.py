"""Tension behind concentrated loads, and bearing under ram pads."""

from dataclasses import dataclass

import numpy as np

from tunnelwright.engineering.lining.sources import EN_1992_BEARING, EN_1992_BURSTING, LEONHARDT
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Remark, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Bursting(Record):
    """Tension behind a loaded area, its reinforcement, and tension at the edge."""

    prism_height_m: FloatArray
    bursting_force_kn: FloatArray
    steel_area_m2: FloatArray
    edge_force_kn: FloatArray
    secondary_force_kn: FloatArray


@method(
    "lining.joint.bursting_leonhardt",
    formulas={
        "prism_height_m": Formula("h_s", "h_b - 2 * abs(e_j)"),
        "bursting_force_kn": Formula("F_burst", "max(0, 0.25 * F * (1 - h_1 / h_s))"),
        "steel_area_m2": Formula("A_s", "F_burst / (1000 * sigma_s)"),
        "edge_force_kn": Formula("F_r", "max(0, F * (abs(e_j) / h_b - 1 / 6))"),
        "secondary_force_kn": Formula("F_s2", "0.3 * F_r"),
    },
    symbols={"loaded_height_m": "h_1", "steel_stress_mpa": "sigma_s"},
    possible={"loaded_height_m": (0.001, 20.0), "height_m": (0.01, 20.0), "steel_stress_mpa": (50.0, 600.0), "eccentricity_m": (-10.0, 10.0)},
    requires=(Require("eccentricity_m", lambda v: np.all(~(2 * np.abs(v["eccentricity_m"]) >= v["height_m"])), "must lie inside the height"),),
    remarks=(
        Remark(
            lambda v: v["loaded_height_m"] > v["prism_height_m"],
            "the loaded height is more than the prism about the resultant: nothing bursts, look at bearing",
        ),
    ),
    kind="mean",
    source=LEONHARDT,
)
def bursting_leonhardt(force_kn: Number, loaded_height_m: Number, height_m: Number, eccentricity_m: Number = 0.0, steel_stress_mpa: Number = 300.0) -> Bursting:
    """Return the tension that bursts concrete behind a loaded area, by the symmetric prism about the resultant.

    Parameters
    ----------
    force_kn : on the loaded area.
    loaded_height_m : of that area.
    height_m : over which the force spreads: thickness of the lining, or spacing of pads.
    eccentricity_m : of the resultant from the middle of the height.
    steel_stress_mpa : of the reinforcement, limited for crack width.

    Notes
    -----
    The tension acts some 0.4 to 0.5 prism heights behind the face. Edge and secondary tension come in when the force leaves the middle third.
    """
    offset = np.abs(eccentricity_m)
    prism = np.asarray(height_m) - 2 * offset
    burst = np.maximum(0.0, 0.25 * np.asarray(force_kn) * (1 - loaded_height_m / prism))
    edge = np.maximum(0.0, force_kn * (offset / np.asarray(height_m) - 1 / 6))
    return Bursting(
        prism_height_m=prism,
        bursting_force_kn=burst,
        steel_area_m2=burst / (1000 * np.asarray(steel_stress_mpa)),
        edge_force_kn=edge,
        secondary_force_kn=0.3 * edge,
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BurstingForce(Record):
    """Tension behind a loaded area."""

    bursting_force_kn: FloatArray


@method(
    "lining.joint.bursting_en1992",
    formulas={"bursting_force_kn": Formula("F_burst", "max(0, F / 4 * (b - a_1) / b if b <= H_m / 2 else F / 4 * (1 - 0.7 * a_1 / (H_m / 2)))")},
    symbols={"loaded_width_m": "a_1", "member_length_m": "H_m"},
    possible={"loaded_width_m": (0.001, 20.0), "width_m": (0.01, 50.0), "member_length_m": (0.01, 50.0)},
    requires=(Require("loaded_width_m", lambda v: np.all(~(v["loaded_width_m"] > v["width_m"])), "must be at most width_m"),),
    kind="mean",
    source=EN_1992_BURSTING,
)
def bursting_en1992(force_kn: Number, loaded_width_m: Number, width_m: Number, member_length_m: Number) -> BurstingForce:
    """Return the tension behind a loaded area by strut and tie.

    Parameters
    ----------
    force_kn : on the loaded area.
    loaded_width_m : of that area.
    width_m : of the member.
    member_length_m : in the direction of the force; up to half of it the member counts as partly disturbed, beyond as wholly disturbed.
    """
    force, width, half = np.asarray(force_kn), np.asarray(width_m), np.asarray(member_length_m) / 2
    partial = force / 4 * (width - loaded_width_m) / width
    whole = force / 4 * (1 - 0.7 * np.asarray(loaded_width_m) / half)
    return BurstingForce(bursting_force_kn=np.maximum(0.0, np.where(width <= half, partial, whole)))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PadBearing(Record):
    """Bearing resistance under a ram pad."""

    spread_ratio: FloatArray
    bearing_resistance_kn: FloatArray
    utilisation: FloatArray


@method(
    "lining.rams.pad_bearing",
    formulas={
        "spread_ratio": Formula("s_p", "min(3, H_a / h_p, B_a / b_p)"),
        "bearing_resistance_kn": Formula("F_Rd", "1000 * f_cd * h_p * b_p * s_p"),
        "utilisation": Formula("u_p", "F_pad / F_Rd"),
    },
    symbols={"pad_force_kn": "F_pad", "pad_height_m": "h_p", "pad_width_m": "b_p", "available_height_m": "H_a", "available_width_m": "B_a"},
    possible={"pad_force_kn": (0.0, 3e4), "available_height_m": (0.01, 5.0), "available_width_m": (0.01, 10.0)},
    remarks=(
        Remark(lambda v: v["spread_ratio"] < 1, "the pad reaches beyond the concrete that is there about its resultant"),
        Remark(lambda v: v["utilisation"] > 1, "the pad force is more than the concrete under the pad bears"),
    ),
    kind="lower bound",
    source=EN_1992_BEARING,
)
def pad_bearing(
    pad_force_kn: Number, pad_height_m: Number, pad_width_m: Number, available_height_m: Number, available_width_m: Number, design_strength_mpa: Number
) -> PadBearing:
    """Return how far the concrete under a ram pad is used.

    Parameters
    ----------
    pad_force_kn : design value of one pad.
    pad_height_m : across the thickness.
    pad_width_m : along the ring.
    available_height_m, available_width_m : of the concrete centred on the resultant, for example thickness less twice the eccentricity.
    design_strength_mpa : of the concrete in compression.

    Notes
    -----
    The area into which the force spreads is similar to the pad and at most three times as high and wide, so its root over the pad's area is its scale.
    """
    scale = np.minimum(3.0, np.minimum(np.divide(available_height_m, pad_height_m), np.divide(available_width_m, pad_width_m)))
    resistance = 1000 * np.asarray(design_strength_mpa) * pad_height_m * pad_width_m * scale
    return PadBearing(spread_ratio=scale, bearing_resistance_kn=resistance, utilisation=pad_force_kn / resistance)
