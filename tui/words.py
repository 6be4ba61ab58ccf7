"""What things are called on the screen; each state has a word and a shape of its own."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from engine.block import Quality

RIG_STATES: dict[str, str] = {
    "unknown": "STATE UNKNOWN",
    "drilling_rotary": "DRILLING, ROTARY",
    "drilling_slide": "DRILLING, SLIDE",
    "reaming_up": "REAMING UP",
    "reaming_down": "REAMING DOWN",
    "washing": "WASHING",
    "circulating": "CIRCULATING",
    "rotating_off_bottom": "ROTATING OFF BOTTOM",
    "in_slips": "IN SLIPS",
    "tripping_in": "TRIPPING IN",
    "tripping_out": "TRIPPING OUT",
    "static": "STATIC",
}
"""Rig state id to its words."""

ALARM_STATES: dict[str, str] = {
    "A": "normal",
    "B": "NEW",
    "C": "ACKED",
    "D": "RETURNED",
    "E": "LATCHED NEW",
    "F": "LATCHED",
    "G": "shelved",
    "H": "suppressed",
    "I": "out of service",
}
"""State letter of the nine-state model (after ISA-18.2) to its word."""

_GONE = (
    (Quality.LINK_DOWN, "link down"),
    (Quality.STALE, "stale"),
    (Quality.REJECTED, "rejected"),
    (Quality.MISSING, "not sent"),
    (Quality.NOT_APPLICABLE, "not now"),
    (Quality.NO_REFERENCE, "no reference"),
    (Quality.NO_DATA, "no data"),
)
_REFERENCE = {
    "weight_on_bit": "no tare",
    "tare": "no tare",
    "pit_gain": "no zero",
    "bit_depth": "no depth",
    "hole_depth": "no depth",
    "rop": "not yet",
}
_NOT_NOW = {"weight_on_bit": "off bottom", "rop": "off bottom"}
EXPECTED = frozenset({"off bottom", "in slips", "not now", "not yet"})
"""Reasons that are part of normal work and call for nobody's attention."""
_OLD = {"weight_on_bit": "old tare", "tare": "old tare"}
_DOUBT = (
    (Quality.OUT_OF_RANGE, "R", "range"),
    (Quality.FROZEN, "F", "frozen"),
    (Quality.CONFLICT, "C", "disputed"),
    (Quality.OLD_REFERENCE, "O", "unsure"),
    (Quality.PARTIAL, "P", "part"),
)


def why_gone(channel: str, quality: int) -> str:
    """Say in a word or two why a channel has no value."""
    for bit, word in _GONE:
        if quality & bit:
            if bit is Quality.NO_REFERENCE:
                return _REFERENCE.get(channel, word)
            if bit is Quality.NOT_APPLICABLE:
                return _NOT_NOW.get(channel, word)
            return word
    return "no data"


def gone_role(reason: str) -> str:
    """Return the role of the colour in which the reason for a missing value is written."""
    return "label" if reason in EXPECTED else "changed"


def doubt(quality: int, channel: str = "") -> tuple[str, str]:
    """Return letter and word of the worst doubt about a shown value; two blanks if none."""
    for bit, letter, word in _DOUBT:
        if quality & bit:
            if bit is Quality.OLD_REFERENCE:
                return letter, _OLD.get(channel, word)
            return letter, word
    return "", ""


def worth_telling(fields: Mapping[str, Any]) -> bool:
    """Tell whether a journal line belongs in the log on the screen.

    That an alarm is armed or not follows from the rig state; it would push out what matters.
    """
    if fields.get("kind") == "command":
        # What an acknowledgement did is told alarm by alarm.
        return (fields.get("id"), fields.get("event")) != ("acknowledge", "given")
    if fields.get("kind") != "alarm":
        return True
    arming = fields.get("event") in ("suppress", "unsuppress")
    return fields.get("after") != "H" and not (arming and fields.get("after") == "A")
