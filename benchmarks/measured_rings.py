"""The program's own way from a store to rings, in a process of its own.

python -m benchmarks.measured_rings STORE CONTEXT.pickle OUTPUT.parquet
"""

import pickle
import sys
from pathlib import Path

import pyarrow.parquet as parquet

from benchmarks.measuring import report, timed
from tunnelwright.logs import rings_of


def main() -> None:
    """Make the rings once and say how long it took and how much memory."""
    store, context_file, output = (Path(word) for word in sys.argv[1:4])
    # Written a moment ago by the benchmark itself.
    context = pickle.loads(context_file.read_bytes())
    seconds, record = timed(lambda: rings_of(store, context))
    parquet.write_table(record.table, output)
    report(seconds, rings=record.table.num_rows, findings=len(record.findings), columns=record.table.num_columns)


if __name__ == "__main__":
    main()
