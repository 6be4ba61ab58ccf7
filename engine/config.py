"""The well file as models: every key carries its unit, every problem is found at once."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from difflib import get_close_matches
from typing import Annotated, Any, Literal, get_args

from pydantic import BaseModel, ConfigDict, Field, ValidationError, model_validator

from engine.channels import CHANNELS, RAW, no_channel
from engine.errors import ConfigError
from engine.states import STATE_IDS
from engine.units import DISPLAY, UNITS, units_of

Number = Annotated[float, Field(strict=True, allow_inf_nan=False)]  # `true` is no number
Positive = Annotated[Number, Field(gt=0)]
NotNegative = Annotated[Number, Field(ge=0)]
Share = Annotated[Number, Field(gt=0, le=1)]
Text = Annotated[str, Field(min_length=1)]


class Of:
    """Marks a field as a physical quantity: its key ends in any unit of that quantity.

    A field ``liner: Annotated[Positive, Of("length")]`` is written ``liner_mm = 152.4`` or
    ``liner_in = 6.0``; inside it is SI.
    """

    def __init__(self, quantity: str) -> None:
        self.quantity = quantity


Length = Annotated[Positive, Of("length")]
Height = Annotated[Number, Of("length")]
Weight = Annotated[NotNegative, Of("force")]


class Model(BaseModel):
    """Base of all config: an unknown key is an error; a loaded config never changes."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    @model_validator(mode="before")
    @classmethod
    def _units(cls, raw: Any) -> Any:
        if not isinstance(raw, Mapping):
            return raw
        out = dict(raw)
        for name, info in cls.model_fields.items():
            for of in _quantities(info.metadata, info.annotation):
                _take_unit(out, name, of.quantity)
        return out


def _quantities(metadata: Sequence[object], annotation: object) -> Iterator[Of]:
    """Find `Of` marks on a field, or on the arms of ``X | None``."""
    yield from (m for m in metadata if isinstance(m, Of))
    for arm in get_args(annotation):
        yield from (m for m in getattr(arm, "__metadata__", ()) if isinstance(m, Of))


def _take_unit(out: dict[str, Any], name: str, quantity: str) -> None:
    """Replace ``name_<unit>`` by ``name`` in SI; complain about a bare or a doubled key."""
    units = units_of(quantity)
    found = [u for u in units if f"{name}_{u.id}" in out]
    keys = ", ".join(f"{name}_{u.id}" for u in units)
    if name in out:
        raise ValueError(f"{name}: a {quantity} needs its unit in the key: {keys}")
    if len(found) > 1:
        given = " and ".join(f"{name}_{u.id}" for u in found)
        raise ValueError(f"{name}: given twice, as {given}; keep one")
    if found:
        number = out.pop(f"{name}_{found[0].id}")
        is_number = isinstance(number, int | float) and not isinstance(number, bool)
        out[name] = found[0].to_si(float(number)) if is_number else number


class Rig(Model):
    """Hoist and floor."""

    name: Text
    block_weight: Annotated[Positive, Of("force")]
    """Travelling block, hook and top drive, as the gauge shows them with no string. [N]"""
    lines: Annotated[int, Field(ge=2, le=16, multiple_of=2)]
    """Lines strung to the travelling block. [-]"""
    stand_length: Length
    """Nominal stand. [m]"""
    stick_up: Height = Field(default=1.0)
    """Pipe left above the floor in slips. [m]"""
    crown_limit: Length
    """Highest allowed block position. [m]"""
    floor_limit: Height = Field(default=0.0)
    """Lowest allowed block position. [m]"""


class Pump(Model):
    """One mud pump."""

    name: Text
    type: Literal["triplex", "duplex"]
    liner: Length
    stroke: Length
    rod: Annotated[NotNegative, Of("length")] = 0.0
    """Rod of a duplex; not used for a triplex. [m]"""
    efficiency: Share = 0.97
    lined_up: bool = True
    """Pumps into the standpipe, not into a tank."""


class Component(Model):
    """One part of the string, listed from the bit up."""

    name: Text
    outer: Length
    inner: Annotated[NotNegative, Of("length")]
    weight: Annotated[Positive, Of("linear_weight")]
    """In air, tool joints included. [kg/m]"""
    length: Length | None = None
    """None for the last one only: pipe to surface. [m]"""


class HoleSection(Model):
    """Open hole or casing, from the top down."""

    name: Text
    top: Annotated[NotNegative, Of("length")] = 0.0
    bottom: Annotated[Positive, Of("length")] | None = None
    """None for the open hole: it grows. [m]"""
    diameter: Length


class Mud(Model):
    """The fluid in use."""

    density: Annotated[Positive, Of("density")]


class Start(Model):
    """Where things stand when the watch begins; what is left out is taken from the feed."""

    bit_depth: Annotated[NotNegative, Of("length")] | None = None
    hole_depth: Annotated[NotNegative, Of("length")] | None = None


class Item(Model):
    """One item of a feed and the channel it fills."""

    channel: Text
    unit: Text
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
    def _known(self) -> Item:
        problems = list(_item_problems(self))
        if problems:
            raise ValueError("; ".join(problems))
        return self


def _item_problems(item: Item) -> Iterator[str]:
    channel = CHANNELS.get(item.channel)
    if channel is None:
        yield no_channel(item.channel)
    elif item.channel not in RAW:
        yield f"channel {item.channel!r} is worked out here; a feed cannot fill it"
    found = UNITS.get(item.unit)
    if found is None:
        yield f"no unit {item.unit!r}; units are {', '.join(UNITS)}"
    elif channel is not None and found.quantity != channel.quantity:
        good = ", ".join(u.id for u in units_of(channel.quantity))
        yield f"unit {item.unit!r} is a {found.quantity}; {item.channel} takes {good}"


class TimeColumn(Model):
    """How a delimited line says when it was measured."""

    columns: Annotated[tuple[Text, ...], Field(min_length=1)]
    """One column, or date and time; joined with one blank."""
    layout: Text = "iso8601"
    """``iso8601``, ``unix``, ``seconds`` (from the start) or a strptime text."""


class Feed(Model):
    """One source of data."""

    name: Text
    port: str = ""
    """Serial port or URL: COM3, /dev/ttyUSB0, socket://host:port, rfc2217://host:port."""
    baud: Annotated[int, Field(ge=300, le=921600)] = 9600
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
    map: dict[str, Item] = {}
    """Item code or column name to channel; with wits0 it adds to the standard map."""
    ignore: tuple[str, ...] = ()
    """Items of the standard map not to be used."""
    delimiter: Text = ","
    """One character, ``tab`` or ``whitespace``."""
    header: Literal["none", "once", "repeating"] = "once"
    comment: str = "#"
    time: TimeColumn | None = None
    time_zone: Text = "UTC"
    """IANA name of the zone the sender's clock shows."""

    @property
    def stale_after(self) -> float:
        """Age beyond which a value of this feed is no longer shown. [s]"""
        return self.stale_after_s or max(5.0, 3.0 * self.interval_s)


class Alarm(Model):
    """One limit with everything an alarm needs before it may exist; limits are SI inside."""

    id: Annotated[str, Field(pattern=r"^[a-z0-9][a-z0-9-]*$")]
    label: Text
    channel: Text
    high: Number | None = None
    low: Number | None = None
    deadband: NotNegative = 0.0
    on_delay_s: NotNegative = 0.0
    off_delay_s: NotNegative = 0.0
    re_alarm_s: Positive | None = None
    """An acknowledged alarm still abnormal after this sounds again; None: never. [s]"""
    priority: Annotated[int, Field(ge=1, le=4)]
    armed: tuple[str, ...] = STATE_IDS
    """Rig states in which it is armed; a list, or left out for all of them."""
    latching: bool = False
    cause: str = ""
    consequence: str = ""
    action: Annotated[str, Field(min_length=10)]
    """What the driller does. No action, no alarm."""

    @model_validator(mode="before")
    @classmethod
    def _limits(cls, raw: Any) -> Any:
        if not isinstance(raw, Mapping):
            return raw
        out = dict(raw)
        channel = CHANNELS.get(str(out.get("channel")))
        quantity = channel.quantity if channel else None
        for name in ("high", "low", "deadband"):
            for key in [k for k in out if k.startswith(f"{name}_")]:
                unit = UNITS.get(key.removeprefix(f"{name}_"))
                if unit is None or (quantity and unit.quantity != quantity):
                    good = ", ".join(f"{name}_{u.id}" for u in units_of(quantity or ""))
                    raise ValueError(f"{key}: wrong unit; {out.get('channel')} takes {good}")
                number = out.pop(key)
                if name in out:
                    raise ValueError(f"{name}: given twice; keep one")
                ok = isinstance(number, int | float) and not isinstance(number, bool)
                # A deadband is a difference: a temperature's offset must not enter it.
                shift = unit.offset if name != "deadband" else 0.0
                out[name] = float(number) * unit.factor + shift if ok else number
            if name in raw and quantity not in (None, "none"):
                good = ", ".join(f"{name}_{u.id}" for u in units_of(str(quantity)))
                raise ValueError(f"{name}: needs its unit in the key: {good}")
        return out

    @model_validator(mode="after")
    def _one_limit(self) -> Alarm:
        if (self.high is None) == (self.low is None):
            raise ValueError("give either a high or a low limit, one per alarm")
        return self


class Profile(Model):
    """Thresholds of the rig-state rules; the defaults suit a land rig (detection notes 1.2)."""

    flow_normal: Annotated[Positive, Of("flow")] | None = None
    """Usual drilling flow of the section; None: learned. [m3/s]"""
    rotary_normal: Annotated[Positive, Of("rotation")] | None = None
    """Usual drilling speed; None: learned. [rad/s]"""
    tare_hold_s: Positive = 8.0
    on_bottom_hold_s: Positive = 5.0


class WellConfig(Model):
    """A whole well file."""

    well: Text
    synthetic: bool = False
    """The data come from the simulator; every screen and export says so."""
    display: str | dict[str, str] = "metric"
    """``metric``, ``oilfield``, or a table: base = ..., quantity = unit."""
    rig: Rig
    pumps: Annotated[tuple[Pump, ...], Field(min_length=1, max_length=3)]
    string: Annotated[tuple[Component, ...], Field(min_length=1)]
    hole: tuple[HoleSection, ...] = ()
    mud: Mud
    start: Start = Start()
    profile: Profile = Profile()
    feeds: tuple[Feed, ...] = ()
    alarms: tuple[Alarm, ...] = ()

    def display_units(self) -> dict[str, str]:
        """Quantity to the unit id a person of this well reads."""
        if isinstance(self.display, str):
            return dict(DISPLAY[self.display])
        own = dict(self.display)
        return DISPLAY[own.pop("base", "metric")] | own


def parse_config(raw: Mapping[str, object], source: str) -> WellConfig:
    """Check `raw`; raise one `ConfigError` that lists every problem in it.

    Each problem starts with the dotted path of its key (``pumps.0.liner``).
    """
    try:
        config = WellConfig.model_validate(raw)
    except ValidationError as error:
        raise ConfigError(source, [_line(e) for e in error.errors()]) from None
    if problems := list(_cross_check(config)):
        raise ConfigError(source, problems)
    return config


def _line(error: Any) -> str:
    path = ".".join(str(part) for part in error["loc"]) or "(top)"
    text = str(error["msg"]).removeprefix("Value error, ")
    if error["type"] == "extra_forbidden":
        return f"{path}: unknown key"
    if error["type"] == "missing":
        return f"{path}: missing; it must be given"
    value = error.get("input")
    shown = "" if isinstance(value, Mapping) else f", got {value!r}"
    return f"{path}: {text}{shown}"


def _cross_check(config: WellConfig) -> Iterator[str]:
    """Problems that no single model can see."""
    if isinstance(config.display, str):
        if config.display not in DISPLAY:
            yield f"display: no set {config.display!r}; use metric or oilfield, or a table"
    else:
        yield from _display_problems(config.display)
    for i, component in enumerate(config.string):
        last = i == len(config.string) - 1
        if component.length is None and not last:
            yield f"string.{i}.length: only the last component may run to surface"
        if component.inner >= component.outer:
            yield f"string.{i}.inner: the bore is not smaller than the outside"
    for i, pump in enumerate(config.pumps):
        if pump.type == "duplex" and not 0 < pump.rod < pump.liner:
            yield f"pumps.{i}.rod: a duplex needs a rod thinner than its liner"
    if config.rig.crown_limit <= config.rig.floor_limit:
        yield "rig.crown_limit: must lie above floor_limit"
    for kind, names in (
        ("feeds", [f.name for f in config.feeds]),
        ("alarms", [a.id for a in config.alarms]),
    ):
        for name in sorted({n for n in names if names.count(n) > 1}):
            yield f"{kind}: two are called {name!r}"
    for i, alarm in enumerate(config.alarms):
        if alarm.channel not in CHANNELS:
            yield f"alarms.{i}.channel: {no_channel(alarm.channel)}"
        for state in alarm.armed:
            if state not in STATE_IDS:
                near = get_close_matches(state, STATE_IDS, n=1)
                yield f"alarms.{i}.armed: no rig state {state!r}; {near or STATE_IDS}"


def _display_problems(display: Mapping[str, str]) -> Iterator[str]:
    for quantity, unit_id in display.items():
        if quantity == "base":
            if unit_id not in DISPLAY:
                yield f"display.base: no set {unit_id!r}; use metric or oilfield"
        elif quantity not in DISPLAY["metric"]:
            yield f"display.{quantity}: no such quantity; use {', '.join(DISPLAY['metric'])}"
        elif unit_id not in UNITS or UNITS[unit_id].quantity != quantity:
            good = ", ".join(u.id for u in units_of(quantity))
            yield f"display.{quantity}: {unit_id!r} does not measure it; use {good}"
