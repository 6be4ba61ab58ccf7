"""Which call counts for an event: every number by hand."""

from __future__ import annotations

import numpy as np
import pytest

from engine.detect.kinds import EVENT_KINDS
from engine.score.calls import Call
from engine.score.families import FAMILIES, VOLUMES, family, window
from engine.score.match import Match, Truth, match, within
from engine.sim.truth import COLUMNS

SECOND = np.arange(1.0, 4001.0)


def kick(start: float = 1000.0, end: float = 4000.0, kind: str = "influx") -> Truth:
    """10 L come each second from `start` on; 2 m3 were in before."""
    return Truth(kind, start, end, SECOND, 2.0 + 0.010 * np.clip(SECOND - start, 0.0, None))


def call(kind: str, at: float, end: float | None = None, severity: int = 2) -> Call:
    return Call(kind, at, at + 10 if end is None else end, severity)


def test_the_first_call_of_the_family_counts_with_its_delay_and_volume() -> None:
    """120 s at 10 L/s are 1.2 m3."""
    found = match(kick(), [call("influx", 1300), call("influx", 1120), call("influx", 1900)])
    assert found == Match(True, 120.0, pytest.approx(1.2), "influx", (), 2, 0, 0, False)


@pytest.mark.parametrize(
    ("at", "called", "early", "late"),
    [(994.9, False, 1, 0), (995.0, True, 0, 0), (2800.0, True, 0, 0), (2800.1, False, 0, 1)],
)
def test_it_counts_from_five_seconds_before_to_half_an_hour_after(
    at: float, called: bool, early: int, late: int
) -> None:
    found = match(kick(), [call("influx", at, at + 1)])
    assert (found.called, found.early, found.late) == (called, early, late)
    assert found.delay == (max(0.0, at - 1000.0) if called else None)


def test_the_time_ends_with_the_event_if_that_is_shorter() -> None:
    """A missed event has what came by the end: 500 s at 10 L/s."""
    found = match(kick(end=1500.0), [call("influx", 1501)])
    assert (found.called, found.late, found.label) == (False, 1, "")
    assert found.volume == pytest.approx(5.0)


def test_an_event_longer_than_its_time_is_missed_with_the_volume_at_that_time() -> None:
    assert match(kick(), []).volume == pytest.approx(18.0)


def test_a_washout_has_an_hour_and_heat_comes_up_half_an_hour_later() -> None:
    wash = Truth("washout", 100.0, 9000.0, SECOND)
    assert wash.limits == (95.0, 3700.0)
    assert Truth("temperature_rise", 100.0, 1000.0, SECOND).limits == (95.0, 2800.0)
    assert match(wash, []).volume is None


def test_advice_is_no_call() -> None:
    assert not match(kick(), [call("influx", 1100, severity=1)]).called


def test_a_wrong_name_is_a_label_and_no_hit_and_a_sibling_is_a_hit() -> None:
    wrong = match(kick(), [call("washout", 1050), call("flow_pumps_off", 1200)])
    assert (wrong.called, wrong.delay) == (True, 200.0)
    assert (wrong.label, wrong.others) == ("washout", ("washout",))
    lost = match(kick(), [call("loss", 1050)])
    assert (lost.called, lost.label, lost.others) == (False, "loss", ("loss",))


def test_two_names_of_one_family_are_no_chatter_but_the_same_twice_is() -> None:
    calls = [call("loss", 1020), call("total_loss", 1030), call("loss", 1400)]
    assert match(kick(kind="total_loss"), calls).again == 1
    assert match(kick(kind="total_loss"), calls[:2]).again == 0


def test_of_one_moment_the_right_name_goes_first() -> None:
    assert match(kick(), [call("loss", 1100), call("influx", 1100)]).label == "influx"
    assert match(kick(kind="loss"), [call("loss", 1100), call("influx", 1100)]).label == "loss"


def test_a_call_that_stood_before_hides_the_event() -> None:
    found = match(kick(), [call("influx", 400, 3000)])
    assert (found.called, found.standing, found.early) == (False, True, 1)
    assert not match(kick(), [call("influx", 400, 900), call("loss", 400, 3000)]).standing


def test_what_goes_is_counted_like_what_comes() -> None:
    truth = Truth("undeclared_transfer", 10.0, 600.0, SECOND, -0.01 * SECOND)
    assert truth.volume_at(110.0) == pytest.approx(1.0)


def test_a_moment_belongs_to_a_spell_or_just_behind_it() -> None:
    spells = [(10.0, 20.0), (50.0, 60.0)]
    found = [within(call("influx", at), spells, 5.0) for at in (9.9, 10, 25, 25.1, 65)]
    assert found == [False, True, True, False, True]


def test_every_kind_has_a_family_a_time_and_a_column_that_exists() -> None:
    for kind in EVENT_KINDS:
        assert kind in family(kind)
        assert window(kind) >= 1800
    assert set(VOLUMES.values()) <= set(COLUMNS)
    assert len({k for f in FAMILIES for k in f}) == sum(map(len, FAMILIES))
    assert set().union(*FAMILIES) <= set(EVENT_KINDS)
