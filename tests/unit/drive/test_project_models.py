"""Fields of the project: units, spreads, slips, defaults that follow from other fields."""

import math
from typing import Any

import numpy as np
import pytest
from pydantic import ValidationError

from tunnelwright.drive.choices import Choices, choice_list
from tunnelwright.drive.project import Asset, Calendar, DesignAxis, Machine, Project, RingType, Unit
from tunnelwright.drive.project.chords import chords_of

UNIT: dict[str, Any] = {
    "code": "SA",
    "name": "sand",
    "order": 1,
    "kind": "sand",
    "basis": "mean",
    "unit_weight_kn_m3": 19,
    "unit_weight_saturated_kn_m3": 20.5,
    "friction_angle_deg": 34,
}
MACHINE: dict[str, Any] = {
    "name": "B",
    "kind": "slurry",
    "excavation_diameter_m": 8.94,
    "shield_front_diameter_m": 8.9,
    "shield_tail_diameter_m": 8.86,
    "shield_length_m": 11.4,
    "face_offset_m": 10.2,
    "grout_offset_m": 3.9,
    "support_unit_weight_low_kn_m3": 10.4,
    "support_unit_weight_kn_m3": 11,
    "support_unit_weight_high_kn_m3": 12,
    "thrust_max_kn": 64000,
    "torque_max_knm": 11000,
    "cutterhead_speed_max_rpm": 2.6,
    "advance_rate_max_mm_min": 60,
    "shield_weight_kn": 7400,
    "chamber_sensor": [{"name": "1", "depth_below_crown_m": 0.8}],
    "grout_port": [{"name": "1", "clock_angle_deg": 45}],
    "slurry": {"feed_density_t_m3": 1.07, "static_yield_stress_kpa": 0.015, "feed_flow_max_m3_h": 1500, "return_flow_max_m3_h": 1650, "pipe_diameter_mm": 400},
}
RING: dict[str, Any] = {
    "name": "u",
    "ring_outer_diameter_m": 6.7,
    "ring_inner_diameter_m": 6.1,
    "ring_length_m": 1.5,
    "taper_mm": 40,
    "segment_count": 6,
    "position_count": 16,
}


def words(part: type, values: dict[str, Any]) -> str:
    with pytest.raises(ValidationError) as error:
        part.model_validate(values)
    return " | ".join(f"{'.'.join(map(str, item['loc']))}: {item['msg']} {item.get('ctx', {}).get('hint', '')}" for item in error.value.errors())


@pytest.mark.parametrize(
    "given", [{"friction_angle_deg": 34}, {"friction_angle_rad": math.radians(34)}, {"friction_angle_rad": "34 deg"}, {"friction_angle_deg": "34"}]
)
def test_an_angle_is_read_in_every_unit(given: dict[str, Any]) -> None:
    values = {key: value for key, value in UNIT.items() if key != "friction_angle_deg"} | given
    assert Unit.model_validate(values).friction_angle_rad.value == pytest.approx(0.5934119, abs=1e-7)


def test_a_bare_number_takes_the_basis_of_its_unit_and_the_usual_spread() -> None:
    spread = Unit.model_validate(UNIT | {"basis": "characteristic"}).friction_angle_rad
    assert (spread.basis, spread.cov, spread.is_assumed) == ("characteristic", 0.10, True)


def test_a_standard_deviation_of_the_angle_becomes_the_variation_of_its_tangent() -> None:
    spread = Unit.model_validate(UNIT | {"friction_angle_deg": {"mean": 30, "sd": 2}}).friction_angle_rad
    steeper, flatter = math.tan(math.radians(32)), math.tan(math.radians(28))
    assert spread.cov == pytest.approx((steeper - flatter) / 2 / math.tan(math.radians(30)), rel=2e-3)
    assert not spread.is_assumed


def test_a_mean_says_its_own_basis() -> None:
    values = {key: value for key, value in UNIT.items() if key != "basis"}
    assert "basis must be stated" in words(Unit, values)
    mean = {name: {"mean": values[name]} for name in ("unit_weight_kn_m3", "unit_weight_saturated_kn_m3", "friction_angle_deg")}
    assert Unit.model_validate(values | mean).unit_weight_kn_m3.basis == "mean"


@pytest.mark.parametrize(
    ("given", "expected"),
    [
        ({"friction_angle_deg": {"mean": 34, "cov": 0.1, "sd": 3}}, "say the same thing"),
        ({"friction_angle_deg": {"mean": 34, "value": 34}}, "are the same thing"),
        ({"friction_angle_deg": {"mean": 34, "spread": 2}}, "knows value, mean, cov"),
        ({"friction_angle_deg": {"cov": 0.1}}, "a value is needed"),
        ({"friction_angle_deg": {"mean": 34, "law": "uniform"}}, "needs `low` and `high`"),
        ({"friction_angle_deg": {"mean": 34, "low": 35, "high": 40}}, "must lie between low"),
        ({"friction_angle_deg": True}, "a number in deg is needed"),
        ({"cohesion_kpa": -3}, "is the sign right?"),
        ({"cohesion_kpa": "5 kN"}, "does not measure"),
        ({"porosity": 38}, "is a decimal point missing?"),
        ({"grain_size_d10_mm": 2, "grain_size_d60_mm": 1}, "must grow from d10"),
        ({"undrained_strength_gradient_kpa_m": 3}, "a gradient needs undrained_strength_reference_kpa"),
        ({"overconsolidation_ratio": 0.5}, "must"),
    ],
)
def test_a_slip_is_named(given: dict[str, Any], expected: str) -> None:
    assert expected in words(Unit, UNIT | given)


def test_all_slips_of_a_part_come_at_once() -> None:
    found = words(Unit, UNIT | {"porosity": 38, "order": 0, "foo": 1})
    assert all(f"{field}: " in found for field in ("porosity", "order", "foo"))


def test_ground_class_follows_the_kind_unless_given() -> None:
    assert Unit.model_validate(UNIT | {"kind": "mixed"}).ground_class == "gravel"
    assert Unit.model_validate(UNIT | {"kind": "mixed", "ground_class": "rock"}).ground_class == "rock"


def test_a_slurry_shield_keeps_a_smaller_allowance() -> None:
    machine = Machine.model_validate(MACHINE)
    assert machine.pressure_allowance_kpa == 10
    assert machine.slurry is not None
    assert machine.slurry.pipe_diameter_m == pytest.approx(0.4)
    assert machine.port_clock_angle_rad == pytest.approx([math.pi / 4])
    assert Machine.model_validate(MACHINE | {"kind": "epb"}).pressure_allowance_kpa == 30


def test_the_cut_is_nominal_less_wear_with_overcut() -> None:
    assert Machine.model_validate(MACHINE | {"gauge_wear_mm": 5, "overcut_mm": 20}).worn_diameter_m == pytest.approx(8.97)


def test_a_slurry_in_pascal_typed_as_kilopascal_is_refused() -> None:
    assert "slurry.static_yield_stress_kpa" in words(Machine, MACHINE | {"slurry": MACHINE["slurry"] | {"static_yield_stress_kpa": 15}})


def test_a_ring_knows_its_thickness_and_positions() -> None:
    ring = RingType.model_validate(RING | {"positions_allowed": [0, 2, 15]})
    assert ring.lining_thickness_m == pytest.approx(0.3)
    assert ring.taper_diameter_m == 6.7
    assert np.degrees(ring.allowed_key_clock_angle_rad) == pytest.approx([0, 45, 337.5])
    assert "below position_count 16" in words(RingType, RING | {"positions_allowed": [16]})


def test_an_asset_lies_along_its_bearing() -> None:
    asset = Asset.model_validate(
        {"asset": "G", "kind": "building", "easting_m": 100, "northing_m": 50, "length_m": 20, "width_m": 8, "bearing_deg": 90, "foundation_level_m": 1}
    )
    assert asset.corners_m == pytest.approx(np.array([[90, 54], [110, 54], [110, 46], [90, 46]]))
    assert asset.line_m == pytest.approx(np.array([[90, 50], [110, 50]]))


def test_a_week_of_two_shifts() -> None:
    calendar = Calendar.model_validate(
        {"working_days": ["Monday", "Tuesday"], "shift": [{"name": "a", "start": "06:00", "end": "14:00"}, {"name": "b", "start": "22:00", "end": "06:00"}]}
    )
    assert calendar.scheduled_hours_per_week == 32


def axis(*elements: dict[str, Any]) -> DesignAxis:
    vertices = [{"chainage_m": 0, "level_m": 80}, {"chainage_m": 1000, "level_m": 80}]
    return DesignAxis.model_validate({"start": {"easting_m": 0, "northing_m": 0, "bearing_deg": 0}, "element": elements, "vertex": vertices})


def test_an_s_curve_of_two_transitions_needs_their_curvatures() -> None:
    clothoid = {"element_type": "clothoid", "length_m": 50}
    with pytest.raises(ValidationError, match="beside another transition"):
        axis(clothoid, clothoid)
    joined = axis({**clothoid, "start_curvature_1_m": 0.002, "end_curvature_1_m": 0}, {**clothoid, "start_curvature_1_m": 0, "end_curvature_1_m": -0.002})
    assert joined.end_curvature_1_m == pytest.approx([0, -0.002])


def test_chords_follow_a_quarter_circle() -> None:
    quarter = chords_of(axis({"element_type": "circular_arc", "length_m": 100 * math.pi / 2, "radius_m": 100, "turn": "right"}))
    assert (quarter.easting_m[-1], quarter.northing_m[-1]) == pytest.approx((100, 100), abs=0.01)
    chainage, offset, beyond = quarter.nearest(np.array([100 - 110 / math.sqrt(2)]), np.array([110 / math.sqrt(2)]))
    assert (chainage[0], offset[0], beyond[0]) == pytest.approx((25 * math.pi, -10, 0), abs=0.15)


def test_a_clothoid_ends_where_the_published_list_says() -> None:
    """Straight to a radius of 300 m over 100 m: 99.7225792 m ahead and 5.5445424 m aside (railway unit-test point lists, 2022)."""
    curve = chords_of(axis({"element_type": "clothoid", "length_m": 100, "start_curvature_1_m": 0, "end_curvature_1_m": 1 / 300}))
    assert (curve.northing_m[-1], curve.easting_m[-1]) == pytest.approx((99.7225792, 5.5445424), abs=2e-3)


def test_every_choice_has_a_meaning_and_a_default_among_its_words() -> None:
    choices = choice_list()
    assert len(choices) == len(Choices.model_fields)
    for choice in choices:
        assert choice.meaning
        assert not choice.allowed or choice.default in choice.allowed


def test_a_project_without_the_drive_says_which_it_has() -> None:
    drive = {"name": "east", "machine": "B", "ring_type": "u", "start_chainage_m": 0, "ring_count": 10, "axis": axis({"element_type": "line", "length_m": 100})}
    project = Project.model_construct(
        drives=tuple(Project.model_fields["drives"].annotation.__args__[0].model_validate(drive | {"name": name}) for name in ("east", "west"))
    )
    assert project.drive("west").name == "west"
    with pytest.raises(KeyError, match="east, west"):
        project.drive()
