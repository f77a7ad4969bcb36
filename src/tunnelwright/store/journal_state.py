"""What the entries of a journal come to: a pure fold, the same entries always give the same state."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from tunnelwright.store.journal_entry import JournalEntry


@dataclass(frozen=True, slots=True, kw_only=True)
class ActSignatures:
    """What people signed about the acts at one ring, by key of the criterion.

    An act that was acknowledged is open until it is closed, whether or not its condition still holds. A signature stands for the criteria it was given
    for and no others: another act at the same ring is a new one.
    """

    acknowledged: Mapping[str, JournalEntry] = field(default_factory=dict)
    closed: Mapping[str, JournalEntry] = field(default_factory=dict)

    @property
    def waiting(self) -> tuple[str, ...]:
        """Return the criteria that were acknowledged and not closed."""
        return tuple(key for key in self.acknowledged if key not in self.closed)


@dataclass(frozen=True, slots=True, kw_only=True)
class JournalState:
    """Where the signatures on one drive stand.

    Parameters
    ----------
    acts : signatures by ring.
    releases : releases of hold points that are in force.
    frozen : by plan revision, the entry that says it was frozen.
    """

    acts: Mapping[int, ActSignatures] = field(default_factory=dict)
    releases: tuple[JournalEntry, ...] = ()
    frozen: Mapping[str, JournalEntry] = field(default_factory=dict)


def entries_in_effect(entries: Iterable[JournalEntry]) -> tuple[JournalEntry, ...]:
    """Return the entries that count: a correction stands in the place of what it corrects, a withdrawn entry is left out.

    An entry withdraws another when it corrects it and its data say so; it then counts as a remark about it and changes nothing else.
    """
    standing: dict[int, JournalEntry] = {}
    place_of: dict[int, int] = {}
    for entry in entries:
        if entry.corrects is None:
            place_of[entry.id] = entry.id
            standing[entry.id] = entry
            continue
        place = place_of.get(entry.corrects)
        if place is None:
            continue
        place_of[entry.id] = place
        if entry.data.get("withdraws"):
            standing.pop(place, None)
        else:
            standing[place] = entry
    return tuple(standing[place] for place in sorted(standing))


def fold(entries: Iterable[JournalEntry], drive: str) -> JournalState:
    """Return the state of one drive after all entries; those of other drives change nothing."""
    acknowledged: dict[int, dict[str, JournalEntry]] = {}
    closed: dict[int, dict[str, JournalEntry]] = {}
    releases: list[JournalEntry] = []
    frozen: dict[str, JournalEntry] = {}
    for entry in entries_in_effect(one for one in entries if one.drive == drive):
        if entry.kind == "acknowledgement" and entry.ring_number is not None:
            mine = acknowledged.setdefault(entry.ring_number, {})
            for key in entry.data.get("criteria", ()):
                mine.setdefault(key, entry)
        elif entry.kind == "closure" and entry.ring_number is not None:
            known = acknowledged.get(entry.ring_number, {})
            # Nobody can close what nobody has acknowledged, even if the acknowledgement was withdrawn only later.
            closed.setdefault(entry.ring_number, {}).update({key: entry for key in entry.data.get("criteria", ()) if key in known})
        elif entry.kind == "release":
            releases.append(entry)
        elif entry.kind == "plan frozen":
            frozen[str(entry.data.get("revision", ""))] = entry
    acts = {ring: ActSignatures(acknowledged=mine, closed=closed.get(ring, {})) for ring, mine in acknowledged.items()}
    return JournalState(acts=acts, releases=tuple(releases), frozen=frozen)
