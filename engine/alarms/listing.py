"""The alarms of a well file as a list: what each is, why, what to do, and how fast it answers."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from textwrap import wrap
from typing import Any

from engine.alarms.budget import reaction
from engine.alarms.entries import unit_of
from engine.alarms.limits import limit_of
from engine.channels import CHANNELS
from engine.config import Alarm, WellConfig
from engine.states import STATE_IDS
from engine.units import UNITS

WIDTH = 80


def alarm_list(config: WellConfig) -> list[dict[str, Any]]:
    """Return every alarm with all that belongs to it, in the order of the file.

    Returns
    -------
    list of dict
        JSON values: the keys of the well file, limits in the SI unit named; ``armed`` is None for
        every state; reaction_s is the sum of sample_s, filter_s, on_delay_s and refresh_s; and
        ``late`` says that this is longer than the time available.
    """
    out = []
    for alarm in config.alarms:
        parts = reaction(alarm, config.feeds)
        out.append(
            {
                "id": alarm.id,
                "label": alarm.label,
                "priority": alarm.priority,
                "well_control": alarm.well_control,
                "channel": alarm.channel,
                "side": "high" if alarm.high is not None else "low",
                "limit": limit_of(alarm),
                "severity": alarm.severity,
                "unit": unit_of(alarm.channel).id,
                "deadband": alarm.deadband,
                "on_delay_s": alarm.on_delay_s,
                "off_delay_s": alarm.off_delay_s,
                "re_alarm_s": alarm.re_alarm_s,
                "re_alarm_step": alarm.re_alarm_step,
                "latching": alarm.latching,
                "group": alarm.group,
                "armed": None if set(STATE_IDS) <= {*alarm.armed} else list(alarm.armed),
                "limit_reason": alarm.limit_reason,
                "cause": alarm.cause,
                "consequence": alarm.consequence,
                "action": alarm.action,
                "time_available_s": alarm.time_available_s,
                "sample_s": parts.sample_s,
                "filter_s": parts.filter_s,
                "refresh_s": parts.refresh_s,
                "reaction_s": parts.total_s,
                "late": parts.total_s > alarm.time_available_s,
            }
        )
    return out


def list_text(config: WellConfig) -> str:
    """Return the list as a page of 80 columns, the most urgent alarms first."""
    units = config.display_units()
    page = [f"ALARMS   {config.well}   rig {config.rig.name}"]
    alarms = {alarm.id: alarm for alarm in config.alarms}
    for one in sorted(alarm_list(config), key=lambda one: int(one["priority"])):
        well_control = "   WELL CONTROL" if one["well_control"] else ""
        page += ["", f"P{one['priority']}  {one['label']}   ({one['id']}){well_control}"]
        for name, words in _lines(one, alarms[str(one["id"])], units):
            page += wrap(
                f"    {name:13}{words}", WIDTH, subsequent_indent=" " * 17,
                break_long_words=False, break_on_hyphens=False,
            )  # fmt: skip
    if not alarms:
        page.append("none")
    return "\n".join(page) + "\n"


def _lines(
    one: Mapping[str, Any], alarm: Alarm, units: Mapping[str, str]
) -> Iterator[tuple[str, str]]:
    yield "trips", _trips(alarm, units)
    yield "why there", alarm.limit_reason
    yield "cause", alarm.cause
    yield "consequence", alarm.consequence
    yield "action", alarm.action
    yield "time", f"{alarm.time_available_s:g} s from the alarm to the consequence"
    late = "; LATER THAN THE TIME THERE IS" if one["late"] else ""
    yield (
        "answers in",
        f"{one['reaction_s']:g} s: sample {one['sample_s']:g}, filter {one['filter_s']:g}, "
        f"on-delay {one['on_delay_s']:g}, refresh {one['refresh_s']:g}{late}",
    )
    yield "armed", "in every state" if one["armed"] is None else ", ".join(one["armed"])


def _trips(alarm: Alarm, units: Mapping[str, str]) -> str:
    again = f"; again after {alarm.re_alarm_s:g} s" if alarm.re_alarm_s else ""
    latching = "; latching" if alarm.latching else ""
    if alarm.severity:
        kind = alarm.channel.removeprefix("call_").replace("_", " ")
        up = "" if alarm.severity == "critical" else " and up"
        return f"call of {kind}, {alarm.severity}{up}{again}{latching}"
    unit = UNITS[units[unit_of(alarm.channel).quantity]]

    def shown(value: float) -> str:
        return f"{value:.{unit.decimals}f} {unit.symbol}".strip()

    side = "above" if alarm.high is not None else "below"
    # A difference has no zero point: a temperature's offset must not enter it.
    deadband = f", deadband {shown(alarm.deadband / unit.factor)}" if alarm.deadband else ""
    off = f", off-delay {alarm.off_delay_s:g} s" if alarm.off_delay_s else ""
    if alarm.re_alarm_step:
        again += f"; again {shown(alarm.re_alarm_step / unit.factor)} further"
    name = CHANNELS[alarm.channel].label
    limit = shown(unit.from_si(limit_of(alarm)))
    return f"{name} {side} {limit}{deadband}{off}{again}{latching}"
