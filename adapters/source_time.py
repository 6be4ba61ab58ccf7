"""The sender's own clock: its texts, its zone, and what that is in UTC. Nothing is read here."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta, timezone, tzinfo
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError, available_timezones

from engine.config import TimeColumn
from engine.errors import InputError
from engine.numbers import parse_number

_EPOCH = datetime(1970, 1, 1)  # noqa: DTZ001 - counted in the sender's or in UTC, never mixed
_EPOCH_UTC = datetime(1970, 1, 1, tzinfo=UTC)
LATEST = 4102444800.0
"""2100-01-01 UTC: unix seconds beyond it are milliseconds or no time. [s]"""

Moment = datetime | float
"""A local time without zone, or an instant in seconds since 1970-01-01 UTC."""


def find_zone(name: str) -> tzinfo:
    """Return the IANA zone called `name`.

    Raises
    ------
    InputError
        If it is unknown, or this machine has no zone database (Windows without ``tzdata``).
    """
    if name.upper() in ("UTC", "Z"):
        return UTC
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        pass
    if not available_timezones():
        raise InputError(
            f"time_zone {name!r}: this machine has no time zone database; "
            "install it with: pip install tzdata (UTC works without it)"
        )
    raise InputError(f"time_zone {name!r}: no such zone; write an IANA name, such as Asia/Tokyo")


def moment_reader(
    time: TimeColumn, clock: SenderClock, decimal: str = "."
) -> Callable[[str], Moment | None]:
    """Return the function that reads a time text; it gives None for what is no time."""
    layout = time.layout
    if layout == "iso8601":
        return iso_moment
    if layout == "unix":
        return lambda text: _unix(text, decimal)
    if layout == "seconds":
        start = iso_moment(time.start)
        base = None if start is None else clock.utc(start)
        return lambda text: _since(text, decimal, base)
    return lambda text: _strptime(text, layout)


def iso_moment(text: str) -> Moment | None:
    """Read ISO 8601 with day and time; None if it is not that."""
    if ":" not in text and "T" not in text:
        return None  # a bare date is no moment
    try:
        return _split(datetime.fromisoformat(text)) if text.isascii() else None
    except ValueError:
        return None


def _strptime(text: str, layout: str) -> Moment | None:
    try:
        return _split(datetime.strptime(text, layout)) if text.isascii() else None  # noqa: DTZ007
    except ValueError:
        return None


def _unix(text: str, decimal: str) -> Moment | None:
    number = parse_number(text, decimal)
    return number if number is not None and 0 <= number < LATEST else None


def _since(text: str, decimal: str, base: float | None) -> Moment | None:
    # Seconds that have passed are added in UTC: no change of the clocks touches them.
    number = parse_number(text, decimal)
    return None if number is None or base is None else base + number


def _split(moment: datetime) -> Moment:
    """A time with a zone is an instant already."""
    return moment if moment.tzinfo is None else (moment - _EPOCH_UTC).total_seconds()


@dataclass(slots=True)
class SenderClock:
    """Local times to UTC, in the order they were sent.

    The hour that comes twice in autumn: the second pass begins where the clock steps back by
    more than half of it; before that, the pass nearer to the time before counts. A time of the
    hour that is left out in spring is taken as if the clock had not been advanced (PEP 495).
    Both are counted.
    """

    zone: tzinfo
    ambiguous: int = 0
    """Times that came twice. [-]"""
    nonexistent: int = 0
    """Times that were left out. [-]"""
    _previous: float | None = field(default=None)
    _doubled: tuple[datetime, bool] | None = field(default=None)
    """The time before, if it was of the doubled hour, and whether of its second pass."""

    def utc(self, moment: Moment) -> float:
        """Return `moment` in seconds since 1970-01-01 UTC. [s]"""
        if isinstance(moment, float):
            self._previous = moment
            return moment
        at = self._utc(moment)
        self._previous = at
        return at

    def local(self, moment: Moment) -> str:
        """Return `moment` as ISO 8601 text on the sender's clock, without zone."""
        if isinstance(moment, float):
            moment = (_EPOCH_UTC + timedelta(seconds=moment)).astimezone(self.zone)
        return moment.replace(tzinfo=None).isoformat()

    def _utc(self, moment: datetime) -> float:
        at = (moment - _EPOCH).total_seconds()
        if isinstance(self.zone, timezone):
            return at - _seconds(moment.replace(tzinfo=self.zone).utcoffset())
        first = _seconds(moment.replace(tzinfo=self.zone, fold=0).utcoffset())
        second = _seconds(moment.replace(tzinfo=self.zone, fold=1).utcoffset())
        if first <= second:
            self._doubled = None
        if first == second:
            return at - first
        if first < second:
            self.nonexistent += 1
            return at - first
        self.ambiguous += 1
        second_pass = self._second_pass(moment, at - first, first - second)
        self._doubled = (moment, second_pass)
        return at - second if second_pass else at - first

    def _second_pass(self, moment: datetime, at: float, overlap: float) -> bool:
        """Tell whether `moment`, at `at` [s] in its first pass, is of the second one."""
        if self._doubled is not None:
            before, second = self._doubled
            return second or (before - moment).total_seconds() > overlap / 2
        return self._previous is not None and self._previous - at > overlap / 2


def _seconds(offset: timedelta | None) -> float:
    return offset.total_seconds() if offset is not None else 0.0
