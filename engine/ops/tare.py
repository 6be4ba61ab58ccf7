"""The off-bottom hook load that weight on bit is counted from, found when the load is fit.

A tare is wanted in the motion in which it will be used: the bit drills while the block sinks,
so a load is fit only while the block sinks; sheaves and drag then lean the same way. It is
never moved while the bit is on bottom: a zero that creeps there eats real weight.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace

import numpy as np

from engine.block import FloatArray, Mask, same_length
from engine.ops.primitives import (
    NAN,
    Delay,
    Dwell,
    DwellState,
    Hysteresis,
    IntArray,
    Past,
    Trailing,
    Window,
    hold,
    previous,
    running_max,
    stretches,
)
from engine.ops.tare_state import (
    FIELDS,
    FLOW,
    LOAD,
    NONE,
    PIPE,
    SPREAD,
    TORQUE,
    TORQUE_SPREAD,
    Conditions,
    Tares,
    TareState,
)
from engine.ops.windows import middle, rows_of, spread
from engine.units import LBF, MINUTE

KLBF = 1000 * LBF
OFF_BOTTOM, TOO_FAR = 0.3, 5.0
"""Height of the bit above bottom in which a load is fit. [m]"""
FLOW_SHARE, ROTARY_SHARE = 0.8, 0.6
"""Least share of the usual drilling flow and rotary speed. [-]"""
SINKS_LEAST, SINKS_MOST = 0.004, 0.15
"""Speed at which the block must sink. [m/s]"""
SLIDE_LEAST = 0.01
"""Without rotation the drag must have turned over as well. [m/s]"""
AFTER_HOISTING = 10.0
"""The load is not fit so soon after the block went up. [s]"""
SETTLES = 3.0
"""The load of a block that began to sink so lately still holds its mass and drag. [s]"""
NOISY, UNSURE = 0.05, 0.01
"""Noise above which a load is not fit, and error above which a tare is not, as shares of the
load: one to three per cent of noise is usual while the block moves. [-]"""
LEAST_SAMPLES = 4
USUAL_S = 30.0
"""A flow or speed held so long is the usual one, if the well file names none. [s]"""
RPM = 2 * np.pi / MINUTE
REACH = 40.0
"""No load older than this counts; `LEAST_SAMPLES` come in it at 0.1 Hz. [s]"""


@dataclass(slots=True, eq=False)
class Tare:
    """Take the median hook load while it is fit; keep it until the next one.

    Raises nothing; a load too far from the tare before, pipe added since allowed for, is
    refused and the refusal shown.
    """

    weigh: Callable[[FloatArray], FloatArray]
    """Weight of the string in mud at a depth. [m] to [N]"""
    flow_normal: float = NAN
    """[m3/s] NaN: the largest flow held for 30 s so far"""
    rotary_normal: float = NAN
    """[rad/s] NaN: likewise"""
    hold_s: float = 8.0
    state: TareState = field(default_factory=TareState)

    def process(self, c: Conditions) -> Tares:
        """Work out one block; raise `InputError` if the conditions differ in length."""
        same_length("tare", c.t, c.load, c.speed, c.rotary, c.flow, c.torque, c.slips, c.reach)
        turning = self._turning(c)
        kind = self._fit(c)
        window = self._window(c)
        ripe, begin = self._ripe(c, kind, window)
        found = self._measure(c, window, ripe, begin)
        refs, refused = self._judge(kind, ripe, found)
        if c.t.size:
            newest = (float(c.slips[-1]), float(c.reach[-1]))
            self.state = replace(self.state, newest=newest)
        return self._choose(c, refs, refused, turning)

    def now(self) -> float | None:
        """Take the newest load by hand; return it [N], None in slips or without one."""
        s = self.state
        slips, reach = s.newest
        if slips != 0.0 or np.isnan(reach) or not s.past.t.size:
            return None
        recent = s.past.t >= s.past.t[-1] - self.hold_s
        load, torque, flow = (column[recent] for column in s.past.columns)
        load, torque, flow = (x[~np.isnan(x)] for x in (load, torque, flow))
        if not load.size:
            return None
        ref = [NAN] * FIELDS
        ref[LOAD], ref[SPREAD] = float(np.median(load)), float(load.std())
        if torque.size:
            ref[TORQUE], ref[TORQUE_SPREAD] = float(np.median(torque)), float(torque.std())
        ref[FLOW] = float(np.median(flow)) if flow.size else NAN
        ref[PIPE] = reach
        kind = "rotating" if s.turning.on else "sliding"
        changed = {kind: tuple(ref)}
        self.state = replace(s, refused=NAN, stretch=0, **changed)  # type: ignore[arg-type]
        return ref[LOAD]

    def forget(self) -> None:
        """Have no tare: what the hook load is counted in has changed."""
        self.state = replace(
            self.state, rotating=NONE, sliding=NONE, refused=NAN, stretch=0, taken=False,
            run=DwellState(), past=Past(),
        )  # fmt: skip

    def _turning(self, c: Conditions) -> Mask:
        turns = Hysteresis(10 * RPM, 5 * RPM, self.state.turns)
        delay = Delay(3.0, 3.0, self.state.turning)
        out, _ = delay.process(c.t, turns.process(np.abs(c.rotary)))
        self.state = replace(self.state, turns=turns.state, turning=delay.state)
        return out

    def _usual(self, c: Conditions) -> tuple[FloatArray, FloatArray]:
        """Usual flow and rotary speed at each sample, shape (n,)."""
        trailing = Trailing(USUAL_S, self.state.usual_past)
        window = trailing.process(c.t, np.nan_to_num(c.flow), np.nan_to_num(np.abs(c.rotary)))
        held = [np.where(window.full, window.smallest(i), NAN) for i in (0, 1)]
        usual = [running_max(x, carry) for x, carry in zip(held, self.state.usual, strict=True)]
        if c.t.size:
            self.state = replace(
                self.state,
                usual_past=trailing.state,
                usual=(float(usual[0][-1]), float(usual[1][-1])),
            )
        given = (self.flow_normal, self.rotary_normal)
        flow, rotary = (
            u if np.isnan(g) else np.full_like(u, g) for u, g in zip(usual, given, strict=True)
        )
        return flow, rotary

    def _fit(self, c: Conditions) -> FloatArray:
        """Kind of tare each sample alone is fit for: 0 none, 1 rotating, 2 sliding."""
        usual_flow, usual_rotary = self._usual(c)
        went_up = hold(c.t, c.speed > 0.03, self.state.went_up)
        place = (c.slips == 0.0) & (c.above > OFF_BOTTOM) & (c.above < TOO_FAR)
        pumps = c.flow >= FLOW_SHARE * usual_flow
        calm = (c.t - went_up >= AFTER_HOISTING) & (c.speed >= -SINKS_MOST)
        base = place & pumps & calm & ~np.isnan(c.load)
        rotating = base & (c.speed <= -SINKS_LEAST)
        rotating &= np.abs(c.rotary) >= ROTARY_SHARE * usual_rotary
        sliding = base & (c.speed <= -SLIDE_LEAST) & (np.abs(c.rotary) < 5 * RPM)
        if c.t.size:
            self.state = replace(self.state, went_up=float(went_up[-1]))
        return np.where(rotating, 1.0, np.where(sliding, 2.0, 0.0))

    def _window(self, c: Conditions) -> Window:
        trailing = Trailing(REACH, self.state.past)
        window = trailing.process(c.t, c.load, c.torque, c.flow)
        self.state = replace(self.state, past=trailing.state)
        return window

    def _ripe(self, c: Conditions, kind: FloatArray, window: Window) -> tuple[Mask, IntArray]:
        """Where `kind` has lasted long enough, and where the window of its loads begins."""
        dwell = Dwell(self.state.run)
        start = dwell.process(c.t, kind)
        self.state = replace(self.state, run=dwell.state)
        since = np.maximum(start + SETTLES, c.t - REACH)
        begin = np.searchsorted(window.t, since, side="left")
        begin = np.maximum(np.minimum(begin, window.end - LEAST_SAMPLES), 0)
        enough = window.end - begin >= LEAST_SAMPLES
        inside = window.t[begin] >= start if c.t.size else np.zeros(0, np.bool_)
        ripe = (kind > 0) & (c.t - start >= self.hold_s) & enough & inside
        return ripe, begin

    def _measure(self, c: Conditions, window: Window, ripe: Mask, begin: IntArray) -> FloatArray:
        """Work out a would-be tare at each ripe sample, shape (m, FIELDS); noisy ones NaN."""
        rows = [rows_of(x, begin[ripe], window.end[ripe]) for x in window.columns]
        load, torque, flow = (middle(r) for r in rows)
        noise, twist = spread(rows[0]), spread(rows[1])
        # Standard error of a median: 1.2533 that of a mean.
        error = 1.2533 / np.sqrt(window.end[ripe] - begin[ripe])
        calm = (noise < NOISY * load) & (error * noise < np.maximum(KLBF, UNSURE * load))
        fields = (load, error * noise, torque, error * twist, flow, c.reach[ripe])
        found: FloatArray = np.stack(fields, axis=1)
        found[~calm] = NAN
        return found

    def _judge(self, kind: FloatArray, ripe: Mask, found: FloatArray) -> tuple[FloatArray, Mask]:
        """Take or refuse each stretch of fit samples as a whole, by its first one.

        Returns
        -------
        refs : ndarray
            Newest rotating and sliding tare at each sample, shape (n, 2, FIELDS).
        refused : ndarray of bool
            The newest stretch was refused, shape (n,). [-]
        """
        s, n = self.state, ripe.size
        full = np.full((n, FIELDS), NAN)
        full[ripe] = found
        code = np.where(ripe & ~np.isnan(full[:, LOAD]), kind, 0.0)
        refs = np.empty((n, 2, FIELDS))
        refused = np.empty(n, np.bool_)
        starts = code != previous(code, float(s.stretch))
        for a, b in stretches(n, starts):
            now = int(code[a])
            if now and starts[a]:
                s = self._decide(s, now, full[a])
            refs[a:b, 0], refs[a:b, 1] = s.rotating, s.sliding
            if now and s.taken:
                refs[a:b, now - 1] = full[a:b]
                newest = tuple(full[b - 1].tolist())
                s = replace(s, rotating=newest) if now == 1 else replace(s, sliding=newest)
            refused[a:b] = not np.isnan(s.refused)
            s = replace(s, stretch=now)
        self.state = s
        return refs, refused

    def _decide(self, s: TareState, kind: int, found: FloatArray) -> TareState:
        """Is the first load of a stretch near enough to the tare before?"""
        before = s.rotating if kind == 1 else s.sliding
        if np.isnan(before[LOAD]):
            return replace(s, taken=True, refused=NAN)
        reach = np.array([found[PIPE], before[PIPE]])
        now, then = self.weigh(reach).tolist()
        off = float(found[LOAD] - (before[LOAD] + now - then))
        if abs(off) > max(5 * KLBF, 0.03 * before[LOAD]):
            return replace(s, taken=False, refused=off)
        return replace(s, taken=True, refused=NAN)

    def _choose(self, c: Conditions, refs: FloatArray, refused: Mask, turning: Mask) -> Tares:
        """Use the tare of the present motion, else the other one, marked old."""
        first = np.where(turning[:, None], refs[:, 0], refs[:, 1])
        other = np.where(turning[:, None], refs[:, 1], refs[:, 0])
        lacking = np.isnan(first[:, LOAD])
        ref = np.where(lacking[:, None], other, first)
        added = self.weigh(c.reach) - self.weigh(ref[:, PIPE])
        changed = ~(np.abs(c.flow - ref[:, FLOW]) <= 0.1 * ref[:, FLOW])
        piped = ~(np.abs(c.reach - ref[:, PIPE]) <= 1.0)
        return Tares(
            ref[:, LOAD] + added,
            ref[:, SPREAD],
            ref[:, TORQUE],
            ref[:, TORQUE_SPREAD],
            lacking | changed | piped,
            refused,
            turning,
        )
