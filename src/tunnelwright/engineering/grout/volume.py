"""Annulus volumes and what is pumped into them.

   cut bore  D_cut
 .-------------------.
(   tail skin D_tail  )      annulus on bore basis: cut bore to ring
 (  ring  D_o        )       annulus on tail basis: tail skin to ring
  '-----------------'
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from tunnelwright.engineering.grout.sources import GEOMETRY, GROUTING_PRACTICE
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Range, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record

# Fill factor on bore basis: value, low, high. Common practice, no source; clay by grout type.
_FILL_FACTORS = {
    ("clay", "two_component"): (1.10, 1.05, 1.25),
    ("clay", "mortar"): (1.20, 1.10, 1.40),
    ("sand", ""): (1.30, 1.20, 1.50),
    ("gravel", ""): (1.50, 1.30, 2.00),
    ("rock", ""): (1.30, 1.10, 1.60),
}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Annulus(Record):
    """Annulus of one ring on both bases, and the ratio injected."""

    annulus_area_m2: FloatArray
    annulus_volume_m3: FloatArray
    tail_annulus_area_m2: FloatArray
    tail_annulus_volume_m3: FloatArray
    grout_ratio: FloatArray
    grout_ratio_tail: FloatArray


@method(
    "grout.volume.annulus",
    formulas={
        "annulus_area_m2": Formula("A", "pi / 4 * (D_cut^2 - D_o^2)"),
        "annulus_volume_m3": Formula("V_th", "A * L"),
        "tail_annulus_area_m2": Formula("A_tail", "pi / 4 * (D_tail^2 - D_o^2)"),
        "tail_annulus_volume_m3": Formula("V_tail", "A_tail * L"),
        "grout_ratio": Formula("r_bore", "V / V_th"),
        "grout_ratio_tail": Formula("r_tail", "V / V_tail"),
    },
    symbols={"excavation_diameter_m": "D_cut", "ring_outer_diameter_m": "D_o", "ring_length_m": "L", "tail_skin_diameter_m": "D_tail", "grout_volume_m3": "V"},
    requires=(
        Require("excavation_diameter_m", lambda v: v["excavation_diameter_m"] > v["ring_outer_diameter_m"], "the bore must be larger than the ring"),
        Require(
            "tail_skin_diameter_m",
            lambda v: v["tail_skin_diameter_m"] is None or (v["tail_skin_diameter_m"] > v["ring_outer_diameter_m"]),
            "the tail skin must be larger than the ring",
        ),
        Require(
            "tail_skin_diameter_m",
            lambda v: v["tail_skin_diameter_m"] is None or (v["tail_skin_diameter_m"] <= v["excavation_diameter_m"]),
            "the tail skin must fit the bore",
        ),
    ),
    kind="identity",
    source=GEOMETRY,
)
def annulus(
    excavation_diameter_m: Number,
    ring_outer_diameter_m: Number,
    ring_length_m: Number,
    tail_skin_diameter_m: Number | None = None,
    grout_volume_m3: Number | None = None,
) -> Annulus:
    """Return the annulus of a ring on bore and on tail basis.

    Parameters
    ----------
    excavation_diameter_m : diameter really cut.
    ring_outer_diameter_m : outside of the ring.
    ring_length_m : on the axis.
    tail_skin_diameter_m : outside of the tail skin; without it there are no results on tail basis.
    grout_volume_m3 : injected; without it there are no ratios.
    """
    volume = np.nan if grout_volume_m3 is None else grout_volume_m3
    tail = np.nan if tail_skin_diameter_m is None else tail_skin_diameter_m
    area = np.pi / 4 * (np.square(excavation_diameter_m) - np.square(ring_outer_diameter_m))
    tail_area = np.pi / 4 * (np.square(tail) - np.square(ring_outer_diameter_m))
    return Annulus(
        annulus_area_m2=area,
        annulus_volume_m3=area * ring_length_m,
        tail_annulus_area_m2=tail_area,
        tail_annulus_volume_m3=tail_area * ring_length_m,
        grout_ratio=volume / (area * ring_length_m),
        grout_ratio_tail=volume / (tail_area * ring_length_m),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ShieldGap(Record):
    """Gap between bore and skin of a conical shield."""

    shield_gap_volume_m3: FloatArray
    front_gap_area_m2: FloatArray
    tail_gap_area_m2: FloatArray


@method(
    "grout.volume.shield_gap",
    formulas={
        "shield_gap_volume_m3": Formula("V_gap", "pi / 4 * L_s * (D_cut^2 - (D_front^2 + D_front * D_tail + D_tail^2) / 3)"),
        "front_gap_area_m2": Formula("A_front", "pi / 4 * (D_cut^2 - D_front^2)"),
        "tail_gap_area_m2": Formula("A_tail", "pi / 4 * (D_cut^2 - D_tail^2)"),
    },
    symbols={"excavation_diameter_m": "D_cut", "front_skin_diameter_m": "D_front", "tail_skin_diameter_m": "D_tail", "shield_length_m": "L_s"},
    requires=(
        Require("front_skin_diameter_m", lambda v: v["front_skin_diameter_m"] <= v["excavation_diameter_m"], "the shield must fit the bore"),
        Require(
            "tail_skin_diameter_m",
            lambda v: v["tail_skin_diameter_m"] <= v["front_skin_diameter_m"],
            "a shield does not widen to the tail",
            "are the two swapped?",
        ),
    ),
    kind="identity",
    source=GEOMETRY,
)
def shield_gap(excavation_diameter_m: Number, front_skin_diameter_m: Number, tail_skin_diameter_m: Number, shield_length_m: Number) -> ShieldGap:
    """Return the gap round a conical shield, its volume as that of a frustum.

    Parameters
    ----------
    excavation_diameter_m : diameter really cut.
    front_skin_diameter_m : outside of the skin at the front.
    tail_skin_diameter_m : outside of the skin at the tail.
    shield_length_m : over which the skin tapers evenly.
    """
    bore, front, tail = np.square(excavation_diameter_m), np.square(front_skin_diameter_m), np.square(tail_skin_diameter_m)
    frustum = (front + front_skin_diameter_m * tail_skin_diameter_m + tail) / 3
    return ShieldGap(
        shield_gap_volume_m3=np.pi / 4 * shield_length_m * (bore - frustum),
        front_gap_area_m2=np.pi / 4 * (bore - front),
        tail_gap_area_m2=np.pi / 4 * (bore - tail),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CopyCutter(Record):
    """Area that a copy cutter adds."""

    extra_area_m2: FloatArray


@method(
    "grout.volume.copy_cutter",
    formulas={"extra_area_m2": Formula("A_c", "phi_c / 2 * ((R_c + e_c)^2 - R_c^2)")},
    symbols={"cut_radius_m": "R_c", "overcut_m": "e_c", "arc_rad": "phi_c"},
    kind="identity",
    source=GEOMETRY,
)
def copy_cutter(cut_radius_m: Number, overcut_m: Number, arc_rad: Number) -> CopyCutter:
    """Return the area that a copy cutter adds over an arc.

    Parameters
    ----------
    cut_radius_m : radius of the bore without it.
    overcut_m : by which the radius grows.
    arc_rad : over which it is out.
    """
    return CopyCutter(extra_area_m2=arc_rad / 2 * (np.square(cut_radius_m + overcut_m) - np.square(cut_radius_m)))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class GroutTarget(Record):
    """Grout planned round a ring and its components."""

    target_volume_m3: FloatArray
    component_a_m3: FloatArray
    component_b_m3: FloatArray


@method(
    "grout.volume.target",
    formulas={
        "target_volume_m3": Formula("V_target", "f * V_th"),
        "component_a_m3": Formula("V_A", "V_target / (1 + r_B)"),
        "component_b_m3": Formula("V_B", "V_target - V_A"),
    },
    symbols={"annulus_volume_m3": "V_th", "fill_factor": "f", "component_ratio": "r_B"},
    valid={"fill_factor": Range(0.9, 3.0, "less leaves a void, more goes elsewhere")},
    kind="mean",
    source=GROUTING_PRACTICE,
)
def target(annulus_volume_m3: Number, fill_factor: Number, component_ratio: Number = 0.07) -> GroutTarget:
    """Return the grout planned round a ring.

    Parameters
    ----------
    annulus_volume_m3 : theoretical, on the basis of the fill factor.
    fill_factor : grout over theoretical annulus.
    component_ratio : second component over first; 0 for mortar.
    """
    volume = fill_factor * annulus_volume_m3
    first = volume / (1 + component_ratio)
    return GroutTarget(target_volume_m3=np.asarray(volume), component_a_m3=np.asarray(first), component_b_m3=np.asarray(volume - first))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class NetVolume(Record):
    """Grout that stays in the annulus."""

    net_volume_m3: FloatArray


@method(
    "grout.volume.net",
    formulas={"net_volume_m3": Formula("V_net", "V * (1 - b) - V_line")},
    symbols={"grout_volume_m3": "V", "loss_ratio": "b", "line_volume_m3": "V_line"},
    kind="mean",
    source=GROUTING_PRACTICE,
)
def net(grout_volume_m3: Number, loss_ratio: Number = 0.0, line_volume_m3: Number = 0.0) -> NetVolume:
    """Return the grout that fills the annulus: pumped less lost water and what stayed in the line.

    Parameters
    ----------
    grout_volume_m3 : pumped.
    loss_ratio : share lost by bleeding, consolidation and infiltration.
    line_volume_m3 : left in the line.
    """
    return NetVolume(net_volume_m3=np.asarray(grout_volume_m3 * (1 - loss_ratio) - line_volume_m3))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PumpedVolume(Record):
    """Grout pumped by counted strokes."""

    grout_volume_m3: FloatArray


@method(
    "grout.volume.from_strokes",
    formulas={"grout_volume_m3": Formula("V", "n * V_s * eta_f")},
    symbols={"stroke_count": "n", "stroke_volume_m3": "V_s", "filling_efficiency": "eta_f", "grout_volume_m3": "V"},
    valid={"filling_efficiency": Range(0.8, 1.0, "piston pumps fill to 85 to 95 %; common practice, no source")},
    kind="mean",
    source=GROUTING_PRACTICE,
)
def from_strokes(stroke_count: Number, stroke_volume_m3: Number, filling_efficiency: Number = 0.9) -> PumpedVolume:
    """Return the volume that a piston pump moved.

    Parameters
    ----------
    stroke_count : counted strokes.
    stroke_volume_m3 : swept by one stroke.
    filling_efficiency : share of it that is grout.
    """
    return PumpedVolume(grout_volume_m3=np.asarray(stroke_count * stroke_volume_m3 * filling_efficiency))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FillFactor(Record):
    """Usual fill factor of a ground and its range."""

    fill_factor: FloatArray
    fill_factor_low: FloatArray
    fill_factor_high: FloatArray


@method(
    "grout.volume.fill_factor",
    found_by={
        "fill_factor": Algorithm("row of the ground class in the table of usual values, bore basis", "f"),
        "fill_factor_low": Algorithm("low end of the same row", "f_low", {"low is not above the value": lambda v: v["fill_factor_low"] <= v["fill_factor"]}),
        "fill_factor_high": Algorithm(
            "high end of the same row", "f_high", {"high is not below the value": lambda v: v["fill_factor_high"] >= v["fill_factor"]}
        ),
    },
    kind="mean",
    source=GROUTING_PRACTICE,
)
def fill_factor(ground_class: Literal["clay", "sand", "gravel", "rock"], grout_type: Literal["two_component", "mortar"] = "two_component") -> FillFactor:
    """Return the usual fill factor of a ground on bore basis, an editable default.

    Parameters
    ----------
    ground_class : of the ground round the ring.
    grout_type : matters in clay, where nothing infiltrates.
    """
    value, low, high = _FILL_FACTORS[ground_class, grout_type if ground_class == "clay" else ""]
    return FillFactor(fill_factor=np.asarray(value), fill_factor_low=np.asarray(low), fill_factor_high=np.asarray(high))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class GroutRate(Record):
    """Grout flow that an advance needs, and the advance that the pumps allow."""

    grout_flow_m3_h: FloatArray
    advance_rate_limit_mm_min: FloatArray


@method(
    "grout.flow.required_rate",
    formulas={
        "grout_flow_m3_h": Formula("Q", "A * v * 60 / 1000 * f"),
        "advance_rate_limit_mm_min": Formula("v_max", "eta_p * Q_pump / (A * f) * 1000 / 60"),
    },
    symbols={"annulus_area_m2": "A", "advance_rate_mm_min": "v", "fill_factor": "f", "pump_capacity_m3_h": "Q_pump", "pump_efficiency": "eta_p"},
    dimensional=True,
    kind="mean",
    source=GEOMETRY,
)
def required_rate(
    annulus_area_m2: Number, advance_rate_mm_min: Number, fill_factor: Number, pump_capacity_m3_h: Number | None = None, pump_efficiency: Number = 0.8
) -> GroutRate:
    """Return the grout flow that fills the annulus at an advance rate.

    Parameters
    ----------
    annulus_area_m2 : on the basis of the fill factor.
    advance_rate_mm_min : of the shield.
    fill_factor : grout over annulus.
    pump_capacity_m3_h : installed; without it there is no limit of the advance rate.
    pump_efficiency : usable share of the capacity.
    """
    capacity = np.nan if pump_capacity_m3_h is None else pump_capacity_m3_h
    return GroutRate(
        grout_flow_m3_h=np.asarray(annulus_area_m2 * advance_rate_mm_min * 60 / 1000 * fill_factor),
        advance_rate_limit_mm_min=np.asarray(pump_efficiency * capacity / (annulus_area_m2 * fill_factor) * 1000 / 60),
    )
