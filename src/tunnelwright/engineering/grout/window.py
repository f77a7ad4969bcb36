"""The window of grout pressure at the level of a port.

Pressures are total, in the annulus at that level. Margins are common practice without a source, every one editable in the project.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from tunnelwright.engineering.grout.sources import GROUTING_PRACTICE, STRESS_LIMIT
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Range, Remark, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record

WATER_MARGIN_KPA = 20.0
TARGET_MARGIN_KPA = 50.0
SEAL_MARGIN_KPA = 50.0
GASKET_FACTOR = 1.1


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class GroutWindow(Record):
    """Least, wanted and greatest grout pressure at one level."""

    lower_pressure_kpa: FloatArray
    target_pressure_kpa: FloatArray
    upper_pressure_kpa: FloatArray
    window_width_kpa: FloatArray


@method(
    "grout.pressure.window",
    formulas={
        "lower_pressure_kpa": Formula("p_lo", "max(u + 20, p_req)"),
        "target_pressure_kpa": Formula("p_target", "min(max(u + 50, p_face + 50), p_hi)"),
        "window_width_kpa": Formula("w", "p_hi - p_lo"),
    },
    found_by={
        "upper_pressure_kpa": Algorithm(
            "least of: share of the vertical stress at the crown, taken down with the grout's weight; fracture; seal less 50 kPa; gasket over 1.1; ring; pump",
            "p_hi",
            {
                "it does not lift the cover": lambda v: (
                    v["upper_pressure_kpa"]
                    <= v["heave_factor"] * v["crown_total_vertical_stress_kpa"] + v["grout_unit_weight_kn_m3"] * v["depth_below_crown_m"] + 1e-9
                )
            },
        )
    },
    symbols={"pore_pressure_kpa": "u", "face_pressure_kpa": "p_face", "required_support_kpa": "p_req"},
    remarks=(
        Remark(
            lambda v: v["window_width_kpa"] < 0,
            "no window: what water and support ask is more than the least of the upper limits; a person decides, the limits stand",
        ),
    ),
    dimensional=True,
    kind="mean",
    source=GROUTING_PRACTICE,
)
def pressure_window(
    pore_pressure_kpa: Number,
    face_pressure_kpa: Number,
    required_support_kpa: Number,
    crown_total_vertical_stress_kpa: Number,
    depth_below_crown_m: Number,
    grout_unit_weight_kn_m3: Number = 20.0,
    fracture_pressure_kpa: Number | None = None,
    tail_seal_pressure_kpa: Number | None = None,
    gasket_pressure_kpa: Number | None = None,
    ring_limit_kpa: Number | None = None,
    pump_limit_kpa: Number | None = None,
    heave_factor: Number = 0.9,
) -> GroutWindow:
    """Return the window of grout pressure at the level of a port; limits are never swapped or clipped.

    Parameters
    ----------
    pore_pressure_kpa : of the ground at the level.
    face_pressure_kpa : of the face, continued to the level.
    required_support_kpa : least support of the ground at the tail, at the level.
    crown_total_vertical_stress_kpa : least credible, at the crown of the bore.
    depth_below_crown_m : of the port.
    grout_unit_weight_kn_m3 : carries the crown's limit down to the level.
    fracture_pressure_kpa : of the ground at the level.
    tail_seal_pressure_kpa : that the tail seal holds.
    gasket_pressure_kpa : that the gaskets of the ring hold.
    ring_limit_kpa : from the ring's local bending.
    pump_limit_kpa : of pump and line.
    heave_factor : share of the vertical stress at the crown that may be reached.
    """
    limits = [heave_factor * crown_total_vertical_stress_kpa + grout_unit_weight_kn_m3 * depth_below_crown_m]
    limits += [one for one in (fracture_pressure_kpa, ring_limit_kpa, pump_limit_kpa) if one is not None]
    limits += [] if tail_seal_pressure_kpa is None else [tail_seal_pressure_kpa - SEAL_MARGIN_KPA]
    limits += [] if gasket_pressure_kpa is None else [gasket_pressure_kpa / GASKET_FACTOR]
    upper = limits[0]
    for limit in limits[1:]:
        upper = np.minimum(upper, limit)
    lower = np.maximum(pore_pressure_kpa + WATER_MARGIN_KPA, required_support_kpa)
    wanted = np.maximum(pore_pressure_kpa, face_pressure_kpa) + TARGET_MARGIN_KPA
    return GroutWindow(
        lower_pressure_kpa=lower, target_pressure_kpa=np.minimum(wanted, upper), upper_pressure_kpa=np.asarray(upper), window_width_kpa=upper - lower
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class GroutFracture(Record):
    """Pressure at which grout splits the ground."""

    fracture_pressure_kpa: FloatArray


@method(
    "grout.pressure.fracture",
    formulas={"fracture_pressure_kpa": Formula("p_frac", 'sigma_3 + m * c_u if ground_class == "clay" else sigma_3')},
    symbols={"minor_total_stress_kpa": "sigma_3", "undrained_strength_kpa": "c_u", "strength_multiple": "m"},
    valid={"strength_multiple": Range(0.0, 2.0, "one to two times the undrained strength is quoted")},
    kind="lower bound",
    source=STRESS_LIMIT,
)
def fracture(
    ground_class: Literal["clay", "sand"], minor_total_stress_kpa: Number, undrained_strength_kpa: Number = 0.0, strength_multiple: Number = 1.0
) -> GroutFracture:
    """Return the pressure at which grout splits the ground: in sand no more than the least total stress.

    Parameters
    ----------
    ground_class : clay resists by its strength, in sand the filter cake is lost.
    minor_total_stress_kpa : least total stress at the level.
    undrained_strength_kpa : of clay.
    strength_multiple : how often the strength counts.
    """
    bonus = strength_multiple * undrained_strength_kpa if ground_class == "clay" else np.zeros_like(strength_multiple * undrained_strength_kpa)
    return GroutFracture(fracture_pressure_kpa=np.asarray(minor_total_stress_kpa + bonus))
