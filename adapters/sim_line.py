"""The synthetic stream in real time onto a serial line, as a rig's own system would send it."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable

import serial

from engine.errors import FeedError
from engine.sim.rig import Rig
from engine.sim.stream import wits_bytes

_REFUSED: tuple[type[Exception], ...] = (OSError,)  # pySerial's own error is one
if sys.platform != "win32":
    import termios

    _REFUSED = (OSError, termios.error)


def send(
    rig: Rig,
    seconds: float,
    port: str,
    baud: int,
    *,
    clock: Callable[[], float] = time.monotonic,
    sleep: Callable[[float], None] = time.sleep,
) -> int:
    """Send `seconds` of `rig` to `port`, each packet at its time; return the bytes sent.

    Parameters
    ----------
    rig : Rig
        Its start is taken as the present moment.
    seconds : float
        Length of the run. [s]
    port : str
        Serial port or pySerial URL.
    baud : int
        Speed of a serial port. [1/s]
    clock : callable
        Seconds that only go forward: a step of the computer's clock must not stop the stream.
    sleep : callable
        Waits for a number of seconds.

    Raises
    ------
    FeedError
        If the port cannot be opened or the line fails.
    """
    sent, began = 0, clock()
    try:
        with _open(port, baud) as line:
            for _ in range(int(seconds)):
                for at, data in wits_bytes(rig.advance(1.0)):
                    wait = (at - rig.start) - (clock() - began)
                    if wait > 0:
                        sleep(wait)
                    line.write(data)
                    line.flush()
                    sent += len(data)
    except _REFUSED as error:
        raise FeedError(f"{port}: {error}; check the name with: kellydown doctor") from None
    return sent


def _open(port: str, baud: int) -> serial.SerialBase:
    try:
        return serial.serial_for_url(port, baudrate=baud)
    except ValueError as error:  # no such kind of URL, or a speed the driver cannot be set to
        raise OSError(str(error)) from error
