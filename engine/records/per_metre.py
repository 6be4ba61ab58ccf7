"""What each metre of new hole took: rate, weight, rotation, torque, energy, exponents."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from math import nan

import numpy as np

from engine.block import FloatArray, Table
from engine.config import WellConfig
from engine.interfaces import Recording
from engine.ops.table import pick, times
from engine.records.in_spans import in_spans
from engine.well.answer import Answer, Unknown
from engine.well.efficiency import (
    ROTATION_FLOOR,
    corrected_d_exponent,
    d_exponent,
    specific_energy,
)
from engine.well.well_file import bit_diameter

WINDOW_S = 3600.0
"""Rows read at once. [s]"""
GAP_S = 30.0
"""Hole made in a longer gap was not seen: neither its time nor its length counts. [s]"""
EDIT = 0.3
"""A longer step of the hole depth is a correction, not hole. [m]"""
KNOWN = 0.5
"""Share of a metre's time on bottom in which a channel must be known for a mean of it. [-]"""
TURNED = 0.95
"""Share of it in which the string must turn for a d-exponent. [-]"""
NEEDS = ("hole_depth", "on_bottom", "weight_on_bit", "rotary", "torque", "off_bottom_torque")
NO_TIME = Unknown("no on-bottom time was seen")


@dataclass(frozen=True, slots=True)
class Metre:
    """One metre of hole, from `depth` - 1 to `depth`; means are over the time on bottom."""

    depth: int
    """Its lower end. [m]"""
    drilled: float
    """How much of it was seen being drilled: less than 1 where a recording begins, ends or has
    a gap, or the depth was set by hand. [m]"""
    time: float
    """On bottom. [s]"""
    ended: float
    """[s since 1970-01-01 UTC]"""
    rate: Answer
    """Drilled length over time on bottom. [m/s]"""
    weight: Answer
    """[N]"""
    rotation: Answer
    """[rad/s]"""
    turned: Answer
    """Share of the time in which the string turned. [-]"""
    torque: Answer
    """At the surface. [N m]"""
    off_bottom_torque: Answer
    """[N m]"""
    energy: Answer
    """Specific energy: all work of weight and bit torque over the volume drilled. [Pa] While
    the string slides a motor's work is not counted."""
    exponent: Answer
    corrected: Answer


@dataclass(slots=True)
class _Sums:
    """Of one metre: what was drilled, when, and sums of channel x time."""

    drilled: float = 0.0
    time: float = 0.0
    ended: float = nan
    sums: FloatArray = field(default_factory=lambda: np.zeros((6, 2)))
    """A row for each column of `_columns`: sum, and the time in which it was known."""


def per_metre(recording: Recording, config: WellConfig) -> list[Metre]:
    """Work out every metre of new hole of a recording, from the top down.

    Parameters
    ----------
    recording : Recording
        A channel it does not hold is unknown.
    config : WellConfig
        Its well file: bit diameter, mud weight, normal formation density.

    Returns
    -------
    list of Metre
        Only metres of which something was drilled on bottom. A metre that was drilled again
        after the depth was set back by hand is as it was drilled last.
    """
    walk = _Walk()
    for table in _tables(recording):
        walk.take(table)
    return [_metre(depth, walk.metres[depth], config) for depth in sorted(walk.metres)]


def _tables(recording: Recording) -> Iterator[Table]:
    held = set(recording.channels())
    if {"hole_depth", "on_bottom"} <= held:
        wanted = [channel for channel in NEEDS if channel in held]
        yield from in_spans(recording, WINDOW_S, wanted)


@dataclass(slots=True)
class _Walk:
    """Goes through the rows in order of time."""

    metres: dict[int, _Sums] = field(default_factory=dict)
    _t: float = nan
    _hole: float = nan

    def take(self, table: Table) -> None:
        """Add what a table of rows holds; `table` is not empty."""
        t, hole = times(table), pick(table, "hole_depth").usable()
        on = pick(table, "on_bottom").usable() == 1.0
        dt = np.diff(t, prepend=self._t)
        made = np.diff(hole, prepend=self._hole)
        columns = _columns(table)
        use = on & (dt > 0) & (dt <= GAP_S) & (made >= 0) & (made <= EDIT)
        # Half way of a step, so that a step across a metre mark goes to the metre it is mostly in.
        place = np.where(use, np.floor(hole - np.where(use, made, 0.0) / 2), -1.0)
        back = np.flatnonzero(made < 0).tolist()
        for a, b in zip([0, *back], [*back, t.size], strict=True):
            if a in back:
                first = int(np.floor(hole[a]))
                self.metres = {d: m for d, m in self.metres.items() if d - 1 < first}
            for metre in np.unique(place[a:b][use[a:b]]).tolist():
                here = np.flatnonzero(use[a:b] & (place[a:b] == metre)) + a
                self._add(int(metre) + 1, t[here], made[here], dt[here], columns[:, here])
        self._t, self._hole = float(t[-1]), float(hole[-1])

    def _add(
        self, depth: int, t: FloatArray, made: FloatArray, dt: FloatArray, columns: FloatArray
    ) -> None:
        m = self.metres.setdefault(depth, _Sums())
        m.drilled += float(made.sum())
        m.time += float(dt.sum())
        m.ended = float(t[-1])
        m.sums[:, 0] += np.nansum(columns * dt, axis=1)
        m.sums[:, 1] += np.where(np.isnan(columns), 0.0, dt).sum(axis=1)


def _columns(table: Table) -> FloatArray:
    """Return what is averaged, shape (6, n): weight to bit power, see `_metre`."""
    weight, turn, torque, off = (pick(table, name).usable() for name in NEEDS[2:])
    turn = np.abs(turn)
    turns = np.where(np.isnan(turn), nan, turn >= ROTATION_FLOOR)
    # A string that slides does no rotary work, whether its torque is known or not.
    power = np.where(turns == 0.0, 0.0, turn * (torque - off))
    return np.stack((weight, turn, turns, torque, off, power))


def _metre(depth: int, m: _Sums, config: WellConfig) -> Metre:
    weight, rotation, turned, torque, off, power = (
        _mean(total, known, m.time) for total, known in m.sums.tolist()
    )
    rate: Answer = m.drilled / m.time if m.time > 0 else NO_TIME
    diameter = bit_diameter(config)
    exponent = _exponent(rate, rotation, turned, weight, diameter)
    normal = config.profile.normal_formation_density
    corrected = (
        Unknown("no normal formation pressure in the well file")
        if normal is None
        else corrected_d_exponent(exponent, normal, config.mud.density)
    )
    energy = _energy(rate, rotation, power, weight, diameter)
    return Metre(
        depth, m.drilled, m.time, m.ended, rate, weight, rotation, turned, torque, off, energy,
        exponent, corrected,
    )  # fmt: skip


def _mean(total: float, known: float, time: float) -> Answer:
    if known <= 0 or known < KNOWN * time:
        return Unknown("unknown for more than half of the time")
    return total / known


def _energy(
    rate: Answer, rotation: Answer, power: Answer, weight: Answer, diameter: Answer
) -> Answer:
    given = (rate, rotation, power, weight, diameter)
    v, w, p, load, d = (nan if isinstance(x, Unknown) else x for x in given)
    for x in given:
        if isinstance(x, Unknown):
            return x
    # Torque such that it does, at the mean rotation, the work that was done.
    return specific_energy(load, w, p / w if w >= ROTATION_FLOOR else 0.0, v, d).total


def _exponent(
    rate: Answer, rotation: Answer, turned: Answer, weight: Answer, diameter: Answer
) -> Answer:
    given = (rate, rotation, turned, weight, diameter)
    for x in given:
        if isinstance(x, Unknown):
            return x
    v, w, share, load, d = (nan if isinstance(x, Unknown) else x for x in given)
    if share < TURNED:
        return Unknown(f"the string turned for {share:.0%} of the time only")
    return d_exponent(v, w, load, d)
