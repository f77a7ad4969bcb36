"""The record of a drive as a plain pandas script makes it: everything read at once, rings by the number somebody keyed, no check of anything.

python -m benchmarks.baseline_rings_pandas STORE FACTS.npz OUTPUT.parquet
"""

import sys
from pathlib import Path

import numpy as np
import pandas as pd

from benchmarks.measuring import report, timed

LIMITS = {
    "below_hard_lower": ("hard_lower_crown_kpa", -1),
    "below_operating_lower": ("operating_lower_crown_kpa", -1),
    "above_operating_upper": ("operating_upper_crown_kpa", 1),
    "above_hard_upper": ("hard_upper_crown_kpa", 1),
}


def rings(store: Path, facts: dict[str, np.ndarray]) -> pd.DataFrame:
    log = pd.concat([pd.read_parquet(path) for path in sorted(store.glob("day=*/samples.parquet"))], ignore_index=True)
    log["ring"] = log["ring_number_keyed"].astype(int)
    log["seconds"] = (log["time_ms"].shift(-1) - log["time_ms"]).fillna(0.0) / 1000.0
    advancing = log["advance_rate_mm_min"] > 0
    pushed = log[advancing]
    by_ring = log.groupby("ring")
    record = pd.DataFrame(
        {
            "start_time_ms": by_ring["time_ms"].min(),
            "end_time_ms": by_ring["time_ms"].max(),
            "cycle_time_s": by_ring["seconds"].sum(),
            "push_net_s": pushed.groupby("ring")["seconds"].sum(),
            "row_count": by_ring.size(),
        }
    )
    pressures(log, advancing, facts, record)
    levels(log, advancing, record)
    totals(log, record)
    return record.reset_index(names="ring_number")


def pressures(log: pd.DataFrame, advancing: pd.Series, facts: dict[str, np.ndarray], record: pd.DataFrame) -> None:
    """Add crown, axis and gradient from a line through the sensors of every row, and the time beyond each limit."""
    depth = facts["sensor_depth_m"]
    sensors = log[[f"chamber_pressure_{name}_kpa" for name in facts["sensor_name"]]].to_numpy()
    centred = depth - depth.mean()
    gradient = (sensors * centred).sum(axis=1) / (centred**2).sum()
    log["gradient"] = gradient
    log["crown"] = sensors.mean(axis=1) - gradient * depth.mean()
    log["axis"] = log["crown"] + gradient * float(facts["axis_depth_m"])
    pushed, still = log[advancing], log[~advancing]
    for name, column in (("face_pressure_crown_kpa", "crown"), ("face_pressure_axis_kpa", "axis"), ("support_unit_weight_kn_m3", "gradient")):
        record[name] = weighted_mean(pushed, column)
    record["face_pressure_crown_standstill_kpa"] = weighted_mean(still, "crown")
    quantiles = pushed.groupby("ring")["crown"].quantile([0.1, 0.5, 0.9]).unstack()
    for share, word in ((0.1, "p10"), (0.5, "p50"), (0.9, "p90")):
        record[f"face_pressure_crown_{word}_kpa"] = quantiles[share]
    smooth = log.groupby(["ring", log["time_ms"] // 10_000])["crown"].mean().groupby("ring")
    record["face_pressure_crown_min_kpa"], record["face_pressure_crown_max_kpa"] = smooth.min(), smooth.max()
    for word, (limit, side) in LIMITS.items():
        allowed = pd.Series(facts[limit], index=facts["ring_number"]).reindex(log["ring"]).to_numpy()
        beyond = np.maximum(side * (log["crown"].to_numpy() - allowed), 0.0)
        for part, mask in (("", advancing), ("_standstill", ~advancing)):
            is_beyond = (beyond > 0) & mask.to_numpy()
            seconds = log["seconds"].where(is_beyond, 0.0)
            record[f"time_{word}{part}_s"] = seconds.groupby(log["ring"]).sum()
            record[f"depth_{word}{part}_kpa_s"] = (seconds * beyond).groupby(log["ring"]).sum()
            run = np.cumsum(np.diff(is_beyond, prepend=False))
            record[f"longest_{word}{part}_s"] = seconds.groupby([log["ring"], run]).sum().groupby("ring").max()


def levels(log: pd.DataFrame, advancing: pd.Series, record: pd.DataFrame) -> None:
    """Add means of the machine's readings while it advanced, and the usual grout pressures."""
    pushed = log[advancing]
    plain = ["thrust_kn", "cutterhead_torque_knm", "cutterhead_speed_rpm", "screw_speed_rpm", "advance_rate_mm_min"]
    for name in [*plain, *(name for name in log.columns if name.startswith("screw_pressure"))]:
        record[name] = weighted_mean(pushed, name)
    rams = [name for name in log.columns if name.startswith("ram_extension")]
    extension = log[rams].median(axis=1).groupby(log["ring"])
    record["stroke_m"] = extension.max() - extension.min()
    for name in [name for name in log.columns if name.startswith("grout_pressure")]:
        quantiles = pushed.groupby("ring")[name].quantile([0.5, 0.9]).unstack()
        record[f"{name[:-4]}_p50_kpa"], record[f"{name[:-4]}_p90_kpa"] = quantiles[0.5], quantiles[0.9]


def totals(log: pd.DataFrame, record: pd.DataFrame) -> None:
    """Add what rates and counters add up to."""
    by_ring = log.groupby("ring")
    for name in log.columns:
        if name.startswith(("belt_mass_total", "grout_volume")):
            before = by_ring[name].first()
            record[name] = before.shift(-1).fillna(by_ring[name].last()) - before
        elif name.startswith(("belt_mass_rate", "foam_", "water_")):
            per_second = 1 / 3600 if name.startswith("belt") else 1 / 60_000
            record[f"{name}_integral"] = (log[name] * log["seconds"] * per_second).groupby(log["ring"]).sum()
    record["muck_mass_t"] = record[[name for name in record.columns if name.startswith("belt_mass_total")]].mean(axis=1)
    record["grout_volume_m3"] = record[[name for name in record.columns if name.startswith("grout_volume")]].sum(axis=1)


def weighted_mean(rows: pd.DataFrame, name: str) -> pd.Series:
    weight = rows["seconds"].groupby(rows["ring"]).sum()
    return (rows[name] * rows["seconds"]).groupby(rows["ring"]).sum() / weight


def main() -> None:
    store, facts_file, output = (Path(word) for word in sys.argv[1:4])
    facts = dict(np.load(facts_file))
    seconds, record = timed(lambda: rings(store, facts))
    record.to_parquet(output)
    report(seconds, rings=len(record), columns=len(record.columns))


if __name__ == "__main__":
    main()
