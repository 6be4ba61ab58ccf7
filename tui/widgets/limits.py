"""Every limit, and whether it can alarm in the rig's present state."""

from __future__ import annotations

from engine.block import BAD
from engine.detect.kinds import CALL_CHANNELS, kind_of_call
from engine.snapshot import AlarmView, Snapshot
from tui.widgets.lines import Lines, Look, Row, shorten
from tui.words import ALARM_STATES, gone_role

NAME, LIMIT = 25, 13
"""Cells of the alarm's name and of its limit. [-]"""


class Limits(Lines):
    """A heading and one limit a row; those there is no room for are counted."""

    def lines(self, snapshot: Snapshot, width: int, height: int) -> list[Row]:
        """Return the rows."""
        rows: list[Row] = [[], [("LIMITS", "label")], *limit_rows(snapshot, self.look)]
        if len(rows) > height:
            rows[height - 1 :] = [[(f"{len(rows) - height + 1} more: key w", "label")]]
        return rows


def is_blind(alarm: AlarmView, snapshot: Snapshot) -> bool:
    """Tell whether `alarm` is armed but has no value it could trip on."""
    if alarm.state in "GHI":
        return False
    if alarm.channel in CALL_CHANNELS:
        return kind_of_call(alarm.channel) in snapshot.blind
    reading = snapshot.readings.get(alarm.channel)
    if reading is None:
        return True
    if reading.value is None:
        return gone_role(reading.reason) == "changed"
    return bool(reading.quality & BAD)


def limit_rows(snapshot: Snapshot, look: Look) -> list[Row]:
    """Return one row an alarm: name, limit, and whether it can alarm now."""
    return [_limit(alarm, snapshot, look) for alarm in snapshot.limits]


def _limit(alarm: AlarmView, snapshot: Snapshot, look: Look) -> Row:
    fmt = look.fmt
    sign = "<" if alarm.side == "low" else ">"
    limit = f"{sign} {fmt.text(alarm.channel, alarm.limit)} {fmt.unit(alarm.channel).symbol}"
    if alarm.channel in CALL_CHANNELS:
        limit = fmt.text(alarm.channel, alarm.limit)
    if not snapshot.watch.alive:
        word, role = "unknown", "changed"
    elif is_blind(alarm, snapshot):
        word, role = "BLIND", "changed"
    elif alarm.state == "A":
        word, role = "armed", "text"
    elif alarm.state == "H":
        word, role = "not armed", "label"
    else:
        word, role = ALARM_STATES.get(alarm.state, alarm.state), "strong"
    name = shorten(alarm.label, NAME)
    return [(f"{name:{NAME}} {limit:{LIMIT}} ", "label"), (word, role)]
