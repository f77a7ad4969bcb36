"""What the project calls doubtful without refusing it."""

from pathlib import Path

import pytest

from tunnelwright.drive.project.checks import cautions
from tunnelwright.exchange.project_folder import read_project, write_new_project


@pytest.mark.parametrize(
    ("name", "old", "new", "subject", "words"),
    [
        ("ground/units.toml", "{ mean = 34, cov = 0.08 }", "34", "ground unit SA", "No spread is given for friction angle"),
        (
            "ground/units.toml",
            "{ mean = 34, cov = 0.08 }",
            '{ value = 34, cov = 0.08, basis = "characteristic" }',
            "ground unit SA",
            "mix characteristic and mean",
        ),
        ("ground/units.toml", "grain_size_d10_mm = 0.08", "cohesion_kpa = { mean = 3, cov = 0.4 }", "ground unit SA", "Cohesion 3 kPa in sand"),
        (
            "ground/units.toml",
            "undrained_strength_reference_kpa = { mean = 90, cov = 0.25 }        # at the top of the unit\n"
            "undrained_strength_gradient_kpa_m = { mean = 4, cov = 0.25 }",
            "",
            "ground unit CL",
            "No undrained strength",
        ),
        ("ground/boreholes.csv", "B2,1062.0,1978.0,104.4,32.0,cored,true", "B2,1062.0,1993.0,104.4,32.0,cored,false", "borehole B2", "not sealed"),
        ("ground/boreholes.csv", "B2,1062.0,1978.0", "B2,1062.0,1935.0", "borehole B2", "off the axis"),
        (
            "ground/piezometers.csv",
            "P1,upper,1040.0,2012.0,92.0,99.1,2025-02-17",
            "P2,upper,1041.0,2012.0,92.0,99.1,2023-02-17",
            "piezometers",
            "twelve months",
        ),
        (
            "ground/aquifers.toml",
            "low_m = 98.2, normal_m = 98.8, high_m = 99.8",
            "low_m = 98, normal_m = 98, high_m = 98",
            "aquifer upper",
            "Low and high water are the same",
        ),
        (
            "axis/east.toml",
            '[[element]]\nelement_type = "clothoid"\nlength_m = 30\n',
            "",
            "drive east",
            "curvature steps without a transition at chainage 40 m",
        ),
        ("machines.toml", "radius_min_m = 250", "radius_min_m = 450", "drive east", "tightest radius 400 m"),
        ("machines.toml", "belt_weigher = [", "# [", "machine A", "No belt weigher"),
        ("project.toml", '# arching = "off"', "water_factor = 1.0", "choices.water_factor", "signed decision"),
        ("assets/assets.csv", "102.3,11.0,masonry", "102.3,,masonry", "asset H1", "height is missing"),
    ],
)
def test_doubt_is_said(tmp_path: Path, name: str, old: str, new: str, subject: str, words: str) -> None:
    write_new_project(tmp_path / "new")
    before = {(caution.subject, caution.sentence) for caution in cautions(read_project(tmp_path / "new"))}
    path = tmp_path / "new" / name
    text = path.read_text(encoding="utf-8")
    assert text.count(old) == 1
    if "length_m = 30" in old:
        text = text.replace("length_m = 60", "length_m = 90")
    path.write_text(text.replace(old, new), encoding="utf-8")
    found = {(caution.subject, caution.sentence) for caution in cautions(read_project(tmp_path / "new"))} - before
    assert [sentence for where, sentence in found if where == subject and words in sentence]
