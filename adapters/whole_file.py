"""A text file that appears whole or not at all."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterable
from contextlib import suppress
from pathlib import Path

from engine.errors import InputError, RecordingError


def write_whole(path: Path, parts: Iterable[str], *, force: bool = False) -> None:
    """Write `parts` to `path` by way of a file beside it.

    Raises
    ------
    InputError
        If the file exists and `force` is not given, or its folder does not.
    RecordingError
        If it cannot be written; what `parts` raises goes on unchanged. Nothing is left behind.
    """
    if path.exists() and not force:
        raise InputError(f"{path}: exists already; choose another name, or force it")
    if not path.parent.is_dir():
        raise InputError(f"{path}: there is no folder {path.parent}")
    try:
        handle, name = tempfile.mkstemp(".part", path.name + ".", path.parent)
        try:
            with open(handle, "w", encoding="utf-8", newline="\n") as out:
                out.writelines(parts)
                out.flush()
                os.fsync(out.fileno())
            Path(name).chmod(0o644)
            os.replace(name, path)
        except BaseException:
            with suppress(OSError):
                os.unlink(name)
            raise
    except OSError as error:
        raise RecordingError(f"{path}: cannot be written: {error}") from None
