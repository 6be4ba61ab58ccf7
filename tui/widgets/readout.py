"""One reading as a row of cells: label, value, unit, bar or reason, mark, age."""

from __future__ import annotations

from engine.channels import CHANNELS
from engine.snapshot import Reading, Snapshot
from tui.format import age
from tui.widgets.bars import bar
from tui.widgets.lines import Look, Row, shorten
from tui.words import doubt, gone_role

LABEL, VALUE, UNIT, END = 9, 8, 8, 7
"""Cells of the label, the value, the unit, and mark with age. [-]"""
FRESH_S = 3.0
"""Younger than this a value is simply of now, and its age would only flicker. [s of wall time]"""


def fresh_limit(snapshot: Snapshot) -> float:
    """Return the age up to which none is shown, on the recording's clock. [s]"""
    watch = snapshot.watch
    return FRESH_S * (1.0 if watch.replay else max(1.0, watch.speed))


def old(reading: Reading, fresh: float) -> str:
    """Return the age of a value that is older than `fresh` [s] or ought to be there."""
    gone = reading.value is None and gone_role(reading.reason) == "label"
    return "" if reading.age <= fresh or gone else age(reading.age)


def judged(reading: Reading) -> tuple[str, str]:
    """Return the mark beside a value and the role of its colour.

    H and L: beyond the nearest armed limit; R, F, C, O, P: in doubt, as in `tui.words.doubt`.
    """
    if reading.value is None:
        return "", "label"
    letter, _ = doubt(reading.quality, reading.channel)
    if letter in ("R", "F", "C"):
        return letter, "changed"
    if reading.high is not None and reading.value > reading.high:
        return "H", "changed"
    if reading.low is not None and reading.value < reading.low:
        return "L", "changed"
    return letter, "strong"


def mark_word(mark: str, reading: Reading) -> str:
    """Return the word for a mark of `judged`."""
    limits = {"H": "HIGH", "L": "LOW"}
    return limits.get(mark) or doubt(reading.quality, reading.channel)[1].upper()


def row(reading: Reading, width: int, look: Look, fresh: float = FRESH_S) -> Row:
    """Draw one row of exactly `width` cells (if the number fits its column)."""
    channel = CHANNELS.get(reading.channel)
    label = channel.short if channel else reading.channel
    mark, role = judged(reading)
    number = look.fmt.number(reading.channel, reading.value, VALUE)
    room = max(4, width - LABEL - VALUE - UNIT - END - 1)
    middle: Row
    if reading.value is None:
        wide = room + 3  # no mark stands beside a value that is not there
        role_ = gone_role(reading.reason)
        middle = [(f" {shorten(reading.reason, wide - 1)}".ljust(wide), role_)]
    elif mark in ("R", "F", "C"):
        middle = [(shorten(mark_word(mark, reading), room).ljust(room), "changed")]
    else:
        middle = bar(reading, room, look.glyphs)
    unit = look.fmt.unit(reading.channel).symbol
    return [
        (shorten(label, LABEL).ljust(LABEL), "label"),
        (number, role),
        (f" {unit}".ljust(UNIT), "label"),
        *middle,
        *([] if reading.value is None else [(f" {mark:1} ", role if mark else "label")]),
        (old(reading, fresh).rjust(END - 3), "label"),
        (" ", "text"),
    ]
