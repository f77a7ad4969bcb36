"""A small drive with ground simple enough for hand calculation."""

from pathlib import Path

import pytest

from tunnelwright.drive.axis import DriveCase
from tunnelwright.exchange.project_folder import read_project, write_new_project

# Level ground at +20 m, 6 m of sand over clay, water 2 m below the street, straight axis at +2 m, bore 7 m.
UNITS = """
[[unit]]
code = "SA"
name = "Sand"
order = 1
kind = "sand"
basis = "characteristic"
drainage = "drained"
unit_weight_kn_m3 = 18
unit_weight_saturated_kn_m3 = 20
friction_angle_deg = 32
earth_pressure_coefficient_at_rest = 0.45
permeability_m_s = 1e-4

[[unit]]
code = "CL"
name = "Clay"
order = 2
kind = "clay"
basis = "characteristic"
drainage = "undrained"
unit_weight_kn_m3 = 19
unit_weight_saturated_kn_m3 = 19
friction_angle_deg = 24
cohesion_kpa = 10
undrained_strength_reference_kpa = 80
earth_pressure_coefficient_at_rest = 1.0
permeability_m_s = 1e-10
water_content = 0.25

[[unit]]
code = "LS"
name = "Lower sand"
order = 3
kind = "sand"
basis = "characteristic"
drainage = "drained"
unit_weight_kn_m3 = 18
unit_weight_saturated_kn_m3 = 20
friction_angle_deg = 36
earth_pressure_coefficient_at_rest = 0.45
permeability_m_s = 1e-4
"""
AXIS = """
[start]
easting_m = 1000.0
northing_m = 2000.0
bearing_deg = 90.0
chainage_m = 0.0

[[element]]
element_type = "line"
length_m = 200.0

[[vertex]]
chainage_m = 0.0
level_m = 2.0

[[vertex]]
chainage_m = 200.0
level_m = 2.0
"""
AQUIFERS = """
[[aquifer]]
name = "upper"
units = ["SA"]
heads = [{ chainage_m = 0.0, low_m = 17.0, normal_m = 18.0, high_m = 18.0 }]

[[aquifer]]
name = "lower"
units = ["LS"]
heads = [{ chainage_m = 0.0, low_m = 10.0, normal_m = 10.0, high_m = 10.0 }]
"""
BOREHOLES = """borehole,easting_m,northing_m,ground_level_m,depth_m,method,sealed
B1,1000,2005,20,50,cored,yes
B2,1200,1995,20,50,cored,yes
"""
STRATA = """borehole,unit,top_level_m,base_level_m
B1,SA,20,14
B1,CL,14,-10
B1,LS,-10,-30
B2,SA,20,14
B2,CL,14,-10
B2,LS,-10,-30
"""
SURFACE = "easting_m,northing_m,level_m\n" + "".join(f"{easting},{northing},20\n" for easting in (850, 1100, 1350) for northing in (1900, 2000, 2100))
LENSES = """
[[lens]]
name = "pocket"
unit = "SA"
drive = "east"
outline = [[80.0, 5.0], [95.0, 5.0], [95.0, 3.0], [80.0, 3.0]]
"""


def write_hand_project(folder: Path, *, lens: bool = False) -> Path:
    """Write the project; with a square lens of sand from chainage 80 to 95, level +3 to +5."""
    write_new_project(folder)
    files = {
        "ground/units.toml": UNITS,
        "axis/east.toml": AXIS,
        "ground/aquifers.toml": AQUIFERS,
        "ground/boreholes.csv": BOREHOLES,
        "ground/strata.csv": STRATA,
        "ground/surface.csv": SURFACE,
        "ground/piezometers.csv": "piezometer,aquifer,easting_m,northing_m,tip_level_m,head_level_m,date\nP1,upper,1000,2005,15,18,2025-01-01\n",
        "assets/assets.csv": None,
        "ground/lenses.toml": LENSES if lens else None,
    }
    for name, text in files.items():
        path = folder / name
        if text is None:
            path.unlink(missing_ok=True)
        else:
            path.write_text(text, encoding="utf-8")
    machines = (folder / "machines.toml").read_text(encoding="utf-8")
    machines = machines.replace("excavation_diameter_m = 6.95", "excavation_diameter_m = 7.0")
    (folder / "machines.toml").write_text(machines, encoding="utf-8")
    return folder


@pytest.fixture
def hand_case(tmp_path: Path) -> DriveCase:
    return DriveCase.of(read_project(write_hand_project(tmp_path / "hand")), "east")


@pytest.fixture
def lens_case(tmp_path: Path) -> DriveCase:
    return DriveCase.of(read_project(write_hand_project(tmp_path / "lens", lens=True)), "east")
