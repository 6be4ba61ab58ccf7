"""All values that matter, one a row."""

from __future__ import annotations

from math import isfinite

from engine.snapshot import Reading, Snapshot
from tui.widgets import readout
from tui.widgets.lines import Lines, Look, Row

ALWAYS = (
    "hook_load", "weight_on_bit", "rop", "torque", "rotary", "standpipe_pressure", "flow_in",
    "flow_out", "pit_volume", "block_position",
)  # fmt: skip
"""Shown even if never received: that a driller's value is missing must be seen."""
ORDER = (
    *ALWAYS, "temperature_out", "gas", "pump_1_rate", "pump_2_rate", "pump_3_rate",
    "trip_tank_volume", "annulus_pressure", "flow_out_share", "flow_in_measured", "temperature_in",
    "density_in", "density_out", "tare", "block_speed", "stand_length", "reported_bit_depth",
    "reported_hole_depth", "reported_weight_on_bit", "reported_rop", "reported_pit_gain",
)  # fmt: skip
"""What the sender worked out itself stands last, under its own name."""


class Values(Lines):
    """A list of readings; those that no feed ever sent are left out after the first ten."""

    def __init__(self, look: Look, *, id: str) -> None:  # noqa: A002 - textual's own name
        super().__init__(look, id=id)
        self.elsewhere: tuple[str, ...] = ()
        """Channels that have a tile at this size."""
        self._first = 0

    def further(self) -> tuple[int, int, int]:
        """Show the next values, after the last the first; return first, last and how many."""
        count = len(self._listed(self._snapshot)) if self._snapshot else 0
        height = max(1, self.size.height)
        self._first = self._first + height if self._first + height < count else 0
        self.draw()
        return self._first + 1, min(count, self._first + height), count

    def back(self) -> None:
        """Show the first values again."""
        self._first = 0
        self.draw()

    def lines(self, snapshot: Snapshot, width: int, height: int) -> list[Row]:
        """Return one row a channel, as many as there is room for."""
        shown = self._listed(snapshot)
        if self._first >= len(shown):
            self._first = 0
        fresh = readout.fresh_limit(snapshot)
        page = shown[self._first : self._first + height]
        return [readout.row(reading, width, self.look, fresh) for reading in page]

    def _listed(self, snapshot: Snapshot) -> list[Reading]:
        out = []
        for channel in ORDER:
            reading = snapshot.readings.get(channel)
            if reading is None:
                reading = Reading(channel, None, age=float("inf"), reason="no data")
            wanted = channel in ALWAYS or isfinite(reading.age)
            if wanted and channel not in self.elsewhere:
                out.append(reading)
        return out
