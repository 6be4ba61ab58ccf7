"""Events of the synthetic rig that the standpipe tells, and their twins that look like them.

The signatures are common practice; that small washouts are overlooked until the string parts is
told in Journal of Petroleum Exploration and Production Technology, 2021,
doi 10.1007/s13202-021-01203-4.
"""

from __future__ import annotations

import pytest

from engine.pipeline import Pipeline
from engine.sim.events import event
from engine.sim.rig import Rig
from engine.sim.scenarios import DEMO_HISTORY, Scenario, scenario
from tests.standpipe_rows import Told, board_of, told
from tests.tables import T0, raw_of, well

AT = 1500.0
WITHIN_S = {
    "washout": 450, "nozzle_lost": 30, "nozzle_plugged": 30, "twist_off": 30, "pump_fault": 240,
    "pack_off": 60,
}  # fmt: skip
"""Until the warning; the hole of the washout grows from nothing, by 1 % in 150 s. [s]"""
GROUNDS = {"calm": "hard", "rough": "soft"}


def played(what: Scenario, seed: int, seconds: float) -> Told:
    """Return the calls of the standpipe's detectors, without the advice."""
    config = well()
    table = Pipeline(config).process(raw_of(Rig(config, what, seed, T0).advance(seconds)))
    return [x for x in told(board_of().process(table)[2]) if x[2] != "advice"]


@pytest.mark.parametrize("noise", ["calm", "rough"])
@pytest.mark.parametrize("kind", WITHIN_S)
def test_an_event_is_called_in_time_and_as_nothing_else(kind: str, noise: str) -> None:
    what = event(kind, seed=7, at=AT, ground=GROUNDS[noise], noise=noise)
    begun = [x for x in played(what, 7, AT + 500) if x[2] != "end"]
    assert {x[1] for x in begun} == {kind}
    assert 0 < begun[0][0] - AT <= WITHIN_S[kind]


@pytest.mark.parametrize("noise", ["calm", "rough"])
@pytest.mark.parametrize("kind", WITHIN_S)
def test_its_twin_is_silent(kind: str, noise: str) -> None:
    what = event(kind, seed=7, at=AT, ground=GROUNDS[noise], noise=noise)
    assert played(what.twin(), 7, AT + 900) == []


@pytest.mark.parametrize("name", ["kick", "partial-loss", "total-loss", "stuck-sensor"])
def test_trouble_of_another_kind_is_none_of_the_standpipe(name: str) -> None:
    assert played(scenario(name), 3, 5400) == []


def test_the_demo_has_a_bridge_a_washout_and_a_pack_off_and_nothing_else() -> None:
    out = played(scenario("demo"), 1, DEMO_HISTORY + 36000)
    begun = [(kind, event) for _, kind, event in out if event != "end"]
    assert begun == [
        ("pack_off", "critical"), ("washout", "warning"), ("pack_off", "warning"),
        ("pack_off", "critical"),
    ]  # fmt: skip
    bridge, leak = out[0][0] - DEMO_HISTORY, next(t for t, k, _ in out if k == "washout")
    assert 160 < bridge < 320  # the pumps run again 270 s after the beginning
    assert 9000 < leak - DEMO_HISTORY < 9300
