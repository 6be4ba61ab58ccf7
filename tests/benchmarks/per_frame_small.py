"""Small parts of the per-frame reference: delay, median, position and speed of the block."""

from __future__ import annotations

from collections import deque
from math import isnan

NAN = float("nan")
KLBF = 1000 * 0.45359237 * 9.80665
"""[N]"""
RPM = 2 * 3.141592653589793 / 60
"""[rad/s]"""


class Delay:
    """A state that follows only after the raw one has lasted; dated back to where that began."""

    def __init__(self, on_delay: float, off_delay: float) -> None:
        self.on = False
        self.since = NAN
        self._on_delay, self._off_delay = on_delay, off_delay
        self._raw: bool | None = None
        self._start = NAN

    def step(self, t: float, raw: bool) -> tuple[bool, float]:
        """Return the state and since when. [s]"""
        if raw is not self._raw:
            self._raw, self._start = raw, t
        if raw is not self.on and t - self._start >= (self._on_delay if raw else self._off_delay):
            self.on, self.since = raw, self._start
        return self.on, self.since


class MedianOfFive:
    """Median of the newest five numbers, those from before a gap of 30 s forgotten."""

    def __init__(self) -> None:
        self._past: deque[float] = deque(maxlen=5)
        self._at = NAN

    def step(self, t: float, x: float) -> float:
        """Return the median; NaN stays NaN and is passed over."""
        if isnan(x):
            return NAN
        if not self._past or t - self._at > 30.0:
            self._past.clear()
            self._past.extend((x, x, x, x))
        self._past.append(x)
        self._at = t
        return sorted(self._past)[2]


class BlockMotion:
    """Block position without wild samples, and its least-squares speed over 3 s."""

    def __init__(self) -> None:
        self._raw: deque[tuple[float, float]] = deque(maxlen=2)
        self._wild = False
        self._resets = 0.0
        self._past: deque[tuple[float, float]] = deque()

    def step(self, t: float, raw: float) -> tuple[float, float]:
        """Return position [m] and speed [m/s], NaN where unknown."""
        z = self._position(t, raw)
        past = self._past
        past.append((t, z))
        while t - past[0][0] > 30.0:
            past.popleft()
        if isnan(z):
            return z, NAN
        n, st, sz, stt, stz = 0, 0.0, 0.0, 0.0, 0.0
        for k, (at, there) in enumerate(reversed(past)):
            if k > 1 and t - at > 3.0:
                break
            if there == there:
                dt, dz = at - t, there - z
                n += 1
                st += dt
                sz += dz
                stt += dt * dt
                stz += dt * dz
        bottom = n * stt - st * st
        return z, ((n * stz - st * sz) / bottom if n > 1 and bottom > 0.0 else NAN)

    def _position(self, t: float, z: float) -> float:
        """Leave a jump out that comes back; close one up that stays."""
        if isnan(z):
            return z
        past = self._raw
        far = bool(past) and abs(z - past[-1][1]) > 3.0 + 2.5 * (t - past[-1][0])
        if len(past) == 2:
            (at, before), (_, last) = past
            back = abs(z - before) <= 3.0 + 2.5 * (t - at)
            if self._wild and not far:
                self._resets += last - before
        else:
            back = False
        self._wild = far and not back
        past.append((t, z))
        return NAN if self._wild else z - self._resets
