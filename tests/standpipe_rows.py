"""Rows of steady drilling in which the standpipe, and what goes with it, is made to change."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from engine.block import Block
from engine.detect.balance import Balance
from engine.detect.board import Board
from engine.detect.settings import Detect
from engine.detect.standpipe_detectors import standpipe_detectors
from engine.records.journal import Entry
from tests.tables import L_S, T0, table_of, well

START = 1800
"""Here the trouble of most tests begins. [s]"""
USUAL = 11.5e6
"""[Pa]"""
KINDS = ("washout", "nozzle_lost", "nozzle_plugged", "pump_fault", "pack_off", "twist_off")
Told = list[tuple[float, str, str]]


def ramp(n: int, at: float, seconds: float, end: float = 1.0) -> np.ndarray:
    """From 0 to `end`, beginning at row `at`."""
    return end * np.clip((np.arange(n) - at) / max(seconds, 1e-9), 0.0, 1.0)


def lag(x: np.ndarray, seconds: float, dead: int = 0) -> np.ndarray:
    """First-order lag, after a dead time in rows: string, or way and flow line."""
    out, now = np.empty_like(x), x[0]
    for i in range(x.size):
        now += (x[max(i - dead, 0)] - now) / seconds
        out[i] = now
    return out


def drilling(
    n: int = 3600, noise: float = 0.003, seed: int = 1, **changes: Any
) -> dict[str, Block]:
    """Return rows of 1 Hz; each change is a share of the usual, added to 1, or a column.

    ``pressure``, ``returns``, ``torque_by``, ``hook_by`` are shares, shape (n,); ``flow`` is the
    strokes' flow [m3/s]. Pressure follows the flow with 1.8 and its string, the returns with their
    flow line. Noise of pressure is the one asked for, of the rest 1 %, independent.
    """
    rng = np.random.default_rng(seed)
    zero = np.zeros(n)
    flow = np.broadcast_to(np.asarray(changes.pop("flow", 45 * L_S), float), (n,))
    pressure = lag(1 + changes.pop("pressure", zero), 5.0)
    returns = lag(1 + changes.pop("returns", zero), 25.0, 8) - 1

    def noisy(x: Any, share: float) -> np.ndarray:
        return np.asarray(x) * (1 + share * rng.standard_normal(n))

    through = lag(flow.copy(), 5.0)
    columns = {
        "standpipe_pressure": noisy(USUAL * pressure * (through / 0.045) ** 1.8, noise),
        "flow_in": noisy(flow, 0.002),
        "flow_out": noisy(lag(flow.copy(), 25.0, 8) * (1 + returns), 0.01),
        "torque": noisy(9e3 * (1 + changes.pop("torque_by", zero)), 0.02),
        "hook_load": noisy(1.1e6 * (1 + changes.pop("hook_by", zero)), 0.003),
        "rotary": noisy(7.3, 0.005),
        "pit_volume": 60.0 + 0.03 * rng.standard_normal(n),
        "on_bottom": 1.0, "rig_state": 1.0, "bit_depth": 2400.0, "hole_depth": 2400.0,
        "density_in": 1050.0, "pump_1_rate": 1.2, "pump_2_rate": 1.2,
        "strokes": np.cumsum(flow) / 0.019, "lag_strokes": 2500.0,
    } | changes  # fmt: skip
    return table_of(n, **columns)


def board_of(detect: Detect | None = None) -> Board:
    """Return the detectors of the standpipe alone."""
    detect = detect or Detect()
    return Board(standpipe_detectors(detect), Balance(well(), detect.balance))


def entries_of(table: Mapping[str, Block], detect: Detect | None = None) -> list[Entry]:
    """Return all that the journal gets."""
    return board_of(detect).process(table)[2]


def calls(table: Mapping[str, Block], detect: Detect | None = None) -> Told:
    """Return (seconds since `T0`, kind, event) of each call."""
    return told(entries_of(table, detect))


def told(entries: Sequence[Entry]) -> Told:
    """Return (seconds since `T0`, kind, event) of the calls in a journal."""
    return [(e.at - T0, e.id, e.event) for e in entries if e.kind == "event"]


def blind(table: Mapping[str, Block], kind: str) -> list[tuple[float, str, str]]:
    """Return (seconds, blind or sees, reason) of one detector."""
    return [
        (e.at - T0, e.event, e.details["reason"])
        for e in entries_of(table)
        if e.kind == "detector" and e.id == kind
    ]


def first(told_: Told, kind: str, event: str) -> float:
    """Return when, after `START`, `kind` is first called so; infinite: never. [s]"""
    return next((t - START for t, k, e in told_ if (k, e) == (kind, event)), float("inf"))
