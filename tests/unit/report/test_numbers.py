import math

import pytest

from tunnelwright.report.numbers import chainage_text, count_text, number_text


@pytest.mark.parametrize(
    ("value", "decimals", "signed", "text"),
    [
        (1453, 0, False, "1\u202f453"),
        (-14.26, 1, False, "\u221214.3"),
        (8.2, 0, True, "+8"),
        (-0.04, 1, True, "0.0"),
        (1234567.891, 2, False, "1\u202f234\u202f567.89"),
        (math.nan, 1, False, ""),
        (None, 1, False, ""),
        (math.inf, 1, False, ""),
    ],
)
def test_number_stands_as_on_a_sheet(value: float, decimals: int, signed: bool, text: str) -> None:
    assert number_text(value, decimals, is_signed=signed) == text


@pytest.mark.parametrize(
    ("chainage", "decimals", "text"),
    [(1314.0, 1, "1+314.0"), (7.25, 1, "0+007.2"), (999.96, 1, "1+000.0"), (12080.0, 0, "12+080"), (-3.0, 0, "\u22120+003"), (math.nan, 1, "")],
)
def test_chainage_parts_kilometres_from_metres(chainage: float, decimals: int, text: str) -> None:
    assert chainage_text(chainage, decimals) == text


def test_count_takes_the_right_word() -> None:
    assert count_text(1, "ring") == "1 ring"
    assert count_text(1453, "ring") == "1\u202f453 rings"
    assert count_text(2, "ring needs", "rings need") == "2 rings need"
