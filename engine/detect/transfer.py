"""Mud that is moved between tanks: without a word, or otherwise than was said."""

from __future__ import annotations

from collections import deque
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from math import copysign, isfinite, nan
from typing import Any, ClassVar, NamedTuple

import numpy as np

from engine.block import FloatArray
from engine.detect.bins import BIN_S
from engine.detect.call import NOT_ON_WATCH, Declared, Seen, Verdict, blind
from engine.detect.declared import GRACE_S
from engine.detect.influx import number
from engine.detect.kinds import Severity
from engine.detect.no_bins import nothing_new
from engine.detect.settings_connections import TransferSettings

CLEAR_S = 60.0
"""A ramp has ended when there has been none for so long. [s]"""
MEAN_S = 30.0
"""Levels are means of so long: waves are no mud. [s]"""
MOST = round(MEAN_S / BIN_S)
"""So many bins at most. [-]"""


class Told(NamedTuple):
    """What is known at one bin."""

    severity: int
    edition: int
    volume: float = nan
    rate: float = nan
    since: float = nan
    said: Declared | None = None
    came: float = nan
    word: str = ""


NOTHING = Told(Severity.NONE, 0)


@dataclass(slots=True)
class Due:
    """One declaration and what the tanks did since."""

    said: Declared
    start: float
    """Level of the active pits that nothing else explains, when it was declared. [m3]"""
    shared: bool = False
    """Another was under way at the same time: nobody can tell whose mud it was."""
    told: int = Severity.NONE


@dataclass(slots=True)
class Ramp:
    """A straight change of the sum that nobody has declared."""

    since: float = nan
    """[s since 1970-01-01 UTC]"""
    start: float = nan
    """Unexplained volume there. [m3]"""
    raw: float = nan
    """Of the active pits alone, with what was declared. [m3]"""
    last: float = nan
    """When it was last seen. [s since 1970-01-01 UTC]"""
    rate: float = nan
    """[m3/s]"""


@dataclass(slots=True, eq=False)
class Transfers:
    """Ask about a ramp that nobody declared, and warn of a declaration that does not hold.

    A pump that moves mud into or out of the tanks that are counted makes a straight line of
    2 bbl/min or more while the return flow stays as it was: advice, "undeclared transfer?". It
    takes nothing from any other call, and only a declaration explains it. An influx shows in the
    return flow, and so do losses; mud moved within the sum is flat. A
    declaration that brings 10 % and 3 bbl more than it said, or goes the other way, is a
    warning that names both volumes; one that is over with less than half is advice.

    Without a return gauge it cannot tell a ramp from an influx, and is blind to ramps; without
    pits to both. Of declarations that overlap it judges none: their mud cannot be told apart,
    and what they leave over is a gain or loss for the other detectors.
    """

    kinds: ClassVar[tuple[str, ...]] = ("undeclared_transfer",)
    rule: ClassVar[str] = (
        "The sum of the tanks changes in a straight line by 2 bbl/min or more for 90 s, and the "
        "return flow does not: a question. A declared volume overrun by 10 %: a warning."
    )
    settings: TransferSettings
    recent: deque[tuple[float, float, float, float, float]] = field(default_factory=deque)
    """Time, unexplained volume, that of the active pits alone with what was declared, excess of the
    return flow, and mean of the unexplained volume over `MEAN_S`, of the newest bins."""
    ramp: Ramp = field(default_factory=Ramp)
    due: list[Due] = field(default_factory=list)
    seen: set[float] = field(default_factory=set)
    """When the declarations that are known were made. [s since 1970-01-01 UTC]"""
    late: tuple[float, Told] = (nan, NOTHING)
    """Until when the newest word on a declaration stands, and the word."""
    edition: int = 0

    def process(self, seen: Seen) -> Mapping[str, Verdict]:
        """Return the verdict on each bin of the block."""
        if not len(seen.bins):
            return nothing_new(self.kinds)
        bins, b = seen.bins, seen.balance
        rows = zip(
            bins.t.tolist(), b["unexplained"].tolist(), b["declared"].tolist(),
            b["flow_excess"].tolist(), (b["pumping"] > 0).tolist(), b["settled"].tolist(),
            np.nan_to_num(b["reserve"]).tolist(), np.nan_to_num(b["trip_tank"]).tolist(),
            self._means(bins.t, b["unexplained"]).tolist(), strict=True,
        )  # fmt: skip
        told = [self._bin(seen.declared, *row) for row in rows]
        sight, reasons = blind(bins, "pit_volume", "flow_out")
        severity = np.array([one.severity for one in told], np.int8)
        sight[(b["pumping"] <= 0) & (severity == 0)] = NOT_ON_WATCH
        edition = np.array([one.edition for one in told], np.intp)
        columns = {n: b[n] for n in ("active", "reserve", "trip_tank", "declared", "unexplained")}

        def details(i: int) -> dict[str, Any]:
            return _details(told[i]) | {
                f"{name}_m3": number(c[i]) for name, c in columns.items() if np.isfinite(c[i])
            }

        return {
            "undeclared_transfer": Verdict(bins.row, severity, sight, reasons, details, edition)
        }

    def _bin(
        self, declared: Sequence[Declared], t: float, free: float, explained: float, excess: float,
        pumping: bool, settled: float, reserve: float, tank: float, mean: float,
    ) -> Told:  # fmt: skip
        if not isfinite(free):
            return self._standing(t)
        # A declaration speaks of the active pits alone, wherever the mud comes from.
        alone, look = free + explained - reserve - tank, self.settings.look_s
        self.recent.append((t, free, alone, excess, mean))
        while t - self.recent[0][0] > look + MEAN_S:
            self.recent.popleft()
        steady = pumping and settled >= look
        word = None
        if declared or self.due:
            word = self._declarations(t, self._mean(t, CLEAR_S, 2), declared, steady)
        if word is not None:
            self.edition += 1
            self.late = (max(t, word.said.until if word.said else t) + CLEAR_S, word)
        if steady:
            self._ramp(t)
        return self._standing(t)

    def _standing(self, t: float) -> Told:
        until, word = self.late
        if t <= until:
            return word._replace(edition=self.edition)
        r = self.ramp
        if isfinite(r.last) and t - r.last <= CLEAR_S:
            volume = self._mean(self.recent[-1][0], MEAN_S) - r.start
            return Told(Severity.ADVICE, 0, volume, r.rate, r.since)
        return NOTHING

    def _ramp(self, t: float) -> None:
        """See whether the newest look is a straight line that the return flow knows nothing of."""
        s, r = self.settings, self.ramp
        half = s.look_s / 2
        if t - self.recent[0][0] < s.look_s:
            return
        levels = [self._level(t - k * half, round(k * half / BIN_S)) for k in (0, 1, 2)]
        first, second = (levels[1] - levels[2]) / half, (levels[0] - levels[1]) / half
        rate = (first + second) / 2
        if abs(rate) < 0.5 * s.slowest:
            return  # nearly always
        straight = abs(first - second) <= max(2 * s.bend * abs(rate), 0.5 * s.slowest)
        goes_on = t - r.last <= CLEAR_S and rate * r.rate > 0  # waves do not break it off
        slowest, share = (
            (0.5 * s.slowest, 2 * s.seen_share) if goes_on else (s.slowest, s.seen_share)
        )
        if abs(rate) < slowest or not (straight or goes_on):
            return
        flows = [x for at, _, _, x, _ in self.recent if at > t - s.look_s and isfinite(x)]
        if not flows:
            return
        seen = sum(flows) / len(flows)
        if copysign(1, rate) * seen > share * abs(rate):
            return
        if not goes_on:
            raw = self._mean(t - s.look_s, MEAN_S, 2)
            self.ramp = r = Ramp(t - s.look_s, levels[2], raw)
        r.last, r.rate = t, rate

    def _declarations(
        self, t: float, raw: float, declared: Sequence[Declared], steady: bool
    ) -> Told | None:
        """Hold what was declared against what the tanks did; return what is to be said, if any."""
        for one in declared:
            if one.at <= t and one.at not in self.seen:
                self.seen.add(one.at)
                if t <= one.until:
                    r = self.ramp
                    late = isfinite(r.last) and t - r.last <= GRACE_S and r.rate * one.volume > 0
                    # A late word speaks of the ramp that was asked about.
                    since = r.raw if late else raw
                    self.due.append(Due(one, since))
                    if len(self.due) > 1:
                        for d in self.due:
                            d.shared = True
        if not steady:  # the flow line fills or empties
            return None
        word = None
        for d in self.due:
            if not d.shared:
                word = self._overrun(d, raw - d.start) or word
                if t > d.said.until:
                    word = self._short(d, raw - d.start) or word
        self.due = [d for d in self.due if t <= d.said.until]
        return word

    def _overrun(self, d: Due, came: float) -> Told | None:
        s, volume = self.settings, d.said.volume
        came_on = came if volume > 0 else -came
        over = came_on - abs(volume)
        if d.told < Severity.WARNING:
            if over > max(s.overrun * abs(volume), s.overrun_least):
                d.told = Severity.WARNING
                return Told(Severity.WARNING, 0, over, said=d.said, came=came, word="overrun")
            if came_on < -s.overrun_least:
                d.told = Severity.WARNING
                return Told(Severity.WARNING, 0, came, said=d.said, came=came, word="the other way")
        return None

    def _short(self, d: Due, came: float) -> Told | None:
        share = came / d.said.volume
        if d.told or share >= self.settings.short:
            return None
        return Told(Severity.ADVICE, 0, came, said=d.said, came=came, word="did not come")

    def _means(self, t: FloatArray, volume: FloatArray) -> FloatArray:
        """Return the mean over `MEAN_S` up to each bin, newest first; NaN where not known. [m3]"""
        out, known = np.full(t.size, nan), np.isfinite(volume)
        past = list(self.recent)[1 - MOST :]
        at = np.concatenate(([one[0] for one in past], t[known]))
        level = np.concatenate(([one[1] for one in past], volume[known]))
        new = np.arange(len(past), at.size)
        total, count = level[new], np.ones(new.size)
        for k in range(1, MOST):
            old = np.maximum(new - k, 0)
            fits = (new >= k) & (at[old] > at[new] - MEAN_S)
            total = np.where(fits, total + level[old], total)
            count += fits
        out[known] = total / count
        return out

    def _level(self, t: float, back: int) -> float:
        """Return the mean over `MEAN_S` up to `t`: mostly known since, `back` bins ago. [m3]"""
        if back < len(self.recent) and (one := self.recent[-1 - back])[0] == t:
            return one[4]
        return self._mean(t, MEAN_S)

    def _mean(self, t: float, span: float, column: int = 1) -> float:
        """Return the mean of a column of `recent` over the `span` up to `t`. [m3]"""
        total, count, end = 0.0, 0, t + 0.5 * BIN_S
        for one in reversed(self.recent):
            if one[0] <= t - span:
                break
            if one[0] <= end:
                total += one[column]
                count += 1
        return total / count if count else nan


def _details(told: Told) -> dict[str, Any]:
    found: dict[str, Any] = {"volume_m3": number(told.volume), "witnesses": ["pit volume"]}
    if told.said is not None:
        return found | {
            "what": told.said.what,
            "declaration": told.word,
            "planned_m3": number(told.said.volume),
            "actual_m3": number(told.came),
        }
    if told.severity:
        found |= {
            "question": "undeclared transfer? declare it, or treat it as gain or loss",
            "rate_m3_s": number(told.rate),
            "since": number(told.since),
        }
    return found
