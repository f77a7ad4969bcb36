"""A map over chunks of rings: results do not depend on the size of a chunk or on the number of workers."""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import TypeVar

import numpy as np

# The largest temporary of a chunk stays in the cache of a usual processor.
CHUNK_BYTES = 5_000_000
Part = TypeVar("Part")


def rows_per_chunk(values_per_row: int) -> int:
    """Return how many rows make temporaries of about five megabytes, at least one."""
    return max(1, CHUNK_BYTES // (8 * max(1, values_per_row)))


def chunked_map(
    kernel: Callable[[slice], Part], row_count: int, chunk_rows: int, workers: int = 1, progress: Callable[[int], None] | None = None
) -> list[Part]:
    """Return the kernel's results for successive slices of rows, in order.

    Parameters
    ----------
    kernel : takes a slice of rows; numpy's functions release the interpreter lock, so threads run side by side.
    row_count : number of rows in all.
    chunk_rows : rows of one call.
    workers : threads.
    progress : called with the number of rows done.
    """
    slices = [slice(start, min(start + chunk_rows, row_count)) for start in range(0, row_count, max(1, chunk_rows))]
    done = np.cumsum([one.stop - one.start for one in slices])
    report = progress or (lambda _: None)
    if workers <= 1 or len(slices) <= 1:
        return [_reported(kernel(one), report, int(count)) for one, count in zip(slices, done, strict=True)]
    with ThreadPoolExecutor(workers) as pool:
        return [_reported(part, report, int(count)) for part, count in zip(pool.map(kernel, slices), done, strict=True)]


def _reported(part: Part, report: Callable[[int], None], count: int) -> Part:
    report(count)
    return part
