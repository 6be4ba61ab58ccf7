"""All values that matter, one a row."""

from __future__ import annotations

from math import isfinite

from engine.snapshot import Reading, Snapshot
from tui.widgets import readout
from tui.widgets.lines import Lines, Row

ALWAYS = (
    "hook_load", "weight_on_bit", "rop", "torque", "rotary", "standpipe_pressure", "flow_in",
    "flow_out", "pit_volume", "block_position",
)  # fmt: skip
"""Shown even if never received: that a driller's value is missing must be seen."""
ORDER = (
    *ALWAYS, "temperature_out", "gas", "pump_1_rate", "pump_2_rate", "pump_3_rate",
    "trip_tank_volume", "annulus_pressure", "flow_out_share", "flow_in_measured", "temperature_in",
    "density_in", "density_out", "tare", "block_speed", "stand_length",
)  # fmt: skip


class Values(Lines):
    """A list of readings; those that no feed ever sent are left out after the first ten."""

    def lines(self, snapshot: Snapshot, width: int, height: int) -> list[Row]:
        """Return one row a channel, as many as there is room for."""
        rows = []
        for channel in ORDER:
            reading = snapshot.readings.get(channel)
            if reading is None:
                reading = Reading(channel, None, age=float("inf"), reason="no data")
            if channel in ALWAYS or isfinite(reading.age):
                rows.append(readout.row(reading, width, self.look))
        return rows[:height]
