"""What several tests share."""

from __future__ import annotations

import asyncio
import os
import subprocess
import sys
import time
from collections.abc import AsyncGenerator, Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import numpy as np

from engine.block import Block, FloatArray, Quality
from engine.channels import CHANNELS
from engine.commands import Command, Issued
from engine.config import Alarm
from engine.events import FeedEvent, WireBytes
from engine.interfaces import InputEvent, JournalLine, Status
from engine.records.journal import Entry
from engine.states import RigState

T0 = 1_780_000_000.0
NAN = float("nan")
_ROOT = Path(__file__).parents[1]


ALARM_WORDS: dict[str, Any] = {
    "cause": "the test wants it", "consequence": "the test fails", "time_available_s": 60,
    "limit_reason": "a round number",
}  # fmt: skip
"""What every alarm must say, where a test does not care."""


def alarm_of(name: str, channel: str = "pit_gain", **more: Any) -> Alarm:
    """Return an alarm with a high limit of 1 m3 or 1 kN m, or of a warning."""
    base = {
        "id": name, "label": name.title(), "channel": channel, "priority": 1,
        "action": "pick up and check for flow", **ALARM_WORDS,
    }  # fmt: skip
    limit: dict[str, Any] = {"pit_gain": {"high_m3": 1.0}, "torque": {"high_kNm": 1.0}}.get(
        channel, {"severity": "warning"}
    )
    return Alarm.model_validate({**limit, **base, **more})


def alarm_table(
    value: list[float], state: list[float] | None = None, torque: list[float] | None = None,
    start: float = T0,
) -> dict[str, Block]:  # fmt: skip
    """Return one row a second for `AlarmManager`; NaN is stale."""
    n = len(value)
    t = start + np.arange(n)

    def block(x: list[float]) -> Block:
        a = np.array(x, np.float64)
        return Block(t, a, np.where(np.isnan(a), int(Quality.STALE), 0).astype(np.uint16))

    return {
        "pit_gain": block(value),
        "torque": block([0.0] * n if torque is None else torque),
        "rig_state": block([float(RigState.DRILLING_ROTARY)] * n if state is None else state),
        "bit_depth": block([2400.0] * n),
        "hole_depth": block([NAN] * n),
    }


def issue(command: Command, at: float = T0 + 100) -> Issued:
    """Return `command` as given by the driller."""
    return Issued(at, command, "Ines", "doghouse")


def told(entries: list[Entry]) -> list[str]:
    """Return time, alarm, event and move of each entry in one line."""
    return [
        f"{e.at - T0:g} {e.id} {e.event}"
        + (f" {e.details['before']}{e.details['after']}" if e.kind == "alarm" else "")
        for e in entries
    ]


class ScriptFeed:
    """Yields what it was given, then waits for ever."""

    name = "rig"

    def __init__(self, events: Sequence[FeedEvent]) -> None:
        self._events = events

    async def events(self) -> AsyncGenerator[FeedEvent, None]:
        for event in self._events:
            yield event
        await asyncio.Event().wait()


class FakeRecording:
    """A recording in memory; fill `table`, `lines` and `beat` by hand."""

    def __init__(self, table: Mapping[str, Block] | None = None, path: str = "fake.kdrec") -> None:
        self.path = path
        self.table: dict[str, Block] = dict(table or {})
        self.lines: list[JournalLine] = []
        self.beat: Status | None = None
        self.head: dict[str, str] = {}
        self.posted: list[tuple[Command, str, str]] = []
        self.events: list[InputEvent] = []
        self.bytes: list[WireBytes] = []
        self.problem: Exception | None = None
        """Raised by every call that reads or posts."""

    def meta(self) -> Mapping[str, str]:
        return self.head

    def rows(
        self,
        after: float = float("-inf"),
        until: float = float("inf"),
        channels: Sequence[str] | None = None,
    ) -> dict[str, Block]:
        self._fail()
        out = {}
        for name, block in self.table.items():
            if channels is None or name in channels:
                a, b = np.searchsorted(block.t, [after, until], side="right")
                out[name] = block.slice(int(a), int(b))
        return out

    def channels(self) -> tuple[str, ...]:
        return tuple(self.table)

    def span(self) -> tuple[float, float] | None:
        t = next(iter(self.table.values())).t if self.table else np.empty(0)
        return (float(t[0]), float(t[-1])) if t.size else None

    def journal(self, after: int = 0) -> list[JournalLine]:
        self._fail()
        return [line for line in self.lines if line.seq > after]

    def inputs(self) -> Iterator[InputEvent]:
        return iter(self.events)

    def wire(self) -> Iterator[WireBytes]:
        return iter(self.bytes)

    def status(self) -> Status | None:
        self._fail()
        return self.beat

    def post(self, command: Command, who: str, station: str) -> int:
        self._fail()
        self.posted.append((command, who, station))
        return len(self.posted)

    def close(self) -> None:
        """Nothing to let go of."""

    def _fail(self) -> None:
        if self.problem is not None:
            raise self.problem


def eventually(happened: Callable[[], bool], within: float) -> float:
    """Wait until `happened`, ask often; fail after `within` s. Return the seconds it took."""
    start = time.monotonic()
    while not happened():
        waited = time.monotonic() - start
        assert waited < within, f"did not happen within {within} s"
        time.sleep(0.002)
    return time.monotonic() - start


def full_table(t: FloatArray, seed: int = 0) -> dict[str, Block]:
    """Return noise in all channels at times `t`, a tenth of it unknown; states are states."""
    rng = np.random.default_rng(seed)

    def block() -> Block:
        value = np.where(rng.random(t.size) < 0.1, np.nan, rng.normal(0, 1e5, t.size))
        quality = np.where(np.isnan(value), Quality.STALE, rng.choice([0, 1024, 4096], t.size))
        return Block(t, value, quality.astype(np.uint16))

    table = {channel: block() for channel in CHANNELS}
    state = table["rig_state"]
    return table | {"rig_state": Block(t, np.abs(state.value) // 1 % len(RigState), state.quality)}


def same_table(a: Mapping[str, Block], b: Mapping[str, Block]) -> bool:
    """Tell whether two tables agree to the last bit; the sign of a zero does not count."""
    return a.keys() == b.keys() and all(
        a[c].t.tobytes() == b[c].t.tobytes()
        and np.array_equal(a[c].value, b[c].value, equal_nan=True)
        and a[c].quality.tobytes() == b[c].quality.tobytes()
        and b[c].quality.dtype == np.uint16
        for c in a
    )


@contextmanager
def child(code: str, path: Path) -> Iterator[subprocess.Popen[str]]:
    """Run `code` in a Python of its own; kill it at the end."""
    process = subprocess.Popen(
        [sys.executable, "-c", code, str(path)], cwd=_ROOT, stdout=subprocess.PIPE, text=True,
        env={**os.environ, "PYTHONPATH": str(_ROOT)},
    )  # fmt: skip
    try:
        yield process
    finally:
        process.kill()
        process.wait()
        assert process.stdout is not None
        process.stdout.close()
