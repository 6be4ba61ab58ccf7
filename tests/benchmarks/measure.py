"""Ratios of CPU time: two things in turn, in one process, medians of several rounds."""

from __future__ import annotations

import gc
import time
from collections.abc import Callable
from dataclasses import dataclass
from statistics import median
from typing import Any


@dataclass(frozen=True, slots=True)
class Result:
    """One line of the report."""

    name: str
    ratio: float
    budget: float | None = None
    binding: bool = True
    """Too much of it fails the run; else it is only to be known."""

    @property
    def over(self) -> bool:
        """Whether it costs more than it may; a ratio that is no number does."""
        return self.budget is not None and not self.ratio <= self.budget

    @property
    def fails(self) -> bool:
        """Whether it fails the run."""
        return self.over and self.binding

    def line(self) -> str:
        """Return name, ratio, budget and verdict."""
        budget = "-" if self.budget is None else f"{self.budget:g}"
        verdict = "OVER" if self.over else "ok" if self.budget is not None else ""
        note = "" if self.binding else " for information"
        number = f"{self.ratio:.3f}" if self.ratio < 10 else f"{self.ratio:.1f}"
        return f"{self.name:<72} {number:>8} {budget:>6}  {verdict}{note}".rstrip()


def cpu(work: Callable[[], Any]) -> float:
    """Return the CPU time that `work` takes, all threads of this process. [s]

    Garbage is collected as in use, but what was there before is not looked through again.
    """
    gc.collect()
    gc.freeze()
    start = time.process_time()
    work()
    spent = time.process_time() - start
    gc.unfreeze()
    return spent


def ratio(a: Callable[[], Any], b: Callable[[], Any], rounds: int = 7) -> float:
    """Return the CPU time of `a` over that of `b`.

    One round of each comes first and is not counted: it loads code and fills caches.
    """
    a(), b()
    times = [(cpu(a), cpu(b)) for _ in range(rounds)]
    return median(x for x, _ in times) / median(y for _, y in times)
