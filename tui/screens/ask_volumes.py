"""The questions about mud that is moved on purpose, and about the zero of the volume balance."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from math import isfinite

from engine.commands import Command, DeclareTransfer, RebaseBalance
from engine.errors import InputError
from engine.snapshot import Snapshot
from tui.format import Formatter
from tui.screens.asks import REASON, now, set_depth, tare, zero_pits
from tui.screens.form import Answers, Ask, Field


def transfer(snapshot: Snapshot, fmt: Formatter) -> tuple[Ask, Callable[[Answers], Command]]:
    """Ask for mud that will come into the active pits, or leave them."""
    volume, flow = fmt.unit("pit_volume"), fmt.unit("flow_in")
    facts = (
        now(snapshot, "pit_volume", "Pits now", fmt),
        now(snapshot, "unexplained_volume", "Unexplained now", fmt),
        "What comes as declared is no gain; what comes faster, slower or beyond it still is.",
    )
    fields = (
        Field("what", "From and to, such as reserve to active", needed=True),
        Field("volume", f"Into the active pits [{volume.symbol}] (out of them: -)", needed=True),
        Field("flow", f"How fast [{flow.symbol}]", needed=True),
        Field("minutes", "Over after [min], come or not", needed=True),
    )

    def build(answers: Answers) -> DeclareTransfer:
        return DeclareTransfer(
            answers["what"],
            volume.to_si(_number(answers, "volume", "volume", signed=True)),
            flow.to_si(_number(answers, "flow", "flow")),
            _number(answers, "minutes", "minutes"),
        )

    def check(answers: Answers) -> str:
        said = build(answers)
        way = "into" if said.volume > 0 else "out of"
        amount = f"{fmt.text('pit_volume', abs(said.volume))} {volume.symbol}"
        takes = abs(said.volume) / said.flow / 60
        if takes > said.minutes:
            raise InputError(
                f"minutes: at this flow {amount} take {takes:.0f} min, longer than "
                f"{said.minutes:g}; give more minutes"
            )
        return f"Declare {amount} {way} the active pits, within {said.minutes:g} min?"

    return Ask("DECLARE A TRANSFER OR AN ADDITION", facts, fields, check), build


def rebase(snapshot: Snapshot, fmt: Formatter) -> tuple[Ask, Callable[[Answers], Command]]:
    """Ask why the unexplained volume shall be shown from zero again."""
    facts = (
        now(snapshot, "unexplained_volume", "Unexplained since the last zero", fmt),
        now(snapshot, "unexplained_total", "Unexplained in all, never zeroed", fmt),
        "Only what is shown begins anew: the detectors go on counting.",
    )
    ask = Ask("ZERO THE UNEXPLAINED VOLUME", facts, (REASON,), lambda a: "Show it from zero?")
    return ask, lambda answers: RebaseBalance(answers["reason"])


def _number(answers: Answers, name: str, label: str, *, signed: bool = False) -> float:
    text = answers[name]
    try:
        value = float(text)
    except ValueError:
        raise InputError(f"{label}: {text!r} is no number; write it like 9.5") from None
    if not isfinite(value) or value == 0 or (value < 0 and not signed):
        right = "any number but 0" if signed else "above 0"
        raise InputError(f"{label}: {text} will not do; it must be {right}")
    return value


FORMS: Mapping[str, Callable[[Snapshot, Formatter], tuple[Ask, Callable[[Answers], Command]]]] = {
    "zero": zero_pits,
    "depth": set_depth,
    "tare": tare,
    "transfer": transfer,
    "rebase": rebase,
}
"""What a key asks of the driller in two steps."""
