"""One alarm of the well file; import it from `engine.config`."""

from __future__ import annotations

from collections.abc import Mapping
from difflib import get_close_matches
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, Field, StringConstraints, model_validator

from engine.channels import CHANNELS
from engine.config_base import (
    Count,
    Flag,
    Model,
    NotNegative,
    Number,
    Positive,
    TableError,
    Text,
    Wrong,
    in_si,
    keys_of,
)
from engine.detect.kinds import CALL_CHANNELS, Severity
from engine.states import STATE_IDS
from engine.units import UNITS

Words = Annotated[str, StringConstraints(strip_whitespace=True, min_length=1)]

_BELOW = 0.5
"""A call trips an alarm from its severity upwards; a limit is tripped only above it. [-]"""


def _channel(name: str) -> str:
    known = (*CHANNELS, *CALL_CHANNELS)
    if name not in known:
        near = get_close_matches(name, known, n=1) or get_close_matches(f"call_{name}", known, n=1)
        raise ValueError(f"no channel {name!r}" + (f"; did you mean {near[0]!r}?" if near else ""))
    return name


def known_state(state: str) -> str:
    """Return the rig state `state`; `ValueError` names the nearest one if there is none."""
    if state not in STATE_IDS:
        near = get_close_matches(state, STATE_IDS, n=1)
        hint = f"did you mean {near[0]!r}?" if near else f"states are {', '.join(STATE_IDS)}"
        raise ValueError(f"no rig state {state!r}; {hint}")
    return state


class Alarm(Model):
    """One limit with everything an alarm needs before it may exist; limits are SI inside."""

    id: Annotated[str, Field(pattern=r"^[a-z0-9][a-z0-9-]*$")]
    label: Text
    channel: Annotated[Text, AfterValidator(_channel)]
    """A channel, or ``call_<kind>`` for what a detector calls."""
    high: Number | None = None
    low: Number | None = None
    severity: Literal["advice", "warning", "critical"] | None = None
    """Of a call, in place of a limit: from this severity upwards it is an alarm."""
    deadband: NotNegative = 0.0
    on_delay_s: NotNegative = 0.0
    off_delay_s: NotNegative = 0.0
    re_alarm_s: Positive | None = None
    """An acknowledged alarm still abnormal after this sounds again; None: never. [s]"""
    re_alarm_step: Positive | None = None
    """An acknowledged alarm sounds again when its value has gone this much further since; None:
    never. A call sounds again at the next severity."""
    priority: Annotated[Count, Field(ge=1, le=4)]
    well_control: Flag = False
    """It speaks of the well flowing or of losing the means to see it; of priority 1 it is armed
    in every rig state, and it answers within 20 s."""
    armed: tuple[Annotated[str, AfterValidator(known_state)], ...] = STATE_IDS
    """Rig states in which it is armed; a list, or left out for all of them."""
    latching: Flag = False
    group: str = ""
    """Alarms that one trouble sets off together; which of them came first is marked. Those that
    name none are one group."""
    cause: Words
    consequence: Words
    action: Annotated[str, StringConstraints(strip_whitespace=True, min_length=10)]
    """What the driller does. No action, no alarm."""
    time_available_s: Positive
    """From the alarm until the consequence, if nobody does anything. [s]"""
    limit_reason: Words
    """Why the limit, or the severity, is where it is."""

    @model_validator(mode="before")
    @classmethod
    def _limits(cls, raw: Any) -> Any:
        if not isinstance(raw, Mapping):
            return raw
        out = dict(raw)
        name = str(out.get("channel"))
        if name in CALL_CHANNELS:
            _take_severity(out)
            return out
        channel = CHANNELS.get(name)
        for key in ("high", "low", "deadband", "re_alarm_step"):
            take_limit(out, key, channel.quantity if channel else "")
        if channel and "severity" in out:
            out["severity"] = Wrong(f"{name!r} has a limit; only a call has a severity", "severity")
        return out

    @model_validator(mode="after")
    def _whole(self) -> Alarm:
        problems = []
        if (self.high is None) == (self.low is None):
            text = (
                "give either a high or a low limit, not both"
                if self.high is not None
                else "give a limit: high_<unit> or low_<unit>; of a call: severity"
            )
            problems.append(("high", text))
        if self.well_control and self.priority == 1 and (off := set(STATE_IDS) - {*self.armed}):
            lacking = ", ".join(name for name in STATE_IDS if name in off)
            text = (
                "a well-control alarm of priority 1 is armed in every state; leave `armed` out "
                f"(it lacks {lacking})"
            )
            problems.append(("armed", text))
        if problems:
            raise TableError(problems)
        return self


def _take_severity(out: dict[str, Any]) -> None:
    """Put the limit that stands for the severity of a call."""
    for key in [str(k) for k in out]:
        if key.split("_")[0] in ("high", "low", "deadband") or key.startswith("re_alarm_step"):
            good = 'a call has no limit; write severity = "warning" (or "advice", "critical")'
            out[key.split("_")[0] if key[0] != "r" else "re_alarm_step"] = Wrong(good, key)
    severity = out.get("severity")
    names = {one.id: float(one) for one in Severity if one}
    if "high" not in out and severity in names:
        out["high"] = names[severity] - _BELOW
    elif severity is None and "high" not in out:
        good = 'missing; write severity = "warning" (or "advice", "critical")'
        out["severity"] = Wrong(good, "severity")
    out.setdefault("re_alarm_step", 1.0)


def take_limit(out: dict[str, Any], name: str, quantity: str) -> None:
    """Replace ``high_<unit>`` by ``high`` in SI; with an unknown channel any unit will do."""
    written = [str(k) for k in out if str(k).startswith(f"{name}_")]
    good = keys_of(name, quantity) if quantity else f"{name}_<unit of the channel>"
    if name in out:
        if quantity != "none":
            out[name] = Wrong(f"needs its unit in the key: {good}", name)
        elif written:
            out[name] = Wrong(f"given twice, as {name} and {written[0]}; keep one", name)
    elif len(written) > 1:
        out[name] = Wrong(f"given twice, as {' and '.join(written)}; keep one", written[1])
    elif written:
        key = written[0]
        unit = UNITS.get(key.removeprefix(f"{name}_"))
        if unit is None or (quantity and unit.quantity != quantity):
            text = f"the channel {out.get('channel')!r} takes {good}"
            out[name] = Wrong(f"wrong unit; {text}", key)
        else:
            difference = name in ("deadband", "re_alarm_step")
            out[name] = in_si(out[key], unit, key, difference=difference)
    for key in written:
        del out[key]
