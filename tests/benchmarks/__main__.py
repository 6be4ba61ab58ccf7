"""Run the benchmarks: ``python -m tests.benchmarks [NAME ...]``; see ``docs/benchmarks.md``."""

from __future__ import annotations

import os
import sys
import tempfile
from collections.abc import Callable, Iterator, Sequence
from functools import cache
from pathlib import Path

# Read by textual when it is imported: pictures as fast as they are made, in true colour.
os.environ["TEXTUAL_FPS"] = "1000"
os.environ["TEXTUAL_COLOR_SYSTEM"] = "truecolor"

from tests.benchmarks.chain import chain
from tests.benchmarks.material import Tour, make_tour
from tests.benchmarks.measure import Result
from tests.benchmarks.recompute import read, recompute, record
from tests.benchmarks.screen import screen


def main(names: Sequence[str]) -> int:
    """Run the benchmarks called `names`, all if there are none; 1 if one is over its budget."""
    with tempfile.TemporaryDirectory() as folder:
        benchmarks = _benchmarks(Path(folder) / "tour.kdrec")
        if unknown := [name for name in names if name not in benchmarks]:
            known = ", ".join(benchmarks)
            sys.stderr.write(f"benchmarks: no benchmark {unknown[0]!r}; there are {known}\n")
            return 2
        failed = False
        _say(f"{'benchmark':<72} {'ratio':>8} {'budget':>6}")
        for name in names or benchmarks:
            for result in benchmarks[name]():
                _say(result.line())
                failed |= result.fails
    return int(failed)


def _benchmarks(path: Path) -> dict[str, Callable[[], Iterator[Result]]]:
    """Return the benchmarks by name; what they work on is made when the first one asks."""

    @cache
    def tour() -> Tour:
        return make_tour()

    @cache
    def recording() -> Path:
        record(tour(), path)
        return path

    return {
        "chain": lambda: chain(tour()),
        "recompute": lambda: recompute(tour(), recording()),
        "read": lambda: read(recording()),
        "screen": screen,
    }


def _say(line: str) -> None:
    sys.stdout.write(line + "\n")
    sys.stdout.flush()


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
