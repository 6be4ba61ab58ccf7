"""Runs made by hand for the tests of the figures."""

from __future__ import annotations

from typing import Any

import numpy as np

from engine.score.calls import Blind, Call
from engine.score.match import Truth
from engine.score.plan import Case
from engine.score.play import Played
from engine.units import BBL

SECOND = np.arange(0.0, 4001.0)
START = 1000.0


def call(kind: str, at: float, lasts: float = 10.0, severity: int = 2) -> Call:
    return Call(kind, at, at + lasts, severity)


def kick(*calls: Call, kind: str = "influx", noise: str = "calm", **case: Any) -> Played:
    """One barrel a minute from `START` on, for half an hour."""
    volume = BBL / 60 * np.clip(SECOND - START, 0.0, None)
    truth = Truth(case.get("called", kind), START, START + 1800.0, SECOND, volume)
    size = case.get("size", BBL / 60)
    one = Case("event", 1, noise=noise, kind=kind, size=size)
    return Played(one, noise, 4000.0, truth, calls, (), state_at=("drilling_rotary",) * len(calls))


def tour(
    *calls: Call, hours: float = 12.0, noise: str = "calm", state: str = "drilling_rotary",
    right: frozenset[int] = frozenset(), blind: tuple[Blind, ...] = (), role: str = "clean",
    kind: str = "",
) -> Played:  # fmt: skip
    case = Case(role, 1, noise=noise, hours=hours, kind=kind)
    half = hours * 1800.0
    states = {"drilling_rotary": half, "in_slips": half}
    return Played(
        case, noise, hours * 3600.0, None, calls, blind, right, states, (state,) * len(calls)
    )
