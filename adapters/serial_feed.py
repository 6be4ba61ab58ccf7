"""One serial line, or a URL that stands for one, as a feed. Receives only, never transmits.

References
----------
.. [1] pySerial 3.5 documentation, "pySerial API" and "URL Handlers": ``serial_for_url``,
   timeouts, ``in_waiting``, ``exclusive``.
"""

from __future__ import annotations

import asyncio
import contextlib
import re
import sys
import time
from collections.abc import AsyncGenerator, Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from functools import partial

import serial

from engine.config import Feed
from engine.errors import FeedError
from engine.events import FeedEvent, LinkDown, LinkUp, WireBytes
from engine.interfaces import Decoder

LINE_ERRORS: tuple[type[Exception], ...] = (OSError,)
"""What a port raises when it is gone; pySerial's own error is an ``OSError``."""
if sys.platform != "win32":
    import termios

    # Settings that a POSIX driver refuses come as this, which is no OSError.
    LINE_ERRORS = (OSError, termios.error)

RETRY_S = (1.0, 2.0, 5.0, 10.0)
"""Pauses before the port is tried again; the last one repeats. [s]"""
WAIT_S = 0.2
"""Longest stay in one read: so long may closing take. [s]"""
GATHER_S = 0.02
"""Pause after the first bytes, lest each byte becomes a record of its own. [s]"""
MOST = 4096
"""Bytes handed over at once: what the receive buffer of Windows holds. [-]"""


def parse_framing(text: str) -> tuple[int, str, float]:
    """Return data bits, parity letter and stop bits of a text such as ``8N1``.

    Raises
    ------
    FeedError
        If `text` is not 5 to 8 data bits, one of N E O M S, and 1, 1.5 or 2 stop bits.
    """
    found = re.fullmatch(r"([5678])([NEOMS])(1|1\.5|2)", text)
    if found is None:
        raise FeedError(f"framing: {text!r} is none; write data bits, parity, stop bits: 8N1")
    return int(found[1]), found[2], float(found[3])


class _Line:
    """The port. Every method runs on the feed's own thread, so none races another."""

    def __init__(self, feed: Feed) -> None:
        size, parity, stop = parse_framing(feed.framing)
        self._make = partial(
            serial.serial_for_url, feed.port, baudrate=feed.baud, bytesize=size, parity=parity,
            stopbits=int(stop) if stop.is_integer() else stop, timeout=WAIT_S, exclusive=True,
            do_not_open=True,
        )  # fmt: skip
        self._port: serial.Serial | None = None

    def check(self) -> None:
        """Build a port without opening it; `ValueError` if there can never be one."""
        with contextlib.suppress(*LINE_ERRORS):  # hwgrep:// looks for a device, now and later
            self._make()

    def open(self) -> None:
        """Look the port up afresh and open it."""
        try:
            self._port = self._make()
            self._port.open()
        except ValueError as error:  # a speed, say, that this driver cannot be set to
            raise OSError(str(error)) from error

    def read(self) -> bytes:
        """Return what has come, after `WAIT_S` at most; nothing if nothing came."""
        port = self._port
        if port is None:
            return b""
        data = bytearray(port.read(1))
        if data:
            time.sleep(GATHER_S)
        # What was read before an error is delivered; the next read meets the error again.
        with contextlib.suppress(*LINE_ERRORS):
            while data and len(data) < MOST and (waiting := port.in_waiting):
                data += port.read(min(waiting, MOST - len(data)))
        return bytes(data)

    def close(self) -> None:
        """Close what is open; a port that is gone may complain, and stays closed."""
        port, self._port = self._port, None
        if port is not None:
            with contextlib.suppress(*LINE_ERRORS):
                port.close()


class SerialFeed:
    """A feed from a port or URL (see `engine.interfaces.Feed`); listen under ``aclosing``.

    A lost line is an event, and the port is tried again for ever. While it stays away for the
    same reason, that is said once. Complete lines of a packet that the loss cut short are
    delivered before it.

    Parameters
    ----------
    feed : Feed
        Name, port, speed, framing and idle time.
    decoder : Decoder
        What makes events of the bytes.
    clock : callable
        Gives the time of arrival. [s since 1970-01-01 UTC]
    retry_s : sequence of float
        Pauses before the port is tried again. [s]

    Raises
    ------
    FeedError
        If no port is given, or there can be none of that kind.
    """

    def __init__(
        self,
        feed: Feed,
        decoder: Decoder,
        clock: Callable[[], float],
        retry_s: Sequence[float] = RETRY_S,
    ) -> None:
        self.name = feed.name
        self._decoder, self._clock, self._retry_s = decoder, clock, retry_s
        self._idle_s = feed.idle_s
        self._line = _Line(feed)
        good = "write COM3, /dev/ttyUSB0, socket://host:port or rfc2217://host:port"
        if not feed.port:
            raise FeedError(f"feed {feed.name}: no port; {good}")
        try:
            self._line.check()
        except ValueError as error:
            raise FeedError(f"feed {feed.name}: port {feed.port!r}: {error}; {good}") from None

    async def events(self) -> AsyncGenerator[FeedEvent, None]:
        """Yield ``WireBytes`` and what is decoded from them, until closed or cancelled."""
        thread = ThreadPoolExecutor(max_workers=1, thread_name_prefix=f"feed {self.name}")
        call = partial(asyncio.get_running_loop().run_in_executor, thread)
        failures, told = 0, ""
        try:
            while True:
                reason = ""
                try:
                    await call(self._line.open)
                    yield LinkUp(self._clock(), self.name)
                    told = ""
                    last, idle = self._clock(), True
                    while True:
                        data = await call(self._line.read)
                        now = self._clock()
                        if data:
                            last, idle, failures = now, False, 0
                            yield WireBytes(now, self.name, data)
                            for event in self._decoder.feed(data, now):
                                yield event
                        elif not idle and now - last >= self._idle_s:
                            idle = True
                            for event in self._decoder.idle(now):
                                yield event
                except LINE_ERRORS as error:
                    reason = str(error) or type(error).__name__
                await call(self._line.close)
                for event in self._decoder.idle(self._clock()):
                    yield event
                self._decoder.reset()
                if reason != told:
                    told = reason
                    yield LinkDown(self._clock(), self.name, reason)
                await asyncio.sleep(self._retry_s[min(failures, len(self._retry_s) - 1)])
                failures += 1
        finally:
            # Queued behind an open or a read that still runs: what it opened is closed too.
            closing = asyncio.wrap_future(thread.submit(self._line.close))
            thread.shutdown(wait=False)
            await asyncio.shield(closing)
