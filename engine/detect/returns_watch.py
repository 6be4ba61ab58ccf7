"""The return gauge measures nothing: bypassed, stuck, gone, or beyond its range."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import inf, isfinite, nan
from typing import Any, ClassVar

import numpy as np

from engine.block import FloatArray, Mask, Quality, Table
from engine.detect.bins import BIN_S, newest
from engine.detect.call import NOT_ON_WATCH, SEES, Seen, Verdict
from engine.detect.influx import number
from engine.detect.kinds import Severity
from engine.detect.pressure_bins import busy
from engine.detect.settings_pressures import ReturnsSettings
from engine.ops.primitives import Delay, Dwell, previous
from engine.ops.table import pick, times

SURE_S = 20.0
"""A loss that the pits have shown for so long is one until returns come again. [s]"""
EMPTY, FROZEN, LOST, OVER = 1, 2, 3, 4
WHY = ("", "reads nothing", "frozen", "sends nothing", "out of range")
"""Why nothing is measured, by code. [-]"""
GAUGES = ("flow_out", "flow_out_share")


@dataclass(slots=True)
class Gauge:
    """The return gauge from bin to bin."""

    settings: ReturnsSettings
    usual: float
    """Usual flow-in, NaN until it is known. [m3/s]"""
    level: float = nan
    """Unexplained volume at `level_at`. [m3]"""
    level_at: float = nan
    """[s]"""
    loss: bool = False
    """The pits have said for long enough that it is a loss."""
    back: float = nan
    """Since when there are returns again. [s]"""
    silent: float = nan
    """How long it has sent nothing while pumping; NaN: it was never read. [s]"""
    why: int = 0
    """What is called."""

    @property
    def least(self) -> float:
        """Flow-in above which returns must show. [m3/s]"""
        set_ = self.settings
        return set_.share_in * self.usual if isfinite(self.usual) else set_.flow_in

    @property
    def well(self) -> bool:
        """Nothing is wrong, and nothing changes while returns go on."""
        rests = not self.why and not self.loss and self.silent == 0.0
        return rests and isfinite(self.back) and not isfinite(self.level)

    def step(
        self, t: float, flow: float, pumping: bool, share: float, empty_s: float, bits: int,
        settled: float, levels: tuple[float, float],
    ) -> int:  # fmt: skip
        """Go on by a bin and return why nothing is measured, 0 if something is. [-]

        Parameters
        ----------
        t : float
            End of the bin. [s since 1970-01-01 UTC]
        flow : float
            Flow-in, NaN if unknown. [m3/s]
        pumping : bool
            It is at least `least`; False if unknown.
        share : float
            Returns as a share of it, NaN if unknown. [-]
        empty_s : float
            So long have all samples shown none. [s]
        bits : int
            Quality of the return gauge.
        settled : float
            Since the last start or change of flow. [s]
        levels : (float, float)
            Unexplained volume, now and filtered. [m3]
        """
        set_ = self.settings
        if isfinite(share):
            self.silent = 0.0
            shows = share >= set_.empty_share
            due = pumping and settled > set_.settle_s and not shows
            self._read(t, flow, shows and pumping, empty_s if due else nan, levels)
        elif pumping and bits & Quality.FROZEN:
            self.why, self.silent = FROZEN, 0.0
        elif pumping and not bits & Quality.OUT_OF_RANGE:
            self.silent += BIN_S
            if self.silent >= set_.lost_s:
                self.why = LOST
        return self.why

    def _read(
        self, t: float, flow: float, shows: bool, gone: float, levels: tuple[float, float]
    ) -> None:
        """Go on by a bin with a reading; `gone` is NaN where no returns are to be expected."""
        set_ = self.settings
        if shows:  # noise of a still gauge is none
            self.back, self.loss = self.back if isfinite(self.back) else t, False
            if t - self.back >= BIN_S or self.why != EMPTY:
                self.why = 0
        else:
            self.back = nan
        if not isfinite(gone):
            self.level = nan
            if self.why != EMPTY:
                self.why = 0
            return
        level, filtered = levels
        if not isfinite(self.level):
            self.level, self.level_at = filtered, t - BIN_S
        watched = t - self.level_at
        if not (isfinite(level) and isfinite(self.level)):
            return
        falls = self.level - level >= set_.loss_share * flow * watched
        self.loss |= falls and watched > SURE_S
        if falls or self.loss:
            self.why = 0
        elif min(gone, watched) >= set_.empty_s:
            self.why = EMPTY


@dataclass(slots=True, eq=False)
class ReturnsNotMeasured:
    """Call a return gauge that measures nothing while mud is pumped.

    Critical: it reads below 5 % of flow-in for 8 s at more than a fifth of the usual flow, and the
    pits do not fall by three tenths of what is pumped (else it is a total loss, which has its own
    call; without pits the two cannot be told apart, and that one is called). Critical at once, in
    every state: a reading outside of the gauge's range for two samples; it is never taken as
    nothing, and the raw value is kept. A warning: the gauge is frozen, or has sent nothing for two
    minutes. The flow line has 90 s to fill after the pumps start; with the pumps off a gauge that
    was found dead stays so until it shows returns. Returns declared as bypassed are advice. A gauge
    of a share of a full line stands in where no flow is measured.
    """

    kinds: ClassVar[tuple[str, ...]] = ("return_flow_not_measured",)
    rule: ClassVar[str] = (
        "Returns below 5 % of flow-in for 8 s without a loss in the pits, a frozen or silent "
        "gauge while pumping, or a reading out of its range."
    )
    settings: ReturnsSettings
    usual: float | None = None
    """Usual flow-in, from the well file. [m3/s]"""
    gauge: Gauge = field(init=False)
    over: Delay = field(init=False)
    runs: tuple[Dwell, Dwell] = field(default_factory=lambda: (Dwell(), Dwell()))
    """Of samples that show no returns: by flow and by share."""
    seen_flow: bool = False
    """A flow was read, not only a share."""
    newest: tuple[int, float, bool] = (0, 0.0, False)
    """Why, sight and whether declared, as of the newest bin."""
    was_over: bool = False

    def __post_init__(self) -> None:
        self.gauge = Gauge(self.settings, nan if self.usual is None else self.usual)
        self.over = Delay(self.settings.over_s, self.settings.over_off_s)

    def process(self, seen: Seen) -> Mapping[str, Verdict]:
        """Return the verdict on each bin of the block, and on rows that leave the range."""
        rows, bins = seen.rows, seen.bins
        t = times(rows)
        over, reading = self._over(rows)
        changed = np.flatnonzero(over != previous(over, self.was_over))
        if t.size:
            self.was_over = bool(over[-1])
        told = np.array([self.newest, *self._bins(seen)])
        moments = np.union1d(bins.row, changed).astype(np.intp)
        why, sight, declared = told[newest(bins.row, t.size)[moments]].T
        why = np.where(over[moments], OVER, why).astype(np.intp)
        sight = np.where(why > 0, SEES, sight)
        severity = np.select(
            [why == 0, why == OVER, declared > 0, why == EMPTY],
            [Severity.NONE, Severity.CRITICAL, Severity.ADVICE, Severity.CRITICAL],
            Severity.WARNING,
        ).astype(np.int8)  # fmt: skip
        flow_in = pick(rows, "flow_in").value

        def details(i: int) -> dict[str, Any]:
            row = int(moments[i])
            return {
                "volume_m3": None,
                "witnesses": ["flow in", "pit volume"] if why[i] == EMPTY else ["return gauge"],
                "why": WHY[why[i]],
                "flow_in_m3_s": number(flow_in[row]),
                "reading": number(reading[row]),
            }

        verdict = Verdict(
            moments, severity, sight.astype(np.int8), ("no flow_in", "no flow_out"), details, why
        )
        return {self.kinds[0]: verdict}

    def _over(self, rows: Table) -> tuple[Mask, FloatArray]:
        """Rows out of range for long enough, and the raw readings behind, shape (n,)."""
        bit = np.uint16(Quality.OUT_OF_RANGE)
        flow, share = (pick(rows, name) for name in GAUGES)
        wild = [((b.quality & bit) != 0) & ~np.isnan(b.value) for b in (flow, share)]
        reading = np.where(wild[1] & ~wild[0], share.value, flow.value)
        out = wild[0] | wild[1]
        before = self.over.state
        if before.on or before.run.code is not False or out.any():
            out = self.over.process(flow.t, out)[0]
        return out, reading

    def _empty(self, rows: Table) -> tuple[FloatArray, FloatArray]:
        """Return for how long flow and share have shown no returns, shape (n,) each. [s]"""
        least = self.settings.empty_share
        t, flow = times(rows), pick(rows, "flow_in").usable()
        none = (
            pick(rows, "flow_out").usable() < least * flow,
            pick(rows, "flow_out_share").usable() < least,
        )
        by_flow, by_share = (
            np.where(mask, t - run.process(t, mask), 0.0)
            for mask, run in zip(none, self.runs, strict=True)
        )
        return by_flow, by_share

    def _bins(self, seen: Seen) -> list[tuple[int, float, bool]]:
        """Return why, sight and whether it was declared for each bin."""
        bins, balance = seen.bins, seen.balance
        out: list[tuple[int, float, bool]] = []
        by_flow, by_share = (run[bins.row].tolist() for run in self._empty(seen.rows))
        rows = zip(
            bins.t.tolist(), bins["flow_in"].tolist(), bins["flow_out"].tolist(),
            bins["flow_out_share"].tolist(), bins.quality["flow_out"].tolist(),
            bins.quality["flow_out_share"].tolist(), balance["settled"].tolist(),
            balance["unexplained"].tolist(), balance["filtered"].tolist(), by_flow, by_share,
            strict=True,
        )  # fmt: skip
        gauge, learns = self.gauge, self.usual is None
        steady, empty = 2 * self.settings.settle_s, self.settings.empty_share
        well = self.seen_flow and gauge.well
        for t, flow, measured, share, bits, bits_2, settled, level, filtered, run, run_2 in rows:
            known = isfinite(flow)
            if learns and known and settled > steady:
                gauge.usual = max(flow, gauge.usual)
            least = gauge.least
            returned = measured / max(least, flow)
            declared = bool(seen.jobs) and busy(seen.jobs, t, "returns_bypassed")
            if well and flow >= least and empty <= returned < inf:
                out.append((0, 0, declared))  # most bins
                continue
            if not self.seen_flow:
                self.seen_flow = isfinite(measured)
            if not self.seen_flow:
                returned, bits, run = share, bits_2, run_2
            levels = (level, filtered)
            why = gauge.step(t, flow, flow >= least, returned, run, bits, settled, levels)
            idle = known and flow <= 0
            sight: float = NOT_ON_WATCH if idle else 0
            if not known:
                sight = 1
            elif not idle and not isfinite(returned):
                sight = 2
            out.append((why, sight, declared))
            well = self.seen_flow and gauge.well
        self.newest = out[-1] if out else self.newest
        return out
