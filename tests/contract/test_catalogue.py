"""Every registered method speaks the names of the catalogue: ids, inputs, results, choices, columns."""

import json
from operator import attrgetter
from pathlib import Path

import pytest

from tunnelwright.engineering import load_methods
from tunnelwright.vocabulary.method import METHODS, Method
from tunnelwright.vocabulary.units import unit

load_methods()
CATALOGUE = json.loads((Path(__file__).parent / "catalogue_names.json").read_text(encoding="utf-8"))
WHOLE_TOPICS = (
    "alignment",
    "assets",
    "cycle",
    "exchange",
    "face",
    "ground",
    "grout",
    "lining",
    "machine",
    "movement",
    "muck",
    "programme",
    "record",
    "ring",
    "slurry",
)
each_method = pytest.mark.parametrize("method", METHODS.values(), ids=attrgetter("id"))


@pytest.mark.parametrize("topic", WHOLE_TOPICS)
def test_the_topic_is_whole(topic: str) -> None:
    wanted = {one for one in CATALOGUE if one.startswith(f"{topic}.")}
    assert wanted - set(METHODS) == set()


@each_method
def test_names_are_those_of_the_catalogue(method: Method) -> None:
    assert method.id in CATALOGUE, "the catalogue knows no such method"
    entry = CATALOGUE[method.id]
    assert set(entry["inputs"]) <= set(method.inputs), f"inputs left out: {set(entry['inputs']) - set(method.inputs)}"
    assert set(method.inputs) - set(entry["inputs"]) <= {name for name, one in method.inputs.items() if not one.required}, (
        "an input of our own must be optional"
    )
    assert set(entry["results"]) <= set(method.results), f"results left out: {set(entry['results']) - set(method.results)}"


@each_method
def test_inputs_are_as_the_catalogue_says(method: Method) -> None:
    for name, wanted in CATALOGUE[method.id]["inputs"].items():
        own = method.inputs[name]
        assert own.required != bool(wanted.get("optional")), f"{name}: optional in one of the two only"
        if wanted.get("choice"):
            assert set(own.shape.choices) == set(wanted["choice"]), name
        if wanted.get("table"):
            columns = {column.rstrip("?") for column in wanted["table"]}
            assert columns <= set(own.shape.table.columns()), name
        elif wanted.get("unit"):
            assert unit(own.unit).dimension == unit(wanted["unit"]).dimension, f"{name}: {own.unit} against {wanted['unit']}"
        if "default" in wanted and not isinstance(wanted["default"], str) and own.default is not None and isinstance(own.default, int | float):
            assert own.default == pytest.approx(wanted["default"]), name


@each_method
def test_method_names_one_place_of_the_three(method: Method) -> None:
    """The topic of an id is its package; a kind is one of the five."""
    assert method.kind in {"lower bound", "upper bound", "mean", "screening", "identity"}
    assert method.source.text
    assert method.source.short
