"""A drive and its designed axis."""

import datetime
from typing import Annotated, Final, Literal, Self

import numpy as np
from pydantic import Field, field_validator, model_validator

from tunnelwright.drive.fields import Part, number, refusal
from tunnelwright.vocabulary.types import FloatArray

ElementType = Literal["line", "circular_arc", "clothoid", "bloss", "cosine", "sine", "helmert"]
Turn = Literal["right", "left"]
DRIVE_NAME: Final = r"^[a-z][a-z0-9_-]*$"


class Element(Part):
    """One element of the plan, in drive order.

    Parameters
    ----------
    element_type : law of its curvature.
    length_m : along the horizontal projection.
    radius_m, turn : of an arc; or give the curvatures.
    start_curvature_1_m, end_curvature_1_m : positive right. A transition without them joins its neighbours.
    """

    element_type: ElementType
    length_m: Annotated[float, number(above=0.0, high=50_000.0)]
    radius_m: Annotated[float | None, number(above=0.0)] = None
    turn: Turn | None = None
    start_curvature_1_m: Annotated[float | None, number(low=-0.1, high=0.1, entry="curvature_1_m")] = None
    end_curvature_1_m: Annotated[float | None, number(low=-0.1, high=0.1, entry="curvature_1_m")] = None

    @model_validator(mode="after")
    def _check(self) -> Self:
        if self.radius_m is not None and self.turn is None:
            raise refusal(self.radius_m, 'a radius needs its turn, "right" or "left"', field="radius_m")
        if self.radius_m is not None and self.element_type != "circular_arc":
            raise refusal(
                self.radius_m,
                f"only a circular_arc has one radius; this is a {self.element_type}",
                "give start_curvature_1_m and end_curvature_1_m, or neither",
                field="radius_m",
            )
        if self.element_type == "circular_arc" and self.radius_m is None and self.start_curvature_1_m is None:
            raise refusal(None, "an arc needs its radius_m and turn", field="radius_m")
        return self

    def own_curvatures(self) -> tuple[float, float] | None:
        """Return the curvatures at both ends as far as the element itself says them."""
        if self.element_type == "line":
            return 0.0, 0.0
        if self.radius_m is not None:
            curvature = (1.0 if self.turn == "right" else -1.0) / self.radius_m
            return curvature, curvature
        if self.start_curvature_1_m is None:
            return None
        end = self.start_curvature_1_m if self.end_curvature_1_m is None else self.end_curvature_1_m
        return self.start_curvature_1_m, end


class Vertex(Part):
    """An intersection of two grades of the profile."""

    chainage_m: Annotated[float, number()]
    level_m: Annotated[float, number()]
    vertical_radius_m: Annotated[float, number(low=0.0)] = 0.0


class AxisStart(Part):
    """Where the plan begins.

    Parameters
    ----------
    bearing_rad : clockwise from grid north, in drive direction.
    chainage_m : at the start of the first element.
    """

    easting_m: Annotated[float, number()]
    northing_m: Annotated[float, number()]
    bearing_rad: Annotated[float, number(low=-2 * np.pi, high=2 * np.pi)]
    chainage_m: Annotated[float, number()] = 0.0


class DesignAxis(Part):
    """The designed tunnel axis: plan elements chained from a start, and the intersections of grades of the profile."""

    start: AxisStart
    elements: Annotated[tuple[Element, ...], Field(min_length=1)]
    vertices: Annotated[tuple[Vertex, ...], Field(min_length=2)]
    curve_type: Literal["parabola", "circle"] = "parabola"

    @field_validator("elements")
    @classmethod
    def _join_transitions(cls, elements: tuple[Element, ...]) -> tuple[Element, ...]:
        own = [element.own_curvatures() for element in elements]
        joined = []
        for position, (element, curvatures) in enumerate(zip(elements, own, strict=True)):
            before = own[position - 1] if position > 0 else (0.0, 0.0)
            after = own[position + 1] if position + 1 < len(own) else (0.0, 0.0)
            if curvatures is None and (before is None or after is None):
                raise refusal(
                    element.element_type,
                    f"element {position + 1} stands beside another transition: its curvatures must be given",
                    "give start_curvature_1_m and end_curvature_1_m",
                )
            start, end = curvatures or (before[1], after[0])  # type: ignore[index]
            joined.append(element.model_copy(update={"start_curvature_1_m": start, "end_curvature_1_m": end}))
        return tuple(joined)

    @property
    def element_types(self) -> tuple[str, ...]:
        """Return the laws of curvature in drive order."""
        return tuple(element.element_type for element in self.elements)

    @property
    def length_m(self) -> FloatArray:
        """Return the length of each element."""
        return np.array([element.length_m for element in self.elements])

    @property
    def start_curvature_1_m(self) -> FloatArray:
        """Return the curvature at the start of each element, positive right."""
        return np.array([element.start_curvature_1_m for element in self.elements], dtype=float)

    @property
    def end_curvature_1_m(self) -> FloatArray:
        """Return the curvature at the end of each element, positive right."""
        return np.array([element.end_curvature_1_m for element in self.elements], dtype=float)

    @property
    def end_chainage_m(self) -> float:
        """Return the chainage at the end of the last element."""
        return self.start.chainage_m + float(self.length_m.sum())

    @property
    def vertex_chainage_m(self) -> FloatArray:
        """Return the chainages of the intersections of grades."""
        return np.array([vertex.chainage_m for vertex in self.vertices])

    @property
    def vertex_level_m(self) -> FloatArray:
        """Return the levels of the intersections of grades."""
        return np.array([vertex.level_m for vertex in self.vertices])

    @property
    def vertical_radius_m(self) -> FloatArray:
        """Return the unsigned radii at the intersections of grades, 0 at both ends."""
        return np.array([vertex.vertical_radius_m for vertex in self.vertices])


class Twin(Part):
    """A second tube driven beside this one.

    Parameters
    ----------
    offset_m : of its axis from this one, positive right looking in drive direction.
    behind_m : how far its face follows this one; negative when it goes ahead.
    """

    name: str
    offset_m: Annotated[float, number(entry="offset_m")]
    behind_m: Annotated[float, number(entry="distance_from_face_m")] = 0.0
    excavation_diameter_m: Annotated[float | None, number(above=0.0)] = None


class Drive(Part):
    """One machine from launch to arrival along one axis.

    Parameters
    ----------
    name : short, used in commands and addresses.
    machine, ring_type : names in machines.toml and ring_types.toml.
    start_chainage_m : front edge of ring 0, from which rings are counted.
    end_chainage_m, ring_count : where the drive ends; give one of the two.
    surcharge_kpa : of traffic on the surface, where it is unfavourable.
    volume_loss_planned : the contract's loss of ground, a ratio of the bored area.
    """

    name: Annotated[str, Field(pattern=DRIVE_NAME)]
    title: str = ""
    machine: str
    ring_type: str
    start_chainage_m: Annotated[float, number(entry="chainage_m")]
    end_chainage_m: Annotated[float | None, number(entry="chainage_m")] = None
    ring_count: Annotated[int | None, Field(gt=0, le=20_000)] = None
    start_date: datetime.date | None = None
    surcharge_kpa: Annotated[float, number(low=0.0, high=200.0)] = 10.0
    volume_loss_planned: Annotated[float, number(above=0.0, high=0.2, entry="volume_loss")] = 0.01
    position_tolerance_mm: Annotated[float, number(above=0.0)] = 100.0
    twin: Twin | None = None
    axis: DesignAxis

    @model_validator(mode="after")
    def _check_end(self) -> Self:
        if (self.end_chainage_m is None) == (self.ring_count is None):
            raise refusal(self.end_chainage_m, "either end_chainage_m or ring_count must be given, not both", field="end_chainage_m")
        if self.end_chainage_m is not None and self.end_chainage_m <= self.start_chainage_m:
            raise refusal(self.end_chainage_m, f"must lie beyond start_chainage_m {self.start_chainage_m:g}", field="end_chainage_m")
        return self
