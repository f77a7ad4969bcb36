"""Write the project folder of the programme Crosstown below Brennholt: what its engineers know before the East drive begins.

Geometry and machine are exact. The ground is what boreholes, tests and piezometers show of `ground_truth`: blurred, contradictory in places, and silent
about one lens, about the depth of the buried channel and about the old shaft.

    python -m examples.brennholt.project FOLDER
"""

import argparse
from pathlib import Path

import numpy as np
from examples.brennholt import ground_truth as truth
from examples.brennholt.assets import assets_csv
from examples.brennholt.investigation import boreholes_csv, drill, piezometers_csv, strata_csv, surface_csv
from examples.brennholt.shields import SHIELD_A
from examples.brennholt.units import units_toml

SEED = 20260216


def write_project(folder: Path | str) -> tuple[str, ...]:
    """Write the project into a folder and return the names of its files; what stands there under these names is replaced."""
    random = np.random.default_rng(SEED)
    holes = drill(random)
    files = {
        "project.toml": project_toml(),
        "machines.toml": machines_toml(),
        "ring_types.toml": ring_types_toml(),
        "calendar.toml": calendar_toml(),
        "axis/east.toml": axis_toml(truth.EAST.axis),
        "ground/units.toml": units_toml(),
        "ground/boreholes.csv": boreholes_csv(holes),
        "ground/strata.csv": strata_csv(holes),
        "ground/lenses.toml": lenses_toml(),
        "ground/aquifers.toml": aquifers_toml(),
        "ground/piezometers.csv": piezometers_csv(random),
        "ground/surface.csv": surface_csv(random),
        "assets/assets.csv": assets_csv(),
    }
    for name, text in files.items():
        path = Path(folder) / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return tuple(files)


def project_toml() -> str:
    """Return the programme and its drive."""
    drive = truth.EAST
    return f"""\
# Programme Crosstown, city of Brennholt. Everything here is invented.

[project]
name = "crosstown"
title = "Crosstown"
city = "Brennholt"
seed = {SEED}
water_unit_weight_kn_m3 = {truth.WATER_UNIT_WEIGHT_KN_M3}

[choices]
# The usual methods are kept; `tunnelwright methods` lists them all.

[[drive]]
name = "{drive.name}"
title = "{drive.title}"
machine = "{SHIELD_A.name}"
ring_type = "universal"
start_chainage_m = {drive.start_chainage_m}
ring_count = {drive.ring_count}
start_date = {truth.START_DATE}
surcharge_kpa = 10
volume_loss_planned = 0.008
position_tolerance_mm = 100

[drive.twin]
name = "east-second"
offset_m = {truth.EAST_TWIN_OFFSET_M}
behind_m = {truth.EAST_TWIN_BEHIND_M}
"""


def machines_toml() -> str:
    """Return shield A."""
    shield, screw = SHIELD_A, SHIELD_A.screw
    plain = [
        "excavation_diameter_m",
        "shield_front_diameter_m",
        "shield_tail_diameter_m",
        "tail_skin_thickness_m",
        "shield_length_m",
        "face_offset_m",
        "grout_offset_m",
        "chamber_length_m",
        "support_unit_weight_low_kn_m3",
        "support_unit_weight_kn_m3",
        "support_unit_weight_high_kn_m3",
        "pressure_allowance_kpa",
        "thrust_max_kn",
        "torque_max_knm",
        "cutterhead_speed_max_rpm",
        "cutterhead_speed_rpm",
        "cutterhead_opening_ratio",
        "advance_rate_max_mm_min",
        "shield_weight_kn",
        "backup_weight_kn",
        "radius_min_m",
        "bulkhead_pressure_rated_kpa",
        "bearing_seal_pressure_rated_kpa",
    ]
    screw_fields = [
        "screw_diameter_m",
        "shaft_diameter_m",
        "pitch_m",
        "flight_thickness_m",
        "screw_length_m",
        "rise_angle_deg",
        "screw_speed_max_rpm",
        "screw_efficiency",
    ]
    sensors = [f'{{ name = "{one.name}", depth_below_crown_m = {one.depth_below_crown_m}, side = "{one.side}" }}' for one in shield.chamber_sensors]
    ports = [f'{{ name = "{name}", clock_angle_deg = {angle} }}' for name, angle in shield.grout_ports]
    belts = [f'{{ name = "{belt.name}", distance_m = {belt.distance_m}, ring_sd_ratio = 0.0075, common_sd_ratio = 0.02 }}' for belt in shield.belts]
    groups = [f'{{ name = "{name}", clock_angle_deg = {angle}, ram_count = {shield.rams_per_group} }}' for name, angle in shield.ram_groups]
    return "\n".join(
        [
            "[[machine]]",
            f'name = "{shield.name}"',
            f'title = "{shield.title}"',
            'kind = "epb"',
            *(f"{name} = {getattr(shield, name)}" for name in plain),
            _list("chamber_sensor", sensors),
            _list("grout_port", ports),
            _list("belt_weigher", belts),
            "",
            "[machine.screw]",
            *(f"{name} = {getattr(screw, name)}" for name in screw_fields),
            "",
            "[machine.rams]",
            *(f"{name} = {getattr(shield, name)}" for name in ("ram_diameter_m", "ram_stroke_m", "ram_circle_radius_m", "ram_pressure_max_kpa")),
            _list("group", groups),
            "",
            "[machine.grouting]",
            'grout_type = "two_component"',
            f"grout_unit_weight_kn_m3 = {shield.grout_unit_weight_kn_m3}",
            f"pump_capacity_m3_h = {shield.grout_pump_capacity_m3_h}",
            "",
        ]
    )


def ring_types_toml() -> str:
    """Return the universal ring of five segments and a key."""
    drive = truth.EAST
    joints = ", ".join(f'"{angle} deg"' for angle in (11.25, 78.75, 146.25, 213.75, 281.25, 348.75))
    return f"""\
[[ring_type]]
name = "universal"
title = "Universal ring, five segments and a key"
ring_outer_diameter_m = {drive.ring_outer_diameter_m}
ring_inner_diameter_m = {drive.ring_inner_diameter_m}
ring_length_m = {drive.ring_length_m}
taper_mm = {drive.taper_mm}
segment_count = 6
position_count = 16
key_to_widest_deg = 180
joint_angles_rad = [{joints}]
minimum_stagger_deg = 11
cylinder_strength_mpa = 50
pad_count = 16
pad_width_m = 0.90
pad_height_m = 0.26
gasket_pressure_kpa = 600
"""


def calendar_toml() -> str:
    """Return the calendar: six days, three shifts, two closures."""
    return f"""\
time_zone = "{truth.TIME_ZONE}"
start_date = 2026-01-05
working_days = ["Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday"]
shift = [
    {{ name = "early", start = 06:00:00, end = 14:00:00 }},
    {{ name = "late", start = 14:00:00, end = 22:00:00 }},
    {{ name = "night", start = 22:00:00, end = 06:00:00 }},
]
closure = [
    {{ name = "spring fair", first = 2026-04-03, last = 2026-04-06 }},
    {{ name = "winter", first = 2026-12-23, last = 2027-01-03 }},
]
"""


def axis_toml(axis: truth.DriveAxis) -> str:
    """Return the designed axis: exact, as a designer hands it over."""
    lines = [
        "[start]",
        f"easting_m = {axis.start_easting_m}",
        f"northing_m = {axis.start_northing_m}",
        f"bearing_deg = {axis.start_bearing_deg}",
        "chainage_m = 0.0",
    ]
    for element in axis.elements:
        lines += ["", "[[element]]", f'element_type = "{element.element_type}"', f"length_m = {element.length_m}"]
        lines += [f"radius_m = {element.radius_m}", f'turn = "{element.turn}"'] if element.radius_m is not None else []
    for vertex in axis.vertices:
        lines += ["", "[[vertex]]", f"chainage_m = {vertex.chainage_m}", f"level_m = {vertex.level_m}", f"vertical_radius_m = {vertex.vertical_radius_m}"]
    return "\n".join(lines) + "\n"


def lenses_toml() -> str:
    """Return the lenses as drawn before the drive: with a margin, and without the one that no borehole met."""
    drawn = (
        ("mill lens", 0.95, ((480.0, 79.0), (480.0, 81.5), (540.0, 82.7), (618.0, 81.0), (572.0, 78.2))),
        ("tanners lens", 0.7, ((695.0, 74.7), (748.0, 76.6), (798.0, 75.0), (748.0, 73.3))),
        ("market lens", 0.9, ((1415.0, 76.8), (1452.0, 79.4), (1514.0, 78.3), (1475.0, 76.1))),
    )
    lines = ["# Sand within the clay, met in single boreholes and drawn with a margin. Corners are chainage and level."]
    for name, presence, outline in drawn:
        corners = ", ".join(f"[{chainage}, {level}]" for chainage, level in outline)
        lines += ["", "[[lens]]", f'name = "{name}"', 'unit = "SL"', 'drive = "east"', f"presence = {presence}", "half_width_m = 30", f"outline = [{corners}]"]
    return "\n".join(lines) + "\n"


def aquifers_toml() -> str:
    """Return the heads of both aquifers as drawn through the piezometers, low and high from two years of readings."""
    lines = []
    for name, units, head, below, above in (
        ("upper", '["MG", "RG"]', truth.upper_head_level_m, 0.6, 0.9),
        ("lower", '["SL", "DS"]', truth.lower_head_level_m, 0.5, 0.6),
    ):
        points = []
        for chainage in (0.0, 350.0, 700.0, 1000.0, 1400.0, 1800.0, 2240.0):
            normal = round(float(head(chainage)) * 5) / 5
            points.append(f"{{ chainage_m = {chainage}, low_m = {normal - below:.1f}, normal_m = {normal:.1f}, high_m = {normal + above:.1f} }}")
        lines += ["[[aquifer]]", f'name = "{name}"', f"units = {units}", 'drive = "east"', _list("head", points), ""]
    return "\n".join(lines)


def _list(key: str, elements: list[str]) -> str:
    return f"{key} = [\n" + "".join(f"    {element},\n" for element in elements) + "]"


def main() -> None:
    """Write the project into the folder named on the command line."""
    parser = argparse.ArgumentParser(description=write_project.__doc__)
    parser.add_argument("folder", type=Path)
    folder = parser.parse_args().folder
    for name in write_project(folder):
        print(folder / name)


if __name__ == "__main__":
    main()
