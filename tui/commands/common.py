"""What several commands need: recordings by name, times as typed, who is sitting here."""

from __future__ import annotations

import getpass
import json
import platform
from collections.abc import Mapping
from datetime import UTC, datetime
from importlib import metadata
from pathlib import Path

from adapters.config_file import example_text, load_well, parse_well
from adapters.sqlite_reader import SqliteRecording
from engine.config import WellConfig, config_hash
from engine.engine import sources_of
from engine.errors import InputError, RecordingError
from engine.records.journal import iso


def open_recording(path: str) -> SqliteRecording:
    """Open a recording to read.

    Raises
    ------
    InputError
        If there is no such file.
    RecordingError
        If it is not a recording, or its head lacks what every command needs.
    """
    if not Path(path).is_file():
        raise InputError(f"{path}: no such recording")
    recording = SqliteRecording(path)
    try:
        if lacking := [key for key in _HEAD if key not in recording.meta()]:
            raise RecordingError(f"{path}: damaged: its head lacks {', '.join(lacking)}")
    except BaseException:
        recording.close()
        raise
    return recording


_HEAD = ("well", "well_file", "program", "created", "source", "synthetic", "config_hash")
"""What `meta_of` writes and a reader cannot do without."""


def new_file(name: str) -> Path:
    """Return the path of a file that is still to be made.

    Raises
    ------
    InputError
        If it exists, or there is no folder to make it in.
    """
    path = Path(name)
    if path.exists():
        raise InputError(f"{path}: exists already; nothing was written")
    if not path.parent.is_dir():
        raise InputError(f"{path}: there is no folder {path.parent}; nothing was written")
    return path


def well_of(path: str | None) -> tuple[WellConfig, str]:
    """Return the well file at `path` and its text; the built-in example if there is no path."""
    if path:
        return load_well(path)
    text = example_text()
    return parse_well(text, "built-in well file"), text


def config_of(meta: Mapping[str, str]) -> WellConfig:
    """Return the well file a recording was made with; synthetic if the recording is."""
    config = parse_well(meta["well_file"], "the recording's well file")
    synthetic = config.synthetic or meta.get("synthetic") == "1"
    return config.model_copy(update={"synthetic": synthetic})


def meta_of(config: WellConfig, text: str, source: str, created: float) -> dict[str, str]:
    """Return the head of a new recording.

    Parameters
    ----------
    source : {"live", "import", "synthetic"}
    created : float
        [s since 1970-01-01 UTC]
    """
    synthetic = config.synthetic or source == "synthetic"
    mapped = {source.channel for source in sources_of(config).values()}
    # Of the standard items a sender sends what it has; only what a person mapped is expected.
    expected = {item.channel for feed in config.feeds for item in feed.map.values()}
    return {
        "well": config.well,
        "well_file": text,
        "program": metadata.version("kellydown"),
        "created": iso(created),
        "source": source,
        "synthetic": "1" if synthetic else "0",
        "config_hash": config_hash(text),
        "channels_mapped": json.dumps(sorted(mapped)),
        "channels_expected": json.dumps(sorted(expected)),
    }


def parse_time(text: str | None, day: float | None = None) -> float | None:
    """Return a time as typed, in seconds since 1970-01-01 UTC; None stays None.

    Parameters
    ----------
    text : str or None
        ISO 8601 (without a zone: UTC), or HH:MM[:SS] on the day of `day`.
    day : float, optional
        Any moment of the day meant by a bare clock time, usually the recording's start; a
        clock time before it means the next day. [s since 1970-01-01 UTC]

    Raises
    ------
    InputError
        If `text` is neither.
    """
    if text is None:
        return None
    try:
        if day is not None and len(text) <= len("HH:MM:SS") and ":" in text:
            base = datetime.fromtimestamp(day, UTC)
            clock = datetime.strptime(text, "%H:%M:%S" if text.count(":") == 2 else "%H:%M")  # noqa: DTZ007
            found = base.replace(
                hour=clock.hour, minute=clock.minute, second=clock.second, microsecond=0
            ).timestamp()
            return found if found >= day - 60.0 else found + 86400.0
        moment = datetime.fromisoformat(text)
    except ValueError:
        raise InputError(
            f"time {text!r}: write 2026-03-14T06:00:00Z, or 06:00 on the recording's first day"
        ) from None
    return (moment if moment.tzinfo else moment.replace(tzinfo=UTC)).timestamp()


def person(who: str) -> str:
    """Return the name written beside commands: as given, else the computer's user."""
    if who:
        return who
    try:
        return getpass.getuser()
    except (OSError, KeyError):
        return "unknown"


def station() -> str:
    """Return the name of this computer."""
    return platform.node() or "unknown"
