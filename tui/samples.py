"""Samples in columns that only grow, so that a reader's view never changes under it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
import numpy.typing as npt

from engine.block import Block, FloatArray, Quality, QualityArray, Table

_START = 1024
"""First capacity; it doubles. [-]"""


class Growing:
    """An array that grows at its end in amortised constant time."""

    def __init__(self, dtype: npt.DTypeLike) -> None:
        self._data = np.empty(_START, dtype)
        self.size = 0

    def extend(self, new: npt.NDArray[Any]) -> None:
        """Put `new` at the end; views handed out before keep their values."""
        need = self.size + new.size
        if need > self._data.size:
            bigger = np.empty(max(need, 2 * self._data.size), self._data.dtype)
            bigger[: self.size] = self._data[: self.size]
            self._data = bigger
        self._data[self.size : need] = new
        self.size = need

    def view(self, n: int) -> npt.NDArray[Any]:
        """Return the first `n` entries without copying."""
        return self._data[:n]


class Column:
    """One channel: values [SI], quality bits and, at each row, the row it was last measured."""

    def __init__(self) -> None:
        self.value = Growing(np.float64)
        self.quality = Growing(np.uint16)
        self.measured = Growing(np.int32)

    def extend(self, value: FloatArray, quality: QualityArray) -> None:
        """Append; a held or absent value was measured at an earlier row, or never (-1)."""
        start = self.measured.size
        before = int(self.measured.view(start)[-1]) if start else -1
        fresh = ((quality & np.uint16(Quality.HELD)) == 0) & ~np.isnan(value)
        rows = np.where(fresh, np.arange(start, start + value.size), before)
        self.measured.extend(np.maximum.accumulate(rows).astype(np.int32))
        self.value.extend(value)
        self.quality.extend(quality)

    def absent(self, n: int) -> None:
        """Append `n` rows in which the recording has no such channel."""
        if n > 0:
            self.extend(np.full(n, np.nan), np.full(n, np.uint16(Quality.NO_DATA)))


class Samples:
    """All rows of a recording read so far."""

    def __init__(self) -> None:
        self._t = Growing(np.float64)
        self.columns: dict[str, Column] = {}

    @property
    def size(self) -> int:
        """Rows so far. [-]"""
        return self._t.size

    def append(self, table: Table) -> None:
        """Take rows later than all before; channels may come and go from call to call."""
        blocks: Mapping[str, Block] = table
        if not blocks:
            return
        t = next(iter(blocks.values())).t
        start = self.size
        for name in blocks.keys() | self.columns.keys():
            column = self.columns.setdefault(name, Column())
            column.absent(start - column.value.size)
            block = blocks.get(name)
            if block is None:
                column.absent(t.size)
            else:
                column.extend(block.value, block.quality)
        self._t.extend(t)

    def times(self, n: int) -> FloatArray:
        """Return the first `n` row times, shape (n,). [s since 1970-01-01 UTC]"""
        return self._t.view(n)

    def until(self, now: float) -> int:
        """Return how many rows are not later than `now`."""
        return int(np.searchsorted(self.times(self.size), now, side="right"))

    def curves(self, n: int) -> dict[str, FloatArray]:
        """Return the first `n` values of every channel, views of shape (n,). [SI]"""
        return {name: column.value.view(n) for name, column in self.columns.items()}
