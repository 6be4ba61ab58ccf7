"""Tables of the well file on tours, drilling line and tally; import from `engine.config`."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import Annotated

from pydantic import Field, model_validator

from engine.config_base import Length, Model, NotNegative, Of, Positive, TableError, Text
from engine.units import HOUR
from engine.well.tally import LONGEST_JOINT

DAY_H = 24.0


class Tours(Model):
    """When crews change; a tour ends when the next one starts, or after `length_h`."""

    starts: Annotated[tuple[Text, ...], Field(min_length=1)] = ("06:00", "18:00")
    """Clock times on `time_zone`, in order. common practice: two tours of 12 h"""
    length_h: Annotated[Positive, Field(le=DAY_H)] | None = None
    """None: until the next start. [h]"""
    time_zone: Text | None = None
    """IANA name; None: that of the first feed, UTC without a feed."""
    target: Annotated[Positive, Of("time")] | None = None
    """Of one connection, weight to weight; None: none is set. [s]"""

    @model_validator(mode="after")
    def _clock(self) -> Tours:
        if problems := [("starts", text) for text in self._wrong()]:
            raise TableError(problems)
        return self

    def _wrong(self) -> Iterator[str]:
        bad = [text for text in self.starts if minutes_of(text) is None]
        if bad:
            yield f"{bad[0]!r} is no clock time; write 06:00"
            return
        for a, b in pairwise(self.starts):
            if (minutes_of(b) or 0) <= (minutes_of(a) or 0):
                yield f"{b} does not come after {a}; list them in the order of the day"

    @property
    def length(self) -> float:
        """Longest time that a tour lasts. [s]"""
        return (DAY_H if self.length_h is None else self.length_h) * HOUR


def minutes_of(clock: str) -> int | None:
    """Return the minutes since midnight of ``HH:MM``, None if it is none. [-]"""
    hours, colon, minutes = clock.partition(":")
    if not (colon and len(hours) == len(minutes) == 2 and (hours + minutes).isdecimal()):
        return None
    at = int(hours) * 60 + int(minutes)
    return at if int(minutes) < 60 and at < DAY_H * 60 else None


class Line(Model):
    """The drilling line's programme: numbers of the rope maker or the rig itself."""

    goal: Annotated[Positive, Of("work")]
    """Work between two cuts. [J]"""
    done: Annotated[NotNegative, Of("work")] | None = None
    """Since the last cut when the watch begins; None: not known. [J]"""
    slip: Length | None = None
    """Length slipped at a time. [m]"""
    cut: Length | None = None
    """Length cut off at a time. [m]"""
    drum: Length | None = None
    """Working diameter of the drum where the line is cut. [m]"""


class TallyStand(Model):
    """One stand of the tally, in running order, the first one above the bottom-hole assembly."""

    joints: Annotated[tuple[Positive, ...], Of("length"), Field(min_length=1)]
    """Length of each, from the bottom up. [m]"""

    @model_validator(mode="after")
    def _possible(self) -> TallyStand:
        for i, joint in enumerate(self.joints, 1):
            if joint > LONGEST_JOINT:
                text = f"joint {i} is {joint:g} m long; a joint has up to {LONGEST_JOINT:g} m"
                raise TableError([("joints", text)])
        return self

    @property
    def length(self) -> float:
        """[m]."""
        return sum(self.joints)
