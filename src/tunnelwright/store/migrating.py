"""Bring a record store to the newest revision of its tables."""

from importlib import resources

from alembic import command
from alembic.config import Config
from alembic.script import ScriptDirectory
from alembic.util import CommandError
from sqlalchemy import Connection

from tunnelwright.store.tables import revision_of
from tunnelwright.vocabulary.remark import Fault, InputRefused


def upgrade(connection: Connection) -> None:
    """Run the migrations that a store lacks, all inside the transaction of the connection: a killed process leaves the store as it was.

    Raises
    ------
    InputRefused
        when the store was written by a newer program.
    """
    config = Config()
    config.set_main_option("script_location", str(resources.files("tunnelwright.store") / "migrations").replace("%", "%%"))
    config.set_main_option("path_separator", "os")
    config.attributes["connection"] = connection
    _refuse_newer(ScriptDirectory.from_config(config), revision_of(connection), connection.engine.url.database or "journal")
    command.upgrade(config, "head")


def _refuse_newer(known: ScriptDirectory, revision: str, where: str) -> None:
    try:
        known.get_revision(revision or "base")
    except CommandError:
        required = f"this program knows revisions up to {known.get_current_head()}"
        raise InputRefused(
            [
                Fault(
                    where=where, field="journal", given=f"tables of revision {revision}", required=required, hint="open it with the newer program that wrote it"
                )
            ],
            where,
        ) from None
