"""The log of connections as a page to read or print: plain text, in the units of the well."""

from __future__ import annotations

from collections.abc import Sequence
from textwrap import wrap

from engine.config import WellConfig
from engine.records.connection_log import Logged
from engine.records.connection_tours import TARGETED, TourOfConnections, whole
from engine.records.journal import iso
from engine.records.words import amount
from engine.units import HOUR
from engine.well.answer import Answer, Unknown
from engine.well.connection_stats import Statistics
from engine.well.connection_times import MOMENTS

WIDTH = 80
SHOWN = {
    "slip_to_slip": "SLIPS", "weight_to_weight": "WEIGHT", "pumps_off_to_on": "PUMPS",
    "bottom_to_bottom": "BOTTOM",
}  # fmt: skip
"""Figure to its column."""


def head_of(title: str, config: WellConfig) -> str:
    """Return the first line of a page about a recording."""
    synthetic = "   SYNTHETIC DATA" if config.synthetic else ""
    return f"{title}   {config.well}   rig {config.rig.name}{synthetic}"


def connections_text(log: Sequence[Logged], config: WellConfig) -> str:
    """Return every connection: its figures, what happened when, and what is not known."""
    page = [head_of("CONNECTIONS", config)]
    if not log:
        return "\n".join([*page, "no time in slips was recorded"]) + "\n"
    columns = "".join(f"{word:>8}" for word in SHOWN.values())
    page += [
        "minutes and seconds; times are UTC",
        "",
        f"{'SLIPS SET':19}{'BIT':>13}{columns}  KIND",
    ]
    for one in log:
        page += _lines(one, config)
    page += ["", *_summary({name: whole(log, name, config) for name in SHOWN})]
    return "\n".join(page) + "\n"


def tours_text(tours: Sequence[TourOfConnections], config: WellConfig, zone: str) -> str:
    """Return the statistics of each crew tour."""
    page = [head_of("CONNECTIONS BY TOUR", config), f"tours start on the clock of {zone}"]
    if not tours:
        return "\n".join([*page, "nothing was recorded"]) + "\n"
    for one in tours:
        timed = one.figures["slip_to_slip"]
        count = timed.timed + timed.unknown + timed.excluded
        page += [
            "",
            f"tour {one.tour.name}: {one.recorded / HOUR:.2f} h recorded, {count} connections, "
            f"{clock(one.spent)} in slips",
            *_summary({name: one.figures[name] for name in SHOWN}),
        ]
    return "\n".join(page) + "\n"


def _lines(one: Logged, config: WellConfig) -> list[str]:
    at = one.times.at["slips_set"]
    when = "before the start" if isinstance(at, Unknown) else clock_time(at)
    depth = amount(one.bit_depth, "m", config.display_units())
    figures = {name: getattr(one.times, name) for name in SHOWN}
    row = "".join(f"{clock(answer):>8}" for answer in figures.values())
    lines = [f"{when:19}{depth:>13}{row}  {one.kind or 'unknown'}"]
    if one.kind != "tripping":
        why = {
            f"{SHOWN[name].lower()}: {answer.reason}"
            for name, answer in figures.items()
            if isinstance(answer, Unknown)
        }
        lines += indented(_story(one))
        lines += indented("; ".join(sorted(why)))
    if one.excluded:
        lines += indented(f"set apart: {one.excluded}")
    return lines


def _story(one: Logged) -> str:
    """Return what happened when, counted from the first thing that is known."""
    known = sorted(
        (at, MOMENTS.index(name), name)
        for name, at in one.times.at.items()
        if not isinstance(at, Unknown)
    )
    return ", ".join(
        f"{name.replace('_', ' ')} +{clock(at - known[0][0])}" for at, _, name in known
    )


def _summary(figures: dict[str, Statistics]) -> list[str]:
    head = f"{'':18}{'TIMED':>6}{'MEDIAN':>8}{'P10':>7}{'P90':>7}{'BEST':>7}{'WORST':>7}"
    lines = [f"{head}  APART  UNKNOWN"]
    for name, s in figures.items():
        numbers = "".join(f"{clock(a):>7}" for a in (s.p10, s.p90, s.shortest, s.longest))
        lines.append(
            f"{name.replace('_', ' '):18}{s.timed:>6}{clock(s.median):>8}{numbers}"
            f"{s.excluded:>7}{s.unknown:>9}"
        )
    over = figures[TARGETED].over_target
    if not isinstance(over, Unknown):
        lines.append(f"over the target, weight to weight: {clock(over)}")
    return lines


def indented(text: str) -> list[str]:
    """Return a text as lines under the line it belongs to; none if it is empty."""
    return wrap(text, WIDTH, initial_indent="  ", subsequent_indent="    ")


def clock(seconds: Answer) -> str:
    """Return a time as minutes and seconds, hours where there are some; ``-`` if unknown."""
    if isinstance(seconds, Unknown):
        return "-"
    minutes, rest = divmod(round(seconds), 60)
    hours, minutes = divmod(minutes, 60)
    return f"{hours}:{minutes:02}:{rest:02}" if hours else f"{minutes}:{rest:02}"


def clock_time(at: float) -> str:
    """Return a time of day with its date, UTC."""
    text = iso(at)
    return f"{text[:10]} {text[11:19]}"
