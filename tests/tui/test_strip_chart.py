from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from textual.app import App, ComposeResult

from engine.block import Quality
from engine.snapshot import Snapshot
from tests.helpers import T0
from tests.scene import LONG, drilling_table, recording, well
from tui.follow import Follower
from tui.format import Formatter
from tui.glyphs import UNICODE
from tui.theme import LANTERN
from tui.widgets.lines import Look
from tui.widgets.strip_chart import AXIS, HEADER, TRACKS, StripChart

LOOK = Look(LANTERN.styles(), UNICODE, Formatter(), 28.5)
FULL = Follower(recording(drilling_table()), well(), lambda: T0 + LONG - 1).poll()


def until(n: int, snapshot: Snapshot = FULL) -> Snapshot:
    """Return `snapshot` as it was after its first `n` rows."""
    trends = snapshot.trends
    cut = replace(trends, t=trends.t[:n], value={k: v[:n] for k, v in trends.value.items()})
    return replace(snapshot, now=float(trends.t[n - 1]) + 0.4, trends=cut)


class Paper(App[None]):
    """A chart alone."""

    def compose(self) -> ComposeResult:
        yield StripChart(LOOK, id="chart")

    @property
    def chart(self) -> StripChart:
        return self.query_one(StripChart)

    def text(self) -> list[str]:
        return ["".join(s.text for s in strip) for strip in self.chart._strips]


def track(line: str, channel: str) -> str:
    """Return the part of a line in the track whose first curve is `channel`."""
    return line[AXIS:].split("│")[[first for first, _ in TRACKS].index(channel)]


async def fresh(n: int, zooms: int = 0) -> list[str]:
    """Return the picture of a chart that never saw anything before."""
    app = Paper()
    async with app.run_test(size=(90, 20)):
        app.chart.zoom(zooms)
        app.chart.show(until(n))
        return app.text()


@pytest.mark.parametrize("zooms", [0, -2, -4, 3])
async def test_a_chart_that_followed_equals_one_that_was_drawn_at_once(zooms: int) -> None:
    """Kept rows and the row that grows; steps of one and of many rows, and back."""
    app = Paper()
    async with app.run_test(size=(90, 20)):
        app.chart.zoom(zooms)
        for n in [*range(600, 1000), 1300, 1301, 900, 901, 1799, 30, 31, 1500]:
            app.chart.show(until(n))
            if n in (640, 702, 999, 1300, 901, 31):
                assert app.text() == await fresh(n, zooms), n
        assert app.text() == await fresh(1500, zooms)


async def test_one_row_is_painted_as_long_as_the_paper_does_not_move(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    app = Paper()
    async with app.run_test(size=(90, 20)):
        start = next(n for n in range(1200, 1300) if int(T0 + n - 1) % 40 == 1)
        app.chart.show(until(start))
        painted: list[tuple[object, ...]] = []
        monkeypatch.setattr(app.chart, "refresh", lambda *regions: painted.append(regions))
        for n in range(start + 1, start + 30):
            app.chart.show(until(n))
    rows = {region.y for regions in painted for region in regions}  # type: ignore[attr-defined]
    assert rows == {19}


async def test_time_without_data_moves_the_paper_while_the_watch_is_alive() -> None:
    app = Paper()
    async with app.run_test(size=(90, 20)):
        app.chart.show(until(1500))
        before = app.text()
        app.chart.show(replace(until(1500), now=T0 + 1499 + 80))
        after = app.text()
        stopped = replace(until(1500), now=T0 + 1499 + 800)
        app.chart.show(replace(stopped, watch=replace(stopped.watch, alive=False)))
        held = app.text()
    assert after[HEADER:-2] == before[HEADER + 2 :]
    assert not after[-1].replace("│", "").strip()
    assert held == before


async def test_flow_in_and_out_share_one_scale() -> None:
    lines = await fresh(1500)
    out, into = (track(line, "flow_out") for line in lines[:HEADER])
    assert out.split()[0] == into.split()[0] == "0"
    assert out.split()[-1] == into.split()[-1] == "3000"


async def test_a_value_beyond_the_sensor_range_leaves_the_scale_with_an_arrow() -> None:
    """R-03: drawn at the edge as off scale, and the good values keep their scale."""
    table = drilling_table()
    table["hook_load"].value[1200:1240] = 9.9e6  # range: 8000 kN
    table["hook_load"].quality[1200:1240] = int(Quality.OUT_OF_RANGE)
    snapshot = Follower(recording(table), well(), lambda: T0 + LONG - 1).poll()
    app = Paper()
    async with app.run_test(size=(90, 20)):
        app.chart.show(until(1500, snapshot))
        lines = app.text()
    assert track(lines[0], "hook_load").split()[-1] == "1500"
    assert sum("▸" in line for line in lines) in (1, 2)


async def test_a_gap_in_the_data_is_a_gap_in_the_curve() -> None:
    table = drilling_table()
    table["pit_volume"].value[1200:1320] = np.nan
    table["pit_gain"].value[:] = np.nan
    snapshot = Follower(recording(table), well(), lambda: T0 + LONG - 1).poll()
    app = Paper()
    async with app.run_test(size=(60, 20)):
        app.chart.show(until(1500, snapshot))
        rows = [track(line, "pit_volume").strip() for line in app.text()[HEADER:]]
    empty = [i for i, row in enumerate(rows) if not row]
    assert empty == [10, 11, 12]  # two minutes are three rows of 40 s


async def test_noise_about_zero_is_no_curve_off_its_scale() -> None:
    """A flow of -1 L/min with the pumps off, on a scale from 0 to 3000."""
    table = drilling_table()
    table["flow_out"].value[701:940] = -1 / 60000
    snapshot = Follower(recording(table), well(), lambda: T0 + LONG - 1).poll()
    app = Paper()
    async with app.run_test(size=(90, 20)):
        app.chart.show(until(1000, snapshot))
        text = "".join(app.text())
    assert "◂" not in text
    assert "⡇" in text


async def test_as_many_tracks_as_fit_and_the_others_in_turn() -> None:
    app = Paper()
    async with app.run_test(size=(76, 20)):
        app.chart.show(until(1500))
        names = []
        for _ in range(3):
            names.append([part.split()[1].strip("⡇⠅") for part in app.text()[0][AXIS:].split("│")
                          if part.strip()])  # fmt: skip
            app.chart.next_tracks()
    assert names == [["PITS", "FLOW", "HOOK"], ["SPP", "WOB", "RPM"], ["TEMP", "PITS", "FLOW"]]


async def test_no_data_at_all_is_an_empty_chart() -> None:
    app = Paper()
    empty = replace(until(1), trends=replace(FULL.trends, t=np.empty(0), value={}))
    async with app.run_test(size=(90, 20)):
        app.chart.show(empty)
        assert len(app.text()) == 20
