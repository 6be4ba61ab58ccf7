"""The part of the well file that describes a source of data."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import datetime
from typing import Annotated, Literal

from pydantic import AfterValidator, Field, model_validator

from engine.channels import CHANNELS, RAW, no_channel
from engine.config_base import Count, Model, Number, Positive, TableError, Text
from engine.numbers import MISSING_WORDS
from engine.units import UNITS, units_of


def _fillable(channel_id: str) -> str:
    if channel_id not in CHANNELS:
        raise ValueError(no_channel(channel_id))
    if channel_id not in RAW:
        raise ValueError(f"{channel_id!r} is worked out here; a feed cannot fill it")
    return channel_id


def _unit(unit_id: str) -> str:
    if unit_id not in UNITS:
        raise ValueError(f"no unit {unit_id!r}; units are {', '.join(UNITS)}")
    return unit_id


class Item(Model):
    """One item of a feed and the channel it fills."""

    channel: Annotated[Text, AfterValidator(_fillable)]
    unit: Annotated[Text, AfterValidator(_unit)]
    scale: Number = 1.0
    """Multiplied before the unit is applied. [-]"""
    offset: Number = 0.0
    """Added after the scale, in the unit as sent."""
    low: Number | None = None
    """Below this, in the unit as sent, a number is rejected as implausible."""
    high: Number | None = None
    missing: tuple[Number, ...] = ()
    """Numbers that mean "no value" for this item, besides the feed's own."""

    @model_validator(mode="after")
    def _fits(self) -> Item:
        problems = list(_item_problems(self))
        if problems:
            raise TableError(problems)
        return self


def _item_problems(item: Item) -> Iterator[tuple[str, str]]:
    quantity, found = CHANNELS[item.channel].quantity, UNITS[item.unit]
    if found.quantity != quantity:
        good = ", ".join(u.id for u in units_of(quantity))
        yield "unit", f"{item.unit!r} is a {found.quantity}; {item.channel} takes {good}"
    if item.low is not None and item.high is not None and item.low >= item.high:
        yield "low", f"{item.low:g} is not below high, {item.high:g}"


class TimeColumn(Model):
    """How a delimited line says when it was measured."""

    columns: Annotated[tuple[Text, ...], Field(min_length=1)]
    """One column, or date and time; joined with one blank."""
    layout: Text = "iso8601"
    """``iso8601``, ``unix``, ``seconds`` (from ``start``) or a strptime text."""
    start: str = ""
    """Instant of second 0, ISO 8601; for files whose time counts from their start."""

    @model_validator(mode="after")
    def _known(self) -> TimeColumn:
        if problems := list(_time_problems(self)):
            raise TableError(problems)
        return self


def _time_problems(time: TimeColumn) -> Iterator[tuple[str, str]]:
    layout = time.layout
    if layout in ("iso8601", "unix", "seconds"):
        if layout != "iso8601" and len(time.columns) > 1:
            yield "columns", f"{layout} time stands in one column"
    elif not _says_when(layout):
        good = "use iso8601, unix, seconds or a layout such as '%d.%m.%Y %H:%M:%S'"
        yield "layout", f"{layout!r} does not say both day and time; {good}"
    if time.start:
        try:
            datetime.fromisoformat(time.start)
        except ValueError:
            yield "start", f"{time.start!r} is no ISO 8601 time such as 2026-03-14T06:00:00Z"


def _says_when(layout: str) -> bool:
    codes = set(re.findall(r"%([A-Za-z])", layout))
    day = codes >= {"c"} or (bool(codes & set("yYxD")) and bool(codes & set("djxD")))
    return day and bool(codes & set("HIcXT"))


class Feed(Model):
    """One source of data."""

    name: Text
    port: str = ""
    """Serial port or URL: COM3, /dev/ttyUSB0, socket://host:port, rfc2217://host:port."""
    baud: Annotated[Count, Field(ge=300, le=921600)] = 9600
    framing: Annotated[str, Field(pattern=r"^[5678][NEOMS](1|1\.5|2)$")] = "8N1"
    format: Literal["wits0", "delimited", "las"] = "wits0"
    units: Literal["metric", "fps"] = "metric"
    """Unit system of the standard WITS items."""
    interval_s: Positive = 1.0
    """Expected time between packets. [s]"""
    stale_after_s: Positive | None = None
    """Oldest age at which a value is still shown; default: 5 s or 3 intervals. [s]"""
    idle_s: Positive = 2.0
    """Silence after which an unfinished packet is closed. [s]"""
    decimal: Literal[".", ","] = "."
    sentinels: tuple[Number, ...] = (-9999.0, -9999.25, -999.25, -8888.0)
    """Numbers that mean "no value" in this feed."""
    missing_words: tuple[str, ...] = MISSING_WORDS
    """Words that mean "no value", in any case; so do an empty field and rows of - * ?."""
    map: dict[str, Item] = Field(default_factory=dict)
    """Item code or column name to channel; with wits0 it adds to the standard map."""
    ignore: tuple[str, ...] = ()
    """Items of the standard map not to be used."""
    delimiter: Text = ","
    """One character, ``tab`` or ``whitespace``."""
    quote: Annotated[str, Field(max_length=1)] = '"'
    """Character that may enclose a field or name; empty: none."""
    header: Literal["none", "once", "repeating"] = "once"
    comment: str = "#"
    """A line that begins with this is passed over; empty: no such lines."""
    blank: Literal["missing", "unchanged"] = "missing"
    """What an empty field says: there is no value, or the last one still holds."""
    time: TimeColumn | None = None
    time_zone: Text = "UTC"
    """IANA name of the zone the sender's clock shows."""

    @model_validator(mode="after")
    def _delimiter(self) -> Feed:
        if len(self.delimiter) > 1 and self.delimiter not in ("tab", "whitespace"):
            good = "use one character, tab or whitespace"
            raise TableError([("delimiter", f"{self.delimiter!r} is too long; {good}")])
        if self.format == "delimited" and self.delimiter == self.decimal:
            raise TableError([("decimal", f"{self.decimal!r} is the delimiter as well")])
        return self

    @property
    def stale_after(self) -> float:
        """Age beyond which a value of this feed is no longer shown. [s]"""
        return self.stale_after_s or max(5.0, 3.0 * self.interval_s)
