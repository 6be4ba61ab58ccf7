"""A recording as one CSV table by depth: a line a metre of new hole, unknown an empty field.

``hole_depth_m`` is the lower end of the metre; ``drilled_m`` how much of it was seen being
drilled. Means are over the time on bottom. ``notes`` says why a field is empty, or what is not
the whole of it.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from pathlib import Path

import numpy as np

from adapters.export_csv import source_of
from adapters.whole_file import write_whole
from engine.config import WellConfig
from engine.interfaces import Recording
from engine.records.journal import iso
from engine.records.per_metre import TURNED, Metre, per_metre
from engine.units import unit
from engine.well.answer import Answer, Unknown

WHOLE = 0.98
"""Less of a metre than this is not the whole of it, to the centimetre of the depth. [m]"""
_COLUMNS: dict[str, tuple[str, str]] = {
    "rop_m_h": ("rate", "m_h"),
    "weight_on_bit_kN": ("weight", "kN"),
    "rotary_rpm": ("rotation", "rpm"),
    "turned_percent": ("turned", "percent"),
    "torque_kNm": ("torque", "kNm"),
    "off_bottom_torque_kNm": ("off_bottom_torque", "kNm"),
    "specific_energy_MPa": ("energy", "MPa"),
    "d_exponent": ("exponent", "none"),
    "corrected_d_exponent": ("corrected", "none"),
}
"""Column to the field of `Metre` and its unit."""
HEADER = (
    "hole_depth_m", "drilled_m", "on_bottom_s", "ended_utc", *_COLUMNS, "notes", "source",
)  # fmt: skip


def export_depth_csv(
    recording: Recording, config: WellConfig, path: Path | str, *, force: bool = False
) -> int:
    """Write every metre of new hole of `recording` to `path`; it appears whole or not at all.

    Returns
    -------
    int
        Metres written. [-]

    Raises
    ------
    InputError
        If the file exists and `force` is not given, or its folder does not.
    RecordingError
        If the recording cannot be read or the file not be written.
    """
    source = source_of(recording.meta())
    lines = 0

    def text() -> Iterator[str]:
        nonlocal lines
        yield _line(HEADER)
        for metre in per_metre(recording, config):
            yield _line(_fields(metre, source))
            lines += 1

    write_whole(Path(path), text(), force=force)
    return lines


def _line(fields: tuple[str, ...]) -> str:
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerow(fields)
    return out.getvalue()


def _fields(metre: Metre, source: str) -> tuple[str, ...]:
    values = {name: getattr(metre, field) for name, (field, _) in _COLUMNS.items()}
    words = (_word(values[name], unit_id) for name, (_, unit_id) in _COLUMNS.items())
    return (
        str(metre.depth), _number(metre.drilled), _number(metre.time), iso(metre.ended),
        *words, "; ".join(_notes(metre, values)), source,
    )  # fmt: skip


def _word(value: Answer, unit_id: str) -> str:
    return "" if isinstance(value, Unknown) else _number(unit(unit_id).from_si(value))


def _number(value: float) -> str:
    text = np.format_float_positional(value, precision=4, trim="-")
    return "0" if text == "-0" else text


def _notes(metre: Metre, values: dict[str, Answer]) -> Iterator[str]:
    if metre.drilled < WHOLE:
        yield "not all of the metre was seen"
    turned = metre.turned
    if not isinstance(turned, Unknown) and turned < TURNED:
        yield f"slid for {1 - turned:.0%}: specific_energy_MPa lacks the work of a motor"
    for name, value in values.items():
        if isinstance(value, Unknown):
            yield f"{name}: {value.reason}"
