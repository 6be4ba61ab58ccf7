"""Pressure behind each string of casing: how high it is and how fast it rises."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from math import inf, isfinite, nan
from typing import Any, ClassVar

import numpy as np

from engine.block import FloatArray, Mask
from engine.config_pressures import Annulus
from engine.detect.bins import Bins
from engine.detect.call import NOT_ON_WATCH, Codes, Seen, Verdict
from engine.detect.influx import number
from engine.detect.kinds import Severity
from engine.detect.no_bins import nothing_new
from engine.detect.pressure_bins import Middle, Span, busy_bins
from engine.detect.pressure_off import TWICE
from engine.detect.settings_pressures import AnnulusSettings
from engine.ops.flow import FLOWING

OWN = "annulus_pressure"
"""The annulus that the string is in. [-]"""
USUAL = (
    Annulus(name="annulus", channel="annulus_pressure"),
    Annulus(name="outer annulus", channel="annulus_b_pressure"),
)
"""Watched where the well file names none, as far as they are read."""


@dataclass(slots=True)
class Behind:
    """One annulus."""

    limit: float
    """[Pa]"""
    rise: float
    """[Pa]"""
    rise_s: float
    """[s]"""
    settings: AnnulusSettings
    middle: Middle = field(default_factory=lambda: Middle(6))
    past: Span = field(init=False)
    fast: int = 0
    start: float = nan
    """Where the called rise began. [Pa]"""
    rose_at: float = nan
    """When it last rose. [s]"""
    said: int = Severity.NONE
    rate: float = nan
    """Over the last `rise_s`. [Pa/s]"""
    known: bool = False
    """It was read at least once."""

    def __post_init__(self) -> None:
        self.past = Span(self.rise_s)

    @property
    def _now(self) -> tuple[float, ...]:
        return float(self.said), self.start, self.rate, float(self.known)

    def process(self, t: FloatArray, x: FloatArray, rest: Mask, still: Mask) -> FloatArray:
        """Go on by the bins of a block.

        Parameters
        ----------
        t, x : ndarray
            Ends of the bins [s] and pressures [Pa], shape (m,).
        rest, still : ndarray of bool
            Where nothing is watched, and where no rise is looked for, shape (m,).

        Returns
        -------
        ndarray
            `said`, `start`, `rate` and `known` after each bin, shape (4, m).
        """
        at = np.flatnonzero(rest | still | np.isfinite(x))
        told = [self._now]
        rows = (column[at].tolist() for column in (t, x, rest, still))
        for now, pressure, rests, stands in zip(*rows, strict=True):
            if rests:
                self.rest()
            else:
                if stands:
                    self.pause(now)
                self.step(now, pressure)
            told.append(self._now)
        newest = np.searchsorted(at, np.arange(t.size), side="right")
        return np.array(told)[newest].T

    def step(self, t: float, x: float) -> None:
        """Go on by a bin."""
        pressure = self.middle.step(t, x)
        if not isfinite(pressure):
            return
        self.known = True
        self.past.step(t, pressure)
        low, set_ = self.past.low(), self.settings
        if self.past.first is not None:
            began, from_ = self.past.first
            self.rate = (pressure - from_) / (t - began) if t > began else nan
        rise = pressure - low
        self.fast = self.fast + 1 if rise >= self.rise else 0
        if rise >= set_.back * self.rise:
            self.rose_at = t
        if self.fast >= TWICE and not isfinite(self.start):
            self.start = low
        elif isfinite(self.start):
            gone = pressure - self.start < set_.back * self.rise
            if gone or t - self.rose_at > set_.rest_s:
                self.start = nan
        most = self.start + set_.critical_times * self.rise if self.limit == inf else self.limit
        if self.said == Severity.CRITICAL:  # the reading plays about the limit
            most -= set_.back * self.rise
        if pressure >= most:
            self.said = Severity.CRITICAL
        else:
            self.said = Severity.WARNING if isfinite(self.start) else Severity.NONE

    def pause(self, t: float) -> None:
        """Look for no rise now; a call that stands goes on."""
        self.past.clear()
        self.fast, self.rose_at = 0, t

    def rest(self) -> None:
        """Watch nothing for now."""
        self.middle.clear()
        self.past.clear()
        self.fast, self.start, self.said = 0, nan, Severity.NONE


@dataclass(slots=True, eq=False)
class AnnulusPressure:
    """Call an annulus that rises by 20 psi in 2 min, or stands above its own limit.

    Medians of 30 s against the lowest of the last two minutes: circulating warms an annulus up at a
    few psi/min, which stays below that and has the level for a limit. With the pumps off the well's
    own annulus has the pressure of a shut-in well: no rise of it is called then. The level (or ten
    times the rise where none is given) is critical. A rise that stopped ten minutes ago ends the
    call, and so does pressure that goes back. The table ``[[annuli]]`` names the strings; without
    it the usual two gauges are watched as far as they are read. A declared cementing or pressure
    test is not watched. It cannot see an annulus of the well file without its gauge.
    """

    kinds: ClassVar[tuple[str, ...]] = ("annulus_pressure",)
    rule: ClassVar[str] = (
        "Pressure behind a string 20 psi above the lowest of the last 2 min, or above its limit."
    )
    settings: AnnulusSettings
    listed: Sequence[Annulus] = ()
    strings: tuple[Annulus, ...] = field(init=False)
    behind: tuple[Behind, ...] = field(init=False)

    def __post_init__(self) -> None:
        self.strings, s = tuple(self.listed) or USUAL, self.settings
        self.behind = tuple(
            Behind(a.limit or inf, a.rise or s.rise, a.rise_s or s.rise_s, s) for a in self.strings
        )

    def process(self, seen: Seen) -> Mapping[str, Verdict]:
        """Return the verdict on each bin of the block."""
        if not len(seen.bins):
            return nothing_new(self.kinds)
        bins = seen.bins
        rest = busy_bins(seen, "cementing", "pressure_test")
        still = ~rest & (bins["flow_in"] <= FLOWING)
        said, starts, rates, known = np.array([
            one.process(bins.t, bins[a.channel], rest, still & (a.channel == OWN))
            for a, one in zip(self.strings, self.behind, strict=True)
        ]).transpose(1, 0, 2)  # fmt: skip
        severity, which = said.max(axis=0).astype(np.int8), said.argmax(axis=0)
        unread, at = ~known.any(axis=0), np.arange(len(bins))
        start, rate = starts[which, at], rates[which, at]
        sight, reasons = self._sight(bins, unread)
        sight[rest] = NOT_ON_WATCH

        def details(i: int) -> dict[str, Any]:
            string = self.strings[which[i]]
            now = float(bins[string.channel][i])
            return {
                "volume_m3": None,
                "witnesses": [string.name],
                "pressure_Pa": number(now),
                "rise_Pa": number(now - start[i]),
                "rate_Pa_s": number(rate[i]),
                "limit_Pa": string.limit,
            }

        return {self.kinds[0]: Verdict(bins.row, severity, sight, reasons, details, which)}

    def _sight(self, bins: Bins, unread: np.ndarray) -> tuple[Codes, tuple[str, ...]]:
        """Return the sight, and its reasons; an annulus nobody listed need not be read."""
        sight = np.zeros(len(bins), np.int8)
        if not self.listed:
            sight[unread] = 1
            return sight, (f"no {self.strings[0].channel}",)
        for k in range(len(self.strings), 0, -1):
            sight[np.isnan(bins[self.strings[k - 1].channel])] = k
        return sight, tuple(f"no {a.channel}" for a in self.strings)
