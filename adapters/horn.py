"""The horn: sounds its outputs while an alarm calls, tests them, and says which of them fail."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from threading import Condition, Lock, Thread

from adapters.horn_outputs import HornError, Output
from engine.alarms.urgency import TEST, Urgency

AGAIN_S = 2.0
"""Pause before an output that failed is tried again. [s]"""
CLOSE_S = 2.0
"""Longest wait for a thread to end; what it holds ends with the process. [s]"""


@dataclass(frozen=True, slots=True)
class Report:
    """What the outputs said of themselves."""

    working: str
    """Names of the outputs that work; one that was not used yet is in neither list."""
    failed: str
    """Names of those that do not, and why."""
    test: bool
    """It ends a test."""


class _Voice(Thread):
    """One output and the only thread that uses it."""

    def __init__(self, output: Output, told: Callable[[_Voice, str, bool], None]) -> None:
        super().__init__(name=f"horn {output.name}", daemon=True)
        self.output = output
        self._told = told
        self._turn = Condition()
        self._call: Urgency | None = None
        self._test = self._closing = False

    def follow(self, urgency: Urgency | None) -> None:
        """Sound `urgency` from now on, or nothing."""
        if urgency is not None and urgency.level < self.output.escalation:
            urgency = None
        with self._turn:
            if urgency != self._call:
                self._call = urgency
                self._turn.notify()

    def test(self) -> None:
        """Make one pass, in between."""
        with self._turn:
            self._test = True
            self._turn.notify()

    def close(self) -> None:
        """End the thread; what sounds is cut short."""
        with self._turn:
            self._closing = True
            self._turn.notify()

    def run(self) -> None:
        """Sound, rest and wait until closed."""
        rested = True
        while True:
            with self._turn:
                if rested:
                    self._turn.wait_for(self._has_work)
                if self._closing:
                    break
                call, test, self._test = self._call, self._test, False
            urgency = TEST if test else call
            if urgency is not None:
                rested = False
                pause = self._pass(urgency, test=test)
                if call is None:
                    continue
            else:
                rested = self._rest()
                pause = 0.0 if rested else AGAIN_S
            with self._turn:
                self._turn.wait_for(partial(self._other_than, call), pause)
        self.output.close()

    def _has_work(self) -> bool:
        return self._closing or self._test or self._call is not None

    def _other_than(self, call: Urgency | None) -> bool:
        return self._closing or self._test or self._call != call

    def _pass(self, urgency: Urgency, *, test: bool) -> float:
        """Make one pass; return the pause after it. [s]"""

        def unwanted() -> bool:
            return self._closing or (self._call is None and not test)

        try:
            pause = self.output.sound(urgency, unwanted)
        except HornError as error:
            self._told(self, str(error), test)
            return AGAIN_S
        if pause is not None:
            self._told(self, "", test)
        return pause or 0.0

    def _rest(self) -> bool:
        try:
            self.output.rest()
        except HornError as error:
            self._told(self, str(error), False)
            return False
        return True


class Horn:
    """All outputs together.

    Parameters
    ----------
    outputs : sequence of Output
        Each gets a thread of its own, so that one that hangs keeps no other quiet.
    report : callable
        Told, on the thread of an output, what came of a test, and when an output begins to fail
        or works again.

    Notes
    -----
    There is no way to mute it: it is quiet when no alarm calls, or when all that call have been
    silenced, which is a command of the watch with a name and a line in the journal.
    """

    def __init__(
        self, outputs: Sequence[Output], report: Callable[[Report], None] = lambda _report: None
    ) -> None:
        self._report = report
        self._lock = Lock()
        self._said: dict[str, str] = {}
        self._awaited: set[str] = set()
        """Outputs whose test has not ended."""
        self._voices = [_Voice(output, self._told) for output in outputs]
        for voice in self._voices:
            voice.start()

    def follow(self, urgency: Urgency | None) -> None:
        """Sound as `urgency` asks from now on, or be quiet; returns at once."""
        for voice in self._voices:
            voice.follow(urgency)

    def test(self) -> None:
        """Sound every output once, whatever its escalation; returns at once."""
        with self._lock:
            self._awaited = {voice.output.name for voice in self._voices}
        for voice in self._voices:
            voice.test()

    def close(self) -> None:
        """Cut short what sounds and end the threads."""
        for voice in self._voices:
            voice.close()
        for voice in self._voices:
            voice.join(CLOSE_S)

    def _told(self, voice: _Voice, problem: str, test: bool) -> None:
        with self._lock:
            name = voice.output.name
            before = self._said.get(name, "")
            self._said[name] = problem
            ends = test and self._awaited == {name}
            if test:
                self._awaited.discard(name)
            news = not self._awaited and bool(before) != bool(problem)
            names = [v.output.name for v in self._voices if v.output.name in self._said]
            working = ", ".join(n for n in names if not self._said[n])
            failed = "; ".join(f"{n}: {self._said[n]}" for n in names if self._said[n])
        if ends or news:
            self._report(Report(working, failed, ends))
