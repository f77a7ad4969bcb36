"""Runs a kernel that works through one list at a time at every place of its broadcasting numbers.

Most kernels are written for arrays. Some follow a list step by step (a counter, a chart, a search over splits); these are
written for one list and plain numbers, and this module gives them the shapes that every method promises.
"""

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tunnelwright.vocabulary.types import FloatArray, Number


def each_place(
    function: Callable[..., tuple[Any, ...]], result_count: int, numbers: Sequence[Number | None] = (), lists: Sequence[FloatArray | None] = ()
) -> tuple[NDArray[Any], ...]:
    """Return the results of a function of plain numbers and one-dimensional lists, called at every place.

    Parameters
    ----------
    function : takes the numbers, then the lists, and returns a tuple of numbers, words and lists.
    result_count : how many results it returns.
    numbers : broadcast against each other and against the leading axes of the lists; None stands for NaN.
    lists : arrays whose last axis is the list; None is handed on.

    Returns
    -------
    tuple : one array per result, places first; lists of unequal length are filled up with NaN (words with nothing).
    """
    values = [np.asarray(np.nan if number is None else number, dtype=np.float64) for number in numbers]
    leading = [one.shape[:-1] for one in lists if one is not None]
    shape = np.broadcast_shapes(*(one.shape for one in values), *leading)
    values = [np.broadcast_to(one, shape) for one in values]
    columns = [None if one is None else np.broadcast_to(one, (*shape, one.shape[-1])) for one in lists]
    outcomes = [function(*(float(one[place]) for one in values), *(None if one is None else one[place] for one in columns)) for place in np.ndindex(shape)]
    if not outcomes:
        return tuple(np.empty(shape) for _ in range(result_count))
    return tuple(_stacked([outcome[at] for outcome in outcomes], shape) for at in range(result_count))


def _stacked(parts: list[Any], shape: tuple[int, ...]) -> NDArray[Any]:
    arrays = [np.asarray(part) for part in parts]
    if arrays[0].ndim == 0:
        return np.array(arrays).reshape(shape)
    longest = max(array.size for array in arrays)
    missing = "" if arrays[0].dtype.kind in "US" else np.nan
    filled = [array if array.size == longest else np.concatenate([array, np.full(longest - array.size, missing)]) for array in arrays]
    return np.stack(filled).reshape(*shape, longest)
