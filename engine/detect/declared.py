"""How much of a change of volume was declared: what a person said would come, and did come."""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass, field
from math import inf

from engine.detect.bins import BIN_S
from engine.detect.call import Declared
from engine.units import BBL

FASTER = 1.25
"""Mud may come so much faster than was said and still be what was declared. [-]"""
LEAST = 0.3
"""What comes slower than this share of what was said is something else. [-]"""
RISE = 1.0 * BBL
"""Less within one look is waves. [m3]"""
LOOK_S, LONGEST_S = 60.0, 300.0
"""The pace is taken over so long; longer, up to the other, where so little was declared that
waves would hide it. [s]"""
QUICK_S = 20.0
"""A fast transfer shows within this. [s]"""
BACK_S = 1800.0
"""So far back a declaration that is late finds what it speaks of. [s]"""
GRACE_S = 300.0
"""It must have ended no longer ago than this. [s]"""
STEP_S = 60.0
"""Looking back goes by such steps. [s]"""
CLAIM = 3.0 * BBL
"""What is found must be as much as this. [m3]"""
Point = tuple[float, float]
"""Time [s] and volume [m3] of a bin."""


@dataclass(slots=True)
class Part:
    """One declaration on its way; volumes are counted in its own direction."""

    one: Declared
    seen: deque[Point] = field(default_factory=deque)
    """The newest bins, less what other declarations explain."""
    taken: float = 0.0
    """What of it has come, never more than was declared. [m3]"""
    kept: float = 0.0
    """What had come when it began, or began again, to flow. [m3]"""
    start: float = 0.0
    """Volume at which nothing of it had come. [m3]"""
    begun: float = 0.0
    """When it began to flow. [s]"""
    runs: bool = False
    whole: bool = False
    """All of it has come."""
    given: float = 0.0
    """By other tanks that are measured, when it was declared. [m3]"""
    left: float = inf
    """Of it, what did not come out of those. [m3]"""

    @property
    def sign(self) -> float:
        """1 into the active pits, -1 out of them."""
        return 1.0 if self.one.volume > 0 else -1.0

    @property
    def look(self) -> float:
        """How long the pace is taken over. [s]"""
        return min(max(LOOK_S, 1.5 * RISE / self.one.rate), LONGEST_S)

    def claim(self, past: Sequence[Point]) -> None:
        """Take what of it had come before it was declared; `past` is oldest first."""
        pace, sign = LEAST * self.one.rate * STEP_S, self.sign
        rises = list(_steps(past, sign))
        end = next((k for k, (_, _, r) in enumerate(rises) if r >= pace), len(rises))
        stop = next((k for k in range(end, len(rises)) if rises[k][2] < pace), len(rises))
        came = sum(rise for _, _, rise in rises[end:stop])
        if end * STEP_S > GRACE_S or came < CLAIM:
            return
        begun, start, _ = rises[min(stop, len(rises) - 1)]
        most = min(abs(self.one.volume), FASTER * self.one.rate * (stop - end + 1) * STEP_S)
        self.begun, self.start = begun, start
        self.taken, self.runs = min(came, most), end == 0
        self.whole = not self.runs and self.taken >= abs(self.one.volume)

    def step(self, t: float, rest: float, given: float) -> None:
        """Go on by one bin with `rest`, what no other declaration explains, and `given`. [m3]"""
        one, seen = self.one, self.seen
        self.left = abs(one.volume) - max(0.0, self.sign * (given - self.given))
        seen.append((t, self.sign * rest))
        while t - seen[0][0] > self.look + LOOK_S:
            seen.popleft()
        if self.whole:
            return
        level, pace = _mean(seen, t), LEAST * one.rate
        rise = level - _mean(seen, t - self.look, LOOK_S)
        quick = level - _mean(seen, t - QUICK_S, LOOK_S)
        due = rise >= max(RISE, pace * self.look) or quick >= max(RISE, pace * QUICK_S)
        if due and not self.runs:
            came = rise if rise >= RISE else quick
            self.runs, self.kept = True, self.taken
            self.start = level - came - self.taken
            # No slack for an influx: it began when it must have at the pace that was declared.
            self.begun = t - min(came / one.rate, self.look)
        elif self.runs and not due and rise < pace * self.look:
            self.runs = False
            while t - seen[0][0] >= 3 * BIN_S:  # what was taken is not taken again
                seen.popleft()
            self.taken = self._most(t, level)
            if self.taken - self.kept < RISE:
                self.taken = self.kept  # it was a wave
            return
        if self.runs:
            self.whole = _mean(seen, t, LOOK_S) - self.start >= abs(one.volume)
            level = self.start + abs(one.volume) if self.whole else seen[-1][1]
            self.taken = self._most(t, level)

    def end(self, t: float) -> float:
        """Return what has come of it when it is over, waves evened out. [m3]"""
        if self.runs and not self.whole:
            self.taken = self._most(t, _mean(self.seen, t - BIN_S))
        return self.sign * self.taken

    def _most(self, t: float, level: float) -> float:
        fast = self.kept + FASTER * self.one.rate * (t - self.begun)
        return max(0.0, min(level - self.start, fast, abs(self.one.volume), self.left))


@dataclass(slots=True, eq=False)
class Absorbed:
    """Counts what was declared against what came.

    Only a change in the declared direction is taken, no faster than 1.25 times and no slower
    than 0.3 times the declared rate, and never more than the declared volume: an influx that is
    slower than the transfer before it begins, faster beside it, or goes on after it, is left over.
    What does not come before the declaration expires is not counted. A declaration that is late
    explains what came at its pace before, if that began within half an hour and ended
    within five minutes.
    """

    past: deque[Point] = field(default_factory=deque)
    """Volume that nothing explained, of the last half hour."""
    parts: dict[float, Part] = field(default_factory=dict)
    done: float = 0.0
    """Of declarations that are over. [m3]"""

    def step(self, t: float, raw: float, declared: Sequence[Declared], given: float = 0.0) -> float:
        """Return what was declared and has come by `t`. [m3]

        Parameters
        ----------
        t : float
            End of the bin. [s]
        raw : float
            Volume that is explained by nothing but declarations. [m3]
        declared : sequence of Declared
            All of them; those that are over are passed by.
        given : float
            By tanks outside the active set that are measured: what came out of them is in the
            balance already, and is no longer owed. [m3]
        """
        if not (declared or self.parts):  # nearly always
            self._remember(t, raw - self.done)
            return self.done
        for one in declared:
            if t > one.until:
                part = self.parts.pop(one.at, None)
                self.done += part.end(t) if part else 0.0
            elif one.at <= t and one.at not in self.parts:
                part = self.parts[one.at] = Part(one, given=given)
                part.seen.extend((at, part.sign * net) for at, net in self.past)
                part.claim(self.past)
        total = self.done + sum(p.sign * p.taken for p in self.parts.values())
        for part in self.parts.values():
            others = total - part.sign * part.taken
            part.step(t, raw - others, given)
            total = others + part.sign * part.taken
        self._remember(t, raw - total)
        return total

    def _remember(self, t: float, left: float) -> None:
        self.past.append((t, left))
        while t - self.past[0][0] > BACK_S:
            self.past.popleft()


def _mean(seen: Sequence[Point], t: float, span: float = 3 * BIN_S) -> float:
    """Return the mean of the bins in the `span` up to `t`; the oldest if there is none. [m3]"""
    total = count = 0.0
    for at, level in reversed(seen):
        if at <= t - span + 1e-6:
            break
        if at <= t:
            total += level
            count += 1
    return total / count if count else seen[0][1]


def _steps(past: Sequence[Point], sign: float) -> list[tuple[float, float, float]]:
    """Return time and level at the beginning, and rise, of each step back, newest first."""
    if not past:
        return []
    out, t = [], past[-1][0]
    level = sign * _mean(past, t)
    while t - STEP_S >= past[0][0]:
        t -= STEP_S
        before = sign * _mean(past, t)
        out.append((t, before, level - before))
        level = before
    return out
