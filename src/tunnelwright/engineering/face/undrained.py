"""Face in clay that does not drain while it stands open: critical stability numbers, support, volume loss, service pressure."""

from dataclasses import dataclass
from typing import Final

import numpy as np

from tunnelwright.engineering.face.declared import POSSIBLE, SYMBOLS
from tunnelwright.engineering.face.sources import BROMS_BENNERMARK_1967, DAVIS_1980, MACKLIN_1999
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Range, Remark, method
from tunnelwright.vocabulary.types import DERIVED, FloatArray, Number, Record, TextArray, Values

# Greatest critical stability number that is ever used, whatever the cover.
CAP: Final = 9.0
_VOLUME_LOSS_AT_ZERO: Final = 0.0023
_CLASSES: Final = ("nearly elastic", "moderate", "large loss", "collapse likely")

DERIVED_CRITICAL_NUMBER: Final = Formula("N_c", "min(9, max(4 * ln(2 * C / D + 1), 2 + 2 * ln(2 * C / D + 1)))")
CRITICAL_NUMBER_AS_USED: Final = Algorithm(
    "as given; left out, the lower bound, capped at 9",
    "N_c",
    {"the number is positive": lambda values: ~(values["critical_stability_number"] <= 0)},
)
_STRESS_RANGE: Final = {
    "total_vertical_stress_axis_kpa": (0.0, 10000.0),
    "total_vertical_stress_crown_kpa": (0.0, 10000.0),
    "face_pressure_axis_kpa": (0.0, 3000.0),
    "critical_stability_number": (0.5, 20.0),
}
UNDRAINED_POSSIBLE: Final = POSSIBLE | _STRESS_RANGE


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CriticalNumber(Record):
    """Greatest stability number at which the face stands, from two stress fields in equilibrium."""

    critical_stability_number_sphere: FloatArray
    critical_stability_number_cylinder: FloatArray
    critical_stability_number: FloatArray


@method(
    "face.stability_number.davis_lower",
    formulas={
        "critical_stability_number_sphere": Formula("N_sphere", "4 * ln(2 * C / D + 1)"),
        "critical_stability_number_cylinder": Formula("N_cylinder", "2 + 2 * ln(2 * C / D + 1)"),
        "critical_stability_number": Formula("N_c", "min(N_cap, max(N_sphere, N_cylinder))"),
    },
    symbols=SYMBOLS | {"critical_stability_number_cap": "N_cap"},
    possible=UNDRAINED_POSSIBLE | {"critical_stability_number_cap": (1.0, 20.0)},
    remarks=(Remark(lambda values: values["critical_stability_number_cap"] > CAP, "cap of the critical stability number above 9: not backed by tests"),),
    kind="lower bound",
    source=DAVIS_1980,
)
def davis_lower(excavation_diameter_m: Number, cover_m: Number, critical_stability_number_cap: Number = CAP) -> CriticalNumber:
    """Return the critical stability number as the greater of two lower bounds, a thick sphere and a thick cylinder with an end.

    Parameters
    ----------
    excavation_diameter_m : over the cutters.
    cover_m : crown to ground or bed.
    critical_stability_number_cap : greatest number that is used.
    """
    spread = np.log(2 * np.divide(cover_m, excavation_diameter_m) + 1)
    sphere, cylinder = 4 * spread, 2 + 2 * spread
    return CriticalNumber(
        critical_stability_number_sphere=sphere,
        critical_stability_number_cylinder=cylinder,
        critical_stability_number=np.minimum(critical_stability_number_cap, np.maximum(sphere, cylinder)),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TwoBlockNumber(Record):
    """Critical stability number of a long slot."""

    critical_stability_number: FloatArray


@method(
    "face.stability_number.two_block_plane_strain",
    formulas={"critical_stability_number": Formula("N_c", "4 * sqrt(C / D + 1 / 4)")},
    symbols=SYMBOLS,
    possible=UNDRAINED_POSSIBLE,
    kind="upper bound",
    source=DAVIS_1980,
)
def two_block_plane_strain(excavation_diameter_m: Number, cover_m: Number) -> TwoBlockNumber:
    """Return the critical stability number of a long slot heading from two sliding blocks, an upper bound in plane strain.

    Parameters
    ----------
    excavation_diameter_m : height of the heading.
    cover_m : crown to ground or bed.

    Notes
    -----
    It is no bound for a circular heading: from two diameters of cover it lies below the lower bound of the sphere.
    """
    return TwoBlockNumber(critical_stability_number=4 * np.sqrt(np.divide(cover_m, excavation_diameter_m) + 0.25))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StabilityClass(Record):
    """How clay at the face behaves."""

    stability_number: FloatArray
    stability_class: TextArray


def _classes_fit(values: Values) -> bool:
    number, word = np.asarray(values["stability_number"]), np.asarray(values["stability_class"])
    return bool(np.all((word == _CLASSES[-1]) == (number > 6)) and np.all((word == _CLASSES[0]) == (number < 2)))


@method(
    "face.stability_number.broms_bennermark",
    formulas={"stability_number": Formula("N", "(sigma_v - s_axis) / c_u")},
    found_by={"stability_class": Algorithm("below 2, from 2 to 4, from 4 to 6, above 6", "", {"classes fit the number": _classes_fit})},
    symbols=SYMBOLS,
    possible=UNDRAINED_POSSIBLE,
    remarks=(Remark(lambda values: values["stability_number"] > 6, "stability number above 6: collapse of the face is likely"),),
    kind="screening",
    source=BROMS_BENNERMARK_1967,
)
def broms_bennermark(total_vertical_stress_axis_kpa: Number, face_pressure_axis_kpa: Number, undrained_strength_kpa: Number) -> StabilityClass:
    """Return the stability number of a face in clay and its usual class.

    Parameters
    ----------
    total_vertical_stress_axis_kpa : with surcharge and free water.
    face_pressure_axis_kpa : total support at the axis.
    undrained_strength_kpa : mean over the face, half a diameter above and below it.
    """
    number = np.asarray((total_vertical_stress_axis_kpa - np.asarray(face_pressure_axis_kpa)) / undrained_strength_kpa)
    words = np.select([number < 2, number <= 4, number <= 6, number > 6], _CLASSES, default="")
    return StabilityClass(stability_number=number, stability_class=words)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class UndrainedSupport(Record):
    """Total support that clay needs."""

    required_face_pressure_axis_kpa: FloatArray
    critical_stability_number: FloatArray


@method(
    "face.undrained_support.davis_lower",
    formulas={"required_face_pressure_axis_kpa": Formula("s_min", "sigma_v - N_c * c_u / F")},
    found_by={"critical_stability_number": CRITICAL_NUMBER_AS_USED},
    derived={"critical_stability_number": DERIVED_CRITICAL_NUMBER},
    symbols=SYMBOLS,
    possible=UNDRAINED_POSSIBLE,
    remarks=(
        Remark(
            lambda values: (
                np.multiply(values["total_vertical_stress_axis_kpa"], values["excavation_diameter_m"])
                > 4 * values["undrained_strength_kpa"] * (values["cover_m"] + values["excavation_diameter_m"] / 2)
            ),
            "mean weight of the cover times diameter is more than four times the undrained strength: the crown may fall in locally",
        ),
    ),
    kind="lower bound",
    source=DAVIS_1980,
)
def undrained_support(
    excavation_diameter_m: Number,
    cover_m: Number,
    total_vertical_stress_axis_kpa: Number,
    undrained_strength_kpa: Number,
    strength_factor: Number = 1.5,
    critical_stability_number: Number = DERIVED,
) -> UndrainedSupport:
    """Return the least total face pressure at the axis in clay that does not drain.

    Parameters
    ----------
    excavation_diameter_m : over the cutters.
    cover_m : crown to ground or bed.
    total_vertical_stress_axis_kpa : with surcharge and free water.
    undrained_strength_kpa : mean from half a diameter above the crown to the invert; three quarters of it in fissured clay.
    strength_factor : on the strength.
    critical_stability_number : left out, the lower bound for this cover.

    Notes
    -----
    It is a total pressure: neither water nor factors on water are added. A negative value says that the clay stands; it is kept.
    """
    support = total_vertical_stress_axis_kpa - np.divide(np.multiply(critical_stability_number, undrained_strength_kpa), strength_factor)
    return UndrainedSupport(required_face_pressure_axis_kpa=support, critical_stability_number=np.asarray(critical_stability_number))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class UndrainedVolumeLoss(Record):
    """Ground that a face in clay lets in."""

    stability_number: FloatArray
    load_factor: FloatArray
    volume_loss: FloatArray


_LOAD_FACTOR_RANGE: Final = Range(0.2, 0.8, "range of the field data; wide scatter, a factor of two either way")


@method(
    "face.volume_loss.macklin_1999",
    formulas={
        "stability_number": Formula("N", "(sigma_v - s_axis) / c_u"),
        "load_factor": Formula("LF", "N / N_c"),
        "volume_loss": Formula("V_L", "0.0023 * exp(4.4 * LF)"),
    },
    derived={"critical_stability_number": DERIVED_CRITICAL_NUMBER},
    symbols=SYMBOLS,
    possible=UNDRAINED_POSSIBLE,
    valid={"load_factor": _LOAD_FACTOR_RANGE},
    kind="mean",
    source=MACKLIN_1999,
)
def undrained_volume_loss(
    excavation_diameter_m: Number,
    cover_m: Number,
    total_vertical_stress_axis_kpa: Number,
    face_pressure_axis_kpa: Number,
    undrained_strength_kpa: Number,
    critical_stability_number: Number = DERIVED,
) -> UndrainedVolumeLoss:
    """Return the short-term volume loss of a drive in overconsolidated clay from the load factor of its face.

    Parameters
    ----------
    excavation_diameter_m : over the cutters.
    cover_m : crown to ground or bed.
    total_vertical_stress_axis_kpa : with surcharge and free water.
    face_pressure_axis_kpa : total support at the axis.
    undrained_strength_kpa : mean from half a diameter above the crown to the invert.
    critical_stability_number : left out, the lower bound for this cover, which gives the greater loss.
    """
    number = np.divide(np.subtract(total_vertical_stress_axis_kpa, face_pressure_axis_kpa), undrained_strength_kpa)
    load_factor = number / critical_stability_number
    return UndrainedVolumeLoss(stability_number=number, load_factor=load_factor, volume_loss=_VOLUME_LOSS_AT_ZERO * np.exp(4.4 * load_factor))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ServicePressure(Record):
    """Face pressure that keeps the volume loss to what is wanted."""

    load_factor: FloatArray
    face_pressure_axis_kpa: FloatArray


@method(
    "face.service_pressure.macklin_1999",
    formulas={
        "load_factor": Formula("LF", "ln(V_L / 0.0023) / 4.4"),
        "face_pressure_axis_kpa": Formula("s_axis", "sigma_v - c_u * N_c * LF"),
    },
    derived={"critical_stability_number": DERIVED_CRITICAL_NUMBER},
    symbols=SYMBOLS,
    possible=UNDRAINED_POSSIBLE,
    valid={"load_factor": _LOAD_FACTOR_RANGE},
    remarks=(
        Remark(
            lambda values: values["face_pressure_axis_kpa"] > values["total_vertical_stress_axis_kpa"],
            "pressure above the total vertical stress at the axis: never set it; so small a loss lies outside the data",
        ),
    ),
    kind="mean",
    source=MACKLIN_1999,
)
def service_pressure(
    excavation_diameter_m: Number,
    cover_m: Number,
    total_vertical_stress_axis_kpa: Number,
    undrained_strength_kpa: Number,
    volume_loss: Number,
    critical_stability_number: Number = DERIVED,
) -> ServicePressure:
    """Return the face pressure at the axis at which a drive in overconsolidated clay loses a wanted volume.

    Parameters
    ----------
    excavation_diameter_m : over the cutters.
    cover_m : crown to ground or bed.
    total_vertical_stress_axis_kpa : with surcharge and free water.
    undrained_strength_kpa : mean from half a diameter above the crown to the invert.
    volume_loss : wanted, as a ratio.
    critical_stability_number : left out, the lower bound for this cover.
    """
    load_factor = np.log(np.divide(volume_loss, _VOLUME_LOSS_AT_ZERO)) / 4.4
    pressure = total_vertical_stress_axis_kpa - np.multiply(undrained_strength_kpa, critical_stability_number) * load_factor
    return ServicePressure(load_factor=load_factor, face_pressure_axis_kpa=pressure)
