"""The chain of operators against plain Python a row at a time."""

from __future__ import annotations

from collections.abc import Iterator

from engine.block import Block, Table
from engine.pipeline import Pipeline
from tests.benchmarks.material import ROWS, Tour
from tests.benchmarks.measure import Result, ratio
from tests.benchmarks.per_frame import PerFrame
from tests.tables import cut, well

LIVE = 300
"""Rows of a round that are taken one by one. [-]"""
LIVE_ROUNDS = 7
PYTHON = "the same a row at a time in Python"


def common(pipeline: Pipeline, raw: Table) -> dict[str, Block]:
    """Run the stages of which the reference has a counterpart, as `Pipeline.process` does."""
    table = dict(pipeline.checks.process(raw))
    for stage in (pipeline.flow, pipeline.motion, pipeline.volume, pipeline.rig_states):
        table |= stage.process(table)
    return table


def chain(tour: Tour) -> Iterator[Result]:
    """Race a tour as one block, then a part of it in blocks of one row as a live watch has it."""
    config, rows = well(), tour.rows()

    def block() -> None:
        common(Pipeline(config), tour.raw)

    def whole() -> None:
        Pipeline(config).process(tour.raw)

    def per_frame() -> None:
        reference = PerFrame(config)
        for values, held in rows:
            reference.step(values, held)

    yield Result(f"chain: one block of {ROWS:,} rows / {PYTHON}", ratio(block, per_frame), 0.1)
    yield Result("chain: the same with all later stages / without them", ratio(whole, block))

    pipeline, reference = Pipeline(config), PerFrame(config)
    begin = ROWS // 2
    common(pipeline, cut(tour.raw, 0, begin))
    for values, held in rows[:begin]:
        reference.step(values, held)
    ones = iter([cut(tour.raw, i, i + 1) for i in range(begin, begin + (LIVE_ROUNDS + 1) * LIVE)])
    more = iter(rows[begin:])

    def live() -> None:
        for _ in range(LIVE):
            common(pipeline, next(ones))

    def live_per_frame() -> None:
        for _ in range(LIVE):
            reference.step(*next(more))

    name = f"chain: blocks of one row / {PYTHON}"
    yield Result(name, ratio(live, live_per_frame, LIVE_ROUNDS), 80, binding=False)
