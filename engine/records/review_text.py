"""The review as a page to read or print: plain text, 80 columns, in the units of the well."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime, timedelta
from textwrap import wrap
from typing import Any

from engine.channels import CHANNELS
from engine.config import WellConfig
from engine.records.sight import blind_lines
from engine.records.trial_log import trial_lines
from engine.records.words import amount, label

WIDTH = 80
_NONE = timedelta()
CAUTION = (
    "An additional aid, not a safety system and not the only alarm. Local rules, approved "
    "well-control procedures and licensed practice come first. It shows what the sensors sent; "
    "it cannot say that they were right."
)


def review_text(found: Mapping[str, Any], config: WellConfig) -> str:
    """Return what `engine.records.review.review` found as a page.

    Parameters
    ----------
    found : mapping
        The review.
    config : WellConfig
        Names the well, the alarms and the units.

    Returns
    -------
    str
        Lines of at most 80 columns, except where one word is longer. Times are UTC; what is
        not known is written ``unknown``.
    """
    units = config.display_units()
    labels = {alarm.id: alarm.label for alarm in config.alarms}
    synthetic = "   SYNTHETIC DATA" if config.synthetic else ""
    page = [
        f"REVIEW   {config.well}   rig {config.rig.name}{synthetic}",
        f"recording {found['recording']}",
        *wrap(CAUTION, WIDTH),
        "",
        *_span(found["span"]),
        *_unmeasured(found["span"], found["events"]),
        *_depth(found["depth"], units),
        *_section("TIME BY RIG STATE", _totals(found["states"])),
        *_section("ALARMS", (_alarm(a, labels, units) for a in found["alarms"])),
        *_section("EVENTS", (_event(e, units) for e in found["events"])),
        *_section("TESTS AND DRILLS", trial_lines(found.get("trials", ()), units)),
        *_section("BLIND DETECTORS", blind_lines(found.get("blind", ()))),
        *_section("CONNECTIONS", (_connection(c, units) for c in found["connections"])),
        *_section("NO DATA", (_gap(g) for g in found["gaps"])),
        *_section("RIG STATES", (_state(s) for s in found["states"])),
    ]
    return "\n".join(page) + "\n"


def _section(title: str, items: Iterator[str] | Sequence[str]) -> Iterator[str]:
    """Lay out items, each with its second and later lines set in."""
    yield from ("", title)
    none = True
    for item in items:
        none = False
        yield from wrap(
            item, WIDTH, initial_indent="  ", subsequent_indent="      ", break_long_words=False,
            break_on_hyphens=False,
        )  # fmt: skip
    if none:
        yield "  none"


def _span(span: Mapping[str, Any]) -> Iterator[str]:
    if span["start"] is None:
        yield "nothing was recorded"
        return
    yield f"from {_time(span['start'])} to {_time(span['end'])} UTC"
    yield f"{span['frames']} frames, nothing known for {_long(span['missing_s'])}"


def _unmeasured(span: Mapping[str, Any], events: Sequence[Mapping[str, Any]]) -> Iterator[str]:
    """Say for how long the return gauge measured nothing, in whole minutes."""
    if span["start"] is None:
        return
    start, end = (datetime.fromisoformat(span[key]) for key in ("start", "end"))
    total = timedelta()
    for event in events:
        if event["kind"] == "return_flow_not_measured":
            ended = datetime.fromisoformat(event["ended"]) if event["ended"] else end
            total += max(min(ended, end) - max(datetime.fromisoformat(event["at"]), start), _NONE)
    if total:
        yield f"no return measurement {round(total / timedelta(minutes=1))} min"


def _depth(depth: Mapping[str, Any], units: Mapping[str, str]) -> Iterator[str]:
    for name, key in (("bit depth ", "bit_m"), ("hole depth", "hole_m")):
        first, last = (amount(value, "m", units) for value in depth[key])
        yield f"{name} {first} at the start, {last} at the end"


def _totals(states: Sequence[Mapping[str, Any]]) -> Iterator[str]:
    total: dict[str, float] = {}
    for one in states:
        total[one["state"]] = total.get(one["state"], 0.0) + one["seconds"]
    whole = sum(total.values())
    for name, seconds in sorted(total.items(), key=lambda item: (-item[1], item[0])):
        yield f"{_words(name):22}{_long(seconds):>10}{100 * seconds / whole:7.1f} %"


def _alarm(a: Mapping[str, Any], labels: Mapping[str, str], units: Mapping[str, str]) -> str:
    unit = a["unit"] or "none"
    value, limit = amount(a["value"], unit, units), amount(a["limit"], unit, units)
    seen = f"acknowledged {_clock(a['acknowledged'])}" if a["acknowledged"] else "NOT ACKNOWLEDGED"
    gone = f"cleared {_clock(a['cleared'])}" if a["cleared"] else "NOT CLEARED"
    name = labels.get(a["id"], a["id"])
    return f"{_time(a['raised'])}  P{a['priority']} {name}: {value}, limit {limit}; {seen}, {gone}"


def _event(event: Mapping[str, Any], units: Mapping[str, str]) -> str:
    ended = f"to {_clock(event['ended'])}" if event["ended"] else "not ended"
    text = f"{_time(event['at'])} {ended}  {_words(event['kind'])}, {event['severity']}"
    volume = event["volume_m3"]
    said = [] if volume is None else [f"{amount(volume, 'm3', units)} at the call"]
    said += [f"seen by {', '.join(event['witnesses'])}"] if event["witnesses"] else []
    return f"{text}: {'; '.join(said)}" if said else text


def _connection(c: Mapping[str, Any], units: Mapping[str, str]) -> str:
    out = _clock(c["slips_out"]) if c["slips_out"] else "still in slips"
    took = "" if c["seconds"] is None else f", {_long(c['seconds'])}"
    kind = c.get("kind") or "kind unknown"
    bit, hole = (amount(c[key], "m", units) for key in ("bit_depth_m", "hole_depth_m"))
    return f"{_time(c['slips_in'])} to {out}{took}  {kind}, bit {bit}, hole {hole}"


def _gap(gap: Mapping[str, Any]) -> str:
    names = "; ".join(label(name) if name in CHANNELS else name for name in gap["channels"])
    return f"{_time(gap['start'])} to {_time(gap['end'])}  {names}"


def _state(one: Mapping[str, Any]) -> str:
    return f"{_time(one['start'])}  {_long(one['seconds']):>9}  {_words(one['state'])}"


def _words(name: str) -> str:
    return name.replace("_", " ").replace("-", " ")


def _time(text: str | None) -> str:
    """Return an ISO time as date and clock to the second; the milliseconds are in the JSON."""
    return "unknown" if text is None else f"{text[:10]} {text[11:19]}"


def _clock(text: str) -> str:
    return text[11:19]


def _long(seconds: float | None) -> str:
    """Return a duration as hours, minutes and seconds."""
    if seconds is None:
        return "unknown"
    whole = round(seconds)
    hours, minutes = divmod(whole // 60, 60)
    return f"{hours}:{minutes:02}:{whole % 60:02}"
