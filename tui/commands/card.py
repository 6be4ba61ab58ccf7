"""``kellydown card`` and ``cards``: enter the numbers of a posted card, and read them again."""

from __future__ import annotations

import argparse
import json
import time
from collections.abc import Sequence
from contextlib import closing
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from adapters.sqlite_reader import SqliteRecording
from engine.channels import CHANNELS
from engine.commands import CardCommand, EnterCard, EnterSlowRate, EnterStandpipe, Issued
from engine.config import WellConfig
from engine.errors import InputError
from engine.records import card_stale
from engine.records.card_book import CardBook
from engine.records.card_book_text import as_json, cards_text
from engine.records.card_kinds import CardKind, kind_of
from engine.records.card_stale import CardView, Now, present, views
from engine.records.tours import tours_between, zone_name
from tui.commands.calc import read_input
from tui.commands.common import config_of, open_recording, station, well_of
from tui.commands.posting import must_be_watched, post_and_wait

ALIASES = {"depth": "bit_depth"}
"""What is typed, and what it is called."""


@dataclass(frozen=True, slots=True)
class Typed:
    """What a person typed for one card. SI."""

    numbers: dict[str, float]
    texts: dict[str, str]
    origins: dict[str, str]


def run(args: argparse.Namespace) -> int:
    """Enter a card, or show the newest of its kind; 1 if it is STALE or there is none."""
    kind = kind_of(args.card)
    with closing(open_recording(args.recording)) as recording:
        if args.words:
            if not args.by.strip():
                raise InputError(f"card {kind.name}: --by WHO: write who enters it")
            _enter(recording, kind, args.words, args.by.strip())
        elif args.by:
            raise InputError(
                f"card {kind.name}: nothing to enter; write name=number for each input"
            )
        book = book_of(recording)
        now = now_of(recording, book.config)
    found = [one for one in _all(book, now) if one.name == kind.name]
    if not found:
        print(f"no {kind.name} has been entered")
        return 1
    log = book if kind.subject == "slow-rate" else CardBook(book.config)
    print(cards_text(found, log, now), end="")
    return 1 if any(one.is_stale for one in found) else 0


def run_all(args: argparse.Namespace) -> int:
    """Show all cards and the log of slow rates; 1 if one of them is STALE."""
    with closing(open_recording(args.recording)) as recording:
        book = book_of(recording)
        config = well_of(args.well)[0] if args.well else book.config
        now = now_of(recording, config)
    found = views(book, now)
    if args.json:
        print(json.dumps(as_json(found, book, now, args.recording), allow_nan=False, indent=1))
    else:
        print(cards_text(found, book, now), end="")
    return 1 if any(one.is_stale for one in found) else 0


def book_of(recording: SqliteRecording) -> CardBook:
    """Return the cards of a recording, from its journal."""
    return CardBook(config_of(recording.meta())).folded(recording.journal())


def now_of(recording: SqliteRecording, config: WellConfig) -> Now:
    """Return how things stand at the end of a recording, or now if it is being written."""
    status, span = recording.status(), recording.span()
    if status is not None:
        ahead = max(0.0, time.time() - status.wall) if status.running else 0.0
        at = status.data + ahead * status.speed
    else:
        at = span[1] if span else time.time()
    rows = recording.rows(at - card_stale.RECENT_S, channels=card_stale.CHANNELS)
    return present(rows, at, config, tour_at(config, at))


def tour_at(config: WellConfig, at: float) -> str | None:
    """Return date and start of the tour of a moment [s since 1970-01-01 UTC]; None between two."""
    found = tours_between(config.tour, ZoneInfo(zone_name(config)), at, at)
    return found[0].name if found else None


def _all(book: CardBook, now: Now) -> tuple[CardView, ...]:
    found = views(book, now)
    return found if book.slow_rates else found[:-1]


def _enter(recording: SqliteRecording, kind: CardKind, words: Sequence[str], who: str) -> None:
    """Post a card to the watch and wait until it is kept.

    Raises
    ------
    InputError
        If it cannot be worked out; nothing was posted.
    FeedError
        If no watch runs on the recording, or it does not answer.
    RecordingError
        If the watch refused it.
    """
    must_be_watched(recording)
    book = book_of(recording)
    now = now_of(recording, book.config)
    command = _command(recording, kind, parse(kind, words), now)
    book.taken(Issued(now.at, command, who, station()))  # says what is wrong before it is posted
    post_and_wait(recording, command, who, "kellydown cards")


def parse(kind: CardKind, words: Sequence[str]) -> Typed:
    """Read ``name=number unit``, ``pump=1`` and ``mud_weight=density_in`` (a channel).

    A channel is only named here; its number is read by the caller.

    Raises
    ------
    InputError
        One message with every word that cannot be read.
    """
    known = {i.name: i for i in kind.inputs}
    typed = Typed({}, {}, {})
    problems: list[str] = []
    seen: set[str] = set()
    for word in words:
        name, equals, text = word.partition("=")
        name, text = ALIASES.get(name, name), text.strip()
        if not equals:
            problems.append(f"{word}: write name=number, such as {kind.inputs[0].name}=...")
        elif name in seen:
            problems.append(f"{name} is given twice")
        elif name in kind.texts:
            typed.texts[name] = text
        elif name not in known:
            takes = ", ".join([*known, *kind.texts])
            problems.append(f"no input {name!r}; {kind.name} takes {takes}")
        elif text in CHANNELS:
            typed.origins[name] = f"channel {text}"
        else:
            one = read_input(known[name], text)
            if isinstance(one, str):
                problems.append(one)
            else:
                typed.numbers[name] = one.si
        seen.add(name)
    if problems:
        raise InputError("\n  ".join([f"card {kind.name}: {len(problems)} problem(s)", *problems]))
    return typed


def _command(
    recording: SqliteRecording, kind: CardKind, typed: Typed, now: Now
) -> CardCommand:  # fmt: skip
    """Return the command of what was typed; a bit depth that was not is taken from the rows."""
    numbers, origins = dict(typed.numbers), dict(typed.origins)
    names = {i.name for i in kind.inputs}
    if "bit_depth" in names and "bit_depth" not in numbers | origins:
        origins["bit_depth"] = "channel bit_depth"
    for name, origin in origins.items():
        numbers[name] = _live(recording, kind, name, origin.removeprefix("channel "), now)
    if kind.subject not in ("slow-rate", "standpipe"):
        pump, casing = typed.texts.get("pump", ""), typed.texts.get("casing", "")
        ordered = {i.name: numbers[i.name] for i in kind.inputs if i.name in numbers}
        return EnterCard(kind.name, ordered, pump, casing, origins)
    missing = [f"{i.name} is missing ({i.text})" for i in kind.inputs if i.name not in numbers]
    if kind.subject == "slow-rate" and not typed.texts.get("pump"):
        missing.append("pump is missing: pump=1")
    if kind.subject == "slow-rate" and now.tour is None:
        missing.append("there is no tour now by the well file, under [tour]")
    if missing:
        raise InputError(f"card {kind.name}: " + "; ".join(missing))
    if kind.subject == "standpipe":
        return EnterStandpipe(**numbers)
    return EnterSlowRate(
        pump=typed.texts["pump"], tour=now.tour or "", string=typed.texts.get("string", ""),
        **numbers,
    )  # fmt: skip


def _live(
    recording: SqliteRecording, kind: CardKind, name: str, channel: str, now: Now
) -> float:  # fmt: skip
    """Return the newest good sample of a channel; `InputError` if it cannot be taken over."""
    quantity = next(i.quantity for i in kind.inputs if i.name == name)
    if quantity == "pressure":
        raise InputError(
            f"card {kind.name}: {name}={channel}: a pressure is read on the gauge and typed"
        )
    if CHANNELS[channel].quantity != quantity:
        there = CHANNELS[channel].quantity
        raise InputError(
            f"card {kind.name}: {name} is a {quantity}, but {channel} measures {there}"
        )
    rows = recording.rows(now.at - card_stale.RECENT_S, channels=[channel])
    value = card_stale.newest_good(rows, channel, now.at)
    if value is None:
        raise InputError(
            f"card {kind.name}: {name}: {channel} has shown nothing good for a minute; type it"
        )
    return value
