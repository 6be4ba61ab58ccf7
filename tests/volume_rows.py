"""Rows of pits and returns, and what the detectors of volume say about them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise
from typing import Any

import numpy as np

from engine.block import Block
from engine.detect.annulus_fill import AnnulusFill
from engine.detect.balance import Balance
from engine.detect.board import Board
from engine.detect.call import Declared
from engine.detect.influx import Influx
from engine.detect.loss import Losses
from engine.detect.out_of_hole import OutOfHole
from engine.detect.total_loss import TotalLoss
from engine.records.journal import Entry
from engine.units import BBL
from tests.tables import T0, cut, table_of, well

BPM = BBL / 60
FLOW = 45e-3
"""Usual flow-in of these rows. [m3/s]"""
AT = 2400
"""Something happens from here. [s]"""
Said = list[tuple[float, str, str]]


def noise(seed: int, n: int, sd: float, tau: float = 6.0) -> np.ndarray:
    """Return noise that hangs together for `tau` s."""
    rng, out, keep = np.random.default_rng(seed), np.zeros(n), np.exp(-1 / tau)
    for i, kick in enumerate(rng.normal(0.0, sd * np.sqrt(1 - keep**2), n)[1:], 1):
        out[i] = keep * out[i - 1] + kick
    return out


def ramp(n: int, rate: float, start: float = AT, seconds: float = 1e9) -> np.ndarray:
    """Return what has come at `rate` [m3/s] since `start`."""
    return rate * np.clip(np.arange(n) - start, 0, seconds)


def late(flow: np.ndarray, line: float = 30.0) -> np.ndarray:
    """Return a flow as it leaves a flow line."""
    out = np.empty_like(flow)
    now = flow[0]
    for i, x in enumerate(flow):
        now += (x - now) / line
        out[i] = now
    return out


def rows(
    come: Any = 0.0, n: int = 0, seed: int = 1, waves: float = 0.25, returns: float = 0.02,
    **changes: Any,
) -> dict[str, Block]:  # fmt: skip
    """Return steady drilling into which `come` [m3] has come: pits and returns show it.

    Parameters
    ----------
    come : array_like
        Volume since the start, shape (n,). [m3]
    waves : float
        Of the pits, a standard deviation. [bbl]
    returns : float
        Noise of the return gauge, as a share of the flow. [-]
    """
    n = n or np.size(come)
    volume = np.broadcast_to(np.asarray(come, np.float64), n)
    out = FLOW + late(np.gradient(volume)) + FLOW * noise(seed + 9, n, returns, 10.0)
    usual = {
        "pit_volume": 60.0 + late(volume) + BBL * noise(seed, n, waves),
        "flow_in": FLOW, "flow_out": out, "bit_depth": 2400.0, "hole_depth": 2400.0,
        "rig_state": 1.0, "standpipe_pressure": 11e6 * (1 + noise(seed + 5, n, 0.003, 1.0)),
    }  # fmt: skip
    return table_of(n, **(usual | changes))


def board(said: Sequence[Declared] = (), blind: bool = False, config: Any = None) -> Board:
    """Return the detectors of volume over one balance."""
    config = config or well()
    d = config.detect
    settle = d.balance.settle_s
    watch = (
        Influx(d.influx, settle, d.loss, blind), Losses(d.loss, settle, blind),
        TotalLoss(d.loss, blind), OutOfHole(d.out_of_hole, config.string),
        AnnulusFill(d.annulus_fill, config.pumps, blind),
    )  # fmt: skip
    one = Board(watch, Balance(config, d.balance))
    one.declared = tuple(said)
    return one


def watched(table: Mapping[str, Block], edges: Sequence[int] = (), **how: Any) -> list[Entry]:
    """Return the journal of `table`, in one block or cut at `edges`."""
    one = board(**how)
    cuts = [*edges] or [0, len(next(iter(table.values())))]
    return [e for a, b in pairwise(cuts) for e in one.process(cut(table, a, b))[2]]


def calls(found: Sequence[Entry], kind: str, least: str = "warning") -> list[Entry]:
    """Return the calls of `kind` that began or changed, from a severity upwards."""
    grave = {"advice": 1, "warning": 2, "critical": 3}
    return [
        e for e in found
        if e.kind == "event" and e.id == kind and grave.get(e.event, 0) >= grave[least]
    ]  # fmt: skip


def first(found: Sequence[Entry], kind: str, least: str = "warning") -> float:
    """Return when `kind` was first called so; infinity if never. [s]"""
    return min((e.at - T0 for e in calls(found, kind, least)), default=float("inf"))


def ended(found: Sequence[Entry], kind: str) -> float:
    """Return when the last call of `kind` ended; infinity if none did. [s]"""
    return max(
        (e.at - T0 for e in found if e.kind == "event" and e.id == kind and e.event == "end"),
        default=float("inf"),
    )


def blind(found: Sequence[Entry], kind: str) -> Iterator[str]:
    """Yield the reasons for which the detector went blind."""
    for e in found:
        if e.kind == "detector" and e.id == kind and e.event == "blind":
            yield str(e.details["reason"])
