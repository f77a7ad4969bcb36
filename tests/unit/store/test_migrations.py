"""Migrations: an empty store and one with entries come to the same tables, and those are the ones the program believes in."""

import os
import sqlite3
from collections.abc import Iterator
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import URL, create_engine, make_url, text
from sqlalchemy.exc import DatabaseError
from tests.unit.store.conftest import new_entry

from tunnelwright import store
from tunnelwright.store import Journal
from tunnelwright.store.engines import engine_of, reading, writing
from tunnelwright.store.migrating import upgrade
from tunnelwright.store.tables import METADATA, NEWEST_REVISION, VERSION_TABLE, revision_of
from tunnelwright.vocabulary.remark import InputRefused

SERVER = os.environ.get("TUNNELWRIGHT_TEST_POSTGRESQL", "")


@pytest.fixture(params=["sqlite", "postgresql"])
def url(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[URL]:
    """Return the URL of an empty store: a file, or a schema of its own on the server that TUNNELWRIGHT_TEST_POSTGRESQL names."""
    if request.param == "sqlite":
        yield URL.create("sqlite", database=str(tmp_path / "journal.sqlite"))
        return
    if not SERVER:
        pytest.skip("TUNNELWRIGHT_TEST_POSTGRESQL must name an empty database, such as postgresql+psycopg://user@host/name")
    server = create_engine(SERVER, isolation_level="AUTOCOMMIT")
    with server.connect() as connection:
        connection.execute(text("drop schema if exists journal_test cascade"))
        connection.execute(text("create schema journal_test"))
    server.dispose()
    yield make_url(SERVER).update_query_dict({"options": "-csearch_path=journal_test"})


def test_empty_store_comes_to_the_tables_of_the_program(url: URL) -> None:
    engine = engine_of(url)
    with writing(engine) as connection:
        assert revision_of(connection) == ""
        upgrade(connection)
    with reading(engine) as connection:
        assert revision_of(connection) == NEWEST_REVISION
        found = MigrationContext.configure(connection, opts={"version_table": VERSION_TABLE})
        assert compare_metadata(found, METADATA) == []


def test_store_with_entries_keeps_them_when_it_is_brought_up_to_date_again(url: URL) -> None:
    journal = Journal(url)
    made = [journal.append(new_entry(subject=subject)) for subject in ("first", "second")]
    with writing(engine_of(url)) as connection:
        upgrade(connection)
    assert list(Journal(url).entries()) == made


def test_every_database_refuses_to_change_an_entry(url: URL) -> None:
    journal = Journal(url)
    made = journal.append(new_entry())
    for statement in ("update journal_entry set person = 'somebody'", "delete from journal_entry"):
        with pytest.raises(DatabaseError, match="append-only"), engine_of(url).begin() as connection:
            connection.execute(text(statement))
    assert journal.entries() == (made,)


def test_newest_revision_is_the_head_of_the_migrations() -> None:
    folder = Path(store.__file__).parent / "migrations"
    assert ScriptDirectory(str(folder)).get_heads() == [NEWEST_REVISION]


def test_half_made_store_is_made_whole(tmp_path: Path) -> None:
    path = tmp_path / "journal.sqlite"
    path.touch()
    assert Journal.at(path).entries() == ()
    assert Journal.at(path).append(new_entry()).id == 1


def test_store_of_a_newer_program_is_refused_and_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "journal.sqlite"
    Journal.at(path).append(new_entry())
    newer = sqlite3.connect(path)
    newer.execute(f"update {VERSION_TABLE} set version_num = 'journal_9999'")
    newer.commit()
    newer.close()
    for use in (lambda: Journal.at(path).entries(), lambda: Journal.at(path).append(new_entry())):
        with pytest.raises(InputRefused) as refused:
            use()
        assert "journal_9999" in refused.value.faults[0].given
        assert "newer program" in refused.value.faults[0].hint
