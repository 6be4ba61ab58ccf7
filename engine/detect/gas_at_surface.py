"""Gas at the surface, and the word that gas from a trip or a connection is due."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import exp, isfinite, nan
from typing import Any, ClassVar, NamedTuple

import numpy as np

from engine.block import FloatArray
from engine.detect.bins import BIN_S
from engine.detect.bottoms_up import BottomsUp, Mark
from engine.detect.call import NOT_ON_WATCH, Seen, Verdict, blind
from engine.detect.influx import number
from engine.detect.kinds import Severity
from engine.detect.no_bins import nothing_new
from engine.detect.settings_string_heat import GasSettings
from engine.detect.smoothing import smoothed
from engine.ops.lag import AWAY_STANDS, BACK_STANDS
from engine.units import MINUTE

FLOW_S = 20.0
"""Returns are taken over so long. [s]"""
FLOW_WEIGHT = 1 - exp(-BIN_S / FLOW_S)
IN_A_ROW = 3
"""Bins with gas before it is called: one wild reading is none. [-]"""
SLOW = 0.05
"""While there is gas, the background follows at this share of its pace: never frozen. [-]"""
DOWN = 0.1
"""The same where there is less than usual: off bottom no cuttings bring any, and the first that
come again are no rise. [-]"""
LEARNS = 120
"""Bins of pumping that make the first background: ten minutes. [-]"""
NOISE = 4.0
"""More returns must be so many times the noise of the gauge's minute means. [-]"""
ENDS_S = 60.0
"""A call ends so long after the gas. [s]"""


class Smelt(NamedTuple):
    """What one bin tells."""

    severity: int
    background: float
    share: float
    """Returns above flow-in, as a share of it. [-]"""
    mark: Mark | None
    due: tuple[Mark, float] | None
    words: tuple[str, ...]
    learns: bool
    """The background is not known yet."""


NOTHING = Smelt(0, nan, nan, None, None, (), False)
LEARNING = NOTHING._replace(learns=True)


@dataclass(slots=True, eq=False)
class GasAtSurface:
    """Call gas at three times its background, and announce what comes from a trip or connection.

    Mud that stood at the bit while the pumps stood is followed by its strokes to the surface. It
    is announced before it is due (`bottoms_up_due`, an advice: no alarm): 12 min before after a
    trip, 3 min before after a connection, until its window of a tenth of the lag is over. Gas at
    three times its background for 15 s is a warning; in the window of a connection an advice,
    since a little is usual there; with returns 6 % above flow-in at the same time it is critical.

    Not taken for it: faster drilling, which brings more gas in the same measure; a wild reading;
    next to nothing, below 0.3 %. It cannot see gas without a gauge or while the pumps stand, and
    cannot tell when it is due without strokes, lag strokes and depths.
    """

    kinds: ClassVar[tuple[str, ...]] = ("gas_at_surface", "bottoms_up_due")
    rule: ClassVar[str] = (
        "Gas at three times its background for 15 s; critical with 6 % more returns. What stood at "
        "the bit is announced by its strokes to the surface."
    )
    settings: GasSettings
    stand: float
    """Length of a stand. [m]"""
    bottoms_up: BottomsUp = field(init=False)
    background: float = nan
    seen: int = 0
    """Bins it was learnt from at first."""
    share: float = nan
    row: int = 0
    """Bins in a row with gas."""
    last: float = float("-inf")
    """When there was gas enough. [s since 1970-01-01 UTC]"""
    severity: int = Severity.NONE
    _follows: float = nan
    """Weight of a bin in the background. [-]"""

    def __post_init__(self) -> None:
        self._follows = 1 - exp(-BIN_S / self.settings.background_s)
        self.bottoms_up = BottomsUp(
            self.settings, AWAY_STANDS * self.stand, BACK_STANDS * self.stand
        )

    def process(self, seen: Seen) -> Mapping[str, Verdict]:
        """Return the verdicts on each bin of the block."""
        if not len(seen.bins):
            return nothing_new(self.kinds)
        bins, balance = seen.bins, seen.balance
        pumping, flow = balance["pumping"] > 0, bins["flow_in"]
        share = np.full(len(bins), nan)
        np.divide(balance["flow_excess"], flow, out=share, where=flow > 0)
        share[balance["settled"] < FLOW_S] = nan
        noise = np.full(len(bins), nan)
        np.divide(balance["flow_noise"], flow, out=noise, where=flow > 0)
        runs = pumping.tolist()
        smooth = smoothed(share.tolist(), runs, FLOW_WEIGHT, self.share)
        self.share = smooth[-1] if smooth else self.share
        rows = zip(
            bins.t.tolist(), runs, bins["gas"].tolist(), smooth,
            (bins["hole_depth"] - bins["bit_depth"]).tolist(), bins["strokes"].tolist(),
            bins["lag_strokes"].tolist(), _stroke_rate(seen).tolist(), noise.tolist(), strict=True,
        )  # fmt: skip
        told = [self._bin(*row) for row in rows]
        sight, reasons = blind(bins, "gas", "flow_in")
        severity = np.array([one.severity for one in told], np.int8)
        learns = np.array([one.learns for one in told], np.bool_)
        sight[learns & (sight == 0)] = len(reasons) + 1
        reasons = (*reasons, "the background is not known yet: ten minutes of pumping")
        sight[~pumping & (sight == 0) & (severity == 0)] = NOT_ON_WATCH
        due = np.array([Severity.ADVICE if one.due else 0 for one in told], np.int8)
        seen_due, why_due = blind(bins, "strokes", "lag_strokes", "hole_depth")
        seen_due[~pumping] = NOT_ON_WATCH

        def details(i: int) -> dict[str, Any]:
            one = told[i]
            return {
                "volume_m3": None,
                "witnesses": list(one.words),
                "gas_share": number(bins["gas"][i]),
                "background_share": number(one.background),
                "returns_above_flow_in_share": number(one.share),
                "from": one.mark.what if one.mark else "the rock, or not known",
            }

        def when(i: int) -> dict[str, Any]:
            if (found := told[i].due) is None:
                return {"volume_m3": None, "witnesses": []}
            mark, left = found
            minutes = round(left / MINUTE)
            text = f"due in {minutes} min" if minutes > 0 else "due now"
            return {
                "volume_m3": None,
                "witnesses": ["strokes"],
                "note": f"{mark.what} gas {text}",
                "due_in_s": number(left),
                "due_at_strokes": number(mark.due),
                "lag_strokes": number(mark.lag),
            }

        return {
            "gas_at_surface": Verdict(bins.row, severity, sight, reasons, details),
            "bottoms_up_due": Verdict(
                bins.row, due, seen_due, why_due, when,
                np.array([_edition(one.due) for one in told], np.intp),
            ),
        }  # fmt: skip

    def _bin(
        self, t: float, pumping: bool, gas: float, share: float, off: float, strokes: float,
        lag: float, pace: float, noise: float,
    ) -> Smelt:  # fmt: skip
        marks, mark, due, before = self.bottoms_up, None, None, self.severity
        marks.step(t, pumping, off, strokes, lag)
        if not pumping:
            self.row = 0
        else:
            if marks.marks:
                mark, due = marks.here(strokes), marks.coming(strokes, pace)
            if isfinite(gas):
                self._gas(t, gas, mark)
        words = self._words(t, pumping, share, noise, mark) if self.severity else ()
        if not (before or self.severity or due):
            return LEARNING if self.seen < LEARNS else NOTHING
        learns = self.seen < LEARNS
        return Smelt(self.severity, self.background, share, mark, due, words, learns)

    def _words(
        self, t: float, pumping: bool, share: float, noise: float, mark: Mark | None
    ) -> tuple[str, ...]:
        """Let a call go on, grow graver or end; return its witnesses."""
        if not pumping:
            self.last = t  # what was on its way is on its way still
        if t - self.last > ENDS_S:
            self.severity = Severity.NONE
            return ()
        words = ["gas"]
        if mark:
            words.append(f"lag since the {mark.what}")
        if share > max(self.settings.flow, NOISE * noise):
            words.append("return flow")
            self.severity = Severity.CRITICAL
        return tuple(words)

    def _gas(self, t: float, gas: float, mark: Mark | None) -> None:
        s = self.settings
        if self.seen < LEARNS:
            self.seen += 1
            before = self.background if self.seen > 1 else 0.0
            self.background = before + (max(gas, 0.0) - before) / self.seen
            return
        much = gas >= s.least and gas >= s.times * self.background
        self.row = self.row + 1 if much else 0
        if self.row >= IN_A_ROW:
            self.last = t
            routine = mark is not None and mark.what == "connection"
            grade = Severity.ADVICE if routine else Severity.WARNING
            self.severity = max(self.severity, grade)
        pace = SLOW if much else DOWN if gas < self.background else 1.0
        self.background += self._follows * pace * (gas - self.background)


def _edition(due: tuple[Mark, float] | None) -> int:
    """Number of a mark: what is announced anew is another one. [-]"""
    return 0 if due is None else round(due[0].due)


def _stroke_rate(seen: Seen) -> FloatArray:
    """Strokes a second by all pumps in each bin; those that are not known count as none."""
    rates = [seen.bins[f"pump_{k}_rate"] for k in (1, 2, 3)]
    total: FloatArray = np.nansum(rates, axis=0)
    return total
