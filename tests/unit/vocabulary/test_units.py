"""Units at the border: conversions against facts known by heart, suffixes of names, and text as people write it."""

import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tunnelwright.vocabulary.units import UnitMismatch, UnitUnknown, convert, parse_value, split_name, suffix_of, unit, unit_of_name

# Units that measure the same, group by group.
KINDS = {
    "length": ("m", "mm", "cm", "km", "um"),
    "volume": ("m3", "l"),
    "force": ("kN", "N", "MN", "tf"),
    "moment": ("kNm", "MNm", "kJ", "MJ", "kWh"),
    "pressure": ("kPa", "Pa", "mPa", "MPa", "GPa", "bar", "mbar", "kN/m2", "N/mm2", "MJ/m3"),
    "angle": ("rad", "mrad", "deg", "gon"),
    "time": ("s", "ms", "min", "h", "day", "yr"),
    "speed": ("m/s", "mm/min", "cm/min", "m/h", "m/day", "km/h"),
    "flow": ("m3/s", "m3/h", "l/s", "l/min", "Nl/min"),
    "mass": ("t", "kg", "g"),
    "density": ("t/m3", "kg/m3", "g/l"),
    "mass rate": ("t/h", "kg/s", "kg/min"),
    "power": ("kW", "W", "MW"),
    "turns": ("rpm", "1/s", "1/h"),
    "ratio": ("", "%", "permille", "ppm", "mm/m"),
    "curvature": ("1/m", "1/km"),
    "viscosity": ("Pa s", "mPa s", "kPa s"),
}
# Units that people write in text but never as the end of a name.
NO_SUFFIX = {"", "%", "permille", "tf", "kJ", "MJ", "W", "mPa", "N/mm2", "g/l"}
pairs = st.sampled_from([(one, other) for units in KINDS.values() for one in units for other in units])


@pytest.mark.parametrize(
    ("value", "given_unit", "wanted", "answer"),
    [
        (1.8, "bar", "kPa", 180.0),
        (45.0, "mm", "m", 0.045),
        (1001.0, "mm", "m", 1.001),
        (25.0, "MN", "kN", 25_000.0),
        (1.0, "N/mm2", "MPa", 1.0),
        (34.0, "GPa", "MPa", 34_000.0),
        (180.0, "deg", "rad", math.pi),
        (100.0, "gon", "deg", 90.0),
        (1.0, "h", "s", 3600.0),
        (2.0, "day", "h", 48.0),
        (60.0, "mm/min", "m/h", 3.6),
        (36.0, "km/h", "m/s", 10.0),
        (60.0, "l/min", "m3/h", 3.6),
        (2.0, "rpm", "1/s", Fraction(1, 30)),
        (2050.0, "kg/m3", "t/m3", 2.05),
        (3.6, "t/h", "kg/s", 1.0),
        (1.0, "kWh", "MJ", 3.6),
        (1.0, "kW", "kNm/s", 1.0),
        (1.0, "MJ/m3", "kPa", 1000.0),
        (10.0, "tf", "kN", 98.0665),
        (1.0, "t m/s2", "kN", 1.0),
        (0.7, "%", "", 0.007),
        (2.0, "mm/m", "", 0.002),
        (35.0, "permille", "%", 3.5),
        (1.0, "1/m", "1/km", 1000.0),
        (20.0, "mPa s", "Pa s", 0.02),
        (1.0, "m3/s/kPa", "l/s/bar", 100_000.0),
        (365.25, "day", "yr", 1.0),
        (8.0, "m2/yr", "m2/day", 8 / 365.25),
    ],
)
def test_a_conversion_agrees_with_the_fact(value: float, given_unit: str, wanted: str, answer: float) -> None:
    assert convert(value, given_unit, wanted) == pytest.approx(float(answer), rel=1e-14)


@pytest.mark.parametrize(
    ("text", "wanted", "answer"), [("7 mm", "m", 0.007), ("1001 mm", "m", 1.001), ("1.8 bar", "kPa", 180.0), ("1 %", "", 0.01), ("35 cm", "mm", 350.0)]
)
def test_decimal_steps_leave_no_dust_in_the_last_digit(text: str, wanted: str, answer: float) -> None:
    assert parse_value(text, wanted) == answer


def test_a_small_lean_is_an_angle_and_back() -> None:
    assert convert(3.0, "mm/m", "rad") == pytest.approx(0.003, rel=1e-15)
    assert convert(0.003, "rad", "mm/m") == pytest.approx(3.0, rel=1e-15)
    assert convert(3.0, "mm/m", "deg") == pytest.approx(0.171887, abs=1e-6)


@given(pair=pairs, value=st.floats(min_value=-1e12, max_value=1e12, allow_nan=False, allow_subnormal=False))
def test_there_and_back_is_where_it_was(pair: tuple[str, str], value: float) -> None:
    one, other = pair
    assert convert(convert(value, one, other), other, one) == pytest.approx(value, rel=1e-14, abs=1e-300)


@given(pair=pairs, value=st.floats(min_value=-1e9, max_value=1e9, allow_nan=False))
def test_what_is_written_with_its_unit_is_read_as_converted(pair: tuple[str, str], value: float) -> None:
    one, other = pair
    assert parse_value(f"{value!r} {one}", other) == (convert(value, one, other) if one else value)


@pytest.mark.parametrize("text", sorted({text for units in KINDS.values() for text in units} - NO_SUFFIX))
def test_a_name_with_the_suffix_of_a_unit_carries_that_unit(text: str) -> None:
    assert split_name(f"reading_{suffix_of(text)}") == ("reading", text)


def test_different_kinds_are_told_apart() -> None:
    kinds = {name: unit(units[0]).dimension for name, units in KINDS.items()}
    assert len(set(kinds.values())) == len(kinds)
    for units in KINDS.values():
        assert len({unit(text).dimension for text in units}) == 1


@pytest.mark.parametrize(
    ("given_unit", "wanted"),
    [
        ("kN", "kPa"),
        ("bar", "m"),
        ("t", "kN"),
        ("deg", ""),
        ("mm", ""),
        ("kN/m3", "t/m3"),
        ("rpm", "rad"),
        ("degC", ""),
        ("%", "degC"),
        ("", "m"),
        ("mm/m", "m"),
    ],
)
def test_another_kind_is_refused(given_unit: str, wanted: str) -> None:
    with pytest.raises(UnitMismatch, match="does not measure"):
        convert(1.0, given_unit, wanted)


def test_a_refusal_names_a_plain_number_as_such() -> None:
    with pytest.raises(UnitMismatch, match="`deg` does not measure what a plain number measures"):
        parse_value("32 deg", "")


@pytest.mark.parametrize(
    ("typed", "meant"),
    [("barr", "`bar`"), ("kpa", "`kPa`"), ("KN", "`kN`"), ("MM", "`mm`"), ("kNmm", "`kNm`"), ("MPA", "`mPa` or `MPa`"), ("degs", "`deg`"), ("BAR", "`bar`")],
)
def test_an_unknown_unit_names_the_one_that_was_meant(typed: str, meant: str) -> None:
    with pytest.raises(UnitUnknown) as refusal:
        unit(typed)
    assert str(refusal.value) == f"unknown unit `{typed}`, did you mean {meant}?"


@pytest.mark.parametrize("typed", ["furlong", "m/", "kN//m", "qqq", "m5", "1 2"])
def test_what_is_no_unit_is_refused(typed: str) -> None:
    with pytest.raises(UnitUnknown, match=r"unknown unit|not complete"):
        unit(typed)


@pytest.mark.parametrize(
    ("text", "wanted", "answer"),
    [
        ("12.5", "m", 12.5),
        ("12.5m", "m", 12.5),
        (" 12.5  m ", "m", 12.5),
        ("1 815.9 m", "m", 1815.9),
        ("1\u00a0815.9 m", "m", 1815.9),
        ("1\u202f200\u202f000 N", "kN", 1200.0),
        ("-3.5 mm", "mm", -3.5),
        ("\u22123.5 mm", "mm", -3.5),
        ("+2", "", 2.0),
        (".5 %", "", 0.005),
        ("5. m", "m", 5.0),
        ("1e-9 m/s", "m/s", 1e-9),
        ("2.5E-4", "m/s", 2.5e-4),
        ("19.5 kN/m\u00b3", "kN/m3", 19.5),
        ("19.5 kN/m^3", "kN/m3", 19.5),
        ("90\u00b0", "rad", math.pi / 2),
        ("12 \u00b0C", "degC", 12.0),
        ("25 \u2030", "%", 2.5),
        ("25 per cent", "", 0.25),
        ("80 \u00b5m", "mm", 0.08),
        ("5 1/m", "1/km", 5000.0),
        ("5/m", "1/m", 5.0),
        ("3 kN\u00b7m", "kNm", 3.0),
        ("2 hours", "min", 120.0),
        ("40 tonnes", "kg", 40_000.0),
        ("250 Nl/min", "l/min", 250.0),
        ("0.9 Pa s^n", "Pa s^n", 0.9),
    ],
)
def test_text_is_read_as_people_write_it(text: str, wanted: str, answer: float) -> None:
    assert parse_value(text, wanted) == pytest.approx(answer, rel=1e-14)


@pytest.mark.parametrize("text", ["12,5", "12,5 m", "1.234,5 m", "1,234.5", "-0,3 bar"])
def test_a_decimal_comma_is_named(text: str) -> None:
    with pytest.raises(ValueError, match="write a decimal point, not a comma"):
        parse_value(text, "m")


@pytest.mark.parametrize("text", ["", "m", "twelve", "1 00 m", "12.5.3", "--4", "0x10", "1 2 m", "5 _m", "nan"])
def test_what_is_no_number_is_refused_without_a_guess(text: str) -> None:
    with pytest.raises(ValueError, match=r"is not a number$|unknown unit"):
        parse_value(text, "m")


@pytest.mark.parametrize(
    ("name", "stem", "carried"),
    [
        ("face_pressure_kpa", "face_pressure", "kPa"),
        ("settlement_max_m", "settlement_max", "m"),
        ("unit_weight_kn_m3", "unit_weight", "kN/m3"),
        ("permeability_m_s", "permeability", "m/s"),
        ("trough_volume_m3_m", "trough_volume", "m3/m"),
        ("line_conductance_m3_s_kpa", "line_conductance", "m3/s/kPa"),
        ("curvature_1_m", "curvature", "1/m"),
        ("advance_rate_mm_min", "advance_rate", "mm/min"),
        ("plastic_viscosity_pa_s", "plastic_viscosity", "Pa s"),
        ("consistency_pa_sn", "consistency", "Pa s^n"),
        ("foam_air_nl_min", "foam_air", "Nl/min"),
        ("joint_stiffness_knm_rad", "joint_stiffness", "kNm/rad"),
        ("gas_methane_pct", "gas_methane", "%"),
        ("lcpc_abrasivity_g_t", "lcpc_abrasivity", "g/t"),
        ("coefficient_of_consolidation_m2_yr", "coefficient_of_consolidation", "m2/yr"),
        ("volume_loss", "volume_loss", ""),
        ("ring_count", "ring_count", ""),
        ("overconsolidation_ratio", "overconsolidation_ratio", ""),
        ("m", "m", ""),
        ("kpa", "kpa", ""),
    ],
)
def test_a_name_carries_its_unit_as_suffix(name: str, stem: str, carried: str) -> None:
    assert split_name(name) == (stem, carried)
    assert unit_of_name(name) == carried


def test_a_tonne_is_a_kilonewton_per_metre_and_second_squared() -> None:
    """The base is metre, kilonewton, second: one tonne pushed at one metre per second squared takes one kilonewton."""
    tonne, kilonewton, metre, second = (unit(text) for text in ("t", "kN", "m", "s"))
    assert tonne.factor == kilonewton.factor == metre.factor == second.factor == 1.0
    assert tonne.dimension == (-1, 1, 2, 0)
    assert unit("kg/s").dimension == unit("t/h").dimension == (-1, 1, 1, 0)
