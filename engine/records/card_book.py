"""The cards and slow rates that people entered, as the journal tells it.

A fold: the engine takes each command as it comes, a screen or a report takes the journal lines;
both give the same book. Nothing is worked out anew by itself: a card stays as it was entered,
and `engine.records.card_stale` says what has changed since.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, fields, replace
from typing import Any

from engine.alarms.entries import journal_key
from engine.commands import CardCommand, EnterCard, EnterSlowRate, EnterStandpipe, Issued
from engine.config import WellConfig
from engine.errors import InputError, RecordingError
from engine.interfaces import JournalLine
from engine.records.card_kinds import SLOW_RATE, STANDPIPE, CardKind, checked_command, impossible
from engine.records.journal import read
from engine.records.kill_entry import KillEntry, kill_sheet_card
from engine.units import PPG
from engine.well.answer import Unknown
from engine.well.cards import Card, CardInput, CardOutput, checked
from engine.well.posted import fill_post, maasp_card
from engine.well.pumps import stroke_volume
from engine.well.slow_rates import RULES, SlowRate, SlowRates, entered
from engine.well.well_file import reading_factor, reading_of

SAME_MUD = 0.05 * PPG
"""Half of the step in which a mud balance is read: within it the mud is the same. [kg/m3]"""


@dataclass(frozen=True, slots=True)
class Entered:
    """The newest card of its kind."""

    name: str
    """As typed: ``maasp-field``, ``standpipe``."""
    card: Card
    pump: str = ""
    casing: str = ""

    @property
    def key(self) -> tuple[str, str]:
        """What it replaces an older card by: a sheet never replaces an exact card."""
        return self.name, self.casing

    def input(self, name: str) -> CardInput | None:
        """Return one of its inputs, None if it has none of that name."""
        return next((i for i in self.card.inputs if i.name == name), None)


@dataclass(frozen=True, slots=True)
class MudEntry:
    """A mud weight that somebody entered, with whatever card."""

    density: float
    """[kg/m3]"""
    at: float
    who: str


@dataclass(frozen=True, slots=True)
class CardBook:
    """All slow rates, and the newest card of each kind, pump sheet and casing."""

    config: WellConfig
    """Of the watch they were entered on."""
    slow_rates: SlowRates = ()
    cards: tuple[Entered, ...] = ()
    """By the time they were entered."""

    def taken(self, issued: Issued) -> CardBook:
        """Return the book with what a command enters; other commands change nothing.

        Raises
        ------
        InputError
            One message with everything that is wrong; the book stays as it was.
        """
        command = issued.command
        if isinstance(command, EnterSlowRate | EnterCard | EnterStandpipe):
            if not issued.who.strip():
                raise InputError("nobody is named; a card needs the name of who enters it")
            if isinstance(command, EnterSlowRate):
                return replace(self, slow_rates=self._read(command, issued))
            if isinstance(command, EnterCard):
                return self._with(self._made(command, issued))
            return self._with(Entered("standpipe", self._reading(command, issued)))
        return self

    def folded(self, lines: Iterable[JournalLine]) -> CardBook:
        """Return the book with what journal lines enter.

        Raises
        ------
        RecordingError
            If a line was accepted and cannot be worked out now: it is damaged or of another
            program.
        """
        book = self
        for line in lines:
            if '"enter_' not in line.text:
                continue
            issued = _issued(line)
            if issued is None:
                continue
            try:
                book = book.taken(issued)
            except InputError as error:
                raise RecordingError(f"journal line {line.seq}: {error}") from None
        return book

    def newest(self, name: str) -> tuple[Entered, ...]:
        """Return the newest cards called `name`: one, or one of each casing."""
        return tuple(one for one in self.cards if one.name == name)

    @property
    def mud(self) -> MudEntry | None:
        """The mud weight entered last; None if none was."""
        return max(self._muds(), key=lambda entry: entry.at, default=None)

    def _muds(self) -> Iterator[MudEntry]:
        for r in self.slow_rates:
            yield MudEntry(r.mud, r.at, r.who)
        for one in self.cards:
            mud = one.input("mud_weight")
            if mud is not None and mud.origin != "well file":
                yield MudEntry(mud.value, one.card.made_at, mud.who)

    def _with(self, made: Entered) -> CardBook:
        return replace(self, cards=(*(c for c in self.cards if c.key != made.key), made))

    def _read(self, command: EnterSlowRate, issued: Issued) -> SlowRates:
        problems = _impossible(SLOW_RATE, command)
        pump = next((p for p in self.config.pumps if p.name == command.pump), None)
        if pump is None:
            known = ", ".join(p.name for p in self.config.pumps)
            problems.append(f"no pump {command.pump!r} in the well file; there are {known}")
        if problems or pump is None:
            raise InputError("slow-rate: " + "; ".join(problems))
        string = command.string or string_name(self.config)
        reading = SlowRate(
            command.pump, command.rate, command.pressure, command.density, command.bit_depth,
            stroke_volume(pump), string, command.tour, issued.at, issued.who,
        )  # fmt: skip
        return entered(self.slow_rates, reading)

    def _made(self, command: EnterCard, issued: Issued) -> Entered:
        kind = checked_command(command, self.config)
        old = next((c for c in self.cards if c.key == (command.card, command.casing)), None)
        inputs = tuple(_input(kind, name, command, issued) for name in _given(kind, command))
        who, at = issued.who, issued.at
        if kind.subject == "kill-sheet":
            entry = KillEntry(kind, command.pump, inputs, who, at)
            card = kill_sheet_card(entry, self.config, self.slow_rates)
        elif kind.subject == "maasp":
            card = maasp_card(kind.cs, command.casing, inputs, who, at)
        else:
            card = fill_post(self.config, inputs[0], who, at)
        if old is not None:
            was = {i.name: i.value for i in old.card.inputs}
            typed = ("person", "slow-rate log")
            again = tuple(
                replace(i, previous=was.get(i.name)) if i.origin in typed or i.channel else i
                for i in card.inputs
            )
            card = replace(card, inputs=again)
        return Entered(command.card, card, command.pump, command.casing)

    def _reading(self, command: EnterStandpipe, issued: Issued) -> Card:
        problems = _impossible(STANDPIPE, command)
        reading = reading_of(command.pressure, command.flow, command.bit_depth)
        if isinstance(reading, Unknown) and not problems:
            problems.append(reading.reason)
        if problems or isinstance(reading, Unknown):
            raise InputError("standpipe: " + "; ".join(problems))
        factor = reading_factor(self.config, reading)
        if isinstance(factor, Unknown):
            raise InputError(f"standpipe: {factor.reason}")
        inputs = [
            CardInput(i.name, i.text, getattr(command, i.name), i.quantity, issued.who, issued.at,
                      tolerance=RULES.depth if i.name == "bit_depth" else 0.0)
            for i in STANDPIPE.inputs
        ]  # fmt: skip
        mud = self.config.mud.density
        inputs.append(
            CardInput("mud_weight", "mud of the model", mud, "density",
                      f"file of {self.config.well}", issued.at, "well file", SAME_MUD)
        )  # fmt: skip
        outputs = (CardOutput("model times", factor, "ratio", "fraction"),)
        note = "The expected pressure meets this reading; it fills in no well-control number."
        return Card(
            "Standpipe reading", "exact", checked("Standpipe reading", inputs), outputs, (note,),
            "one reading of the gauge against the model of the well file", issued.who, issued.at,
        )  # fmt: skip


def string_name(config: WellConfig) -> str:
    """Return what the string of the well file is called: its parts from the bit up."""
    return ", ".join(part.name for part in config.string)


def _given(kind: CardKind, command: EnterCard) -> Iterator[str]:
    for i in kind.inputs:
        if i.name in command.inputs or i.default is not None:
            yield i.name


def _input(kind: CardKind, name: str, command: EnterCard, issued: Issued) -> CardInput:
    """Return one input with who, when and from where; what was left out says so."""
    i = next(i for i in kind.inputs if i.name == name)
    value = command.inputs.get(name)
    origin = command.origins.get(name, "person")
    if value is None:
        value, origin = i.default or 0.0, "not given"
    within = {"mud_weight": SAME_MUD, "bit_depth": RULES.depth}.get(name, 0.0)
    return CardInput(
        name, i.text, value, i.quantity, issued.who, issued.at, origin, tolerance=within
    )


def _impossible(kind: CardKind, command: CardCommand) -> list[str]:
    return [why for i in kind.inputs if (why := impossible(i, getattr(command, i.name)))]


_CLASSES: Mapping[str, type] = {
    "enter_slow_rate": EnterSlowRate, "enter_card": EnterCard, "enter_standpipe": EnterStandpipe,
}  # fmt: skip


def _issued(line: JournalLine) -> Issued | None:
    """Return the command of a journal line; None if it is of another kind, or was refused."""
    told = read(line)
    cls = _CLASSES.get(str(told["id"]))
    if cls is None or told["kind"] != "command" or told["event"] != "given" or "refused" in told:
        return None
    try:
        values: dict[str, Any] = {f.name: told[journal_key(f.name)] for f in fields(cls)}
        return Issued(line.at, cls(**values), told["who"], told["station"])
    except KeyError as error:
        raise RecordingError(f"journal line {line.seq}: damaged: it lacks {error}") from None
