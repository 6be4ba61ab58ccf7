"""The standpipe against its reference, once for all detectors that go by it.

The reference survives connections: the first steady half minute after one is compared with the
last before it, as long as the pumps make the same strokes. At another rate the exponent of the
flow tells what to expect, with a tolerance, until five minutes at that rate have taught it. Depth
is in the expected pressure. Another mud (by the density that goes in) or another string (the bit
was out) begins anew. Sudden steps are taken out of the residual, so that what comes after one is
seen as well, and are put back when the pressure returns.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from math import inf, isfinite, log, nan
from statistics import median
from typing import Any, NamedTuple

import numpy as np

from engine.block import FloatArray
from engine.detect.bins import BIN_S
from engine.detect.call import NOT_ON_WATCH, SEES, Codes, Seen
from engine.detect.settings_standpipe import StandpipeSettings
from engine.detect.standpipe_fall import Fall, Fallen
from engine.detect.standpipe_reference import BLOCK_S, USUAL, Reference
from engine.detect.standpipe_steps import NEVER, Step, Steps
from engine.detect.standpipe_witness import Mud, Torque

PER_BLOCK = round(BLOCK_S / BIN_S)
QUICK_S = 10.0
"""So soon after a change of flow great changes of pressure can be told. [s]"""
RETURNS_S = 90.0
"""After a start of the pumps or another rate, until the returns are compared. [s]"""
OUT_OF_HOLE = 100.0
"""A bit that was higher than this may be another one. [m]"""
REASONS = (
    "no standpipe_pressure", "no flow_in", "learning the pressure", "another mud is going in",
    "learning the pressure at this rate",
)  # fmt: skip
NO_PRESSURE, NO_FLOW, LEARNING, OTHER_MUD, NEW_RATE = range(1, 6)
STILL = -2
"""The pumps stand: what was before is over. [-]"""
MEAN = 3
"""Bins of the short mean. [-]"""
RETURNS_BINS = 12
"""Bins of the mean of the returns: a minute, as their noise is of. [-]"""
AFTER = 24
"""Bins in which a new step is measured once more: the first 15 s are still rising, and two minutes
of noise even out. [-]"""
PACKS = 4.0
"""Torque above usual, in its standard deviations, that tells a pack-off from a step. [-]"""
GRIPS = 1.25
"""Torque after a rise over that before it that does the same. [-]"""
RETURNS_LOST = 0.05
"""Returns this much down, and three times the noise of the gauge, before a step. [-]"""
CALM = 4.0
"""Sum above which blocks no longer teach the noise. [-]"""


class At(NamedTuple):
    """What one bin says; shares of the pressure are differences of logarithms."""

    t: float
    sight: int = NOT_ON_WATCH
    """`SEES`, `NOT_ON_WATCH` or the place in `REASONS`. [-]"""
    now: float = nan
    """Residual, mean of 15 s; NaN: not comparable now. [-]"""
    total: float = nan
    """The same with all steps. [-]"""
    tolerance: float = 0.0
    returns: float = nan
    """Excess of the returns as a share of the flow, mean of 60 s. [-]"""
    returns_noise: float = nan
    torque: float = nan
    """Torque above usual, mean of 15 s in its standard deviations. [-]"""
    torque_share: float = nan
    step: Step = NEVER
    """Newest one."""
    shift: float = 0.0
    """Steps that stand. [-]"""
    unexplained: float = nan
    """Volume, filtered. [m3]"""
    noise: float = nan
    """Of a block. [-]"""
    fall: Fallen = Fallen()


@dataclass(slots=True)
class StandpipeState:
    """What is carried from bin to bin beside the parts' own states."""

    ready: bool = False
    block: list[float] = field(default_factory=list)
    flows: list[float] = field(default_factory=list)
    on_bottom: bool = True
    step: Step = NEVER
    shift: float = 0.0
    back: int = 0
    """Bins for which the pressure has been back from a step. [-]"""
    after: list[float] | None = None
    """Residuals after a step that is not yet measured to the end. [-]"""


@dataclass(slots=True, eq=False)
class Standpipe:
    """Compares bin by bin; `process` may be asked by every detector of one block."""

    settings: StandpipeSettings
    fall: Fall
    least_step: float
    """A smaller change within half a minute is no step. [-]"""
    state: StandpipeState = field(default_factory=StandpipeState)
    reference: Reference = field(init=False)
    steps: Steps = field(init=False)
    mud: Mud = field(init=False)
    turning: Torque = field(default_factory=Torque)
    _short: deque[float] = field(default_factory=lambda: deque(maxlen=MEAN))
    _returns: deque[float] = field(default_factory=lambda: deque(maxlen=RETURNS_BINS))
    _seen: Seen | None = None
    _out: list[At] = field(default_factory=list)
    sight: Codes = field(default_factory=lambda: np.empty(0, np.int8))
    """Of each bin of the block, shape (m,). [-]"""

    def __post_init__(self) -> None:
        self.reference = Reference(self.settings)
        self.steps = Steps(self.least_step)
        self.mud = Mud(self.settings.density_change)

    def process(self, seen: Seen) -> Sequence[At]:
        """Return what each bin of the block says."""
        if seen is not self._seen:
            self._seen = seen
            self._out = self._bins(self._rows(seen))
            self.sight = np.array([at.sight for at in self._out], np.int8)
        return self._out

    def _rows(self, seen: Seen) -> Iterator[tuple[Any, ...]]:
        """Return what each bin shows: all that needs no state of this class."""
        bins, b = seen.bins, seen.balance
        p, middle, q = bins["standpipe_pressure"], bins["flow_in"], bins["flow_in_mean"]
        settled, on = b["settled"], bins["on_bottom"] != 0.0  # unknown is taken as drilling
        idle = np.select(
            (~np.isfinite(middle), (b["pumping"] == 0) | (q <= 0), p > 0, np.isfinite(p)),
            (NO_FLOW, STILL, SEES, NOT_ON_WATCH), NO_PRESSURE,
        )  # fmt: skip
        goes = (idle == SEES).tolist()
        torque, rotary = bins["torque"].tolist(), bins["rotary"].tolist()
        turning = self.turning.process(
            goes, torque, rotary, on.tolist(), (settled > self.settings.settle_s).tolist()
        )
        mud = self.mud.process(
            *(bins[name].tolist() for name in ("density_in", "strokes", "lag_strokes"))
        )
        with np.errstate(divide="ignore", invalid="ignore"):
            returns = np.where(settled > RETURNS_S, b["flow_excess"] / q, nan)
            noise = b["flow_noise"] / q
            lost = -np.fmax(RETURNS_LOST, 3 * b["flow_noise"] / q)
        lit = np.array([1, 2, 4]) @ [bins[f"pump_{k}_rate"] > 0.1 for k in (1, 2, 3)]
        columns = (
            bins.t, idle, bins["bit_depth"] < OUT_OF_HOLE, q, on, settled, lit, bins["hook_load"],
            returns, noise, lost, b["filtered"],
        )  # fmt: skip
        bare = self._bare(p, middle, q, bins["expected_pressure"], goes)
        return zip(*(c.tolist() for c in columns), torque, rotary, *mud, *turning, *bare,
                   strict=True)  # fmt: skip

    def _bins(self, rows: Iterator[tuple[Any, ...]]) -> list[At]:
        out, s, ref, short, recent = [], self.state, self.reference, self._short, self._returns
        settle_s = self.settings.settle_s
        for (
            t, why, shallow, q, on, settled, lit, hook, returns, noise, lost, filtered, torque,
            rotary, renewed, changing, twist, share, bare, rate, model,
        ) in rows:  # fmt: skip
            if renewed or (shallow and ref.learnt):
                self._forget()
            if why != SEES or changing or settled < QUICK_S:
                if why in (STILL, SEES):
                    self._stop()
                    why = OTHER_MUD if why == SEES and changing else NOT_ON_WATCH
                out.append(At(t, why, step=s.step, shift=s.shift, fall=self.fall.state))
                continue
            if not s.ready:
                s.flows.append(q)
                if settled >= settle_s and len(s.flows) > 1:
                    ref.begins(sum(s.flows) / len(s.flows), lit)
                    s.ready, s.flows = True, []
            total = r = ref.residual(bare, rate, model, on)
            recent.append(returns)
            back = sum(recent) / len(recent)
            if not isfinite(back) and (known := [x for x in recent if isfinite(x)]):
                back = sum(known) / len(known)
            if not ref.learnt:
                if s.ready:
                    self._block(t, r, q, on, back, nan, nan)
                out.append(At(t, LEARNING, returns=back, torque=twist, noise=ref.state.noise))
                continue
            if s.ready:
                step = self.steps.next(t, r, on, (hook, torque, rotary, returns), ref.state.noise)
                if step is not None or s.after is not None or s.shift:
                    self._step(step, r, twist > PACKS, back < lost)
                r = total - s.shift
            short.append(total)
            if s.ready:
                self._block(t, r, q, on, back, noise, filtered)
            mean, learnt = sum(short) / len(short), ref.state
            tolerance = learnt.tolerance
            sight = NEW_RATE if tolerance > 0.0 else SEES
            if not s.ready:
                sight, tolerance = NOT_ON_WATCH, max(tolerance, self._ahead(rate))
            out.append(At(
                t, sight, mean - s.shift, mean, tolerance, back, noise, twist, share,
                s.step, s.shift, filtered, learnt.noise, self.fall.state,
            ))  # fmt: skip
        return out

    def _bare(
        self, p: FloatArray, middle: FloatArray, q: FloatArray, expected: FloatArray,
        goes: Sequence[bool],
    ) -> tuple[list[float], list[float], list[bool]]:  # fmt: skip
        """Return the bare residual, the logarithm of the flow and whether there is a model.

        One by one: other logarithms than those of `math` round in another way.
        """
        bare, rate, model = [nan] * p.size, [nan] * p.size, [False] * p.size
        rows = zip(*(c.tolist() for c in (p, middle, q, expected)), strict=True)
        for i, (pressure, flow, mean, model_p) in enumerate(rows):
            if not goes[i]:
                continue
            rate[i] = at = log(mean)
            # The expected pressure is that of the median.
            model_p = model_p * (mean / flow) ** USUAL
            model[i] = known = 0 < model_p < inf
            bare[i] = log(pressure) - (log(model_p) if known else USUAL * at)
        return bare, rate, model

    def _ahead(self, rate: float) -> float:
        """Return the tolerance before the rate is settled. [-]"""
        return self.settings.exponent_error * abs(rate - self.reference.state.rate) + 0.02

    def _stop(self) -> None:
        s = self.state
        s.ready, s.flows, s.block, s.after = False, [], [], None
        self.steps.clear()
        self._short.clear()
        self._returns.clear()

    def _forget(self) -> None:
        self.reference.forget()
        self._stop()
        self.fall.clear()
        self.state.step, self.state.shift, self.state.back = NEVER, 0.0, 0

    def _step(self, step: Step | None, r: float, twist: bool, away: bool) -> None:
        """Take steps out of the residual, and put them back when the pressure is back.

        A rise with torque is a pack-off and will go back slowly; so will what goes with returns
        that are lost.
        """
        s = self.state
        if step is not None and not (away or (step.size > 0 and (twist or step.torque > GRIPS))):
            s.step = step
            s.shift += step.size
            s.after, s.back = [], 0
            self.fall.clear()
            if abs(s.shift) < 0.5 * self.least_step:
                s.shift = 0.0
        elif s.after is not None:
            s.after.append(r)
            if len(s.after) == AFTER:
                s.shift, s.after = median(s.after), None
        elif s.shift:
            is_back = (r - 0.5 * s.shift) * s.shift < 0
            s.back = s.back + 1 if is_back else 0
            if s.back >= MEAN:
                s.shift, s.back, s.block = 0.0, 0, []
                self.fall.clear()

    def _block(
        self, t: float, r: float, flow: float, on: bool, returns: float, returns_noise: float,
        unexplained: float,
    ) -> None:  # fmt: skip
        """Gather a block, and take it in when it is full."""
        s = self.state
        if s.after is not None or on != s.on_bottom:
            s.block, s.flows, s.on_bottom = [], [], on
            return
        s.block.append(r)
        s.flows.append(flow)
        if len(s.block) < PER_BLOCK:
            return
        mean, rate = sum(s.block) / PER_BLOCK, sum(s.flows) / PER_BLOCK
        s.block, s.flows = [], []
        clear = self.fall.unexplained(mean, returns, returns_noise, unexplained)
        fall = self.fall.state
        z = self.reference.block(mean, rate, on, clear and not fall.called, fall.sum_ < CALM)
        if clear and isfinite(z):
            self.fall.block(t, z, mean, self.reference)
