"""The trip sheet of a recording: one line a stand, as the channels told it at its last reading.

References
----------
.. [1] 30 CFR 250.456(c): the fill is measured. What a trip sheet holds: common practice, see
   `engine.well.trip_sheet`.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from engine.block import Block, Mask, Quality, Table
from engine.config import WellConfig
from engine.interfaces import JournalLine, Recording
from engine.ops.table import pick, times
from engine.records.journal import from_iso, read
from engine.well.answer import Answer, Unknown
from engine.well.trip_sheet import Way, difference

EXPECTED, ACTUAL, DIFFERENCE, OVERDUE = (
    "trip_fill_expected", "trip_fill_actual", "trip_fill_difference", "trip_fill_overdue",
)  # fmt: skip
CHANNELS = (EXPECTED, ACTUAL, DIFFERENCE, OVERDUE, "trip_tank_unusable", "bit_depth")
"""What the log is made from."""
STAND = 0.5
"""Share of a stand that the bit must have moved to make a line, as of the live sheet. [-]"""
_NOT_READ = np.uint16(Quality.HELD | Quality.NOT_APPLICABLE)
_PARTIAL = np.uint16(Quality.PARTIAL)


@dataclass(frozen=True, slots=True)
class TripStand:
    """One stand, pulled or run in."""

    trip: int
    """Trips are counted from 1. [-]"""
    number: int
    """Of this way; two stands moved at once are two. [-]"""
    way: Way
    at: float
    """Newest reading with the pipe at this depth. [s since 1970-01-01 UTC]"""
    bit_depth: float
    """[m]"""
    expected: Answer
    """Fill, or return when run in. [m3]"""
    actual: Answer
    """[m3]"""
    difference: Answer
    """Of this stand, positive on the side of an influx. [m3]"""
    total_expected: Answer
    """Since this way began. [m3]"""
    total_actual: Answer
    """[m3]"""
    total_difference: Answer
    """Since the trip began; a fill that is not due yet is not missing. [m3]"""
    pipe: str
    """``dry``, ``wet``, ``wet, 50 % recovered``; run in: ``open`` or ``float holds``."""
    method: str
    """``trip tank``, ``pump strokes``, ``not measured``."""
    overdue: bool
    """A fill was due, and had not come by the newest reading."""
    partial: bool
    """Fills before it were not measured; the totals leave them out."""


@dataclass(frozen=True, slots=True)
class Pipe:
    """How pipe came out of the hole from a moment on."""

    at: float
    wet: bool
    recovered: float

    @property
    def text(self) -> str:
        """In words."""
        if not self.wet:
            return "dry"
        return f"wet, {self.recovered:.0%} recovered" if self.recovered else "wet"


def trip_log(recording: Recording, config: WellConfig) -> tuple[TripStand, ...]:
    """Return the trip sheet of a recording, by time."""
    held = [name for name in CHANNELS if name in recording.channels()]
    if recording.span() is None or not held:
        return ()
    return trip_stands(recording.rows(channels=held), config, recording.journal())


def trip_stands(
    table: Table, config: WellConfig, journal: Sequence[JournalLine] = ()
) -> tuple[TripStand, ...]:
    """Return the trip sheet of a table of rows.

    Parameters
    ----------
    table : mapping
        Channels of `CHANNELS`, shape (n,); one not there is unknown. [SI]
    config : WellConfig
        Length of a stand, and what is so before anyone declares it otherwise.
    journal : sequence of JournalLine
        What was declared.
    """
    pipes = list(_pipes(config, journal))
    out: list[TripStand] = []
    start, trip = float("nan"), 0
    for a, b, begins in _rests(table):
        bit = float(pick(table, "bit_depth").value[b])
        if begins:
            trip, start = trip + 1, _bit_before(table, a)
        before = out[-1] if out and out[-1].trip == trip else None
        one = _stand(table, config, pipes, trip, b, a, before, start)
        last = before.bit_depth if before else start
        moved = abs(bit - last) / config.rig.stand_length
        if before and (moved < STAND and one.way == before.way):
            earlier = out[-2] if len(out) > 1 and out[-2].trip == trip else None
            again = _stand(table, config, pipes, trip, b, a, earlier, start)
            out[-1] = replace(again, number=before.number, overdue=again.overdue)
            continue
        count = max(1, round(moved)) if np.isfinite(moved) else 1
        base = before.number if before and before.way == one.way else 0
        out.append(replace(one, number=base + count))
    return tuple(out)


def _rests(table: Table) -> Iterator[tuple[int, int, bool]]:
    """Yield first and newest reading at each depth, and whether a trip begins with it."""
    expected = pick(table, EXPECTED)
    known = ~np.isnan(expected.value)
    fresh = np.flatnonzero(known & ((expected.quality & _NOT_READ) == 0))
    off = np.cumsum((expected.quality & np.uint16(Quality.NOT_APPLICABLE)) != 0)
    a = 0
    for i in range(1, fresh.size + 1):
        if i < fresh.size:
            same = expected.value[fresh[i]] == expected.value[fresh[a]]
            if same and off[fresh[i]] == off[fresh[a]]:
                continue
        begins = a == 0 or off[fresh[a]] != off[fresh[a - 1]]
        yield int(fresh[a]), int(fresh[i - 1]), bool(begins)
        a = i


def _bit_before(table: Table, row: int) -> float:
    """Return where the bit was before the first stand: its depth when the sheet began. [m]"""
    expected, bit = pick(table, EXPECTED), pick(table, "bit_depth").usable()
    out = expected.value[row]
    moved = np.flatnonzero(np.abs(bit[:row] - bit[row]) > 1.0)
    if not moved.size or not np.isfinite(out):
        return float("nan")
    # Back from the reading to the row before the hoist: where the bit last stood elsewhere.
    k = int(moved[-1])
    while k > 0 and abs(bit[k] - bit[k - 1]) > 0.02:
        k -= 1
    return float(bit[k])


def _stand(
    table: Table, config: WellConfig, pipes: Sequence[Pipe], trip: int, row: int, first: int,
    before: TripStand | None, start: float,
) -> TripStand:  # fmt: skip
    blocks = {name: pick(table, name) for name in CHANNELS}
    at, bit = float(times(table)[row]), float(blocks["bit_depth"].value[row])
    way: Way = "in" if blocks[OVERDUE].quality[row] & np.uint16(Quality.NOT_APPLICABLE) else "out"
    totals = {name: _answer(blocks[name], row) for name in (EXPECTED, ACTUAL, DIFFERENCE)}
    goes_on = before is not None and before.way == way
    want = _less(totals[EXPECTED], before.total_expected if before and goes_on else 0.0)
    got = _less(totals[ACTUAL], before.total_actual if before and goes_on else 0.0)
    no_tank = blocks["trip_tank_unusable"].value[row] == 1.0
    method = "trip tank"
    if isinstance(got, Unknown):
        method = "not measured"
    elif no_tank:
        method = "pump strokes"
    now = [p for p in pipes if p.at <= float(times(table)[first])][-1]
    running = "float holds" if config.trip.float_holds else "open"
    late = blocks[OVERDUE].value[row]
    partial: Mask = (blocks[DIFFERENCE].quality & _PARTIAL) != 0
    return TripStand(
        trip, 0, way, at, bit, want, got, difference(want, got, way), totals[EXPECTED],
        totals[ACTUAL], totals[DIFFERENCE], now.text if way == "out" else running, method,
        bool(late >= 1.0), bool(partial[row]),
    )  # fmt: skip


def _answer(block: Block, row: int) -> Answer:
    value = float(block.value[row])
    return value if np.isfinite(value) else Unknown(_why(int(block.quality[row])))


def _less(total: Answer, before: Answer) -> Answer:
    if isinstance(total, Unknown):
        return total
    if isinstance(before, Unknown):
        return Unknown("the fill before it was not measured")
    return total - before


def _pipes(config: WellConfig, journal: Sequence[JournalLine]) -> Iterator[Pipe]:
    """Yield what the well file says, and what was declared and taken."""
    yield Pipe(float("-inf"), config.trip.wet, config.trip.recovered_share)
    for line in journal:
        if '"declare_trip"' not in line.text:
            continue
        f = read(line)
        if f["kind"] == "command" and f["event"] == "given" and not f.get("refused"):
            yield Pipe(from_iso(f["at"]), bool(f["wet"]), float(f["recovered_share"]))


def _why(bits: int) -> str:
    """Say in words why a sample with these quality `bits` cannot be used."""
    words = {
        Quality.LINK_DOWN: "line down",
        Quality.STALE: "stale",
        Quality.MISSING: "sender has no value",
        Quality.REJECTED: "unreadable",
        Quality.OUT_OF_RANGE: "out of range",
        Quality.FROZEN: "frozen",
        Quality.NO_REFERENCE: "no reference",
        Quality.NOT_APPLICABLE: "not applicable now",
        Quality.NO_DATA: "no data",
    }
    return next((text for bit, text in words.items() if bits & bit), "no good value")
