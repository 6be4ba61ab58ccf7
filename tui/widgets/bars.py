"""Horizontal bars with limit marks: where a value lies, before it is read."""

from __future__ import annotations

from engine.snapshot import Reading
from tui.glyphs import Glyphs
from tui.widgets.lines import Row

FULL_SCALE: dict[str, tuple[float, float]] = {
    "block_position": (0, 45),
    "hook_load": (0, 2.0e6),
    "weight_on_bit": (0, 3.0e5),
    "rop": (0, 60 / 3600),
    "torque": (0, 4.0e4),
    "rotary": (0, 21),
    "standpipe_pressure": (0, 3.5e7),
    "annulus_pressure": (0, 3.5e7),
    "flow_in": (0, 4 / 60),
    "flow_out": (0, 4 / 60),
    "flow_in_measured": (0, 4 / 60),
    "flow_out_share": (0, 1),
    "flow_difference": (-1 / 60, 1 / 60),
    "pit_volume": (0, 100),
    "pit_gain": (-5, 5),
    "trip_tank_volume": (0, 10),
    "pump_1_rate": (0, 150 / 60),
    "pump_2_rate": (0, 150 / 60),
    "pump_3_rate": (0, 150 / 60),
    "density_in": (800, 2200),
    "density_out": (800, 2200),
    "temperature_in": (273.15, 373.15),
    "temperature_out": (273.15, 373.15),
    "gas": (0, 0.2),
    "tare": (0, 2.0e6),
    "block_speed": (-2, 2),
    "stand_length": (0, 40),
}
"""Ends of a bar [SI]: common practice, no source. A high limit sets the end instead."""


def scale(reading: Reading) -> tuple[float, float]:
    """Return the ends of the bar of `reading` [SI], with room beyond its limits."""
    low, high = FULL_SCALE.get(reading.channel, (0.0, 1.0))
    if reading.high is not None and reading.high > low:
        high = low + 1.25 * (reading.high - low)
    return low, high


def bar(reading: Reading, width: int, glyphs: Glyphs) -> Row:
    """Draw `reading` in `width` cells: filled from the low end, or from zero if it has a sign.

    A channel without a full scale (a depth) has no bar.
    """
    if reading.channel not in FULL_SCALE:
        return [(" " * width, "text")]
    low, high = FULL_SCALE[reading.channel]
    if low < 0:
        return _signed(reading, width, glyphs)
    low, high = scale(reading)
    return ends_bar(reading.value, low, high, width, glyphs, (reading.low, reading.high))


def _signed(reading: Reading, width: int, glyphs: Glyphs) -> Row:
    """Zero in the middle; each side ends half as far again as its own limit.

    So a small limit on one side is as easy to see as a large one on the other.
    """
    low, high = FULL_SCALE[reading.channel]
    up = 1.5 * reading.high if reading.high and reading.high > 0 else high
    down = -1.5 * reading.low if reading.low and reading.low < 0 else -low

    def share(x: float | None) -> float | None:
        return None if x is None else x / (up if x >= 0 else down)

    limits = (share(reading.low), share(reading.high))
    return ends_bar(share(reading.value), -1.0, 1.0, width, glyphs, limits)


def ends_bar(
    value: float | None,
    low: float,
    high: float,
    width: int,
    glyphs: Glyphs,
    limits: tuple[float | None, float | None] = (None, None),
) -> Row:
    """Draw `value` between `low` and `high`; an arrow head says that it lies beyond an end."""
    cells = [(glyphs.ground, "faint")] * width
    span = high - low

    def place(x: float) -> float:
        return (x - low) / span * width

    if value is not None:
        start = min(max(place(0.0), 0.0), float(width)) if low < 0 < high else 0.0
        here = min(max(place(value), 0.0), float(width))
        _fill(cells, min(start, here), max(start, here), glyphs)
    if low < 0 < high:
        middle = min(int(place(0.0)), width - 1)
        cells[middle] = (glyphs.zero, "graphic")
    for limit in limits:
        if limit is not None and low <= limit <= high:
            cells[min(int(place(limit) + 1e-9), width - 1)] = (glyphs.limit, "label")
    if value is not None and value > high:
        cells[-1] = (glyphs.beyond_high, "changed")
    if value is not None and value < low:
        cells[0] = (glyphs.beyond_low, "changed")
    return _joined(cells)


def _fill(cells: list[tuple[str, str]], start: float, stop: float, glyphs: Glyphs) -> None:
    steps = len(glyphs.part)
    for i in range(int(start), min(int(stop) + 1, len(cells))):
        share = min(stop, i + 1.0) - max(start, float(i))
        # A part block grows from the left, so a bar that starts inside a cell fills it whole.
        level = steps if start > i else round(share * steps)
        if level > 0:
            cells[i] = (glyphs.part[min(level, steps) - 1], "graphic")


def _joined(cells: list[tuple[str, str]]) -> Row:
    row: Row = []
    for text, role in cells:
        if row and row[-1][1] == role:
            row[-1] = (row[-1][0] + text, role)
        else:
            row.append((text, role))
    return row
