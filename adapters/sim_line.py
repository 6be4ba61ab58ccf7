"""The synthetic stream in real time onto a serial line, as a rig's own system would send it."""

from __future__ import annotations

import time
from collections.abc import Callable

import serial

from engine.errors import FeedError
from engine.sim.rig import Rig
from engine.sim.stream import wits_bytes


def send(
    rig: Rig,
    seconds: float,
    port: str,
    baud: int,
    *,
    wall: Callable[[], float] = time.time,
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

    Raises
    ------
    FeedError
        If the port cannot be opened or the line fails.
    """
    sent, began = 0, wall()
    try:
        with serial.serial_for_url(port, baudrate=baud) as line:
            for _ in range(int(seconds)):
                for at, data in wits_bytes(rig.advance(1.0)):
                    wait = (at - rig.start) - (wall() - began)
                    if wait > 0:
                        sleep(wait)
                    line.write(data)
                    line.flush()
                    sent += len(data)
    except OSError as error:  # SerialException is one
        raise FeedError(f"{port}: {error}; check the name with: kellydown doctor") from None
    return sent
