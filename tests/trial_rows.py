"""Tests and drills over hand-made rows, through the whole engine."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from engine.block import Block
from engine.channels import CHANNELS, RAW
from engine.commands import Command, Issued
from engine.config import WellConfig
from engine.engine import Engine
from engine.events import Frame
from engine.interfaces import InputEvent, JournalLine
from engine.records.journal import Entry, read
from engine.units import BBL, PSI, units_of
from tests.tables import T0, well

Given = tuple[float, Command]


def config(**changes: Any) -> WellConfig:
    """Return the example well with one feed that sends every channel in SI."""
    items = {
        name: {"channel": name, "unit": units_of(CHANNELS[name].quantity)[0].id} for name in RAW
    }
    feed = {"name": "rig", "format": "las", "map": items}
    return well(feeds=[feed], **changes)


def frames(table: Mapping[str, Block]) -> list[Frame]:
    """Return the rows as a feed sends them; NaN is not sent."""
    t = next(iter(table.values())).t
    names = [name for name in table if name in RAW]
    columns = [table[name].value.tolist() for name in names]
    return [
        Frame(at, "rig", {n: v for n, v in zip(names, row, strict=True) if v == v})
        for at, *row in zip(t.tolist(), *columns, strict=True)
    ]


def journal(
    table: Mapping[str, Block], said: Sequence[Given], who: str = "Ines", batch: int = 0,
    of: WellConfig | None = None,
) -> list[JournalLine]:  # fmt: skip
    """Return the journal of rows and commands, given at so many seconds."""
    engine = Engine(of or config(), Entry(T0, "watch", "Emberholt 4", "start"))
    events: list[InputEvent] = [*frames(table)]
    events += [Issued(T0 + at, command, who, "doghouse") for at, command in said]
    events.sort(key=lambda e: e.at)
    step = batch or len(events)
    lines: list[JournalLine] = []
    for k in range(0, len(events), step):
        lines += engine.take(events[k : k + step])[1]
    return lines


def fields(lines: Sequence[JournalLine], kind: str, event: str = "") -> list[dict[str, Any]]:
    """Return the journal fields of a kind, and of an event if one is named."""
    found = [read(line) for line in lines]
    return [f for f in found if f["kind"] == kind and event in ("", f["event"])]


def verdict(lines: Sequence[JournalLine]) -> dict[str, Any]:
    """Return the only verdict."""
    (one,) = fields(lines, "trial", "verdict")
    return one


def waves(n: int, size_bbl: float, seed: int = 3, tau: float = 3.0) -> np.ndarray:
    """Return waves in a tank, shape (n,). [m3]"""
    rng, keep = np.random.default_rng(seed), float(np.exp(-1 / tau))
    out = np.zeros(n)
    for i in range(1, n):
        out[i] = keep * out[i - 1] + (1 - keep**2) ** 0.5 * rng.standard_normal()
    return out * size_bbl * BBL


def psi(value: Any) -> Any:
    """Return it in Pa."""
    return np.asarray(value, float) * PSI
