"""The truth table of the rig states: facts in, state out, and what to do when one is unknown.

References
----------
.. [1] The rules are our own. Thresholds on about eight channels, looked up in a table, are
   common practice; for published ways and their accuracy see e.g. Y. Zha, S. Pham, Monitoring
   downhole drilling operations using deep learning, 2018 (from memory).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import IntEnum
from itertools import product

import numpy as np
import numpy.typing as npt

from engine.block import Mask
from engine.states import RigState

UNKNOWN = 2
"""Code of a fact that is not known; 0 is no, 1 is yes. [-]"""


class Motion(IntEnum):
    """Which way the block goes."""

    STILL = 0
    UP = 1
    DOWN = 2
    UNKNOWN = 3


@dataclass(frozen=True, slots=True)
class Facts:
    """What the table is asked with: each 0, 1 or `UNKNOWN`, and the motion."""

    slips: int
    bottom: int
    pumping: int
    rotating: int
    motion: Motion
    advancing: int
    """The hole got deeper within the last 300 s."""
    out: int
    """Bit less than a stand below the floor. Unknown depth counts as no."""


@dataclass(frozen=True, slots=True)
class Row:
    """One rule; None is "whatever it is"."""

    state: RigState
    slips: int | None = 0
    bottom: int | None = None
    pumping: int | None = None
    rotating: int | None = None
    motion: tuple[Motion, ...] | None = None
    advancing: int | None = None
    out: int | None = None
    doubt: bool = False
    """Possible, but to be looked at: marked ``CONFLICT``."""

    def fits(self, facts: Facts) -> bool:
        """Whether the rule is about these facts."""
        for name in ("slips", "bottom", "pumping", "rotating", "advancing", "out"):
            wanted = getattr(self, name)
            if wanted is not None and wanted != getattr(facts, name):
                return False
        return self.motion is None or facts.motion in self.motion


_STEADY = (Motion.STILL, Motion.DOWN)
"""Drilling looks still: 0.03 m/s, where motion begins, would be 108 m/h."""
_UP, _DOWN, _STILL = (Motion.UP,), (Motion.DOWN,), (Motion.STILL,)
S = RigState

ROWS: tuple[Row, ...] = (
    # In slips, whatever else: filling pipe, breaking circulation, make-up torque.
    Row(S.IN_SLIPS, slips=1),
    # Bit at the surface: handling the assembly.
    Row(S.TRIPPING_OUT, bottom=0, out=1, motion=_UP),
    Row(S.TRIPPING_IN, bottom=0, out=1, motion=_DOWN),
    Row(S.STATIC, bottom=0, out=1, motion=_STILL),
    # Making hole. Proved by new depth, not by motion.
    Row(S.DRILLING_ROTARY, bottom=1, pumping=1, rotating=1, motion=_STEADY, advancing=1),
    Row(S.DRILLING_SLIDE, bottom=1, pumping=1, rotating=0, motion=_STEADY, advancing=1),
    Row(S.DRILLING_ROTARY, bottom=1, pumping=0, rotating=1, motion=_STEADY, advancing=1,
        doubt=True),
    # With neither pumps nor rotary nothing turns the bit: that is not drilling.
    # Moving pipe.
    Row(S.REAMING_UP, pumping=1, rotating=1, motion=_UP),
    Row(S.REAMING_DOWN, pumping=1, rotating=1, motion=_DOWN),
    Row(S.WASHING, pumping=1, rotating=0, motion=(Motion.UP, Motion.DOWN)),
    Row(S.REAMING_UP, pumping=0, rotating=1, motion=_UP),
    Row(S.REAMING_DOWN, pumping=0, rotating=1, motion=_DOWN),
    Row(S.TRIPPING_OUT, pumping=0, rotating=0, motion=_UP),
    Row(S.TRIPPING_IN, pumping=0, rotating=0, motion=_DOWN),
    # Pipe at rest, on bottom without new depth too.
    Row(S.CIRCULATING, pumping=1, motion=_STILL),
    Row(S.ROTATING_OFF_BOTTOM, pumping=0, rotating=1, motion=_STILL),
    Row(S.STATIC, pumping=0, rotating=0, motion=_STILL),
)  # fmt: skip
"""First fit wins. Any known facts fit one row."""

DRILLING = frozenset({S.DRILLING_ROTARY, S.DRILLING_SLIDE})
TRIPPING = frozenset({S.TRIPPING_IN, S.TRIPPING_OUT})
ILLEGAL = frozenset(
    {(a, b) for a in DRILLING for b in TRIPPING} | {(a, b) for a in TRIPPING for b in DRILLING}
)
"""Changes that skip a step: pipe is picked up or slips are set between drilling and a trip."""


def walk(facts: Facts) -> Row:
    """Return the first row that fits `facts`, which must all be known."""
    return next(row for row in ROWS if row.fits(facts))


def judge(facts: Facts) -> tuple[RigState, bool]:
    """Return the state, and whether it is in doubt.

    An unknown fact matters only where it could change the answer: if all it could be gives
    one state, that is the state. If all that remains is rotary or slide, the rig drills and
    how is not guessed: ``DRILLING_ROTARY`` in doubt. Else the state is ``UNKNOWN``.
    """
    rows = {walk(each) for each in _known(facts)}
    states = {row.state for row in rows}
    if len(states) == 1:
        return states.pop(), any(row.doubt for row in rows)
    if states <= DRILLING:
        return S.DRILLING_ROTARY, True
    return S.UNKNOWN, False


def _known(facts: Facts) -> Iterator[Facts]:
    """Everything that `facts` may be."""
    moves = _moves(facts.motion)
    flags = (facts.slips, facts.bottom, facts.pumping, facts.rotating, facts.advancing)
    for motion, flag in product(moves, product(*(_either(f) for f in flags))):
        slips, bottom, pumping, rotating, advancing = flag
        out = facts.out if facts.out != UNKNOWN else 0
        yield Facts(slips, bottom, pumping, rotating, motion, advancing, out)


def _either(flag: int) -> tuple[int, ...]:
    return (0, 1) if flag == UNKNOWN else (flag,)


def _moves(motion: Motion) -> tuple[Motion, ...]:
    if motion is Motion.UNKNOWN:
        return (Motion.STILL, Motion.UP, Motion.DOWN)
    return (motion,)


SHAPE = (3, 3, 3, 3, 4, 3, 2)
"""How many codes each fact of `Facts` has, in its order."""
ByteArray = npt.NDArray[np.int8]


def _every() -> tuple[ByteArray, Mask]:
    """Ask the table once for all there is, so that a block costs one look-up."""
    state, doubt = np.zeros(SHAPE, np.int8), np.zeros(SHAPE, np.bool_)
    for code in np.ndindex(*SHAPE):
        s, b, p, r, v, a, o = code
        state[code], doubt[code] = judge(Facts(s, b, p, r, Motion(v), a, o))
    return state, doubt


STATE_OF, DOUBT_OF = _every()
"""State and doubt by the codes of all facts, shape `SHAPE`. [-]"""
