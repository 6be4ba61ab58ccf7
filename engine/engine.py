"""Events in, rows and journal lines out: the one path of live, import, demo and recompute."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from engine.alarms.entries import command_entry
from engine.alarms.manager import AlarmManager
from engine.block import Block
from engine.commands import Acknowledge, CardCommand, Issued
from engine.commands_copy import SecondCopy
from engine.commands_trial import TrialCommand
from engine.config import Feed, WellConfig
from engine.detect.board import Board
from engine.detect.detectors import board
from engine.detect.kinds import COPY_LATE, TEST_LIMIT, call_channel
from engine.events import BadLine, Frame, LinkDown, LinkUp, Tick
from engine.interfaces import InputEvent, JournalLine
from engine.obey import obey, obey_trial
from engine.ops.align import Align, Source
from engine.pipeline import Pipeline
from engine.records.card_book import CardBook
from engine.records.card_entry import enter
from engine.records.journal import Entry, Journal
from engine.second_copy import CopyWatch
from engine.trials.watch import Trials
from engine.wits_items import standard_map


def items_of(feed: Feed) -> dict[str, Source]:
    """Return item to `Source` for one feed: the standard map, less what is ignored, plus its own.

    An own mapping to a channel replaces the standard item for that channel.
    """
    own = {source.channel for source in feed.map.values()}
    standard = standard_map(feed.units) if feed.format == "wits0" else {}
    kept = {
        code: item
        for code, item in standard.items()
        if code not in feed.ignore and item.channel not in own
    }
    return {
        code: Source.of(item.channel, item.unit, item.scale, item.offset, feed.stale_after)
        for code, item in (kept | feed.map).items()
    }


def sources_of(config: WellConfig) -> dict[tuple[str, str], Source]:
    """Return (feed, item) to `Source` for all feeds of a well file."""
    return {
        (feed.name, item): source
        for feed in config.feeds
        for item, source in items_of(feed).items()
    }


@dataclass(slots=True, eq=False)
class Engine:
    """Takes input events, gives rows and journal lines.

    The same events give the same rows and lines to the last bit, whatever the batches: live
    takes them one at a time, an import by the thousand, a check recomputes them all.
    """

    config: WellConfig
    head: Entry
    """First entry of the journal: what was watched, by which program and set-up."""
    align: Align = field(init=False)
    pipeline: Pipeline = field(init=False)
    detectors: Board = field(init=False)
    alarms: AlarmManager = field(init=False)
    cards: CardBook = field(init=False)
    trials: Trials = field(init=False)
    second_copy: CopyWatch = field(default_factory=CopyWatch)
    journal: Journal = field(default_factory=Journal)

    def __post_init__(self) -> None:
        self.align = Align(sources_of(self.config))
        self.pipeline = Pipeline(self.config)
        self.detectors = board(self.config)
        self.alarms = AlarmManager(self.config.alarms)
        self.cards = CardBook(self.config)
        self.trials = Trials(self.config.pressure_pairs)

    def take(
        self, events: Sequence[InputEvent]
    ) -> tuple[list[dict[str, Block]], list[JournalLine]]:
        """Work out `events`.

        Returns
        -------
        tables : list of dict
            All channels by id; several tables if commands cut the batch, none of them empty.
        lines : list of JournalLine
            In order of time.
        """
        tables: list[dict[str, Block]] = []
        entries: list[Entry] = [] if self.journal.seq else [self.head]
        run: list[Frame | BadLine | LinkUp | LinkDown | Tick] = []
        for event in events:
            if isinstance(event, Issued):
                self._rows(run, tables, entries)
                run = []
                entries += self._command(event)
            else:
                run.append(event)
        self._rows(run, tables, entries)
        return tables, self.journal.write(entries)

    def _rows(
        self,
        events: Sequence[Frame | BadLine | LinkUp | LinkDown | Tick],
        tables: list[dict[str, Block]],
        entries: list[Entry],
    ) -> None:
        if all(isinstance(event, BadLine) for event in events):
            return
        table = self.pipeline.process(self.align.process(events))
        job = self.trials.running.job if self.trials.running else ""
        beyond, tried = self.trials.process(table)
        if job and not self.trials.running:  # before the detectors look: its bins are the same
            self.detectors.end_job(job, tried[-1].at)
        balance, calls, called = self.detectors.process(table)
        table |= balance
        calls[call_channel(TEST_LIMIT)] = beyond
        calls[call_channel(COPY_LATE)] = self.second_copy.process(beyond.t)
        tables.append(table)
        links = [_link(e) for e in events if isinstance(e, LinkUp | LinkDown)]
        # A stable sort by time: of one moment, the link comes before the calls and the alarms.
        new = links + tried + called + self.alarms.process(table | calls)
        entries += sorted(new, key=lambda entry: entry.at)

    def _command(self, issued: Issued) -> list[Entry]:
        if isinstance(issued.command, CardCommand):
            return [command_entry(issued, enter(self, issued))]
        if isinstance(issued.command, TrialCommand):
            details, more = obey_trial(self, issued)
            return [command_entry(issued, details), *more]
        if isinstance(issued.command, Acknowledge):
            self.trials.acknowledged(issued.at)
        if isinstance(issued.command, SecondCopy):
            self.second_copy.take(issued, issued.command)
        details = obey(self, issued.command, issued.at)
        return [command_entry(issued, details), *self.alarms.command(issued)]


def _link(event: LinkUp | LinkDown) -> Entry:
    if isinstance(event, LinkUp):
        return Entry(event.at, "link", event.feed, "up")
    return Entry(event.at, "link", event.feed, "down", {"reason": event.reason})
