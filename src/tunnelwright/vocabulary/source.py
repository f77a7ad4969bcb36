"""Where a method comes from, and how well we know it."""

from dataclasses import dataclass
from typing import Literal

HowKnown = Literal["read", "recomputed", "derived", "from memory"]


@dataclass(frozen=True, slots=True)
class Source:
    """A bibliographic source.

    Parameters
    ----------
    short : author and year as printed in a line of a sheet, for example ``Peck (1969)``.
    text : full reference, or for a plain fact of geometry what it is.
    how_known : whether the text was read, the values recomputed by another route, the formula derived, or recalled.
    """

    short: str
    text: str
    how_known: HowKnown

    def sentence(self) -> str:
        """Return the source as printed on a sheet."""
        return self.short if self.how_known in ("read", "derived") else f"{self.short}; {self.how_known}"
