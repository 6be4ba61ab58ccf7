"""The page of the detectors: which cannot see and why, and what the others call."""

from __future__ import annotations

from engine.records.sight import WELL_CONTROL
from engine.snapshot import Snapshot
from tui.screens.page import Page
from tui.widgets.lines import Look


def named(kind: str) -> str:
    """Return a kind of call in words."""
    return kind.replace("_", " ")


def blind_order(kinds: set[str]) -> list[str]:
    """Return `kinds` with those of well control first, then by name."""
    return sorted(kinds, key=lambda kind: (kind not in WELL_CONTROL, kind))


def sight_page(snapshot: Snapshot, look: Look) -> Page:
    """Return the page: blind detectors with the reason of each, then the calls that stand."""
    blind, fmt = snapshot.blind, look.fmt
    lines = []
    for kind in blind_order(set(blind)):
        mark = "!" if kind in WELL_CONTROL else " "
        lines.append(f"{mark} {named(kind):26} {blind[kind]}")
    if any(kind in WELL_CONTROL for kind in blind):
        lines += [
            "",
            "! A well that flows, or a hole that empties, may go unseen: watch it by eye.",
        ]
    if not blind:
        lines.append("Every detector sees what it needs, or has nothing to watch now.")
    lines += ["", "Calls that stand"]
    for kind, call in sorted(snapshot.calls.items(), key=lambda item: item[1].since):
        unit = fmt.unit("pit_gain").symbol
        volume = "" if call.volume is None else f"  {fmt.text('pit_gain', call.volume)} {unit}"
        lines.append(f"  {named(kind):26} {call.severity} since {fmt.clock(call.since)}{volume}")
        lines += [f"      seen by {word}" for word in call.witnesses]
    if not snapshot.calls:
        lines.append("  none")
    lines += ["", "Rules, settings and blind minutes: kellydown detectors FILE"]
    title = f"DETECTORS, AS AT {fmt.clock(snapshot.now)}: {len(blind)} CANNOT SEE"
    return Page(title, lines, {}, text=look.glyphs.text)
