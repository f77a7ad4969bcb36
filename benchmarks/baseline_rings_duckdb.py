"""One plain group-by over the same columns of the store: the least that any engine must read and add up, without cycles, weights or checks.

python -m benchmarks.baseline_rings_duckdb STORE
"""

import sys
from pathlib import Path

import duckdb

from benchmarks.measuring import report, timed


def rings(store: Path) -> int:
    with duckdb.connect() as connection:
        connection.execute("SET threads = 2; SET memory_limit = '1GB'")
        source = f"read_parquet('{store}/day=*/samples.parquet', union_by_name = true, hive_partitioning = false)"
        names = [row[0] for row in connection.execute(f"DESCRIBE SELECT * FROM {source}").fetchall()]
        parts = ["count(*) AS row_count", "min(time_ms) AS start_time_ms", "max(time_ms) AS end_time_ms"]
        for name in names:
            if name.startswith(("belt_mass_total", "grout_volume")):
                parts.append(f"max({name}) - min({name}) AS {name}")
            elif name not in ("time_ms", "row_flags", "ring_number_keyed"):
                parts.append(f"avg({name}) FILTER (advance_rate_mm_min > 0) AS {name}")
        parts += ["approx_quantile(chamber_pressure_1_kpa, [0.1, 0.5, 0.9]) FILTER (advance_rate_mm_min > 0) AS pressures"]
        return len(connection.execute(f"SELECT ring_number_keyed, {', '.join(parts)} FROM {source} GROUP BY ring_number_keyed").fetchall())


def main() -> None:
    seconds, count = timed(lambda: rings(Path(sys.argv[1])))
    report(seconds, rings=count)


if __name__ == "__main__":
    main()
