"""The kinds of values that cross a kernel's border, and the base of its tables and records.

``Number`` broadcasts; ``Series`` is one-dimensional; a ``Table`` holds columns whose last axis runs over rows, leading axes
broadcast; a ``Record`` holds results. Both copy their arrays and make them read-only.
"""

import dataclasses
import types as python_types
from collections.abc import Mapping, Sequence
from typing import Annotated, Any, Final, Literal, Self, TypeAlias, Union, get_args, get_origin, get_type_hints

import numpy as np
from numpy.typing import NDArray

FloatArray: TypeAlias = NDArray[np.float64]
TextArray: TypeAlias = NDArray[np.str_]
BoolArray: TypeAlias = NDArray[np.bool_]
IntArray: TypeAlias = NDArray[np.int64]
Number: TypeAlias = float | FloatArray
Series: TypeAlias = Annotated[FloatArray, "list"]
TextSeries: TypeAlias = Annotated[TextArray, "text list"]
Matrix: TypeAlias = Annotated[FloatArray, "matrix"]
Count: TypeAlias = Annotated[int, "count"]
Values: TypeAlias = Mapping[str, Any]

Kind = Literal["number", "list", "text list", "matrix", "count", "choice", "text", "table", "mapping"]


class _Derived:
    """Stands as default of an input whose value follows from the others by a printed formula."""

    def __repr__(self) -> str:
        return "derived"


DERIVED: Final[Any] = _Derived()


@dataclasses.dataclass(frozen=True, slots=True)
class Shape:
    """What an annotation says about an input, a column or a result."""

    kind: Kind
    choices: tuple[str, ...] = ()
    table: "type[Table] | None" = None


def shape_of(annotation: Any) -> Shape:
    """Return the kind of value that an annotation stands for; ``None`` in a union only makes it optional."""
    if get_origin(annotation) in (Union, python_types.UnionType):
        members = [one for one in get_args(annotation) if one is not type(None)]
        if len(members) == 1:
            return shape_of(members[0])
        return Shape("number")
    if get_origin(annotation) is Annotated:
        return Shape(get_args(annotation)[1])
    if get_origin(annotation) is Literal:
        return Shape("choice", choices=get_args(annotation))
    if isinstance(annotation, type) and issubclass(annotation, Table):
        return Shape("table", table=annotation)
    if annotation is str or annotation == TextArray:
        return Shape("text")
    if get_origin(annotation) in (dict, Mapping) or annotation is Mapping:
        return Shape("mapping")
    if annotation is int:
        return Shape("count")
    return Shape("number")


_SHAPES: Final[dict[Any, dict[str, Shape]]] = {}


def shapes_of(owner: Any) -> dict[str, Shape]:
    """Return the shape of every field of a table or record class."""
    if owner not in _SHAPES:
        hints = get_type_hints(owner, include_extras=True)
        _SHAPES[owner] = {field.name: shape_of(hints[field.name]) for field in dataclasses.fields(owner)}
    return _SHAPES[owner]


def _frozen(value: Any, *, text: bool) -> Any:
    array = np.array(value, dtype=None if text else np.float64)
    array.setflags(write=False)
    return array


class Table:
    """Base of input tables and of results that are tables: one array per column, rows along the last axis."""

    __slots__ = ()

    def __post_init__(self) -> None:
        """Copy the columns, broadcast them against each other and make them read-only."""
        shapes = shapes_of(type(self))
        columns = {name: getattr(self, name) for name in shapes}
        arrays = {
            name: np.atleast_1d(_frozen(value, text=shapes[name].kind in ("text", "text list", "choice")))
            for name, value in columns.items()
            if value is not None
        }
        common = np.broadcast_shapes(*(array.shape for array in arrays.values()))
        for name, array in arrays.items():
            object.__setattr__(self, name, np.broadcast_to(array, common))

    @classmethod
    def columns(cls) -> dict[str, Shape]:
        """Return the shape of each column by name."""
        return shapes_of(cls)

    @property
    def row_count(self) -> int:
        """Return the number of rows."""
        return int(getattr(self, next(iter(self.columns()))).shape[-1])

    @classmethod
    def from_rows(cls, rows: Sequence[Mapping[str, Any]]) -> Self:
        """Return a table from rows given by column name; a cell left out takes the column's default, NaN where it has none."""
        present = [name for name in cls.columns() if any(name in row for row in rows)]
        return cls(**{name: [row.get(name, cls._default(name)) for row in rows] for name in present})

    @classmethod
    def _default(cls, name: str) -> Any:
        default = next(field.default for field in dataclasses.fields(cls) if field.name == name)  # type: ignore[arg-type]
        return np.nan if default is None or default is dataclasses.MISSING else default

    def rows(self) -> list[dict[str, Any]]:
        """Return the rows of a one-dimensional table as dictionaries."""
        names = [name for name in self.columns() if getattr(self, name) is not None]
        return [{name: getattr(self, name)[..., row] for name in names} for row in range(self.row_count)]


class Record:
    """Base of what a kernel returns: numbers broadcast to one shape, lists and tables stay as they are."""

    __slots__ = ()

    def __post_init__(self) -> None:
        """Copy the arrays, give the numbers one shape and make all of them read-only."""
        shapes = shapes_of(type(self))
        numbers: dict[str, Any] = {}
        for name, shape in shapes.items():
            value = getattr(self, name)
            if shape.kind == "table" or value is None:
                continue
            array = _frozen(value, text=shape.kind in ("text", "text list", "choice"))
            if shape.kind in ("number", "text", "choice"):
                numbers[name] = array
            else:
                object.__setattr__(self, name, np.atleast_1d(array) if shape.kind != "count" else array)
        if numbers:
            common = np.broadcast_shapes(*(array.shape for array in numbers.values()))
            for name, array in numbers.items():
                object.__setattr__(self, name, np.broadcast_to(array, common))

    def as_dict(self) -> dict[str, Any]:
        """Return the fields by name."""
        return {name: getattr(self, name) for name in shapes_of(type(self))}
