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

from collections.abc import Mapping, Sequence
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
from engine.detect.tanks import Beside, Tanks, holds
from engine.ops.table import pick, times
from engine.states import RigState
from engine.well.capacities import STEEL, circle

if TYPE_CHECKING:
    from engine.config import WellConfig

TRIPPING = frozenset((float(RigState.TRIPPING_IN), float(RigState.TRIPPING_OUT)))
PUMPING = 1e-3
"""Flow-in above this is pumping. [m3/s]"""
FAR = 12.5
"""A depth that moved so much in one bin was corrected, not travelled: 2.5 m/s. [m]"""
TRIP = 15.0
"""A bit that went so far since the pumps stopped is on a trip, not at a connection. [m]"""
KEPT = 8
"""Stops of the pumps that are remembered. [-]"""
Newest = tuple[float, float, float]
MADE = (
    "unexplained", "filtered", "explained", "flow_expected", "flow_excess", "flow_noise", "pumping",
    "settled", "declared", "off_volume", "off_time",
)  # fmt: skip
COLUMNS = (*MADE, "active", "reserve", "trip_tank")
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
    _storage: float = field(init=False)
    """The median of what was taught; what is assumed until then. [s]"""
    _steel: float = field(init=False)
    _bore: float = field(init=False)
    _hole: float = field(init=False)

    def __post_init__(self) -> None:
        self.gauge = ReturnGauge(self.settings)
        taught = self.state.storages
        self._storage = median(taught) if taught else self.settings.storage_s
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
        if not len(bins):  # of a live watch four blocks in five
            columns = dict.fromkeys(COLUMNS, np.empty(0))
            return self._channels(table, bins, before, columns), columns
        levels = (bins[f"{name}_volume"] for name in ("pit", "reserve", "trip_tank"))
        tanks = self.tanks.process(*levels)
        names = (
            "flow_in", "flow_out", "bit_depth", "hole_depth", "lagged_depth", "stand_count",
            "stand_length", "rig_state",
        )  # fmt: skip
        rows = zip(
            bins.t.tolist(), tanks.volume.tolist(), tanks.others.tolist(),
            (~np.isnan(tanks.reserve)).tolist(), (~np.isnan(tanks.trip_tank)).tolist(),
            *(bins[name].tolist() for name in names), strict=True,
        )  # fmt: skip
        told = [self._bin(declared, *row) for row in rows]
        made = (np.array(column, np.float64) for column in zip(*told, strict=True))
        columns = dict(zip(MADE, made, strict=True))
        columns |= {"active": tanks.active, "reserve": tanks.reserve, "trip_tank": tanks.trip_tank}
        return self._channels(table, bins, before, columns), columns

    def _bin(
        self, declared: Sequence[Declared], t: float, volume: float, others: float, reserve: bool,
        trip_tank: bool, q: float, out: float, bit: float, hole: float, lagged: float,
        stands: float, length: float, rig: float,
    ) -> tuple[float, ...]:  # fmt: skip
        s, stops = self.state, self.stops
        dt, s.at = max(t - s.at, BIN_S) if isfinite(s.at) else BIN_S, t
        self._flow(t, dt, q)
        self._book(bit, hole, lagged, stands, length, rig, trip_tank)
        unexplained = filtered = taken = nan
        if isfinite(volume):
            level = volume - s.booked + s.stored
            if not isfinite(s.zero):
                s.zero, s.zero_flow = level, s.out
            raw = level - s.zero
            outside = [one for one in declared if not holds(one.what, reserve, trip_tank)]
            s.declared = taken = self.absorbed.step(t, raw, outside)
            unexplained = raw - taken
            weight = 1 - exp(-dt / self.settings.filter_s)
            old = s.filtered if isfinite(s.filtered) else unexplained
            s.filtered = filtered = old + weight * (unexplained - old)
        pumping, settled = s.flow > PUMPING, t - s.changed_at
        steady = pumping and settled >= self.settings.settle_s
        still = volume - s.shifted - s.declared
        self._learn(stops.step(t, still, s.flow, pumping, steady))
        expected, excess = self.gauge.step(dt, out, s.out, steady)
        explained = s.booked - s.stored + s.declared - others
        s.newest = (unexplained, explained, expected)
        return (
            unexplained, filtered, explained, expected, excess, self.gauge.state.noise, pumping,
            settled, taken, still - stops.off_from, t - stops.off_at,
        )  # fmt: skip

    def _flow(self, t: float, dt: float, q: float) -> None:
        """Follow the flow line: two lags in a row, which lose nothing."""
        s, settings = self.state, self.settings
        dead, usual = settings.dead_s, s.settled_flow
        if isfinite(q):
            s.flow = q
        if not isfinite(usual):  # the record begins in the middle of something
            s.settled_flow = s.nipple = s.out = s.flow
            s.changed_at = t if s.flow <= PUMPING else float("-inf")
        elif s.flow != usual and abs(s.flow - usual) > settings.step * max(s.flow, usual, PUMPING):
            s.changed_at, s.settled_flow = t, s.flow
        line, old, flow = max(self._storage - dead, 1.0), s.nipple, s.flow
        nipple = old + ((1 - exp(-dt / dead)) * (flow - old) if dead else flow - old)
        inflow = flow + (old - nipple) * dead / dt  # mean over the bin of what leaves the first
        out = s.out + (1 - exp(-dt / line)) * (inflow - s.out)
        s.nipple, s.out, s.stored = nipple, out, dead * nipple + line * out

    def storage(self) -> float:
        """Return what flow line and surface hold, as seconds of flow. [s]"""
        return self._storage

    def _book(
        self, bit: float, hole: float, lagged: float, stands: float, length: float, rig: float,
        beside: bool,
    ) -> None:  # fmt: skip
        """Book pipe that moved, pipe that was added and cuttings that left.

        `beside`: the trip tank is measured; it keeps the hole full and fills each stand.
        """
        s = self.state
        if s.flow > PUMPING:
            s.travelled = 0.0
        trip = rig in TRIPPING or s.travelled >= TRIP
        if isfinite(bit):
            if abs(moved := bit - s.bit) < FAR and moved:
                area = self._steel + self._bore
                if trip:  # the mud in the bore stays, or comes down into the hole
                    area = 0.0 if not beside else self._steel if moved < 0 else area
                s.booked += area * moved
                s.shifted += area * moved
                s.travelled += abs(moved)
            s.bit = bit
        if stands != s.stands and isfinite(stands):
            added = stands - s.stands
            if added > 0 and isfinite(length) and (beside or not trip):
                filled = self._bore * length * added
                s.booked -= filled
                s.shifted -= filled if trip else 0.0  # else the pumps fill it, when they start
            s.stands = stands
        gone = lagged if isfinite(lagged) else hole
        if gone != s.gone and isfinite(gone):
            if 0 < (left := gone - s.gone) < FAR:
                s.booked -= self._hole * left
            s.gone = gone

    def _learn(self, came: float) -> None:
        """Learn from a stop of the pumps that so many seconds of flow came back."""
        s, usual = self.state, self.settings.storage_s
        if 0.3 * usual < came < 4 * usual:
            before = self._storage
            s.storages = (*s.storages, came)[-KEPT:]
            self._storage = median(s.storages)
            s.zero += (self._storage - before) * s.zero_flow

    def _channels(
        self, table: Table, bins: Bins, before: Newest, columns: Mapping[str, FloatArray]
    ) -> dict[str, Block]:
        """Hold what the bins gave over the rows, and `before` until the first of them."""
        t = times(table)
        names, which = ("unexplained", "explained", "flow_expected"), newest(bins.row, t.size)
        pairs = zip(before, (columns[name] for name in names), strict=True)
        total, explained, expected = (np.concatenate(([old], new))[which] for old, new in pairs)
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
