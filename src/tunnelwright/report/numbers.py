"""Numbers as they stand on a sheet: fixed decimals, true minus, thin space between thousands, chainages as ``1+314.0``."""

import math
from typing import Final

THIN_SPACE: Final = "\u202f"
MINUS: Final = "\u2212"


def number_text(value: float | None, decimals: int = 0, *, is_signed: bool = False, missing: str = "") -> str:
    """Return a number as printed.

    Parameters
    ----------
    value : the number; None and NaN print as ``missing``, because an absent value is blank and never a zero.
    decimals : fixed number of decimals, so that columns line up.
    is_signed : also print the plus of a positive number (levels, deviations).
    missing : text of an absent value.
    """
    if value is None or not math.isfinite(value):
        return missing
    text = f"{abs(value):,.{decimals}f}".replace(",", THIN_SPACE)
    is_zero = not any(digit in "123456789" for digit in text)
    if is_zero:
        return text
    return (MINUS if value < 0 else "+" if is_signed else "") + text


def chainage_text(chainage_m: float | None, decimals: int = 0) -> str:
    """Return a chainage with kilometres and metres parted by a plus: 1314.0 as ``1+314``."""
    if chainage_m is None or not math.isfinite(chainage_m):
        return ""
    scale = 10**decimals
    rounded = round(abs(chainage_m) * scale)
    kilometres, rest = divmod(rounded, 1000 * scale)
    width = 3 + (decimals + 1 if decimals else 0)
    return f"{MINUS if chainage_m < 0 and rounded else ''}{kilometres}+{rest / scale:0{width}.{decimals}f}"


def count_text(count: int, word: str, plural: str = "") -> str:
    """Return a count with its word: ``1 ring``, ``1 453 rings``."""
    return f"{number_text(count)} {word if count == 1 else plural or word + 's'}"
