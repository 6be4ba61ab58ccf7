"""Where everything stands at each size; nothing moves when an alarm comes."""

from __future__ import annotations

from engine.snapshot import Snapshot

SMALLEST = (80, 24)
SIZES = (("-large", 180, 50), ("-medium", 120, 36))
"""Class, columns and rows from which it is used; below them -small."""

CSS = """
Monitor { layout: vertical; background: $background; overflow: hidden; }
Monitor #banner, Monitor #depth, Monitor #balance { height: 2; }
Monitor #feeds, Monitor #keys { height: 1; }
Monitor #top { height: 5; }
Monitor #alarms { width: 1fr; }
Monitor #big { height: 5; display: none; }
Monitor #middle { height: 1fr; }
Monitor #left { width: 44; }
Monitor #values { height: 1fr; }
Monitor #log { display: none; width: 80; margin-left: 2; }
Monitor #limits { display: none; height: 1fr; }
Monitor #place { height: auto; }
Monitor #chart { width: 1fr; }
Monitor #refusal { display: none; height: 1fr; content-align: center middle; }
Monitor.-medium #top { height: 6; }
Monitor.-large #top { height: 6; }
Monitor.-medium #big, Monitor.-large #big { display: block; margin-top: 1; }
Monitor.-medium #middle, Monitor.-large #middle { margin-top: 1; }
Monitor.-medium #place, Monitor.-large #place { margin-top: 1; }
Monitor.-large #place { layout: grid; grid-size: 2 1; grid-columns: 84 1fr; height: 2; }
Monitor.-large #left { width: 54; }
Monitor.-large #values { height: 2fr; }
Monitor.-large #log, Monitor.-large #limits { display: block; }
Monitor.-refused #all { display: none; }
Monitor.-refused #refusal { display: block; }
"""


def refusal(snapshot: Snapshot, width: int, height: int) -> str:
    """Return what a terminal shows that is too small: what is real, the sizes, the alarms."""
    new = sum(a.state in "BDE" for a in snapshot.alarms)
    unreal = "SYNTHETIC DATA\n" if snapshot.watch.synthetic else ""
    unreal += "REPLAY\n" if snapshot.watch.replay else ""
    return (
        f"{unreal}This terminal has {width} columns and {height} rows.\n"
        f"The screen needs {SMALLEST[0]} x {SMALLEST[1]}: enlarge the window.\n"
        f"{len(snapshot.alarms)} alarms, {new} not acknowledged."
    )
