"""Strip charts side by side on one time axis that runs down, newest at the bottom."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise
from math import floor

import numpy as np
import numpy.typing as npt
from rich.segment import Segment
from textual.geometry import Region
from textual.strip import Strip

from engine.block import FloatArray, Mask
from engine.channels import CHANNELS
from engine.snapshot import Snapshot
from tui import raster
from tui.scales import SECONDS_A_DOT, ends, label_step
from tui.widgets.lines import Lines, Look, Row, shorten

TRACKS: tuple[tuple[str, str], ...] = (
    ("pit_volume", "pit_gain"),
    ("flow_out", "flow_in"),
    ("hook_load", "block_position"),
    ("standpipe_pressure", "flow_in"),
    ("weight_on_bit", "rop"),
    ("rotary", "torque"),
    ("temperature_out", "gas"),
)
"""The first curve of a track is the brighter one; a narrow screen shows the first tracks."""
SHARED = frozenset({"flow_in", "flow_out"})
"""Curves that are compared, so one scale serves both."""
HEADER, AXIS = 2, 6
"""Rows above and cells left of the curves. [-]"""
TRACK_WIDTH = 23
"""Cells of the narrowest good track. [-]"""
BEYOND = 0.03
"""A curve this far outside its scale gets an arrow head: noise about zero is none. [-]"""
HOLD_S = 5.0
"""An empty bucket between samples is filled for this long, as a feed's value is held. [s]"""


@dataclass(frozen=True, slots=True)
class Plan:
    """All that the finished rows depend on besides the samples; a change redraws them."""

    tracks: tuple[tuple[str, str], ...]
    widths: tuple[int, ...]
    scales: tuple[tuple[tuple[float, float], ...], ...]
    """Per track and curve, in display units."""
    dot_s: float


class StripChart(Lines):
    """A header, then one row of cells per four dot rows, aligned to absolute time.

    A row that lies in the past never changes, so it is kept; a picture then paints one row.
    """

    def __init__(self, look: Look, *, id: str) -> None:  # noqa: A002 - textual's own name
        super().__init__(look, id=id)
        self._zoom = SECONDS_A_DOT.index(10.0)
        self._first_track = 0
        self._plan: Plan | None = None
        self._kept: dict[int, Strip] = {}
        self._until = float("-inf")
        """Newest sample of the last picture. [s]"""
        self._bottom = 0
        self._header: list[Row] = []

    @property
    def row_seconds(self) -> float:
        """Seconds a row of cells. [s]"""
        return raster.DOT_ROWS * SECONDS_A_DOT[self._zoom]

    def zoom(self, by: int) -> None:
        """Take more (`by` > 0) or fewer seconds a row."""
        self._zoom = min(max(self._zoom + by, 0), len(SECONDS_A_DOT) - 1)
        self.use(self._look)

    def next_tracks(self) -> None:
        """Show the next tracks."""
        count = self._count(self.size.width)
        self._first_track = (self._first_track + count) % len(TRACKS)
        self.use(self._look)

    def use(self, look: Look) -> None:
        """Draw everything again in another look."""
        self._plan = None
        super().use(look)

    def on_resize(self) -> None:
        """Draw everything for the new size."""
        self._plan = None
        super().on_resize()

    def draw(self) -> None:
        """Bring the picture up to the newest snapshot, painting only rows that differ."""
        width, height = self.size
        snapshot = self._snapshot
        if snapshot is None or width < AXIS + 10 or height <= HEADER:
            return
        t = snapshot.trends.t
        newest = float(t[-1]) if t.size else snapshot.now
        # Without a watch there is no present, so the paper stands where the data end.
        end = max(newest, snapshot.now) if snapshot.watch.alive else newest
        bottom = floor(end / self.row_seconds)
        rows = height - HEADER
        plan = self._make_plan(snapshot, width, bottom - rows + 1, bottom + 1)
        stale_from = floor(min(newest, self._until) / self.row_seconds) if self._plan else 0
        whole = plan != self._plan or bottom != self._bottom or len(self._strips) != height
        if plan != self._plan:
            self._kept.clear()
        self._plan, self._bottom, self._until = plan, bottom, newest
        self._kept = {
            r: s for r, s in self._kept.items() if bottom - rows < r < stale_from and r <= bottom
        }
        self._draw_missing(snapshot, plan, bottom - rows + 1, bottom + 1)
        header = self._headings(plan)
        strips = [self.strip(row, width) for row in header]
        strips += [self._kept[r] for r in range(bottom - rows + 1, bottom + 1)]
        old, self._strips = self._strips, strips
        if whole or header != self._header:
            self.refresh()
        else:
            for y, (new, was) in enumerate(zip(strips, old, strict=True)):
                if y >= HEADER and new is not was and new != was:
                    self.refresh(Region(0, y, width, 1))
        self._header = header

    def _count(self, width: int) -> int:
        return max(1, min(len(TRACKS), (width - AXIS) // TRACK_WIDTH))

    def _make_plan(self, snapshot: Snapshot, width: int, start: int, stop: int) -> Plan:
        count = self._count(width)
        index = [(self._first_track + i) % len(TRACKS) for i in range(count)]
        tracks = tuple(TRACKS[i] for i in index)
        room = width - AXIS - count
        widths = tuple(room // count + (1 if i < room % count else 0) for i in range(count))
        t, values = snapshot.trends.t, snapshot.trends.value
        seen = slice(*np.searchsorted(t, [start * self.row_seconds, stop * self.row_seconds]))
        scales = tuple(self._scales(track, values, seen) for track in tracks)
        return Plan(tracks, widths, scales, SECONDS_A_DOT[self._zoom])

    def _scales(
        self, track: tuple[str, str], values: Mapping[str, FloatArray], seen: slice
    ) -> tuple[tuple[float, float], ...]:
        out = []
        for name in track:
            unit, sensor = self.look.fmt.unit(name), CHANNELS[name]
            column = values.get(name, np.empty(0))[seen]
            # A value outside the sensor's range must not flatten the good ones.
            good = column[(column >= sensor.low) & (column <= sensor.high)]
            extent = (float(good.min()), float(good.max())) if good.size else (np.nan, np.nan)
            out.append(ends(name, unit.from_si(extent[0]), unit.from_si(extent[1])))
        if set(track) <= SHARED:
            both = (min(low for low, _ in out), max(high for _, high in out))
            return (both,) * len(track)
        return tuple(out)

    def _headings(self, plan: Plan) -> list[Row]:
        glyphs = self.look.glyphs
        rows: list[Row] = []
        for k, corner in enumerate((f"{self.row_seconds:g} s", "a row")):
            row: Row = [(f"{corner:{AXIS}}", "label")]
            for track, width, scale in zip(plan.tracks, plan.widths, plan.scales, strict=True):
                name = track[k]
                unit = self.look.fmt.unit(name).symbol
                label = f"{glyphs.samples[k]}{CHANNELS[name].short} {unit}"
                low, high = (f"{end:g}" for end in scale[k])
                middle = max(0, width - len(low) - len(high))
                row.append((f"{low}{shorten(label, middle):^{middle}}{high}", ROLES[k]))
                row.append((glyphs.wall, "faint"))
            rows.append(row)
        return rows

    def _draw_missing(self, snapshot: Snapshot, plan: Plan, start: int, stop: int) -> None:
        missing = [r for r in range(start, stop) if r not in self._kept]
        runs = np.split(np.array(missing, int), np.flatnonzero(np.diff(missing) > 1) + 1)
        for run in runs:
            if run.size:
                self._draw_rows(snapshot, plan, int(run[0]), int(run[-1]) + 1)

    def _draw_rows(self, snapshot: Snapshot, plan: Plan, start: int, stop: int) -> None:
        t, values = snapshot.trends.t, snapshot.trends.value
        dot_rows = np.arange(raster.DOT_ROWS * start - 1, raster.DOT_ROWS * stop + 1)
        edges = dot_rows.astype(np.float64) * plan.dot_s
        parts: list[Row] = [[(self._time(r), "label")] for r in range(start, stop)]
        for track, width, scale in zip(plan.tracks, plan.widths, plan.scales, strict=True):
            firsts, lasts, above, below = [], [], [], []
            for name, (low_end, high_end) in zip(track, scale, strict=True):
                column = values.get(name)
                if column is None:
                    column = np.full(t.size, np.nan)
                unit = self.look.fmt.unit(name)
                low, high = (
                    ((x - unit.offset) / unit.factor - low_end) / (high_end - low_end)
                    for x in raster.buckets(t, column, edges, HOLD_S)
                )
                first, last = raster.dots(low, high, width)
                firsts.append(first)
                lasts.append(last)
                above.append(_any_in_row(high[1:] > 1 + BEYOND))
                below.append(_any_in_row(low[1:] < -BEYOND))
            bits, top = raster.cells(np.array(firsts), np.array(lasts), width)
            texts = raster.text_rows(bits, top, self.look.glyphs.curves)
            over, under = np.any(above, axis=0), np.any(below, axis=0)
            for i, part in enumerate(parts):
                part += self._track_row(texts[i], top[i], bool(under[i]), bool(over[i]))
        for i, part in enumerate(parts):
            styles = self.look.styles
            segments = [Segment(text, styles[role]) for text, role in part]
            strip = Strip(segments).adjust_cell_length(self.size.width, styles["text"])
            self._kept[start + i] = strip

    def _track_row(self, text: str, top: npt.NDArray[np.int8], under: bool, over: bool) -> Row:
        """One track's part of a row: a run a curve; an arrow head where it leaves the scale."""
        cuts = [0, *(np.flatnonzero(top[1:] != top[:-1]) + 1).tolist(), len(text)]
        row: Row = [(text[a:b], ROLES[max(0, int(top[a]))]) for a, b in pairwise(cuts)]
        glyphs = self.look.glyphs
        if under:
            row[0] = (row[0][0][1:], row[0][1])
            row.insert(0, (glyphs.beyond_low, "changed"))
        if over:
            row[-1] = (row[-1][0][:-1], row[-1][1])
            row.append((glyphs.beyond_high, "changed"))
        return [*row, (glyphs.wall, "faint")]

    def _time(self, row: int) -> str:
        """Label the row in which a full step of time lies."""
        start, step = row * self.row_seconds, label_step(self.row_seconds)
        at = -(-start // step) * step
        if at >= start + self.row_seconds:
            return " " * AXIS
        clock = self.look.fmt.clock(at) if step < 60 else self.look.fmt.minute(at)
        return f"{clock[-5:]:{AXIS}}"


ROLES = ("curve_0", "curve_1")


def _any_in_row(dot_rows: Mask) -> Mask:
    found: Mask = np.logical_or.reduce(dot_rows.reshape(-1, raster.DOT_ROWS), axis=1)
    return found
