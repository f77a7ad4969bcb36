"""What is kept of people's decisions: an append-only journal in SQLite, or in PostgreSQL by URL."""

from tunnelwright.store.journal import Journal
from tunnelwright.store.journal_entry import ENTRY_KINDS, EntryKind, JournalEntry, NewEntry
from tunnelwright.store.journal_state import ActSignatures, JournalState, entries_in_effect, fold

__all__ = ["ENTRY_KINDS", "ActSignatures", "EntryKind", "Journal", "JournalEntry", "JournalState", "NewEntry", "entries_in_effect", "fold"]
