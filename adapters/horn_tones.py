"""The horn's own tones: two alternating ones for priority 1, one for the rest.

References
----------
.. [1] ISO 7731:2003, Ergonomics - Danger signals for public and work areas: energy between 500
   and 2500 Hz, distinct in time pattern; a changing pitch is recommended. From memory.
.. [2] Python documentation, ``wave``: PCM, 16 bits are signed, little-endian.
"""

from __future__ import annotations

import io
import os
import wave
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt

from engine.alarms.urgency import Urgency
from engine.block import FloatArray

RATE = 22_050
"""Enough for tones below 2500 Hz. [samples/s]"""
EDGE_S = 0.005
"""Rise and fall of each tone, so that it does not click. [s]"""
FULL = 32767


@dataclass(frozen=True, slots=True)
class Pattern:
    """One pass of a call: tones in turn, and silence after them before it comes again."""

    name: str
    tones: tuple[float, ...]
    """[Hz]"""
    each_s: float
    """Of one tone. [s]"""
    turns: int
    loudness: float
    """Of full scale. [-]"""
    gap_s: float
    """Until the next pass. [s]"""

    @property
    def length(self) -> float:
        """Of one pass. [s]"""
        return self.each_s * self.turns * len(self.tones)


LOW, HIGH = 660.0, 990.0
"""A fifth apart. [Hz]"""
LOWER = Pattern("alarm", (LOW,), 0.6, 1, 0.5, 4.4)
URGENT = (
    Pattern("priority-1", (LOW, HIGH), 0.30, 3, 0.6, 1.2),
    Pattern("priority-1-louder", (LOW, HIGH), 0.15, 8, 0.8, 0.6),
    Pattern("priority-1-loudest", (LOW, HIGH), 0.08, 18, 1.0, 0.1),
)
"""By how often an alarm was told louder. Design, no source."""


def pattern(urgency: Urgency) -> Pattern:
    """Return what `urgency` sounds like."""
    return URGENT[min(urgency.level, 2)] if urgency.priority == 1 else LOWER


def samples(one: Pattern) -> npt.NDArray[np.int16]:
    """Return one pass of `one`, shape (n,). [-]"""
    count = round(one.each_s * RATE)
    t = np.arange(count) / RATE
    edge = np.minimum(1.0, np.minimum(t, t[::-1]) / EDGE_S)
    tones: list[FloatArray] = [edge * np.sin(2 * np.pi * hz * t) for hz in one.tones]
    whole = np.concatenate(tones * one.turns)
    return np.asarray(np.round(whole * one.loudness * FULL), np.int16)


def wav(one: Pattern) -> bytes:
    """Return one pass of `one` as a WAV file: mono, 16 bits."""
    out = io.BytesIO()
    with wave.open(out, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(RATE)
        file.writeframes(samples(one).astype("<i2").tobytes())
    return out.getvalue()


def wav_file(folder: Path, one: Pattern) -> Path:
    """Return the WAV file of `one` in `folder`; made if it is not there or not ours.

    Raises
    ------
    OSError
        If it cannot be written.
    """
    path = folder / f"{one.name}.wav"
    data = wav(one)
    if not path.is_file() or path.read_bytes() != data:
        folder.mkdir(parents=True, exist_ok=True)
        part = path.with_name(f"{path.name}.{os.getpid()}.part")  # a player never sees half a file
        part.write_bytes(data)
        os.replace(part, path)
    return path
