"""The facts that the rig states rest on: pumping, rotating, moving, advancing, and the like.

Every limit has a second one that lets go, and a time for which it must hold.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from engine.block import Block, FloatArray, Mask, Table
from engine.config import WellConfig
from engine.ops.flow import NO_PRESSURE, PUMP_RATES
from engine.ops.primitives import (
    Delay,
    DelayState,
    Past,
    Trailing,
    hold,
    last_good,
    previous,
    running_max,
)
from engine.ops.rig_state_table import UNKNOWN, Motion
from engine.ops.table import pick, times
from engine.units import MINUTE, UNITS

CodeArray = npt.NDArray[np.int8]
NOT_KNOWN = (UNKNOWN, UNKNOWN, UNKNOWN, UNKNOWN, int(Motion.UNKNOWN), UNKNOWN, UNKNOWN)
"""The code of each fact of `Facts` that says it is not known. [-]"""
_RPM = UNITS["rpm"].factor
_SPM = 1 / MINUTE


@dataclass(frozen=True, slots=True)
class Limits:
    """Common practice, no source, unless a reason is given; SI."""

    pumping_share: float = 0.10
    """Of the usual flow, above which the rig pumps: the least rate a bit is washed with. [-]"""
    idle_share: float = 0.05
    """Below this it does not: half of that, so that one noisy pump does not chatter. [-]"""
    pumping_rate: float = 8 * _SPM
    """A pump above this strokes; a pump idles no slower. [1/s]"""
    idle_rate: float = 4 * _SPM
    least_normal: float = 8e-3
    """Usual flow until a larger one has been seen, if the well file names none. [m3/s]"""
    rotating: float = 10 * _RPM
    """No rotary table or top drive turns pipe slower for long. [rad/s]"""
    not_rotating: float = 5 * _RPM
    rocking_s: float = 30.0
    """Turned both ways within this: the string is rocked for a slide, not rotated. [s]"""
    moving: float = 0.03
    """108 m/h: above any rate of drilling in rock, below any hoisting. [m/s]"""
    still: float = 0.01
    """3 s of 5 mm noise give a slope of 4 mm/s. [m/s] No hold: the slope over 3 s is one."""
    hold_s: float = 3.0
    """Pumps and rotary: a missed stroke or a wild reading is shorter. [s]"""
    advance: float = 0.05
    """New hole within `advance_s` that proves drilling: 0.6 m/h. [m]"""
    advance_s: float = 300.0
    edit: float = 0.3
    """A larger step of the hole depth is a correction, not hole. [m]"""


@dataclass(frozen=True, slots=True)
class Switch:
    """A fact before its delay, and the delay."""

    on: bool = False
    run: DelayState = field(default_factory=DelayState)


@dataclass(frozen=True, slots=True)
class Turned:
    """When the string last turned each way. [s since 1970-01-01 UTC]"""

    right: float = float("-inf")
    left: float = float("-inf")


@dataclass(frozen=True, slots=True, eq=False)
class Advanced:
    """How much hole has been made, and since when the bit has been on bottom."""

    hole: float = float("nan")
    """Newest known hole depth. [m]"""
    made: float = 0.0
    """Since the start. [m]"""
    past: Past = field(default_factory=Past)
    bottom: bool = False
    bottom_at: float = float("-inf")
    """[s since 1970-01-01 UTC]"""


@dataclass(frozen=True, slots=True, eq=False)
class FactsState:
    """All that the facts carry from block to block."""

    normal: float
    """Usual flow as far as it is known. [m3/s]"""
    pumping: Switch = field(default_factory=Switch)
    rotating: Switch = field(default_factory=Switch)
    turned: Turned = field(default_factory=Turned)
    motion: int = Motion.STILL
    advanced: Advanced = field(default_factory=Advanced)
    codes: tuple[int, ...] = ()
    """The newest codes, to see what changes."""


@dataclass(frozen=True, slots=True, eq=False)
class Seen:
    """The facts of one block."""

    codes: tuple[CodeArray, ...]
    """In the order of `rig_state_table.Facts`, each of shape (n,)."""
    began: FloatArray
    """Earliest start of what changed at each sample, back-dated, shape (n,). [s]"""


@dataclass(slots=True, eq=False)
class FactFinder:
    """Work the facts out of a table of channels."""

    config: WellConfig
    limits: Limits = field(default_factory=Limits)
    state: FactsState = field(init=False)
    _pumps: tuple[str, ...] = field(init=False)

    def __post_init__(self) -> None:
        usual = self.config.profile.flow_normal
        self.state = FactsState(self.limits.least_normal if usual is None else usual)
        pairs = zip(PUMP_RATES, self.config.pumps, strict=False)
        self._pumps = tuple(channel for channel, pump in pairs if pump.lined_up)

    def process(self, table: Table) -> Seen:
        """Work out one block of at least one sample."""
        t = times(table)
        s = self.state
        # Both are repeated while their sensor is away; for the state that is unknown.
        slips = _code(pick(table, "in_slips"), pick(table, "hook_load"))
        bottom = _code(pick(table, "on_bottom"), pick(table, "block_position"))
        pumping, pumping_at, switch, normal = self._pumping(t, table)
        rotating, rotating_at, turning, turned = self._rotating(t, table)
        motion, way = self._motion(pick(table, "block_speed"))
        advancing, advanced = self._advancing(t, pick(table, "hole_depth"), bottom == 1)
        out = pick(table, "bit_depth").usable() < self.config.rig.stand_length
        codes = (slips, bottom, pumping, rotating, motion, advancing, out.astype(np.int8))
        # Only a change between two known facts is dated back, not a sensor's coming and going.
        slips_at = pick(table, "slips_since").usable()
        starts = (slips_at, t, pumping_at, rotating_at, t, t, t)
        began = t
        before = s.codes or tuple(int(code[0]) for code in codes)
        for code, start, old, unknown in zip(codes, starts, before, NOT_KNOWN, strict=True):
            was = previous(code, old)
            dated = (code != was) & (code != unknown) & (was != unknown)
            began = np.where(dated, np.fmin(began, start), began)
        newest = tuple(int(code[-1]) for code in codes)
        self.state = FactsState(normal, switch, turning, turned, way, advanced, newest)
        return Seen(codes, began)

    def _pumping(self, t: FloatArray, table: Table) -> tuple[CodeArray, FloatArray, Switch, float]:
        """Two witnesses turn it on: flow, and pressure or strokes. If they differ, it stays."""
        lim, s = self.limits, self.state
        flow = pick(table, "flow_in").usable()
        fastest = np.full(t.size, np.nan)
        for channel in self._pumps:
            fastest = np.fmax(fastest, pick(table, channel).usable())
        normal = np.full(t.size, s.normal)
        if self.config.profile.flow_normal is None:
            normal = running_max(flow, s.normal)
        pressure = pick(table, "standpipe_pressure").usable() > NO_PRESSURE
        on = (flow > lim.pumping_share * normal) & (pressure | (fastest > lim.pumping_rate))
        off = (flow < lim.idle_share * normal) | (fastest < lim.idle_rate)
        raw = hold(on, on | off, s.pumping.on)
        delay = Delay(lim.hold_s, lim.hold_s, s.pumping.run)
        shown, since = delay.process(t, raw)
        switch = Switch(bool(raw[-1]), delay.state)
        return _with_unknown(shown, np.isnan(flow)), since, switch, float(normal[-1])

    def _rotating(
        self, t: FloatArray, table: Table
    ) -> tuple[CodeArray, FloatArray, Switch, Turned]:
        """Turned one way. A sensor without a sign cannot tell rocking from rotating."""
        lim, s = self.limits, self.state
        speed = pick(table, "rotary").usable()
        right = hold(t, speed > lim.not_rotating, s.turned.right)
        left = hold(t, speed < -lim.not_rotating, s.turned.left)
        rocks = (t - right < lim.rocking_s) & (t - left < lim.rocking_s)
        on, off = np.abs(speed) > lim.rotating, np.abs(speed) < lim.not_rotating
        raw = hold(on, on | off, s.rotating.on)
        delay = Delay(lim.hold_s, lim.hold_s, s.rotating.run)
        shown, since = delay.process(t, raw & ~rocks)
        switch = Switch(bool(raw[-1]), delay.state)
        turned = Turned(float(right[-1]), float(left[-1]))
        return _with_unknown(shown, np.isnan(speed)), since, switch, turned

    def _motion(self, block: Block) -> tuple[CodeArray, int]:
        """Which way the block goes; a speed between the two limits changes nothing."""
        lim, speed = self.limits, block.usable()
        way = np.where(speed > lim.moving, int(Motion.UP), int(Motion.STILL))
        way = np.where(speed < -lim.moving, int(Motion.DOWN), way)
        clear = (np.abs(speed) > lim.moving) | (np.abs(speed) < lim.still)
        way = hold(way, clear, self.state.motion)
        code = np.where(np.isnan(speed), int(Motion.UNKNOWN), way).astype(np.int8)
        return code, int(way[-1])

    def _advancing(self, t: FloatArray, hole: Block, bottom: Mask) -> tuple[CodeArray, Advanced]:
        """Deny it only when the bit has been watched on bottom for the whole time."""
        lim, s = self.limits, self.state.advanced
        depth = hole.usable()
        known = last_good(depth, s.hole)
        step = known - previous(known, s.hole)
        step = np.where((step > 0) & (step <= lim.edit), step, 0.0)
        made = np.add.accumulate(np.concatenate(([s.made], step)))[1:]
        trailing = Trailing(lim.advance_s, s.past)
        window = trailing.process(t, made)
        gained = made - window.columns[0][window.begin]
        arrived = hold(t, bottom & ~previous(bottom, s.bottom), s.bottom_at)
        advances = (gained > lim.advance) | (t - arrived < lim.advance_s)
        after = Advanced(
            float(known[-1]), float(made[-1]), trailing.state, bool(bottom[-1]), float(arrived[-1])
        )
        return _with_unknown(advances, np.isnan(depth)), after


def _with_unknown(flag: Mask, unknown: Mask) -> CodeArray:
    return np.where(unknown, UNKNOWN, flag).astype(np.int8)


def _code(block: Block, sensor: Block) -> CodeArray:
    return _with_unknown(block.value > 0.5, ~(block.good & sensor.good))
