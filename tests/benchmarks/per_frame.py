"""The derivations of `engine.pipeline` once more, a row at a time: floats and ifs, no arrays.

Written from the rules as the docstrings of `engine.ops` and the published practice behind them
state them, with its own numbers and its own arithmetic: `engine.ops` is not imported. It is what
the block operators are raced against, and a second opinion on what they give.

Left out, which makes the race harder for the blocks: quality bits, stand counts, unseen stand
changes after a gap, and commands by hand.
"""

from __future__ import annotations

from collections.abc import Mapping
from math import isnan, pi

from engine.channels import CHANNELS, RAW
from engine.config import WellConfig
from tests.benchmarks.per_frame_alarms import Limit
from tests.benchmarks.per_frame_depth import SlipsAndDepth, StringFacts
from tests.benchmarks.per_frame_drilling import Drilling
from tests.benchmarks.per_frame_frozen import Frozen
from tests.benchmarks.per_frame_small import NAN, BlockMotion, Delay
from tests.benchmarks.per_frame_state import RigStates

STROKING = 4 / 60
"""A pump that is not in the well file and strokes faster makes flow-in unknown. [1/s]"""


class PerFrame:
    """All derivations of one well, for raw channels that come a row at a time."""

    def __init__(self, config: WellConfig) -> None:
        if config.profile.flow_normal is None or config.profile.rotary_normal is None:
            raise ValueError(
                "per-frame reference: the well file must name flow_normal and rotary_normal; "
                "learning them is not in it"
            )
        string = StringFacts(config)
        self._ranges = [(name, CHANNELS[name].low, CHANNELS[name].high) for name in RAW]
        self._frozen = Frozen()
        self._flow = FlowIn(config)
        self._block = BlockMotion()
        self._depth = SlipsAndDepth(config, string)
        self._drilling = Drilling(config, string)
        self._states = RigStates(config)
        self._limits = [Limit(alarm) for alarm in config.alarms]
        self._slips_shown = SlipsShown()
        self._zero = NAN
        self.frozen: list[str] = []
        """Channels frozen at the newest row."""

    def step(self, row: Mapping[str, float], held: frozenset[str]) -> dict[str, float]:
        """Work out one row.

        Parameters
        ----------
        row : mapping
            ``t`` [s since 1970-01-01 UTC] and all of `engine.channels.RAW`, SI, NaN where there
            is no value.
        held : frozenset of str
            Channels whose value is repeated from an earlier row.

        Returns
        -------
        dict
            ``t``, the raw channels as they came and the derived ones, SI.
        """
        t = row["t"]
        out = dict(row)
        good = {}
        for name, low, high in self._ranges:
            value = row[name]
            good[name] = value if low <= value <= high else NAN
        self.frozen = self._frozen.step(t, row, good, held)
        for name in self.frozen:
            good[name] = NAN
        flow = out["flow_in"] = self._flow.step(good)
        out["flow_difference"] = good["flow_out"] - flow
        pit = good["pit_volume"]
        if isnan(self._zero):
            self._zero = pit
        out["pit_gain"] = pit - self._zero

        z, speed = self._block.step(t, good["block_position"])
        load = good["hook_load"]
        slips, bit, reach = self._depth.step(t, load, z, speed, good["reported_bit_depth"])
        shown, slips_at = self._slips_shown.step(t, slips)
        d = self._drilling.step(t, load, z, speed, good, flow, slips, shown, bit, reach)
        out["block_speed"], out["in_slips"], out["slips_since"] = speed, shown, slips_at
        out["bit_depth"], out["hole_depth"], out["on_bottom"] = bit, d.hole, d.on
        out["tare"], out["weight_on_bit"], out["rop"] = d.tare, d.weight, d.rop
        state, since = self._states.step(t, good, flow, shown, slips_at, d.on, bit, d.hole, speed)
        out["rig_state"], out["rig_state_since"] = float(state), since
        return out

    def alarms(self, out: Mapping[str, float]) -> list[tuple[float, str, str]]:
        """Return (time, alarm, trip or clear) of every limit that changed at this newest row.

        Limits of what only the blocks work out are left out.
        """
        edges = []
        for limit in self._limits:
            if limit.channel not in out:
                continue
            channel = CHANNELS[limit.channel]
            value = out[limit.channel]
            if not channel.low <= value <= channel.high or limit.channel in self.frozen:
                value = NAN
            edge = limit.step(out["t"], value)
            if edge:
                edges.append((out["t"], limit.id, edge))
        return edges


class FlowIn:
    """Strokes times stroke volume over the pumps lined up; a flow meter until one is heard."""

    def __init__(self, config: WellConfig) -> None:
        self._pumps = []
        for i, pump in enumerate(config.pumps):
            if pump.type == "triplex":
                swept = 3 * pi / 4 * pump.liner**2 * pump.stroke
            else:
                swept = pi / 2 * (2 * pump.liner**2 - pump.rod**2) * pump.stroke
            if pump.lined_up:
                self._pumps.append((f"pump_{i + 1}_rate", swept * pump.efficiency))
        self._others = [f"pump_{i + 1}_rate" for i in range(len(config.pumps), 3)]
        self._heard = False

    def step(self, good: Mapping[str, float]) -> float:
        """Return flow-in at this row. [m3/s]"""
        flow = 0.0
        for name, volume in self._pumps:
            rate = good[name]
            if rate == rate:
                self._heard = True
            flow += rate * volume
        if not self._heard:
            return good["flow_in_measured"]
        for name in self._others:
            if good[name] > STROKING:
                return NAN
        return flow


class SlipsShown:
    """Slips as shown: in after 3 s, out after 2 s, dated back; the first state at once."""

    def __init__(self) -> None:
        self._delay = Delay(3.0, 2.0)
        self._began = False

    def step(self, t: float, slips: float) -> tuple[float, float]:
        """Return 1 in, 0 out or NaN, and since when. [s]"""
        if isnan(slips):
            return NAN, NAN
        if not self._began:
            self._began = True
            self._delay.on, self._delay.since = slips > 0.5, t
        on, since = self._delay.step(t, slips > 0.5)
        return float(on), since
