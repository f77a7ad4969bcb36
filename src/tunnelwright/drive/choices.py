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
    boundary_rule: Literal["first_met", "last_met", "first_continuous_run"] = Field(
        default="first_continuous_run", description="which pick makes the boundary where a hole meets a unit more than once"
    )
    continuous_run_m: Annotated[float, number(above=0.0, high=50.0, entry="-")] = Field(default=3.0, description="least thickness of a continuous run")
    annulus_basis: Literal["bore", "tail"] = Field(default="bore", description="annulus counted to the bore, or to the tail skin")
    grout_fracture: Literal["minor_stress", "minor_stress_and_strength"] = Field(
        default="minor_stress_and_strength",
        description="resistance of clay to being split by grout: the least total stress alone, or with its undrained strength",
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
