"""The alarms of the well file: nothing is an alarm without its reasons, well control is always on.

Sources: ANSI/ISA-18.2 and IEC 62682 (paid; not at hand) as told by HSE Chemicals Sheet 6; the
rules for well control are R-09, R-18 and R-19.
"""

from __future__ import annotations

from typing import Any

import pytest

from adapters.config_file import example_text, parse_well
from engine.alarms.budget import FILTER_S, reaction, too_slow
from engine.config import Alarm, Feed, parse_config
from engine.detect.bins import BIN_S
from engine.detect.kinds import CALL_CHANNELS
from engine.errors import ConfigError
from engine.ops import pressure_residual
from engine.states import STATE_IDS
from tests.engine.test_config import ALARM, WELL
from tests.helpers import ALARM_WORDS

CALL: dict[str, Any] = {
    "id": "influx", "label": "Influx", "channel": "call_influx", "severity": "warning",
    "priority": 1, "action": "Pick up and check for flow", **ALARM_WORDS,
}  # fmt: skip


def problems(*alarms: dict[str, Any], **more: Any) -> list[str]:
    with pytest.raises(ConfigError) as caught:
        parse_config(WELL | {"alarms": list(alarms)} | more, "well.toml")
    return list(caught.value.problems)


@pytest.mark.parametrize(
    "key", ["cause", "consequence", "action", "time_available_s", "limit_reason"]
)
def test_an_alarm_without_its_reasons_is_refused(key: str) -> None:
    """R-18: cause, consequence, action, time available; and why the limit is where it is."""
    lacking = {k: v for k, v in ALARM.items() if k != key}
    assert problems(lacking) == [f"alarms.0.{key}: missing; it must be given"]


@pytest.mark.parametrize("key", ["cause", "consequence", "limit_reason"])
def test_blanks_are_no_reason(key: str) -> None:
    (found,) = problems(ALARM | {key: "  "})
    assert found.startswith(f"alarms.0.{key}: must not be empty")


def test_a_time_available_of_nothing_is_refused() -> None:
    (found,) = problems(ALARM | {"time_available_s": 0})
    assert found == "alarms.0.time_available_s: must be greater than 0, got 0"


def test_there_is_no_key_that_turns_an_alarm_off() -> None:
    """R-10, R-12: no "disabled"."""
    for key in ("disabled", "enabled", "mute"):
        (found,) = problems(ALARM | {key: True})
        assert found.startswith(f"alarms.0.{key}: unknown key")


def test_a_well_control_alarm_of_priority_1_is_armed_in_every_state() -> None:
    """R-09, out of hole too."""
    armed = [name for name in STATE_IDS if name != "static"]
    (found,) = problems(CALL | {"well_control": True, "armed": armed})
    assert found == (
        "alarms.0.armed: a well-control alarm of priority 1 is armed in every state; leave "
        "`armed` out (it lacks static)"
    )
    for fine in ({"armed": [*STATE_IDS]}, {"priority": 2, "armed": armed}, {}):
        Alarm.model_validate(CALL | {"well_control": True} | fine)
    Alarm.model_validate(CALL | {"armed": armed})


@pytest.mark.parametrize(
    ("severity", "trips"), [("advice", [1, 2, 3]), ("warning", [2, 3]), ("critical", [3])]
)
def test_a_call_is_an_alarm_from_its_severity_upwards(severity: str, trips: list[int]) -> None:
    alarm = Alarm.model_validate(CALL | {"severity": severity})
    assert [n for n in (0, 1, 2, 3) if n > (alarm.high or 9)] == trips
    assert (alarm.low, alarm.deadband, alarm.re_alarm_step) == (None, 0.0, 1.0)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"severity": "grave"}, "alarms.0.severity: must be 'advice', 'warning' or 'critical'"),
        ({"high": 2}, "alarms.0.high: a call has no limit; write severity ="),
        ({"low_m3": 2}, "alarms.0.low_m3: a call has no limit; write severity ="),
        ({"deadband": 2}, "alarms.0.deadband: a call has no limit; write severity ="),
        ({"channel": "influx"}, "alarms.0.channel: no channel 'influx'; did you mean"),
        ({"channel": "pit_gain", "high_m3": 1}, "alarms.0.severity: 'pit_gain' has a limit;"),
    ],
)
def test_a_call_has_a_severity_and_a_channel_has_a_limit(change: dict[str, Any], said: str) -> None:
    assert problems(CALL | change)[0].startswith(said)


def test_a_call_without_a_severity_says_which_there_are() -> None:
    lacking = {k: v for k, v in CALL.items() if k != "severity"}
    assert problems(lacking)[0].startswith('alarms.0.severity: missing; write severity = "warning"')


def test_a_step_for_sounding_again_is_a_difference_and_keeps_no_zero_point() -> None:
    """NIST SP 811 (2008), B.9: a difference of 1 degC is 1 K."""
    assert Alarm.model_validate(ALARM | {"re_alarm_step_degC": 2}).re_alarm_step == 2.0


def test_a_reaction_is_the_sum_of_its_parts() -> None:
    """R-19: sample age, filter, on-delay, refresh. 1 + 0 + 15 + 0.5 s and 2 + 5 + 0 + 0.5 s."""
    pits = ALARM | {"channel": "pit_gain", "high_m3": 1, "on_delay_s": 15}
    del pits["high_degC"]
    assert reaction(Alarm.model_validate(pits), []).total_s == 16.5
    feeds = [Feed(name="file", interval_s=10), Feed(name="rig", port="COM3", interval_s=2)]
    assert reaction(Alarm.model_validate(CALL), feeds).total_s == 7.5


def test_a_well_control_alarm_that_is_too_slow_is_refused_and_says_where_the_time_goes() -> None:
    """R-19: 20 s; IOGP 21-6."""
    (found,) = problems(CALL | {"well_control": True, "on_delay_s": 15})
    assert found == (
        "alarms.0.on_delay_s: a well-control alarm answers within 20 s; this one may take 21.5 s: "
        "sample 1, filter 5, on-delay 15, refresh 0.5"
    )
    assert too_slow(Alarm.model_validate(CALL | {"on_delay_s": 15}), []) == ""


def test_the_filters_are_those_of_the_operators() -> None:
    assert FILTER_S["pressure_residual"] == pressure_residual.MEAN_S
    assert {FILTER_S[name] for name in CALL_CHANNELS} == {BIN_S}


def test_the_example_keeps_its_own_rules() -> None:
    """R-09: each P1 well-control alarm armed in each state; there are some."""
    alarms = parse_well(example_text(), "example").alarms
    control = [a for a in alarms if a.well_control and a.priority == 1]
    assert len(control) >= 5
    assert all(set(a.armed) == set(STATE_IDS) for a in control)
    assert all(a.cause and a.consequence and a.limit_reason for a in alarms)
