"""One run: synthetic rig, wire, decoder, engine, and what its journal says beside the truth.

Nothing here knows a rule: the bytes go through the decoder and the engine as on a live watch, and
the crew's declarations as commands, so that what is measured is what a driller would get.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from itertools import islice

import numpy as np

from engine.block import FloatArray
from engine.config import WellConfig
from engine.engine import Engine
from engine.events import FeedEvent, LinkUp, WireBytes
from engine.interfaces import Decoder, JournalLine
from engine.records.journal import Entry
from engine.run import with_ticks
from engine.score.calls import Blind, Call, said
from engine.score.families import DECOYS, OWN_FAULT_S, OWN_FAULTS, VOLUMES
from engine.score.match import Truth, within
from engine.score.plan import USUAL, Case
from engine.sim.chunk import Chunk
from engine.sim.noise import CLASSES, Error
from engine.sim.rig import Rig
from engine.sim.rigs import rig_model
from engine.sim.stream import spoken, wits_bytes
from engine.states import RigState

START = 1_780_000_000.0
"""Time of second 0: any will do. [s since 1970-01-01 UTC]"""
STEP_S = 1800.0
"""A run goes on in pieces of this length, so that memory stays small. [s]"""
BATCH = 2000
"""Events worked on at once; any number gives the same lines. [-]"""
_SAME_S, _GAP_S = 60.0, 5.0
"""Shortest spell of a stuck sensor and of a gap that a class of noise makes. [s]"""


@dataclass(frozen=True, slots=True, eq=False)
class Played:
    """What came of a case; times in s from its start."""

    case: Case
    noise: str
    """Class of noise, of another rig its own."""
    seconds: float
    truth: Truth | None
    """None: nothing went wrong, or the event did not come about."""
    calls: tuple[Call, ...]
    blind: tuple[Blind, ...]
    right: frozenset[int] = frozenset()
    """Places in `calls` that are right although the case has no event: a twin's own truth, a
    sensor that stuck by itself."""
    states: Mapping[str, float] = field(default_factory=dict)
    """How long each rig state lasted, in truth. [s]"""
    state_at: tuple[str, ...] = ()
    """Rig state in truth at each call."""


def play(case: Case, usual: WellConfig, decoder: Callable[[WellConfig], Decoder]) -> Played:
    """Run a case from the first byte to the last line of the journal.

    Parameters
    ----------
    case : Case
    usual : WellConfig
        Well file of the usual rig.
    decoder : callable
        Makes the decoder of a well file's first feed.
    """
    scenario = case.scenario()
    model = None if case.rig == USUAL else rig_model(case.rig)
    config = usual if model is None else model.config
    if model is None:
        rig = Rig(config, scenario, case.seed, START)
    else:
        rig = model.rig(scenario, case.seed, START, case.noise or None)
    seconds = case.seconds()
    chunks: list[Chunk] = []
    lines: list[JournalLine] = []
    engine = Engine(config, Entry(START, "watch", config.well, "start"))
    feed = config.feeds[0]
    stream = with_ticks(_events(rig, seconds, decoder(config), chunks), feed.stale_after)
    inputs = (one for one in stream if not isinstance(one, WireBytes))
    while batch := list(islice(inputs, BATCH)):
        lines += engine.take(batch)[1]
    calls, blind = said(lines, START, START + seconds)
    second = np.concatenate([c.second for c in chunks])
    codes = np.concatenate([c.truth["rig_state"] for c in chunks]).astype(int)
    names = [state.id for state in RigState]
    places = np.searchsorted(second, [c.at for c in calls], "right") - 1
    return Played(
        case, rig.noise, seconds, truth_of(rig, chunks, seconds), tuple(calls), tuple(blind),
        frozenset(_right(rig, chunks, calls)),
        {names[k]: float(n) * rig.interval for k, n in enumerate(np.bincount(codes)) if n},
        tuple(names[codes[max(0, i)]] for i in places),
    )  # fmt: skip


def _events(rig: Rig, seconds: float, decoder: Decoder, chunks: list[Chunk]) -> Iterator[FeedEvent]:
    """Yield what a live watch would get, in order of time; keep the truth in `chunks`."""
    yield LinkUp(START, rig.config.feeds[0].name)
    done = 0.0
    while (step := min(STEP_S, seconds - done)) > 0:
        chunk = rig.advance(step)
        chunks.append(chunk)
        plan = spoken(rig, done or -1.0, done + step)
        done += step
        for at, data in wits_bytes(chunk):
            while plan and plan[0].at <= at:
                yield plan.pop(0)
            yield from decoder.feed(data, at)
        yield from plan


def truth_of(rig: Rig, chunks: list[Chunk], seconds: float) -> Truth | None:
    """Return the scenario's event as it turned out, all its spells as one."""
    kind = rig.scenario.event
    spells = [e for e in rig.events if kind and e.event == kind]
    if not spells:
        return None
    end = max(seconds if e.end is None else e.end for e in spells)
    second = np.concatenate([c.second for c in chunks])
    column = VOLUMES.get(kind)
    volume = None if column is None else np.concatenate([c.truth[column] for c in chunks])
    return Truth(kind, min(e.start for e in spells), end, second, volume)


def _right(rig: Rig, chunks: list[Chunk], calls: list[Call]) -> Iterator[int]:
    """Yield the places of calls that are right although nothing was scripted to be called."""
    own: dict[str, list[tuple[float, float]]] = {}
    for e in rig.events:
        if not e.event and e.kind in DECOYS:
            own.setdefault(DECOYS[e.kind], []).append((e.start, np.inf if e.end is None else e.end))
    faults = list(own_faults(rig, chunks))
    for i, call in enumerate(calls):
        spells = [*own.get(call.kind, ()), *(faults if call.kind in OWN_FAULTS else ())]
        if within(call, spells, OWN_FAULT_S):
            yield i


def own_faults(rig: Rig, chunks: list[Chunk]) -> Iterator[tuple[float, float]]:
    """Yield the spells in which the class of noise itself stuck a sensor or left a gap. [s]"""
    kinds = CLASSES[rig.noise]
    second = np.concatenate([c.second for c in chunks])
    for name, error in (*kinds.sensors.items(), *kinds.more.items()):
        if name not in chunks[0].sensors or not (error.sticks or error.dropouts):
            continue
        read = np.concatenate([c.sensors[name] for c in chunks])
        yield from _spells(second, read, error)


def _spells(second: FloatArray, read: FloatArray, error: Error) -> Iterator[tuple[float, float]]:
    gone = np.isnan(read)
    same = (read[1:] == read[:-1]) | (gone[1:] & gone[:-1])
    edges = np.flatnonzero(np.concatenate(([True], ~same, [True])))
    for a, b in zip(edges[:-1].tolist(), edges[1:].tolist(), strict=True):
        often, least = (error.dropouts, _GAP_S) if gone[a] else (error.sticks, _SAME_S)
        begin, end = float(second[a]), float(second[b - 1])
        if often and end - begin >= least - 1:
            yield begin, end
