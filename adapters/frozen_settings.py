"""The frozen hash of the detectors' thresholds, and the hash of their source."""

from __future__ import annotations

import hashlib
import tomllib
from pathlib import Path

import engine.detect
from engine.errors import RecordingError

FROZEN = Path(__file__).with_name("frozen_detect.toml")
"""Renewed by ``kellydown evaluate --freeze`` and by nothing else."""
_TEXT = """\
# The thresholds of the detectors as they were frozen: SHA-256 of the defaults of [detect] as
# canonical JSON. Reports made with others say NOT FROZEN. Renew it on purpose:
#   kellydown evaluate --freeze
detect_sha256 = "{}"
"""


def frozen_hash(path: Path = FROZEN) -> str:
    """Return the frozen hash; empty if there is none."""
    if not path.is_file():
        return ""
    try:
        found = tomllib.loads(path.read_text(encoding="utf-8")).get("detect_sha256")
    except ValueError as error:
        raise RecordingError(f"{path}: damaged: {error}; renew it by evaluate --freeze") from None
    if not isinstance(found, str):
        raise RecordingError(f"{path}: no detect_sha256 in it; renew it by evaluate --freeze")
    return found


def freeze(value: str, path: Path = FROZEN) -> None:
    """Write the frozen hash."""
    path.write_text(_TEXT.format(value), encoding="utf-8")


def code_hash() -> str:
    """Return the SHA-256 of the source of all detectors, whose constants are no thresholds."""
    whole = hashlib.sha256()
    folder = Path(engine.detect.__file__).parent
    for path in sorted(folder.glob("*.py")):
        whole.update(path.name.encode() + b"\0" + path.read_bytes() + b"\0")
    return whole.hexdigest()
