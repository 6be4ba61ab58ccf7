"""Incidents of conduct: tests misread, nobody at the screen, volumes not compared.

Rows by hand at 1 Hz with the noise of `tests.pressure_rows`, through the whole engine, each with
a twin that must be silent or must pass. After the published accounts:

- National Commission on the BP Deepwater Horizon Oil Spill, Deep Water, 2011, ch. 4 (K-05, K-07);
- Montara Commission of Inquiry, report, 2010 (K-21).

Numbers of the scenarios are ours.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from engine.block import Block
from engine.commands import Acknowledge, CrownCheck, SlipLine
from engine.commands_trial import EndTrial, OverrideTrial, StartTrial
from engine.engine import Engine
from engine.records.catch_up import LONG_S, catch_up
from engine.records.journal import Entry, from_iso
from engine.records.trial_log import sentence, trials_between
from engine.snapshot import WatchView
from engine.units import BBL, FT, PSI
from tests.helpers import issue
from tests.pressure_rows import rig
from tests.tables import T0, block_of, table_of, well
from tests.trial_rows import Given, config, fields, journal, verdict
from tui.fold import Fold

BPM = BBL / 60
UNITS = well(display="oilfield").display_units()
START = 300
PAIR = {"name": "string and kill line", "limit_psi": 50.0,
        "channels": ["standpipe_pressure", "kill_line_pressure"]}  # fmt: skip


def negative_test(pipe: float, kill: float) -> dict[str, Block]:
    """SC-05: bled to nothing; the pressures build up within 30 min, the kill line is bled again."""
    n = START + 2000
    t = np.arange(n) - START
    up = np.clip(t / 1800, 0, 1)
    kill_line = kill * np.where(t < 900, up * 2, np.clip(1 - (t - 900) / 60, 0, 1))
    return rig(n, 0.0, 0.0, pipe * up, kill_line_pressure=kill_line)


def test_sc05_a_negative_test_that_is_not_met_says_so_whatever_the_crew_believes() -> None:
    """K-05, R-25, R-41: drill pipe to 1,400 psi, kill line to 140 and back to nothing."""
    given: list[Given] = [
        (START + 0.5, StartTrial("inflow-test", {"rise": 50 * PSI}, what="shoe track")),
        (START + 1900.5, OverrideTrial("", "Odd")),
        (START + 1901.5, OverrideTrial("bladder effect", "Ines")),
        (START + 1902.5, OverrideTrial("bladder effect", "Odd")),
    ]
    lines = journal(negative_test(1400.0, 140.0), given, of=config(pressure_pairs=[PAIR]))
    (one,) = trials_between(lines)
    assert one["verdict"] == "not met"
    said = sentence(one, UNITS)
    assert said.startswith("criteria not met: Standpipe pressure risen by 1")
    worst = one["breaches"][0]
    assert worst["value"] / PSI == pytest.approx(1400, abs=15)
    assert worst["limit"] == 50 * PSI
    assert said.split(";")[0].endswith("limit 50 psi")
    assert [b["what"] for b in one["breaches"]] == [
        "standpipe_pressure", PAIR["name"], "kill_line_pressure",
    ]  # fmt: skip
    # A reason and a second name, or it is no override.
    asked = [f for f in fields(lines, "command") if f["id"] == "override_trial"]
    assert ["refused" in f for f in asked] == [True, True, False]
    assert one["override"]["second"] == "Odd"
    assert one["verdict"] == "not met"  # an override does not rewrite it
    # Told as soon as 50 psi are passed, not after half an hour: 1,400 psi in 30 min.
    first = fields(lines, "trial", "beyond")[0]
    assert from_iso(first["at"]) - T0 - START == pytest.approx(50 / 1400 * 1800, abs=15)
    (trip,) = (f for f in fields(lines, "alarm", "trip") if f["id"] == "test-limit-inflow")
    assert trip["priority"] == 1
    assert "paired_pressure_mismatch" in {f["id"] for f in fields(lines, "event")}


def test_sc05_twin_that_holds_is_met() -> None:
    lines = journal(
        negative_test(20.0, 20.0),
        [(START + 0.5, StartTrial("inflow-test", {"rise": 50 * PSI}))],
        of=config(pressure_pairs=[PAIR]),
    )
    assert verdict(lines)["verdict"] == "met"
    assert urgent(lines) == []
    assert fields(lines, "event") == []


KICK = 900
N_KICK = KICK + 1200


def drilled(bpm: float) -> dict[str, Block]:
    """Return drilling with a well that flows from `KICK` on."""
    t = np.arange(N_KICK)
    flows = np.where(t < KICK, 0.0, bpm)
    raw = rig(N_KICK, 600.0, 600.0 + 42 * flows, 2500.0)
    pit = raw["pit_volume"]
    return raw | {"pit_volume": block_of(pit.t, pit.value + np.cumsum(flows) * BPM)}


def urgent(lines: Any) -> list[dict[str, Any]]:
    """Return the trips of alarms of priority 1."""
    return [f for f in fields(lines, "alarm", "trip") if f["priority"] == 1]


def test_sc07_nobody_at_the_screen_is_told_louder_and_can_catch_up() -> None:
    """K-07, R-14, R-37: no key for 8 min after the alarm."""
    whole = journal(drilled(2.0), [])
    first = from_iso(urgent(whole)[0]["at"])
    name = urgent(whole)[0]["id"]
    away = first - T0 + 480.5
    lines = journal(drilled(2.0), [(away, Acknowledge())])
    louder = [f for f in fields(lines, "alarm", "escalate") if f["id"] == name]
    assert [from_iso(f["at"]) - first for f in louder] == [30.0, 60.0]
    assert [f["level"] for f in louder] == [1, 2]
    # What somebody sees who comes back after those 8 min.
    back = T0 + away
    found = catch_up(lines, back, UNITS)
    assert [one.seq for one in found] == sorted(one.seq for one in found)
    assert [one.at for one in found] == sorted(one.at for one in found)
    wanted = [line.seq for line in lines if back - 600 <= line.at <= back]
    assert [one.seq for one in found] == wanted  # nothing is left out
    told = [one.text for one in found if one.urgent]
    label = urgent(whole)[0]["label"]
    assert told[0].startswith(f"P1 {label}: ALARM")
    assert sum("not acknowledged for 30 s" in text for text in told) >= 1
    assert "acknowledge by Ines" in found[-1].text or "acknowledged" in found[-1].text
    longer = catch_up(lines, back, UNITS, LONG_S)
    assert longer[-len(found) :] == found
    assert len(longer) > len(found)


def test_sc07_twin_is_acknowledged_and_not_told_louder() -> None:
    first = from_iso(urgent(journal(drilled(2.0), []))[0]["at"]) - T0
    early: list[Given] = [(at + 0.5, Acknowledge()) for at in range(int(first), N_KICK, 5)]
    assert fields(journal(drilled(2.0), early), "alarm", "escalate") == []
    dead = journal(drilled(0.0), [])
    assert urgent(dead) == []
    assert fields(dead, "event") == []


def bled_back(total: float, still: float, pumped: float) -> dict[str, Block]:
    """SC-21: bled within 20 min, `still` bbl/min goes on, `pumped` bbl go back after 40 min."""
    n = START + 4000
    t = np.arange(n) - START
    back = total * np.clip(t / 1200, 0, 1) + still * np.clip(t - 1200, 0, None) / 60
    gpm = np.where((t > 2400) & (t <= 3000), pumped * 42 / 10, 0.0)
    raw = rig(n, gpm, 0.0, 0.0)
    gone = np.cumsum(gpm) / 42 / 60
    rng = np.random.default_rng(7)
    tank = 20 + back - gone + 0.05 * rng.standard_normal(n)
    return raw | {"trip_tank_volume": block_of(raw["flow_out"].t, tank * BBL)}


EXPECTED = StartTrial("bleed-back", {"expected": 9.25 * BBL}, what="7 in shoe")


def test_sc21_more_comes_back_than_was_squeezed_in() -> None:
    """K-21, R-40: 9.25 bbl expected; 16.5 and still 0.3 bbl/min; the alarm at 110 %, 10.2 bbl."""
    given: list[Given] = [(START + 0.5, EXPECTED), (START + 2300.5, EndTrial())]
    lines = journal(bled_back(16.5, 0.3, 0.0), given)
    (trip,) = (f for f in fields(lines, "alarm", "trip") if f["id"] == "test-limit-inflow")
    at_alarm = 16.5 * (from_iso(trip["at"]) - T0 - START) / 1200
    assert 10.175 <= at_alarm <= 10.175 + 0.8  # half a minute of means at 0.8 bbl/min
    found = verdict(lines)
    assert found["verdict"] == "not met"
    assert {b["what"] for b in found["breaches"]} == {"returned", "still flowing"}
    assert found["numbers"]["flow_m3_s"] / BPM == pytest.approx(0.3, abs=0.03)
    assert found["numbers"]["returned_m3"] / BBL > 16.5


def test_sc21_more_is_pumped_back_than_came() -> None:
    """Reinjected 18 bbl against 16.5."""
    wide = StartTrial("bleed-back", {"expected": 16.5 * BBL})
    given: list[Given] = [(START + 0.5, wide), (START + 3500.5, EndTrial())]
    found = verdict(journal(bled_back(16.5, 0.0, 18.0), given))
    assert found["verdict"] == "not met"
    (breach,) = found["breaches"]
    assert breach["what"] == "pumped back"
    assert breach["value"] / BBL == pytest.approx(18.0, abs=0.4)
    assert breach["limit"] / BBL == pytest.approx(16.5, abs=0.3)


def test_sc21_twin_gives_back_what_was_expected_and_takes_it_again() -> None:
    given: list[Given] = [(START + 0.5, EXPECTED), (START + 3500.5, EndTrial())]
    lines = journal(bled_back(9.25, 0.0, 9.25), given)
    assert verdict(lines)["verdict"] == "met"
    assert not [f for f in fields(lines, "alarm", "trip") if f["id"].startswith("test-limit")]


def hoisted(speed: float) -> list[dict[str, Any]]:
    """Return the alarms of an empty block that goes up to its limit at `speed` [m/s]."""
    top = well().rig.crown_limit
    z = 14.0 + speed * np.minimum(np.arange(240.0), (top - 14.0) / speed)
    raw = table_of(block_position=z, hook_load=well().rig.block_weight)
    return fields(journal(raw, []), "alarm", "trip")


def test_sc23_a_block_on_its_way_to_the_crown_and_a_check_that_is_due() -> None:
    """K-23, R-42, R-43: 4 ft/s with 12 ft left is 3 s; due after a slip until it is signed."""
    (trip,) = (f for f in hoisted(4 * FT) if f["id"] == "crown-time")
    left = (well().rig.crown_limit - 14.0) / (4 * FT) - (from_iso(trip["at"]) - T0)
    assert trip["priority"] == 1
    assert 3.0 <= left <= 4.0
    engine, fold = Engine(config(), Entry(T0 - 60, "watch", "Emberholt 4", "start")), Fold(config())
    due = []
    for at, command in ((0.0, CrownCheck()), (60.0, SlipLine(12.0, 24.0)), (120.0, CrownCheck())):
        fold.happenings.take(engine.take([issue(command, T0 + at)])[1])
        due.append(fold.snapshot(T0 + at + 1, WatchView(True, 0.0), ()).crown_due != "")
    assert due == [False, True, False]


def test_sc23_twin_at_half_a_foot_a_second_is_silent() -> None:
    assert [f for f in hoisted(0.5 * FT) if f["id"] == "crown-time"] == []
