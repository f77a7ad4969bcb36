"""A signature under a journal entry: who, in what post, why, when; and what is missing from it."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any, Final

from tunnelwright.store import EntryKind, NewEntry
from tunnelwright.vocabulary.remark import Fault

REASON_WORDS: Final = 3
WHERE: Final = "journal entry"


@dataclass(frozen=True, slots=True, kw_only=True)
class Signature:
    """Who signs an entry; the texts are kept on one line."""

    person: str
    post: str
    reason: str
    now: datetime | None

    def faults(self, *, needs_post: bool = False) -> list[Fault]:
        """Return what is missing for a signature that another person can rely on."""
        found = []
        if not _has_letter(self.person):
            hint = 'for example --who "I. Okafor"'
            found.append(
                Fault(where=WHERE, field="person", given=self.person.strip() or "nothing", required="a person must be named who answers for it", hint=hint)
            )
        if needs_post and not _has_letter(self.post):
            hint = 'for example --post "tunnel manager"'
            found.append(
                Fault(where=WHERE, field="post", given=self.post.strip() or "nothing", required="a post must be named that may release a hold", hint=hint)
            )
        words = [word for word in self.reason.split() if _has_letter(word) or word[:1].isdigit()]
        if len(words) < REASON_WORDS:
            required = "three words at least, so that somebody else can follow it next week"
            found.append(Fault(where=WHERE, field="reason", given=on_one_line(self.reason) or "nothing", required=required))
        return found

    def entry(
        self, kind: EntryKind, drive: str, subject: str, ring: int | None, data: Mapping[str, Any] | None = None, corrects: int | None = None
    ) -> NewEntry:
        """Return the entry under which this signature stands."""
        return NewEntry(
            time_ms=int((self.now or datetime.now(UTC)).timestamp() * 1000),
            drive=drive,
            kind=kind,
            subject=subject,
            person=on_one_line(self.person),
            post=on_one_line(self.post),
            reason=on_one_line(self.reason),
            ring_number=ring,
            data=data or {},
            corrects=corrects,
        )


def listed(words: Iterable[object], most: int = 8) -> str:
    """Return things one after the other, with a count of those that are too many to name."""
    every = [str(word) for word in words]
    more = f" and {len(every) - most} more" if len(every) > most else ""
    return ", ".join(every[:most]) + more


def _has_letter(text: str) -> bool:
    return any(letter.isalpha() for letter in text)


def on_one_line(text: str) -> str:
    """Return a text without line breaks and characters that do not print, so that no entry can look like two."""
    return " ".join("".join(letter if letter.isprintable() else " " for letter in text).split())
