r"""The volume balance: what the pits should hold, and what of their change nobody can explain.

.. math:: U = V_{pits} - V_0 - (d + p)\,\Delta z + p\,L + H\,\Delta z_{lag} + S(Q) - T

with z the bit depth, d the steel and p the bore of the pipe (m2), L what was added at
connections, H the hole (m2), z_lag the depth whose cuttings have left at the shakers, S the mud in
the flow line and T what was declared and has come. The string is closed at the bit: pipe that
goes in pushes mud out with its whole body, and the pumps fill its bore.

Nothing ever resets U; a person re-bases what is shown.

References
----------
.. [1] Balance of volumes: own derivation. Steel displacement: weight over density of steel, as in
   A. T. Bourgoyne et al., Applied Drilling Engineering, SPE, 1986, ch. 4.
.. [2] Compare at equal flow across a connection, so that surface storage cancels: common
   practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from math import exp, isfinite, nan
from statistics import median
from typing import TYPE_CHECKING

import numpy as np

from engine.block import BAD, Block, FloatArray, Quality, Table
from engine.detect.bins import BIN_S, Bins, newest
from engine.detect.call import Declared
from engine.detect.declared import Absorbed
from engine.detect.pump_stops import PumpStops
from engine.detect.return_gauge import ReturnGauge
from engine.detect.settings import BalanceSettings
from engine.detect.tanks import Beside, Tanks
from engine.ops.table import pick, times
from engine.states import RigState
from engine.well.capacities import STEEL, circle

if TYPE_CHECKING:
    from engine.config import WellConfig

TRIPPING = (RigState.TRIPPING_IN, RigState.TRIPPING_OUT)
PUMPING = 1e-3
"""Flow-in above this is pumping. [m3/s]"""
FAR = 12.5
"""A depth that moved so much in one bin was corrected, not travelled: 2.5 m/s. [m]"""
TRIP = 15.0
"""A bit that went so far since the pumps stopped is on a trip, not at a connection. [m]"""
KEPT = 8
"""Stops of the pumps that are remembered. [-]"""
Newest = tuple[float, float, float]
COLUMNS = (
    "unexplained", "filtered", "explained", "flow_expected", "flow_excess", "flow_noise", "pumping",
    "settled", "declared", "off_volume", "off_time", "active", "reserve", "trip_tank",
)  # fmt: skip
"""What each bin gets, NaN where not known: `unexplained` and its filtered form, `explained` (all
that was booked), `declared` [m3], `flow_expected` and `flow_excess` by the return gauge and the
`flow_noise` of its minute means [m3/s], `pumping` [0 or 1], `settled`: since a start or change of
flow [s], `off_volume` above the last pumping level, less what pipe and declared mud moved [m3],
`off_time` since the pumps stopped [s], and what `active` pits, `reserve` and `trip_tank` have
gained since the first good row [m3]."""


@dataclass(slots=True)
class BalanceState:
    """All that the balance carries from bin to bin."""

    at: float = nan
    flow: float = 0.0
    """Newest known flow-in. [m3/s]"""
    settled_flow: float = nan
    """Flow-in that the newest change led to. [m3/s]"""
    changed_at: float = float("-inf")
    """When the flow last started, stopped or stepped. [s]"""
    bit: float = nan
    gone: float = nan
    """Depth whose cuttings have left. [m]"""
    stands: float = nan
    travelled: float = 0.0
    """Way of the bit since the pumps stopped. [m]"""
    booked: float = 0.0
    """Explained so far, without the flow line. [m3]"""
    nipple: float = 0.0
    """Flow on its way to the flow line, by the model. [m3/s]"""
    out: float = 0.0
    """Flow at the return gauge, by the model. [m3/s]"""
    stored: float = 0.0
    """In the flow line, by the model. [m3]"""
    zero: float = nan
    """Pit volume less all that was booked, at the first good row. [m3]"""
    zero_flow: float = 0.0
    """Flow at the return gauge then: what was in the flow line is only learnt later. [m3/s]"""
    filtered: float = nan
    shifted: float = 0.0
    """By pipe that moved, of what was booked. [m3]"""
    declared: float = 0.0
    """Newest known. [m3]"""
    base: float = 0.0
    """`unexplained` when last re-based. [m3]"""
    storages: tuple[float, ...] = ()
    """What the newest stops of the pumps taught. [s]"""
    newest: Newest = (nan, nan, nan)
    """unexplained, explained, flow_expected: held on the rows until the next bin."""


@dataclass(slots=True, eq=False)
class Balance:
    """One balance of all the mud that this rig can see."""

    config: WellConfig
    settings: BalanceSettings
    state: BalanceState = field(default_factory=BalanceState)
    absorbed: Absorbed = field(default_factory=Absorbed)
    tanks: Tanks = field(default_factory=lambda: Tanks(Beside(), Beside()))
    stops: PumpStops = field(default_factory=PumpStops)
    gauge: ReturnGauge = field(init=False)
    _steel: float = field(init=False)
    _bore: float = field(init=False)
    _hole: float = field(init=False)

    def __post_init__(self) -> None:
        self.gauge = ReturnGauge(self.settings)
        pipe = self.config.string[-1]
        self._steel, self._bore = pipe.weight / STEEL, circle(pipe.inner)
        hole = self.config.hole[-1].diameter if self.config.hole else nan
        self._hole = circle(hole) * (1 + self.settings.mud_on_cuttings)

    def rebase(self) -> tuple[float | None, float | None]:
        """Make the present volume the zero of what is shown, not of what detectors count.

        Returns the old and new base [m3]; new is None, and the base stays, if nothing is known.
        """
        s, now = self.state, self.state.newest[0]
        if not isfinite(now):
            return s.base, None
        old, s.base = s.base, now
        return old, now

    def process(
        self, table: Table, bins: Bins, declared: Sequence[Declared]
    ) -> tuple[dict[str, Block], dict[str, FloatArray]]:
        """Book one block of bins.

        Returns
        -------
        channels : dict
            ``unexplained_volume`` (since it was re-based), ``unexplained_total``,
            ``explained_volume`` [m3] and ``flow_out_expected`` [m3/s], shape (n,).
        columns : dict
            `COLUMNS`, shape (m,).
        """
        before = self.state.newest
        names = (
            "pit_volume", "reserve_volume", "trip_tank_volume", "flow_in", "flow_out", "bit_depth",
            "hole_depth", "lagged_depth", "stand_count", "stand_length", "rig_state",
        )  # fmt: skip
        rows = zip(bins.t.tolist(), *(bins[name].tolist() for name in names), strict=True)
        told, held = [], []
        for t, *values in rows:
            told.append(self._bin(t, declared, *values))
            held.append(self.state.newest)
        columns = np.array(told).reshape(len(told), len(COLUMNS)).T
        return self._channels(table, bins, before, held), dict(zip(COLUMNS, columns, strict=True))

    def _bin(
        self, t: float, declared: Sequence[Declared], pit: float, reserve: float, tank: float,
        q: float, out: float, bit: float, hole: float, lagged: float, stands: float, length: float,
        rig: float,
    ) -> tuple[float, ...]:  # fmt: skip
        s, tanks = self.state, self.tanks
        dt = BIN_S if not isfinite(s.at) else max(t - s.at, BIN_S)
        s.at = t
        volume = tanks.step(pit, reserve, tank)
        self._flow(t, dt, q)
        self._book(bit, hole, lagged, stands, length, rig)
        known = isfinite(volume)
        unexplained = nan
        if known:
            level = volume - s.booked + s.stored
            if not isfinite(s.zero):
                s.zero, s.zero_flow = level, s.out
            raw = level - s.zero
            outside = [one for one in declared if not tanks.holds(one.what)]
            s.declared = self.absorbed.step(t, raw, outside)
            unexplained = raw - s.declared
            weight = 1 - exp(-dt / self.settings.filter_s)
            old = s.filtered if isfinite(s.filtered) else unexplained
            s.filtered = old + weight * (unexplained - old)
        pumping, settled = s.flow > PUMPING, t - s.changed_at
        steady = pumping and settled >= self.settings.settle_s
        still = volume - s.shifted - s.declared
        self._learn(self.stops.step(t, still, s.flow, pumping, steady))
        expected, excess = self.gauge.step(dt, out, s.out, steady)
        explained = s.booked - s.stored + s.declared - tanks.others
        s.newest = (unexplained, explained, expected)
        return (
            unexplained, s.filtered if known else nan, explained, expected, excess,
            self.gauge.state.noise, float(pumping), settled, s.declared if known else nan,
            still - self.stops.off_from, t - self.stops.off_at, tanks.active,
            tanks.reserve.change if tanks.reserve.known else nan,
            tanks.trip_tank.change if tanks.trip_tank.known else nan,
        )  # fmt: skip

    def _flow(self, t: float, dt: float, q: float) -> None:
        """Follow the flow line: two lags in a row, which lose nothing."""
        s, dead = self.state, self.settings.dead_s
        if isfinite(q):
            s.flow = q
        usual = s.settled_flow
        if not isfinite(usual):  # the record begins in the middle of something
            s.settled_flow = s.nipple = s.out = s.flow
            s.changed_at = t if s.flow <= PUMPING else float("-inf")
        elif abs(s.flow - usual) > self.settings.step * max(s.flow, usual, PUMPING):
            s.changed_at, s.settled_flow = t, s.flow
        line = max(self.storage() - dead, 1.0)
        old = s.nipple
        s.nipple += (1 - exp(-dt / dead)) * (s.flow - s.nipple) if dead else s.flow - s.nipple
        inflow = s.flow + (old - s.nipple) * dead / dt  # mean over the bin of what leaves the first
        s.out += (1 - exp(-dt / line)) * (inflow - s.out)
        s.stored = dead * s.nipple + line * s.out

    def storage(self) -> float:
        """Return what flow line and surface hold, as seconds of flow. [s]"""
        taught = self.state.storages
        return median(taught) if taught else self.settings.storage_s

    def _book(
        self, bit: float, hole: float, lagged: float, stands: float, length: float, rig: float
    ) -> None:
        """Book pipe that moved, pipe that was added and cuttings that left."""
        s = self.state
        if s.flow > PUMPING:
            s.travelled = 0.0
        trip = rig in TRIPPING or s.travelled >= TRIP
        beside = self.tanks.trip_tank.known  # it keeps the hole full and fills each stand
        if isfinite(bit):
            if abs(moved := bit - s.bit) < FAR:
                area = self._steel + self._bore
                if trip:  # the mud in the bore stays, or comes down into the hole
                    area = 0.0 if not beside else self._steel if moved < 0 else area
                s.booked += area * moved
                s.shifted += area * moved
                s.travelled += abs(moved)
            s.bit = bit
        if isfinite(stands):
            added = stands - s.stands
            if added > 0 and isfinite(length) and (beside or not trip):
                filled = self._bore * length * added
                s.booked -= filled
                s.shifted -= filled if trip else 0.0  # else the pumps fill it, when they start
            s.stands = stands
        gone = lagged if isfinite(lagged) else hole
        if isfinite(gone):
            if 0 < (left := gone - s.gone) < FAR:
                s.booked -= self._hole * left
            s.gone = gone

    def _learn(self, came: float) -> None:
        """Learn from a stop of the pumps that so many seconds of flow came back."""
        s, usual = self.state, self.settings.storage_s
        if 0.3 * usual < came < 4 * usual:
            before = self.storage()
            s.storages = (*s.storages, came)[-KEPT:]
            s.zero += (self.storage() - before) * s.zero_flow

    def _channels(
        self, table: Table, bins: Bins, before: Newest, held: Sequence[Newest]
    ) -> dict[str, Block]:
        """Hold what the bins gave over the rows."""
        t = times(table)
        total, explained, expected = np.array([before, *held])[newest(bins.row, t.size)].T
        parts = {
            "unexplained_volume": total - self.state.base,
            "unexplained_total": total,
            "explained_volume": explained,
            "flow_out_expected": expected,
        }
        why = pick(table, "pit_volume").quality & np.uint16(BAD)
        flow_why = pick(table, "flow_out").quality & np.uint16(BAD)
        out = {}
        for name, value in parts.items():
            bits = flow_why if name == "flow_out_expected" else why
            lost = np.isnan(value)
            quality = np.where(lost, np.where(bits, bits, int(Quality.NO_DATA)), 0)
            out[name] = Block(t, value, quality.astype(np.uint16))
        return out
