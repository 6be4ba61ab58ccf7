"""The questions before a command: what stands now, what is to be given, what will be done."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta

from engine.commands import Command, Note, SetDepth, TareNow, ZeroPits
from engine.errors import InputError
from engine.snapshot import Snapshot
from tui.format import Formatter
from tui.screens.form import Answers, Ask, Field, number

REASON = Field("reason", "Reason (goes into the journal)", needed=True)


def now(snapshot: Snapshot, channel: str, label: str, fmt: Formatter) -> str:
    """Return the newest value of a channel as a fact for a form, or why there is none."""
    reading = snapshot.readings.get(channel)
    value = None if reading is None else reading.value
    why = f" ({reading.reason})" if reading is not None and value is None else ""
    return f"{label}: {fmt.text(channel, value)} {fmt.unit(channel).symbol}{why}"


def zero_pits(snapshot: Snapshot, fmt: Formatter) -> tuple[Ask, Callable[[Answers], Command]]:
    """Ask why the pit gain shall start again from zero."""
    facts = (
        now(snapshot, "pit_volume", "Pits now", fmt),
        now(snapshot, "pit_gain", "Gain since the last zero", fmt),
        "A gain that is zeroed away is a kick that is not seen.",
    )
    ask = Ask("ZERO THE PIT GAIN", facts, (REASON,), lambda a: "Make the pits of now the zero?")
    return ask, lambda answers: ZeroPits(answers["reason"])


def tare(snapshot: Snapshot, fmt: Formatter) -> tuple[Ask, Callable[[Answers], Command]]:
    """Ask before the hook load of now becomes the off-bottom weight."""
    facts = (
        now(snapshot, "hook_load", "Hook load now", fmt),
        now(snapshot, "tare", "Tare in use", fmt),
        "Off bottom, rotating, pumps at drilling rate: only then is it a tare.",
    )
    ask = Ask("TARE NOW", facts, (REASON,), lambda a: "Take the hook load of now as the tare?")
    return ask, lambda answers: TareNow(answers["reason"])


def note() -> tuple[Ask, Callable[[Answers], Command]]:
    """Ask for a line of the driller's own."""
    field = Field("text", "Note (goes into the journal with your name)", needed=True)
    ask = Ask("NOTE", (), (field,), lambda a: "", two_steps=False)
    return ask, lambda answers: Note(answers["text"])


def set_depth(snapshot: Snapshot, fmt: Formatter) -> tuple[Ask, Callable[[Answers], Command]]:
    """Ask for the depths as they are; an empty one stays."""
    unit = fmt.unit("bit_depth")
    facts = (
        now(snapshot, "bit_depth", "Bit now", fmt),
        now(snapshot, "hole_depth", "Hole now", fmt),
    )
    fields = (
        Field("bit", f"Bit depth is [{unit.symbol}] (empty: leave it)"),
        Field("hole", f"Hole depth is [{unit.symbol}] (empty: leave it)"),
        REASON,
    )

    def check(answers: Answers) -> str:
        bit = number(answers, "bit", "bit depth")
        hole = number(answers, "hole", "hole depth")
        if bit is None and hole is None:
            raise InputError("depth: give the bit depth, the hole depth or both")
        if bit is not None and hole is not None and bit > hole:
            raise InputError(f"depth: the bit ({bit:g}) cannot be below the hole ({hole:g})")
        parts = [f"bit {bit:g} {unit.symbol}"] if bit is not None else []
        parts += [f"hole {hole:g} {unit.symbol}"] if hole is not None else []
        return f"Set {' and '.join(parts)}?"

    def build(answers: Answers) -> Command:
        bit = number(answers, "bit", "bit depth")
        hole = number(answers, "hole", "hole depth")
        return SetDepth(
            None if bit is None else unit.to_si(bit),
            None if hole is None else unit.to_si(hole),
            answers["reason"],
        )

    return Ask("SET THE DEPTHS", facts, fields, check), build


def go_to(snapshot: Snapshot, fmt: Formatter) -> Ask:
    """Ask for a time to go to."""
    at = f"{fmt.date(snapshot.now)} {fmt.clock(snapshot.now)} {fmt.zone_name(snapshot.now)}"
    field = Field("time", "Time of day, HH:MM or HH:MM:SS", needed=True)

    def check(answers: Answers) -> str:
        time_of(answers["time"], snapshot.now, fmt)
        return ""

    return Ask("GO TO", (f"Now at {at}",), (field,), check, two_steps=False)


def time_of(text: str, now: float, fmt: Formatter) -> float:
    """Return the moment nearest to `now` [s since 1970-01-01 UTC] with time of day `text`."""
    here = datetime.fromtimestamp(now, fmt.zone)
    for layout in ("%H:%M", "%H:%M:%S"):
        try:
            wanted = datetime.strptime(text, layout).time()  # noqa: DTZ007 - a time of day only
        except ValueError:
            continue
        same = datetime.combine(here.date(), wanted, fmt.zone)
        days = (same + timedelta(days=d) for d in (-1, 0, 1))
        return min((day.timestamp() for day in days), key=lambda at: abs(at - now))
    raise InputError(f"time: {text!r} is no time of day; write it like 06:12 or 06:12:30")
