"""Total loss: the pumps run, nothing returns, and the pits say so too."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import isfinite, nan
from typing import Any, ClassVar

import numpy as np

from engine.block import FloatArray, Mask
from engine.detect.bins import BIN_S
from engine.detect.call import NOT_ON_WATCH, Seen, Verdict, blind, number
from engine.detect.kinds import Severity
from engine.detect.no_bins import nothing_new
from engine.detect.settings_volume import LossSettings

BLIND_DRILLING = (
    "blind drilling is declared, no returns are expected: watch fill, level, pressure, hook load, "
    "heat and the water balance"
)
"""Why what looks at returns cannot see then."""
LINE_S = 90.0
"""So long may the flow line take to fill after a start of the pumps. [s] common practice"""


@dataclass(frozen=True, slots=True)
class Empty:
    """Since when nothing has returned, and what the pits held then."""

    since: float = nan
    """[s since 1970-01-01 UTC]"""
    level: float = nan
    """Unexplained volume. [m3]"""
    called: bool = False
    back: float = nan
    """Since when there are returns again. [s since 1970-01-01 UTC]"""


@dataclass(slots=True, eq=False)
class NoReturns:
    """Tells from bin to bin whether the hole takes everything."""

    settings: LossSettings
    state: Empty = Empty()

    def process(self, seen: Seen) -> tuple[Mask, FloatArray, Mask]:
        """Go on by the bins of a block.

        Returns
        -------
        on : ndarray of bool
            Whether all is lost, shape (m,). [-]
        lost : ndarray
            Since the returns went, shape (m,); NaN if not known. [m3]
        due : ndarray of bool
            Whether there should be returns, shape (m,). [-]
        """
        bins, balance = seen.bins, seen.balance
        due = (balance["pumping"] > 0) & (balance["settled"] > LINE_S)
        empty = bins["flow_out"] < self.settings.total_share * bins["flow_in"]
        on, lost = np.zeros(len(bins), np.bool_), np.full(len(bins), nan)
        if not isfinite(self.state.since) and not (due & empty).any():
            return on, lost, due  # nearly always
        rows = zip(
            bins.t.tolist(), due.tolist(), empty.tolist(), balance["unexplained"].tolist(),
            bins["flow_in"].tolist(), strict=True,
        )  # fmt: skip
        for i, row in enumerate(rows):
            on[i], lost[i] = self._bin(*row)
        return on, lost, due

    def _bin(
        self, t: float, due: bool, empty: bool, level: float, flow: float
    ) -> tuple[bool, float]:
        s = self.state
        if not (due and empty):
            back = s.back if isfinite(s.back) else t
            held = s.called and t - back < 2 * BIN_S
            self.state = Empty(s.since, s.level, True, back) if held else Empty()
            return held, s.level - level if held else nan
        if not isfinite(s.since):
            s = Empty(t - BIN_S, level)
        gone = t - s.since
        lost = s.level - level
        falls = not isfinite(lost) or lost >= 0.3 * flow * gone
        called = s.called or (gone >= self.settings.total_s and falls)
        self.state = Empty(s.since, s.level, called)
        return called, lost


@dataclass(slots=True, eq=False)
class TotalLoss:
    """Call a total loss 20 s after the returns have gone, if the pits fall.

    Returns are gone below 5 % of flow-in. The pits must fall by three tenths of what is pumped:
    a dead return gauge has the same zero and full pits, and is called as such elsewhere. With the
    pits unknown the call is made on the gauge alone. It cannot see without return gauge or flow-in,
    nor where the well file says that no returns are expected.
    """

    kinds: ClassVar[tuple[str, ...]] = ("total_loss",)
    rule: ClassVar[str] = (
        "Returns below 5 % of flow-in for 20 s while the pits fall by 0.3 of what is pumped."
    )
    settings: LossSettings
    blind_drilling: bool = False
    returns: NoReturns = field(init=False)

    def __post_init__(self) -> None:
        self.returns = NoReturns(self.settings)

    def process(self, seen: Seen) -> Mapping[str, Verdict]:
        """Return the verdict on each bin of the block."""
        if not len(seen.bins):
            return nothing_new(self.kinds)
        bins = seen.bins
        on, lost, due = self.returns.process(seen)
        sight, reasons = blind(bins, "flow_out", "flow_in")
        sight[~due & ~on] = NOT_ON_WATCH
        if self.blind_drilling:
            on[:], sight[:] = False, 1
            reasons = (BLIND_DRILLING,)

        def details(i: int) -> dict[str, Any]:
            known = isfinite(lost[i])
            return {
                "volume_m3": number(lost[i]),
                "witnesses": ["return flow", "pit volume"] if known else ["return flow"],
                "flow_in_m3_s": number(bins["flow_in"][i]),
                "flow_out_m3_s": number(bins["flow_out"][i]),
            }

        severity = np.where(on, Severity.CRITICAL, Severity.NONE).astype(np.int8)
        return {"total_loss": Verdict(bins.row, severity, sight, reasons, details)}
