"""The rig state, a row at a time: facts, truth table as ifs, dwell and the skipped step."""

from __future__ import annotations

from collections import deque
from collections.abc import Mapping
from itertools import product

from engine.config import WellConfig
from engine.states import RigState as S
from tests.benchmarks.per_frame_small import NAN, RPM, Delay

NO_PRESSURE = 50 * 6894.757293168362
"""50 psi. [Pa]"""
STILL, UP, DOWN = "still", "up", "down"
DRILLING = (S.DRILLING_ROTARY, S.DRILLING_SLIDE)
TRIPPING = (S.TRIPPING_IN, S.TRIPPING_OUT)
Fact = bool | None
"""None: not known."""


def look(
    slips: bool,
    bottom: bool,
    pumping: bool,
    rotating: bool,
    motion: str,
    advancing: bool,
    out: Fact,
) -> S:
    """Return the state for facts that are all known."""
    if slips:
        return S.IN_SLIPS
    if out and not bottom:
        return {UP: S.TRIPPING_OUT, DOWN: S.TRIPPING_IN, STILL: S.STATIC}[motion]
    if bottom and advancing and motion != UP:
        if rotating:
            return S.DRILLING_ROTARY
        if pumping:
            return S.DRILLING_SLIDE
    if motion == STILL:
        if pumping:
            return S.CIRCULATING
        return S.ROTATING_OFF_BOTTOM if rotating else S.STATIC
    if rotating:
        return S.REAMING_UP if motion == UP else S.REAMING_DOWN
    if pumping:
        return S.WASHING
    return S.TRIPPING_OUT if motion == UP else S.TRIPPING_IN


def judge(facts: tuple[Fact, Fact, Fact, Fact, str | None, Fact, Fact]) -> S:
    """Return the state if all that unknown facts may be gives one; drilling if it surely is."""
    if None not in facts:
        return look(*facts)
    *known, out = facts
    choices = [(True, False) if fact is None else (fact,) for fact in known]
    if facts[4] is None:
        choices[4] = (STILL, UP, DOWN)
    states = {look(*each, out) for each in product(*choices)}
    if len(states) == 1:
        return states.pop()
    return S.DRILLING_ROTARY if states <= set(DRILLING) else S.UNKNOWN


class RigStates:
    """A state shows after 3 s (drilling 5, tripping 6) from its dated-back start.

    It must also have stood for 1 s, and for 5 s more if it skips the step between drilling and
    tripping.
    """

    def __init__(self, config: WellConfig) -> None:
        self._normal = config.profile.flow_normal or 0.0
        self._pumps = [f"pump_{i + 1}_rate" for i, p in enumerate(config.pumps) if p.lined_up]
        self._stand = config.rig.stand_length
        self._pumping, self._rotating = Delay(3.0, 3.0), Delay(3.0, 3.0)
        self._strokes = self._turns = False
        self._right = self._left = self._arrived = float("-inf")
        self._motion = STILL
        self._hole, self._made, self._bottom = NAN, 0.0, False
        self._past: deque[tuple[float, float]] = deque()
        self._facts: tuple[Fact | str, ...] = ()
        self._code: S | None = None
        self._start = self._seen = self._since = NAN
        self._state = S.UNKNOWN

    def step(
        self, t: float, good: Mapping[str, float], flow: float, shown: float, slips_at: float,
        on: float, bit: float, hole: float, speed: float,
    ) -> tuple[S, float]:  # fmt: skip
        """Return the state shown and its dated-back start. [s]"""
        slips = None if shown != shown or good["hook_load"] != good["hook_load"] else shown > 0.5
        z = good["block_position"]
        bottom = None if on != on or z != z else on > 0.5
        pumping, pumping_at = self._pumps_on(t, good, flow)
        rotating, rotating_at = self._turning(t, good["rotary"])
        motion = self._moving(speed)
        advancing = self._advancing(t, hole, bottom is True)
        facts = (slips, bottom, pumping, rotating, motion, advancing, bit < self._stand)
        starts = (slips_at, t, pumping_at, rotating_at, t, t, t)
        began = t
        for new, old, start in zip(facts, self._facts, starts, strict=False):
            if new is not old and new is not None and old is not None and start < began:
                began = start
        self._facts = facts
        return self._show(t, judge(facts), began)

    def _pumps_on(self, t: float, good: Mapping[str, float], flow: float) -> tuple[Fact, float]:
        fastest = NAN
        for name in self._pumps:
            rate = good[name]
            if not rate <= fastest and rate == rate:
                fastest = rate
        pressure = good["standpipe_pressure"] > NO_PRESSURE
        if flow > 0.10 * self._normal and (pressure or fastest > 8 / 60):
            self._strokes = True
        elif flow < 0.05 * self._normal or fastest < 4 / 60:
            self._strokes = False
        on, since = self._pumping.step(t, self._strokes)
        return (None if flow != flow else on), since

    def _turning(self, t: float, rotary: float) -> tuple[Fact, float]:
        if rotary > 5 * RPM:
            self._right = t
        elif rotary < -5 * RPM:
            self._left = t
        rocks = t - self._right < 30.0 and t - self._left < 30.0
        if abs(rotary) > 10 * RPM:
            self._turns = True
        elif abs(rotary) < 5 * RPM:
            self._turns = False
        on, since = self._rotating.step(t, self._turns and not rocks)
        return (None if rotary != rotary else on), since

    def _moving(self, speed: float) -> str | None:
        if speed > 0.03:
            self._motion = UP
        elif speed < -0.03:
            self._motion = DOWN
        elif abs(speed) < 0.01:
            self._motion = STILL
        return None if speed != speed else self._motion

    def _advancing(self, t: float, hole: float, bottom: bool) -> Fact:
        if hole == hole:
            step = hole - self._hole
            if 0 < step <= 0.3:
                self._made += step
            self._hole = hole
        past = self._past
        past.append((t, self._made))
        while t - past[0][0] > 300.0:
            past.popleft()
        if bottom and not self._bottom:
            self._arrived = t
        self._bottom = bottom
        if hole != hole:
            return None
        return self._made - past[0][1] > 0.05 or t - self._arrived < 300.0

    def _show(self, t: float, code: S, began: float) -> tuple[S, float]:
        if code is not self._code:
            self._code, self._start, self._seen = code, began, t
        if self._since != self._since:
            self._since = t
        if code is not self._state and t - self._seen >= 1.0:
            need = 5.0 if code in DRILLING else 6.0 if code in TRIPPING else 3.0
            old = self._state
            skips = (old in DRILLING and code in TRIPPING) or (old in TRIPPING and code in DRILLING)
            if t - self._start >= need + 5.0 * skips:
                self._state, self._since = code, max(self._since, self._start)
        return self._state, self._since
