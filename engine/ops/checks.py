"""Is a sensor believable: inside its range, and alive while others say it should move.

References
----------
.. [1] Run lengths of a quantised noisy signal: of 400 000 samples with a standard deviation
   of half a quantum the longest run of equal values is 30 (white noise) to 85 (correlated
   over 10 s); computed for this project. Limits on noise alone are three times that.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from engine.block import Block, FloatArray, Mask, Quality, Table, mark
from engine.channels import CHANNELS
from engine.config import WellConfig
from engine.ops.flow import FLOWING, NO_PRESSURE
from engine.ops.primitives import hold, last_true, previous
from engine.ops.table import pick
from engine.units import MINUTE, UNITS

NAN = float("nan")
_LOST = np.uint16(Quality.NO_DATA | Quality.STALE | Quality.LINK_DOWN)
_HELD = np.uint16(Quality.HELD)

GAP_S = 60.0
"""Equal values further apart than this prove nothing: it may have moved between. [s]"""


Group = tuple[tuple[str, float], ...]
"""(channel, amount [SI]), any of which will do."""


@dataclass(frozen=True, slots=True)
class Witness:
    """What moves when a rig works; true when each group has a channel beyond its amount."""

    groups: tuple[Group, ...]
    since_run: bool
    """Compare with the channel's value when the run of equal samples began, not with zero."""


_SPM = 1 / MINUTE
_PUMPS = ("pump_1_rate", "pump_2_rate", "pump_3_rate")
RATE_CHANGED = Witness(
    ((*((pump, 6 * _SPM) for pump in _PUMPS), ("flow_in_measured", 3e-3)),), since_run=True
)
"""A pump changed by 6 strokes/min, a tenth of its usual rate: far above the meter's noise."""
PUMPING = Witness(
    ((*((pump, 8 * _SPM) for pump in _PUMPS), ("flow_in_measured", 3e-3)),), since_run=False
)
"""A pump strokes: pressure, flow and pits then always ripple."""
BLOCK_TRAVELLED = Witness(((("block_position", 5.0),),), since_run=True)
"""The block went 5 m: sheave friction alone then changes the load [m]."""
DRILLING = Witness((*PUMPING.groups, (("rotary", UNITS["rpm"].to_si(10)),)), since_run=False)
"""Pumps and rotary on: the string shakes. In slips the hook may hang quite still."""


@dataclass(frozen=True, slots=True)
class FrozenRule:
    """A channel that holds one value so long, while its witness moves, is frozen."""

    channel: str
    witness: Witness
    limit: float
    """Time from the witness's first move in the run. [s]"""
    rest: float = float("-inf")
    """At or below this a constant value is legitimate: nothing flows, no pressure. [SI]"""


# Rates that change move pressure and returns for certain, within the return's dead time and
# storage (3 to 75 s; at 45 s half of it has passed). At rest none is judged: no returns at all
# is a total loss, which must stay visible as a number.
FROZEN_RULES = (
    FrozenRule("flow_out", RATE_CHANGED, 45.0, rest=FLOWING),
    FrozenRule("flow_out", PUMPING, 190.0, rest=FLOWING),  # 3 x 63 samples [1]_
    FrozenRule("standpipe_pressure", RATE_CHANGED, 60.0, rest=NO_PRESSURE),
    FrozenRule("standpipe_pressure", PUMPING, 190.0, rest=NO_PRESSURE),
    FrozenRule("hook_load", BLOCK_TRAVELLED, 60.0),
    FrozenRule("hook_load", DRILLING, 260.0),  # 3 x 85 samples [1]_
    FrozenRule("pit_volume", RATE_CHANGED, 120.0),  # surface lines drain back within a minute
    FrozenRule("pit_volume", PUMPING, 300.0),  # 3 x 85 samples and more [1]_
)


@dataclass(frozen=True, slots=True)
class Run:
    """The present run of equal fresh samples of one channel."""

    value: float = NAN
    at: float = NAN
    """Time of the newest fresh sample. [s since 1970-01-01 UTC]"""


@dataclass(frozen=True, slots=True)
class Proof:
    """How far one rule has got in the present run."""

    bases: tuple[tuple[float, ...], ...] = ()
    """What the witness's channels showed when the run began, by group. [SI]"""
    moves: bool = False
    since: float = NAN
    """[s since 1970-01-01 UTC]"""
    frozen: bool = False


@dataclass(frozen=True, slots=True)
class ChecksState:
    """The runs by channel, and the proofs in the order of the rules."""

    runs: Mapping[str, Run] = field(default_factory=dict)
    proofs: tuple[Proof, ...] = ()


@dataclass(slots=True, eq=False)
class Checks:
    """Add ``OUT_OF_RANGE`` and ``FROZEN`` to raw channels; never touch a value.

    Frozen means: every fresh sample (not ``HELD``, not lost) since the run began is exactly
    the same number, while a witness moves. A rig that stands still flags nothing. The mark
    stays until the value changes or the channel is lost.
    """

    config: WellConfig
    rules: tuple[FrozenRule, ...] = FROZEN_RULES
    state: ChecksState = field(default_factory=ChecksState)

    def process(self, table: Table) -> dict[str, Block]:
        """Work out one block.

        Parameters
        ----------
        table : mapping
            Raw channels, shape (n,). [SI]

        Returns
        -------
        dict
            The same channels and values with bits added. [SI]
        """
        ranges = {one.channel: (one.low, one.high) for one in self.config.ranges}
        out = {c: in_range(c, block, *ranges.get(c, ())) for c, block in table.items()}
        scene = Scene(out)
        proofs = self.state.proofs or tuple(Proof() for _ in self.rules)
        runs = {c: Run() for c in dict.fromkeys(rule.channel for rule in self.rules)}
        fresh, begins, values = {}, {}, {}
        for channel in runs:
            run = self.state.runs.get(channel, Run())
            block = pick(out, channel)
            fresh[channel] = ~np.isnan(block.value) & ((block.quality & _HELD) == 0)
            begins[channel], values[channel], runs[channel] = _run(block, fresh[channel], run)
        new = []
        for rule, proof in zip(self.rules, proofs, strict=True):
            c = rule.channel
            frozen, after = _judge(rule, scene, fresh[c], begins[c], values[c], proof)
            new.append(after)
            if c in out and frozen.any():
                block = out[c]
                quality = mark(block.quality, frozen & ~np.isnan(block.value), Quality.FROZEN)
                out[c] = Block(block.t, block.value, quality)
        self.state = ChecksState(runs, tuple(new))
        return out


@dataclass(slots=True, eq=False)
class Scene:
    """The witnesses' channels of one block, as far as they are in range."""

    table: Table
    _stacks: dict[Group, FloatArray] = field(default_factory=dict)
    _levels: dict[Witness, Mask] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.table = dict(self.table)

    def stack(self, group: Group) -> FloatArray:
        """Return the channels of a group, NaN where unfit, shape (channels, n). [SI]"""
        if group not in self._stacks:
            self._stacks[group] = np.stack([pick(self.table, c).usable() for c, _ in group])
        return self._stacks[group]

    def moves(
        self, witness: Witness, begins: Mask, proof: Proof
    ) -> tuple[Mask, tuple[tuple[float, ...], ...]]:
        """Return where the witness moves, shape (n,), and where its channels began.

        An unknown channel says nothing.
        """
        if not witness.since_run:
            if witness not in self._levels:
                beyond = [_any_beyond(self.stack(g), g) for g in witness.groups]
                self._levels[witness] = np.logical_and.reduce(beyond)
            return self._levels[witness], ()
        k = last_true(begins)
        bases, beyond = [], []
        for i, group in enumerate(witness.groups):
            now = self.stack(group)
            carried = proof.bases[i] if proof.bases else (NAN,) * len(group)
            base = np.where(k >= 0, now[:, np.maximum(k, 0)], np.array(carried)[:, None])
            bases.append(tuple(base[:, -1].tolist()))
            beyond.append(_any_beyond(now - base, group))
        moves = np.logical_and.reduce(beyond)
        # Once it has moved, that stands against the run, even if it moved back.
        return hold(moves, moves | begins, proof.moves), tuple(bases)


def _any_beyond(stack: FloatArray, group: Group) -> Mask:
    amounts = np.array([amount for _, amount in group])[:, None]
    out: Mask = np.logical_or.reduce(np.abs(stack) > amounts, axis=0)
    return out


def in_range(
    channel_id: str, block: Block, low: float | None = None, high: float | None = None
) -> Block:
    """Mark what lies outside the measuring range; the value stays as it came.

    Parameters
    ----------
    low, high : float, optional
        Of the gauge; None: of the channel. [SI]
    """
    channel = CHANNELS.get(channel_id)
    if channel is None:
        return block
    least, most = (channel.low if low is None else low), (channel.high if high is None else high)
    outside = (block.value < least) | (block.value > most)
    if not outside.any():
        return block
    return Block(block.t, block.value, mark(block.quality, outside, Quality.OUT_OF_RANGE))


def _run(block: Block, fresh: Mask, run: Run) -> tuple[Mask, FloatArray, Run]:
    """Where runs of equal fresh samples begin, and the value of the run at each sample."""
    lost = (block.quality & _LOST) != 0
    value = hold(np.where(lost, np.nan, block.value), fresh | lost, run.value)
    at = hold(block.t, fresh, run.at)
    pause = block.t - previous(at, run.at)
    begins: Mask = fresh & ((block.value != previous(value, run.value)) | (pause > GAP_S))
    if value.size:
        run = Run(float(value[-1]), float(at[-1]))
    return begins, value, run


def _judge(
    rule: FrozenRule, scene: Scene, fresh: Mask, begins: Mask, value: FloatArray, proof: Proof
) -> tuple[Mask, Proof]:
    """Where `rule` holds, shape (n,), and the proof to go on with."""
    if not value.size:
        return np.zeros(0, np.bool_), proof
    t = pick(scene.table, rule.channel).t
    moves, bases = scene.moves(rule.witness, begins, proof)
    since = hold(t, begins | (moves & ~previous(moves, proof.moves)), proof.since)
    proved = fresh & moves & (t - since >= rule.limit) & (value > rule.rest)
    frozen = hold(proved, proved | begins, proof.frozen)
    return frozen, Proof(bases, bool(moves[-1]), float(since[-1]), bool(frozen[-1]))
