"""The sample schedule as a page to read or print: plain text, in the units of the well."""

from __future__ import annotations

from collections.abc import Mapping

from engine.config import WellConfig
from engine.records.journal import iso
from engine.records.samples import DrilledSample, Schedule
from engine.records.words import amount


def samples_text(schedule: Schedule, config: WellConfig) -> str:
    """Return the schedule as a page of at most 80 columns; times are UTC."""
    units = config.display_units()
    every = amount(schedule.every, "m", units)
    synthetic = "   SYNTHETIC DATA" if config.synthetic else ""
    page = [f"SAMPLES every {every}   {config.well}   rig {config.rig.name}{synthetic}"]
    if schedule.now is None:
        return "\n".join([*page, "nothing was recorded"]) + "\n"
    hole, lagged = (amount(x, "m", units) for x in (schedule.hole, schedule.lagged))
    page += [
        f"at {_when(schedule.now)} UTC: hole {hole}, at the shakers {lagged}",
        _next(schedule, units),
    ]
    if config.profile.cuttings_slip:
        slip = amount(config.profile.cuttings_slip, "m_s", units)
        page.append(f"cuttings are taken to fall through the mud at {slip}")
    page += ["", f"{'DEPTH':>12}  {'DRILLED':19}  AT THE SHAKERS"]
    page += [_line(sample, units) for sample in schedule.samples] or ["  none drilled"]
    return "\n".join(page) + "\n"


def _next(schedule: Schedule, units: Mapping[str, str]) -> str:
    sample = schedule.next
    if sample is None:
        return "no sample is on its way"
    depth = amount(sample.depth, "m", units)
    left = "unknown strokes" if sample.strokes is None else f"{sample.strokes:.0f} strokes"
    if sample.at is None:
        return f"next sample from {depth}: {left} to go, no flow now"
    clock = iso(sample.at)[11:16]
    return f"next sample from {depth} reaches the shakers at {clock}, {left} to go"


def _line(sample: DrilledSample, units: Mapping[str, str]) -> str:
    drilled = "unknown" if sample.drilled is None else _when(sample.drilled)
    return f"{amount(sample.depth, 'm', units):>12}  {drilled:19}  {_there(sample)}"


def _there(sample: DrilledSample) -> str:
    if sample.state == "surfaced" and sample.at is not None:
        return _when(sample.at)
    if sample.state == "unknown":
        return "unknown: the lag was lost while it was on its way"
    left = "" if sample.strokes is None else f", {sample.strokes:.0f} strokes to go"
    if sample.at is None:
        return f"when the pumps run again{left}"
    return f"expected {iso(sample.at)[11:19]}{left}"


def _when(at: float) -> str:
    text = iso(at)
    return f"{text[:10]} {text[11:19]}"
