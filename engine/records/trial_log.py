"""Tests and drills of a recording, from its journal lines alone."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import datetime
from textwrap import wrap
from typing import Any

from engine.channels import CHANNELS
from engine.config import WellConfig
from engine.interfaces import JournalLine
from engine.records.journal import iso, read
from engine.records.words import amount
from engine.trials.kinds import TRIALS

WIDTH = 80
_KEPT = (
    "began", "counted_from", "seconds", "by", "what", "verdict", "breaches", "why", "criteria_si",
    "numbers", "channels", "not_read",
)  # fmt: skip


def trials_between(
    lines: Iterable[JournalLine], start: float = float("-inf"), end: float = float("inf")
) -> list[dict[str, Any]]:
    """Return the tests and drills that went on at any moment from `start` to `end` [s].

    Returns
    -------
    list of dict
        ``trial``, ``ended`` (None: it runs, and only began, by, what and criteria_si are known),
        ``began``, ``counted_from``, ``seconds``, ``by``, ``what``, ``verdict``, ``breaches``
        (what, how, value, limit, unit; worst first), ``why``, ``criteria_si``, ``numbers``,
        ``channels``, ``not_read``, ``override`` (None, or at, by, second, reason), and ``seq``,
        the number of the journal line that seals it.
    """
    out: list[dict[str, Any]] = []
    spans: list[list[float]] = []
    for line in lines:
        f = read(line)
        if f["kind"] == "command" and f["event"] == "given" and "refused" not in f:
            if f["id"] == "start_trial":
                out.append(_started(f))
                spans.append([line.at, float("inf")])
            elif f["id"] == "override_trial" and out:
                keep = {"at": iso(line.at), "by": f["who"]}
                out[-1]["override"] = keep | {"second": f["second"], "reason": f["reason"]}
        elif f["kind"] == "trial" and f["event"] == "verdict" and out:
            out[-1] |= {"ended": iso(line.at), "seq": line.seq} | {k: f[k] for k in _KEPT}
            spans[-1][1] = line.at
    return [one for one, (a, b) in zip(out, spans, strict=True) if a <= end and b >= start]


def _started(f: Mapping[str, Any]) -> dict[str, Any]:
    known = {"began": f["at"], "by": f["who"], "what": f["what"]}
    empty: dict[str, Any] = dict.fromkeys(_KEPT)
    return (
        {"trial": f["trial"], "ended": None, "seq": f["seq"], "override": None}
        | empty | known | {"criteria_si": f["criteria_in_force_si"]}
    )  # fmt: skip


def sentence(one: Mapping[str, Any], units: Mapping[str, str]) -> str:
    """Return the verdict in words: ``criteria not met: Standpipe pressure risen by ...``."""
    verdict, why = one["verdict"], "; ".join(one["why"] or ())
    breaches = "; ".join(_breach(b, units) for b in one["breaches"] or ())
    text = f"criteria {verdict}" if verdict in ("met", "not met") else str(verdict)
    said = "; ".join(part for part in (breaches, why) if part)
    if verdict == "too short":
        return f"too short ({said})"
    return f"{text}: {said}" if said else text


def _breach(b: Mapping[str, Any], units: Mapping[str, str]) -> str:
    name = CHANNELS[b["what"]].label if b["what"] in CHANNELS else b["what"]
    value, limit = (amount(b[key], b["unit"], units) for key in ("value", "limit"))
    return f"{name} {b['how']} {value}, limit {limit}"


def trial_lines(found: Iterable[Mapping[str, Any]], units: Mapping[str, str]) -> Iterator[str]:
    """Yield each test or drill in one line, for a page of more than tests."""
    for one in found:
        when = datetime.fromisoformat(one["began"])
        said = sentence(one, units) if one["ended"] else "RUNNING"
        over = one["override"]
        said += f"; ACCEPTED by {over['by']} and {over['second']}: {over['reason']}" if over else ""
        yield f"{when:%Y-%m-%d %H:%M:%S}  {one['trial']} by {one['by']}: {said}"


def trials_text(found: Sequence[Mapping[str, Any]], config: WellConfig) -> str:
    """Return the tests and drills as a page of 80 columns, in the units of the well."""
    units = config.display_units()
    page = [f"TESTS AND DRILLS   {config.well}   rig {config.rig.name}"]
    for one in found:
        page.append("")
        for k, line in enumerate(_lines(one, units)):
            indent = "" if k == 0 else "    "
            page += wrap(line, WIDTH, initial_indent=indent, subsequent_indent=indent + "    ",
                         break_long_words=False, break_on_hyphens=False)  # fmt: skip
    return "\n".join(page if found else [*page, "", "none"]) + "\n"


def _lines(one: Mapping[str, Any], units: Mapping[str, str]) -> Iterator[str]:
    when = datetime.fromisoformat(one["began"])
    what = f" ({one['what']})" if one["what"] else ""
    yield f"{when:%Y-%m-%d %H:%M:%S}  {one['trial']}{what} by {one['by']}"
    listed = {c.name: c for c in TRIALS[one["trial"]].criteria}
    said = [f"{k} {amount(v, listed[k].unit, units)}" for k, v in one["criteria_si"].items()]
    yield f"criteria before the start: {', '.join(said)}"
    if one["ended"] is None:
        yield "RUNNING"
        return
    yield f"{sentence(one, units).upper() if one['verdict'] != 'met' else sentence(one, units)}"
    numbers = [number_words(key, value, units) for key, value in one["numbers"].items()]
    yield f"{one['seconds']:.0f} s counted; {', '.join(numbers)}"
    for name, c in one["channels"].items():
        shown = [amount(c[k], c["unit"], units) for k in ("first", "last", "lowest", "highest")]
        label = CHANNELS[name].label
        yield f"{label}: {shown[0]} to {shown[1]}, lowest {shown[2]}, highest {shown[3]}"
    if one["not_read"]:
        yield f"not read: {', '.join(CHANNELS[name].label for name in one['not_read'])}"
    if over := one["override"]:
        yield f"ACCEPTED by {over['by']} and {over['second']}: {over['reason']}"
    yield f"journal line {one['seq']}"


def number_words(key: str, value: float | None, units: Mapping[str, str]) -> str:
    """Return a number of the record in words; its key ends in an SI unit."""
    for unit_id in ("fraction", "m3_s", "count", "m3", "Pa", "s"):
        if key.endswith(f"_{unit_id}"):
            name = key.removesuffix(f"_{unit_id}").replace("_", " ")
            return f"{name} {amount(value, unit_id, units)}"
    return f"{key} {value}"
