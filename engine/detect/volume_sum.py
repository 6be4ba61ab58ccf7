r"""The leaky volume: how much has come, or gone, faster than what is never called.

.. math:: S = \max(0, S + \Delta U - k\,\Delta t)

in volume and not in standard deviations, so that its limits are those a driller speaks of. It is
the cumulative sum of Page with a reference value k.

References
----------
.. [1] E. S. Page, Continuous inspection schemes, Biometrika 41, 1954, 100-115.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite, nan

from engine.detect.bins import BIN_S
from engine.detect.settings_volume import WatchSettings

CAP = 1.5
"""The sum stops at this many times the gravest limit. [-]"""
LONGEST_S = 90.0
"""A pause counts as no more than this for the leak: what came in it, came. [s]"""


@dataclass(slots=True, eq=False)
class VolumeSum:
    """The sum by the pits in one direction.

    While the flow settles, and while the pumps stand, the sum waits and is not lost: what came
    meanwhile is in the level with which it goes on.
    """

    limits: WatchSettings
    size: float = 0.0
    """[m3]"""
    last: float = nan
    """Newest level that was counted. [m3]"""
    last_at: float = nan
    """[s]"""
    onset: float = nan
    """When the sum was last 0. [s since 1970-01-01 UTC]"""
    start: float = nan
    """Level at that time. [m3]"""
    mark: float = nan
    """Highest level that was taken note of. [m3]"""
    quiet: float = 0.0
    """Since then, as far as the level was known. [s]"""

    def see(self, level: float, scale: float) -> None:
        """Take note of a level [m3]: how long has nothing more come?

        `scale` is how far these pits wander, in usual pits. [-]
        """
        if level < self.mark + self.limits.progress * (scale if scale > 1.0 else 1.0):
            self.quiet += BIN_S
        else:
            self.mark, self.quiet = level, 0.0

    def count(self, t: float, level: float, scale: float) -> None:
        """Count a level [m3] at `t` [s]."""
        limits, last, dt = self.limits, self.last, t - self.last_at
        if isfinite(last):
            dt = dt if dt < LONGEST_S else LONGEST_S
            leak = limits.leak * (scale if scale > 1.0 else 1.0) * dt
            size = self.size + level - last - leak
            most = CAP * limits.critical * scale
            self.size = 0.0 if size <= 0.0 else most if size > most else size
        self.last, self.last_at = level, t
        if self.size == 0.0:
            self._fresh(t, level)

    def empty(self, t: float, level: float) -> None:
        """Begin anew at `level` [m3]: what made it is over."""
        self.size = 0.0
        self._fresh(t, level)

    def _fresh(self, t: float, level: float) -> None:
        self.onset, self.start = t, self.last
        self.mark, self.quiet = level, 0.0

    @property
    def come(self) -> float:
        """Since the onset; NaN if not known. [m3]"""
        return self.last - self.start
