"""Pressures of the well file: gauges that should agree, annuli, ranges; from `engine.config`."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any

from pydantic import AfterValidator, Field, model_validator

from engine.channels import CHANNELS, RAW, no_channel
from engine.config_alarm import known_state, take_limit
from engine.config_base import Flag, Model, Number, Of, Positive, TableError, Text, keys_of

Pressure = Annotated[Positive, Of("pressure")]


def _raw(name: str) -> str:
    if name not in CHANNELS:
        raise ValueError(no_channel(name))
    if name not in RAW:
        raise ValueError(f"{name!r} is worked out here; name a channel that a feed fills")
    return name


def _pressure(name: str) -> str:
    if CHANNELS[_raw(name)].quantity != "pressure":
        good = ", ".join(c for c in RAW if CHANNELS[c].quantity == "pressure")
        raise ValueError(f"{name!r} is no pressure; pressures are {good}")
    return name


Gauge = Annotated[Text, AfterValidator(_raw), AfterValidator(_pressure)]
State = Annotated[str, AfterValidator(known_state)]


class PressurePair(Model):
    """Two pressures that should agree whenever the fluid between their gauges is connected."""

    name: Text
    channels: tuple[Gauge, ...]
    """Two of them."""
    limit: Pressure
    """They may differ by so much. [Pa]"""
    seconds: Positive = 60.0
    """For so long before it is said. [s]"""
    offset: Annotated[Number, Of("pressure")] = Field(default=0.0)
    """First less second when both are right: gauges or fluids at different heights. [Pa]"""
    connected: tuple[State, ...] = ()
    """Rig states in which they are connected."""
    in_test: Flag = True
    """They are connected while a pressure test is declared."""

    @model_validator(mode="after")
    def _can_be_compared(self) -> PressurePair:
        problems = []
        if len(self.channels) != 2:
            problems.append(("channels", f"{len(self.channels)} given; a pair is two gauges"))
        elif self.channels[0] == self.channels[1]:
            problems.append(("channels", f"{self.channels[0]!r} twice; name two different gauges"))
        if not (self.connected or self.in_test):
            text = "never connected: name rig states here, or let in_test = true"
            problems.append(("connected", text))
        if problems:
            raise TableError(problems)
        return self


class Annulus(Model):
    """The pressure behind one string of casing."""

    name: Text
    channel: Gauge
    limit: Pressure | None = None
    """It must stay below this; None: only its rise is watched. [Pa]"""
    rise: Pressure | None = None
    """A rise that is called; None: that of ``[detect.annulus]``. [Pa]"""
    rise_s: Positive | None = None
    """Within so long; None: that of ``[detect.annulus]``. [s]"""


class Range(Model):
    """A gauge that measures less than `engine.channels` allows; what lies outside is kept."""

    channel: Annotated[Text, AfterValidator(_raw)]
    low: Number | None = None
    high: Number | None = None

    @model_validator(mode="before")
    @classmethod
    def _limits(cls, raw: Any) -> Any:
        if not isinstance(raw, Mapping):
            return raw
        out = dict(raw)
        channel = CHANNELS.get(str(out.get("channel")))
        for key in ("low", "high"):
            take_limit(out, key, channel.quantity if channel else "")
        return out

    @model_validator(mode="after")
    def _narrower(self) -> Range:
        channel = CHANNELS[self.channel]
        low = channel.low if self.low is None else self.low
        high = channel.high if self.high is None else self.high
        problems = []
        if self.low is None and self.high is None:
            good = f"{keys_of('low', channel.quantity)} or {keys_of('high', channel.quantity)}"
            problems.append(("channel", f"no end of the range is given; write {good}"))
        if low >= high:
            problems.append(("high", "must lie above the low end"))
        if low < channel.low:
            problems.append(("low", f"may only narrow the range, from {channel.low:g} in SI"))
        if high > channel.high:
            problems.append(("high", f"may only narrow the range, up to {channel.high:g} in SI"))
        if problems:
            raise TableError(problems)
        return self
