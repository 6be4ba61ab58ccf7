"""Ends of a curve's scale, from a ladder, so that they seldom change and are easy to read."""

from __future__ import annotations

from math import ceil, floor, isfinite, log10

SECONDS_A_DOT = (0.5, 1.0, 2.0, 5.0, 10.0, 15.0, 30.0, 60.0)
"""Seconds a dot row; a character row is four of them. [s]"""
SIGNED = {"pit_gain": 1.0, "flow_difference": 500.0, "block_speed": 1.0}
"""Curves drawn about zero in the middle: smallest reach, in display units."""
FLOATING = {"pit_volume": 2.0, "temperature_out": 20.0, "temperature_in": 20.0, "bit_depth": 50.0}
"""Curves whose change matters and not their height above zero: smallest span, display units."""


LADDER = (1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0)
"""Ends of scales within a power of ten: easy to read, and no curve in less than half. [-]"""


def step_up(x: float) -> float:
    """Return the smallest rung of the ladder that is not below `x` > 0."""
    power = 10.0 ** floor(log10(x))
    for factor in LADDER:
        if factor * power >= x * (1 - 1e-9):
            return factor * power
    return 10.0 * power


def round_down(x: float) -> float:
    """Return the largest of 1, 2, 5, 10, 20, 50, ... that is not above `x` > 0."""
    power = 10.0 ** floor(log10(x))
    return max(f * power for f in (1.0, 2.0, 5.0) if f * power <= x * (1 + 1e-9))


def ends(channel: str, low: float, high: float) -> tuple[float, float]:
    """Return the ends of the scale that shows `low` to `high`, all in display units.

    It depends on the two alone, so that a moment looks the same watched and replayed.
    """
    if not (isfinite(low) and isfinite(high)):
        low = high = 0.0
    if channel in SIGNED:
        reach = step_up(max(abs(low), abs(high), SIGNED[channel]))
        return -reach, reach
    if channel in FLOATING:
        span = step_up(max((high - low) * 1.25, FLOATING[channel]))
        while True:
            grid = round_down(span / 4)
            start = floor(low / grid) * grid
            if high <= start + span:
                return start, start + span
            span = step_up(span * 1.01)
    top = step_up(max(high, 1.0))
    bottom = -step_up(-low) if low < -0.02 * top else 0.0
    return bottom, top


def label_step(row_seconds: float, rows_apart: int = 4) -> float:
    """Return how far apart time labels stand [s], at least `rows_apart` rows."""
    for step in (10, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 21600):
        if step >= row_seconds * rows_apart:
            return float(step)
    return 86400.0 * ceil(row_seconds * rows_apart / 86400.0)
