"""Stands and tally as a page to read or print, and as JSON values."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from engine.config import WellConfig
from engine.ops.drag import CHANNELS as LOADS
from engine.records.connection_text import clock, clock_time, head_of, indented
from engine.records.connection_tours import number_of
from engine.records.journal import iso
from engine.records.stand_log import StandLog, StandLogged, stands_only
from engine.records.words import amount
from engine.well.answer import Answer, Unknown
from engine.well.tally import Tally

TREND_OVER = 100.0
"""Drag is told as its growth over so much hole. [m]"""
FIGURES = ("slip_to_slip", "weight_to_weight", "pumps_off_to_on", "bottom_to_bottom")
_LOADS = {"pick_up_load": "UP", "slack_off_load": "DOWN", "rotating_load": "ROTATING"}


def stands_text(log: StandLog, config: WellConfig) -> str:
    """Return every stand that was drilled or changed, the drag trend and the tally."""
    units = config.display_units()
    page = [head_of("STANDS", config)]
    stands = stands_only(log.stands)
    if not stands:
        return "\n".join([*page, "no stand was drilled or changed"]) + "\n"
    page += [
        "times are UTC; SLIPS and WEIGHT: slip to slip, weight to weight before the stand",
        "",
        f"{'FROM':19}{'LENGTH':>10}{'DRILLED':>10}{'ON BTM':>9}{'ROP':>11}"
        f"{'SLIPS':>7}{'WEIGHT':>8}",
    ]
    for one in stands:
        page += _lines(one, units, tally=bool(config.tally))
    page += ["", *_trends(log, units)]
    page += _tally(log.tally, units) if config.tally else []
    return "\n".join(page) + "\n"


def _lines(one: StandLogged, units: Mapping[str, str], *, tally: bool) -> list[str]:
    figures = [
        Unknown("") if one.connection is None else getattr(one.connection.times, name)
        for name in FIGURES[:2]
    ]
    row = (
        f"{clock_time(one.start):19}{said(one.length, 'm', units):>10}"
        f"{amount(one.drilled, 'm', units):>10}{clock(one.drilled_time):>9}"
        f"{said(one.rate, 'm_s', units):>11}{clock(figures[0]):>7}{clock(figures[1]):>8}"
    )
    loads = ", ".join(
        f"{word.lower()} {said(one.loads[name], 'N', units)}" for name, word in _LOADS.items()
    )
    known = any(not isinstance(load, Unknown) for load in one.loads.values())
    lines = [row]
    if known:
        lines += indented(f"weights: {loads}")
    if tally:
        lines += indented(_compared(one, units))
    return lines


def _compared(one: StandLogged, units: Mapping[str, str]) -> str:
    words = []
    if isinstance(one.number, Unknown):
        words.append(f"tally: {one.number.reason}")
    elif not isinstance(one.length, Unknown) and not isinstance(one.tally, Unknown):
        apart = amount(one.length - one.tally, "m", units)
        flag = "OFF TALLY: " if one.off is True else ""
        words.append(
            f"{flag}stand {one.number:.0f} is {said(one.tally, 'm', units)} by tally, "
            f"measured {apart} apart"
        )
    if not isinstance(one.bit_by_tally, Unknown) and one.bit_depth is not None:
        measured = amount(one.bit_depth, "m", units)
        by_tally = amount(one.bit_by_tally, "m", units)
        apart = amount(one.bit_depth - one.bit_by_tally, "m", units)
        words.append(f"bit in slips {measured}, by tally {by_tally}: {apart} apart")
    return "; ".join(words)


def _trends(log: StandLog, units: Mapping[str, str]) -> list[str]:
    lines = []
    over = amount(TREND_OVER, "m", units)
    for name, word in (("drag_up", "pick-up"), ("drag_down", "slack-off")):
        slope = log.trend(name)
        if isinstance(slope, Unknown):
            lines.append(f"{word} drag: no trend, {slope.reason}")
        else:
            lines.append(f"{word} drag grows by {amount(slope * TREND_OVER, 'N', units)} in {over}")
    return lines


def _tally(tally: Tally | Unknown, units: Mapping[str, str]) -> list[str]:
    if isinstance(tally, Unknown):
        return ["", *indented(f"TALLY unknown: {tally.reason}")]
    stand = tally.next_stand
    coming = "none is left" if stand is None else (
        f"stand {stand.number}, {said(stand.length, 'm', units)}"
    )  # fmt: skip
    return [
        "",
        f"TALLY: {tally.in_hole} of {len(tally.stands)} stands in the hole, string "
        f"{said(tally.total, 'm', units)}",
        f"bit with the last one in slips: {said(tally.bit_depth, 'm', units)}",
        f"next to run: {coming}; in the derrick: {len(tally.in_derrick)} stands, "
        f"{said(tally.left, 'm', units)}",
    ]


def said(answer: Answer, unit_id: str, units: Mapping[str, str]) -> str:
    """Return an SI answer with its display unit, ``-`` for what is not known."""
    return "-" if isinstance(answer, Unknown) else amount(answer, unit_id, units)


def as_json(log: StandLog, config: WellConfig, recording: str) -> dict[str, Any]:
    """Return the log as JSON values: times ISO 8601 UTC, SI with the unit in the key.

    None is what is not known; ``unknown`` says why. Keys: recording, well, synthetic, stands,
    drag_trend (N a metre), tally (stands_in_hole, string_m, bit_depth_m, next_stand,
    next_length_m, in_derrick, in_derrick_m, lines; None without one).
    """
    return {
        "recording": recording,
        "well": config.well,
        "synthetic": config.synthetic,
        "stands": [_stand(one) for one in stands_only(log.stands)],
        "drag_trend": {
            f"{name}_N_m": number_of(log.trend(name)) for name in ("drag_up", "drag_down")
        },
        "tally": _tally_json(log.tally) if config.tally else None,
    }


def _stand(one: StandLogged) -> dict[str, Any]:
    figures: dict[str, Answer] = {
        name: Unknown("no connection before it in the recording")
        if one.connection is None
        else getattr(one.connection.times, name)
        for name in FIGURES
    }
    numbers: dict[str, Answer] = {
        "length_m": one.length,
        "tally_m": one.tally,
        "bit_by_tally_m": one.bit_by_tally,
        "rop_m_s": one.rate,
        **{f"{name}_N": one.loads[name] for name in LOADS},
        "drag_up_N": one.drag_up,
        "drag_down_N": one.drag_down,
    }
    named = {**figures, **numbers, "tally_number": one.number}
    return {
        "start": iso(one.start),
        "end": iso(one.end),
        "change": None if isinstance(one.change, Unknown) else one.change,
        "bit_depth_m": one.bit_depth,
        "drilled_m": round(one.drilled, 3),
        "on_bottom_s": round(one.drilled_time, 3),
        "tally_number": None if isinstance(one.number, Unknown) else int(one.number),
        **{name: number_of(answer, 6) for name, answer in numbers.items()},
        "off_tally": None if isinstance(one.off, Unknown) else one.off,
        "seconds": {name: number_of(answer) for name, answer in figures.items()},
        "unknown": {name: a.reason for name, a in named.items() if isinstance(a, Unknown)},
    }


def _tally_json(tally: Tally | Unknown) -> dict[str, Any]:
    if isinstance(tally, Unknown):
        return {"unknown": tally.reason}
    stand = tally.next_stand
    return {
        "stands_in_hole": tally.in_hole,
        "string_m": number_of(tally.total),
        "bit_depth_m": number_of(tally.bit_depth),
        "next_stand": None if stand is None else stand.number,
        "next_length_m": None if stand is None else number_of(stand.length),
        "in_derrick": len(tally.in_derrick),
        "in_derrick_m": number_of(tally.left),
        "lines": [
            {
                "stand": line.stand.number,
                "length_m": number_of(line.stand.length),
                "total_m": number_of(line.total),
                "bit_depth_m": number_of(line.bit),
                "in_hole": line.in_hole,
            }
            for line in tally.lines()
        ],
    }
