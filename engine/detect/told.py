"""What a detector tells row by row: only the moments at which something changes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from engine.detect.call import NOT_ON_WATCH, Codes, Verdict
from engine.detect.kinds import Severity

Evidence = Mapping[str, Any]


@dataclass(slots=True)
class Told:
    """Gathers changes of one kind of call within a block and carries its state to the next."""

    severity: int = Severity.NONE
    edition: int = 0
    evidence: Evidence = field(default_factory=dict)
    sight: int = NOT_ON_WATCH
    changes: dict[int, tuple[int, int, Evidence]] = field(default_factory=dict)
    """Row of the block to severity, edition, evidence."""

    def say(self, row: int, severity: int, evidence: Evidence) -> None:
        """Say at a row how grave it is from there on."""
        self.severity, self.evidence = severity, evidence
        self.edition += 1
        self.changes[row] = severity, self.edition, evidence

    def verdict(
        self, sight: Codes, reasons: tuple[str, ...], before: tuple[int, int, Evidence]
    ) -> Verdict:
        """Return the verdict on a block and begin the next one.

        Parameters
        ----------
        sight : ndarray of int8
            At every row, shape (n,). [-]
        reasons : tuple of str
            Why it is blind.
        before : tuple
            `now` as it was when the block began.
        """
        turns = np.flatnonzero(sight != np.concatenate(([self.sight], sight[:-1]))).tolist()
        rows = sorted({*turns, *self.changes})
        states = []
        for row in rows:
            before = self.changes.get(row, before)
            states.append(before)
        if sight.size:
            self.sight = int(sight[-1])
        self.changes = {}
        at = np.array(rows, np.intp)
        return Verdict(
            at, np.array([s for s, _, _ in states], np.int8), sight[at], reasons,
            lambda i: states[i][2], np.array([e for _, e, _ in states], np.intp),
        )  # fmt: skip

    @property
    def now(self) -> tuple[int, int, Evidence]:
        """Severity, edition and evidence as they stand."""
        return self.severity, self.edition, self.evidence
