"""What the rig is doing, second by second: facts, truth table, dwell and a little grammar."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from engine.block import Block, FloatArray, Mask, Quality, Table, mark, no_quality
from engine.config import WellConfig
from engine.ops.primitives import hold, previous
from engine.ops.rig_facts import FactFinder, FactsState
from engine.ops.rig_state_table import DOUBT_OF, DRILLING, ILLEGAL, STATE_OF, TRIPPING
from engine.ops.table import pick, times
from engine.states import RigState

DWELL_S = tuple(
    5.0 if state in DRILLING else 6.0 if state in TRIPPING else 3.0 for state in RigState
)
"""A state must have lasted so long, from its back-dated start, to be shown. [s] Longer for
drilling, which arms alarms, and for tripping: a lift of 0.3 m out of the slips is no trip."""
SETTLE_S = 1.0
"""And so long since the facts last changed: pumps and rotary never stop in the same second. [s]"""
ILLEGAL_S = 5.0
"""So much longer if the change skips a step. [s]"""


@dataclass(frozen=True, slots=True)
class Shown:
    """The state as shown, and how far the next one has got."""

    state: int = RigState.UNKNOWN
    since: float = float("nan")
    """[s since 1970-01-01 UTC]"""
    code: int = -1
    """State by the table at the newest sample; -1 before the first."""
    start: float = float("nan")
    """Back-dated start of the run of `code`. [s since 1970-01-01 UTC]"""
    changed: float = float("nan")
    """When `code` was first seen. [s since 1970-01-01 UTC]"""
    ripe: bool = False
    late: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class RigStatesState:
    """All that the rig state carries from block to block."""

    facts: FactsState
    shown: Shown = field(default_factory=Shown)
    illegal: int = 0
    """Changes accepted although they skip a step: poor data or poor limits. [-]"""


@dataclass(slots=True, eq=False)
class RigStates:
    """The rig state, and when it began.

    Notes
    -----
    A state shows after 3 s (drilling 5 s, tripping 6 s), counted from the back-dated start of
    what made it; `rig_state_since` is that start, so that lengths of time carry no delay. Pipe
    counts as moving as soon as the block's speed over 3 s is above 0.03 m/s, however far it goes:
    a short pick-up before a connection is reaming or washing, as it is to the driller.

    A change between drilling and tripping skips a step and waits 5 s more; then it is taken
    and counted in ``state.illegal``.
    """

    config: WellConfig
    _finder: FactFinder = field(init=False)
    state: RigStatesState = field(init=False)

    def __post_init__(self) -> None:
        self._finder = FactFinder(self.config)
        self.state = RigStatesState(self._finder.state)

    def process(self, table: Table) -> dict[str, Block]:
        """Work out one block.

        Parameters
        ----------
        table : mapping
            ``flow_in``, ``standpipe_pressure``, pump rates, ``rotary``, ``block_speed``,
            ``in_slips``, ``slips_since``, ``on_bottom``, ``bit_depth``, ``hole_depth``, and
            ``hook_load`` and ``block_position`` for their quality, shape (n,). [SI] What is
            missing is taken as unknown.

        Returns
        -------
        dict
            ``rig_state``, a number of `RigState`, never NaN: what cannot be told is
            ``UNKNOWN``. ``CONFLICT`` where it is in doubt: flow-in is contradicted by the
            pressure, rotary drilling cannot be told from a slide, or the bit turns on bottom
            without pumps. ``rig_state_since``, its back-dated start.
            [s since 1970-01-01 UTC] Both of shape (n,).
        """
        t = times(table)
        if not t.size:
            nothing = Block(t, np.empty(0), no_quality(0))
            return {"rig_state": nothing, "rig_state_since": nothing}
        seen = self._finder.process(table)
        code, doubt = STATE_OF[seen.codes], DOUBT_OF[seen.codes]
        state, since, shown, skips = _show(t, code, seen.began, self.state.shown)
        quality = pick(table, "flow_in").quality & np.uint16(Quality.CONFLICT)
        quality = mark(quality, doubt & (state == code), Quality.CONFLICT)
        self.state = RigStatesState(self._finder.state, shown, self.state.illegal + skips)
        return {
            "rig_state": Block(t, state.astype(np.float64), quality),
            "rig_state_since": Block(t, since, no_quality(t.size)),
        }


def _show(
    t: FloatArray, code: npt.NDArray[np.int8], began: FloatArray, shown: Shown
) -> tuple[npt.NDArray[np.intp], FloatArray, Shown, int]:
    """Delay the states of the table.

    Returns
    -------
    state, since : ndarray
        As shown, shape (n,).
    shown : Shown
        To go on with.
    skips : int
        Changes that skipped a step.
    """
    changed = code != previous(code, shown.code)
    start = hold(began, changed, shown.start)
    seen = hold(t, changed, shown.changed)
    need = np.array(DWELL_S)[code]
    settled = t - seen >= SETTLE_S
    ripe: Mask = settled & (t - start >= need)
    late: Mask = settled & (t - start >= need + ILLEGAL_S)
    first_ripe = ripe & (changed | ~previous(ripe, shown.ripe))
    first_late = late & (changed | ~previous(late, shown.late))
    state, skips = shown.state, 0
    began_at = float(t[0]) if np.isnan(shown.since) else shown.since
    out, since = np.full(t.size, state, np.intp), np.full(t.size, began_at)
    for i in np.flatnonzero(first_ripe | first_late).tolist():
        new = int(code[i])
        skip = (RigState(state), RigState(new)) in ILLEGAL
        if new != state and (first_late[i] or not skip):
            state, skips = new, skips + skip
            began_at = max(began_at, float(start[i]))  # no state begins before the one it ends
            out[i:], since[i:] = state, began_at
    newest = Shown(
        int(out[-1]), float(since[-1]), int(code[-1]), float(start[-1]), float(seen[-1]),
        bool(ripe[-1]), bool(late[-1]),
    )  # fmt: skip
    return out, since, newest, skips
