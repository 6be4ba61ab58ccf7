"""What came back after each stop of the pumps, worked out again from a recording.

A screen draws the curves over each other; a page lists them at the marks.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite
from typing import Any

import numpy as np

from engine.block import FloatArray
from engine.config import WellConfig
from engine.detect.at_connections import AtConnections
from engine.detect.balance import Balance
from engine.detect.bins import MEDIANS, NEWEST, Binner
from engine.detect.call import Declared, Seen
from engine.detect.fingerprint import MARKS, Curve
from engine.detect.influx import number
from engine.interfaces import JournalLine, Recording
from engine.records.connection_text import clock_time, head_of
from engine.records.journal import iso, read
from engine.records.words import amount
from engine.units import UNITS


@dataclass(frozen=True, slots=True, eq=False)
class Fingerprint:
    """One stop of the pumps."""

    curve: Curve
    """Volumes at `MARKS`, deviations, and why it is no reference."""
    since: FloatArray
    """Since the pumps stopped, shape (k,). [s]"""
    volume: FloatArray
    """Above the last pumping level, NaN where not known, shape (k,). [m3]"""


def fingerprints(recording: Recording, config: WellConfig) -> tuple[Fingerprint, ...]:
    """Return every stop of the pumps that is over, by time, as the watch has seen it."""
    held = [name for name in (*MEDIANS, *NEWEST) if name in recording.channels()]
    if recording.span() is None or not held:
        return ()
    table = recording.rows(channels=held)
    bins = Binner().process(table)
    declared = declarations(recording.journal())
    d = config.detect
    _, columns = Balance(config, d.balance).process(table, bins, declared)
    watch = AtConnections(d.connection, d.balance.settle_s)
    watch.process(Seen(table, bins, columns, declared))
    off, volume = columns["off_time"], columns["off_volume"]
    out = []
    for curve in watch.curves:
        own = (bins.t >= curve.at) & (bins.t <= curve.at + curve.lasted) & (off >= 0)
        out.append(Fingerprint(curve, off[own], volume[own]))
    return tuple(out)


def declarations(lines: Sequence[JournalLine]) -> tuple[Declared, ...]:
    """Return what was declared and not refused, from the journal."""
    out = []
    for line in lines:
        if '"declare_transfer"' not in line.text:
            continue
        told = read(line)
        if told["kind"] == "command" and "refused" not in told:
            what, until = told["what"], told["until"]
            out.append(Declared(line.at, what, told["volume_m3"], told["flow_m3_s"], until))
    return tuple(out)


def as_json(found: Sequence[Fingerprint], config: WellConfig) -> dict[str, Any]:
    """Return the curves as plain values: SI, what is not known is None."""
    return {
        "well": config.well,
        "synthetic": config.synthetic,
        "marks_s": list(MARKS),
        "stops": [
            {
                "at": iso(one.curve.at),
                "lasted_s": round(one.curve.lasted, 1),
                "flow_before_m3_s": number(one.curve.flow),
                "accepted": not one.curve.refused,
                "refused": one.curve.refused or None,
                "volumes_m3": [number(v) for v in one.curve.volumes],
                "z": [number(z) for z in one.curve.z],
                "since_s": [round(float(s), 1) for s in one.since],
                "volume_m3": [number(v) for v in one.volume],
            }
            for one in found
        ],
    }


def fingerprints_text(found: Sequence[Fingerprint], config: WellConfig) -> str:
    """Return a page: the volume at each mark, and the last deviation."""
    unit = UNITS[config.display_units()["volume"]]
    page = [head_of("FLOWBACK AFTER THE PUMPS STOPPED", config)]
    if not found:
        return "\n".join([*page, "no stop of the pumps was recorded"]) + "\n"
    marks = "".join(f"{f'{m:.0f}s':>8}" for m in MARKS)
    page += [f"volumes in {unit.symbol} above the last pumping level; times are UTC", "",
             f"{'PUMPS STOPPED':19}{'FLOW':>13}{marks}  Z"]  # fmt: skip
    for one in found:
        c = one.curve
        known = dict(zip(MARKS, c.volumes, strict=False))
        row = "".join(_cell(unit.from_si(known[m]) if m in known else np.nan) for m in MARKS)
        flow = c.flow if isfinite(c.flow) else None
        z = next((f"{x:.1f}" for x in reversed(c.z) if isfinite(x)), "-")
        end = f"  {c.refused}" if c.refused else ""
        page.append(
            f"{clock_time(c.at):19}{amount(flow, 'm3_s', config.display_units()):>13}{row}"
            f"  {z}{end}"
        )
    taken = sum(not one.curve.refused for one in found)
    page += ["", f"{len(found)} stops, {taken} of them taken as a reference"]
    return "\n".join(page) + "\n"


def _cell(value: float) -> str:
    return f"{value:8.2f}" if isfinite(value) else f"{'-':>8}"
