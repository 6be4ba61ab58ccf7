"""Order statistics over windows of uneven length: exact, so the same for any split."""

from __future__ import annotations

import numpy as np

from engine.block import FloatArray
from engine.ops.primitives import IntArray


def rows_of(column: FloatArray, begin: IntArray, end: IntArray) -> FloatArray:
    """Lay each window out as a row, sorted, unfit samples last as NaN, shape (m, longest)."""
    longest = int((end - begin).max(initial=1))
    index = begin[:, None] + np.arange(longest)
    inside = index < end[:, None]
    picked = column[np.minimum(index, column.size - 1)] if column.size else np.empty(index.shape)
    rows: FloatArray = np.sort(np.where(inside, picked, np.nan), axis=1)
    return rows


def middle(rows: FloatArray) -> FloatArray:
    """Median of each row that is sorted with NaN last; NaN if nothing is there, shape (m,)."""
    count = np.count_nonzero(~np.isnan(rows), axis=1)
    low = np.maximum((count - 1) // 2, 0)
    at = np.arange(rows.shape[0])
    high = np.minimum(count // 2, rows.shape[1] - 1)  # of an empty row NaN, wherever it looks
    out: FloatArray = 0.5 * (rows[at, low] + rows[at, high])
    return out


def spread(rows: FloatArray) -> FloatArray:
    """Standard deviation of each row by its median deviation, wild samples or not, (m,).

    The factor 1.4826 makes it that of a normal distribution (Hampel, "The influence curve and
    its role in robust estimation", 1974).
    """
    away = np.sort(np.abs(rows - middle(rows)[:, None]), axis=1)
    return 1.4826 * middle(away)
