"""The performance of a tour's alarms as a page: plain text, 80 columns."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from textwrap import wrap
from typing import Any

WIDTH = 80
_MET = {True: "met", False: "NOT MET", None: "too short to say"}


def performance_text(found: Mapping[str, Any]) -> str:
    """Return what `engine.alarms.performance.performance` found as a page."""
    page = [
        f"ALARM PERFORMANCE   {found['recording']}",
        f"from {_time(found['start'])} to {_time(found['end'])} UTC, {found['hours']:.2f} h, "
        f"{found['alarms']} alarm{'' if found['alarms'] == 1 else 's'}",
        "One driller answers them and drives the rig: a target is a ceiling, not a goal.",
        "",
        f"{'':35}{'found':>9}  {'target':>9}",
        *(_metric(one) for one in found["metrics"]),
        "",
        f"not acknowledged {found['unacknowledged']}, told louder {found['escalated']}, "
        f"horn silenced {found['silences']}, hasty acknowledgements "
        f"{found['hasty_acknowledgements']}",
    ]
    for title, items in (
        ("COMMONEST", (f"{one['id']}: {one['times']}" for one in found["top"])),
        ("CHATTERING", (f"{one['id']}: {one['times']}" for one in found["chattering"])),
        ("FLEETING", (f"{_time(one['at'])}  {one['id']}" for one in found["fleeting"])),
        ("STANDING OVER 24 H", (f"{_time(one['at'])}  {one['id']}" for one in found["stale"])),
        ("ALWAYS TOGETHER", (" and ".join(one["ids"]) for one in found["redundant"])),
        ("SHELVED", (_kept(one) for one in found["shelved"])),
        ("OUT OF SERVICE", (_kept(one) for one in found["out_of_service"])),
        ("LIMITS CHANGED", (_change(one) for one in found["limits_changed"])),
    ):
        page += ["", title, *_items(items)]
    return "\n".join(page) + "\n"


def _items(items: Iterator[str]) -> Iterator[str]:
    none = True
    for item in items:
        none = False
        yield from wrap(item, WIDTH, initial_indent="  ", subsequent_indent="      ",
                        break_long_words=False, break_on_hyphens=False)  # fmt: skip
    if none:
        yield "  none"


def _metric(one: Mapping[str, Any]) -> str:
    value = "unknown" if one["value"] is None else f"{one['value']:.4g}{one['unit'] and ' %'}"
    target = f"{one['relation']} {one['target']:g}{one['unit'] and ' %'}"
    most = "" if one["manageable"] is None else f", manageable {one['manageable']:g}"
    return f"{one['label']:35}{value:>9}  {target:>9}  {_MET[one['met']]}{most}"


def _kept(one: Mapping[str, Any]) -> str:
    until = _time(one["end"]) if one["end"] else "still"
    word = f", authorised by {one['authoriser']}" if one["authoriser"] else ""
    who = one["who"] or "someone"
    return (
        f"{_time(one['start'])} to {until}, {one['seconds']:.0f} s  {one['id']} by {who}{word}: "
        f"{one['reason']}"
    )


def _change(one: Mapping[str, Any]) -> str:
    return (
        f"{_time(one['at'])}  {one['id']} from {one['old_limit']:g} to {one['limit']:g} "
        f"{one['unit']} by {one['who']}: {one['reason']}"
    )


def _time(text: str) -> str:
    return f"{text[:10]} {text[11:19]}"
