"""Constants of a drive that its first rings tell: extension at rest, high thrust, longest ordinary interval.

They are estimated once and kept in the store: estimated anew from every file, the same samples would give other rings.
"""

from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from tunnelwright.engineering.record.cycle import is_transition
from tunnelwright.logs.channel_families import channels_of
from tunnelwright.logs.chunks import LogReader
from tunnelwright.logs.context import RecordContext
from tunnelwright.logs.days import MS_PER_DAY
from tunnelwright.logs.motion import PushRules
from tunnelwright.logs.quality import clean
from tunnelwright.logs.windows import row_median

FloatArray = NDArray[np.float64]
RINGS_NEEDED: Final = 10
REST_PERCENTILE: Final = 2.0
HIGH_PERCENTILE: Final = 90.0
GAP_INTERVALS: Final = 5.0
LEAST_GAP_S: Final = 30.0
LARGEST_GAP_S: Final = 900.0


def push_rules(reader: LogReader, context: RecordContext) -> PushRules:
    """Return what counts as a push in this drive: kept constants, or those of the first rings, which are then kept."""
    kept = reader.store.constants()
    if not kept or kept.get("ring_length_m") != context.ring_length_m:
        kept, is_settled = _estimated(reader, context)
        if is_settled:
            reader.store.keep_constants(kept)
    return PushRules(
        ring_length_m=context.ring_length_m,
        rest_extension_m=kept["rest_extension_m"] if context.rest_extension_m is None else context.rest_extension_m,
        high_thrust_kn=kept["high_thrust_kn"] if context.high_thrust_kn is None else context.high_thrust_kn,
        gap_limit_s=kept["gap_limit_s"],
        chainage_follows=bool(kept["chainage_follows"]),
    )


def _estimated(reader: LogReader, context: RecordContext) -> tuple[dict[str, float], bool]:
    """Return the constants, and whether enough rings have been seen for them to stay."""
    days = 1
    while True:
        seen = reader.days[:days]
        columns = _first_samples(reader, seen)
        rest_m = _percentile(columns["extension_m"], REST_PERCENTILE)
        falls = np.flatnonzero(is_transition(columns["extension_m"], context.ring_length_m, rest_m)) if np.isfinite(rest_m) else np.array([], dtype=int)
        if len(falls) >= RINGS_NEEDED or days >= len(reader.days):
            break
        days *= 2
    # What lies beyond the tenth ring must not matter, however much was read to find it.
    end = falls[RINGS_NEEDED - 1] + 1 if len(falls) >= RINGS_NEEDED else len(columns["time_ms"])
    columns = {name: values[:end] for name, values in columns.items()}
    interval_s = float(np.median(np.diff(columns["time_ms"]))) / 1000.0 if end > 1 else 1.0
    changes = np.count_nonzero(np.diff(columns["chainage_m"][np.isfinite(columns["chainage_m"])]))
    constants = {
        "ring_length_m": context.ring_length_m,
        "rest_extension_m": _number(_percentile(columns["extension_m"], REST_PERCENTILE)),
        "high_thrust_kn": _number(_percentile(columns["thrust_kn"], HIGH_PERCENTILE)),
        "gap_limit_s": min(max(GAP_INTERVALS * interval_s, LEAST_GAP_S), LARGEST_GAP_S),
        "interval_s": interval_s,
        "chainage_follows": float(changes > 10 * max(1, min(len(falls), RINGS_NEEDED))),
    }
    return constants, len(falls) >= RINGS_NEEDED


def _first_samples(reader: LogReader, days: Sequence[int]) -> dict[str, FloatArray]:
    start_ms, end_ms = days[0] * MS_PER_DAY, (days[-1] + 1) * MS_PER_DAY - 1
    present = reader.present(start_ms, end_ms)
    groups = channels_of("ram_extension_m", present)
    others = [name for name in ("thrust_kn", "chainage_m") if name in present]
    spikes, spiky = reader.spikes(start_ms, end_ms)
    table = clean(reader.samples(start_ms, end_ms), [*groups, *others], spikes, sorted(spiky))
    extension = {"extension_m": row_median([table[name] for name in groups])} if groups else {}
    found = table.select("time_ms", *others, **extension).order_by("time_ms").to_pyarrow()
    columns = {name: np.asarray(found[name].to_numpy(), dtype=np.float64) for name in found.column_names}
    empty = np.full(found.num_rows, np.nan)
    return {"extension_m": empty, "thrust_kn": empty, "chainage_m": empty, **columns}


def _percentile(values: FloatArray, percent: float) -> float:
    valid = values[np.isfinite(values)]
    return float(np.percentile(valid, percent)) if len(valid) else float("nan")


def _number(value: float) -> float:
    """Return 0 for what was never logged, so that the constants stay plain numbers."""
    return value if np.isfinite(value) else 0.0
