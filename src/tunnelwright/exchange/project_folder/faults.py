"""What a model refused, as Faults with file, line, field and a way to mend it."""

from collections.abc import Callable, Iterator
from typing import Any, get_args

from pydantic import BaseModel, ValidationError

from tunnelwright.drive.fields import Given, shown
from tunnelwright.drive.project.checks.complaint import did_you_mean
from tunnelwright.vocabulary.quantity import quantities
from tunnelwright.vocabulary.remark import Fault
from tunnelwright.vocabulary.units import split_name, suffix_of, unit, unit_of_name

Path = tuple[str | int, ...]
Locate = Callable[[Path], tuple[str, str]]

_NEEDED = {
    "int_type": "a whole number is needed",
    "int_parsing": "a whole number is needed",
    "int_from_float": "a whole number is needed",
    "string_type": "text in quotes is needed",
    "bool_type": "true or false is needed",
    "bool_parsing": "true or false is needed",
    "tuple_type": "a list in brackets is needed",
    "model_type": "a table of fields is needed",
    "dict_type": "a table of fields is needed",
    "float_type": "a number is needed",
    "float_parsing": "a number is needed",
    "string_too_short": "must not be empty",
    "string_pattern_mismatch": "only letters, digits, - and _ are allowed",
}


def faults_of(error: ValidationError, part: type[BaseModel], locate: Locate, *, leave_out: frozenset[str] = frozenset()) -> Iterator[Fault]:
    """Return the Faults of a part that was refused.

    Parameters
    ----------
    error : what the model said, in one go.
    part : the model.
    locate : gives place and written name of a path inside the part.
    leave_out : fields whose own file has already been refused.
    """
    items = error.errors(include_url=False)
    refused = {tuple(item["loc"]) for item in items}
    for item in items:
        path: Path = tuple(item["loc"])
        # A list whose elements were refused counts as too short as well; that says nothing new.
        if item["type"] == "too_short" and any(len(other) > len(path) and other[: len(path)] == path for other in refused):
            continue
        # A default that follows from a refused field is no fault of its own.
        if item["type"] == "default_factory_not_called" or (path and path[0] in leave_out):
            continue
        context = item.get("ctx", {})
        if context.get("field"):
            path = (*path, context["field"])
        where, field = locate(path)
        given, required, hint = _words(item["type"], item, path, part)
        yield Fault(where=where, field=field or "table", given=given, required=required, hint=hint)


def _words(kind: str, item: Any, path: Path, part: type[BaseModel]) -> tuple[str, str, str]:
    context, value = item.get("ctx", {}), item["input"]
    if kind == "refused":
        return context["given"], context["required"], context["hint"]
    if kind == "missing":
        meaning = quantities()[str(path[-1])].meaning if path[-1] in quantities() else ""
        return "nothing", "is needed" + (f": {meaning}" if meaning else ""), ""
    if kind == "extra_forbidden":
        return shown(value), "no field of this name is known", suggestion(str(path[-1]), model_at(part, path[:-1]))
    if kind == "literal_error":
        allowed = choices_at(part, path)
        near = did_you_mean(str(plain(value)), allowed)
        return shown(value), f"one of {', '.join(allowed)} is needed", near if near.startswith("did you mean") else ""
    if kind.startswith("date"):
        return shown(value), "a date is needed", "for example 2025-03-31"
    if kind.startswith("time"):
        return shown(value), "a time of day is needed", "for example 06:00"
    if kind == "too_short":
        return f"{context['actual_length']}", f"at least {context['min_length']} needed", ""
    if kind in ("greater_than", "greater_than_equal", "less_than", "less_than_equal"):
        word, limit = next((word, context[key]) for key, word in (("gt", "above"), ("ge", "at least"), ("lt", "below"), ("le", "at most")) if key in context)
        return shown(value), f"must be {word} {limit}", ""
    return shown(value), _NEEDED.get(kind, str(item["msg"])[0].lower() + str(item["msg"])[1:]), ""


def plain(value: Any) -> Any:
    """Return a value without the record of the key it was written under."""
    return value.value if isinstance(value, Given) else value


def model_at(part: type[BaseModel], path: Path) -> type[BaseModel]:
    """Return the model that stands at a path inside another."""
    for step in path:
        if isinstance(step, str) and step in part.model_fields:
            part = _model_in(part.model_fields[step].annotation) or part
    return part


def _model_in(annotation: Any) -> type[BaseModel] | None:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    return next((found for inner in get_args(annotation) if (found := _model_in(inner)) is not None), None)


def choices_at(part: type[BaseModel], path: Path) -> tuple[str, ...]:
    """Return the words allowed at a path, empty when it holds no choice."""
    names = [step for step in path if isinstance(step, str)]
    field = model_at(part, path[:-1] if isinstance(path[-1], str) else path[:-2]).model_fields.get(names[-1]) if names else None
    return tuple(_words_in(field.annotation)) if field is not None else ()


def _words_in(annotation: Any) -> Iterator[str]:
    for inner in get_args(annotation):
        if isinstance(inner, str):
            if inner:
                yield inner
        else:
            yield from _words_in(inner)


def suggestion(key: str, part: type[BaseModel]) -> str:
    """Return the hint for a key that a part does not know: the nearest field, with the unit that was written if it fits."""
    stem, written_unit = split_name(key)
    stems = {split_name(name)[0]: name for name in part.model_fields}
    hint = did_you_mean(stem, stems)
    near = hint.partition("`")[2].partition("`")[0]
    if not near:
        return hint if len(stems) <= 12 else ""
    field = stems[near]
    fits = written_unit and unit(written_unit).dimension == unit(unit_of_name(field)).dimension
    return f"did you mean `{near}_{suffix_of(written_unit)}`?" if fits else f"did you mean `{field}`?"
