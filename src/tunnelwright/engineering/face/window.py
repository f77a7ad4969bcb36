"""The window: least face pressure with its factors, and what is left between both hard limits."""

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from tunnelwright.engineering.face.declared import MEDIUM_WEIGHT, POSSIBLE, SYMBOLS, angle_in_radians, high_cohesion, silo_remarks, thickness_given
from tunnelwright.engineering.face.mechanism import SideStress
from tunnelwright.engineering.face.silo import SiloLayers
from tunnelwright.engineering.face.sources import DAUB_2016, EN_1997_1, WINDOW_BOOKKEEPING
from tunnelwright.engineering.face.wedge import DERIVED_WIDTH, FaceLayers, search_slip_angle
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Remark, Rows, method
from tunnelwright.vocabulary.types import DERIVED, FloatArray, Number, Record, Table, TextArray, Values

_GOVERNING: Final = np.array(["wedge", "crown water", "invert water", "local wedge"])
_WEDGE_AT_CROWN: Final = "s_axis - gamma_S * D / 2"
_WITHOUT_LOCAL: Final = (
    f'max({_WEDGE_AT_CROWN}, eta_W * u_crown if crown_water_rule == "on" else {_WEDGE_AT_CROWN}, '
    f"eta_W * u_invert - gamma_S * D if gamma_S < eta_W * gamma_w else {_WEDGE_AT_CROWN})"
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LocalSupport(Table):
    """Partial wedges below the crown with the water at their middle; a row with NaN is no wedge."""

    height_m: FloatArray
    effective_support_pressure_kpa: FloatArray
    pore_pressure_kpa: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RequiredPressure(Record):
    """Least face pressure with its factors."""

    required_face_pressure_axis_kpa: FloatArray
    required_face_pressure_crown_kpa: FloatArray
    operating_lower_crown_kpa: FloatArray
    governing: TextArray


@method(
    "face.window_partial_factors.daub_2016",
    formulas={
        "required_face_pressure_axis_kpa": Formula("s_axis", "eta_E * max(e, 0) + eta_W * W / (pi / 4 * D^2)"),
        "operating_lower_crown_kpa": Formula("p_low", "s_low + delta"),
    },
    found_by={
        "required_face_pressure_crown_kpa": Rows(
            "local_wedges", "s_low", "max(previous, eta_E * max(e, 0) + eta_W * u - gamma_S * h / 2)", start=_WITHOUT_LOCAL
        ),
        "governing": Algorithm("the rule that gives the greatest pressure at the crown; the first of equals in the order of the text", ""),
    },
    symbols=SYMBOLS | {"required_face_pressure_axis_kpa": "s_axis", "pore_pressure_invert_kpa": "u_invert", "height_m": "h", "pore_pressure_kpa": "u"},
    possible=POSSIBLE
    | {
        "effective_support_pressure_kpa": (-5000.0, 5000.0),
        "pore_pressure_crown_kpa": (0.0, 5000.0),
        "pore_pressure_invert_kpa": (0.0, 5000.0),
        "pore_pressure_kpa": (0.0, 5000.0),
        "water_force_kn": (0.0, 2e6),
        "height_m": (0.0, 20.0),
        "effective_support_factor": (1.0, 5.0),
        "water_factor": (1.0, 3.0),
    },
    requires=(MEDIUM_WEIGHT,),
    remarks=(
        Remark(
            lambda values: (np.asarray(values["effective_support_factor"]) < 1.5) | (np.asarray(values["water_factor"]) < 1.05),
            "factors below 1.5 on the ground or 1.05 on the water: only by a signed decision of the responsible engineer",
        ),
        Remark(
            lambda values: (
                (values["support_unit_weight_kn_m3"] < np.multiply(values["water_factor"], values["water_unit_weight_kn_m3"]))
                & (np.asarray(values["pore_pressure_invert_kpa"]) == 0)
                & (np.asarray(values["water_force_kn"]) > 0)
            ),
            "medium lighter than water with its factor, and no pore pressure at the invert given: the water at the invert is not checked",
        ),
        Remark(
            lambda values: (np.asarray(values["pore_pressure_crown_kpa"]) > 0) & (values["crown_water_rule"] == "off"),
            "water pressure at the crown is not required as a least value: only for clay that is judged not to drain",
        ),
        Remark(
            lambda values: np.asarray(values["effective_support_pressure_kpa"]) < 0,
            "the face stands by itself in this mechanism: support counts as 0",
        ),
    ),
    kind="mean",
    source=DAUB_2016,
)
def partial_factors(
    excavation_diameter_m: Number,
    effective_support_pressure_kpa: Number,
    water_force_kn: Number,
    pore_pressure_crown_kpa: Number,
    support_unit_weight_kn_m3: Number,
    pressure_allowance_kpa: Number,
    pore_pressure_invert_kpa: Number = 0.0,
    effective_support_factor: Number = 1.5,
    water_factor: Number = 1.05,
    crown_water_rule: Literal["on", "off"] = "on",
    local_wedges: LocalSupport | None = None,
    water_unit_weight_kn_m3: Number = 9.81,
) -> RequiredPressure:
    """Return the least face pressure at axis and crown, with factors on ground and water.

    Parameters
    ----------
    excavation_diameter_m : over the cutters.
    effective_support_pressure_kpa : raw, without factor.
    water_force_kn : on the whole face.
    pore_pressure_crown_kpa : at the crown.
    support_unit_weight_kn_m3 : of the medium in the chamber, lowest credible; 0 for air.
    pressure_allowance_kpa : for fluctuation, 10 kPa for slurry and 30 kPa for earth pressure support are usual.
    pore_pressure_invert_kpa : at the invert, for a medium lighter than water with its factor; 0 leaves it unchecked.
    effective_support_factor : on the effective support.
    water_factor : on the water.
    crown_water_rule : on asks at the crown for the water there with its factor.
    local_wedges : parts of the face below the crown with their own support.
    water_unit_weight_kn_m3 : one for the whole project.
    """
    diameter = np.asarray(excavation_diameter_m, dtype=np.float64)
    weight, water = np.asarray(support_unit_weight_kn_m3, dtype=np.float64), np.asarray(water_factor, dtype=np.float64)
    axis = effective_support_factor * np.maximum(effective_support_pressure_kpa, 0.0) + water * water_force_kn / (np.pi / 4 * np.square(diameter))
    wedge = axis - weight * diameter / 2
    at_crown = water * pore_pressure_crown_kpa if crown_water_rule == "on" else -np.inf
    at_invert = np.where(weight < water * water_unit_weight_kn_m3, water * pore_pressure_invert_kpa - weight * diameter, -np.inf)
    local = np.asarray(-np.inf) if local_wedges is None else _local_at_crown(local_wedges, np.asarray(effective_support_factor), water, weight)
    rules = np.stack(np.broadcast_arrays(wedge, at_crown, at_invert, local))
    crown = rules.max(axis=0)
    return RequiredPressure(
        required_face_pressure_axis_kpa=axis,
        required_face_pressure_crown_kpa=crown,
        operating_lower_crown_kpa=crown + pressure_allowance_kpa,
        governing=_GOVERNING[rules.argmax(axis=0)],
    )


def _local_at_crown(wedges: LocalSupport, support_factor: FloatArray, water_factor: FloatArray, weight: FloatArray) -> FloatArray:
    """Return the greatest pressure at the crown that a partial wedge asks for, minus infinity where a place has none."""
    effective = support_factor[..., None] * np.maximum(wedges.effective_support_pressure_kpa, 0.0)
    asked = effective + water_factor[..., None] * wedges.pore_pressure_kpa - weight[..., None] * wedges.height_m / 2
    return np.asarray(np.max(np.where(np.isnan(wedges.height_m), -np.inf, asked), axis=-1, initial=-np.inf))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DesignSupport(Record):
    """Effective support with factors on the strength of the ground."""

    design_friction_angle_rad: FloatArray
    design_cohesion_kpa: FloatArray
    slip_angle_rad: FloatArray
    effective_support_pressure_kpa: FloatArray


@method(
    "face.window_strength_factor.en_1997_1",
    formulas={
        "design_friction_angle_rad": Formula("phi_d", "atan(tan(phi) / f_phi)"),
        "design_cohesion_kpa": Formula("c_d", "c / f_c"),
    },
    found_by={
        "slip_angle_rad": Algorithm("least favourable angle of the wedge below its silo, both with design strengths", "theta"),
        "effective_support_pressure_kpa": Algorithm(
            "wedge below a silo, with design strengths in wedge and silo and the design surcharge; water carries no factor",
            "e",
            {"the design angle is no steeper than the given one": lambda values: ~(values["design_friction_angle_rad"] > values["friction_angle_rad"] + 1e-12)},
        ),
    },
    derived={"wedge_width_m": DERIVED_WIDTH},
    symbols=SYMBOLS
    | {"friction_factor": "f_phi", "cohesion_factor": "f_c", "surcharge_factor": "f_q", "design_friction_angle_rad": "phi_d", "design_cohesion_kpa": "c_d"},
    possible=POSSIBLE | {"friction_factor": (1.0, 2.0), "cohesion_factor": (1.0, 2.0), "surcharge_factor": (1.0, 2.0)},
    requires=(thickness_given("layers"), angle_in_radians("layers.friction_angle_rad"), angle_in_radians("friction_angle_rad")),
    remarks=(*silo_remarks(), high_cohesion(lambda values: values["cohesion_kpa"], lambda values: values["friction_angle_rad"])),
    kind="mean",
    source=EN_1997_1,
)
def strength_factor_support(
    excavation_diameter_m: Number,
    layers: SiloLayers,
    effective_unit_weight_kn_m3: Number,
    cohesion_kpa: Number,
    friction_angle_rad: Number,
    surcharge_kpa: Number = 0.0,
    friction_factor: Number = 1.25,
    cohesion_factor: Number = 1.25,
    surcharge_factor: Number = 1.3,
    side_coefficient: Number | None = None,
    wedge_width_m: Number = DERIVED,
    side_stress: SideStress = "tapering",
) -> DesignSupport:
    """Return the effective support pressure with the strength of the ground divided by its factors.

    Parameters
    ----------
    excavation_diameter_m : over the cutters.
    layers : ground above the crown, top down, characteristic.
    effective_unit_weight_kn_m3, cohesion_kpa, friction_angle_rad : of the ground in the face, characteristic.
    surcharge_kpa : characteristic, variable.
    friction_factor : on the tangent of the friction angle.
    cohesion_factor : on the cohesion.
    surcharge_factor : on the surcharge.
    side_coefficient : left out, from the design friction angle.
    wedge_width_m : left out, the diameter.
    side_stress : as for the wedge below a silo.

    Notes
    -----
    It stands in place of the factors on support and water, never beside them. The water then has no margin, so the rule for water at the crown stays.
    """
    friction_factor, cohesion_factor = np.asarray(friction_factor, dtype=np.float64), np.asarray(cohesion_factor, dtype=np.float64)
    friction = np.arctan(np.tan(friction_angle_rad) / friction_factor)
    cohesion = cohesion_kpa / cohesion_factor
    silo = SiloLayers(
        thickness_m=layers.thickness_m,
        effective_unit_weight_kn_m3=layers.effective_unit_weight_kn_m3,
        cohesion_kpa=layers.cohesion_kpa / cohesion_factor[..., None],
        friction_angle_rad=np.arctan(np.tan(layers.friction_angle_rad) / friction_factor[..., None]),
        lateral_coefficient=layers.lateral_coefficient,
    )
    face = FaceLayers(
        thickness_m=np.asarray(excavation_diameter_m, dtype=np.float64)[..., None],
        effective_unit_weight_kn_m3=np.asarray(effective_unit_weight_kn_m3)[..., None],
        cohesion_kpa=np.asarray(cohesion)[..., None],
        friction_angle_rad=np.asarray(friction)[..., None],
    )
    found = search_slip_angle(
        silo,
        face,
        excavation_diameter_m,
        surcharge_kpa=np.multiply(surcharge_factor, surcharge_kpa),
        side_coefficient=side_coefficient,
        wedge_width_m=wedge_width_m,
        side_stress=side_stress,
        local=False,
    )
    return DesignSupport(
        design_friction_angle_rad=friction,
        design_cohesion_kpa=cohesion,
        slip_angle_rad=found.slip_angle_rad,
        effective_support_pressure_kpa=found.effective_support_pressure_kpa,
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WindowLimits(Record):
    """Operating limits between the hard ones."""

    operating_lower_crown_kpa: FloatArray
    operating_upper_crown_kpa: FloatArray
    window_width_kpa: FloatArray
    deficit_kpa: FloatArray
    status: TextArray
    reason: TextArray


def _status_fits(values: Values) -> bool:
    closed = np.asarray(values["status"]) == "no_window"
    return bool(np.all(closed == ~(np.asarray(values["window_width_kpa"]) >= 0)) and np.all((np.asarray(values["reason"]) == "") == ~closed))


@method(
    "face.window_limits.allowance",
    formulas={
        "operating_lower_crown_kpa": Formula("p_low", "s_low + delta"),
        "operating_upper_crown_kpa": Formula("p_high", "s_max - delta"),
        "window_width_kpa": Formula("w", "p_high - p_low"),
        "deficit_kpa": Formula("d", "p_low - p_high"),
    },
    found_by={
        "status": Algorithm("a window where the operating limits stand in order", "", {"status, reason and width agree": _status_fits}),
        "reason": Algorithm("empty with a window; allowance where the hard limits alone would leave one; limits otherwise", ""),
    },
    symbols=SYMBOLS,
    possible=POSSIBLE | {"required_face_pressure_crown_kpa": (-1000.0, 5000.0), "face_pressure_limit_crown_kpa": (-1000.0, 10000.0)},
    remarks=(
        Remark(
            lambda values: np.asarray(values["reason"]) == "allowance",
            "tight: less fluctuation, by better regulation or a filled chamber, might leave a window",
        ),
        Remark(
            lambda values: np.asarray(values["reason"]) == "limits",
            "no window: stop and decide; check inputs and water, treat the ground or ballast, change the medium; never advance without one",
        ),
    ),
    kind="identity",
    source=WINDOW_BOOKKEEPING,
)
def window_limits(required_face_pressure_crown_kpa: Number, face_pressure_limit_crown_kpa: Number, pressure_allowance_kpa: Number) -> WindowLimits:
    """Return the operating limits at the crown and whether anything is left between them.

    Parameters
    ----------
    required_face_pressure_crown_kpa : hard lower limit.
    face_pressure_limit_crown_kpa : hard upper limit.
    pressure_allowance_kpa : for fluctuation, taken off on both sides.

    Notes
    -----
    Nothing is clipped or swapped: a window that is closed shows its deficit.
    """
    low = np.add(required_face_pressure_crown_kpa, pressure_allowance_kpa)
    high = np.subtract(face_pressure_limit_crown_kpa, pressure_allowance_kpa)
    is_open = high >= low
    reason = np.where(is_open, "", np.where(np.less_equal(required_face_pressure_crown_kpa, face_pressure_limit_crown_kpa), "allowance", "limits"))
    return WindowLimits(
        operating_lower_crown_kpa=low,
        operating_upper_crown_kpa=high,
        window_width_kpa=high - low,
        deficit_kpa=low - high,
        status=np.where(is_open, "window", "no_window"),
        reason=reason,
    )
