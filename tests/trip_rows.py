"""Hand-made rows of a trip: every stand takes the same time, the tank what it is told."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from engine.alarms.manager import AlarmManager
from engine.block import Block, FloatArray
from engine.config import WellConfig
from engine.ops.trip_fill import TripFill
from engine.states import RigState
from engine.units import BBL
from tests.tables import T0, table_of, well

STAND = 28.5
"""[m]"""
HOIST, SLIPS = 30, 90
"""A stand is hoisted for the one, then in slips for the other. [s]"""
BEFORE = 180
"""At rest before the first stand. [s]"""
DRY = 0.74 * BBL
"""Expected fill of a stand in SC-13. [m3]"""
Taken = Callable[[int], float]


def pipe_of(fill: float) -> list[dict[str, Any]]:
    """Return a string of pipe alone whose stand displaces `fill` [m3]; bore 1.66 bbl a stand."""
    inner = (1.66 * BBL / STAND * 4 / np.pi) ** 0.5
    return [
        {
            "name": "pipe",
            "outer_m": 0.2,
            "inner_m": float(inner),
            "weight_kg_m": fill / STAND * 7850.0,
        }
    ]


def at_slips(stand: int, slips: int = SLIPS) -> int:
    """Return the first row in slips with stand `stand` moved, the first one being 1."""
    return BEFORE + (stand - 1) * (HOIST + slips) + HOIST


def end_of(stand: int, slips: int = SLIPS) -> int:
    """Return the last row in slips with stand `stand` moved."""
    return at_slips(stand, slips) + slips - 1


def trip(
    stands: int,
    taken: Taken,
    *,
    way: int = 1,
    slips: int = SLIPS,
    bit: float = 2397.0,
    level: float = 20.0,
    **changes: Any,
) -> dict[str, Block]:
    """Return 1 s rows, exact, of `stands` stands pulled (`way` 1) or run in (-1) from `bit` [m].

    ``taken(i)`` [m3] leaves the trip tank evenly while stand i moves; the hole is 2400 m deep.
    """
    cycle = HOIST + slips
    n = BEFORE + stands * cycle
    s = np.arange(n)
    stand, into = np.divmod(np.maximum(s - BEFORE, 0), cycle)
    moving = (s >= BEFORE) & (into < HOIST)
    share = np.where(s < BEFORE, 0.0, np.clip((into + 1) / HOIST, 0.0, 1.0))
    gone = np.concatenate(([0.0], np.cumsum([taken(i + 1) for i in range(stands)])))
    hung = (s >= BEFORE) & ~moving
    state = RigState.TRIPPING_OUT if way == 1 else RigState.TRIPPING_IN
    columns: dict[str, Any] = {
        "trip_tank_volume": level - (gone[stand] + share * np.diff(gone)[stand]),
        "pit_volume": 60.0,
        "bit_depth": bit - way * STAND * (stand + share),
        "hole_depth": 2400.0,
        "in_slips": hung.astype(float),
        # The empty block runs up and down while the string hangs in the slips.
        "block_speed": np.where(moving, way * STAND / HOIST, np.where(hung, np.sin(s), 0.0)),
        "flow_in": 0.0,
        "flow_out": 0.0,
        "standpipe_pressure": 0.0,
        "rig_state": np.where(
            moving, state, np.where(hung, RigState.IN_SLIPS, RigState.STATIC)
        ).astype(float),
    }
    return table_of(n, **(columns | changes))


def ramp(n: int, start: int, volume: float, rate: float = 0.012) -> FloatArray:
    """Return what has been moved by each row, from row `start` on at `rate` [m3/s]. [m3]"""
    size = np.minimum(np.maximum(np.arange(n) - start, 0) * rate, abs(volume))
    return np.asarray(np.sign(volume) * size)


def plus(table: dict[str, Block], name: str, more: FloatArray) -> dict[str, Block]:
    """Return the table with `more` added to a channel."""
    b = table[name]
    return table | {name: Block(b.t, b.value + more, b.quality)}


def of(fill: float = DRY, **changes: Any) -> WellConfig:
    """Return a well with pipe alone, 0.74 bbl a stand, and a trip tank of any size."""
    return well(string=pipe_of(fill), trip=changes)


def sheet(table: dict[str, Block], config: WellConfig | None = None) -> dict[str, Block]:
    return TripFill(config or of()).process(table)


def bbl(out: dict[str, Block], name: str, row: int) -> float:
    return float(out[name].value[row]) / BBL


def raised(table: dict[str, Block], config: WellConfig, *alarms: str) -> dict[str, float]:
    """Return when each alarm first sounded. [s from the first row]"""
    kept = [a for a in config.alarms if a.id in alarms]
    entries = AlarmManager(kept).process(table | sheet(table, config))
    trips = [e for e in entries if e.event == "trip"]
    return {e.id: e.at - T0 for e in reversed(trips)}
