"""One number for all thresholds, so that a report says which ones it was made with."""

from __future__ import annotations

import hashlib
import json

from engine.detect.settings import Detect


def settings_hash(settings: Detect) -> str:
    """Return the SHA-256 of the table ``[detect]`` as canonical JSON: SI, keys in order, no blanks.

    Any other value of any threshold gives another one, and so does a new threshold.
    """
    plain = json.dumps(
        settings.model_dump(mode="json"), sort_keys=True, separators=(",", ":"), allow_nan=False
    )
    return hashlib.sha256(plain.encode()).hexdigest()
