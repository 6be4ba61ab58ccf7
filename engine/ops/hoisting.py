r"""What the hook should carry by the well file, and how far it carries more.

.. math:: F = W_b + g \left(\sum w_i L_i (1 - \rho / \rho_s) + w z\right)

with z the height of the block: pipe above the floor hangs in air.

References
----------
.. [1] A. T. Bourgoyne et al., Applied Drilling Engineering, SPE, 1986, ch. 1 and 4.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from engine.block import BAD, Block, FloatArray, Mask, Quality, QualityArray, Table, mark
from engine.config import WellConfig
from engine.ops.sheave_side import SheaveSide, until_tare
from engine.ops.string_weight import StringWeight, buoyancy_factor
from engine.ops.table import joined, pick

NAN = float("nan")


@dataclass(frozen=True, slots=True)
class HoistingState:
    """All that must outlive a block."""

    lines: int
    """Strung to the block now. [-]"""
    restrung: bool = False
    """Their count changed, and no tare has come since."""


@dataclass(slots=True, eq=False)
class Hoisting:
    """Expected hook load, overpull, and how much more the hook may carry.

    Loads are those at the hook: with ``rig.sheave_efficiency`` below 1 the gauge is corrected
    by the way the block moves. It is not where the block stands; then overpull and margin are
    ``PARTIAL``, as the sheaves may lean either way.
    """

    config: WellConfig
    unknown: dict[str, str] = field(init=False)
    """Why a channel can never be known with this well file, in words; by channel."""
    state: HoistingState = field(init=False)
    _string: StringWeight = field(init=False)
    _limit: float = field(init=False)

    def __post_init__(self) -> None:
        rig = self.config.rig
        self.state = HoistingState(rig.lines)
        self._string = StringWeight.of(self.config)
        self._limit = NAN if rig.hook_load_limit is None else rig.hook_load_limit
        self.unknown = {}
        if rig.hook_load_limit is None:
            text = "no limit in the well file: under [rig], hook_load_limit_tf"
            self.unknown["overpull_margin"] = text

    def process(self, table: Table) -> dict[str, Block]:
        """Work out one block.

        Parameters
        ----------
        table : mapping
            ``hook_load`` [N], ``bit_depth``, ``block_position`` [m], ``block_speed`` [m/s],
            ``in_slips``, ``on_bottom`` [-], ``tare`` [N], shape (n,); what is missing is
            taken as unknown.

        Returns
        -------
        dict
            ``expected_hook_load`` from the well file's string, mud and block weight and the bit
            depth; ``overpull``, hook load above the tare, or above the expected load where there
            is no tare (``OLD_REFERENCE``), negative: the hole carries some; ``overpull_margin``,
            what is left to ``rig.hook_load_limit``. Each [N], shape (n,). NaN with the
            reasons of what goes in; ``NOT_APPLICABLE`` in slips, overpull also on bottom;
            ``NO_REFERENCE`` while slips are unknown, and for the margin without a limit. All
            ``OLD_REFERENCE`` from a change of the line count to the next tare.
        """
        s = self.state
        hook, slips, tare = (pick(table, c) for c in ("hook_load", "in_slips", "tare"))
        on = pick(table, "on_bottom").value
        speed = pick(table, "block_speed").usable()
        side = SheaveSide.of(s.lines, self.config.rig.sheave_efficiency)
        doubt = until_tare(tare, s.restrung)
        if doubt.size:
            self.state = HoistingState(s.lines, s.restrung and bool(doubt[-1]))

        in_slips, no_slips = slips.value == 1.0, np.isnan(slips.value)
        expected = self._expected(table, in_slips, no_slips, doubt)
        load = hook.usable() * side.factor(speed)
        leaning = side.leaning(speed)

        # The tare was taken while the block sank.
        taken = tare.usable() * side.down
        no_tare = np.isnan(taken)
        free = np.where(no_tare, expected.value, taken)
        over = np.where(on == 0.0, load - free, NAN)
        over[in_slips | no_slips] = NAN
        known = hook.good & ~in_slips & ~no_slips
        quality = mark(hook.quality, no_slips, Quality.NO_REFERENCE)
        quality = mark(quality, in_slips | (on == 1.0), Quality.NOT_APPLICABLE)
        quality = mark(quality, known & np.isnan(on), Quality.NO_REFERENCE)
        quality = mark(quality, known & np.isnan(free) & (on == 0.0), Quality.NO_REFERENCE)
        was = np.where(no_tare, expected.quality, tare.quality) & ~np.uint16(Quality.HELD | BAD)
        shown = ~np.isnan(over)
        quality = np.where(shown, quality | was, quality).astype(np.uint16)
        quality = mark(quality, shown & no_tare, Quality.OLD_REFERENCE)
        return {
            "expected_hook_load": expected,
            "overpull": Block(hook.t, over, mark(quality, shown & leaning, Quality.PARTIAL)),
            "overpull_margin": self._margin(hook, load, in_slips, no_slips, leaning, doubt),
        }

    def _expected(self, table: Table, in_slips: Mask, no_slips: Mask, doubt: Mask) -> Block:
        depth, block = pick(table, "bit_depth"), pick(table, "block_position")
        bit, z = depth.usable(), block.usable()
        no_height = np.isnan(z)
        above = np.where(no_height, 0.0, np.maximum(z, 0.0))
        lost = 1.0 - buoyancy_factor(self._string.mud_density)
        string = self._string.air(np.maximum(bit, 0.0) + above) - lost * self._string.air(bit)
        value: FloatArray = self.config.rig.block_weight + string
        value = np.where(in_slips | no_slips, NAN, value)
        quality: QualityArray = depth.quality
        if not no_height.all():
            quality = np.where(no_height, depth.quality, joined(depth.quality, block.quality))
            quality = quality.astype(np.uint16)
        known = ~np.isnan(value)
        quality = mark(quality, no_slips, Quality.NO_REFERENCE)
        quality = mark(quality, in_slips, Quality.NOT_APPLICABLE)
        quality = mark(quality, known & no_height, Quality.PARTIAL)
        quality = mark(quality, known & doubt, Quality.OLD_REFERENCE)
        return Block(depth.t, value, quality)

    def _margin(
        self, hook: Block, load: FloatArray, in_slips: Mask, no_slips: Mask, leaning: Mask,
        doubt: Mask,
    ) -> Block:  # fmt: skip
        value = self._limit - load
        value[in_slips | no_slips] = NAN
        quality = mark(hook.quality, in_slips, Quality.NOT_APPLICABLE)
        none = no_slips | np.isnan(np.full(value.size, self._limit))
        quality = mark(quality, none, Quality.NO_REFERENCE)
        shown = ~np.isnan(value)
        quality = mark(quality, shown & leaning, Quality.PARTIAL)
        return Block(hook.t, value, mark(quality, shown & doubt, Quality.OLD_REFERENCE))

    def set_lines(self, lines: int) -> None:
        """Take another count of lines [-]; loads are in doubt until the next tare."""
        self.state = HoistingState(lines, True)
