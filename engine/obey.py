"""What each command of a person does to the engine, and what the journal says of it."""

from __future__ import annotations

from math import inf, isfinite, nan
from typing import TYPE_CHECKING, Any

from engine.commands import (
    Command,
    DeclareJob,
    DeclareTransfer,
    DeclareTrip,
    Issued,
    MarkPump,
    RebaseBalance,
    SetDepth,
    SetLines,
    SlipLine,
    TareNow,
    ZeroPits,
)
from engine.commands_trial import MarkTrial, OverrideTrial, StartTrial
from engine.config_trip import MOST_PROGRAMME
from engine.detect.balance import PUMPING
from engine.detect.call import JOBS, Declared, Job
from engine.records.journal import Entry
from engine.records.upkeep import refusal
from engine.trials.trial import LEAD_S

if TYPE_CHECKING:
    from engine.engine import Engine

Details = dict[str, Any]
"""JSON values, the unit in the key; ``refused`` says in words why nothing was done."""


def obey(engine: Engine, command: Command, at: float) -> Details:
    """Carry out `command`, given at `at` [s]; commands to alarms and to the watch do nothing here.

    Returns
    -------
    dict
        What the journal adds to the command's own fields.
    """
    if isinstance(command, ZeroPits):
        old, new = engine.pipeline.volume.zero()
        why = "no good pit volume in the last minute; the zero stays"
        return _bases(old, new, why)
    if isinstance(command, RebaseBalance):
        old, new = engine.detectors.balance.rebase()
        return _bases(old, new, "the volume balance knows nothing now; the base stays")
    if isinstance(command, DeclareTransfer):
        return _declare(engine, command, at)
    if isinstance(command, DeclareTrip):
        return _declare_trip(engine, command)
    if isinstance(command, DeclareJob):
        return _declare_job(engine, command, at)
    if isinstance(command, SetDepth):
        engine.pipeline.motion.set_depth(command.bit_depth, command.hole_depth)
        engine.pipeline.trip_fill.depth_set(command.bit_depth)
    elif isinstance(command, TareNow):
        return {"tare_N": engine.pipeline.motion.tare_now()}
    elif isinstance(command, SetLines):
        return _set_lines(engine, command)
    elif isinstance(command, SlipLine | MarkPump):
        return {**refusal(command, engine.config)}
    return {}


def obey_trial(engine: Engine, issued: Issued) -> tuple[Details, list[Entry]]:
    """Carry out a command to a test or drill; return details and what the journal adds."""
    command, trials, more = issued.command, engine.trials, list[Entry]()
    if isinstance(command, StartTrial):
        b = engine.detectors.balance.state
        off = isfinite(b.settled_flow) and b.flow <= PUMPING
        details = trials.start(issued, command, b.changed_at if off else nan)
        if (one := trials.running) is not None and one.job and "refused" not in details:
            # An hour to pump up and line up; it ends with the test, and never after that.
            end = issued.at + one.limits["minutes"] + LEAD_S
            engine.detectors.declare_job(Job(issued.at, one.job, end))
    elif isinstance(command, MarkTrial):
        details = trials.mark(issued, command)
    elif isinstance(command, OverrideTrial):
        details = trials.override(issued, command)
    else:
        job = trials.running.job if trials.running else ""
        details, more = trials.end(issued.at)
        engine.detectors.end_job(job, issued.at)
    return details, more


def _bases(old: float | None, new: float | None, refused: str) -> Details:
    out: Details = {"old_base_m3": old, "new_base_m3": new}
    return out if new is not None else out | {"refused": refused}


def _set_lines(engine: Engine, command: SetLines) -> Details:
    old = engine.pipeline.hoisting.state.lines
    refused = refusal(command, engine.config)
    if not refused:
        engine.pipeline.set_lines(command.lines)
    return {"old_lines": old, **refused}


def _declare(engine: Engine, command: DeclareTransfer, at: float) -> Details:
    if not command.volume:
        return {"refused": "the volume is 0; give what comes into the active pits, or leaves them"}
    if command.flow <= 0 or command.minutes <= 0:
        return {"refused": "flow and minutes must be above 0"}
    end = at + 60.0 * command.minutes
    engine.detectors.declare(Declared(at, command.what, command.volume, command.flow, end))
    return {"until": end}


def _declare_job(engine: Engine, command: DeclareJob, at: float) -> Details:
    if command.job not in JOBS:
        return {"refused": f"no job {command.job!r}; give one of {', '.join(JOBS)}"}
    if not 0 <= command.minutes < inf:
        return {"refused": f"{command.minutes:g} minutes: give how long it lasts, or 0 to end it"}
    end = at + 60.0 * command.minutes
    engine.detectors.declare_job(Job(at, command.job, end))
    return {"until": end}


def _declare_trip(engine: Engine, command: DeclareTrip) -> Details:
    recovered, stands = command.recovered_share, command.programme_stands
    refused = ""
    if not 0 <= recovered <= 1:
        refused = f"recovered share {recovered:g}: give a share of the bore's mud, 0 to 1"
    elif recovered and not command.wet:
        refused = f"recovered share {recovered:g} of a dry bore: declare it wet, or recover nothing"
    elif not 0 <= stands <= MOST_PROGRAMME:
        refused = (
            f"a fill every {stands} stands: give 1 to {MOST_PROGRAMME}, or 0 for a fill as each "
            "stand is pulled"
        )
    if refused:
        return {"refused": refused}
    spilled, programme = engine.pipeline.trip_fill.declare(
        1.0 - recovered if command.wet else 0.0, stands
    )
    return {"old_spilled_share": spilled, "old_programme_stands": programme}
