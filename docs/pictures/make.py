"""Make the pictures of the README from the real program on the built-in synthetic well.

Run from the project's root, with a Chromium on the path::

    python docs/pictures/make.py

The scenario ``demo`` runs in this process into a recording in a temporary folder; the program
shows it without a terminal (`run_test`), saves what it drew as SVG, and Chromium turns that into
a PNG. Nothing is drawn by hand; the window frame that comes with the SVG is cut off.
``--keep FOLDER`` keeps the SVG files as well.
"""

from __future__ import annotations

import argparse
import asyncio
import re
import shutil
import subprocess
import sys
import tempfile
from contextlib import closing
from datetime import UTC, datetime
from math import ceil
from pathlib import Path

from adapters.config_file import example_text, parse_well
from adapters.sim_feed import SimFeed
from adapters.sqlite_reader import SqliteRecording
from adapters.sqlite_store import create_recording
from engine.clock import HandClock
from engine.engine import Engine
from engine.run import Watch, head_entry
from engine.sim.scenarios import DEMO_HISTORY
from tui.app import MonitorApp
from tui.commands.common import meta_of
from tui.follow import Follower
from tui.glyphs import UNICODE
from tui.theme import LANTERN

HERE = Path(__file__).parent
END = datetime(2026, 3, 14, 6, 0, tzinfo=UTC).timestamp()
"""The moment in the pictures. [s since 1970-01-01 UTC]"""
PICTURES = (
    ("monitor_80x24", (80, 24), 20.0, 1.0),
    ("monitor_120x36", (120, 36), 860.0, 1.0),
    ("monitor_200x55", (200, 55), 278.0, 0.72),
)
"""Name, columns and rows, seconds after the demo's screen opens, and size of the picture."""
BROWSERS = ("chromium", "chromium-browser", "google-chrome")
CELL, LINE, LEFT, TOP, MARGIN = 12.2, 24.4, 9.0, 41.0, 8.0
"""Character and row in the SVG that textual writes, where they begin, and margin. [px]"""


def record(path: Path, after: float, seed: int = 1) -> None:
    """Record the demo's two hours of history and `after` seconds of what follows."""
    text = example_text()
    config = parse_well(text, "built-in well file")
    length = DEMO_HISTORY + after
    clock = HandClock(END)
    meta = meta_of(config, text, "synthetic", END - length)
    feed = SimFeed(config, "demo", seed, clock, length)
    engine = Engine(config, head_entry(meta))
    with closing(create_recording(path, meta)) as recorder:
        watch = Watch(engine, recorder, [feed], clock, lambda: END, sped=lambda _speed: None)
        watch.catch_up(0, feed.past())
        watch._heartbeat(running=True)  # no other way to leave one without a running watch


async def draw(path: Path, size: tuple[int, int]) -> str:
    """Return the screen on the recording at `path` as SVG."""
    with closing(SqliteRecording(str(path))) as recording:
        config = parse_well(recording.meta()["well_file"], str(path))
        config = config.model_copy(update={"synthetic": True})
        source = Follower(recording, config, lambda: END + 0.5)
        app = MonitorApp(source, "driller", "doghouse", glyphs=UNICODE, accepted=True)
        async with app.run_test(size=size) as pilot:
            for _ in range(10):
                await pilot.pause(0.2)
            return app.export_screenshot()


def png(svg: str, size: tuple[int, int], out: Path, browser: str, scale: float) -> None:
    """Let the browser paint the rows and columns in `svg`."""
    width = ceil(size[0] * CELL + 2 * MARGIN)
    height = ceil(size[1] * LINE + 2 * MARGIN)
    view = f'viewBox="{LEFT - MARGIN} {TOP - MARGIN} {width} {height}"'
    view += f' width="{width}" height="{height}"'
    svg = re.sub(r'viewBox="[^"]*"', view, svg, count=1)
    # The window's frame, its title and its buttons.
    svg = re.sub(r'<rect fill="#292929".*?</text>', "", svg, count=1, flags=re.DOTALL)
    svg = re.sub(r"<circle [^>]*>", "", svg)
    # It names fonts on the net; the machine's own will do.
    svg = re.sub(r"@font-face \{.*?\}", "", svg, flags=re.DOTALL)
    svg = svg.replace("Fira Code", "DejaVu Sans Mono")
    with tempfile.TemporaryDirectory() as folder:
        page = Path(folder, "page.html")
        body = f"<body style='margin:0;background:{LANTERN.background}'>{svg}</body>"
        page.write_text(body, encoding="utf-8")
        subprocess.run(
            [
                browser, "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic",
                "--no-first-run", "--disable-background-networking",
                "--disable-component-update", "--disable-sync", "--hide-scrollbars",
                f"--user-data-dir={folder}/profile", f"--screenshot={out}",
                f"--force-device-scale-factor={scale}",
                f"--window-size={width},{height}", page.as_uri(),
            ],
            check=True, capture_output=True, timeout=120,
        )  # fmt: skip


def main() -> int:
    """Make every picture."""
    parser = argparse.ArgumentParser(description="Make the pictures of the README.")
    parser.add_argument("--keep", type=Path, help="folder for the SVG files")
    parser.add_argument("--out", type=Path, default=HERE, help="folder for the PNG files")
    args = parser.parse_args()
    browser = next(filter(None, map(shutil.which, BROWSERS)), None)
    if browser is None:
        print(f"no browser: install one of {', '.join(BROWSERS)}", file=sys.stderr)
        return 1
    with tempfile.TemporaryDirectory() as folder:
        for name, size, after, scale in PICTURES:
            path = Path(folder, f"{name}.kdrec")
            record(path, after)
            svg = asyncio.run(draw(path, size))
            if args.keep:
                (args.keep / f"{name}.svg").write_text(svg, encoding="utf-8")
            out = args.out / f"{name}.png"
            png(svg, size, out.resolve(), browser, scale)
            print(f"{out}: {out.stat().st_size // 1000} kB")
    return 0


if __name__ == "__main__":
    sys.exit(main())
