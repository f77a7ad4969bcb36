"""The command line as a person uses it: exit codes, faults all at once, the same record as JSON."""

import json
import subprocess
import sys
import time
from pathlib import Path

import pytest

from tunnelwright.cli.commands import commands


def run(*words: str, given: str = "") -> subprocess.CompletedProcess[str]:
    return subprocess.run([sys.executable, "-m", "tunnelwright.cli", *words], input=given, capture_output=True, text=True, timeout=60, check=False)


@pytest.fixture(scope="module")
def project(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("cli") / "first"
    made = run("new", str(folder))
    assert made.returncode == 0, made.stderr
    return folder


def test_help_answers_within_its_budget_and_without_numpy() -> None:
    code = "import sys, tunnelwright.cli.commands; print('numpy' in sys.modules or 'matplotlib' in sys.modules or 'ibis' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout.strip() == "False"
    started = time.perf_counter()
    assert run("--help").returncode == 0
    # Half a second on an idle machine; tests share two cores.
    assert time.perf_counter() - started < 1.5


@pytest.mark.parametrize("name", sorted(commands.registered_commands, key=lambda one: one.callback.__name__), ids=lambda one: one.callback.__name__)
def test_every_help_is_a_sentence_with_an_example(name) -> None:
    text = name.callback.__doc__
    assert text.count(".") >= 2
    assert "Example: tunnelwright" in text


def test_new_check_plan(project: Path, tmp_path: Path) -> None:
    assert "no faults" in run("check", str(project)).stdout
    table, book = tmp_path / "plan.csv", tmp_path / "plan.xlsx"
    made = run("plan", str(project), "--csv", str(table), "--xlsx", str(book))
    assert made.returncode == 0, made.stderr
    assert "licensed engineer" in made.stdout
    lines = table.read_text(encoding="utf-8").splitlines()
    assert lines[0].startswith("ring_number,chainage_m,face_start_chainage_m")
    assert len(lines) == 61
    assert book.stat().st_size > 5000
    rows = json.loads(run("plan", str(project), "--json").stdout)["rows"]
    assert rows[11]["ring_number"] == 12
    assert rows[11]["operating_lower_crown_kpa"] < rows[11]["target_crown_kpa"] < rows[11]["operating_upper_crown_kpa"]


def test_new_refuses_a_folder_that_holds_something(project: Path) -> None:
    again = run("new", str(project))
    assert again.returncode == 2
    assert "nothing is overwritten" in again.stderr


def test_faults_come_all_at_once_with_exit_2(project: Path, tmp_path: Path) -> None:
    import shutil

    broken = tmp_path / "broken"
    shutil.copytree(project, broken)
    machines = (broken / "machines.toml").read_text(encoding="utf-8")
    (broken / "machines.toml").write_text(machines.replace("thrust_max_kn = 42000", 'thrust_max_kn = "60 MPa"'), encoding="utf-8")
    units = (broken / "ground/units.toml").read_text(encoding="utf-8")
    (broken / "ground/units.toml").write_text(units.replace("friction_angle_deg = { mean = 34,", "friction_angle_deg = { mean = 340,"), encoding="utf-8")
    refused = run("plan", str(broken))
    assert refused.returncode == 2
    assert "2 faults" in refused.stderr
    assert "machines.toml:" in refused.stderr
    assert "Traceback" not in refused.stderr
    listed = json.loads(run("plan", str(broken), "--json").stdout)["faults"]
    assert {fault["field"].split(".")[-1] for fault in listed} == {"thrust_max_kn", "friction_angle_deg"}
    assert not (broken / ".tunnelwright").exists()


def test_explain_prints_formula_numbers_and_source(project: Path) -> None:
    said = run("explain", str(project), "12", "--method", "window_limits").stdout
    assert "face.window_limits.allowance" in said
    assert "= " in said
    assert "Screening aid" in said
    outside = run("explain", str(project), "61")
    assert outside.returncode == 2
    assert "1 to 60" in outside.stderr


def test_calculate_by_words_and_by_json() -> None:
    words = run("calculate", "movement.trough.gaussian_peck_1969", "volume_loss=0.01", "excavation_diameter=6m", "trough_width_m=10", "offset_mm=0")
    assert words.returncode == 0, words.stderr
    assert "S_max" in words.stdout
    given = json.dumps({"volume_loss": 0.01, "excavation_diameter_m": 6.0, "trough_width_m": 10.0, "offset_m": 0.0})
    made = json.loads(run("calculate", "movement.trough.gaussian_peck_1969", "--json", given=given).stdout)
    assert made["results"]["settlement_max_m"] == pytest.approx(0.0112798, abs=1e-7)
    assert made["results"]["tensile_strain"] is None
    assert {"symbol", "formula", "numbers", "value", "unit", "source"} <= set(made["sheet"][0])
    assert made["cautions"] == []


@pytest.mark.parametrize(
    ("words", "given", "wanted"),
    [
        (["calculate", "movement.trough.gausian"], "", "did you mean"),
        (["calculate", "movement.trough.gaussian_peck_1969", "volume_loss"], "", "name=value"),
        (["calculate", "movement.trough.gaussian_peck_1969", "--json"], "{", "one JSON object"),
        (["calculate", "movement.trough.gaussian_peck_1969", "--json"], "[1]", "one JSON object"),
        (["calculate", "movement.trough.gaussian_peck_1969", "volume_loss=1 %", "excavation_diameter=6 kPa"], "", "does not measure"),
    ],
)
def test_a_refused_calculation_says_how_to_mend_it(words: list[str], given: str, wanted: str) -> None:
    refused = run(*words, given=given)
    assert refused.returncode == 2
    assert wanted in refused.stderr + refused.stdout
    assert "Traceback" not in refused.stderr


def test_commands_without_a_log_say_what_is_missing(project: Path) -> None:
    for words, wanted in (
        (["import-log"], "log files are needed"),
        (["record"], "import the machine's log first"),
        (["reconcile"], "make rings of the log first"),
    ):
        refused = run(words[0], str(project))
        assert refused.returncode == 2, words
        assert wanted in refused.stderr.replace("\n", " ").replace("  ", " "), refused.stderr


def test_methods_and_verify_list_the_registry() -> None:
    listed = json.loads(run("methods", "movement.trough.gaussian", "--json").stdout)
    assert [one["id"] for one in listed] == ["movement.trough.gaussian_peck_1969"]
    assert listed[0]["evidence_count"] >= 2
    outcomes = json.loads(run("verify", "movement", "--json").stdout)
    assert all(one["holds"] for one in outcomes)
