"""Rows of a rig that stands or pumps, and what the detectors of pressures say of them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import Any

import numpy as np

from engine.block import Block
from engine.config import WellConfig
from engine.detect.balance import Balance
from engine.detect.board import Board
from engine.detect.call import Job
from engine.detect.pressure_detectors import pressure_detectors
from engine.detect.total_loss import TotalLoss
from engine.pipeline import Pipeline
from engine.records.journal import Entry
from engine.units import BBL, PSI, UNITS
from engine.well.pumps import stroke_volume
from tests.tables import T0, cut, table_of, well

GPM = UNITS["gpm"].factor
Said = list[tuple[float, str, str]]


def noise(seed: int, n: int, size: float) -> np.ndarray:
    """Return noise of this standard deviation, shape (n,)."""
    return size * np.random.default_rng(seed).standard_normal(n)


def ramp(n: int, *points: tuple[float, float]) -> np.ndarray:
    """Return a line through (second, value), level before and after."""
    return np.interp(np.arange(n), *zip(*points, strict=True))


def rig(
    n: int, gpm: Any = 0.0, out_gpm: Any = None, psi: Any = 0.0, pit_bbl: Any = 400.0,
    seed: int = 1, config: WellConfig | None = None, **more: Any,
) -> dict[str, Block]:  # fmt: skip
    """Return raw rows at 1 Hz with the noise of the scenarios, more channels in psi.

    Pits 0.3 bbl, flow 1 % of 1,000 gpm, pressures 5 psi; the pumps' strokes are counted.
    """
    pumps = (config or well()).pumps
    each = np.broadcast_to(gpm, n) * GPM / sum(stroke_volume(p) for p in pumps)
    out = gpm if out_gpm is None else out_gpm
    pressures = {"standpipe_pressure": psi, **more}
    return table_of(
        n, pump_1_rate=each, pump_2_rate=each, hook_load=8e5, block_position=20.0, rotary=0.0,
        flow_out=(np.broadcast_to(out, n) + noise(seed, n, 10.0)) * GPM,
        pit_volume=(np.broadcast_to(pit_bbl, n) + noise(seed + 1, n, 0.3)) * BBL,
        **{
            name: (np.broadcast_to(value, n) + noise(seed + 2 + k, n, 5.0)) * PSI
            for k, (name, value) in enumerate(pressures.items())
        },
    )  # fmt: skip


def watched(
    table: Mapping[str, Block], config: WellConfig | None = None, jobs: Sequence[Job] = (),
    edges: Sequence[int] = (),
) -> list[Entry]:  # fmt: skip
    """Return what the journal gets of worked-out rows, in one block or cut at `edges`."""
    config = config or well()
    detectors = (*pressure_detectors(config), TotalLoss(config.detect.loss))
    board = Board(detectors, Balance(config, config.detect.balance))
    for job in jobs:
        board.declare_job(job)
    cuts = [*edges] or [0, len(next(iter(table.values())))]
    return [e for a, b in pairwise(cuts) for e in board.process(cut(table, a, b))[2]]


def entries(
    raw: Mapping[str, Block], config: WellConfig | None = None, jobs: Sequence[Job] = ()
) -> list[Entry]:
    """Return what the journal gets of raw rows."""
    config = config or well()
    return watched(Pipeline(config).process(raw), config, jobs)


def said(found: Sequence[Entry], kind: str = "", least: str = "warning") -> Said:
    """Return (second, kind, event) of the calls that began or changed, from a severity upwards."""
    grave = {"advice": 1, "warning": 2, "critical": 3}
    return [
        (e.at - T0, e.id, e.event)
        for e in found
        if e.kind == "event" and grave.get(e.event, 0) >= grave[least] and kind in ("", e.id)
    ]


def calls(raw: Mapping[str, Block], kind: str = "", least: str = "warning", **how: Any) -> Said:
    """Run the detectors over `raw` and return what they called."""
    return said(entries(raw, **how), kind, least)


def first(found: Said, event: str = "") -> float:
    """Return when the first of them came; infinity if none did. [s]"""
    return min((at for at, _, what in found if event in ("", what)), default=float("inf"))


def blind(found: Sequence[Entry], kind: str) -> list[tuple[float, str]]:
    """Return (second, reason) of each time the detector went blind."""
    return [
        (e.at - T0, e.details["reason"])
        for e in found
        if e.kind == "detector" and e.id == kind and e.event == "blind"
    ]


def ends(found: Sequence[Entry], kind: str) -> list[float]:
    """Return when its calls ended. [s]"""
    return [e.at - T0 for e in found if (e.kind, e.id, e.event) == ("event", kind, "end")]
