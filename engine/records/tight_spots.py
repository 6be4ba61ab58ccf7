"""The log of tight spots: where the hole held the string, how much, how often, up and down.

It is a fold of the journal: what `engine.detect.overpull` called, with the largest load it told
when each spot had been passed.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal

from engine.config import WellConfig
from engine.detect.kinds import Severity
from engine.interfaces import JournalLine
from engine.records.connection_text import clock_time, head_of
from engine.records.journal import iso, read
from engine.records.words import amount
from engine.units import UNITS

Way = Literal["out", "in"]
WAYS: dict[str, Way] = {"overpull": "out", "take_weight": "in"}
"""Kind of call to the way the string went."""
NEAR = 5.0
"""Spots passed within this of each other are one place: what holds is some metres long, and is
felt by bit, stabilisers and collars alike. [m] common practice, no source"""
_GRAVITY = [severity.id for severity in Severity]


@dataclass(frozen=True, slots=True)
class TightSpot:
    """One time that a spot held the string."""

    way: Way
    at: float
    """When it was called. [s since 1970-01-01 UTC]"""
    ended: float | None
    """None: it holds."""
    bit_depth: float
    """Where the load was largest; the spot may be at any part of the string above the bit. [m]"""
    size: float
    """Largest load beyond the usual one, pulled or taken. [N]"""
    severity: str
    """Gravest: ``advice``, ``warning``, ``critical``."""
    turning: bool


@dataclass(frozen=True, slots=True)
class Place:
    """Spots at one depth."""

    top: float
    bottom: float
    """Shallowest and deepest bit depth. [m]"""
    spots: tuple[TightSpot, ...]
    """In order of time."""

    def largest(self, way: Way) -> float | None:
        """Return the largest load of one way; None if it was not tight that way. [N]"""
        return max((s.size for s in self.spots if s.way == way), default=None)

    def count(self, way: Way) -> int:
        """Return how often it was tight this way."""
        return sum(s.way == way for s in self.spots)


def tight_spots(lines: Iterable[JournalLine]) -> tuple[TightSpot, ...]:
    """Return every tight spot of a journal, in order of time.

    A call without a depth, from a journal that is damaged, is left out.
    """
    found: list[TightSpot] = []
    open_: dict[str, int] = {}
    for line in lines:
        if '"event"' not in line.text:
            continue
        fields = read(line)
        kind = fields["id"]
        if fields["kind"] != "event" or kind not in WAYS:
            continue
        over = fields["event"] == "end"
        place = open_.pop(kind, None) if over else open_.get(kind)
        if place is None:
            if not over and (one := _spot(fields, line.at)) is not None:
                open_[kind] = len(found)
                found.append(one)
            continue
        now = _spot(fields, found[place].at)
        if now is not None:
            grave = max(found[place].severity, now.severity, key=_GRAVITY.index)
            found[place] = replace(now, severity=grave)
        if over:
            found[place] = replace(found[place], ended=line.at)
    return tuple(found)


def _spot(fields: Mapping[str, Any], at: float) -> TightSpot | None:
    evidence = fields.get("evidence") or {}
    depth, size = evidence.get("peak_bit_depth_m"), evidence.get("peak_n")
    if depth is None or size is None:
        return None
    return TightSpot(
        WAYS[fields["id"]], at, None, depth, size, fields["severity"],
        bool(evidence.get("turning")),
    )  # fmt: skip


def places(spots: Sequence[TightSpot]) -> tuple[Place, ...]:
    """Return `spots` gathered by depth, from the top: neighbours within `NEAR` are one place."""
    groups: list[list[TightSpot]] = []
    for spot in sorted(spots, key=lambda s: s.bit_depth):
        if groups and spot.bit_depth - groups[-1][-1].bit_depth <= NEAR:
            groups[-1].append(spot)
        else:
            groups.append([spot])
    return tuple(
        Place(g[0].bit_depth, g[-1].bit_depth, tuple(sorted(g, key=lambda s: s.at))) for g in groups
    )


def tight_spots_text(spots: Sequence[TightSpot], config: WellConfig) -> str:
    """Return the log as a page: a line a place from the top, then every time it held."""
    units = config.display_units()
    length, force = UNITS[units["length"]].symbol, UNITS[units["force"]].symbol
    page = [head_of("TIGHT SPOTS", config)]
    if not spots:
        return "\n".join([*page, "none was called"]) + "\n"
    page += [
        f"times are UTC, depths of the bit in {length}, loads beyond the usual ones in {force}",
        "",
        f"{'DEPTH':>17}{'OUT':>5}{'PULLED':>9}{'IN':>5}{'TOOK':>9}  LAST",
    ]
    for place in places(spots):
        row = f"{_depth(place.top, units):>8} -{_depth(place.bottom, units):>7}"
        way: Way
        for way in ("out", "in"):
            row += f"{place.count(way) or '-':>5}{_load(place.largest(way), units):>9}"
        page.append(f"{row}  {clock_time(place.spots[-1].at)}")
    page += ["", f"{'TIME':20}{'WAY':5}{'BIT':>8}{'LOAD':>9}{'FOR S':>7}  HOW GRAVE"]
    for spot in spots:
        lasted = "holds" if spot.ended is None else f"{spot.ended - spot.at:.0f}"
        turning = ", turning" if spot.turning else ""
        page.append(
            f"{clock_time(spot.at):20}{spot.way:5}{_depth(spot.bit_depth, units):>8}"
            f"{_load(spot.size, units):>9}{lasted:>7}  {spot.severity}{turning}"
        )
    return "\n".join(page) + "\n"


def _depth(metres: float, units: Mapping[str, str]) -> str:
    return f"{UNITS[units['length']].from_si(metres):.1f}"


def _load(newton: float | None, units: Mapping[str, str]) -> str:
    return "-" if newton is None else amount(newton, "N", units).split()[0]


def as_json(spots: Sequence[TightSpot], config: WellConfig, recording: str) -> dict[str, Any]:
    """Return the log as JSON values: times ISO 8601 UTC, SI with the unit in the key."""
    return {
        "recording": recording,
        "well": config.well,
        "synthetic": config.synthetic,
        "spots": [_as_json(spot) for spot in spots],
        "places": [
            {
                "top_m": round(p.top, 3),
                "bottom_m": round(p.bottom, 3),
                "out": p.count("out"),
                "in": p.count("in"),
                "largest_out_n": p.largest("out"),
                "largest_in_n": p.largest("in"),
            }
            for p in places(spots)
        ],
    }


def _as_json(spot: TightSpot) -> dict[str, Any]:
    return {
        "way": spot.way,
        "at": iso(spot.at),
        "ended": None if spot.ended is None else iso(spot.ended),
        "bit_depth_m": round(spot.bit_depth, 3),
        "size_n": spot.size,
        "severity": spot.severity,
        "turning": spot.turning,
    }
