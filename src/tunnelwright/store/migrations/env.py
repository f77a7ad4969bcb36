"""How alembic runs the migrations: on the connection that it is handed, inside that connection's own transaction."""

from alembic import context

from tunnelwright.store.tables import METADATA, VERSION_TABLE

# SQLite cannot alter a table; in a batch alembic writes the new one and copies the rows.
context.configure(connection=context.config.attributes["connection"], target_metadata=METADATA, version_table=VERSION_TABLE, render_as_batch=True)
context.run_migrations()
