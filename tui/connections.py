"""How long the string stood in the slips at the last connections, from the rows alone."""

from __future__ import annotations

from bisect import bisect_right

import numpy as np

from tui.samples import Samples


class Connections:
    """Follows rows that only grow; a stay in the slips counts if both its ends were seen."""

    def __init__(self) -> None:
        self._seen = 0
        self._state = -1
        """Of the newest row seen: 1 in slips, 0 out, -1 unknown. [-]"""
        self._into: float | None = None
        """When the slips were set, if that was seen. [s since 1970-01-01 UTC]"""
        self._rows: list[int] = []
        """Row at which each stay was over, rising. [-]"""
        self._past: list[tuple[float, float]] = []

    def take(self, samples: Samples) -> None:
        """Look at the rows that are new."""
        slips, since = samples.columns.get("in_slips"), samples.columns.get("slips_since")
        start, self._seen = self._seen, samples.size
        if slips is None or since is None or start == self._seen:
            return
        value = slips.value.view(self._seen)[start:]
        state = np.where(np.isnan(value), -1, value > 0.5).astype(np.int8)
        before = np.concatenate([[self._state], state[:-1]])
        for row in (np.flatnonzero(state != before) + start).tolist():
            at = float(since.value.view(self._seen)[row])
            self._change(row, int(before[row - start]), int(state[row - start]), at)
        self._state = int(state[-1])

    def _change(self, row: int, before: int, after: int, at: float) -> None:
        if after == 0 and self._into is not None and at >= self._into:
            self._rows.append(row)
            self._past.append((at, at - self._into))
        self._into = at if (before, after) == (0, 1) else None

    def past(self, n: int, most: int) -> tuple[tuple[float, float], ...]:
        """Return end and length of the last stays that were over in the first `n` rows.

        Newest first, at most `most`; ends in s since 1970-01-01 UTC, lengths in s.
        """
        count = bisect_right(self._rows, n - 1)
        return tuple(reversed(self._past[max(0, count - most) : count]))
