import re
from importlib import resources
from itertools import product

import pytest

from tunnelwright.report.hatch import HATCHES, hatch_name
from tunnelwright.report.ink import DARK, INKS, LETTERS, LIGHT, PRINT, SoilKind, stylesheet

SHEET = resources.files("tunnelwright.web").joinpath("static", "sheet.css").read_text(encoding="utf-8")
WORDS = sorted(set(LETTERS.values()))
MEANING_LINES = ("ink", "plan", "limit", "watch", "second", "line", "water")


def luminance(colour: str) -> float:
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(first: str, second: str) -> float:
    brighter, darker = sorted((luminance(first), luminance(second)), reverse=True)
    return (brighter + 0.05) / (darker + 0.05)


def blocks() -> dict[str, dict[str, str]]:
    """Return the variables of the style sheet by the selector that sets them."""
    found: dict[str, dict[str, str]] = {}
    for selector, body in re.findall(r"^\s*(:root|html[^{]*?) \{([^}]*--paper:[^}]*)\}", SHEET, flags=re.MULTILINE):
        found.setdefault(selector, dict(re.findall(r"--([\w-]+): ?(#[0-9A-F]{6})", body)))
    return found


def test_contrast_is_measured_right() -> None:
    assert contrast("#FFFFFF", "#000000") == pytest.approx(21.0)
    assert contrast("#767676", "#FFFFFF") == pytest.approx(4.54, abs=0.01)


@pytest.mark.parametrize(("palette", "word"), list(product((LIGHT, DARK, PRINT), WORDS)), ids=str)
def test_words_stand_out_on_paper(palette: dict[str, str], word: str) -> None:
    assert contrast(palette[word], palette["paper"]) >= 7.0


@pytest.mark.parametrize(("palette", "word"), list(product((LIGHT, DARK), ("ink", "plan-word", "limit-word", "watch-word"))), ids=str)
def test_words_stand_out_on_the_window(palette: dict[str, str], word: str) -> None:
    assert contrast(palette[word], palette["window"]) >= 6.0


@pytest.mark.parametrize(("palette", "line"), list(product((LIGHT, DARK, PRINT), MEANING_LINES)), ids=str)
def test_lines_that_carry_meaning_stand_out(palette: dict[str, str], line: str) -> None:
    assert contrast(palette[line], palette["paper"]) >= 3.0


@pytest.mark.parametrize("palette", [LIGHT, DARK], ids=["light", "dark"])
def test_caution_can_be_read(palette: dict[str, str]) -> None:
    assert contrast(palette["ink"], palette["caution"]) >= 7.0
    assert contrast(palette["ink"], palette["wash"]) >= 7.0


def test_style_sheet_has_the_same_colours() -> None:
    assert blocks() == {":root": LIGHT, 'html[data-theme="dark"]': DARK, 'html:not([data-theme="light"])': DARK}


def test_dark_colours_hold_on_screens_only() -> None:
    before_dark = SHEET[: SHEET.index(DARK["paper"])]
    assert before_dark.rstrip().rsplit("@media", 1)[1].startswith(" screen")
    assert "prefers-color-scheme: dark" in SHEET
    assert all("screen" in rule for rule in re.findall(r"@media ([^{]*prefers-color-scheme[^{]*)\{", SHEET))


def test_style_sheet_holds_the_drawing_inks() -> None:
    part = SHEET.split("/* drawing ink */\n", 1)[1].split("\n/* end of drawing ink */", 1)[0]
    assert part == stylesheet()


def test_both_palettes_know_every_colour_an_ink_uses() -> None:
    used = {ink.stroke for ink in INKS.values()} | {ink.fill for ink in INKS.values()} | set(LETTERS.values())
    assert used - {""} <= set(LIGHT)
    assert set(LIGHT) == set(DARK) == set(PRINT)


def test_every_soil_but_the_unknown_has_its_hatch() -> None:
    kinds = {hatch_name(kind) for kind in SoilKind.__args__}  # type: ignore[attr-defined]
    assert kinds - {"unknown"} == set(HATCHES)
    assert all(f"ground-{name}" in INKS for name in HATCHES)
    assert all(11 <= tile.width <= 26 for tile in HATCHES.values())


def test_forecast_and_planned_differ_without_colour() -> None:
    assert INKS["forecast"].dash
    assert not INKS["planned"].dash
    assert not any(INKS[name].dash for name in ("measured", "chosen", "second-line", "raw"))
