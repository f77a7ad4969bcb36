"""The journal, which can be written to and read, never changed."""

import sqlalchemy as sa
from alembic import op

revision = "journal_0001"
down_revision = None
branch_labels = None
depends_on = None

KINDS = ("acknowledgement", "closure", "release", "measurement", "remark", "plan frozen")


def upgrade() -> None:
    """Create the table and let the database itself refuse a change or a removal."""
    number = sa.BigInteger().with_variant(sa.Integer, "sqlite")
    op.create_table(
        "journal_entry",
        sa.Column("id", number, autoincrement=True, nullable=False),
        sa.Column("time_ms", sa.BigInteger, nullable=False),
        sa.Column("drive", sa.Text, nullable=False),
        sa.Column("ring_number", sa.Integer),
        sa.Column("kind", sa.Text, nullable=False),
        sa.Column("subject", sa.Text, nullable=False),
        sa.Column("person", sa.Text, nullable=False),
        sa.Column("post", sa.Text, nullable=False),
        sa.Column("reason", sa.Text, nullable=False),
        sa.Column("data", sa.JSON, nullable=False),
        sa.Column("corrects", number),
        sa.PrimaryKeyConstraint("id", name="pk_journal_entry"),
        sa.ForeignKeyConstraint(["corrects"], ["journal_entry.id"], name="fk_journal_entry_corrects"),
        sa.CheckConstraint("kind in (" + ", ".join(f"'{kind}'" for kind in KINDS) + ")", name=op.f("ck_journal_entry_kind")),
        sqlite_autoincrement=True,
    )
    if op.get_bind().dialect.name == "sqlite":
        # A REPLACE would remove a row without being a DELETE, hence the third.
        for change, condition in (("UPDATE", ""), ("DELETE", ""), ("INSERT", "WHEN EXISTS (SELECT 1 FROM journal_entry WHERE id = NEW.id) ")):
            op.execute(
                f"CREATE TRIGGER journal_entry_no_{change.lower()} BEFORE {change} ON journal_entry {condition}"
                "BEGIN SELECT RAISE(ABORT, 'the journal is append-only'); END"
            )
    else:
        op.execute("CREATE FUNCTION journal_entry_refuse() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN RAISE EXCEPTION 'the journal is append-only'; END $$")
        op.execute(
            "CREATE TRIGGER journal_entry_no_change BEFORE UPDATE OR DELETE OR TRUNCATE ON journal_entry "
            "FOR EACH STATEMENT EXECUTE FUNCTION journal_entry_refuse()"
        )


def downgrade() -> None:
    """Refuse: a step back would throw away what people signed."""
    raise NotImplementedError("the journal is not taken back")
