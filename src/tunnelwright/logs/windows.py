"""Small tools for lazy expressions over samples in the order of time.

Windows run only over narrow columns and over one chunk of the log at a time. Where a window has a width in time, the chunk is cut into blocks
with a margin, so that the engine works on many short partitions instead of a long one.
"""

from collections.abc import Sequence

import ibis
from ibis import Table, _
from ibis.expr.types import Column, Value

# The unbounded window in the order of time: from the first sample of the chunk to the current one.
UP_TO_HERE = ibis.window(order_by="time_ms", preceding=None, following=0)
IN_ORDER = ibis.window(order_by="time_ms")


@ibis.udf.scalar.builtin(name="list_median")
def _list_median(values: list[float]) -> float: ...  # type: ignore[empty-body]


def row_median(columns: Sequence[Value]) -> Value:
    """Return the median across columns of a row, missing ones left out."""
    return columns[0] if len(columns) == 1 else _list_median(ibis.array(list(columns)))


def previous(column: Column) -> Column:
    """Return the value of the sample before."""
    return column.lag(1).over(IN_ORDER)


def following(column: Column) -> Column:
    """Return the value of the sample after."""
    return column.lead(1).over(IN_ORDER)


def held(table: Table, column: str, within_ms: int) -> Table:
    """Return the table with missing values of a column bridged by the last valid one for a limited time.

    Notes
    -----
    The engine's own "last, nulls ignored" is not portable; counting the valid values so far and taking the one within each count is.
    """
    counted = table.mutate(valid_count=_[column].count().over(UP_TO_HERE))
    of_count = ibis.window(group_by="valid_count")
    last = counted.mutate(last_value=_[column].max().over(of_count), last_ms=_[column].notnull().ifelse(_.time_ms, None).max().over(of_count))
    fresh = _.last_ms.notnull() & (_.time_ms - _.last_ms <= within_ms)
    return last.mutate(**{column: fresh.ifelse(_.last_value, None)}).drop("valid_count", "last_value", "last_ms")


def in_blocks(table: Table, block_ms: int, margin_ms: int) -> Table:
    """Return the samples with a ``block`` in time; those near an edge stand in both blocks, as their ``own`` only in one."""
    within = table.time_ms % block_ms
    own = table.mutate(block=table.time_ms - within, own=ibis.literal(True))
    later = table.filter(within >= block_ms - margin_ms).mutate(block=_.time_ms - _.time_ms % block_ms + block_ms, own=ibis.literal(False))
    earlier = table.filter(within < margin_ms).mutate(block=_.time_ms - _.time_ms % block_ms - block_ms, own=ibis.literal(False))
    return own.union(later, earlier)
