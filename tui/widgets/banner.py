"""The top of the screen: what the rig is doing, since when, and whether anybody is watching."""

from __future__ import annotations

from math import inf, isfinite

from engine.channels import RAW
from engine.records.sight import WELL_CONTROL
from engine.snapshot import Snapshot
from tui import second_copy
from tui.format import age, duration
from tui.happenings import SOUNDING
from tui.widgets.lines import Lines, Row, length, shorten, spread
from tui.words import RIG_STATES

SOME_RIGS = ("annulus_pressure", "annulus_b_pressure", "kill_line_pressure")
"""Gauges that many rigs do not have; the page of detectors names what is blind without them. [-]"""


class Banner(Lines):
    """Two rows: rig state and clock; then everything unusual about the program itself."""

    def lines(self, snapshot: Snapshot, width: int, height: int) -> list[Row]:
        """Return the two rows."""
        fmt = self.look.fmt
        since = snapshot.rig_state_since
        known = since is not None and isfinite(snapshot.now)
        for_ = duration(snapshot.now - since) if known and since is not None else "-:--"
        state: Row = [
            (f" {RIG_STATES.get(snapshot.rig_state, snapshot.rig_state.upper())} ", "state"),
            (f" for {for_}", "label"),
        ]
        fresh = newest_fresh(snapshot)
        zone = f" {fmt.zone_name(fresh)}" if fresh is not None else ""
        clock: Row = [(f"{fmt.clock(fresh)}", "strong"), (zone, "label")]
        place = shorten(self.look.place, max(0, width - length(state) - length(clock) - 6))
        first = spread(state, [(f"{place}   ", "label"), *clock], width)
        return [first, _conditions(snapshot, width)]


def newest_fresh(snapshot: Snapshot) -> float | None:
    """Return the time of the newest measured sample: the clock moves with data, not with us."""
    ages = [snapshot.readings[c].age for c in RAW if c in snapshot.readings]
    newest = min(ages, default=float("inf"))
    return snapshot.now - newest if isfinite(newest) else None


def _unseen(snapshot: Snapshot) -> list[str]:
    """Return the kinds of well control that lack a sensor now.

    Not those that are still learning, nor those of a gauge that this rig never had.
    """
    never = [f"no {c}" for c, one in snapshot.readings.items() if c in SOME_RIGS and one.age == inf]
    blind = snapshot.blind.items()
    return sorted(k for k, why in blind if k in WELL_CONTROL and _lacks(why) and why not in never)


def _lacks(reason: str) -> bool:
    return reason.startswith("no ")


def _conditions(snapshot: Snapshot, width: int) -> Row:
    watch = snapshot.watch
    row: Row = []

    def flag(text: str, role: str) -> None:
        row.extend([(f" {text} ", role), (" ", "text")])

    if not watch.alive:
        if watch.ended:
            flag("WATCH ENDED", "notice")
        elif not isfinite(watch.age):
            flag("NO WATCH YET", "notice")
        elif watch.problem:
            flag("NO WATCH SEEN", "alarm_1")
        else:
            flag(f"WATCH STOPPED {age(watch.age)} AGO", "alarm_1")
    if watch.synthetic:
        flag("SYNTHETIC DATA" + (f" x{watch.speed:g}" if not watch.replay else ""), "notice")
    if watch.replay:
        flag(f"REPLAY x{watch.speed:g}" + (" PAUSED" if watch.paused else ""), "notice")
    if snapshot.sound.unheard:
        flag("NO SOUND", "alarm_2")
    elif snapshot.sound.failed and not watch.replay:
        flag("HORN FAULT", "notice")
    if snapshot.horn:
        flag("HORN SOUNDED" if watch.replay else "HORN SOUNDS: s SILENCES", "alarm_2")
    elif any(a.state in SOUNDING for a in snapshot.alarms) and watch.alive and not watch.replay:
        flag("HORN SILENCED", "notice")
    if unseen := _unseen(snapshot):
        more = f" +{len(unseen) - 1}" if len(unseen) > 1 else ""
        flag(f"CANNOT SEE {unseen[0].replace('_', ' ').upper()}{more}: b", "alarm_2")
    if copy := second_copy.flag(snapshot):
        flag(*copy)
    if snapshot.crown_due:
        flag("CROWN CHECK DUE", "notice")
    sound = snapshot.sound.unheard or ("" if watch.replay else snapshot.sound.failed)
    copied = f"copy: {snapshot.second_copy.problem}" if copy else ""
    if said := "; ".join(text for text in (watch.problem, sound, copied) if text):
        row.append((shorten(said, max(0, width - length(row))), "changed"))
    elif watch.alive and not watch.replay and not watch.synthetic:
        both = ", second copy complete" if snapshot.second_copy.place else ""
        row.append((f"watch running{both}", "label"))
    return row
