"""The page of an evaluation, in Markdown: every figure with what it stands on."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from engine.score.families import EARLY_S, EPISODE_S, FAMILIES, LAG_S, USUAL_S, WINDOW_S
from engine.score.page_words import (
    NONE,
    barrels,
    bounded,
    counted,
    number,
    percent,
    seconds,
    size_text,
    table,
    targets,
)
from engine.score.scores import Figures

ALL_TARGET = 0.5
"""Most false calls of all detectors together in 12 h that we aim at. [-]"""


@dataclass(frozen=True, slots=True)
class Made:
    """What a report was made with."""

    command: str
    """Exact, to make it again."""
    program: str
    settings: str
    """Hash of the thresholds in force."""
    frozen: str
    """Hash that was frozen; empty: none was."""
    code: str
    """Hash of the detectors' source."""

    @property
    def is_frozen(self) -> bool:
        """Whether the thresholds in force are those that were frozen."""
        return self.settings == self.frozen


def page(found: Figures, made: Made) -> str:
    """Return the page."""
    usual, other = found["usual"], found["other_rigs"]
    parts = [
        *_head(found, made),
        "", "## In short", "", *_short(usual, found),
        "", "## What was asked for", "", *targets(usual["targets"]),
        "", "## Events, all sizes and classes of noise", "", *_events(usual["events"]),
        "", "## By size", "", *_split(usual["events"], "by_size"),
        "", "## By class of noise", "", *_split(usual["events"], "by_noise"),
        "", "## What was called first", "", *_labels(usual),
        "", "## False calls in tours without trouble", "", *_false(usual["false"]),
        "", "## Twins: the same run and noise, without the event", "", *_twins(usual["twins"]),
        "", "## Other rigs, on which no limit was set", "", *_other(other),
        "", "## How it is scored", "", *_rules(found),
    ]  # fmt: skip
    return "\n".join(parts) + "\n"


def _head(found: Figures, made: Made) -> Iterator[str]:
    first, last = found["seeds"]
    yield "# How good the detectors are"
    yield ""
    yield (
        "Everything here is measured on the synthetic rig, not in the field. Numbers for rigs with "
        "poor sensors are given beside the good ones."
    )
    yield ""
    yield f"    {made.command}"
    yield ""
    yield f"- Program {made.program}; source of the detectors {made.code[:12]}."
    if made.is_frozen:
        yield f"- Thresholds FROZEN, SHA-256 `{made.settings}`."
    else:
        yield (
            f"- Thresholds **NOT FROZEN**: running `{made.settings}`, "
            f"frozen `{made.frozen or 'none'}`. These figures are for work in progress."
        )
    yield (
        f"- Seeds {first} to {last}: {found['seeds_are']} seeds (tuning 1-999, reporting "
        f"10000-10999). Classes of noise: {', '.join(found['noise'])}."
    )
    hours, more = found["usual"]["hours"], found["other_rigs"]["hours"]
    yield f"- {hours:.0f} h on the usual rig, {more:.0f} h on other rigs, simulated."
    yield f"- Not built, so never called: {', '.join(found['not_built']) or 'none'}."


def _short(part: Figures, found: Figures) -> Iterator[str]:
    false, blind, right = part["false"], part["blind"], part["precision"]
    rows = []
    for kind in found["built"]:
        mine = [e for e in part["events"] if e["called"] == kind]
        runs, hits = sum(e["runs"] for e in mine), sum(e["called_runs"] for e in mine)
        one = right.get(kind, {})
        rows.append(
            (kind, f"{hits} of {runs}", bounded(false["by_kind"][kind]),
             percent(one.get("precision")), percent(one.get("lower")),
             number(blind[kind]["minutes_per_12_h"], 1), blind[kind]["mostly"] or NONE)
        )  # fmt: skip
    base = found["base_rate_per_12_h"]
    yield from table(
        ("detector", "events called", "false per 12 h (95 % bound)", "right at base rate",
         "at least", "blind min per 12 h", "mostly"), rows,
    )  # fmt: skip
    yield ""
    yield (
        f"Right at base rate: share of calls that are right if {base:g} events of each kind come "
        f"in 12 h (one in {0.5 / base:.0f} days, an assumption); at least: with both bounds."
    )
    yield ""
    whole = false["all"]
    verdict = NONE
    if whole["per_12_h"] is not None:
        verdict = "met" if whole["upper_per_12_h"] <= ALL_TARGET else "NOT SHOWN"
        verdict = verdict if whole["per_12_h"] <= ALL_TARGET else "NOT MET"
    yield (
        f"All detectors together: {whole['count']} false in {whole['hours']:.0f} h, "
        f"{bounded(whole)} per 12 h; target {ALL_TARGET:g}: {verdict}."
    )


def _events(events: Sequence[Figures]) -> list[str]:
    head = ("event", "called, runs", "at least", "DV50 bbl", "DV95 bbl", "by 5 bbl", "at least",
            "by 10 bbl", "p50", "p95", "again", "standing", "early", "late")  # fmt: skip
    return table(head, (_event_row(_name(e), e) for e in events))


def _name(event: Figures) -> str:
    return event["kind"] if event["built"] else f"{event['kind']} (not built)"


def _event_row(name: str, e: Figures) -> tuple[str, ...]:
    return (
        name, f"{e['called_runs']} of {e['runs']}", percent(e["recall_lower"]),
        barrels(e, "dv50"), barrels(e, "dv95"),
        percent(e.get("called_by_5_bbl")), percent(e.get("called_by_5_bbl_lower")),
        percent(e.get("called_by_10_bbl")), seconds(e["delay_p50_s"]), seconds(e["delay_p95_s"]),
        number(e["again_per_event"], 1), str(e["standing"]), str(e["early"]), str(e["late"]),
    )  # fmt: skip


def _split(events: Sequence[Figures], by: str) -> list[str]:
    head = ("event", "called, runs", "at least", "DV50 bbl", "DV95 bbl", "by 5 bbl", "p50", "p95",
            "standing")  # fmt: skip
    rows = []
    for e in events:
        for one in e[by]:
            of = size_text(e["kind"], one["of"]) if by == "by_size" else one["of"]
            row = _event_row(f"{_name(e)}: {of}", one)
            rows.append((*row[:6], row[8], row[9], row[11]))
    return table(head, rows)


def _labels(part: Figures) -> list[str]:
    rows = (
        (kind, counted(found), counted(part["others"].get(kind, {})))
        for kind, found in part["labels"].items()
    )
    return table(("event", "first call, runs", "other families besides, runs"), rows)


def _false(false: Figures) -> Iterator[str]:
    rows = [("all", *_rate(false["all"]), "")]
    for title in ("job", "noise", "state"):
        part = false[f"by_{title}"]
        rows += [
            (f"{title}: {name}", *_rate(one), counted(one["kinds"])) for name, one in part.items()
        ]
    rows += [(f"call: {k}", *_rate(one), "") for k, one in false["by_kind"].items()]
    rows += [
        (f"advice: {k}", *_rate(one), "") for k, one in false["advice"].items() if one["count"]
    ]
    yield from table(("of", "false", "hours", "per 12 h (95 % bound)", "kinds"), rows)
    yield ""
    yield (
        f"Advice makes no alarm and is counted apart. {false['right']} calls of sensor faults were "
        "right: the class of noise itself stuck a sensor or left a gap."
    )


def _rate(one: Figures) -> tuple[str, str, str]:
    return str(one["count"]), f"{one['hours']:.1f}", bounded(one)


def _twins(twins: Mapping[str, Any]) -> list[str]:
    return table(
        ("twin of", "with a false call, runs", "kinds, runs"),
        (
            (kind, f"{one['with_false']} of {one['runs']}", counted(one["kinds"]))
            for kind, one in twins.items()
        ),
    )


def _other(part: Figures) -> Iterator[str]:
    if not part["hours"]:
        yield "Not run."
        return
    yield from _events(part["events"])
    yield ""
    yield from _false(part["false"])


def _rules(found: Figures) -> Iterator[str]:
    together = "; ".join(", ".join(sorted(f)) for f in FAMILIES)
    longer = ", ".join(f"{k} {v / 60:.0f}" for k, v in WINDOW_S.items())
    lags = ", ".join(f"{k} {v / 60:.0f}" for k, v in LAG_S.items())
    yield from (
        "- Called is warning or critical. The first call of the right family counts that begins "
        f"between {EARLY_S:.0f} s before the event and its end, at most {USUAL_S / 60:.0f} min "
        f"after its start ({longer} min). An event ends later at surface by: {lags} min.",
        f"- Families, any of which is right: {together}. Every other kind stands alone.",
        "- DV50, DV95: volume that had come or gone at the call, which half and 95 % of the events "
        "do not exceed; a missed event has the volume at the end of its time, and `>` says that "
        "the quantile is such a one. p50, p95: delay of the events that were called.",
        "- again: more calls of the same kind in that time, per event. standing: a call of the "
        "family already stood when the event began, so it counts as missed, or called late. "
        "early, late: calls of the family before and after the time; early ones are false and "
        "counted in the twin, late ones are neither hits nor false.",
        f"- False calls of one kind closer than {EPISODE_S / 60:.0f} min are one; rates are of "
        f"tours of {found['tour_hours']:g} h without trouble and of trips. Bounds are one-sided, "
        "95 %, exact.",
        "- Events that did not come about: "
        f"{len(found['usual']['did_not_happen']) + len(found['other_rigs']['did_not_happen'])}.",
    )
