"""The tables of the well file; import them from `engine.config`."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, model_validator

from engine.config_alarm import Alarm
from engine.config_base import (
    Count,
    Flag,
    Height,
    Length,
    Model,
    NotNegative,
    Of,
    Positive,
    Share,
    TableError,
    Text,
    keys_of,
)
from engine.config_feed import Feed
from engine.config_horn import HornConfig
from engine.config_hydraulics import Bit, Mud, Standpipe, Surface, Survey
from engine.config_pressures import Annulus, PressurePair, Range
from engine.config_trip import Trip
from engine.config_upkeep import Line, TallyStand, Tours
from engine.detect.settings import Detect
from engine.units import DISPLAY, units_of


class Rig(Model):
    """Hoist and floor."""

    name: Text
    block_weight: Annotated[Positive, Of("force")]
    """Travelling block, hook and top drive, as the gauge shows them with no string. [N]"""
    lines: Annotated[Count, Field(ge=2, le=16, multiple_of=2)]
    """Lines strung to the travelling block. [-]"""
    sheave_efficiency: Share = 1.0
    """Of one sheave, where a dead-line gauge gives the hook load (about 0.98); 1 for a load cell
    at the hook. It corrects the weight on bit for sheave friction while lowering. [-]"""
    stand_length: Length
    """Nominal stand. [m]"""
    stick_up: Height = Field(default=1.0)
    """Pipe left above the floor in slips. [m]"""
    crown_limit: Length
    """Highest allowed block position. [m]"""
    floor_limit: Height = Field(default=0.0)
    """Lowest allowed block position. [m]"""
    hook_load_limit: Annotated[Positive, Of("force")] | None = None
    """Highest allowed hook load, the least of hoist, line and pipe; None: none is set. [N]"""
    brake_reaction_s: NotNegative = 0.5
    """From the alarm to the brake, both hands and brake. common practice, no source [s]"""
    braking: Annotated[Positive, Of("acceleration")] | None = None
    """How hard the brake slows the block; None: 0.5 m/s2 is assumed. [m/s2]"""

    @model_validator(mode="after")
    def _order(self) -> Rig:
        if self.crown_limit <= self.floor_limit:
            raise TableError([("crown_limit", "must lie above floor_limit")])
        return self


class Pump(Model):
    """One mud pump."""

    name: Text
    type: Literal["triplex", "duplex"]
    liner: Length
    stroke: Length
    rod: Annotated[NotNegative, Of("length")] = 0.0
    """Rod of a duplex; not used for a triplex. [m]"""
    efficiency: Share = 0.97
    lined_up: Flag = True
    """Pumps into the standpipe, not into a tank."""

    @model_validator(mode="after")
    def _rod(self) -> Pump:
        if self.type == "duplex" and not 0 < self.rod < self.liner:
            good = keys_of("rod", "length")
            raise TableError([("rod", f"a duplex needs a rod thinner than its liner: {good}")])
        return self


class Component(Model):
    """One part of the string, listed from the bit up."""

    name: Text
    outer: Length
    inner: Annotated[NotNegative, Of("length")]
    weight: Annotated[Positive, Of("linear_weight")]
    """In air, tool joints included. [kg/m]"""
    length: Length | None = None
    """None for the last one only: pipe to surface. [m]"""

    @model_validator(mode="after")
    def _bore(self) -> Component:
        if self.inner >= self.outer:
            raise TableError([("inner", "the bore is not smaller than the outside")])
        return self


class HoleSection(Model):
    """Open hole or casing, from the top down."""

    name: Text
    top: Annotated[NotNegative, Of("length")] = 0.0
    bottom: Annotated[Positive, Of("length")] | None = None
    """None for the open hole: it grows. [m]"""
    diameter: Length

    @model_validator(mode="after")
    def _downward(self) -> HoleSection:
        if self.bottom is not None and self.bottom <= self.top:
            raise TableError(
                [("bottom", f"{self.bottom:g} m is not below the top, {self.top:g} m")]
            )
        return self


class Start(Model):
    """Where things stand when the watch begins; what is left out is taken from the feed."""

    bit_depth: Annotated[NotNegative, Of("length")] | None = None
    hole_depth: Annotated[NotNegative, Of("length")] | None = None


class Profile(Model):
    """What is usual on this section, and thresholds; the defaults suit a land rig."""

    flow_normal: Annotated[Positive, Of("flow")] | None = None
    """Usual drilling flow of the section; None: learned. [m3/s]"""
    rotary_normal: Annotated[Positive, Of("rotation")] | None = None
    """Usual drilling speed; None: learned. [rad/s]"""
    normal_formation_density: Annotated[Positive, Of("density")] | None = None
    """Density of the water column that is the normal formation pressure here; the corrected
    d-exponent is counted from it. None: there is none. [kg/m3]"""
    blind_drilling: Flag = False
    """No returns are expected: what looks at them says that it is blind, and the fill of the
    annulus is watched instead."""
    tare_hold_s: Positive = 8.0
    on_bottom_hold_s: Positive = 5.0
    cuttings_slip: Annotated[NotNegative, Of("speed")] = 0.0
    """How fast cuttings fall through the mud: lagged depth and samples come later by it; 0: they
    come with the mud. `engine.well.cuttings` works it out. [m/s]"""
    swab_margin: Annotated[NotNegative, Of("pressure")] | None = None
    """Pressure at the bit that may be lost by pulling; None: no speed is advised. [Pa]"""
    surge_margin: Annotated[NotNegative, Of("pressure")] | None = None
    """Pressure at the bit that running in may add; None: no speed is advised. [Pa]"""


def _display(value: Any) -> Any:
    """Refuse, once and in one sentence, what neither form of ``display`` could take."""
    sets = " or ".join(repr(name) for name in DISPLAY)
    if isinstance(value, str):
        if value not in DISPLAY:
            raise ValueError(f"no set {value!r}; use {sets}, or a table")
    elif not isinstance(value, Mapping):
        raise ValueError(f"{value!r} is no set; use {sets}, or a table")
    elif problems := list(_display_problems(value)):
        raise TableError(problems)
    return value


def _display_problems(display: Mapping[Any, Any]) -> Iterator[tuple[str, str]]:
    for quantity, unit_id in display.items():
        if quantity == "base":
            if unit_id not in DISPLAY:
                yield "base", f"no set {unit_id!r}; use {' or '.join(DISPLAY)}"
        elif quantity not in DISPLAY["metric"]:
            yield quantity, f"no such quantity; use {', '.join(DISPLAY['metric'])}"
        elif unit_id not in [u.id for u in units_of(quantity)]:
            good = ", ".join(u.id for u in units_of(quantity))
            yield quantity, f"{unit_id!r} does not measure it; use {good}"


class WellConfig(Model):
    """A whole well file."""

    well: Text
    synthetic: Flag = False
    """The data come from the simulator; every screen and export says so."""
    display: Annotated[str | dict[str, str], BeforeValidator(_display)] = "metric"
    """``metric``, ``oilfield``, or a table: base = ..., quantity = unit."""
    rig: Rig
    pumps: Annotated[tuple[Pump, ...], Field(min_length=1, max_length=3)]
    string: Annotated[tuple[Component, ...], Field(min_length=1)]
    hole: tuple[HoleSection, ...] = ()
    mud: Mud
    bit: Bit = Bit()
    surface: Surface | None = None
    standpipe: Standpipe | None = None
    survey: tuple[Survey, ...] = ()
    """From the top down, straight between them and from the floor to the first; the hole goes on
    as between the last two. None at all: vertical."""
    start: Start = Start()
    profile: Profile = Profile()
    trip: Trip = Trip()
    tour: Tours = Tours()
    line: Line | None = None
    tally: tuple[TallyStand, ...] = ()
    """Stands above the parts of the string that have a length, in running order."""
    feeds: tuple[Feed, ...] = ()
    alarms: tuple[Alarm, ...] = ()
    horn: HornConfig = HornConfig()
    ranges: tuple[Range, ...] = ()
    """Gauges that measure less than their channel allows."""
    pressure_pairs: tuple[PressurePair, ...] = ()
    annuli: tuple[Annulus, ...] = ()
    """Annuli to be watched; none: the usual two gauges, as far as they are read."""
    detect: Detect = Detect()
    """What the detectors go by; every default has its reason where it is defined."""

    def display_units(self) -> dict[str, str]:
        """Quantity to the unit id a person of this well reads."""
        if isinstance(self.display, str):
            return dict(DISPLAY[self.display])
        own = dict(self.display)
        return DISPLAY[own.pop("base", "metric")] | own
