"""The display tick: five pictures a second at most, however fast the data come."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import Any, TypeVar

from textual.app import App

from engine.errors import RigError
from engine.snapshot import Snapshot
from tui.fold import blind

INTERVAL_S = 0.2
"""Between pictures. [s]"""
BACKLOG = 3
"""Pictures waiting for a slow terminal beyond which none is added. [-]"""
TOO_OLD_S = 2.5
"""A picture older than this shows no value any more. [s]"""
T = TypeVar("T")
_log = logging.getLogger(__name__)


def output_backlog(app: App[Any]) -> int:
    """Return how many writes wait for the terminal; a full queue would stop the event loop."""
    # A private attribute of textual; tests/tui/test_tick.py holds that it still exists.
    thread = getattr(app._driver, "_writer_thread", None)
    return thread._queue.qsize() if thread is not None else 0


class Reader:
    """All reading and posting, on one thread, so that no disk can stop the screen."""

    def __init__(self) -> None:
        self._thread = ThreadPoolExecutor(max_workers=1, thread_name_prefix="reader")

    async def ask(self, call: Callable[[], T]) -> T:
        """Run `call` on the reading thread."""
        return await asyncio.get_running_loop().run_in_executor(self._thread, call)

    def submit(self, call: Callable[[], T], then: Callable[[asyncio.Future[T]], None]) -> None:
        """Run `call` on the reading thread, then `then` on the event loop."""
        future = asyncio.get_running_loop().run_in_executor(self._thread, call)
        future.add_done_callback(then)

    def close(self) -> None:
        """Take no more work."""
        self._thread.shutdown(wait=False, cancel_futures=True)


class Tick:
    """Polls, never two at once, and shows; blanks the screen when polls stop coming back."""

    def __init__(
        self,
        app: App[Any],
        reader: Reader,
        poll: Callable[[], Snapshot],
        show: Callable[[Snapshot], None],
        clock: Callable[[], float],
        empty: Snapshot,
    ) -> None:
        self._app = app
        self._reader = reader
        self._poll = poll
        self._show = show
        self._clock = clock
        self._busy = False
        self._newest = self._empty = empty
        self._good_at = clock()
        self._problem = ""

    def run(self) -> None:
        """Do one tick; the app's timer calls this."""
        if self._clock() - self._good_at > TOO_OLD_S:
            silent = "the recording does not answer"
            if self._newest is self._empty:
                silent = "reading the recording ..."
            self._paint(blind(self._newest, self._problem or silent))
        if not self._busy:
            self._busy = True
            self._reader.submit(self._poll, self._done)

    def _done(self, future: asyncio.Future[Snapshot]) -> None:
        self._busy = False
        if future.cancelled():
            return
        error = future.exception()
        if error is None:
            self._newest, self._good_at, self._problem = future.result(), self._clock(), ""
            self._paint(self._newest)
            return
        self._problem = f"cannot read the recording: {error}"
        if not isinstance(error, RigError):
            _log.error("poll failed", exc_info=error)

    def _paint(self, snapshot: Snapshot) -> None:
        if output_backlog(self._app) <= BACKLOG and self._app.is_running:
            self._show(snapshot)
