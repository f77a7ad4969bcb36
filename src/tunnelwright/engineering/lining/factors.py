"""Partial factors on pairs of hoop force and moment."""

from dataclasses import dataclass

import numpy as np

from tunnelwright.engineering.lining.sources import EN_1990_PAIRS
from tunnelwright.vocabulary.method import Algorithm, Range, Require, method
from tunnelwright.vocabulary.types import Number, Record, Series


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DesignPairs(Record):
    """Design pairs, two for each load case."""

    design_hoop_force_kn_m: Series
    design_moment_knm_m: Series


@method(
    "lining.factors.effect_pairs",
    found_by={
        "design_hoop_force_kn_m": Algorithm("for each load case the hoop force with the factor, then without", "N_Ed"),
        "design_moment_knm_m": Algorithm("for each load case the moment with the factor, twice", "M_Ed"),
    },
    symbols={"unfavourable_factor": "gamma_G"},
    possible={"unfavourable_factor": (1.0, 3.0)},
    valid={"unfavourable_factor": Range(1.0, 1.5, "1.35 on ground and water, 1.5 on surcharge, 1.0 to 1.2 for accidents")},
    requires=(
        Require("moment_knm_m", lambda v: v["moment_knm_m"].shape[-1] == v["hoop_force_kn_m"].shape[-1], "must have one entry for each of hoop_force_kn_m"),
    ),
    kind="identity",
    source=EN_1990_PAIRS,
)
def effect_pairs(hoop_force_kn_m: Series, moment_knm_m: Series, unfavourable_factor: Number = 1.35) -> DesignPairs:
    """Return the design pairs of hoop force and moment of load cases.

    Parameters
    ----------
    hoop_force_kn_m, moment_knm_m : of the load cases.
    unfavourable_factor : on effects that work against the section.

    Notes
    -----
    Hoop force helps a section against moment, so that each case is looked at twice: both raised, and the moment alone.
    """
    factor = np.asarray(unfavourable_factor)[..., None]
    force, plain, moment = np.broadcast_arrays(factor * hoop_force_kn_m, hoop_force_kn_m, factor * moment_knm_m)
    pairs = (*force.shape[:-1], 2 * force.shape[-1])
    return DesignPairs(
        design_hoop_force_kn_m=np.stack([force, plain], axis=-1).reshape(pairs), design_moment_knm_m=np.stack([moment, moment], axis=-1).reshape(pairs)
    )
