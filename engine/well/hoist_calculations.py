"""Calculations of string weight, drag, pull and reeving as data."""

from __future__ import annotations

from collections.abc import Mapping
from math import pi

from engine.well.answer import Answer, Unknown
from engine.well.calculation import Calculation, Input, Output, mud_input
from engine.well.capacities import annular_capacity
from engine.well.checks import not_negative
from engine.well.reeving import (
    MOST_LINES,
    SHEAVE_FRICTION,
    crown_load,
    design_factor,
    fast_line_factor,
    fast_line_load,
    fast_line_speed,
    hoist_power,
    hoist_speed,
    line_tension,
    reeving_efficiency,
)
from engine.well.soft_string import Element, drag_of
from engine.well.weight_drag import (
    RESERVE,
    TENSILE_SHARE,
    Part,
    air_weights,
    buoyancy_factor,
    buoyed_weights,
    down_drag,
    immersed_weight,
    overpull_margin,
    rotating_gap,
    stretch,
    tensile_strength,
    total,
    up_drag,
    usable_bit_weight,
)

Values = Mapping[str, float]
BOURGOYNE = "A. T. Bourgoyne et al., Applied Drilling Engineering, SPE, 1986, ch. 4"
RP_9B = "API RP 9B, 14th ed. with Addendum 1 (2020)"


def _in(name: str, quantity: str, text: str, default: float | None = None) -> Input:
    return Input(name, quantity, text, default, low=0.0)


_MUD = mud_input("mud", "mud weight")
_HOOK = _in("hook_load", "force", "hook load, block and string")
_LINES = Input("lines", "count", "lines strung to the block", low=1.0, high=MOST_LINES)
_FRICTION = Input(
    "sheave_friction", "ratio", "tension after over before a sheave", SHEAVE_FRICTION, low=1.0
)


def _string(v: Values) -> Mapping[str, Answer]:
    names = ("pipe", "heavy", "collar")
    parts = [Part(v[f"{n}_length"], v[f"{n}_weight"]) for n in names]
    each = buoyed_weights(parts, v["mud"])
    one: list[Answer] = list(each) if isinstance(each, tuple) else [each] * len(names)
    hanging = total(each)
    return {
        "factor": buoyancy_factor(v["mud"]),
        "air": total(air_weights(parts)),
        **dict(zip(names, one, strict=True)),
        "buoyed": hanging,
        "hook_load": hanging + v["block"] if isinstance(hanging, float) else hanging,
    }


def _two_fluids(v: Values) -> Mapping[str, Answer]:
    each = immersed_weight(v["weight"], v["bore"], v["inside"], v["outside"])
    if isinstance(each, Unknown):
        return {"hanging": each}
    return {"hanging": not_negative(length=v["length"]) or each * v["length"]}


def _margin(v: Values) -> Mapping[str, Answer]:
    strength = tensile_strength(v["yield_stress"], v["outer"], v["inner"])
    return {
        "strength": strength,
        "margin": overpull_margin(strength, v["hanging"], v["share"]),
    }


def _stretch(v: Values) -> Mapping[str, Answer]:
    area = annular_capacity(v["outer"], v["inner"])
    if isinstance(area, Unknown):
        return {"stretch": area}
    return {"stretch": stretch(v["pull"], v["length"], area)}


def _reeving(v: Values) -> Mapping[str, Answer]:
    lines, hook = v["lines"], v["hook_load"]
    efficiency = reeving_efficiency(lines, v["sheave_friction"])
    factor = fast_line_factor(lines, efficiency)
    fast = fast_line_load(hook, factor)
    return {
        "efficiency": efficiency,
        "still": line_tension(hook, lines),
        "factor": factor,
        "fast_line": fast,
        "crown": crown_load(hook, lines, efficiency),
        "design_factor": design_factor(v["rope_strength"], fast),
    }


def _power(v: Values) -> Mapping[str, Answer]:
    efficiency = reeving_efficiency(v["lines"], v["sheave_friction"])
    return {
        "power": hoist_power(v["hook_load"], v["speed"], efficiency),
        "fast_line_speed": fast_line_speed(v["speed"], v["lines"]),
    }


def _element(v: Values) -> Mapping[str, Answer]:
    element = Element(v["weight"], v["inclination"], v["turn"], v["azimuth_turn"], v["radius"])
    return drag_of(v["load"], element, v["friction"])


CALCULATIONS: tuple[Calculation, ...] = (
    Calculation(
        "string-weight",
        "weight in air and mud by section, and hook load without drag",
        (
            _MUD,
            _in("pipe_length", "length", "drill pipe"),
            _in("pipe_weight", "linear_weight", "in air, tool joints included"),
            _in("heavy_length", "length", "heavy-weight pipe", 0.0),
            _in("heavy_weight", "linear_weight", "in air", 0.0),
            _in("collar_length", "length", "collars and bit", 0.0),
            _in("collar_weight", "linear_weight", "in air", 0.0),
            _in("block", "force", "block, hook and top drive", 0.0),
        ),
        (
            Output("factor", "ratio", "buoyancy factor, steel of 7850 kg/m3"),
            Output("air", "force", "string in air"),
            Output("pipe", "force", "drill pipe in mud"),
            Output("heavy", "force", "heavy-weight pipe in mud"),
            Output("collar", "force", "collars in mud"),
            Output("buoyed", "force", "string in mud, same mud inside and outside"),
            Output("hook_load", "force", "with the block"),
        ),
        BOURGOYNE,
        _string,
    ),
    Calculation(
        "pipe-in-two-fluids",
        "weight of a length of pipe with other fluid inside than outside",
        (
            _in("length", "length", "of the pipe"),
            _in("weight", "linear_weight", "in air"),
            _in("bore", "length", "inside diameter"),
            _in("inside", "density", "fluid inside; 0: air"),
            _in("outside", "density", "fluid outside"),
        ),
        (Output("hanging", "force", "negative: it floats"),),
        BOURGOYNE,
        _two_fluids,
    ),
    Calculation(
        "bit-weight-of-collars",
        "weight the collars can put on the bit",
        (
            _MUD,
            _in("collar_length", "length", "collars"),
            _in("collar_weight", "linear_weight", "in air"),
            Input("share", "ratio", "share of their weight that is used", RESERVE, 0.0, 1.0),
        ),
        (Output("weight", "force", "usable weight on bit"),),
        "common practice",
        lambda v: {
            "weight": usable_bit_weight(
                [Part(v["collar_length"], v["collar_weight"])], v["mud"], v["share"]
            )
        },
    ),
    Calculation(
        "drag",
        "drag from pick-up, slack-off and rotating weight",
        (
            _in("pick_up", "force", "hook load picking up"),
            _in("slack_off", "force", "hook load slacking off"),
            _in("rotating", "force", "hook load rotating off bottom"),
        ),
        (
            Output("up", "force", "drag up"),
            Output("down", "force", "drag down"),
            Output("gap", "force", "mean of up and down less rotating; 0 in a straight hole"),
        ),
        "definition",
        lambda v: {
            "up": up_drag(v["pick_up"], v["rotating"]),
            "down": down_drag(v["rotating"], v["slack_off"]),
            "gap": rotating_gap(v["pick_up"], v["slack_off"], v["rotating"]),
        },
    ),
    Calculation(
        "overpull-margin",
        "how much more the pipe at the top may be pulled",
        (
            _in("yield_stress", "pressure", "of the steel"),
            _in("outer", "length", "outside diameter of the body, as worn"),
            _in("inner", "length", "inside diameter"),
            _in("hanging", "force", "string in mud and drag, no block"),
            Input("share", "ratio", "share of the strength that may be used", TENSILE_SHARE, 0, 1),
        ),
        (
            Output("strength", "force", "tensile strength of the body"),
            Output("margin", "force", "negative: more hangs than may"),
        ),
        "API RP 7G (from memory)",
        _margin,
    ),
    Calculation(
        "stretch",
        "stretch of pipe under a pull",
        (
            Input("pull", "force", "above the hanging weight"),
            _in("length", "length", "free length"),
            _in("outer", "length", "outside diameter of the body"),
            _in("inner", "length", "inside diameter"),
        ),
        (Output("stretch", "length", "of the whole length"),),
        "Hooke's law, Young's modulus of steel 207 GPa",
        _stretch,
    ),
    Calculation(
        "reeving",
        "efficiency of the reeving, fast line, crown and design factor while hoisting",
        (_HOOK, _LINES, _in("rope_strength", "force", "breaking strength of the rope"), _FRICTION),
        (
            Output("efficiency", "ratio", "of the reeving"),
            Output("still", "force", "tension of every line at rest"),
            Output("factor", "ratio", "fast-line factor"),
            Output("fast_line", "force", "tension of the fast line"),
            Output("crown", "force", "load on the crown"),
            Output("design_factor", "count", "of the rope; 3 drilling, 2 for casing or stuck pipe"),
        ),
        RP_9B,
        _reeving,
    ),
    Calculation(
        "hoist-speed",
        "speed of the block that a power gives",
        (_in("power", "power", "at the drum"), _HOOK, _LINES, _FRICTION),
        (Output("speed", "speed", "of the block"),),
        "A. T. Bourgoyne et al., Applied Drilling Engineering, SPE, 1986, ch. 1",
        lambda v: {
            "speed": hoist_speed(
                v["power"], v["hook_load"], reeving_efficiency(v["lines"], v["sheave_friction"])
            )
        },
    ),
    Calculation(
        "hoist-power",
        "power at the drum to hoist at a speed",
        (_in("speed", "speed", "of the block"), _HOOK, _LINES, _FRICTION),
        (
            Output("power", "power", "at the drum"),
            Output("fast_line_speed", "speed", "of the fast line"),
        ),
        "A. T. Bourgoyne et al., Applied Drilling Engineering, SPE, 1986, ch. 1",
        _power,
    ),
    Calculation(
        "drag-of-an-element",
        "side force, drag and torque of a short length of string lying in the hole",
        (
            Input("load", "force", "pull at its lower end"),
            _in("weight", "force", "of the element, in mud"),
            Input("inclination", "angle", "mean", None, 0.0, pi),
            _in("friction", "ratio", "coefficient of friction"),
            Input("turn", "angle", "inclination at its top less at its bottom", 0.0),
            Input("azimuth_turn", "angle", "azimuth at its top less at its bottom", 0.0),
            _in("radius", "length", "at which it rubs", 0.0),
        ),
        (
            Output("side_force", "force", "on the wall"),
            Output("drag", "force", "sliding"),
            Output("torque", "torque", "rotating"),
            Output("pick_up", "force", "pull above it, moving up"),
            Output("slack_off", "force", "pull above it, moving down"),
        ),
        "C. A. Johancsik, D. B. Friesen and R. Dawson, SPE 11380 (1984)",
        _element,
    ),
)
