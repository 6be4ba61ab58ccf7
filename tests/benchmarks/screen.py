"""The chart and the whole page on a terminal that only counts: CPU, bytes and memory a picture."""

from __future__ import annotations

import asyncio
import gc
import sys
import time
from collections.abc import AsyncIterator, Callable, Iterator
from contextlib import asynccontextmanager
from datetime import UTC
from functools import partial
from itertools import pairwise
from pathlib import Path
from statistics import median
from typing import Any

from textual.app import App, ComposeResult
from textual.drivers.headless_driver import HeadlessDriver

from engine.snapshot import Snapshot, WatchView
from tests.benchmarks.measure import Result
from tests.scene import drilling_table, well
from tui.fold import Fold
from tui.format import Formatter
from tui.glyphs import UNICODE
from tui.screens.monitor import Monitor
from tui.theme import LANTERN
from tui.widgets.lines import Look
from tui.widgets.strip_chart import StripChart

Painted = tuple[float, int]
"""CPU time [s] and bytes of one picture."""
SIZE, MEMORY_SIZE = (200, 55), (120, 36)
BEGIN = 3100
"""First row shown: from there on the connection of the scene has left the chart. [-]"""
DOT_S = 10
"""Seconds of a dot row of the chart as it starts; four of them are a row of cells. [s]"""
PICTURES = 160
FRAMES, EARLY = 6000, 2000
"""Pictures of the memory run, and where it first looks. [-]"""
PATIENCE_S = 10.0


class Counter(HeadlessDriver):
    """A terminal that counts its bytes and says when a picture is complete."""

    def __init__(self, app: App[Any], **more: Any) -> None:
        super().__init__(app, **more)
        self.bytes = 0
        self.complete = asyncio.Event()

    @property
    def is_headless(self) -> bool:
        """Pretend to be a terminal, so that pictures are made to the last byte."""
        return False

    def write(self, data: str) -> None:
        """Count `data`."""
        self.bytes += len(data.encode())

    def flush(self) -> None:
        """Note the end of a picture."""
        self.complete.set()


class Stage(App[None]):
    """The page, or only its chart, without feed and tick."""

    ENABLE_COMMAND_PALETTE = False

    def __init__(self, snapshot: Snapshot, *, page: bool) -> None:
        super().__init__(driver_class=Counter)
        config = well()
        self.look = Look(
            LANTERN.styles(), UNICODE, Formatter(config.display_units(), UTC),
            config.rig.stand_length,
        )  # fmt: skip
        self.register_theme(LANTERN.textual())
        self.theme = LANTERN.name
        self.chart = StripChart(self.look, id="chart")
        self.page = Monitor(self.look, lambda: 0.0, snapshot) if page else None

    def compose(self) -> ComposeResult:
        """Give the whole terminal to the chart."""
        if self.page is None:
            yield self.chart

    async def on_mount(self) -> None:
        """Open the page."""
        if self.page is not None:
            await self.push_screen(self.page)

    async def paint(self, change: Callable[[], object]) -> Painted:
        """Make `change`; return the CPU time [s] and the bytes until it is on the terminal."""
        terminal = self._driver
        assert isinstance(terminal, Counter)
        terminal.complete.clear()
        sent, start = terminal.bytes, time.process_time()
        change()
        await asyncio.wait_for(terminal.complete.wait(), PATIENCE_S)
        return time.process_time() - start, terminal.bytes - sent


def snapshots(count: int, step: int) -> Iterator[Snapshot]:
    """Yield `count` snapshots of an invented shift, `step` rows further on each time."""
    fold, rows = Fold(well()), BEGIN + count * step
    fold.samples.append(drilling_table(rows))
    t = fold.samples.times(rows)
    for n in range(BEGIN, BEGIN + count * step, step):
        yield fold.snapshot(float(t[n - 1]), WatchView(alive=True, age=0.2), (), n)


@asynccontextmanager
async def stage(
    snapshot: Snapshot, *, page: bool, size: tuple[int, int] = SIZE
) -> AsyncIterator[Stage]:
    """Run a stage whose first picture is painted."""
    app = Stage(snapshot, page=page)
    async with app.run_test(headless=False, size=size) as pilot:
        await pilot.pause(0.2)
        yield app


def screen() -> Iterator[Result]:
    """Measure the chart alone, then the whole page, then the page for a long time."""
    yield from asyncio.run(_chart())
    yield from asyncio.run(_page())
    yield from asyncio.run(_memory())


async def _chart() -> list[Result]:
    pictures = list(snapshots(PICTURES, DOT_S))
    still: list[Painted] = []
    scrolled: list[Painted] = []
    redrawn: list[Painted] = []
    async with stage(pictures[0], page=False) as app:
        chart = app.chart
        await app.paint(lambda: chart.show(pictures[0]))
        for before, picture in pairwise(pictures):
            row = before.now // chart.row_seconds
            same = row == picture.now // chart.row_seconds
            (still if same else scrolled).append(await app.paint(partial(chart.show, picture)))
            if not same:
                redrawn.append(await app.paint(partial(chart.use, app.look)))
    return [
        Result(
            "screen: CPU of a chart update, no scroll / of a full redraw",
            middle(still, 0) / middle(redrawn, 0),
            0.35,
        ),
        Result(
            "screen: bytes of a chart update, no scroll / with scroll",
            middle(still, 1) / middle(scrolled, 1),
            0.05,
        ),
        Result(
            "screen: bytes of a chart update, no scroll / of a full redraw",
            middle(still, 1) / middle(redrawn, 1),
            0.05,
        ),
    ]


async def _page() -> list[Result]:
    pictures = list(snapshots(PICTURES, 1))
    painted: list[Painted] = []
    async with stage(pictures[0], page=True) as app:
        page = app.page
        assert page is not None
        for picture in pictures[1:]:
            painted.append(await app.paint(partial(page.show, picture)))
        whole = [await app.paint(page.refresh) for _ in range(20)]
    ratio = middle(painted, 1) / middle(whole, 1)
    return [Result("screen: bytes of a picture of the page / of a full repaint", ratio)]


async def _memory() -> list[Result]:
    """A leak of one object a picture shows in the blocks, one of some kilobytes in the memory."""
    shown = snapshots(FRAMES + 1, 1)
    held: list[tuple[int, int]] = []
    async with stage(next(shown), page=True, size=MEMORY_SIZE) as app:
        page = app.page
        assert page is not None
        for i, picture in enumerate(shown, 1):
            await app.paint(partial(page.show, picture))
            if i in (EARLY, FRAMES):
                gc.collect()
                held.append((sys.getallocatedblocks(), resident()))
    (blocks, memory), (blocks_late, memory_late) = held
    name = f"after picture {FRAMES:,} / after picture {EARLY:,}"
    results = [Result(f"screen: objects {name}", blocks_late / blocks, 1.01)]
    if memory:
        results.append(Result(f"screen: memory {name}", memory_late / memory, 1.1))
    return results


def middle(painted: list[Painted], i: int) -> float:
    """Return the median CPU time (`i` 0) or number of bytes (1)."""
    return median(p[i] for p in painted)


def resident() -> int:
    """Return the memory of this process; 0 where the system does not tell. [pages]"""
    try:
        return int(Path("/proc/self/statm").read_text(encoding="ascii").split()[1])
    except OSError:
        return 0
