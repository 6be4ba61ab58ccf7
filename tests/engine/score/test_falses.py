"""False calls, blind minutes and precision, every number worked out by hand."""

from __future__ import annotations

import pytest

from engine.score.calls import Blind
from engine.score.falses import blind_figures, false_figures, precision_figures, twin_figures
from engine.score.scores import event_figures, judge
from tests.engine.score.runs import call, kick, tour

BUILT = ("influx", "loss")


def test_thirty_clean_tours_show_no_more_than_one_in_ten() -> None:
    """Garwood 1936: none in 30 tours is below 3.0 / 30, four in 100 below 9.15 / 100."""
    found = false_figures([tour() for _ in range(30)], BUILT)["all"]
    assert (found["count"], found["hours"], found["per_12_h"]) == (0, 360.0, 0.0)
    assert found["upper_per_12_h"] == pytest.approx(0.0999, abs=1e-4)
    loud = [tour(call("influx", 50)) for _ in range(4)] + [tour() for _ in range(96)]
    found = false_figures(loud, BUILT)["all"]
    assert found["per_12_h"] == pytest.approx(0.04)
    assert found["upper_per_12_h"] == pytest.approx(0.0915, abs=1e-4)


def test_episodes_are_counted_and_advice_is_counted_apart() -> None:
    run = tour(
        call("influx", 0), call("influx", 200), call("influx", 1000), call("loss", 205),
        call("loss", 5000, severity=1),
    )  # fmt: skip
    found = false_figures([run], BUILT)
    assert found["all"]["count"] == 3
    assert {k: v["count"] for k, v in found["by_kind"].items()} == {"influx": 2, "loss": 1}
    assert {k: v["count"] for k, v in found["advice"].items()} == {"influx": 0, "loss": 1}


def test_rates_by_noise_and_by_state_have_their_own_hours() -> None:
    """One in 24 h of poor sensors is half in 12; one in 18 h in slips is two thirds."""
    runs = [
        tour(call("influx", 9), noise="poor", state="in_slips"), tour(noise="poor"), tour(),
    ]  # fmt: skip
    found = false_figures(runs, BUILT)
    poor, calm = found["by_noise"]["poor"], found["by_noise"]["calm"]
    assert (poor["hours"], poor["per_12_h"], poor["kinds"]) == (24.0, 0.5, {"influx": 1})
    assert (calm["hours"], calm["per_12_h"], calm["kinds"]) == (12.0, 0.0, {})
    slips = found["by_state"]["in_slips"]
    assert slips["hours"] == 18.0
    assert slips["per_12_h"] == pytest.approx(2 / 3)
    assert found["by_state"]["drilling_rotary"]["count"] == 0
    assert found["by_job"]["tour"]["count"] == 1


def test_a_call_that_is_right_by_itself_is_not_false() -> None:
    run = tour(call("sensor_fault", 9), call("influx", 9), right=frozenset({0}))
    found = false_figures([run], ("sensor_fault", "influx"))
    assert {k: v["count"] for k, v in found["by_kind"].items()} == {"sensor_fault": 0, "influx": 1}
    assert found["right"] == 1


def test_without_a_tour_nothing_is_known() -> None:
    found = false_figures([], BUILT)["all"]
    assert (found["per_12_h"], found["upper_per_12_h"]) == (None, None)
    assert blind_figures([], BUILT)["loss"]["minutes_per_12_h"] is None


def test_twins_count_runs_and_not_calls() -> None:
    twins = [
        tour(call("influx", 1), call("influx", 900), role="twin", kind="influx"),
        tour(call("loss", 1, severity=1), role="twin", kind="influx"),
    ]
    assert twin_figures(twins) == {"influx": {"runs": 2, "with_false": 1, "kinds": {"influx": 1}}}


def test_blind_minutes_are_of_twelve_hours() -> None:
    """120 + 60 s in 24 h are 1.5 min in 12."""
    spells = (
        Blind("loss", 0, 120, "no flow_in"), Blind("loss", 500, 560, "no pit_volume"),
        Blind("influx", 0, 6, "no pit_volume"),
    )  # fmt: skip
    found = blind_figures([tour(blind=spells), tour()], BUILT)
    assert found["loss"] == {"minutes_per_12_h": 1.5, "mostly": "no flow_in"}
    assert found["influx"]["minutes_per_12_h"] == pytest.approx(0.05)


def test_precision_is_of_all_events_with_one_name() -> None:
    """Three of four are called, one false in 12 h, an event in 100: 0.0075 of 1.0075.

    At least: 3 of 4 are above 0.2486 (beta quantile 0.05 of 3 and 2), one false is below 4.744.
    """
    hits = [kick(call("influx", 1100)) for _ in range(3)]
    seep = kick(call("loss", 1100), kind="seepage", called="loss")
    events = event_figures(judge([*hits, kick(), seep]), frozenset(BUILT))
    false = false_figures([tour(call("influx", 3))], BUILT)
    found = precision_figures(events, false)
    assert set(found) == {"influx", "loss"}
    assert (found["loss"]["recall"], found["loss"]["precision"]) == (1.0, 1.0)
    assert found["influx"]["recall"] == 0.75
    assert found["influx"]["precision"] == pytest.approx(0.0075 / 1.0075)
    assert found["influx"]["lower"] == pytest.approx(0.002486 / 4.7464, rel=1e-3)
