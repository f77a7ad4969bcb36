"""Torque of a cutterhead: what it needs, what it has needed, what its drive can give."""

from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from tunnelwright.engineering.machine.sources import DEFINITION, DISC_TORQUE, TORQUE_EMPIRICAL, TORQUE_PRACTICE
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Range, Require, Rows, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Table, Values

MM_PER_M: Final = 1000.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MixingBars(Table):
    """Bars that stir the paste in the chamber, one row each."""

    undrained_strength_kpa: FloatArray
    bar_area_m2: FloatArray
    bar_radius_m: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TorqueSum(Record):
    """Torques of a cutterhead, each for itself and together."""

    torque_face_knm: FloatArray
    torque_opening_knm: FloatArray
    torque_back_knm: FloatArray
    torque_rim_knm: FloatArray
    torque_cutting_knm: FloatArray
    torque_mixing_knm: FloatArray
    torque_bearing_knm: FloatArray
    torque_seal_knm: FloatArray
    torque_knm: FloatArray


def _together(first: str, *others: str) -> Any:
    """Return a check that what the first name multiplies was given with it."""

    def holds(values: Values) -> Any:
        return (np.asarray(values[first]) == 0) | np.all([np.asarray(values[name]) > 0 for name in others], axis=0)

    return holds


@method(
    "machine.torque.component_sum",
    formulas={
        "torque_face_knm": Formula("T_face", "(1 - xi) * pi * D^3 / 12 * tau_f"),
        "torque_opening_knm": Formula("T_open", "xi * pi * D^3 / 12 * tau_o"),
        "torque_back_knm": Formula("T_back", "(1 - xi) * pi * D^3 / 12 * tau_b"),
        "torque_rim_knm": Formula("T_rim", "pi * D^2 / 2 * B_rim * tau_r"),
        "torque_cutting_knm": Formula("T_cut", "e_cut * pi / 4 * D^2 * p_rev / 1000 / (2 * pi)"),
        "torque_bearing_knm": Formula("T_bear", "mu_b * F_ax * R_b"),
        "torque_seal_knm": Formula("T_seal", "n_lip * 2 * pi * R_seal^2 * f_seal"),
        "torque_knm": Formula("T", "T_face + T_open + T_back + T_rim + T_cut + T_mix + T_bear + T_seal"),
    },
    found_by={"torque_mixing_knm": Rows("mixing_bars", "T_mix", "previous + N_c * c_u * A_bar * r_bar")},
    symbols={
        "opening_ratio": "xi",
        "face_shear_kpa": "tau_f",
        "opening_shear_kpa": "tau_o",
        "back_shear_kpa": "tau_b",
        "rim_width_m": "B_rim",
        "rim_shear_kpa": "tau_r",
        "bar_area_m2": "A_bar",
        "bar_radius_m": "r_bar",
        "bearing_capacity_factor": "N_c",
        "bearing_axial_force_kn": "F_ax",
        "bearing_radius_m": "R_b",
        "bearing_friction_coefficient": "mu_b",
        "seal_lip_count": "n_lip",
        "seal_radius_m": "R_seal",
    },
    possible={
        "opening_ratio": (0.0, 1.0),
        "face_shear_kpa": (0.0, 2000.0),
        "opening_shear_kpa": (0.0, 2000.0),
        "back_shear_kpa": (0.0, 2000.0),
        "rim_width_m": (0.0, 10.0),
        "rim_shear_kpa": (0.0, 2000.0),
        "bar_area_m2": (0.0, 10.0),
        "bar_radius_m": (0.0, 10.0),
        "bearing_capacity_factor": (0.0, 20.0),
        "bearing_axial_force_kn": (0.0, 3e5),
        "bearing_radius_m": (0.0, 10.0),
        "bearing_friction_coefficient": (0.0, 0.1),
        "seal_lip_count": (0.0, 50.0),
        "seal_radius_m": (0.0, 10.0),
    },
    valid={
        "opening_ratio": Range(0.1, 0.9, "outside it the head is no spoked disc"),
        "back_shear_kpa": Range(0.0, 25.0, "conditioned paste has 5 to 25 kPa, slurry nearly nothing"),
        "bearing_friction_coefficient": Range(0.002, 0.005, "rolling bearings"),
    },
    requires=(
        Require("rim_width_m", _together("rim_shear_kpa", "rim_width_m"), "must be given with a shear stress on the rim"),
        Require("penetration_mm_rev", _together("cutting_specific_energy_kpa", "penetration_mm_rev"), "must be given with a specific energy of cutting"),
        Require("bearing_radius_m", _together("bearing_axial_force_kn", "bearing_radius_m"), "must be given with an axial force on the bearing"),
        Require("seal_force_kn_m", _together("seal_lip_count", "seal_radius_m", "seal_force_kn_m"), "must be given with lips of the seal, and their radius"),
    ),
    kind="mean",
    source=TORQUE_PRACTICE,
)
def torque_sum(
    excavation_diameter_m: Number,
    opening_ratio: Number,
    face_shear_kpa: Number = 0.0,
    opening_shear_kpa: Number = 0.0,
    back_shear_kpa: Number = 0.0,
    rim_width_m: Number = 0.0,
    rim_shear_kpa: Number = 0.0,
    cutting_specific_energy_kpa: Number = 0.0,
    penetration_mm_rev: Number = 0.0,
    mixing_bars: MixingBars | None = None,
    bearing_capacity_factor: Number = 9.0,
    bearing_axial_force_kn: Number = 0.0,
    bearing_radius_m: Number = 0.0,
    bearing_friction_coefficient: Number = 0.004,
    seal_lip_count: Number = 0.0,
    seal_radius_m: Number = 0.0,
    seal_force_kn_m: Number = 0.0,
) -> TorqueSum:
    """Return the torque that a cutterhead needs, part by part; what is left out counts as nothing.

    Parameters
    ----------
    excavation_diameter_m : of the cut.
    opening_ratio : open share of the head's area.
    face_shear_kpa : on the closed part in front.
    opening_shear_kpa : strength of the soil that is sheared across the openings.
    back_shear_kpa : strength of the paste behind the closed part.
    rim_width_m : of the head's rim.
    rim_shear_kpa : on the rim.
    cutting_specific_energy_kpa : energy of cutting alone per volume cut.
    penetration_mm_rev : advance per turn.
    mixing_bars : strength of the paste, area across the motion and radius of each bar.
    bearing_capacity_factor : resistance of a bar over the paste's strength.
    bearing_axial_force_kn : on the main bearing.
    bearing_radius_m : mean radius of its rollers.
    bearing_friction_coefficient : of the bearing.
    seal_lip_count : lips that rub.
    seal_radius_m : of the lips.
    seal_force_kn_m : of one lip per metre.
    """
    disc_m3 = np.pi / 12 * np.asarray(excavation_diameter_m) ** 3
    closed = np.subtract(1.0, opening_ratio)
    area_m2 = np.pi / 4 * np.square(excavation_diameter_m)
    mixing_knm = np.asarray(0.0) if mixing_bars is None else _stirred(mixing_bars)
    parts = {
        "torque_face_knm": closed * disc_m3 * face_shear_kpa,
        "torque_opening_knm": opening_ratio * disc_m3 * opening_shear_kpa,
        "torque_back_knm": closed * disc_m3 * back_shear_kpa,
        "torque_rim_knm": 2 * area_m2 * np.multiply(rim_width_m, rim_shear_kpa),
        "torque_cutting_knm": cutting_specific_energy_kpa * area_m2 * np.divide(penetration_mm_rev, MM_PER_M) / (2 * np.pi),
        "torque_mixing_knm": bearing_capacity_factor * mixing_knm,
        "torque_bearing_knm": np.multiply(bearing_friction_coefficient, bearing_axial_force_kn) * bearing_radius_m,
        "torque_seal_knm": np.multiply(seal_lip_count, 2 * np.pi) * np.square(seal_radius_m) * seal_force_kn_m,
    }
    return TorqueSum(**parts, torque_knm=np.asarray(sum(parts.values())))


def _stirred(bars: MixingBars) -> FloatArray:
    """Return the sum over the bars of strength times area times radius."""
    return np.asarray(np.sum(bars.undrained_strength_kpa * bars.bar_area_m2 * bars.bar_radius_m, axis=-1))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class InstalledTorque(Record):
    """Torque by a rule of thumb."""

    torque_knm: FloatArray


@method(
    "machine.torque.alpha_diameter_cubed",
    formulas={"torque_knm": Formula("T", "alpha_T * D^3")},
    valid={"torque_coefficient": Range(9.0, 35.0, "slurry 9 to 15, EPB 14 to 23, boulders and stiff clay up to 35")},
    kind="screening",
    source=TORQUE_EMPIRICAL,
    dimensional=True,
)
def torque_of_diameter(torque_coefficient: Number, excavation_diameter_m: Number) -> InstalledTorque:
    """Return the installed torque of a usual machine of this diameter; for first sizing and as a check of order.

    Parameters
    ----------
    torque_coefficient : kNm per cubic metre; EPB 14 to 23, slurry 9 to 15.
    excavation_diameter_m : of the cut.
    """
    return InstalledTorque(torque_knm=np.asarray(torque_coefficient * np.asarray(excavation_diameter_m) ** 3))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TorqueCoefficient(Record):
    """Torque over the cube of the diameter."""

    torque_coefficient: FloatArray


@method(
    "machine.torque.alpha_from_record",
    formulas={"torque_coefficient": Formula("alpha_T", "T / D^3")},
    kind="identity",
    source=DEFINITION,
    dimensional=True,
)
def torque_coefficient_of_record(torque_knm: Number, excavation_diameter_m: Number) -> TorqueCoefficient:
    """Return the torque coefficient of a ring; what a machine uses lies well under what is installed.

    Parameters
    ----------
    torque_knm : median over the push.
    excavation_diameter_m : of the cut.
    """
    return TorqueCoefficient(torque_coefficient=np.asarray(torque_knm / np.asarray(excavation_diameter_m) ** 3))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DiscTorque(Record):
    """Torque of rolling discs."""

    torque_knm: FloatArray


@method(
    "machine.torque.discs",
    formulas={"torque_knm": Formula("T", "c_s * D * n_disc * F_r")},
    symbols={"spacing_factor": "c_s", "disc_count": "n_disc"},
    possible={"spacing_factor": (0.0, 0.5), "disc_count": (0.0, 500.0)},
    valid={"spacing_factor": Range(0.25, 0.35, "evenly spaced discs 0.25; usual heads 0.30, because gauge discs crowd outside")},
    kind="mean",
    source=DISC_TORQUE,
)
def disc_torque(disc_count: Number, rolling_force_kn: Number, excavation_diameter_m: Number, spacing_factor: Number = 0.25) -> DiscTorque:
    """Return the torque of all discs.

    Parameters
    ----------
    disc_count : discs on the head.
    rolling_force_kn : of each.
    excavation_diameter_m : of the cut.
    spacing_factor : mean radius of the discs over the diameter.
    """
    return DiscTorque(torque_knm=np.asarray(spacing_factor * np.multiply(excavation_diameter_m, disc_count) * rolling_force_kn))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DriveCurve(Record):
    """What the drive of the head can give at a speed."""

    base_speed_rpm: FloatArray
    torque_available_knm: FloatArray


@method(
    "machine.torque.drive_curve",
    formulas={
        "base_speed_rpm": Formula("n_base", "60 * eta * P_d / (2 * pi * T_max)"),
        "torque_available_knm": Formula("T_av", "min(T_max, T_max * n_base / abs(n_rev)) if n_rev != 0 else T_max"),
    },
    kind="identity",
    source=DEFINITION,
)
def drive_curve(drive_power_kw: Number, efficiency: Number, torque_max_knm: Number, cutterhead_speed_rpm: Number) -> DriveCurve:
    """Return the torque that the drive can give: constant up to the base speed, then falling at constant power.

    Parameters
    ----------
    drive_power_kw : installed.
    efficiency : head power over drive power.
    torque_max_knm : highest.
    cutterhead_speed_rpm : either sense.
    """
    base_rpm = np.divide(60 * np.multiply(efficiency, drive_power_kw), 2 * np.pi * np.asarray(torque_max_knm))
    with np.errstate(divide="ignore", invalid="ignore"):
        falling_knm = torque_max_knm * base_rpm / np.abs(cutterhead_speed_rpm)
    available_knm = np.where(np.equal(cutterhead_speed_rpm, 0), torque_max_knm, np.minimum(torque_max_knm, falling_knm))
    return DriveCurve(base_speed_rpm=base_rpm, torque_available_knm=available_knm)
