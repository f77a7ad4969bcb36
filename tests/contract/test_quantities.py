"""The quantity dictionary holds what it promises: every shared name, its unit, a range that catches a slip, a unit for people.

``catalogue_names.json`` holds the names of the catalogue of methods and nothing else. Where the catalogue splits a compound unit
between unit and meaning (``Pa`` and ``s``) the snapshot has it whole.
"""

import ast
import importlib
import json
import math
import pkgutil
import re
import time
from collections import Counter, defaultdict
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tunnelwright.drive import project
from tunnelwright.drive.fields import Part
from tunnelwright.engineering import load_methods
from tunnelwright.vocabulary.formula import FUNCTIONS, parse
from tunnelwright.vocabulary.method import METHODS
from tunnelwright.vocabulary.quantity import Quantity, quantities, quantity
from tunnelwright.vocabulary.units import convert, unit, unit_of_name

CATALOGUE: dict[str, dict[str, Any]] = json.loads(Path(__file__).with_name("catalogue_names.json").read_text(encoding="utf-8"))
RECORDS_PAGE = Path(__file__).parents[2] / "docs" / "reference" / "records.md"
NO_NUMBER = ("table", "choice", "text", "mapping")
each_entry = pytest.mark.parametrize("entry", quantities().values(), ids=list(quantities()))


def entries_of(method: dict[str, Any]) -> Iterator[tuple[str, dict[str, Any]]]:
    """Yield every name of a method with what the catalogue says of it; columns of tables say nothing but their name."""
    for name, entry in (*method["inputs"].items(), *method["results"].items()):
        yield name, entry
        for column in entry.get("table", ()):
            yield column, {}


def shared_names() -> set[str]:
    uses = Counter(name for method in CATALOGUE.values() for name in {name for name, _ in entries_of(method)})
    return {name for name, count in uses.items() if count >= 2}


def test_every_name_of_two_or_more_methods_is_in_the_dictionary() -> None:
    names = shared_names()
    assert len(names) > 500
    assert sorted(names - set(quantities())) == []


def test_units_are_the_catalogues() -> None:
    differing = {
        (id, name, entry["unit"], quantity(name).unit)
        for id, method in CATALOGUE.items()
        for name, entry in entries_of(method)
        if name in quantities() and "unit" in entry and entry["unit"] != quantity(name).unit
    }
    assert differing == set()


def test_a_suffix_is_misread_only_where_the_dictionary_or_the_method_says_otherwise() -> None:
    misread = {
        name: entry["unit"] for method in CATALOGUE.values() for name, entry in entries_of(method) if "unit" in entry and unit_of_name(name) != entry["unit"]
    }
    said = {name: own_unit for name, own_unit in misread.items() if name in quantities() and quantity(name).unit == own_unit}
    # names of one method, whose declaration gives the unit
    assert {name: own_unit for name, own_unit in misread.items() if name not in said} == {"floor_m": "m2/m", "rows": "m"}
    assert said == {"semivariogram_slope_m": "m2/m", "passing_2_mm": "", "passing_0_42_mm": "", "passing_0_075_mm": ""}


def test_every_unit_of_the_catalogue_is_known() -> None:
    texts = {entry["unit"] for method in CATALOGUE.values() for _, entry in entries_of(method) if "unit" in entry}
    assert len(texts) > 40
    assert {text for text in texts if unit(text).text != text} == set()


def test_defaults_of_the_catalogue_are_possible() -> None:
    refused = [
        (id, name, entry["default"])
        for id, method in CATALOGUE.items()
        for name, entry in method["inputs"].items()
        if isinstance(entry.get("default"), int | float) and not quantity(name).low <= entry["default"] <= quantity(name).high
    ]
    assert refused == []


def test_words_and_tables_have_neither_range_nor_unit() -> None:
    uses: dict[str, set[bool]] = defaultdict(set)
    for method in CATALOGUE.values():
        for name, entry in entries_of(method):
            if entry:
                uses[name].add(any(kind in entry for kind in NO_NUMBER))
    wordy = [quantity(name) for name, kinds in uses.items() if kinds == {True} and name in quantities()]
    assert len(wordy) > 20
    assert [entry.name for entry in wordy if math.isfinite(entry.low) or math.isfinite(entry.high) or entry.unit] == []


@each_entry
def test_an_entry_is_whole(entry: Quantity) -> None:
    assert entry.meaning == entry.meaning.strip() != ""
    assert len(entry.meaning) <= 110
    assert entry.meaning != entry.name.replace("_", " ")
    assert f"{entry.name}{entry.symbol}{entry.meaning}{entry.sign}".isascii()
    assert entry.low < entry.high
    assert type(entry.decimals) is int
    assert 0 <= entry.decimals <= 8
    assert convert(1.0, entry.unit, entry.shown_unit) > 0


@each_entry
def test_a_finite_range_is_worth_showing(entry: Quantity) -> None:
    """The whole range shown to the entry's decimals must not shrink to one number."""
    if math.isfinite(entry.low) and math.isfinite(entry.high):
        assert round(entry.shown(entry.low), entry.decimals) < round(entry.shown(entry.high), entry.decimals)


def test_a_symbol_means_one_thing_and_can_stand_in_a_formula() -> None:
    symbols = [entry.symbol for entry in quantities().values() if entry.symbol]
    assert [symbol for symbol, count in Counter(symbols).items() if count > 1] == []
    assert [symbol for symbol in symbols if not isinstance(parse(symbol), ast.Name) or symbol in FUNCTIONS or symbol in ("pi", "e_euler")] == []


def test_no_method_meets_a_symbol_that_is_another_name_of_its_own() -> None:
    clashes = []
    for id, method in CATALOGUE.items():
        names = {name for name, _ in entries_of(method)}
        clashes += [(id, name) for name in names if quantity(name).symbol in names - {name}]
    assert clashes == []


def test_no_registered_method_prints_two_names_under_one_symbol() -> None:
    """A formula would take the one for the other: the dictionary's symbols and those that the method declares share one namespace."""
    load_methods()
    shared = {
        (method.id, symbol)
        for method in METHODS.values()
        for symbol, count in Counter(method.symbol_of(name) for name in {*method.inputs, *method.results}).items()
        if count > 1
    }
    assert shared == set()


def test_no_two_names_read_the_same() -> None:
    readings = Counter((entry.meaning, entry.sign) for entry in quantities().values())
    assert [reading for reading, count in readings.items() if count > 1] == []


def test_angles_are_shown_in_degrees_and_settlement_in_millimetres() -> None:
    radians = {entry.name: entry.shown_unit for entry in quantities().values() if entry.unit == "rad"}
    assert len(radians) > 30
    assert {name for name, shown in radians.items() if shown != "deg"} == {"joint_rotation_rad"}
    assert {entry.shown_unit for entry in quantities().values() if entry.name.startswith("settlement") and entry.unit == "m"} == {"mm"}


@pytest.mark.parametrize(
    ("name", "slip"),
    [
        pytest.param("friction_angle_rad", 32.0, id="degrees for radians"),
        pytest.param("clock_angle_rad", 90.0, id="degrees for a clock angle"),
        pytest.param("volume_loss", 0.5, id="per cent for a volume loss"),
        pytest.param("porosity", 35.0, id="per cent for a porosity"),
        pytest.param("tensile_strain", 0.15, id="per cent for a strain"),
        pytest.param("gradient", 3.5, id="per cent for a gradient"),
        pytest.param("foam_injection_ratio", 40.0, id="per cent for a foam ratio"),
        pytest.param("excavation_diameter_m", 6950.0, id="millimetres for a diameter"),
        pytest.param("lining_thickness_m", 300.0, id="millimetres for a thickness"),
        pytest.param("settlement_max_m", 11.3, id="millimetres for a settlement"),
        pytest.param("lateral_deviation_m", 35.0, id="millimetres for a deviation"),
        pytest.param("stroke_m", 1500.0, id="millimetres for a stroke"),
        pytest.param("unit_weight_kn_m3", 1.95, id="density for a unit weight"),
        pytest.param("unit_weight_kn_m3", 1950.0, id="kilograms for a unit weight"),
        pytest.param("density_t_m3", 2050.0, id="kilograms for a density"),
        pytest.param("feed_density_t_m3", 0.08, id="excess over water for a density"),
        pytest.param("concrete_modulus_mpa", 34.0, id="gigapascal for a modulus"),
        pytest.param("concrete_modulus_mpa", 3.4e7, id="kilopascal for a modulus"),
        pytest.param("young_modulus_kpa", 60.0, id="megapascal for a stiffness of the ground"),
        pytest.param("cylinder_strength_mpa", 45000.0, id="kilopascal for a strength"),
        pytest.param("yield_stress_kpa", 200.0, id="pascal for a yield stress"),
        pytest.param("plastic_viscosity_pa_s", 20.0, id="millipascal seconds for a viscosity"),
        pytest.param("thrust_kn", 2.5e7, id="newton for a thrust"),
        pytest.param("bearing_rad", 60.0, id="degrees for a bearing"),
        pytest.param("advance_rate_mm_min", -60.0, id="a shield that drives backwards"),
        pytest.param("cohesion_kpa", -5.0, id="a negative cohesion"),
        pytest.param("overconsolidation_ratio", 0.8, id="less than normally consolidated"),
        pytest.param("fill_factor", 115.0, id="per cent for a fill factor"),
    ],
)
def test_a_slip_of_unit_is_impossible(name: str, slip: float) -> None:
    assert not quantities()[name].low <= slip <= quantities()[name].high


@pytest.mark.parametrize(
    ("name", "raw"),
    [
        ("effective_support_pressure_kpa", -18.0),
        ("required_face_pressure_axis_kpa", -120.0),
        ("effective_vertical_stress_kpa", -4.0),
        ("water_table_depth_m", -6.0),
        ("stability_number", -1.2),
        ("volume_loss", -0.002),
        ("settlement_m", -0.004),
        ("window_width_kpa", -35.0),
        ("support_unit_weight_kn_m3", 0.0),
        ("density_t_m3", 0.0),
        ("yield_stress_pa", 0.0),
        ("undrained_strength_kpa", 0.0),
        ("water_unit_weight_kn_m3", 10.05),
        ("water_unit_weight_kn_m3", 10.0),
        ("moment_nose_up_knm", -9000.0),
        ("vertical_radius_m", -5000.0),
        ("poisson_ratio", 0.5),
        ("wedge_width_m", 1e7),
        ("distance_from_face_m", -1e9),
        ("start_bearing_rad", 8.1),
    ],
)
def test_a_raw_value_that_the_methods_pass_on_is_possible(name: str, raw: float) -> None:
    assert quantities()[name].low <= raw <= quantities()[name].high


def names_of_records_page() -> set[str]:
    """Return the names of the plan table, the channels and the record table as the page lists them, placeholders left out."""
    page = RECORDS_PAGE.read_text(encoding="utf-8")
    listed = page[page.index("## Plan table") : page.index("## Log store")] + page[page.index("## Record table") :]
    spans = re.findall(r"`([^`]+)`", listed)
    words = {word for span in spans if "/" not in span and "[" not in span for word in re.split(r"[,\s]+", span) if word}
    families = {re.sub(r"_<[a-z]+>", "", word) for word in words}
    aggregates = {f"face_pressure_crown{word.removeprefix('...')}" for word in families if re.fullmatch(r"\.\.\._(p90|standstill|min|max)_kpa", word)}
    whole = {word for word in families if re.fullmatch(r"[a-z][a-z0-9_]*", word)}
    # The page also names kinds of findings and arguments in code spans; a column of numbers carries its unit or stands in the dictionary.
    columns = {word for word in whole if word in quantities() or unit_of_name(word) not in ("", "ms")}
    return columns | aggregates | {word.removesuffix("_*") for word in families if word.endswith("_*")}


def test_every_name_of_the_tables_between_stages_is_in_the_dictionary() -> None:
    names = names_of_records_page()
    assert {"target_sensor_kpa", "ram_extension_m", "face_pressure_crown_standstill_kpa", "time_below_hard_lower_s", "coverage"} <= names
    assert sorted(names - set(quantities())) == []


def parts_of(owner: type[Part]) -> Iterator[type[Part]]:
    for part in owner.__subclasses__():
        yield part
        yield from parts_of(part)


def test_every_field_of_the_project_is_in_the_dictionary() -> None:
    for module in pkgutil.iter_modules(project.__path__, f"{project.__name__}."):
        importlib.import_module(module.name)
    fields = {f"{part.__name__}.{field}" for part in parts_of(Part) for field in part.model_fields if part.__module__.startswith(project.__name__)}
    assert len(fields) > 200
    assert sorted(field for field in fields if field.partition(".")[2] not in quantities()) == []


def test_the_dictionary_is_read_in_a_moment() -> None:
    durations = []
    for _ in range(5):
        start = time.process_time()
        entries = quantities.__wrapped__()
        durations.append(time.process_time() - start)
    assert entries == quantities()
    assert min(durations) < 0.060
