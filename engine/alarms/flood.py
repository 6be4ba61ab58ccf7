"""More alarms than a person can take in: when that begins and when it ends.

References
----------
.. [1] HSE Chemicals Sheet 6, Better alarm handling, 2000: no more than 10 alarms displayed in
   the first 10 minutes after an upset.
"""

from __future__ import annotations

from dataclasses import dataclass

WINDOW_S = 600.0
BEGINS_ABOVE = 10
"""Alarms annunciated within the window. [1]_ [-]"""
ENDS_BELOW = 5
"""From memory, no source. [-]"""
_SOON = 1e-6
"""Times are kept to the microsecond. [s]"""


@dataclass(frozen=True, slots=True)
class Flood:
    """The newest alarms and whether they are a flood. In a flood nothing is hidden."""

    on: bool = False
    recent: tuple[float, ...] = ()
    """When alarms sounded anew, not older than the window at the newest. [s since 1970-01-01]"""

    def add(self, at: float) -> Flood:
        """Return it after one more alarm at `at`."""
        recent = (*(t for t in self.recent if t > at - WINDOW_S + _SOON), at)
        return Flood(self.on or len(recent) > BEGINS_ABOVE, recent)

    def count(self, at: float) -> int:
        """Return how many came within the window up to `at`. [-]"""
        return sum(t > at - WINDOW_S + _SOON for t in self.recent)

    @property
    def ends(self) -> float:
        """When it ends if no more come. [s since 1970-01-01 UTC]"""
        enough = self.recent[-ENDS_BELOW:]
        return enough[0] + WINDOW_S if len(enough) == ENDS_BELOW else float("-inf")
