"""Which samples count: bits of quality, and columns without what is no reading."""

from collections.abc import Mapping, Sequence
from enum import IntFlag
from typing import Final

import ibis
from ibis import Table, _

from tunnelwright.logs.channel_families import channels_of, family_of
from tunnelwright.logs.windows import row_median

LEAST_CHAMBER_KPA: Final = 50.0
BUCKET_MS: Final = 30_000
STUCK_BUCKETS: Final = 5
LEAST_RISE_M: Final = 0.01
LARGEST_RISE_M: Final = 0.4


class Quality(IntFlag):
    """What was found wrong with a sample or an aggregate; 0 is good."""

    MISSING = 1
    OUT_OF_RANGE = 2
    SPIKE = 4
    STUCK = 8
    OFFSET_SUSPECT = 16
    COUNTER_EVENT = 32
    GAP = 64
    CONFLICT = 128
    UNIT_SUSPECT = 256


def clean(samples: Table, channels: Sequence[str], spikes: Table | None = None, spiky: Sequence[str] = ()) -> Table:
    """Return the samples of some channels, with readings that cannot be or are spikes taken out.

    Parameters
    ----------
    spikes : instants and channels of spikes; ``spiky`` names the channels that have any here.
    """
    none = ibis.null("float64")
    present = samples.select("time_ms", **{name: (samples[name].between(*_possible(name))).ifelse(samples[name], none) for name in channels})
    if spikes is not None:
        for name in (one for one in channels if one in spiky):
            times = spikes.filter(spikes.channel == name).select("time_ms")
            present = present.mutate(**{name: present.time_ms.isin(times.time_ms).ifelse(none, present[name])})
    return _without_lone_zeros(present, channels_of("chamber_pressure_kpa", channels))


def _possible(name: str) -> tuple[float, float]:
    family = family_of(name)
    return family.possible if family is not None else (float("-inf"), float("inf"))


def _without_lone_zeros(table: Table, sensors: Sequence[str]) -> Table:
    """Return the table without readings of exactly zero where one sensor alone says so: two together are an event, one is a fault."""
    if len(sensors) < 3:
        return table
    zeros = sum((table[name] == 0.0).fill_null(False).cast("int64") for name in sensors)
    is_alone = (zeros == 1) & (row_median([table[name] for name in sensors]) > LEAST_CHAMBER_KPA)
    return table.mutate(**{name: (is_alone & (table[name] == 0.0)).ifelse(ibis.null("float64"), table[name]) for name in sensors})


def sample_bits(samples: Table, channels: Sequence[str], spikes: Table) -> Table:
    """Return the bits of quality that a sample has by itself, one column per channel."""
    table = samples.select("time_ms", *channels)
    bits = {}
    for name in channels:
        times = spikes.filter(spikes.channel == name).select("time_ms")
        out_of_range = table[name].notnull() & ~table[name].between(*_possible(name))
        bits[name] = (
            table[name].isnull().ifelse(int(Quality.MISSING), 0)
            + out_of_range.ifelse(int(Quality.OUT_OF_RANGE), 0)
            + table.time_ms.isin(times.time_ms).ifelse(int(Quality.SPIKE), 0)
        )
    return table.select("time_ms", **bits)


def stuck_buckets(table: Table, groups: Sequence[str], resolution_m: Mapping[str, float]) -> Table:
    """Return the half minutes in which a ram group stands still while at least all but one of the others go out at the pace of a push.

    Notes
    -----
    The range over two and a half minutes is tested, not equality: the last digit of a dead sensor may still toggle. In a build groups move
    one at a time and fast, so a waiting group is not taken for a stuck one.
    """
    bucket = (_.time_ms - _.time_ms % BUCKET_MS).name("bucket_ms")
    columns = {f"low_{at}": _[name].min() for at, name in enumerate(groups)} | {f"high_{at}": _[name].max() for at, name in enumerate(groups)}
    columns |= {f"mean_{at}": _[name].mean() for at, name in enumerate(groups)}
    buckets = table.group_by(bucket).aggregate(**columns)
    ahead = ibis.window(order_by="bucket_ms", preceding=0, following=STUCK_BUCKETS - 1)
    behind = ibis.window(order_by="bucket_ms", preceding=STUCK_BUCKETS - 1, following=0)
    in_order = ibis.window(order_by="bucket_ms")
    wide = buckets.mutate(
        whole=buckets.bucket_ms.lead(STUCK_BUCKETS - 1).over(in_order) - buckets.bucket_ms == (STUCK_BUCKETS - 1) * BUCKET_MS,
        **{f"range_{at}": buckets[f"high_{at}"].max().over(ahead) - buckets[f"low_{at}"].min().over(ahead) for at in range(len(groups))},
        **{f"rise_{at}": buckets[f"mean_{at}"].lead(STUCK_BUCKETS - 1).over(in_order) - buckets[f"mean_{at}"] for at in range(len(groups))},
    )
    rising = {at: wide[f"rise_{at}"].between(LEAST_RISE_M, LARGEST_RISE_M).fill_null(False).cast("int64") for at in range(len(groups))}
    still = {
        name: wide.whole & (wide[f"range_{at}"] <= resolution_m[name]) & (sum(one for other, one in rising.items() if other != at) >= max(1, len(groups) - 2))
        for at, name in enumerate(groups)
    }
    starts = wide.select("bucket_ms", **{name: flag.fill_null(False).cast("int64") for name, flag in still.items()})
    return starts.select("bucket_ms", **{name: starts[name].max().over(behind) == 1 for name in groups})


def without_stuck(table: Table, groups: Sequence[str], stuck: Table) -> Table:
    """Return the table with ram groups taken out where they are stuck."""
    marked = table.mutate(bucket_ms=table.time_ms - table.time_ms % BUCKET_MS).left_join(
        stuck.rename(**{f"stuck_{name}": name for name in groups}), "bucket_ms"
    )
    columns = {name: marked[f"stuck_{name}"].fill_null(False).ifelse(ibis.null("float64"), marked[name]) for name in groups}
    return marked.select(*[name for name in table.columns if name not in groups], **columns)
