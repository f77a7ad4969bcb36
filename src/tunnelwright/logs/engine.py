"""The engine that runs the expressions: bounded in threads and memory, everything in UTC."""

import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

import duckdb
import ibis
from ibis.backends.duckdb import Backend


@dataclass(frozen=True, slots=True, kw_only=True)
class EngineSettings:
    """How much of the computer the log engine may use.

    Parameters
    ----------
    threads : worker threads.
    memory_limit : of the engine's own buffers, for example ``1GB``; what does not fit is spilled.
    temp_directory : for spilled data and intermediate files; empty means the system's.
    rows_per_chunk : samples of one step of the fold; results do not depend on it.
    """

    threads: int = 2
    memory_limit: str = "1GB"
    temp_directory: str = ""
    rows_per_chunk: int = 3_000_000


DEFAULT_SETTINGS = EngineSettings()


def _options(settings: EngineSettings, folder: str) -> dict[str, str]:
    return {"threads": str(settings.threads), "memory_limit": settings.memory_limit, "temp_directory": folder, "TimeZone": "UTC"}


@contextmanager
def sql_engine(settings: EngineSettings = DEFAULT_SETTINGS) -> Iterator[tuple[duckdb.DuckDBPyConnection, Path]]:
    """Yield a connection for reading and writing files, and a folder for intermediate ones."""
    with TemporaryDirectory(prefix="tunnelwright-", dir=settings.temp_directory or None) as folder:
        connection = duckdb.connect()
        try:
            for name, value in _options(settings, folder).items():
                connection.execute(f"SET {name} = '{value}'")
            yield connection, Path(folder)
        finally:
            connection.close()


@contextmanager
def expression_engine(settings: EngineSettings = DEFAULT_SETTINGS) -> Iterator[tuple[Backend, Path]]:
    """Yield an engine for lazy expressions, and a folder for intermediate files."""
    with TemporaryDirectory(prefix="tunnelwright-", dir=settings.temp_directory or None) as folder:
        # Ibis 12 still reads results by a name that DuckDB 2 calls deprecated; nothing of ours to mend.
        warnings.filterwarnings("ignore", message="fetch_arrow_table", category=DeprecationWarning)
        backend = ibis.duckdb.connect(threads=settings.threads, memory_limit=settings.memory_limit, temp_directory=folder)
        try:
            backend.raw_sql("SET TimeZone = 'UTC'")
            yield backend, Path(folder)
        finally:
            backend.disconnect()


def quoted(path: Path | str) -> str:
    """Return a path or word as an SQL text."""
    return "'" + str(path).replace("'", "''") + "'"


def named(column: str) -> str:
    """Return a column as an SQL name."""
    return '"' + column.replace('"', '""') + '"'
