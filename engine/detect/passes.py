"""What the hook usually carries more than expected, by the way the string moves and by depth."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, field
from math import hypot
from statistics import median

LEAST = 1
"""With fewer earlier moves, the present one's own readings are the reference. [-]"""
OWN = 10
"""So many of them at least. [-]"""
KEPT = 5
"""A move with fewer readings is not remembered. [-]"""
FLOOR = 2e3
"""No gauge of a hook is quieter. [N]"""
FEW = 30.0
"""A deviation learnt from so many readings counts double, from many more as it is: means of two
overlap, and a median deviation of a few is often half of the true one. [-]"""
NORMAL = 1.4826
"""Standard deviation of a normal distribution over its median absolute deviation. [-]"""


@dataclass(frozen=True, slots=True)
class Move:
    """One move of the string that is over."""

    depth: float
    """Of the bit. [m]"""
    middle: float
    """Median of what the hook carried above the expected load. [N]"""
    noise: float
    """Median absolute deviation from it. [N]"""
    readings: int


@dataclass(frozen=True, slots=True)
class Usual:
    """What a reading is compared with."""

    middle: float
    """[N]"""
    sd: float
    """[N]"""


@dataclass(slots=True)
class Passes:
    """Moves of one way: their medians, and the readings of the present one."""

    most: int
    reach: float
    """[m]"""
    moves: deque[Move] = field(init=False)
    open: list[tuple[float, float]] = field(default_factory=list)
    """Depth [m] and load above the expected one [N] of the present move."""
    _usual: Usual | None = None

    def __post_init__(self) -> None:
        self.moves = deque(maxlen=self.most)

    def begin(self, depth: float) -> None:
        """End the move before, and begin one at `depth` [m]."""
        if len(self.open) >= KEPT:
            loads = [load for _, load in self.open]
            depth_ = median(d for d, _ in self.open)
            self.moves.append(Move(depth_, *spread(loads), len(loads)))
        self.open = []
        near = [m for m in self.moves if abs(m.depth - depth) <= self.reach]
        self._usual = None
        if len(near) >= LEAST:
            middle, between = spread([m.middle for m in near])
            within = median(m.noise for m in near)
            count = sum(m.readings for m in near)
            self._usual = Usual(middle, _deviation(hypot(within, between), count))

    def usual(self) -> Usual | None:
        """Return what to compare the next reading with; None: nothing yet."""
        if self._usual is None and len(self.open) >= OWN:
            middle, noise = spread([load for _, load in self.open])
            return Usual(middle, _deviation(noise, len(self.open)))
        return self._usual

    def add(self, depth: float, load: float) -> None:
        """Take a reading."""
        self.open.append((depth, load))


def _deviation(noise: float, readings: int) -> float:
    return max(FLOOR, NORMAL * noise * (1 + FEW / readings))


def spread(values: list[float]) -> tuple[float, float]:
    """Return median and median absolute deviation."""
    middle = median(values)
    return middle, median(abs(v - middle) for v in values)
