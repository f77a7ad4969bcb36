"""One entry of the journal: what a person decided, where on which drive, when and why."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from typing import Any, Final, Literal, get_args

EntryKind = Literal["acknowledgement", "closure", "release", "measurement", "remark", "plan frozen"]
ENTRY_KINDS: Final[tuple[EntryKind, ...]] = get_args(EntryKind)


@dataclass(frozen=True, slots=True, kw_only=True)
class NewEntry:
    """An entry before the journal has given it its number.

    Parameters
    ----------
    time_ms : UTC milliseconds, by the clock of whoever writes.
    drive : name of the drive; empty for the whole project.
    ring_number : ring concerned, None when it concerns none.
    subject : what it is about, in words that can be read without the record at hand.
    person, post : who signs and in what capacity.
    data : what programs need to know of it: criteria, pushes, plan revision.
    corrects : number of the entry that this one corrects; the corrected one stays as it was written.
    """

    time_ms: int
    drive: str
    kind: EntryKind
    subject: str
    person: str
    ring_number: int | None = None
    post: str = ""
    reason: str = ""
    data: Mapping[str, Any] = field(default_factory=dict)
    corrects: int | None = None

    def as_dict(self) -> dict[str, Any]:
        """Return the fields by name."""
        return {**asdict(self), "data": dict(self.data)}


@dataclass(frozen=True, slots=True, kw_only=True)
class JournalEntry(NewEntry):
    """An entry as the journal holds it; numbers rise in the order of writing."""

    id: int

    def as_dict(self) -> dict[str, Any]:
        """Return the fields by name, the number first."""
        return {"id": self.id, **{**asdict(self), "data": dict(self.data)}}
