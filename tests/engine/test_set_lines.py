"""Another count of lines strung to the block: what was learned with the old one is forgotten."""

from __future__ import annotations

import numpy as np
import pytest

from adapters.config_file import example_text, parse_well
from adapters.wits0 import from_feed
from engine.block import Block, Quality
from engine.commands import Issued, SetLines
from engine.config import WellConfig
from engine.engine import Engine
from engine.interfaces import InputEvent, JournalLine
from engine.pipeline import Pipeline
from engine.records.journal import Entry, read
from engine.records.words import what
from engine.run import with_ticks
from engine.sim.rig import Rig
from engine.sim.stream import wits_bytes
from engine.well.pumps import stroke_volume
from engine.well.sheaves import lowering_factor
from tests.check_rows import row
from tests.hoist_rows import Rows, T
from tests.tables import T0, has, well

CONFIG: WellConfig = parse_well(example_text(), "example")
HEAD = Entry(T0, "watch", CONFIG.well, "start")
LOADS = ("weight_on_bit", "tare", "overpull", "expected_hook_load", "line_work")


def drilled(seed: int | None = None) -> tuple[dict[str, Block], int]:
    """Return rows of a stand drilled down, and the row after it, from which on it goes on."""
    rows = Rows()
    rows.pick_up().to_bottom(3.0).drill(5.0)
    after = len(rows.rows)
    rows.pick_up().to_bottom(3.0).drill(1.0)
    return rows.table(seed), after


def cut_at(table: dict[str, Block], k: int) -> tuple[dict[str, Block], dict[str, Block]]:
    n = len(table["hook_load"])
    return (
        {name: block.slice(0, k) for name, block in table.items()},
        {name: block.slice(k, n) for name, block in table.items()},
    )


@row("G14")
def test_the_tare_is_cleared_and_weight_is_unknown_until_the_next_one() -> None:
    """Case G14."""
    table, k = drilled()
    before, after = cut_at(table, k)
    motion = Pipeline(well()).motion
    first = motion.process(before)
    assert first["tare"].value[-1] == pytest.approx(117 * T, rel=0.01)
    assert first["weight_on_bit"].value[-1] == pytest.approx(10 * T, rel=0.05)
    motion.set_lines(8)
    then = motion.process(after)
    taken = int(np.flatnonzero(~np.isnan(then["tare"].value))[0])
    assert taken > 20  # not from loads of before
    assert np.isnan(then["weight_on_bit"].value[:taken]).all()
    assert all(has(then["weight_on_bit"], Quality.NO_REFERENCE)[:taken])
    assert then["weight_on_bit"].value[-1] == pytest.approx(10 * T, rel=0.05)


def test_the_new_count_corrects_the_weight_on_bit() -> None:
    table, k = drilled()
    before, after = cut_at(table, k)
    ratio = {}
    for lines in (10, 8):
        motion = Pipeline(CONFIG).motion
        motion.process(before)
        motion.set_lines(lines)
        ratio[lines] = motion.process(after)["weight_on_bit"].value[-1]
    want = lowering_factor(8, 0.98) / lowering_factor(10, 0.98)
    assert ratio[8] / ratio[10] == pytest.approx(want, rel=1e-9)


def test_the_pipeline_marks_what_rests_on_the_hook_load() -> None:
    table, k = drilled(seed=1)  # a gauge without any noise is a frozen one
    flow, each = table.pop("flow_in"), stroke_volume(well().pumps[0])
    for pump in ("pump_1_rate", "pump_2_rate"):
        table[pump] = Block(flow.t, flow.value / 2 / each, flow.quality)
    before, after = cut_at(table, k)
    pipeline = Pipeline(well())
    known = pipeline.process(before)
    assert not np.isnan(known["tare"].value[-1])
    pipeline.set_lines(12)
    then = pipeline.process(after)
    first = {name: then[name].quality[0] for name in LOADS}
    assert first["tare"] & Quality.NO_REFERENCE
    assert first["weight_on_bit"] & Quality.NO_REFERENCE
    for name in ("expected_hook_load", "line_work"):
        assert first[name] & Quality.OLD_REFERENCE
        assert not then[name].quality[-1] & Quality.OLD_REFERENCE
    assert np.isnan(then["rotating_load"].value[0])


def events(lines: int) -> list[InputEvent]:
    """Return three quarters of an hour of drilling with the command in it."""
    rig, decoder = Rig(CONFIG, "quiet", 1, T0), from_feed(CONFIG.feeds[0])
    out: list[InputEvent] = []
    for at, data in wits_bytes(rig.advance(2700.0)):
        out += decoder.feed(data, at)
    command = Issued(T0 + 2000.0, SetLines(lines, "slip and cut"), "Ines", "doghouse")
    found = sorted([*with_ticks(out, 5.0), command], key=lambda e: e.at)
    return list(found)


def run(lines: int, size: int) -> tuple[dict[str, Block], list[JournalLine]]:
    engine, inputs = Engine(CONFIG, HEAD), events(lines)
    tables, said = [], []
    for a in range(0, len(inputs), size):
        got, new = engine.take(inputs[a : a + size])
        tables += got
        said += new
    joined = {
        name: Block(*(np.concatenate([getattr(t[name], f) for t in tables])
                      for f in ("t", "value", "quality")))
        for name in tables[0]
    }  # fmt: skip
    return joined, said


def test_it_is_journalled_and_any_split_gives_the_same_rows_and_lines() -> None:
    """R-42; replay gives the journal of the live run."""
    whole, lines = run(8, 10**6)
    for size in (1, 301):
        table, said = run(8, size)
        assert said == lines
        for name in (*LOADS, "rotating_load", "crown_time", "overpull_margin"):
            assert table[name].value.tobytes() == whole[name].value.tobytes()
            assert table[name].quality.tobytes() == whole[name].quality.tobytes()
    (entry,) = [f for f in map(read, lines) if f["id"] == "set_lines"]
    assert what(entry, {}) == "set lines by Ines: lines 8, slip and cut, old lines 10"
    assert entry["lines"] == 8
    assert entry["old_lines"] == 10
    assert entry["reason"] == "slip and cut"
    after = whole["tare"].t > T0 + 2000.0
    assert np.isnan(whole["tare"].value[after][0])
    assert not np.isnan(whole["tare"].value[~after][-1])


@pytest.mark.parametrize("lines", [0, 1, 7, 18, -2])
def test_a_count_that_cannot_be_is_refused_and_changes_nothing(lines: int) -> None:
    table, said = run(lines, 10**6)
    (entry,) = [f for f in map(read, said) if f["id"] == "set_lines"]
    assert "even number" in entry["refused"]
    after = table["tare"].t > T0 + 2000.0
    assert not np.isnan(table["tare"].value[after][0])


def test_loads_read_with_the_old_count_make_no_tare() -> None:
    """The command comes while the block sinks and the load is fit: eight seconds begin anew."""
    rows = Rows()
    rows.pick_up(4.5).turn(True).still(15).move(-1.8, 0.09)
    k = len(rows.rows)
    rows.move(-2.4, 0.09)
    before, after = cut_at(rows.table(), k)
    motion = Pipeline(well()).motion
    assert not np.isnan(motion.process(before)["tare"].value[-1])
    motion.set_lines(8)
    known = ~np.isnan(motion.process(after)["tare"].value)
    assert 8 <= int(np.flatnonzero(known)[0]) <= 12
