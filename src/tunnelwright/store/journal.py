"""The journal: entries are added and read, never changed; a correction is an entry of its own that names the one it corrects."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

from sqlalchemy import URL, Connection, RowMapping, insert, make_url, select

from tunnelwright.store.engines import engine_of, reading, writing
from tunnelwright.store.journal_entry import JournalEntry, NewEntry
from tunnelwright.store.migrating import upgrade
from tunnelwright.store.tables import JOURNAL, NEWEST_REVISION, revision_of

Entries = tuple[JournalEntry, ...]
Decide = Callable[[Entries], NewEntry]


class Journal:
    """The journal of one project, by the URL of its database: ``sqlite:///file`` or ``postgresql+psycopg://...``.

    A journal that was never written to has no file and reads as empty.
    """

    def __init__(self, url: str | URL) -> None:
        self._url = make_url(url)
        self._engine = engine_of(self._url)

    @classmethod
    def at(cls, path: Path) -> "Journal":
        """Return the journal in an SQLite file."""
        return cls(URL.create("sqlite", database=str(path)))

    def append(self, entry: NewEntry) -> JournalEntry:
        """Write one entry and return it with its number."""
        return self._write(lambda _entries: entry)

    def append_after(self, decide: Decide) -> JournalEntry:
        """Write the entry that follows from those that are there, and return it with its number.

        Parameters
        ----------
        decide : makes the entry from all entries while no other writer can add one, or raises when nothing must be written; it may be asked twice.
        """
        # Asked without a lock first: what is refused then leaves no trace, not even an empty file.
        decide(self.entries())
        return self._write(decide)

    def _write(self, decide: Decide) -> JournalEntry:
        if self._is_file():
            Path(str(self._url.database)).parent.mkdir(parents=True, exist_ok=True)
        with writing(self._engine) as connection:
            _bring_up_to_date(connection)
            entry = decide(_entries(connection))
            number = connection.execute(insert(JOURNAL).values(entry.as_dict()).returning(JOURNAL.c.id)).scalar_one()
        return JournalEntry(id=number, **entry.as_dict())

    def entries(self) -> Entries:
        """Return all entries in the order in which they were written."""
        if self._is_file() and not Path(str(self._url.database)).is_file():
            return ()
        with reading(self._engine) as connection:
            if revision_of(connection) == NEWEST_REVISION:
                return _entries(connection)
        with writing(self._engine) as connection:
            _bring_up_to_date(connection)
            return _entries(connection)

    def _is_file(self) -> bool:
        return self._url.get_backend_name() == "sqlite"


def _bring_up_to_date(connection: Connection) -> None:
    """Run missing migrations inside the writer's own transaction."""
    if revision_of(connection) != NEWEST_REVISION:
        upgrade(connection)


def _entries(connection: Connection) -> Entries:
    return tuple(_entry(row) for row in connection.execute(select(JOURNAL).order_by(JOURNAL.c.id)).mappings())


def _entry(row: RowMapping) -> JournalEntry:
    values: dict[str, Any] = dict(row)
    return JournalEntry(**values)
