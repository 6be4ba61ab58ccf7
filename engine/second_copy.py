"""How long the second copy of the recording has not been complete, as a call for an alarm.

References
----------
.. [1] National Commission on the BP Deepwater Horizon Oil Spill and Offshore Drilling, Deep Water,
   2011, ch. 4: the record that was kept aboard was lost with the rig.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from typing import Any

import numpy as np

from engine.block import Block, FloatArray, no_quality
from engine.commands import Issued
from engine.commands_copy import SecondCopy
from engine.detect.kinds import Severity

LATE_S = 300.0
"""A copy that has lacked something for so long is called; our own number. [s]"""


@dataclass(frozen=True, slots=True)
class CopyState:
    """What the watch last said of the copy; a fold of its commands."""

    place: str = ""
    """The file; empty: none is kept."""
    problem: str = ""
    """Why it is not complete."""
    complete_to: float | None = None
    """Up to when it holds everything. [s since 1970-01-01 UTC]"""
    since: float = float("inf")
    """From here on it lacks something; inf: it is complete. [s since 1970-01-01 UTC]"""

    def told(self, at: float, said: Mapping[str, Any]) -> CopyState:
        """Return the state after the watch said `said` (fields of a `SecondCopy`) at `at` [s].

        A watch that cannot see the copy does not know what it holds; of a spell that goes on, what
        was known before holds.
        """
        place, problem = str(said.get("place") or ""), str(said.get("problem") or "")
        complete = said.get("complete_to")
        if not place or not problem:
            return CopyState(place, "", complete)
        if complete is not None:
            return CopyState(place, problem, complete, complete)
        known = self.complete_to if self.problem and place == self.place else None
        return CopyState(place, problem, known, min(self.since, at))


@dataclass(slots=True)
class CopyWatch:
    """Keeps the state and makes the call. Any split of the rows gives the same."""

    state: CopyState = field(default_factory=CopyState)

    def take(self, issued: Issued, command: SecondCopy) -> None:
        """Take what the watch says."""
        self.state = self.state.told(issued.at, asdict(command))

    def process(self, t: FloatArray) -> Block:
        """Return the call at the rows `t`, shape (n,). [s since 1970-01-01 UTC]

        Returns
        -------
        Block
            Shape (n,): a warning where the copy has lacked something for `LATE_S`, else none. [-]
        """
        late = t - self.state.since >= LATE_S
        value = np.where(late, float(Severity.WARNING), float(Severity.NONE))
        return Block(t, value, no_quality(t.size))
