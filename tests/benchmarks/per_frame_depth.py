"""Slips from the normalised hook load, and bit depth by the block, a row at a time."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, replace
from math import isnan, pi
from statistics import median

from engine.config import WellConfig
from tests.benchmarks.per_frame_small import KLBF, NAN

STEEL, YOUNG = 7850.0, 2.07e11


class StringFacts:
    """Weight in mud and stretch of the string at a bit depth."""

    def __init__(self, config: WellConfig) -> None:
        self._parts = []
        share = 1.0 - config.mud.density / STEEL
        for part in config.string:
            area = pi / 4 * (part.outer**2 - part.inner**2)
            self._parts.append((part.length, share * part.weight * 9.80665, 1 / (YOUNG * area)))

    def at(self, depth: float) -> tuple[float, float]:
        """Return weight in mud [N] and stretch [m/N] with the bit at `depth` [m]."""
        weight = stretch = 0.0
        left = max(depth, 0.0) if depth == depth else NAN
        last = len(self._parts) - 1
        for i, (part, heavy, soft) in enumerate(self._parts):
            length = left if i == last or part is None or not left > part else part
            weight += heavy * length
            stretch += soft * length
            left -= length
        return weight, stretch


@dataclass(frozen=True)
class Anchor:
    """Where depth is counted from: the bit's depth with the block at `z`."""

    slips: bool | None
    bit: float
    z: float
    since: float


class SlipsAndDepth:
    """In slips below 0.25 of the string's weight, out above 0.45; depth moves only when out.

    A load that falls makes slips only if it falls at once (0.3 of the string a second) or the
    block stays (0.1 m): a string set down on a ledge does neither. A change taken back within
    1.5 s was a wild sample. A light string is judged only while the block stands.
    """

    def __init__(self, config: WellConfig, string: StringFacts) -> None:
        self._block = config.rig.block_weight
        self._string = string
        self._first = config.start.bit_depth
        self._anchor: Anchor | None = None
        self._undo: Anchor | None = None
        self._rows = 0
        self._whole: tuple[float, float, float] | None = None
        self._past: deque[tuple[float, float, float, float]] = deque(maxlen=24)
        self._enter = self._leave = self._weight = 0.0

    def step(
        self, t: float, load: float, z: float, speed: float, reported: float
    ) -> tuple[float, float, float]:
        """Return slips (1, 0, NaN), bit depth, and bit depth with the block at the floor. [m]"""
        a = self._anchor
        if a is None:
            first = reported if self._first is None else self._first
            if isnan(first) or isnan(z):
                self._past.append((t, load, z, speed))
                return NAN, NAN, NAN
            a = self._move(Anchor(None, first, z, t))
        self._rows += 1
        if self._trusted(speed):
            if a.slips is None and (load < self._enter or load > self._leave):
                slips = load < self._enter
                at = self._stood_in_slips(t, load, z, speed) if slips else a.z
                a = self._move(Anchor(slips, a.bit, at, t))
            elif a.slips and load > self._leave:
                a = self._pulled(a, t)
            elif a.slips is False and load < self._enter and self._is_set(t, load, z):
                a = self._set(a, t, z)
        if load > self._leave:
            self._whole = (t, load, z)
        self._past.append((t, load, z, speed))
        bit = a.bit if a.slips else a.bit + a.z - z
        known = a.slips is not None and self._weight >= 8 * KLBF
        return (float(bool(a.slips)) if known else NAN), bit, a.bit + a.z

    def _move(self, anchor: Anchor, undo: Anchor | None = None) -> Anchor:
        self._anchor, self._undo, self._rows = anchor, undo, 0
        self._weight, _ = self._string.at(anchor.bit)
        self._enter = self._block + 0.25 * self._weight
        self._leave = self._block + 0.45 * self._weight
        return anchor

    def _trusted(self, speed: float) -> bool:
        if self._weight < 8 * KLBF:
            return False
        return self._weight >= 0.37 * self._block or abs(speed) < 0.03

    def _is_set(self, t: float, load: float, z: float) -> bool:
        if self._whole is None:
            return True
        at, whole, there = self._whole
        return whole - load > 0.3 * self._weight * (t - at) or there - z < 0.10

    def _taken_back(self, a: Anchor, t: float) -> bool:
        lasted = t - a.since
        return self._undo is not None and (lasted < 1.5 or (self._rows == 1 and lasted < 15.0))

    def _set(self, a: Anchor, t: float, z: float) -> Anchor:
        """Slips took the string where the block stood, or came to rest with it."""
        if self._taken_back(a, t):
            assert self._undo is not None
            return self._move(self._undo)
        whole = [p for p in self._past if p[1] > self._leave and p[2] == p[2]]
        at = self._whole[2] if self._whole else z
        if whole:
            last_t, _, last, speed = whole[-1]
            on = z - last
            carried = on * speed > 0.0 and abs(on) <= 1.2 * abs(speed) * (t - last_t)
            at = z if abs(on) > 0.03 and (carried or abs(on) <= 0.15) else stood(whole)
        bit = a.bit if isnan(at) else a.bit + a.z - at
        return self._move(Anchor(True, bit, at, t), a)

    def _pulled(self, a: Anchor, t: float) -> Anchor:
        if self._taken_back(a, t):
            assert self._undo is not None
            return self._move(self._undo)
        at = stood([p for p in self._past if p[1] < self._enter and p[2] == p[2]])
        return self._move(replace(a, slips=False, z=a.z if isnan(at) else at, since=t), a)

    def _stood_in_slips(self, t: float, load: float, z: float, speed: float) -> float:
        return stood([p for p in (*self._past, (t, load, z, speed)) if p[2] == p[2]])


def stood(samples: list[tuple[float, float, float, float]]) -> float:
    """Return where the block last stood: median of the last 6 s within 3 cm of the newest. [m]"""
    if not samples:
        return NAN
    t, _, z, _ = samples[-1]
    near = []
    for at, _, there, _ in reversed(samples[-15:]):
        if abs(there - z) > 0.03 or t - at > 6.0:
            break
        near.append(there)
    return median(near)
