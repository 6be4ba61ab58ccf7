"""SI values to text in the well's units, at a fixed width; unknown is dashes, never a number."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime, tzinfo
from math import ceil, isfinite

from engine.channels import CHANNELS
from engine.detect.kinds import CALL_CHANNELS, Severity
from engine.units import DISPLAY, UNITS, Unit

DAY_S = 86400.0


@dataclass(frozen=True, slots=True)
class Formatter:
    """How this well's people read numbers and times."""

    units: Mapping[str, str] = field(default_factory=lambda: DISPLAY["metric"])
    """Quantity to display unit id."""
    zone: tzinfo = UTC
    """Zone of the clock on the wall of the doghouse."""

    def unit(self, channel: str) -> Unit:
        """Return the unit `channel` is shown in; a share in percent, hoist speed per second."""
        known = CHANNELS.get(channel)
        quantity = known.quantity if known else "none"
        if channel == "block_speed":
            return UNITS["ft_min" if self.units.get("length") == "ft" else "m_s"]
        return UNITS[self.units.get(quantity, "none")]

    def number(self, channel: str, value: float | None, width: int) -> str:
        """Return `value` [SI] right-justified in `width` characters.

        Too wide a number loses decimals, then goes to exponent form of three figures; if even
        that is too wide it is returned whole: a wide line is better than a clipped number.
        """
        if value is None or not isfinite(value):
            return dashes(width)
        unit = self.unit(channel)
        return fit(unit.from_si(value), unit.decimals, width)

    def text(self, channel: str, value: float | None) -> str:
        """Return `value` [SI] with all its decimals, as wide as it is; of a call its severity.

        The limit of a call is half a step below the severity from which it trips.
        """
        if channel in CALL_CHANNELS and value is not None and isfinite(value):
            return Severity(min(ceil(value), max(Severity))).id
        return self.number(channel, value, 16).strip()

    def clock(self, at: float | None) -> str:
        """Return the time of day, such as 06:12:33."""
        return "--:--:--" if at is None else f"{self._local(at):%H:%M:%S}"

    def minute(self, at: float) -> str:
        """Return hours and minutes, such as 06:12."""
        return f"{self._local(at):%H:%M}"

    def date(self, at: float) -> str:
        """Return the day, such as 2026-03-14."""
        return f"{self._local(at):%Y-%m-%d}"

    def zone_name(self, at: float) -> str:
        """Return the short name of the zone, such as UTC."""
        return self._local(at).tzname() or ""

    def _local(self, at: float) -> datetime:
        return datetime.fromtimestamp(at, self.zone)


def fit(number: float, decimals: int, width: int) -> str:
    """Return `number` with at most `decimals` decimals in `width` characters, never clipped."""
    for places in range(decimals, -1, -1):
        text = f"{number:.{places}f}"
        if text.startswith("-") and not text.strip("-0."):
            text = text[1:]  # -0.0 reads as a fault
        if len(text) <= width:
            return text.rjust(width)
    short = f"{number:.2e}".replace("e+0", "e").replace("e+", "e")
    return short.rjust(width) if len(short) <= width else f"{number:.0f}"


def dashes(width: int) -> str:
    """Return what stands in place of an unknown number."""
    return ("-" * min(4, width)).rjust(width)


def age(seconds: float) -> str:
    """Return an age in at most four characters: 3s, 59s, 12m, 5h, 12d, --."""
    if not isfinite(seconds):
        return "--"
    for size, letter in ((1.0, "s"), (60.0, "m"), (3600.0, "h")):
        nominal = {"s": 100.0, "m": 6000.0, "h": 100 * 3600.0}[letter]
        if seconds < nominal:
            return f"{int(seconds / size)}{letter}"
    days = int(seconds / DAY_S)
    return f"{days}d" if days < 1000 else "old"


def duration(seconds: float | None) -> str:
    """Return a running time: 4:05, 1:12:30, or dashes."""
    if seconds is None or not isfinite(seconds):
        return "-:--"
    whole = max(0, int(seconds))
    hours, rest = divmod(whole, 3600)
    if hours:
        return f"{hours}:{rest // 60:02d}:{rest % 60:02d}"
    return f"{rest // 60}:{rest % 60:02d}"
