"""Moments of a ring that is or becomes oval."""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from tunnelwright.engineering.lining.sources import OUT_OF_ROUND, SECOND_MODE
from tunnelwright.engineering.lining.stiffness import jointed_share
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Range, Remark, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class OvalityMoment(Record):
    """Moment that ovalisation adds, and the change of diameter that shows it."""

    effective_stiffness_knm2_m: FloatArray
    moment_amplitude_knm_m: FloatArray
    diameter_change_m: FloatArray


@method(
    "lining.ovality.moment",
    formulas={
        "moment_amplitude_knm_m": Formula("M_amp", "3 * EI_e * d_2 / R_m^2"),
        "diameter_change_m": Formula("dD", "2 * d_2"),
    },
    found_by={
        "effective_stiffness_knm2_m": Algorithm(
            "whole stiffness, or with a number of segments above four its share (4/n)^2",
            "EI_e",
            {"joints do not stiffen": lambda v: ~(v["effective_stiffness_knm2_m"] > v["bending_stiffness_knm2_m"] * (1 + 1e-12))},
        )
    },
    valid={"diameter_change_m": Range(-0.2, 0.2, "a change of more than a few per cent of the diameter is no small displacement")},
    kind="mean",
    source=SECOND_MODE,
)
def ovality_moment(
    radial_amplitude_m: Number, centroid_radius_m: Number, bending_stiffness_knm2_m: Number, segment_count: Number | None = None
) -> OvalityMoment:
    """Return the moment from ovalisation of a ring that the ground already bears on.

    Parameters
    ----------
    radial_amplitude_m : two-wave displacement since the ring closed with the ground, inward at the crown: half the change of one diameter.
    centroid_radius_m : of the ring.
    bending_stiffness_knm2_m : of the section, per length of tunnel.
    segment_count : where given, the stiffness is that of a ring with so many segments.

    Notes
    -----
    Only ovality that came after building bends the ring like this. What it was built with belongs to ``lining.ovality.out_of_round``.
    """
    share = 1.0 if segment_count is None else jointed_share(segment_count)
    stiffness = np.asarray(bending_stiffness_knm2_m) * share
    amplitude = np.asarray(radial_amplitude_m)
    return OvalityMoment(
        effective_stiffness_knm2_m=stiffness,
        moment_amplitude_knm_m=3 * stiffness * amplitude / np.square(centroid_radius_m),
        diameter_change_m=2 * amplitude,
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class OutOfRound(Record):
    """Moment of a ring that was built out of round, and the pressure at which it would buckle without bedding."""

    moment_amplitude_knm_m: FloatArray
    buckling_pressure_kpa: FloatArray


@method(
    "lining.ovality.out_of_round",
    formulas={
        "moment_amplitude_knm_m": Formula("M_amp", 'N_h * d_0 / (1 + k_r * R_m^4 / (9 * EI_l) - (N_h * R_m^2 / (3 * EI_l) if second_order == "on" else 0))'),
        "buckling_pressure_kpa": Formula("p_cr", "3 * EI_l / R_m^3"),
    },
    symbols={"built_amplitude_m": "d_0"},
    possible={"built_amplitude_m": (-0.5, 0.5), "bending_stiffness_knm2_m": (1.0, np.inf)},
    remarks=(
        Remark(
            lambda v: (
                v["hoop_force_kn_m"] * v["centroid_radius_m"] ** 2 >= 3 * v["bending_stiffness_knm2_m"] + v["bedding_kn_m3"] * v["centroid_radius_m"] ** 4 / 3
            ),
            "the hoop force is at or above that at which the ring buckles",
        ),
    ),
    kind="mean",
    source=OUT_OF_ROUND,
)
def out_of_round(
    built_amplitude_m: Number,
    hoop_force_kn_m: Number,
    centroid_radius_m: Number,
    bending_stiffness_knm2_m: Number,
    bedding_kn_m3: Number = 0.0,
    second_order: Literal["on", "off"] = "on",
) -> OutOfRound:
    """Return the moment that hoop force makes in a ring built out of round.

    Parameters
    ----------
    built_amplitude_m : two-wave shape without stress, inward at the crown.
    hoop_force_kn_m : compression positive.
    centroid_radius_m : of the ring.
    bending_stiffness_knm2_m : per length of tunnel.
    bedding_kn_m3 : modulus of the ground springs; 0 without.
    second_order : whether the growth of the shape under the force counts.

    Notes
    -----
    The buckling pressure is that of the ring without bedding.
    """
    bending = np.asarray(bending_stiffness_knm2_m)
    growth = hoop_force_kn_m * np.square(centroid_radius_m) / (3 * bending) if second_order == "on" else 0.0
    with np.errstate(divide="ignore"):
        moment = np.multiply(hoop_force_kn_m, built_amplitude_m) / (1 + bedding_kn_m3 * np.power(centroid_radius_m, 4) / (9 * bending) - growth)
    return OutOfRound(moment_amplitude_knm_m=moment, buckling_pressure_kpa=3 * bending / np.power(centroid_radius_m, 3))
