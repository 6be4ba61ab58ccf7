"""The board: calls for the alarms, lines for the journal, the same for any split."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise
from typing import Any, ClassVar

import numpy as np
import pytest

from engine.block import Block, Quality
from engine.detect.balance import Balance
from engine.detect.board import Board
from engine.detect.call import NOT_ON_WATCH, Seen, Verdict
from engine.detect.detectors import board
from engine.detect.settings import BalanceSettings
from engine.pipeline import Pipeline
from engine.records.journal import Entry, iso
from engine.sim.rig import Rig
from tests.tables import T0, cut, raw_of, splits, table_of, well


@dataclass
class Script:
    """A detector that says what the gas channel holds: severity, -1 blind, -2 not on watch."""

    kinds: ClassVar[tuple[str, ...]] = ("influx",)
    rule: ClassVar[str] = "as told"

    def process(self, seen: Seen) -> Mapping[str, Verdict]:
        said = seen.bins["gas"]
        severity = np.maximum(said, 0).astype(np.int8)
        sight = np.select([said == -1, said == -2], [1, NOT_ON_WATCH], 0).astype(np.int8)

        def details(i: int) -> dict[str, Any]:
            return {"volume_m3": float(i)}

        return {"influx": Verdict(seen.bins.row, severity, sight, ("no pit_volume",), details)}


def run(*said: float) -> tuple[Block, list[Entry]]:
    """Return the samples of the call and the entries, one bin for each number."""
    table = table_of(gas=np.repeat([*said, 0.0], 5), pit_volume=60.0)
    board = Board([Script()], Balance(well(), BalanceSettings()))
    _, calls, entries = board.process(table)
    return calls["call_influx"], entries


def told(entries: list[Entry]) -> list[tuple[float, str, str]]:
    return [(entry.at - T0, entry.kind, entry.event) for entry in entries]


def test_a_call_is_told_when_it_begins_changes_and_ends() -> None:
    samples, entries = run(0, 2, 2, 3, 1, 0)
    assert told(entries) == [
        (10, "event", "warning"), (20, "event", "critical"),
        (25, "event", "advice"), (30, "event", "end"),
    ]  # fmt: skip
    assert entries[1].details["since"] == iso(T0 + 10)
    assert entries[1].details["evidence"] == {"volume_m3": 3.0}
    assert entries[-1].details["severity"] == "advice"
    assert samples.value.tolist() == [0] * 10 + [2] * 10 + [3] * 5 + [1] * 5 + [0] * 5


def test_a_blind_detector_is_unknown_with_a_reason_and_not_zero() -> None:
    """R-32: which detectors cannot see now, and why."""
    samples, entries = run(0, -1, -1, 0)
    assert told(entries) == [(10, "detector", "blind"), (20, "detector", "sees")]
    assert entries[0].details == {"reason": "no pit_volume"}
    assert np.isnan(samples.value[10:20]).all()
    assert (samples.quality[10:20] == Quality.NO_REFERENCE).all()
    assert samples.value[20] == 0


def test_what_is_not_on_watch_is_neither_blind_nor_a_call() -> None:
    samples, entries = run(0, -2, -2)
    assert entries == []
    assert (samples.value == 0).all()


def test_a_kind_that_two_detectors_claim_is_refused() -> None:
    with pytest.raises(ValueError, match="influx"):
        Board([Script(), Script()], Balance(well(), BalanceSettings()))


@pytest.mark.parametrize(("scenario", "seed"), [("kick", 3), ("total-loss", 4)])
def test_any_split_gives_the_same_lines_samples_and_balance(scenario: str, seed: int) -> None:
    config = well()
    chunk = Rig(config, scenario, seed, T0).advance(4500)
    table = Pipeline(config).process(raw_of(chunk))
    channels, calls, entries = board(config).process(table)
    assert entries
    n = len(table["rop"])
    for edges in splits(n):
        one = board(config)
        parts = [one.process(cut(table, a, b)) for a, b in pairwise(edges)]
        assert [entry for part in parts for entry in part[2]] == entries
        for place, whole in ((0, channels), (1, calls)):
            for name, block in whole.items():
                for field in ("value", "quality"):
                    got = np.concatenate([getattr(part[place][name], field) for part in parts])
                    assert got.tobytes() == getattr(block, field).tobytes(), (name, edges[:5])
