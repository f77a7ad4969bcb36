"""Connections to the record store: SQLite by default, PostgreSQL by URL, one writer at a time on both."""

import json
import sqlite3
import time
from collections.abc import Iterator
from contextlib import contextmanager
from functools import partial
from typing import Any, Final

from sqlalchemy import URL, Connection, Engine, NullPool, create_engine, event, text
from sqlalchemy.exc import DatabaseError, IntegrityError, NoSuchModuleError, ProgrammingError

from tunnelwright.vocabulary.remark import Fault, InputRefused

BUSY_MS: Final = 5000
RETRY_S: Final = 0.01
# Any number serves, as long as every writer of a journal locks the same.
WRITER_LOCK: Final = 7_408_112


def engine_of(url: URL) -> Engine:
    """Return the engine of a store; it keeps no connection open between two uses, so that a forked process never shares one.

    Raises
    ------
    InputRefused
        when the driver of the database is not installed.
    """
    try:
        engine = create_engine(url, poolclass=NullPool, json_serializer=partial(json.dumps, ensure_ascii=False, allow_nan=False))
    except (ModuleNotFoundError, NoSuchModuleError) as reason:
        raise _refused(url, str(reason), "the driver of this database must be installed") from None
    if engine.dialect.name == "sqlite":
        event.listen(engine, "connect", _prepare_sqlite)
        event.listen(engine, "begin", _begin_sqlite)
    return engine


@contextmanager
def reading(engine: Engine) -> Iterator[Connection]:
    """Open a connection that sees one moment of the store.

    Raises
    ------
    InputRefused
        when the store cannot be opened.
    """
    with _refusals(engine.url), engine.connect() as connection, connection.begin():
        yield connection


@contextmanager
def writing(engine: Engine) -> Iterator[Connection]:
    """Open a transaction that is the only one to write until it ends, so that numbers rise in the order of commits.

    Raises
    ------
    InputRefused
        when the store cannot be opened or another writer does not end.
    """
    with _refusals(engine.url), engine.connect().execution_options(is_writing=True) as connection, connection.begin():
        if engine.dialect.name == "postgresql":
            connection.execute(text("select pg_advisory_xact_lock(:lock)"), {"lock": WRITER_LOCK})
        yield connection


def _prepare_sqlite(connection: Any, _record: Any) -> None:
    # The driver's own idea of when a transaction begins is switched off: `_begin_sqlite` says it.
    connection.isolation_level = None
    connection.execute(f"PRAGMA busy_timeout={BUSY_MS}")
    _write_ahead(connection)
    connection.execute("PRAGMA foreign_keys=ON")
    connection.execute("PRAGMA synchronous=NORMAL")


def _write_ahead(connection: sqlite3.Connection) -> None:
    """Set the write-ahead log; SQLite does not wait for another process that sets it in the same new file, so we do."""
    last_moment = time.monotonic() + BUSY_MS / 1000
    while True:
        try:
            connection.execute("PRAGMA journal_mode=WAL")
            return
        except sqlite3.OperationalError as reason:
            if "locked" not in str(reason) or time.monotonic() > last_moment:
                raise
            time.sleep(RETRY_S)


def _begin_sqlite(connection: Connection) -> None:
    # A transaction that reads first and writes later could find the store locked half way; a writer therefore locks at once.
    is_writing = connection.get_execution_options().get("is_writing", False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if is_writing else "BEGIN")


@contextmanager
def _refusals(url: URL) -> Iterator[None]:
    """Turn what a person can mend (locked, not a database, no such folder, no server) into a Fault; faults of ours pass."""
    try:
        yield
    except (IntegrityError, ProgrammingError):
        raise
    except DatabaseError as reason:
        raise _refused(url, str(reason.orig).strip().splitlines()[0], "the journal must be a store that can be opened and written") from None


def _refused(url: URL, given: str, required: str) -> InputRefused:
    where = url.database if url.get_backend_name() == "sqlite" else url.render_as_string(hide_password=True)
    return InputRefused([Fault(where=str(where), field="journal", given=given, required=required)], str(where))
