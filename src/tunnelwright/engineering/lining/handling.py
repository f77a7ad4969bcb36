"""Segments on two supports: demoulding, stack, transport."""

from dataclasses import dataclass

import numpy as np

from tunnelwright.engineering.lining.sources import BEAM_STATICS
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Range, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SegmentOnSupports(Record):
    """Moments of a segment on two supports, alone and lowest in a stack, and the stress with the dynamic factor."""

    moment_middle_knm: FloatArray
    moment_support_knm: FloatArray
    moment_support_stacked_knm: FloatArray
    moment_middle_stacked_knm: FloatArray
    stress_mpa: FloatArray
    best_overhang_m: FloatArray


@method(
    "lining.handling.two_supports",
    formulas={
        "moment_middle_knm": Formula("M_mid", "gamma_l * t_l * L * (L_seg^2 / 8 - L_seg * a_o / 2)"),
        "moment_support_knm": Formula("M_sup", "-gamma_l * t_l * L * a_o^2 / 2"),
        "moment_support_stacked_knm": Formula("M_sup_m", "M_sup - (m_s - 1) * gamma_l * t_l * L * L_seg / 2 * e_d"),
        "moment_middle_stacked_knm": Formula("M_mid_m", "M_mid + (m_s - 1) * gamma_l * t_l * L * L_seg / 2 * e_d"),
        "stress_mpa": Formula("sigma_d", "psi_d * 6 * max(abs(M_mid), abs(M_sup), abs(M_sup_m), abs(M_mid_m)) / (1000 * L * t_l^2)"),
        "best_overhang_m": Formula("a_best", "(sqrt(2) - 1) / 2 * L_seg"),
    },
    symbols={"segment_length_m": "L_seg", "dynamic_factor": "psi_d", "stack_count": "m_s", "dunnage_offset_m": "e_d"},
    possible={
        "segment_length_m": (0.2, 20.0),
        "ring_length_m": (0.2, 4.0),
        "dynamic_factor": (0.5, 5.0),
        "stack_count": (1.0, 20.0),
        "dunnage_offset_m": (0.0, 2.0),
    },
    valid={"dynamic_factor": Range(1.0, 2.5, "2.0 demoulding, 1.0 to 1.2 stack, 1.5 to 2.0 transport, 2.0 to 2.5 erector; from memory")},
    requires=(Require("overhang_m", lambda v: np.all(~(2 * v["overhang_m"] >= v["segment_length_m"])), "must leave a span between the supports"),),
    kind="upper bound",
    source=BEAM_STATICS,
)
def two_supports(
    segment_length_m: Number,
    ring_length_m: Number,
    lining_thickness_m: Number,
    overhang_m: Number,
    dynamic_factor: Number = 1.0,
    stack_count: Number = 1.0,
    dunnage_offset_m: Number = 0.1,
    concrete_unit_weight_kn_m3: Number = 25.0,
) -> SegmentOnSupports:
    """Return moments and stress of a segment on two supports, as a straight beam of its developed length.

    Parameters
    ----------
    segment_length_m : developed.
    ring_length_m : width of the beam.
    lining_thickness_m : height of the beam.
    overhang_m : of the segment beyond each support.
    dynamic_factor : on the worst moment, for the stress; the moments are static.
    stack_count : segments in the stack; the lowest one is looked at.
    dunnage_offset_m : between dunnage lines of neighbouring segments, to the worse side.
    concrete_unit_weight_kn_m3 : of the reinforced concrete.

    Notes
    -----
    Tension below is positive, hogging negative. Compare the stress with the tension of concrete at its age. No person under a hanging segment.
    """
    length, width, height = np.asarray(segment_length_m), np.asarray(ring_length_m), np.asarray(lining_thickness_m)
    line_load = concrete_unit_weight_kn_m3 * height * width
    middle = line_load * (np.square(length) / 8 - length * overhang_m / 2)
    support = -line_load * np.square(overhang_m) / 2
    shifted = (np.asarray(stack_count) - 1) * line_load * length / 2 * dunnage_offset_m
    worst = np.maximum.reduce([np.abs(one) for one in np.broadcast_arrays(middle, support, support - shifted, middle + shifted)])
    return SegmentOnSupports(
        moment_middle_knm=middle,
        moment_support_knm=support,
        moment_support_stacked_knm=support - shifted,
        moment_middle_stacked_knm=middle + shifted,
        stress_mpa=dynamic_factor * 6 * worst / (1000 * width * np.square(height)),
        best_overhang_m=(np.sqrt(2) - 1) / 2 * length,
    )
