"""The choices a project makes by name, each with its allowed values and one line of meaning.

Everything not listed here is fixed in the stage that uses it. A choice is set in ``project.toml`` under ``[choices]``.
"""

from dataclasses import dataclass
from typing import Annotated, Any, Literal, get_args, get_origin

from pydantic import Field

from tunnelwright.drive.fields import Part, number


class Choices(Part):
    """Which method, rule or factor the stages use."""

    drained_lower_limit: Literal["face.effective_support.wedge_slices", "face.effective_support.slices_selfconsistent"] = Field(
        default="face.effective_support.wedge_slices", description="drained face support; the slices equal the plain wedge where the face is uniform"
    )
    undrained_lower_limit: Literal["face.undrained_support.davis_lower"] = Field(
        default="face.undrained_support.davis_lower", description="face support of clay that does not drain while the face passes"
    )
    window_format: Literal["face.window_partial_factors.daub_2016", "face.window_strength_factor.en_1997_1"] = Field(
        default="face.window_partial_factors.daub_2016", description="where safety is put: on support and water, or on the strength of the ground; never both"
    )
    upper_limit: Literal["face.upper.vertical_stress_0_9", "face.upper.effective_part"] = Field(
        default="face.upper.vertical_stress_0_9", description="greatest face pressure; the second form is meant for deep water"
    )
    side_stress: Literal["tapering", "full"] = Field(
        default="tapering", description="silo stress on the wedge's sides: falling to nothing at the invert, or over the whole height"
    )
    arching: Literal["on", "off"] = Field(default="on", description="whether shear in the silo relieves the wedge")
    wedge_width: Literal["diameter", "equal_area"] = Field(
        default="diameter", description="width of the wedge: the bore's diameter, or that of a face of equal area"
    )
    crown_water_rule: Literal["on", "off"] = Field(default="on", description="whether the crown pressure must also balance the water there with its factor")
    water_cases: Literal["low_and_high", "normal"] = Field(
        default="low_and_high", description="water levels at which the face is calculated; the worse governs"
    )
    drainage: Literal["by_permeability", "both", "drained", "undrained"] = Field(
        default="by_permeability", description="which face calculations run where a unit does not say"
    )
    earth_pressure_at_rest: Literal[
        "ground.earth_pressure_at_rest.mayne_kulhawy_1982", "ground.earth_pressure_at_rest.jaky_1944", "ground.earth_pressure_at_rest.en_1997_1"
    ] = Field(default="ground.earth_pressure_at_rest.mayne_kulhawy_1982", description="earth pressure at rest of a unit that gives no coefficient")
    boundary: Literal["ground.boundary.bridge", "ground.boundary.simple_kriging", "ground.boundary.universal_kriging"] = Field(
        default="ground.boundary.bridge", description="how a boundary runs between boreholes, and how far off it may be"
    )
    boundary_rule: Literal["first_met", "last_met", "first_continuous_run"] = Field(
        default="first_continuous_run", description="which pick makes the boundary where a hole meets a unit more than once"
    )
    continuous_run_m: Annotated[float, number(above=0.0, high=50.0, entry="-")] = Field(default=3.0, description="least thickness of a continuous run")
    pinch_out: Literal["barren_hole", "half_way"] = Field(
        default="barren_hole", description="where a unit ends between a hole that has it and one that has not"
    )
    annulus_basis: Literal["bore", "tail"] = Field(default="bore", description="annulus counted to the bore, or to the tail skin")
    fill_factor: Literal["typical", "learned"] = Field(
        default="typical", description="grout per annulus: the usual value of the ground class, or that of the drive's own accepted rings"
    )
    grout_fracture: Literal["minor_stress", "minor_stress_and_strength"] = Field(
        default="minor_stress_and_strength",
        description="resistance of clay to being split by grout: the least total stress alone, or with its undrained strength",
    )
    weigher: Literal["raw", "confirmed_scale"] = Field(
        default="confirmed_scale", description="belt mass as weighed, or with the scale factor a person has confirmed"
    )
    volume_loss: Literal["planned", "by_unit", "movement.loss.contributions"] = Field(
        default="by_unit", description="ground loss of the trough: the drive's, that of the unit at the face, or summed by cause"
    )
    trough: Literal["movement.trough.gaussian_peck_1969", "movement.trough.vorster_2005"] = Field(
        default="movement.trough.gaussian_peck_1969", description="shape of the settlement across the drive"
    )
    trough_width: Literal["movement.trough_width.oreilly_new_1982", "movement.trough_width.layered_new_oreilly_1991"] = Field(
        default="movement.trough_width.oreilly_new_1982", description="width of the trough at the surface"
    )
    trough_depth: Literal["movement.depth.mair_1993_scaled", "movement.depth.moh_1996", "movement.depth.constant_k"] = Field(
        default="movement.depth.mair_1993_scaled", description="width of the trough below the surface"
    )
    twin: Literal["movement.twin.superposition", "movement.twin.hunt_2005"] = Field(
        default="movement.twin.superposition", description="how the settlement of a second tube adds up"
    )
    building: Literal["assets.building.burland_wroth_1974", "assets.building.limiting_deflection_ratio"] = Field(
        default="assets.building.burland_wroth_1974", description="strain of a building as an equivalent beam"
    )
    lining_forces: Literal["lining.forces.curtis_1976", "lining.forces.muir_wood_1975", "lining.forces.duddeck_erdmann_1985", "lining.forces.bedded_ring"] = (
        Field(default="lining.forces.curtis_1976", description="hoop force and moment of the ring")
    )
    skin_friction: Literal["larger", "drained", "undrained"] = Field(
        default="larger", description="friction on the shield: effective stress, adhesion, or the larger of the two"
    )
    effective_support_factor: Annotated[float, number(low=1.0, high=3.0)] = Field(default=1.5, description="factor on effective support")
    water_factor: Annotated[float, number(low=1.0, high=1.5)] = Field(default=1.05, description="factor on the water force")
    stress_factor: Annotated[float, number(low=0.5, high=1.0)] = Field(default=0.9, description="share of the vertical stress that face pressure may reach")
    undrained_factor: Annotated[float, number(low=1.0, high=3.0, entry="-")] = Field(default=1.5, description="factor on undrained strength at the face")
    window_share: Annotated[float, number(low=0.0, high=0.5)] = Field(
        default=0.2, description="place of the target above the operating lower limit, as a share of the window"
    )
    pressure_step_kpa: Annotated[float, number(above=0.0, high=50.0)] = Field(default=5.0, description="targets are whole multiples of this")
    change_penalty: Annotated[float, number(low=0.0, high=1000.0)] = Field(
        default=4.0, description="what one change of the target costs; higher gives fewer, longer stretches"
    )
    rings_ahead: Annotated[int, Field(ge=0, le=50)] = Field(default=3, description="rings ahead whose limits the target already respects")


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """One choice as a page or a listing shows it."""

    name: str
    default: str | float
    allowed: tuple[str, ...]
    meaning: str


def choice_list() -> tuple[Choice, ...]:
    """Return every choice with its default, its allowed values (empty for a number) and its meaning."""
    return tuple(
        Choice(name=name, default=field.default, allowed=_allowed(field.annotation), meaning=field.description or "")
        for name, field in Choices.model_fields.items()
    )


def _allowed(annotation: Any) -> tuple[str, ...]:
    return tuple(str(one) for one in get_args(annotation)) if get_origin(annotation) is Literal else ()
