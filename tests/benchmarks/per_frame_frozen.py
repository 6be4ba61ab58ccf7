"""Sensors that hold one value while the rig shows that they should move, a row at a time."""

from __future__ import annotations

from collections.abc import Mapping

from tests.benchmarks.per_frame_small import NAN, RPM

SPM = 1 / 60
PUMPS = ("pump_1_rate", "pump_2_rate", "pump_3_rate")
FLOW_METER = 3e-3
"""A change, or a flow, that proves that pumps move mud. [m3/s]"""
REST = {"flow_out": 1e-3, "standpipe_pressure": 50 * 6894.757293168362}
"""At or below this a constant value is legitimate. [SI]"""
PROVED_BY_CHANGE = {"flow_out": 45.0, "standpipe_pressure": 60.0, "pit_volume": 120.0}
"""Time since a pump rate changed by 6 strokes/min within the run. [s]"""
PROVED_BY_PUMPING = {"flow_out": 190.0, "standpipe_pressure": 190.0, "pit_volume": 300.0}
"""Time that a pump has made more than 8 strokes/min. [s]"""
WATCHED = (*PROVED_BY_CHANGE, "hook_load")


class Frozen:
    """Which of the watched channels are frozen: one fresh value so long, while a witness moves.

    A hook load is frozen 60 s after the block went 5 m, or after 260 s of pumping and rotating.
    """

    def __init__(self) -> None:
        self._runs = [Run(name) for name in WATCHED]

    def step(
        self, t: float, row: Mapping[str, float], good: Mapping[str, float], held: frozenset[str]
    ) -> list[str]:
        """Return the frozen channels; `good` are the values in range, `held` the repeated ones."""
        rates = (good[PUMPS[0]], good[PUMPS[1]], good[PUMPS[2]], good["flow_in_measured"])
        pumping = (
            rates[0] > 8 * SPM or rates[1] > 8 * SPM or rates[2] > 8 * SPM
            or abs(rates[3]) > FLOW_METER
        )  # fmt: skip
        drilling = pumping and abs(good["rotary"]) > 10 * RPM
        z = good["block_position"]
        frozen = []
        for run in self._runs:
            name = run.name
            hook = name == "hook_load"
            steady = drilling if hook else pumping
            if run.step(t, row[name], name not in held, steady, rates, z):
                frozen.append(name)
        return frozen


class Run:
    """The present run of equal fresh values of one channel, and what has moved in it."""

    def __init__(self, name: str) -> None:
        self.name = name
        self._rest = REST.get(name, float("-inf"))
        hook = name == "hook_load"
        self._changed_s = 60.0 if hook else PROVED_BY_CHANGE[name]
        self._steady_s = 260.0 if hook else PROVED_BY_PUMPING[name]
        self._value = self._at = self._z = NAN
        self._rates = (NAN, NAN, NAN, NAN)
        self._moved = self._steady = self._frozen = False
        self._moved_at = self._steady_at = NAN

    def step(
        self, t: float, value: float, fresh: bool, steady: bool,
        rates: tuple[float, float, float, float], z: float,
    ) -> bool:  # fmt: skip
        """Return whether the channel is frozen at this row."""
        if value != value:
            self._value, fresh = NAN, False
        if fresh:
            if value != self._value or t - self._at > 60.0:
                self._value, self._z, self._rates = value, z, rates
                self._moved_at = self._steady_at = t
                self._moved = self._frozen = False
            self._at = t
        if not self._moved and self._moves(rates, z):
            self._moved, self._moved_at = True, t
        if steady and not self._steady:
            self._steady_at = t
        self._steady = steady
        if fresh and value > self._rest:
            changed = self._moved and t - self._moved_at >= self._changed_s
            if changed or (steady and t - self._steady_at >= self._steady_s):
                self._frozen = True
        return self._frozen and value == value

    def _moves(self, rates: tuple[float, float, float, float], z: float) -> bool:
        if self.name == "hook_load":
            return abs(z - self._z) > 5.0
        a, b, c, meter = self._rates
        return (
            abs(rates[0] - a) > 6 * SPM or abs(rates[1] - b) > 6 * SPM
            or abs(rates[2] - c) > 6 * SPM or abs(rates[3] - meter) > FLOW_METER
        )  # fmt: skip
