"""One test at a time, criteria first, a sealed record, and nothing that it disarms (R-25, R-68)."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from engine.commands import Acknowledge, Command
from engine.commands_trial import EndTrial, MarkTrial, OverrideTrial, StartTrial
from engine.records.codec import decode_command, encode_command
from engine.records.journal import broken_at, from_iso, read
from engine.records.trial_log import trials_between, trials_text
from engine.records.words import what
from engine.units import BBL, PSI
from tests.pressure_rows import ramp, rig
from tests.tables import NAN, T0, block_of, well
from tests.trial_rows import Given, fields, journal, verdict

BPM = BBL / 60
DRILL = StartTrial("pit-drill", {"detect": 60.0, "act": 120.0})


def refused(*given: Given) -> list[str]:
    """Return why each command was refused, in order; empty where it was not."""
    lines = journal(rig(60), given)
    names = ("start_trial", "mark_trial", "end_trial", "override_trial")
    return [f.get("refused", "") for f in fields(lines, "command") if f["id"] in names]


@pytest.mark.parametrize(
    ("command", "words"),
    [
        (StartTrial("flowcheck", {}), "no trial 'flowcheck'; give one of flow-check, inflow-test"),
        (StartTrial("flow-check", {"minutes": 45.0}), "minutes 45: how long it lasts; give 600 or"),
        (StartTrial("casing-test", {}), "casing-test: pressure is missing: the test pressure"),
        (StartTrial("casing-test", {"pressure": 3e7, "decline": 0.2}), "decline 0.2"),
        (StartTrial("bop-test", {"pressure": NAN}), "pressure nan"),
        (StartTrial("bop-test", {"presure": 3e7}), "no criterion 'presure'; it takes pressure, mi"),
        (StartTrial("inflow-test", {}, "kill_line"), "no channel 'kill_line'"),
        (StartTrial("inflow-test", {}, "bit_depth"), "bit_depth is not watched in tests; give pit"),
        (MarkTrial("detected"), "no test or drill is running"),
        (EndTrial(), "no test or drill is running"),
        (OverrideTrial("because", "Odd"), "there is no verdict yet"),
    ],
)
def test_what_cannot_be_is_refused_in_words(command: Command, words: str) -> None:
    (why,) = refused((10.5, command))
    assert words in why


def test_one_at_a_time_and_only_drills_have_moments() -> None:
    check = StartTrial("flow-check", {})
    why = refused((10.5, check), (11.5, DRILL), (12.5, MarkTrial("detected")))
    assert why[0] == ""
    assert why[1].startswith("a flow-check is running since ")
    assert why[2] == "a flow-check has no moment 'detected'; only drills have"


@pytest.mark.parametrize(
    ("command", "words"),
    [
        (OverrideTrial(" ", "Odd"), "write a reason"),
        (OverrideTrial("gauge", ""), "a second person must answer for it"),
        (OverrideTrial("gauge", " ines "), "a second person must answer for it"),
    ],
)
def test_nobody_passes_a_test_alone_or_without_a_reason(command: Command, words: str) -> None:
    """R-25."""
    given: list[Given] = [(10.5, StartTrial("flow-check", {})), (30.5, EndTrial()), (31.5, command)]
    assert words in refused(*given)[-1]


def test_an_override_leaves_the_verdict_and_is_given_once() -> None:
    good = OverrideTrial("the gauge is being replaced", "Odd")
    given: list[Given] = [(10.5, StartTrial("flow-check", {})), (30.5, EndTrial()), (31.5, good)]
    assert refused(*given, (32.5, good))[-2:] == ["", "the flow-check was overridden before"]
    lines = journal(rig(60), given)
    (one,) = trials_between(lines)
    assert one["verdict"] == "too short"
    assert one["override"] == {
        "at": one["override"]["at"], "by": "Ines", "second": "Odd",
        "reason": "the gauge is being replaced",
    }  # fmt: skip
    page = trials_text([one], well())
    assert "ACCEPTED by Ines and Odd: the gauge is being replaced" in page
    assert "criteria before the start: minutes 600 s" in page
    assert max(map(len, page.splitlines())) <= 80
    assert broken_at(lines) is None
    forged = [
        type(line)(line.seq, line.at, line.text.replace('"too short"', '"met"')) for line in lines
    ]
    assert broken_at(forged) == one["seq"] + 1  # sealed: the line after it does not follow


def test_there_is_nothing_to_override_where_criteria_were_met() -> None:
    given: list[Given] = [
        (10.5, StartTrial("flow-check", {"flow": 1.0})),
        (700.5, OverrideTrial("why not", "Odd")),
    ]
    lines = journal(rig(800), given)
    assert verdict(lines)["verdict"] == "met"
    (why,) = [f["refused"] for f in fields(lines, "command") if f["id"] == "override_trial"]
    assert "there is nothing to override" in why


def influx(n: int, start: int) -> dict[str, Any]:
    """Return a well that flows at 3 bbl/min while it is drilled."""
    gain = 3 * BPM * np.maximum(np.arange(n) - start, 0)
    raw = rig(n, 600.0, np.where(np.arange(n) < start, 600.0, 726.0), 2500.0)
    pit = raw["pit_volume"]
    return raw | {"pit_volume": block_of(pit.t, pit.value + gain)}


@pytest.mark.parametrize(
    "command",
    [
        DRILL,
        StartTrial("flow-check", {}),
        StartTrial("inflow-test", {}),
        StartTrial("casing-test", {"pressure": 3e7}),
        StartTrial("bleed-back", {"expected": 1.5}),
    ],
)
def test_a_real_kick_during_a_test_or_drill_alarms_as_without_it(command: StartTrial) -> None:
    """R-68, R-11: nothing is hidden, no limit moves."""
    raw = influx(1500, 900)
    own = {"test-limit", "test-limit-inflow"}
    with_, without = (
        [
            (f["at"], f["id"], f["event"], f["limit"])
            for f in fields(journal(raw, given), "alarm")
            if f["id"] not in own and f["event"] == "trip"
        ]
        for given in ([(850.5, command)], [])
    )
    assert [name for _, name, *_ in without]
    assert with_ == without


def test_a_test_that_was_met_changes_no_alarm_after_it() -> None:
    """R-11, K-18: a good test disarms nothing."""
    raw = influx(2400, 1800)
    off = np.arange(2400) < 1500
    for name in ("pump_1_rate", "pump_2_rate"):
        raw[name] = block_of(raw[name].t, np.where(off, 0.0, raw[name].value))
    given: list[Given] = [(60.5, StartTrial("flow-check", {"flow": 0.01}))]
    tried, plain = journal(raw, given), journal(raw, [])
    assert verdict(tried)["verdict"] == "met"
    trips = [
        [(f["at"], f["id"]) for f in fields(lines, "alarm", "trip")] for lines in (tried, plain)
    ]
    assert trips[0] == trips[1] != []


@pytest.mark.parametrize(("seen", "acted", "said"), [(30, 90, "met"), (100, 150, "not met")])
def test_a_pit_drill_keeps_its_times(seen: int, acted: int, said: str) -> None:
    """L-30: detection to action in seconds; the pumps that stop are the action."""
    gpm = np.where(np.arange(600) < 200 + acted, 600.0, 0.0)
    raw = rig(600, gpm, gpm, 2500.0)
    found = verdict(journal(raw, [(200.5, DRILL), (200.5 + seen, Acknowledge())]))
    assert found["verdict"] == said
    assert found["numbers"]["detected_after_s"] == pytest.approx(seen)
    assert found["numbers"]["acted_after_s"] == pytest.approx(acted - seen, abs=10)
    late = [(b["what"], b["how"]) for b in found["breaches"]]
    assert late == ([] if said == "met" else [("detected", "after")])


def test_a_drill_that_nobody_notices_is_not_met_and_one_cut_short_proves_nothing() -> None:
    raw = rig(600, 600.0, 600.0, 2500.0)
    slept = verdict(journal(raw, [(200.5, DRILL), (400.5, EndTrial())]))
    assert (slept["verdict"], slept["breaches"][0]["how"]) == ("not met", "not yet after")
    short = verdict(journal(raw, [(200.5, DRILL), (230.5, EndTrial())]))
    assert (short["verdict"], short["why"][0]) == ("inconclusive", "ended before it was detected")


def test_a_trip_drill_is_marked_by_hand() -> None:
    trip = StartTrial("trip-drill", {"detect": 60.0, "act": 120.0})
    given: list[Given] = [
        (200.5, trip), (230.5, MarkTrial("detected")), (270.5, MarkTrial("acted")),
    ]  # fmt: skip
    found = verdict(journal(rig(400), given))
    assert found["verdict"] == "met"
    assert found["numbers"] == {"detected_after_s": 30.0, "acted_after_s": 40.0}


def test_a_bleed_back_that_nobody_ends_is_over_after_the_minutes_entered() -> None:
    """Else its declared job would go on."""
    bleed = StartTrial("bleed-back", {"expected": 1.5, "minutes": 300.0})
    lines = journal(rig(700), [(100.5, bleed)])
    assert from_iso(verdict(lines)["at"]) - T0 <= 100.5 + 300 + 6
    assert verdict(lines)["breaches"] == []


def test_a_pressure_that_comes_back_after_it_was_bled_is_a_breach() -> None:
    """K-05: bled from 2,000 to 500 psi, back to 600; below the start, 100 above its lowest."""
    psi = ramp(900, (100, 2000.0), (200, 500.0), (400, 500.0), (600, 600.0))
    given: list[Given] = [(60.5, StartTrial("inflow-test", {})), (800.5, EndTrial())]
    (breach,) = verdict(journal(rig(900, 0.0, 0.0, psi), given))["breaches"]
    assert (breach["what"], breach["how"]) == ("standpipe_pressure", "risen by")
    assert breach["value"] / PSI == pytest.approx(100, abs=20)


def test_any_batch_of_inputs_gives_the_same_journal() -> None:
    """R-53: with a test that ends by itself and its declared job."""
    psi = ramp(2300, (60, 0.0), (200, 5000.0), (2000, 4400.0))
    raw = rig(2300, 0.0, 0.0, psi, annulus_pressure=np.where(np.arange(2300) < 2060, 0.0, 300.0))
    given: list[Given] = [(30.5, StartTrial("casing-test", {"pressure": 4990 * PSI}))]
    whole = journal(raw, given)
    assert verdict(whole)["verdict"] == "not met"
    assert fields(whole, "alarm", "trip")
    told = [f for f in fields(whole, "event") if f["id"] == "test_limit"]
    assert [f["event"] for f in told] == ["warning", "end"]
    assert told[0]["evidence"]["witnesses"] == ["casing-test", "standpipe_pressure"]
    for batch in (1, 7, 500):
        assert [line.text for line in journal(raw, given, batch=batch)] == [
            line.text for line in whole
        ]


def test_pressure_detectors_are_back_on_watch_when_the_test_is_over() -> None:
    """The job that a test declares ends with it, not an hour later."""
    psi = ramp(3300, (60, 0.0), (200, 3100.0), (700, 3090.0), (720, 0.0), (1500, 0.0),
               (2100, 900.0))  # fmt: skip
    given: list[Given] = [(30.5, StartTrial("bop-test", {"pressure": 3000 * PSI}))]
    lines = journal(rig(3300, 0.0, 0.0, psi), given)
    assert verdict(lines)["verdict"] == "met"
    called = [f for f in fields(lines, "event") if f["id"] == "pressure_rise_pumps_off"]
    assert called
    assert read(lines[0])["kind"] == "watch"


def test_commands_come_back_from_their_text_and_are_told_in_words() -> None:
    for command in (
        StartTrial("bop-test", {"pressure": 2.1e7}, "kill_line_pressure", "upper pipe rams"),
        MarkTrial("acted"), EndTrial("good"), OverrideTrial("gauge", "Odd"),
    ):  # fmt: skip
        assert decode_command(encode_command(command)) == command
    lines = journal(rig(160), [(110.5, StartTrial("flow-check", {})), (130.5, EndTrial())])
    said = [what(f, well().display_units()) for f in fields(lines, "trial")]
    assert said == ["flow-check of Ines: TOO SHORT: 20 s; minimum 10 min"]
    assert lines[-1].at == T0 + 130.5
