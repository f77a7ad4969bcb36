"""Settlement that comes later: layers that lose water pressure consolidate.

A column of its own beside the short-term trough; it is never added to the volume loss and never fitted as such.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from tunnelwright.engineering.movement.sources import TERZAGHI_1943
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Rows, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Table

# Where the parabola of early times reaches a degree of 0.6.
_EARLY_UNTIL: Final = 0.09 * np.pi


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CompressibleLayers(Table):
    """Layers that lose head, in any order; leading axes run over places."""

    thickness_m: FloatArray
    compressibility_1_kpa: FloatArray
    head_drop_m: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Consolidation(Record):
    """Settlement by loss of water pressure, at the end and at a time."""

    time_factor: FloatArray
    degree_of_consolidation: FloatArray
    settlement_final_m: FloatArray
    settlement_m: FloatArray


@method(
    "movement.consolidation.one_dimensional",
    formulas={
        "time_factor": Formula("T_v", "c_v * t_s / d^2"),
        "degree_of_consolidation": Formula("U", "sqrt(4 * T_v / pi) if T_v <= 0.09 * pi else 1 - 8 / pi^2 * exp(-pi^2 * T_v / 4)"),
        "settlement_m": Formula("S_t", "U * S_end"),
    },
    found_by={"settlement_final_m": Rows("layers", "S_end", "previous + m_v * gamma_w * dh * h")},
    symbols={
        "consolidation_coefficient_m2_s": "c_v",
        "drainage_path_m": "d",
        "compressibility_1_kpa": "m_v",
        "head_drop_m": "dh",
        "thickness_m": "h",
    },
    possible={
        "consolidation_coefficient_m2_s": (1e-14, 1.0),
        "drainage_path_m": (0.01, 500.0),
        "time_s": (0.0, 1e11),
        "compressibility_1_kpa": (0.0, 0.1),
        "head_drop_m": (-100.0, 200.0),
        "settlement_final_m": (-np.inf, np.inf),
    },
    kind="mean",
    source=TERZAGHI_1943,
)
def one_dimensional(
    layers: CompressibleLayers,
    consolidation_coefficient_m2_s: Number,
    drainage_path_m: Number,
    time_s: Number,
    water_unit_weight_kn_m3: Number = 9.81,
) -> Consolidation:
    """Return the settlement of layers whose water pressure falls, at a time after the fall.

    Parameters
    ----------
    layers : thickness, compressibility and fall of head of each.
    consolidation_coefficient_m2_s : of the layers together.
    drainage_path_m : longest way of the water to a drain.
    time_s : since the head fell.
    water_unit_weight_kn_m3 : of the ground water.
    """
    factor = consolidation_coefficient_m2_s * np.asarray(time_s) / np.square(drainage_path_m)
    early = np.sqrt(4 * np.minimum(factor, _EARLY_UNTIL) / np.pi)
    degree = np.where(factor <= _EARLY_UNTIL, early, 1 - 8 / np.pi**2 * np.exp(-(np.pi**2) * factor / 4))
    # A row without thickness counts for nothing, whatever stands beside it.
    rows = np.where(layers.thickness_m == 0, 0.0, layers.compressibility_1_kpa * layers.head_drop_m * layers.thickness_m)
    final_m = np.asarray(water_unit_weight_kn_m3) * np.sum(rows, axis=-1)
    return Consolidation(time_factor=factor, degree_of_consolidation=degree, settlement_final_m=final_m, settlement_m=degree * final_m)
