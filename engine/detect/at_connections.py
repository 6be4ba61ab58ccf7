"""What is called while the pumps stand: flow, a flowback unlike the others, and a question."""

from __future__ import annotations

from collections import deque
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from math import exp, inf, isfinite, nan
from typing import Any, ClassVar, NamedTuple

import numpy as np

from engine.detect.ballooning import Bank, Evidence, question
from engine.detect.bins import BIN_S
from engine.detect.call import NOT_ON_WATCH, SEES, Seen, Verdict
from engine.detect.drain_back import DrainBack
from engine.detect.fingerprint import EMPTY, MARKS, NOISE_S, Curve, Fingerprints, Mark
from engine.detect.influx import number
from engine.detect.kinds import Severity
from engine.detect.settings_connections import ConnectionSettings
from engine.states import RigState

TRIPPING = (RigState.TRIPPING_IN, RigState.TRIPPING_OUT)
UNSETTLED, TRIP = "the pumps had not run steadily", "a trip"
INFLUX_BLIND = ("no pit_volume", UNSETTLED, "too few connections are known")
FLOW_BLIND = ("no flow_out and no pit_volume",)
_EMPTY = NOT_ON_WATCH
SLOPE_Z = 4.0
"""A minute that gives so much more than usual is advice. [-]"""
RAMP_S = 60.0
"""Pumps that ran steadily until so long before they stood have been ramped down. [s]"""
BOTH_Z, BOTH_S = 3.0, 60.0
"""Pits that climb so clearly, after so long, bear out a gauge whose zero nobody has seen. [-, s]"""
TREND = 3
"""So many connections running with a small excess are one. [-]"""
WEIGHT = 1 - exp(-BIN_S / NOISE_S)


class Told(NamedTuple):
    """What is known at one bin."""

    influx: int
    flow: int
    ballooning: int
    edition: int
    influx_sight: int
    flow_sight: int
    mark: Mark | None
    share: float
    came: float
    evidence: Evidence | None
    trend: bool


@dataclass(slots=True)
class Stop:
    """What was called in the present stop, and stands until the pumps have settled again."""

    pumping: bool = True
    flow: float = nan
    """Settled flow before. [m3/s]"""
    steady_at: float = -inf
    """When the pumps last ran steadily. [s since 1970-01-01 UTC]"""
    steady: bool = False
    """They did before this stop."""
    influx: int = Severity.NONE
    called: int = Severity.NONE
    """Flow with the pumps off."""
    both: bool = False
    """Gauge and pits together, without a reference."""
    trend: bool = False
    trip: bool = False
    evidence: Evidence | None = None


@dataclass(slots=True, eq=False)
class AtConnections:
    """Watch every stop of the pumps: by the pits, by the return gauge, by either alone.

    The gauge's drain-back and the volume that comes back are learnt from stop to stop. Flow above
    the drain-back for 30 s is called, and so are two marks running of a volume out of line;
    both are critical together. A crew that stops the pumps otherwise, a waver of the gauge or a
    wave on the pits is in the spread of what was learnt. Pipe that moves does not count, nor
    does mud that was declared. Three small excesses running are advice, a minute out of line is.
    With nothing to compare with, flow of 5 % that no longer falls is called, less if the pits
    climb with it, and what comes after the third minute must not grow.
    Flowback that might be ballooning is asked about with its evidence, beside these calls
    and never in their place.

    On a trip the trip sheet watches instead. Blind without pits (the volume), without both pits and
    gauge (the flow), and, for the volume of the first three minutes, after pumping too short to
    compare with, or while fewer than three connections are known.
    """

    kinds: ClassVar[tuple[str, ...]] = ("influx_at_connection", "flow_pumps_off", "ballooning")
    rule: ClassVar[str] = (
        "Pumps off: return flow more than 0.3 bbl/min above the learned drain-back for 30 s (5 % "
        "of full before 3 are known, or less that the pits bear out); or a volume 4.5 standard "
        "deviations above that of the last 8 connections at two marks running. Ballooning is "
        "asked about, never concluded."
    )
    settings: ConnectionSettings
    settle_s: float
    prints: Fingerprints = field(init=False)
    drain: DrainBack = field(init=False)
    bank: Bank = field(default_factory=Bank)
    stop: Stop = field(default_factory=Stop)
    last: deque[float] = field(default_factory=lambda: deque(maxlen=TREND))
    """Deviation at the end of the newest stops. [-]"""
    curves: list[Curve] = field(default_factory=list)
    """Stops that ended in this block."""

    def __post_init__(self) -> None:
        self.prints, self.drain = Fingerprints(self.settings), DrainBack(self.settings)

    def process(self, seen: Seen) -> Mapping[str, Verdict]:
        """Return the verdicts on each bin of the block."""
        bins, b = seen.bins, seen.balance
        self.curves = []
        rows = zip(
            bins.t.tolist(), (b["pumping"] > 0).tolist(), b["settled"].tolist(),
            b["unexplained"].tolist(), b["filtered"].tolist(), b["off_time"].tolist(),
            b["off_volume"].tolist(), bins["flow_in"].tolist(), bins["flow_out"].tolist(),
            bins["bit_depth"].tolist(), bins["rig_state"].tolist(), strict=True,
        )  # fmt: skip
        told = [self._pumping(*r) if r[1] else self._standing(*r) for r in rows]
        columns = np.array([one[:6] for one in told], np.int64).reshape(len(told), 6).T
        influx, flow, asked, edition, influx_sight, flow_sight = columns

        def verdict(
            severity: Any, sight: Any, reasons: tuple[str, ...], details: Any, edition: Any = None
        ) -> Verdict:
            return Verdict(
                bins.row, severity.astype(np.int8), sight.astype(np.int8), reasons, details, edition
            )

        # What it cannot compare yet, it does not ask about; the volume says so already.
        asks = np.where(influx_sight > 1, SEES, influx_sight)
        return {
            "influx_at_connection": verdict(
                influx, influx_sight, INFLUX_BLIND, lambda i: _volume(told[i])
            ),
            "flow_pumps_off": verdict(flow, flow_sight, FLOW_BLIND, lambda i: _flow(told[i])),
            "ballooning": verdict(
                asked,
                asks,
                INFLUX_BLIND[:1],
                lambda i: _question(told[i]),
                edition,
            ),
        }

    def _pumping(
        self, t: float, _on: bool, settled: float, level: float, mean: float, _off: float,
        _volume: float, flow_in: float, out: float, _bit: float, _rig: float,
    ) -> Told:  # fmt: skip
        s = self.stop
        if not s.pumping:
            self._ended()
        s.pumping = True
        if settled >= self.settle_s:
            s.steady_at = t
            s.flow = flow_in if isfinite(flow_in) else s.flow
            self.prints.pumping(level - mean, WEIGHT)
            self.drain.pumping(out)
            self.bank.pumping(mean)
            s.influx = s.called = Severity.NONE
            s.evidence, s.trend = None, False
        return Told(s.influx, s.called, 0, 0, _EMPTY, _EMPTY, None, nan, nan, None, s.trend)

    def _standing(
        self, t: float, _on: bool, settled: float, level: float, mean: float, off: float,
        volume: float, flow_in: float, out: float, bit: float, rig: float,
    ) -> Told:  # fmt: skip
        s, prints = self.stop, self.prints
        if s.pumping:
            s.pumping = s.trip = s.both = False
            s.steady = t - off - s.steady_at <= RAMP_S
            prints.begin(t - off, s.flow, "" if s.steady else UNSETTLED)
            self.drain.begin()
        if rig in TRIPPING and not s.trip:
            s.trip = True
            if prints.now is not None:
                prints.now = replace(prints.now, refused=TRIP)
        mark = prints.step(off, volume)
        newest = prints.marks[-1] if prints.marks else None
        flows = self.drain.step(off, out, bit)
        s.both = s.both or self._both(off)
        flows = (flows or s.both) and not s.trip
        seen_out = isfinite(out)
        if mark is not None and not s.trip:
            s.influx = max(s.influx, self._volume_severity(mark, flows))
            s.evidence = self.bank.evidence(prints.marks)
            if not seen_out:
                flows = prints.twice()
        if flows:
            grave = self.drain.came >= self.settings.critical or s.influx >= Severity.WARNING
            s.called = max(s.called, Severity.CRITICAL if grave else Severity.WARNING)
        elif seen_out and not self.drain.called:
            s.called = Severity.NONE
        asked = self._asked(off, newest)
        edition = int(off // self.settings.halves_s) if asked else 0
        pits = isfinite(volume)
        return Told(
            s.influx, s.called, asked, edition, self._influx_sight(off, pits),
            _EMPTY if s.trip else SEES if seen_out or pits else 1,
            newest, self.drain.share, self.drain.came, s.evidence, s.trend,
        )  # fmt: skip

    def _both(self, off: float) -> bool:
        """Whether gauge and pits show the same flow after a stop that cannot be compared yet."""
        since, prints, flow = self.settings.unlearned_s, self.prints, self.drain.holds
        if len(self.drain.curves) >= self.settings.least or off < since + BOTH_S:
            return False
        if not flow >= self.settings.flow_least:
            return False
        rate, sd = prints.climb.fit(since, max(prints.noise, self.settings.floor))
        return rate > BOTH_Z * sd and rate > flow / 2

    def _volume_severity(self, mark: Mark, flows: bool) -> int:
        if self.prints.twice():
            grave = flows or mark.excess >= self.settings.critical
            return Severity.CRITICAL if grave else Severity.WARNING
        before = [*self.last][1 - TREND :]
        small = self.settings.small_z
        late = mark.off >= MARKS[1]
        if late and len(before) == TREND - 1 and min([*before, mark.z]) > small:
            self.stop.trend = True
            return Severity.ADVICE
        return Severity.ADVICE if mark.off > MARKS[1] and mark.slope > SLOPE_Z else Severity.NONE

    def _asked(self, off: float, mark: Mark | None) -> int:
        if off < self.settings.halves_s or mark is None or self.stop.trip:
            return Severity.NONE
        much = mark.excess >= self.settings.asked and mark.z > self.settings.accepted_z
        return Severity.ADVICE if much else Severity.NONE

    def _influx_sight(self, off: float, pits: bool) -> int:
        now = self.prints.now
        if now is None or now.refused == TRIP:
            return _EMPTY
        if not pits:
            return 1
        if off > MARKS[EMPTY] or isfinite(self.prints.expected(off)[0]):
            return SEES
        return 2 if now.refused else 3

    def _ended(self) -> None:
        s, marks = self.stop, self.prints.marks
        called = max(s.influx, s.called) >= Severity.WARNING
        curve = self.prints.end(called)
        self.drain.end(not called and not s.trip and s.steady)
        if curve is None:
            return
        self.curves.append(curve)
        if not s.trip and marks and isfinite(marks[-1].z):
            self.last.append(marks[-1].z)
            if marks[-1].z > self.settings.accepted_z:
                self.bank.end(marks[-1].excess)


def _volume(told: Told) -> dict[str, Any]:
    mark = told.mark
    words = ["pit volume"] + (["return flow"] if told.flow else [])
    found = {} if mark is None else {
        "after_s": round(mark.off), "came_m3": number(mark.volume), "z": number(mark.z),
        "slope_z": number(mark.slope),
    }  # fmt: skip
    return {
        "volume_m3": None if mark is None else number(mark.excess),
        "witnesses": words,
        **found,
        **({"trend": f"{TREND} connections running gave a little more"} if told.trend else {}),
    }


def _flow(told: Told) -> dict[str, Any]:
    gauge = isfinite(told.share)
    by_pits = told.mark is not None and (not gauge or told.influx >= Severity.WARNING)
    volume = told.came if gauge else told.mark.excess if told.mark else nan
    return {
        "volume_m3": number(volume),
        "witnesses": [w for w, on in (("return flow", gauge), ("pit volume", by_pits)) if on],
        "share_above_drain_back": number(told.share),
    }


def _question(told: Told) -> dict[str, Any]:
    e = told.evidence
    if e is None:
        return {"volume_m3": None, "witnesses": []}
    return {
        "volume_m3": number(e.returned),
        "witnesses": ["pit volume"],
        "question": question(e),
        "second_half_over_first": number(e.ratio),
        "lost_before_m3": number(e.bank),
        "stops_like_it": e.repeats,
    }
