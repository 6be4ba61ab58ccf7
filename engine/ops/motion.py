"""Everything that follows from the block and the hook: slips, depth, tare, weight, rate."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from engine.block import Block, FloatArray, Mask, Quality, QualityArray, Table, derived, mark
from engine.config import WellConfig
from engine.ops import slips
from engine.ops.block_motion import BlockSpeed, Track, TrackState
from engine.ops.bottom import OLDEST, Bottom, Bottoms, BottomState, Deepest, DeepestState, Evidence
from engine.ops.by_tally import ByTally
from engine.ops.depth import Depth, Depths, DepthState
from engine.ops.primitives import NAN, Past
from engine.ops.rop import Rop, RopState
from engine.ops.slips import ShownSlips
from engine.ops.string_weight import StringWeight
from engine.ops.table import pick
from engine.ops.tare import Tare
from engine.ops.tare_state import Conditions, Tares, TareState
from engine.ops.weight_on_bit import weight_on_bit
from engine.ops.windows import RecentMedian, RecentState
from engine.units import G0
from engine.well.sheaves import lowering_factor

USUAL_WEIGHT = 15e3 * G0
"""Weight on bit that the string is squeezed by while it drills. [N] common practice"""


@dataclass(frozen=True, slots=True, eq=False)
class MotionState:
    """The states of all operators, in their order."""

    track: TrackState
    speed: Past
    depth: DepthState
    deepest: DeepestState
    tare: TareState
    bottom: BottomState
    drilled: RecentState
    rop: RopState
    shown: ShownSlips
    lowering: float


@dataclass(slots=True, eq=False)
class Motion:
    """Slips, depths, tare, weight on bit and rate of penetration of one rig.

    Reads hook_load, block_position, rotary, torque, flow_in and, until there is a depth,
    reported_bit_depth and reported_hole_depth. A channel that is not there is unknown.
    """

    config: WellConfig
    _string: StringWeight = field(init=False)
    _track: Track = field(default_factory=Track, init=False)
    _speed: BlockSpeed = field(default_factory=BlockSpeed, init=False)
    _shown: ShownSlips = field(default_factory=ShownSlips, init=False)
    _depth: Depth = field(init=False)
    _deepest: Deepest = field(default_factory=Deepest, init=False)
    _lowering: float = field(init=False)
    _tare: Tare = field(init=False)
    _bottom: Bottom = field(init=False)
    _drilled: RecentMedian = field(default_factory=lambda: RecentMedian(5, OLDEST), init=False)
    _rop: Rop = field(default_factory=Rop, init=False)

    def __post_init__(self) -> None:
        rig, start, profile = self.config.rig, self.config.start, self.config.profile
        string = self._string = StringWeight.of(self.config)
        self._lowering = lowering_factor(rig.lines, rig.sheave_efficiency)
        self._depth = Depth(
            rig.block_weight,
            lambda bit: float(string.buoyed(bit)),
            rig.stand_length,
            _or_nan(start.bit_depth),
            ByTally.of(self.config),
        )
        self._tare = Tare(
            string.buoyed,
            _or_nan(profile.flow_normal),
            _or_nan(profile.rotary_normal),
            profile.tare_hold_s,
        )
        self._bottom = Bottom(profile.on_bottom_hold_s)
        if start.hole_depth is not None:
            self._deepest.state = DeepestState(start.hole_depth, start.hole_depth)

    def process(self, table: Table) -> dict[str, Block]:
        """Work out one block.

        Parameters
        ----------
        table : mapping
            Channel id to `Block`, shape (n,), one time array for all. [SI]

        Returns
        -------
        dict
            block_speed [m/s], in_slips [-], slips_since [s since 1970-01-01 UTC], bit_depth,
            hole_depth [m], on_bottom [-], tare, weight_on_bit [N], off_bottom_torque (taken with
            the tare) [N m], rop [m/s], stand_count [-], stand_length, stand_remaining [m]; each
            of shape (n,).
        """
        hook, block = pick(table, "hook_load"), pick(table, "block_position")
        t, load = hook.t, hook.usable()
        z, reset = self._track.process(block)
        speed = self._speed.process(t, z)
        reported = pick(table, "reported_bit_depth").usable()
        moving = slips.Hoisting(t, load, z, speed.value)
        depths = self._depth.process(moving, reported, reset)
        smooth, deepest, given = self._deepest.process(
            t, depths.bit, depths.doubt, pick(table, "reported_hole_depth").usable()
        )
        # The bit touches sooner than the deepest point: there it stood under weight.
        above = deepest - smooth - USUAL_WEIGHT * self._string.stretch(smooth)
        torque, flow = pick(table, "torque").usable(), pick(table, "flow_in").usable()
        rotary = pick(table, "rotary").usable()
        tares = self._tare.process(
            Conditions(
                t, load, speed.value, rotary, flow, torque, depths.slips, above,
                depths.reach,
            )
        )  # fmt: skip
        bottoms = self._bottom.process(
            Evidence(
                t, smooth, deepest, above, given, depths.doubt, speed.value, load, torque,
                flow, depths.slips,
            ),
            tares,
        )  # fmt: skip
        shown, since = self._slips(hook, depths)
        # Where the bit is but for a constant: more load on the hook stretches the string.
        # Without this the rate follows every change of the weight.
        bit = np.where(depths.doubt, NAN, depths.bit)
        drilled = self._drilled.process(t, bit + load * self._string.stretch(smooth))
        return {
            "block_speed": speed,
            "in_slips": shown,
            "slips_since": since,
            **self._depths(block, depths, bottoms),
            **_tares(hook, tares),
            "weight_on_bit": weight_on_bit(hook, tares, bottoms, shown, self._lowering),
            "rop": self._rop.process(t, drilled, bottoms.hole, bottoms.on),
            **self._stands(block, depths),
        }

    def _slips(self, hook: Block, depths: Depths) -> tuple[Block, Block]:
        value, since = self._shown.process(hook.t, depths.slips)
        unknown = (np.isnan(value), Quality.NO_REFERENCE)
        # The load says nothing at this sample: the newest state it gave is repeated.
        held = (~depths.trusted | ~hook.good) & ~np.isnan(value)
        stale = (held, Quality.HELD)
        return derived(hook.t, value, unknown, stale), derived(hook.t, since, unknown, stale)

    def _depths(self, block: Block, depths: Depths, bottoms: Bottoms) -> dict[str, Block]:
        t, bit = block.t, depths.bit
        lost, ever = np.isnan(bit), ~np.isnan(depths.reach)
        doubt = (depths.doubt, Quality.OLD_REFERENCE)
        clash = (bottoms.contradicted, Quality.CONFLICT)
        quality = mark(block.quality, lost & ~ever, Quality.NO_REFERENCE)
        quality = mark(quality, lost & ever & block.good, Quality.REJECTED)
        quality = mark(np.where(lost, quality, 0).astype(np.uint16), *doubt)
        unknown = np.isnan(bottoms.hole)
        on = np.where(unknown, NAN, bottoms.on.astype(np.float64))
        return {
            "bit_depth": Block(t, bit, mark(quality, *clash)),
            "hole_depth": derived(
                t, bottoms.hole, (unknown, Quality.NO_REFERENCE), doubt, clash
            ),
            "on_bottom": derived(t, on, (unknown, Quality.NO_REFERENCE), doubt),
        }  # fmt: skip

    def _stands(self, block: Block, depths: Depths) -> dict[str, Block]:
        t, rig = block.t, self.config.rig
        left = block.usable() - rig.floor_limit - rig.stick_up
        out = depths.slips == 0.0
        none = np.isnan(depths.stands)
        return {
            "stand_count": derived(t, depths.stands, (none, Quality.NO_REFERENCE)),
            "stand_length": derived(
                t, depths.stand, (np.isnan(depths.stand), Quality.NO_REFERENCE)
            ),
            "stand_remaining": Block(
                t, np.where(out, left, NAN), _where_out(block.quality, depths.slips)
            ),
        }

    def set_depth(self, bit: float | None, hole: float | None) -> None:
        """Correct bit and hole depth by hand [m] from the next sample on; None leaves one.

        A bit set deeper than the hole is kept as given: both are held and marked
        ``CONFLICT`` until the bit is back within the hole or a depth is set again.
        """
        if bit is not None:
            self._depth.set(bit)
        self._deepest.set(bit, hole)
        self._bottom.set(hole)
        self._drilled.state = RecentState()
        self._rop.reset()

    def tare_now(self) -> float | None:
        """Take the present hook load as tare; return it [N].

        None, and nothing is changed, when there is no load to take: in slips, slips unknown,
        or no good hook load in the last seconds.
        """
        return self._tare.now()

    def set_lines(self, lines: int) -> None:
        """Take another count of lines [-]: the tare is forgotten, weight on bit unknown."""
        self._lowering = lowering_factor(lines, self.config.rig.sheave_efficiency)
        self._tare.forget()

    @property
    def state(self) -> MotionState:
        """All that must outlive a block, a restart or a seek."""
        return MotionState(
            self._track.state,
            self._speed.state,
            self._depth.state,
            self._deepest.state,
            self._tare.state,
            self._bottom.state,
            self._drilled.state,
            self._rop.state,
            ShownSlips(self._shown.state, self._shown.known_since),
            self._lowering,
        )

    @state.setter
    def state(self, s: MotionState) -> None:
        self._track.state, self._speed.state = s.track, s.speed
        self._depth.state, self._deepest.state = s.depth, s.deepest
        self._tare.state, self._bottom.state, self._rop.state = s.tare, s.bottom, s.rop
        self._drilled.state, self._lowering = s.drilled, s.lowering
        self._shown = ShownSlips(s.shown.state, s.shown.known_since)


def _or_nan(value: float | None) -> float:
    return NAN if value is None else value


def _where_out(quality: QualityArray, in_slips: FloatArray) -> QualityArray:
    quality = mark(quality, in_slips == 1.0, Quality.NOT_APPLICABLE)
    return mark(quality, np.isnan(in_slips), Quality.NO_REFERENCE)


def _tares(hook: Block, tares: Tares) -> dict[str, Block]:
    none: Mask = np.isnan(tares.load)
    no_torque: Mask = np.isnan(tares.torque)
    return {
        "tare": derived(
            hook.t,
            tares.load,
            (none, Quality.NO_REFERENCE),
            (tares.old & ~none, Quality.OLD_REFERENCE),
            (tares.refused & ~none, Quality.CONFLICT),
        ),
        "off_bottom_torque": derived(
            hook.t,
            tares.torque,
            (no_torque, Quality.NO_REFERENCE),
            (tares.old & ~no_torque, Quality.OLD_REFERENCE),
        ),
    }
