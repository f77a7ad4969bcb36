"""Tables of the record store, as the newest migration leaves them."""

from typing import Final

from sqlalchemy import JSON, BigInteger, CheckConstraint, Column, Connection, ForeignKey, Integer, MetaData, String, Table, Text, inspect, select

from tunnelwright.store.journal_entry import ENTRY_KINDS

VERSION_TABLE: Final = "store_revision"
NEWEST_REVISION: Final = "journal_0001"

# Named constraints, since a later migration can only drop what has a name.
METADATA: Final = MetaData(
    naming_convention={"ck": "ck_%(table_name)s_%(constraint_name)s", "fk": "fk_%(table_name)s_%(column_0_name)s", "pk": "pk_%(table_name)s"}
)
# SQLite counts up by itself only in a column of exactly this type.
ENTRY_NUMBER: Final = BigInteger().with_variant(Integer, "sqlite")

JOURNAL: Final = Table(
    "journal_entry",
    METADATA,
    Column("id", ENTRY_NUMBER, primary_key=True, autoincrement=True),
    Column("time_ms", BigInteger, nullable=False),
    Column("drive", Text, nullable=False),
    Column("ring_number", Integer),
    Column("kind", Text, nullable=False),
    Column("subject", Text, nullable=False),
    Column("person", Text, nullable=False),
    Column("post", Text, nullable=False),
    Column("reason", Text, nullable=False),
    Column("data", JSON, nullable=False),
    Column("corrects", ENTRY_NUMBER, ForeignKey("journal_entry.id")),
    CheckConstraint("kind in (" + ", ".join(f"'{kind}'" for kind in ENTRY_KINDS) + ")", name="kind"),
    sqlite_autoincrement=True,
)
_REVISION: Final = Table(VERSION_TABLE, MetaData(), Column("version_num", String))


def revision_of(connection: Connection) -> str:
    """Return the revision of a store's tables, empty when it has none yet."""
    if not inspect(connection).has_table(VERSION_TABLE):
        return ""
    return connection.execute(select(_REVISION.c.version_num)).scalar() or ""
