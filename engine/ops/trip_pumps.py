"""What the pumps put into the annulus, and what through the string, while a trip goes on."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from engine.block import FloatArray, Table
from engine.ops.flow import FLOWING, NO_PRESSURE
from engine.ops.primitives import NAN, hold, last_good, previous
from engine.ops.pumped import running_sum
from engine.ops.table import pick

GAP_S = 30.0
"""What the pumps did in a longer gap was not seen. [s]"""


@dataclass(frozen=True, slots=True)
class TripPumpsState:
    """Volumes since the start of the record, and the newest known flow."""

    at: float = NAN
    """[s since 1970-01-01 UTC]"""
    flow: float = NAN
    """[m3/s]"""
    filled: float = 0.0
    """[m3]"""
    circulated: float = 0.0
    """[m3]"""


@dataclass(slots=True, eq=False)
class TripPumps:
    """Add up strokes times output, apart for a fill and for circulating.

    A fill: the string is in slips, or there is no pressure on the standpipe; it counts until
    mud returns, see `engine.well.trip_sheet.by_strokes`.
    """

    state: TripPumpsState = field(default_factory=TripPumpsState)

    def process(self, table: Table) -> tuple[FloatArray, FloatArray]:
        """Return both volumes since the start of the record, filled and circulated, (n,). [m3]

        Parameters
        ----------
        table : mapping
            ``flow_in``, ``flow_out`` [m3/s], ``in_slips`` [-], ``standpipe_pressure`` [Pa],
            shape (n,).
        """
        s = self.state
        flow = pick(table, "flow_in")
        t, rate = flow.t, flow.usable()
        known = ~np.isnan(rate)
        now, at = last_good(rate, s.flow), hold(t, known, s.at)
        span = np.where(known, t - previous(at, s.at), 0.0)
        mean = 0.5 * (now + previous(now, s.flow))
        step = np.where((span <= GAP_S) & (mean > FLOWING), span * mean, 0.0)
        slips = pick(table, "in_slips").usable() == 1.0
        aside = slips | (pick(table, "standpipe_pressure").usable() < NO_PRESSURE)
        returns = pick(table, "flow_out").usable() > FLOWING
        filled = running_sum(np.where(aside & ~returns, step, 0.0), s.filled)
        circulated = running_sum(np.where(aside, 0.0, step), s.circulated)
        if t.size:
            self.state = TripPumpsState(
                float(at[-1]), float(now[-1]), float(filled[-1]), float(circulated[-1])
            )
        return filled, circulated
