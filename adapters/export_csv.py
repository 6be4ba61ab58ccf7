"""A recording as one CSV table: a line a row, units in the column names, nothing made up.

Numbers have at most six decimals in the unit of their column, which is finer than any sensor
here and hides the noise of binary fractions; an unknown value is an empty field. A value that
is known but doubtful (out of range, frozen) is written, and the column ``quality`` says so:
``flow_out:stale|pit_gain:no_reference``, channels in their usual order, several reasons joined
by ``+``. A value held within its age limit counts as plainly good there.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from functools import cache
from pathlib import Path

import numpy as np

from adapters.whole_file import write_whole
from engine.block import Block, FloatArray, Quality, Table
from engine.channels import CHANNELS
from engine.errors import RecordingError
from engine.interfaces import Recording
from engine.records.in_spans import in_spans
from engine.states import STATE_IDS
from engine.units import unit

WINDOW_S = 3600.0
"""Rows read at once; keeps the memory small whatever the length. [s]"""
_FIRST = (
    "block_position", "hook_load", "standpipe_pressure", "flow_in", "flow_out", "pit_volume",
    "rotary", "torque", "bit_depth", "hole_depth", "weight_on_bit", "rop", "in_slips",
    "rig_state", "flow_difference", "pit_gain",
)  # fmt: skip
ORDER = (*_FIRST, *(c for c in CHANNELS if c not in _FIRST))
"""Channels in the order of their columns."""
HEADER = ",".join(("time_utc", "t_s", *(CHANNELS[c].column for c in ORDER), "quality", "source"))
SOURCES = ("live", "import", "synthetic")
"""What the last column says of the whole recording."""

_NOTED = [q for q in Quality if q != Quality.HELD]


def export_csv(recording: Recording, path: Path | str, *, force: bool = False) -> int:
    """Write all rows of `recording` to `path`, which appears whole or not at all.

    Parameters
    ----------
    recording : Recording
        It may still be growing; what comes meanwhile may be left out.
    path : Path or str
        The CSV file to make, in a folder that exists.
    force : bool
        Whether a file of that name may be replaced.

    Returns
    -------
    int
        Rows written, the header not counted. [-]

    Raises
    ------
    InputError
        If the file exists and `force` is not given, or its folder does not.
    RecordingError
        If the recording cannot be read or the file not be written.
    """
    lines = 0

    def text() -> Iterator[str]:
        nonlocal lines
        yield HEADER + "\n"
        for part, count in _parts(recording):
            yield part
            lines += count

    write_whole(Path(path), text(), force=force)
    return lines


def source_of(meta: Mapping[str, str]) -> str:
    """Return where the samples came from, as the head says; synthetic beats all else."""
    if meta.get("synthetic") == "1":
        return "synthetic"
    source = meta.get("source", "")
    if source not in SOURCES:
        raise RecordingError(f"meta: source must be one of {', '.join(SOURCES)}, got {source!r}")
    return source


def _parts(recording: Recording) -> Iterator[tuple[str, int]]:
    """Yield the text of some lines, and how many they are."""
    source = source_of(recording.meta())
    span = recording.span()
    if span is None:
        return
    words = _QualityWords()
    for table in in_spans(recording, WINDOW_S, ORDER):
        yield "".join(_lines(table, span[0], words, source)), len(table[ORDER[0]])


def _lines(table: Table, first: float, words: _QualityWords, source: str) -> Iterator[str]:
    t = table[ORDER[0]].t
    columns = [_times(t), _numbers(t - first)]
    columns += [_column(channel, table[channel]) for channel in ORDER]
    columns.append(words.column(table))
    tail = f",{source}\n"
    for fields in zip(*columns, strict=True):
        yield ",".join(fields) + tail


def _column(channel: str, block: Block) -> list[str]:
    if channel == "rig_state":
        return _known(block.value, _states)
    if channel.endswith("_since"):
        return _known(block.value, _times)
    u = unit(CHANNELS[channel].export_unit)
    return _known((block.value - u.offset) / u.factor, _numbers)


def _known(value: FloatArray, words: Callable[[FloatArray], list[str]]) -> list[str]:
    """Word the known values of `value`; the others are empty."""
    out = [""] * value.size
    known = np.flatnonzero(~np.isnan(value))
    for place, word in zip(known.tolist(), words(value[known]), strict=True):
        out[place] = word
    return out


def _numbers(value: FloatArray) -> list[str]:
    """Word numbers with at most six decimals, without trailing zeros or a minus before 0."""
    words = [f"{x:.6f}".rstrip("0").rstrip(".") for x in value.tolist()]
    return ["0" if word == "-0" else word for word in words]


def _times(t: FloatArray) -> list[str]:
    """Word times as ISO 8601 UTC with milliseconds, microseconds where there are some."""
    us = np.rint(t * 1e6).astype("datetime64[us]")
    words = np.datetime_as_string(us, unit="us").tolist()
    return [(w[:-3] if w.endswith("000") else w) + "Z" for w in words]


def _states(value: FloatArray) -> list[str]:
    words = dict(enumerate(STATE_IDS))
    try:
        return [words[x] for x in value.tolist()]
    except KeyError as error:
        raise RecordingError(
            f"rig_state: {error.args[0]!r} is no state this program knows"
        ) from None


class _QualityWords:
    """Words of quality; most rows say the same as one before them, so they are kept."""

    def __init__(self) -> None:
        self._row: dict[bytes, str] = {}

    def column(self, table: Table) -> list[str]:
        """Word the quality of each row, empty where all channels are plainly good."""
        quality = np.column_stack([table[c].quality for c in CHANNELS])
        quality &= np.uint16(0xFFFF ^ Quality.HELD)
        out = []
        for row in quality:
            key = row.tobytes()
            word = self._row.get(key)
            if word is None:
                word = self._row[key] = "|".join(
                    f"{channel}:{_reasons(bits)}"
                    for channel, bits in zip(CHANNELS, row.tolist(), strict=True)
                    if bits
                )
            out.append(word)
        return out


@cache
def _reasons(bits: int) -> str:
    """Name the bits of one quality; one this program does not know is a number."""
    words = [str(q.name).lower() for q in _NOTED if q & bits]
    rest = bits & ~sum(_NOTED)
    return "+".join([*words, *([str(rest)] if rest else [])])
