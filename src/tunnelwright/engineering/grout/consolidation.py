"""Grout that loses water into the ground: depth of expelled water, pressure left, and the loss of volume.

Filtered grout of lower porosity grows on the wall, water is pressed through it, the cavity closes elastically and the pressure falls with it::

    ds/dt = k_c (p - u) a / (gamma_w s)      a = (n_i - n_e) / (1 - n_i)      p = p_0 - (2 G / R) s
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from tunnelwright.engineering.grout.sources import GROUT_CONSOLIDATION
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Range, Remark, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Series, Values

_NEWTON_STEPS: Final = 80
_SMALL: Final = 1e-3
_POROSITIES: Final = Require("cake_porosity", lambda v: v["cake_porosity"] < v["initial_porosity"], "must be less than initial_porosity")
_USUAL_CAKE: Final = Range(1e-9, 1e-7, "clean mortars")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ConsolidationTime(Record):
    """When a depth of water has left the grout, and what that means."""

    time_s: FloatArray
    pressure_drop_kpa: FloatArray
    expelled_depth_limit_m: FloatArray
    balance_depth_m: FloatArray
    volume_loss: FloatArray


@method(
    "grout.consolidation.time",
    formulas={
        "time_s": Formula(
            "t_s",
            "gamma_w * (1 - n_i) / ((n_i - n_e) * k_c) * (-s_e * R_h / (2 * G_ur) - P_0 * R_h^2 / (4 * G_ur^2) * ln(1 - 2 * G_ur * s_e / (R_h * P_0)))"
            " if s_e <= s_max and s_e < s_bal else 0 / 0",
        ),
        "pressure_drop_kpa": Formula("dp_drop", "2 * G_ur / R_h * s_e"),
        "expelled_depth_limit_m": Formula("s_max", "d_a * (n_i - n_e) / (1 - n_e)"),
        "balance_depth_m": Formula("s_bal", "P_0 * R_h / (2 * G_ur)"),
        "volume_loss": Formula("V_L", "2 * s_e / R_h"),
    },
    valid={"cake_permeability_m_s": _USUAL_CAKE},
    requires=(_POROSITIES, Require("initial_excess_pressure_kpa", lambda v: v["initial_excess_pressure_kpa"] > 0, "must be above 0")),
    remarks=(
        Remark(lambda v: np.isnan(v["time_s"]), "so much water never leaves: the grout is all cake before, or the pressure is down to the ground water's"),
    ),
    kind="mean",
    source=GROUT_CONSOLIDATION,
)
def consolidation_time(
    hole_radius_m: Number,
    unload_shear_modulus_kpa: Number,
    initial_excess_pressure_kpa: Number,
    cake_permeability_m_s: Number,
    initial_porosity: Number,
    cake_porosity: Number,
    annulus_thickness_m: Number,
    expelled_depth_m: Number,
    water_unit_weight_kn_m3: Number = 9.81,
) -> ConsolidationTime:
    """Return when so much water has left the grout, the pressure lost with it, and the bounds of the process.

    Parameters
    ----------
    hole_radius_m : of the bore.
    unload_shear_modulus_kpa : of the ground for unloading.
    initial_excess_pressure_kpa : grout pressure above the pore pressure when injection stops.
    cake_permeability_m_s : of the consolidated grout.
    initial_porosity : of the fresh grout.
    cake_porosity : of the consolidated grout.
    annulus_thickness_m : of the grout.
    expelled_depth_m : volume of water per area of wall.
    water_unit_weight_kn_m3 : of the ground water.

    Notes
    -----
    Permeable ground. In clay nothing bleeds and the pressure decays by creep instead.
    """
    stiffness = 2 * np.divide(unload_shear_modulus_kpa, hole_radius_m)
    scale_s = _scale_s(stiffness, initial_excess_pressure_kpa, cake_permeability_m_s, initial_porosity, cake_porosity, water_unit_weight_kn_m3)
    limit_m = annulus_thickness_m * np.subtract(initial_porosity, cake_porosity) / np.subtract(1.0, cake_porosity)
    balance_m = initial_excess_pressure_kpa / stiffness
    depth = np.asarray(expelled_depth_m, dtype=np.float64)
    reached = (depth <= limit_m) & (depth < balance_m)
    share = np.where(reached, depth / np.where(reached, balance_m, 1.0), 0.0)
    return ConsolidationTime(
        time_s=np.where(reached, scale_s * _elapsed(-np.log1p(-share)), np.nan),
        pressure_drop_kpa=stiffness * depth,
        expelled_depth_limit_m=limit_m,
        balance_depth_m=balance_m,
        volume_loss=2 * depth / hole_radius_m,
    )


def _scale_s(stiffness: FloatArray, excess_kpa: Number, permeability: Number, initial: Number, cake: Number, water_weight: Number) -> FloatArray:
    """Return the time that makes the closed form free of units."""
    return np.asarray(
        water_weight * np.subtract(1.0, initial) / (np.subtract(initial, cake) * permeability) * excess_kpa / np.square(stiffness), dtype=np.float64
    )


def _elapsed(decay: FloatArray) -> FloatArray:
    """Return u - 1 + exp(-u), with u = -ln(1 - s / s_balance); by its series where the difference would lose digits."""
    series = np.square(decay) * (0.5 - decay / 6 + np.square(decay) / 24)
    return np.where(decay < _SMALL, series, decay + np.expm1(-decay))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ConsolidationState(Record):
    """Grout at given times after injection."""

    expelled_depth_m: Series
    excess_pressure_kpa: Series


def _obeys_the_rate(values: Values) -> bool:
    """Return whether depth and time fit the closed form wherever the grout is not all cake yet."""
    column = {name: np.asarray(values[name])[..., None] for name in ("hole_radius_m", "unload_shear_modulus_kpa", "initial_excess_pressure_kpa")}
    stiffness = 2 * column["unload_shear_modulus_kpa"] / column["hole_radius_m"]
    rest = [np.asarray(values[name])[..., None] for name in ("cake_permeability_m_s", "initial_porosity", "cake_porosity", "water_unit_weight_kn_m3")]
    scale_s = _scale_s(stiffness, column["initial_excess_pressure_kpa"], *rest)
    with np.errstate(divide="ignore"):
        time_s = scale_s * _elapsed(-np.log1p(-np.minimum(1.0, values["expelled_depth_m"] * stiffness / column["initial_excess_pressure_kpa"])))
    thickness, initial, cake = (np.asarray(values[name])[..., None] for name in ("annulus_thickness_m", "initial_porosity", "cake_porosity"))
    is_cake = values["expelled_depth_m"] >= thickness * (initial - cake) / (1 - cake) * (1 - 1e-9)
    nearly_balanced = values["excess_pressure_kpa"] < 1e-3 * column["initial_excess_pressure_kpa"]
    return bool(np.all(np.isclose(time_s, values["time_s"], rtol=1e-6) | is_cake | nearly_balanced))


@method(
    "grout.consolidation.state",
    found_by={
        "expelled_depth_m": Algorithm(
            "the closed form of the time, solved for the depth; not beyond the depth at which all grout is cake",
            invariants={"fits the closed form": _obeys_the_rate},
        ),
        "excess_pressure_kpa": Algorithm(
            "initial excess less 2 G / R times the depth", invariants={"between nothing and the start": lambda v: not np.any(v["excess_pressure_kpa"] < -1e-9)}
        ),
    },
    possible={"time_s": (0.0, 1e9)},
    valid={"cake_permeability_m_s": _USUAL_CAKE},
    requires=(_POROSITIES, Require("initial_excess_pressure_kpa", lambda v: v["initial_excess_pressure_kpa"] > 0, "must be above 0")),
    kind="mean",
    source=GROUT_CONSOLIDATION,
)
def consolidation_state(
    hole_radius_m: Number,
    unload_shear_modulus_kpa: Number,
    initial_excess_pressure_kpa: Number,
    cake_permeability_m_s: Number,
    initial_porosity: Number,
    cake_porosity: Number,
    annulus_thickness_m: Number,
    time_s: Series,
    water_unit_weight_kn_m3: Number = 9.81,
) -> ConsolidationState:
    """Return how much water has left the grout and what pressure is left, at times after injection stops.

    Parameters
    ----------
    hole_radius_m : of the bore.
    unload_shear_modulus_kpa : of the ground for unloading.
    initial_excess_pressure_kpa : grout pressure above the pore pressure when injection stops.
    cake_permeability_m_s : of the consolidated grout.
    initial_porosity : of the fresh grout.
    cake_porosity : of the consolidated grout.
    annulus_thickness_m : of the grout.
    time_s : since injection stopped.
    water_unit_weight_kn_m3 : of the ground water.
    """
    stiffness = np.asarray(2 * np.divide(unload_shear_modulus_kpa, hole_radius_m))
    excess = np.asarray(initial_excess_pressure_kpa, dtype=np.float64)
    scale_s = _scale_s(stiffness, excess, cake_permeability_m_s, initial_porosity, cake_porosity, water_unit_weight_kn_m3)
    limit_m = np.asarray(annulus_thickness_m * np.subtract(initial_porosity, cake_porosity) / np.subtract(1.0, cake_porosity))
    share = -np.expm1(-_decay(time_s / scale_s[..., None]))
    depth_m = np.minimum(share * (excess / stiffness)[..., None], limit_m[..., None])
    return ConsolidationState(expelled_depth_m=depth_m, excess_pressure_kpa=excess[..., None] - stiffness[..., None] * depth_m)


def _decay(elapsed: FloatArray) -> FloatArray:
    """Return u with u - 1 + exp(-u) = elapsed; the left side is convex and rises, so Newton's method from above comes down to the root."""
    decay = elapsed + 1.0
    for _ in range(_NEWTON_STEPS):
        slope = -np.expm1(-decay)
        decay = decay - np.where(slope > 0, (_elapsed(decay) - elapsed) / np.where(slope > 0, slope, 1.0), 0.0)
    return np.asarray(np.where(elapsed > 0, decay, elapsed * 0.0))
