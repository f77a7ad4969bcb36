"""What the program says about inputs, rows and results that are not as they should be.

Fault    an input is refused; all of them are reported at once, nothing is written, exit code 2
Caution  a remark on a result: outside its validity, doubtful, from memory
Finding  something about rows or channels of a log; the import goes on, counts it and shows it
"""

from collections.abc import Iterable
from dataclasses import asdict, dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """One reason why an input is refused.

    Parameters
    ----------
    where : file and line, for example ``machines.toml:14``; the method's id for a single calculation.
    field : the field or column, as the person wrote it.
    given : what stands there.
    required : what must stand there.
    hint : how to mend it.
    """

    where: str
    field: str
    given: str
    required: str
    hint: str = ""

    def sentence(self) -> str:
        """Return the fault as one line of plain words."""
        hint = f"; {self.hint}" if self.hint else ""
        return f"{self.where}: {self.field}: given {self.given}, {self.required}{hint}"

    def as_dict(self) -> dict[str, str]:
        """Return the five parts by name, in the order they are printed."""
        return asdict(self)


class InputRefused(Exception):
    """Raised once, with every Fault of the input."""

    def __init__(self, faults: Iterable[Fault], subject: str = "the input") -> None:
        self.faults = tuple(faults)
        self.subject = subject
        super().__init__("\n".join(fault.sentence() for fault in self.faults))


@dataclass(frozen=True, slots=True, kw_only=True)
class Caution:
    """A remark that travels with a result to the page and the report."""

    subject: str
    sentence: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """Something about the rows or channels of a log.

    Parameters
    ----------
    kind : one of the quality words, for example ``gap``, ``stuck``, ``unit_suspect``.
    channel : dictionary name of the channel, empty when it concerns the row.
    where : file and row of the first case, or the time.
    sentence : what was found and what was done about it.
    count : rows concerned.
    ring_number : ring concerned, 0 when none or several.
    """

    kind: str
    sentence: str
    channel: str = ""
    where: str = ""
    count: int = 1
    ring_number: int = 0
    start_time_ms: int = 0
    end_time_ms: int = 0
