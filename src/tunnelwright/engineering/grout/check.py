"""What is checked round a ring: volumes by port, shortfall over rings, loss of ground by the tail void, tail seal."""

from dataclasses import dataclass

import numpy as np

from tunnelwright.engineering.grout.sources import GEOMETRY, GROUTING_PRACTICE
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Range, Remark, Require, method
from tunnelwright.vocabulary.types import Count, FloatArray, Number, Record, Series, Table, Values

UPPER_THIRD_RAD = np.pi / 3


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ports(Table):
    """Volumes by port; a missing volume is NaN, not zero."""

    clock_angle_rad: FloatArray
    grout_volume_m3: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RingGrout(Record):
    """Grout round one ring: ratio and how it was shared."""

    grout_ratio: FloatArray
    smallest_port_share: FloatArray
    largest_port_share: FloatArray
    upper_share: FloatArray
    left_right_difference: FloatArray
    component_ratio_actual: FloatArray


def _total(v: Values) -> FloatArray:
    return np.asarray(v["ports"].grout_volume_m3).sum(axis=-1)


@method(
    "grout.check.ring",
    formulas={"component_ratio_actual": Formula("r_actual", "V_B / V_A")},
    found_by={
        "grout_ratio": Algorithm(
            "sum over the ports over the annulus",
            "r",
            {"ratio times annulus is the sum": lambda v: np.isclose(v["grout_ratio"] * v["annulus_volume_m3"], _total(v), equal_nan=True)},
        ),
        "smallest_port_share": Algorithm(
            "least volume of a port over an equal share", "s_min", {"not above an equal share": lambda v: ~(v["smallest_port_share"] > 1 + 1e-9)}
        ),
        "largest_port_share": Algorithm(
            "greatest volume of a port over an equal share", "s_max", {"not below an equal share": lambda v: ~(v["largest_port_share"] < 1 - 1e-9)}
        ),
        "upper_share": Algorithm(
            "ports within 60 deg of the crown over all", "s_up", {"a share": lambda v: ~((v["upper_share"] < -1e-12) | (v["upper_share"] > 1 + 1e-12))}
        ),
        "left_right_difference": Algorithm(
            "right less left over both, without those on the vertical", "d_lr", {"at most one": lambda v: ~(v["left_right_difference"] > 1 + 1e-12)}
        ),
    },
    symbols={"component_a_m3": "V_A", "component_b_m3": "V_B", "component_ratio": "r_B"},
    remarks=(
        Remark(lambda v: np.isnan(v["grout_ratio"]), "the volume of a port is missing; the ratio is not known, since missing is not zero"),
        Remark(
            lambda v: v["grout_ratio"] < np.maximum(0.9 * v["fill_factor"], 0.95),
            "less than 0.9 of the fill factor, or less than 0.95: the annulus is short of grout",
        ),
        Remark(lambda v: v["grout_ratio"] > np.maximum(1.6 * v["fill_factor"], 2.0), "far more than the fill factor: grout goes elsewhere"),
        Remark(
            lambda v: np.abs(v["component_ratio_actual"] / v["component_ratio"] - 1) > 0.15,
            "the second component is off by more than 15 %: the grout may not gel",
        ),
    ),
    kind="mean",
    source=GROUTING_PRACTICE,
)
def check_ring(
    annulus_volume_m3: Number,
    fill_factor: Number,
    ports: Ports,
    component_b_m3: Number | None = None,
    component_a_m3: Number | None = None,
    component_ratio: Number = 0.07,
) -> RingGrout:
    """Return the ratio injected round a ring and how the ports shared it.

    Parameters
    ----------
    annulus_volume_m3 : theoretical, bore basis.
    fill_factor : planned; decides the remarks.
    ports : clock angle and volume of every port.
    component_b_m3 : second component, if metered.
    component_a_m3 : first component, if metered.
    component_ratio : wanted ratio of the two; decides a remark.
    """
    volume = ports.grout_volume_m3
    total = volume.sum(axis=-1)
    count = volume.shape[-1]
    angle = np.mod(ports.clock_angle_rad + np.pi, 2 * np.pi) - np.pi
    upper = np.where(np.abs(angle) <= UPPER_THIRD_RAD + 1e-9, volume, 0.0).sum(axis=-1)
    on_vertical = np.abs(np.sin(angle)) < 1e-9
    right = np.where((np.sin(angle) > 0) & ~on_vertical, volume, 0.0).sum(axis=-1)
    left = np.where((np.sin(angle) < 0) & ~on_vertical, volume, 0.0).sum(axis=-1)
    sides = right + left
    first, second = (np.nan if one is None else one for one in (component_a_m3, component_b_m3))
    with np.errstate(all="ignore"):
        return RingGrout(
            grout_ratio=total / annulus_volume_m3,
            smallest_port_share=volume.min(axis=-1) * count / total,
            largest_port_share=volume.max(axis=-1) * count / total,
            upper_share=np.where(np.isnan(total), np.nan, upper / total),
            left_right_difference=np.where(sides > 0, np.abs(right - left) / sides, np.where(np.isnan(sides), np.nan, 0.0)),
            component_ratio_actual=np.asarray(second / first),
        )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RollingDeficit(Record):
    """Shortfall of the last rings."""

    deficit_m3: FloatArray


@method(
    "grout.loss.rolling_deficit",
    found_by={
        "deficit_m3": Algorithm(
            "sum of what each of the last rings lacks; more than target in one makes up for nothing",
            "V_def",
            {"never negative": lambda v: v["deficit_m3"] >= 0},
        )
    },
    kind="identity",
    source=GEOMETRY,
)
def rolling_deficit(grout_volume_m3: Series, target_volume_m3: Number, window_count: Count = 10) -> RollingDeficit:
    """Return what the last rings lack against target.

    Parameters
    ----------
    grout_volume_m3 : of successive rings, the last one last.
    target_volume_m3 : per ring.
    window_count : rings looked back.
    """
    last = grout_volume_m3[-window_count:]
    return RollingDeficit(deficit_m3=np.maximum(0.0, np.asarray(target_volume_m3)[..., None] - last).sum(axis=-1))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TailVoidLoss(Record):
    """Loss of ground that grout leaves at the tail."""

    volume_loss: FloatArray
    volume_loss_bound: FloatArray
    overfill_m3: FloatArray


@method(
    "grout.loss.tail_void",
    formulas={
        "volume_loss": Formula("V_L", "max(0, pi / 4 * (D_cut^2 - D_o^2) * L - (V * (1 - b) - V_line)) / (pi / 4 * D_cut^2 * L)"),
        "volume_loss_bound": Formula("V_L_bound", "(D_cut^2 - D_o^2) / D_cut^2"),
        "overfill_m3": Formula("V_over", "max(0, (V * (1 - b) - V_line) - pi / 4 * (D_cut^2 - D_o^2) * L)"),
    },
    symbols={
        "excavation_diameter_m": "D_cut", "ring_outer_diameter_m": "D_o", "ring_length_m": "L", "grout_volume_m3": "V", "loss_ratio": "b",
        "line_volume_m3": "V_line", "volume_loss": "V_L",
    },
    requires=(Require("excavation_diameter_m", lambda v: v["excavation_diameter_m"] > v["ring_outer_diameter_m"], "the bore must be larger than the ring"),),
    kind="mean",
    source=GEOMETRY,
)  # fmt: skip
def tail_void(
    excavation_diameter_m: Number,
    ring_outer_diameter_m: Number,
    ring_length_m: Number,
    grout_volume_m3: Number,
    loss_ratio: Number = 0.0,
    line_volume_m3: Number = 0.0,
) -> TailVoidLoss:
    """Return the share of the bore that the annulus grout leaves unfilled; too much grout is no negative loss.

    Parameters
    ----------
    excavation_diameter_m : diameter really cut.
    ring_outer_diameter_m : outside of the ring.
    ring_length_m : on the axis.
    grout_volume_m3 : injected.
    loss_ratio : share of it lost as water.
    line_volume_m3 : of it left in the line.
    """
    area = np.pi / 4 * (np.square(excavation_diameter_m) - np.square(ring_outer_diameter_m))
    missing = area * ring_length_m - (grout_volume_m3 * (1 - loss_ratio) - line_volume_m3)
    bore = np.pi / 4 * np.square(excavation_diameter_m)
    return TailVoidLoss(volume_loss=np.maximum(0.0, missing) / (bore * ring_length_m), volume_loss_bound=area / bore, overfill_m3=np.maximum(0.0, -missing))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TailGrease(Record):
    """Tail seal grease of one ring."""

    grease_mass_kg: FloatArray


@method(
    "grout.tail_seal.grease",
    formulas={"grease_mass_kg": Formula("m", "q * pi * D_o * L")},
    symbols={"ring_outer_diameter_m": "D_o", "ring_length_m": "L", "grease_rate_kg_m2": "q"},
    valid={"grease_rate_kg_m2": Range(0.8, 2.5, "1.0 to 1.5 is usual, more on rough rings, curves and worn brushes; common practice, no source")},
    kind="mean",
    source=GROUTING_PRACTICE,
)
def grease(ring_outer_diameter_m: Number, ring_length_m: Number, grease_rate_kg_m2: Number = 1.2) -> TailGrease:
    """Return the grease that the tail seal needs over one ring.

    Parameters
    ----------
    ring_outer_diameter_m : outside of the ring.
    ring_length_m : on the axis.
    grease_rate_kg_m2 : per area of ring that passes the brushes.
    """
    return TailGrease(grease_mass_kg=np.asarray(grease_rate_kg_m2 * np.pi * ring_outer_diameter_m * ring_length_m))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SealChamber(Record):
    """Grease chamber between two rows of brushes."""

    chamber_volume_m3: FloatArray
    least_grease_pressure_kpa: FloatArray


@method(
    "grout.tail_seal.chamber",
    formulas={"chamber_volume_m3": Formula("V_ch", "pi * D_m * g * s"), "least_grease_pressure_kpa": Formula("p_grease", "max(p_grout, u) + m")},
    symbols={"mean_diameter_m": "D_m", "gap_m": "g", "brush_spacing_m": "s", "grout_pressure_kpa": "p_grout", "pore_pressure_kpa": "u", "margin_kpa": "m"},
    valid={"margin_kpa": Range(50.0, 100.0, "50 to 100 kPa above grout and water is usual; common practice, no source")},
    kind="identity",
    source=GROUTING_PRACTICE,
)
def chamber(
    mean_diameter_m: Number,
    gap_m: Number,
    brush_spacing_m: Number,
    grout_pressure_kpa: Number | None = None,
    pore_pressure_kpa: Number | None = None,
    margin_kpa: Number = 50.0,
) -> SealChamber:
    """Return the first filling of a grease chamber and the pressure it must keep.

    Parameters
    ----------
    mean_diameter_m : of the annular chamber.
    gap_m : between tail skin and ring.
    brush_spacing_m : along the drive.
    grout_pressure_kpa : outside at the level looked at.
    pore_pressure_kpa : outside at the level looked at; without both there is no least pressure.
    margin_kpa : kept above the larger of the two.
    """
    outside = [one for one in (grout_pressure_kpa, pore_pressure_kpa) if one is not None]
    # Both are needed: the larger of one known and one unknown pressure is not known.
    least = np.maximum(outside[0], outside[1]) + margin_kpa if len(outside) == 2 else np.nan
    return SealChamber(chamber_volume_m3=np.asarray(np.pi * mean_diameter_m * gap_m * brush_spacing_m), least_grease_pressure_kpa=np.asarray(least))
