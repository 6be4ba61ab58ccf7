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
from collections.abc import Sequence
from dataclasses import dataclass, field
from math import isfinite, log, nan
from statistics import median
from typing import NamedTuple

from engine.detect.bins import BIN_S
from engine.detect.call import NOT_ON_WATCH, SEES, Seen
from engine.detect.settings_standpipe import StandpipeSettings
from engine.detect.standpipe_fall import Fall, Fallen
from engine.detect.standpipe_reference import BLOCK_S, USUAL, Reference
from engine.detect.standpipe_steps import NEVER, Moment, Step, Steps
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
    block: tuple[float, ...] = ()
    flows: tuple[float, ...] = ()
    on_bottom: bool = True
    step: Step = NEVER
    shift: float = 0.0
    back: int = 0
    """Bins for which the pressure has been back from a step. [-]"""
    after: tuple[float, ...] | None = None
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

    def __post_init__(self) -> None:
        self.reference = Reference(self.settings)
        self.steps = Steps(self.least_step)
        self.mud = Mud(self.settings.density_change)

    def process(self, seen: Seen) -> Sequence[At]:
        """Return what each bin of the block says."""
        if seen is self._seen:
            return self._out
        bins, b = seen.bins, seen.balance
        names = (
            "standpipe_pressure", "flow_in", "flow_in_mean", "expected_pressure", "density_in",
            "bit_depth", "on_bottom", "torque", "rotary", "hook_load", "strokes", "lag_strokes",
            "pump_1_rate", "pump_2_rate", "pump_3_rate",
        )  # fmt: skip
        parts = ("pumping", "settled", "flow_excess", "flow_noise", "filtered")
        rows = zip(
            bins.t.tolist(), *(bins[name].tolist() for name in names),
            *(b[name].tolist() for name in parts), strict=True,
        )  # fmt: skip
        self._out = [self._bin(*row) for row in rows]
        self._seen = seen
        return self._out

    def _bin(
        self, t: float, p: float, middle: float, q: float, expected: float, density: float,
        bit: float, bottom: float, torque: float, rotary: float, hook: float, strokes: float,
        lag: float, pump_1: float, pump_2: float, pump_3: float, pumping: float, settled: float,
        excess: float, flow_noise: float, filtered: float,
    ) -> At:  # fmt: skip
        s, ref = self.state, self.reference
        if bit < OUT_OF_HOLE and ref.learnt:
            self._forget()
        renewed = self.mud.step(density, strokes, lag)
        if renewed:
            self._forget()
        on = bottom != 0.0  # unknown is taken as drilling
        if not isfinite(middle):
            return At(t, NO_FLOW, step=s.step, shift=s.shift, fall=self.fall.state)
        if not pumping or q <= 0:
            self._stop()
            return At(t, NOT_ON_WATCH, step=s.step, shift=s.shift, fall=self.fall.state)
        if not p > 0:
            return At(
                t,
                NOT_ON_WATCH if isfinite(p) else NO_PRESSURE,
                step=s.step,
                shift=s.shift,
                fall=self.fall.state,
            )
        twist, share = self.turning.step(torque, rotary, on, settled > self.settings.settle_s)
        if self.mud.changing:
            self._stop()
            return At(t, OTHER_MUD, step=s.step, shift=s.shift, fall=self.fall.state)
        if settled < QUICK_S:
            self._stop()
            return At(t, NOT_ON_WATCH, step=s.step, shift=s.shift, fall=self.fall.state)
        if not s.ready:
            s.flows = (*s.flows, q)
            if settled >= self.settings.settle_s and len(s.flows) > 1:
                lit = sum(1 << i for i, x in enumerate((pump_1, pump_2, pump_3)) if x > 0.1)
                ref.begins(sum(s.flows) / len(s.flows), lit)
                s.ready, s.flows = True, ()
        # The expected pressure is that of the median.
        r = ref.residual(p, q, expected * (q / middle) ** USUAL, on)
        returns = excess / q if settled > RETURNS_S else nan
        self._returns.append(returns)
        back = sum(self._returns) / len(self._returns)
        if not isfinite(back):
            known = [x for x in self._returns if isfinite(x)]
            back = sum(known) / len(known) if known else nan
        if not ref.learnt:
            if s.ready:
                self._block(t, r, q, on, back, nan, nan)
            return At(t, LEARNING, returns=back, torque=twist, noise=ref.state.noise)
        total = r
        if s.ready:
            away = back < -max(RETURNS_LOST, 3 * flow_noise / q)
            self._step(Moment(t, r, hook, torque, returns, on), twist > PACKS, away)
            r = total - s.shift
        self._short.append(total)
        if s.ready:
            self._block(t, r, q, on, back, flow_noise / q, filtered)
        mean = sum(self._short) / len(self._short)
        tolerance = ref.state.tolerance
        if not s.ready:
            tolerance = max(tolerance, self._ahead(q))
        sight = NOT_ON_WATCH if not s.ready else NEW_RATE if ref.at_new_rate else SEES
        return At(
            t, sight, mean - s.shift, mean, tolerance, back, flow_noise / q, twist, share,
            s.step, s.shift, filtered, ref.state.noise, self.fall.state,
        )  # fmt: skip

    def _ahead(self, flow: float) -> float:
        """Return the tolerance before the rate is settled. [-]"""
        return self.settings.exponent_error * abs(log(flow) - self.reference.state.rate) + 0.02

    def _stop(self) -> None:
        s = self.state
        s.ready, s.flows, s.block, s.after = False, (), (), None
        self.steps.clear()
        self._short.clear()
        self._returns.clear()

    def _forget(self) -> None:
        self.reference.forget()
        self._stop()
        self.fall.clear()
        self.state.step, self.state.shift, self.state.back = NEVER, 0.0, 0

    def _step(self, now: Moment, twist: bool, away: bool) -> None:
        """Take steps out of the residual, and put them back when the pressure is back.

        A rise with torque is a pack-off and will go back slowly; so will what goes with returns
        that are lost.
        """
        s, ref = self.state, self.reference
        step = self.steps.next(now, 2 * ref.state.noise)
        if step is not None and not (away or (step.size > 0 and (twist or step.torque > GRIPS))):
            s.step = step
            s.shift += step.size
            s.after, s.back = (), 0
            self.fall.clear()
            if abs(s.shift) < 0.5 * self.least_step:
                s.shift = 0.0
        elif s.after is not None:
            s.after = (*s.after, now.r)
            if len(s.after) == AFTER:
                s.shift, s.after = median(s.after), None
        elif s.shift:
            is_back = (now.r - 0.5 * s.shift) * s.shift < 0
            s.back = s.back + 1 if is_back else 0
            if s.back >= MEAN:
                s.shift, s.back, s.block = 0.0, 0, ()
                self.fall.clear()

    def _block(
        self, t: float, r: float, flow: float, on: bool, returns: float, returns_noise: float,
        unexplained: float,
    ) -> None:  # fmt: skip
        """Gather a block, and take it in when it is full."""
        s = self.state
        if s.after is not None or on != s.on_bottom:
            s.block, s.flows, s.on_bottom = (), (), on
            return
        s.block, s.flows = (*s.block, r), (*s.flows, flow)
        if len(s.block) < PER_BLOCK:
            return
        mean, rate = sum(s.block) / PER_BLOCK, sum(s.flows) / PER_BLOCK
        s.block, s.flows = (), ()
        clear = self.fall.unexplained(mean, returns, returns_noise, unexplained)
        quiet, calm = clear and not self.fall.state.called, self.fall.state.sum_ < CALM
        z = self.reference.block(mean, rate, on, quiet, calm)
        if clear and isfinite(z):
            self.fall.block(t, z, mean, self.reference)
