"""The horn of a watch that has a terminal: its bell."""

from __future__ import annotations

import sys
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass


def _bell() -> None:
    with suppress(OSError, ValueError):  # a terminal that has gone stops no watch
        if sys.stdout.isatty():
            sys.stdout.write("\a")
            sys.stdout.flush()


@dataclass(slots=True)
class Horn:
    """Sounds when it begins to be needed; a screen repeats its own bell while it lasts."""

    sound: Callable[[], None] = _bell
    sounding: bool = False

    def follow(self, *, sounding: bool) -> None:
        """Sound on the change from quiet to sounding."""
        if sounding and not self.sounding:
            self.sound()
        self.sounding = sounding
