"""Calculations of drilling-line work as data."""

from __future__ import annotations

from collections.abc import Mapping

from engine.units import G0
from engine.well.answer import Answer, Unknown
from engine.well.calculation import Calculation, Input, Output, mud_input
from engine.well.drilling_line import (
    LineLoad,
    SlipAndCut,
    casing_work,
    coring_work,
    drilling_work,
    move_work,
    round_trip_work,
    short_trip_work,
)
from engine.well.weight_drag import buoyancy_factor

Values = Mapping[str, float]
SOURCE = "API RP 9B; stand-by-stand for the block term of casing"


def _in(name: str, quantity: str, text: str, default: float | None = None) -> Input:
    return Input(name, quantity, text, default, low=0.0)


_TRIP = (
    _in("pipe", "linear_weight", "pipe or casing in air, joints included"),
    mud_input("mud", "mud weight"),
    Input("stand", "length", "length of a stand, of a joint for casing", low=0.1),
    _in("block", "force", "block, hook, top drive"),
)
_EXCESS = _in("excess", "force", "assembly in mud less as much pipe in mud", 0.0)
_DEEP = _in("depth", "length", "bit depth, or depth of the shoe of casing")
_OTHER = _in("other_depth", "length", "the other bit depth, shallower")


def _load(v: Values) -> LineLoad | Unknown:
    factor = buoyancy_factor(v["mud"])
    if isinstance(factor, Unknown):
        return factor
    return LineLoad(v["pipe"] * G0 * factor, v["block"], v.get("excess", 0.0), v["stand"])


def _trip(v: Values) -> Mapping[str, Answer]:
    load = _load(v)
    if isinstance(load, Unknown):
        return {"work": load}
    return {"work": round_trip_work(load, v["depth"])}


def _casing(v: Values) -> Mapping[str, Answer]:
    load = _load(v)
    return {"work": load if isinstance(load, Unknown) else casing_work(load, v["depth"])}


def _interval(v: Values) -> Mapping[str, Answer]:
    load = _load(v)
    if isinstance(load, Unknown):
        return dict.fromkeys(("drilling", "drilling_reamed", "coring", "short_trip"), load)
    before, after = (round_trip_work(load, v[n]) for n in ("other_depth", "depth"))
    return {
        "drilling": drilling_work(before, after, reaming=False),
        "drilling_reamed": drilling_work(before, after, reaming=True),
        "coring": coring_work(before, after),
        "short_trip": short_trip_work(before, after),
    }


def _service(v: Values) -> Mapping[str, Answer]:
    plan = SlipAndCut(v["limit"], v["drum"])
    return {
        "used": plan.used(v["done"]),
        "left": plan.left(v["done"]),
        "cut": plan.cut(v["laps"]),
    }


CALCULATIONS: tuple[Calculation, ...] = (
    Calculation(
        "line-round-trip",
        "work of the drilling line in a trip out and in",
        (*_TRIP, _EXCESS, _DEEP),
        (Output("work", "work", "round trip"),),
        SOURCE,
        _trip,
    ),
    Calculation(
        "line-casing",
        "work of the drilling line in running casing",
        (*_TRIP, _DEEP),
        (Output("work", "work", "running casing"),),
        SOURCE,
        _casing,
    ),
    Calculation(
        "line-interval",
        "work of the drilling line in drilling, coring or a short trip between two depths",
        (*_TRIP, _EXCESS, _OTHER, _DEEP),
        (
            Output("drilling", "work", "drilling, no reaming"),
            Output("drilling_reamed", "work", "drilling, each length reamed once"),
            Output("coring", "work", "coring"),
            Output("short_trip", "work", "trip up to the shallower depth and back"),
        ),
        SOURCE,
        _interval,
    ),
    Calculation(
        "line-move",
        "work of the drilling line in one move of the block",
        (
            _in("hook_load", "force", "block and string"),
            _in("travel", "length", "of the block, either way"),
        ),
        (Output("work", "work", "of the move"),),
        "definition",
        lambda v: {"work": move_work(v["hook_load"], v["travel"])},
    ),
    Calculation(
        "slip-and-cut",
        "service left in the drilling line, and length of the cut",
        (
            Input("limit", "work", "work between two cuts: the rope maker's", low=1.0),
            _in("done", "work", "work since the last cut"),
            Input("drum", "length", "working diameter of the drum", low=0.01),
            Input("laps", "count", "laps to cut, not whole ones", low=0.1),
        ),
        (
            Output("used", "ratio", "share of the limit"),
            Output("left", "work", "before the cut; 0: due"),
            Output("cut", "length", "of line to cut"),
        ),
        "API RP 9B; common practice for the part of a lap",
        _service,
    ),
)
