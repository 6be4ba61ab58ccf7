"""Where recordings live on each system, and what new ones are called."""

from __future__ import annotations

import os
import re
import sys
import unicodedata
from collections.abc import Mapping
from datetime import UTC, datetime
from pathlib import Path

from engine.errors import InputError

SUFFIX = ".kdrec"
VARIABLE = "KELLYDOWN_DATA"
"""Environment variable that names another folder."""


def data_folder(
    environ: Mapping[str, str] = os.environ,
    platform: str = sys.platform,
    home: Path | None = None,
) -> Path:
    """Return the folder of this user's recordings; it may not exist yet.

    References
    ----------
    .. [1] XDG Base Directory Specification 0.8: ``$XDG_DATA_HOME``, if unset or not an absolute
       path ``~/.local/share``.
    .. [2] Apple, File System Programming Guide: ``~/Library/Application Support``.
    .. [3] Microsoft, Known Folders: ``FOLDERID_LocalAppData`` is ``%LOCALAPPDATA%``.
    """
    if environ.get(VARIABLE):
        return Path(environ[VARIABLE]).expanduser()
    home = home or Path.home()
    if platform == "win32":
        local = environ.get("LOCALAPPDATA")
        base = Path(local) if local else home / "AppData" / "Local"
    elif platform == "darwin":
        base = home / "Library" / "Application Support"
    else:
        xdg = Path(environ.get("XDG_DATA_HOME", ""))
        base = xdg if xdg.is_absolute() else home / ".local" / "share"
    return base / "kellydown"


def recording_name(well: str, began: float) -> str:
    """Return a file name as ``emberholt-4_20260314T060000Z.kdrec``; `began` is in s, UTC."""
    plain = unicodedata.normalize("NFKD", well).encode("ascii", "ignore").decode().lower()
    slug = re.sub(r"[^a-z0-9]+", "-", plain).strip("-") or "well"
    return f"{slug[:60]}_{datetime.fromtimestamp(began, UTC):%Y%m%dT%H%M%SZ}{SUFFIX}"


def new_recording(well: str, began: float, folder: Path | None = None) -> Path:
    """Return a path that is not taken, in a folder that exists.

    Raises
    ------
    InputError
        If the folder cannot be made.
    """
    folder = folder or data_folder()
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise InputError(
            f"{folder}: the folder for recordings cannot be made ({error});"
            f" set {VARIABLE} to one that can be written"
        ) from None
    first = path = folder / recording_name(well, began)
    number = 1
    while path.exists():
        number += 1
        path = first.with_stem(f"{first.stem}-{number}")
    return path


def newest_recording(folder: Path | None = None) -> Path | None:
    """Return the recording in `folder` that was written last, None if there is none."""
    folder = folder or data_folder()
    found = sorted(folder.glob(f"*{SUFFIX}")) if folder.is_dir() else []
    return max(found, key=_written, default=None)


def _written(path: Path) -> float:
    """When `path` or its write-ahead log, which is newer while a watch runs, was written. [s]"""
    log = path.with_name(path.name + "-wal")
    return max(p.stat().st_mtime for p in (path, log) if p.exists())
