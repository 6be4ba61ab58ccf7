"""Influx while pumping: the rule, its look-alikes, what blinds it, how it ends.

Volumes from IADC-style course figures: a system should catch 1 m3 (6 bbl) at most. Rules: the
cumulative sum of E. S. Page, Biometrika 41, 1954, 100-115; sizes are common practice, no source.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from engine.block import Quality
from engine.detect.balance import Balance
from engine.detect.bins import Binner
from engine.detect.call import Declared, Seen
from engine.detect.influx import Influx
from engine.units import BBL
from tests.tables import NAN, T0, splits, well, with_bits
from tests.volume_rows import AT, BPM, FLOW, blind, calls, ended, first, noise, ramp, rows, watched

N = 5400


@pytest.mark.parametrize("bpm", [0.3, 0.5, 1.0, 2.0, 4.0])
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_an_influx_is_called_before_five_barrels(bpm: float, seed: int) -> None:
    at = first(watched(rows(ramp(N, bpm * BPM), seed=seed)), "influx")
    assert at > AT
    assert (at - AT) * bpm / 60 <= 5.0


@pytest.mark.parametrize("seed", range(6))
def test_steady_drilling_calls_nothing(seed: int) -> None:
    found = watched(rows(n=4 * 3600, seed=seed, waves=0.5, returns=0.03))
    assert calls(found, "influx") == []
    assert calls(found, "loss") == []


def test_five_barrels_are_critical() -> None:
    found = watched(rows(ramp(N, 1.0 * BPM)))
    assert 4.5 < (first(found, "influx", "critical") - AT) / 60 < 7.5
    (call,) = calls(found, "influx", "critical")[:1]
    assert "pit volume" in call.details["evidence"]["witnesses"]
    assert call.details["evidence"]["volume_m3"] / BBL == pytest.approx(5.2, abs=0.8)


def test_a_second_witness_makes_a_warning_critical() -> None:
    """Heat has been learnt for a quarter of an hour and more."""
    heat = 320.0 + 8.0 * (np.arange(N) > AT + 60) + noise(3, N, 0.2, 20.0)
    plain = rows(ramp(N, 0.5 * BPM))
    hot = rows(ramp(N, 0.5 * BPM), temperature_out=heat)
    assert first(watched(hot), "influx", "critical") < first(watched(plain), "influx", "critical")
    assert "mud out warmer" in calls(watched(hot), "influx")[0].details["evidence"]["witnesses"]


def test_noisy_pressure_is_no_witness() -> None:
    """1 % of noise, and two percent less after a start of the pumps."""
    flow = np.where((np.arange(N) > 1500) & (np.arange(N) < 1800), 0.0, FLOW)
    pressure = 11e6 * (flow / FLOW) ** 1.8 * (1 + noise(4, N, 0.01, 1.0))
    pressure[1800:] *= 0.97
    table = rows(ramp(N, 0.5 * BPM), flow_in=flow, standpipe_pressure=pressure, returns=0.01)
    said = {w for c in calls(watched(table), "influx", "advice")
            for w in c.details["evidence"]["witnesses"]}  # fmt: skip
    assert "standpipe pressure falling" not in said


def test_a_gauge_that_hangs_is_no_influx() -> None:
    """A paddle sticks high by 6 % for three minutes: one barrel a minute that is not there."""
    stuck = rows(n=N, returns=0.01)
    out = stuck["flow_out"].value.copy()
    out[AT : AT + 180] = 1.06 * FLOW
    alive = out.copy()
    alive[AT : AT + 180] += 1e-5 * noise(8, 180, 1.0)
    assert calls(watched(rows(n=N, flow_out=out)), "influx") == []
    assert calls(watched(rows(n=N, flow_out=alive)), "influx") != []


def test_single_wild_readings_are_no_influx() -> None:
    """A feed of one sample in 5 s: each is a bin of its own."""
    pit = rows(n=N)["pit_volume"].value.copy()
    out = rows(n=N)["flow_out"].value.copy()
    pit[AT + 2 :: 605], out[AT + 2 :: 905] = 90.0, 0.2
    every = {
        name: block.slice(0, N) for name, block in rows(n=N, pit_volume=pit, flow_out=out).items()
    }
    thin = {name: type(b)(b.t[2::5], b.value[2::5], b.quality[2::5]) for name, b in every.items()}
    assert (thin["pit_volume"].value == 90.0).any()
    assert calls(watched(thin), "influx") == []


def test_without_a_return_gauge_the_pits_alone_call_it() -> None:
    at = first(watched(rows(ramp(N, 1.0 * BPM), flow_out=NAN)), "influx")
    assert AT < at < AT + 5 * 60


def test_an_influx_under_a_connection_is_carried_over_it() -> None:
    """Half a barrel a minute from two minutes before the pumps stop."""
    t = np.arange(N)
    flow = np.where((t > AT + 120) & (t < AT + 420), 0.0, FLOW)
    held = late_line(flow)
    come = ramp(N, 0.5 * BPM)
    pit = 60.0 + come + held + BBL * noise(1, N, 0.25)
    table = rows(come, flow_in=flow, pit_volume=pit, flow_out=NAN)
    at = first(watched(table), "influx")
    assert (at - AT) * 0.5 / 60 <= 6.3
    twin = rows(n=N, flow_in=flow, pit_volume=pit - come, flow_out=NAN)
    assert calls(watched(twin), "influx") == []


def test_a_suspicion_becomes_a_call_while_the_pumps_still_stand() -> None:
    t = np.arange(N)
    flow = np.where((t > AT + 240) & (t < AT + 1200), 0.0, FLOW)
    come = ramp(N, 0.5 * BPM)
    pit = 60.0 + come + late_line(flow) + BBL * noise(1, N, 0.25)
    at = first(watched(rows(come, flow_in=flow, pit_volume=pit, flow_out=NAN)), "influx")
    assert AT + 240 < at < AT + 700


def test_a_gauge_that_drifts_is_no_influx() -> None:
    """By 6 % in twenty minutes: more than the slow gain of the gauge follows."""
    drift = 1 + 0.06 * np.clip((np.arange(N) - AT) / 1200, 0, 1)
    out = rows(n=N, returns=0.01)["flow_out"].value * drift
    assert calls(watched(rows(n=N, flow_out=out)), "influx") == []


def late_line(flow: np.ndarray, dead: float = 8.0, line: float = 29.0) -> np.ndarray:
    """Return what a flow line gives to the pits (negative: takes) as the flow changes. [m3]"""
    nipple = out = flow[0]
    stored, first_ = [], dead * nipple + line * out
    for q in flow:
        step = (q - nipple) / dead
        out += (nipple - out) / line
        nipple += step
        stored.append(first_ - dead * nipple - line * out)
    return np.array(stored)


def test_a_declared_transfer_is_none_and_more_than_it_is_one() -> None:
    """R-30."""
    said = Declared(T0 + AT - 20, "reserve to active", 20 * BBL, 2 * BPM, T0 + AT + 900)
    moved = 60.0 + ramp(N, 2 * BPM, seconds=600) + BBL * noise(1, N, 0.25)
    assert calls(watched(rows(n=N, pit_volume=moved), said=(said,)), "influx") == []
    more = moved + ramp(N, 0.5 * BPM, AT + 600)
    assert calls(watched(rows(n=N, pit_volume=more), said=(said,)), "influx") != []


def test_the_call_ends_a_quarter_of_an_hour_after_the_influx() -> None:
    found = watched(rows(ramp(3 * 3600, 1.0 * BPM, seconds=900)))
    assert first(found, "influx", "critical") < AT + 900
    assert 600 < ended(found, "influx") - (AT + 900) < 1500


def test_it_ends_when_the_well_is_shut_in_and_not_while_it_flows_on() -> None:
    n = 3 * 3600
    flow = np.where(np.arange(n) > AT + 600, 0.0, FLOW)
    come = ramp(n, 1.0 * BPM, seconds=660)
    pit = 60.0 + come + late_line(flow) + BBL * noise(1, n, 0.25)
    shut = watched(rows(come, flow_in=flow, pit_volume=pit, flow_out=NAN))
    assert 600 < ended(shut, "influx") - (AT + 660) < 1800
    flows = pit + ramp(n, 0.3 * BPM, AT + 660)
    on = watched(rows(come, flow_in=flow, pit_volume=flows, flow_out=NAN))
    assert ended(on, "influx") == float("inf")


def test_with_no_returns_a_gain_in_the_pits_is_not_called_but_said_to_be_hidden() -> None:
    """After a total loss mud is added without a word: it cannot come from the hole."""
    t = np.arange(N)
    out = np.where(t > 1500, 0.0, FLOW)
    pit = 60.0 - FLOW * np.clip(t - 1500, 0, 400) + 0.02 * np.clip(t - AT, 0, 1200)
    pit = pit + BBL * noise(1, N, 0.25)
    found = watched(rows(n=N, flow_out=out, pit_volume=pit))
    assert first(found, "total_loss") < 1560
    assert [c for c in calls(found, "influx") if c.at - T0 > 1500] == []
    assert any(reason.startswith("no returns") for reason in blind(found, "influx"))


def test_a_dead_gauge_with_full_pits_hides_nothing() -> None:
    """The look-alike of a total loss: the gauge reads zero, the pits say that mud returns."""
    out = np.where(np.arange(N) > 1500, 0.0, FLOW)
    found = watched(rows(ramp(N, 1.0 * BPM), flow_out=out))
    assert first(found, "influx") < AT + 6 * 60
    assert not any(reason.startswith("no returns") for reason in blind(found, "influx"))


def test_it_is_blind_without_pits_and_says_so() -> None:
    pit = np.where(np.arange(N) > 3000, NAN, 60.0)
    assert list(blind(watched(rows(n=N, pit_volume=pit)), "influx")) == ["no pit_volume"]


def test_a_call_that_stands_does_not_end_because_the_pits_go_dark() -> None:
    table = rows(ramp(N, 2.0 * BPM))
    table["pit_volume"] = with_bits(table["pit_volume"], Quality.STALE, np.arange(N) > AT + 600)
    found = watched(table)
    assert first(found, "influx") < AT + 600
    assert ended(found, "influx") == float("inf")


@pytest.mark.parametrize(("waves", "wander", "more"), [(0.1, 0.02, False), (0.9, 1.2, True)])
def test_pits_that_wander_more_have_larger_limits(waves: float, wander: float, more: bool) -> None:
    """Learnt from what goes down, so that an influx never makes itself usual."""
    n = 4 * 3600
    level = 60.0 + BBL * (noise(2, n, wander, 1200.0) + noise(3, n, waves))
    one = Influx(well().detect.influx, 180.0)
    table = rows(n=n, pit_volume=level + ramp(n, 1.0 * BPM, n - 900))
    bins = Binner().process(table)
    balance = Balance(well(), well().detect.balance).process(table, bins, ())[1]
    severity = one.process(Seen(table, bins, balance, ()))["influx"].severity
    assert (one.watch.level.scale > 1.5) is more
    assert (one.watch.level.scale == 0.75) is not more
    assert severity[: int((n - 900) / 5)].max() < 2
    assert severity.max() >= 2


def test_any_split_makes_the_same_calls() -> None:
    table = rows(ramp(N, 0.7 * BPM), waves=0.5, returns=0.03)
    whole = watched(table)
    assert calls(whole, "influx")
    for edges in splits(N):
        assert watched(table, edges) == whole, edges[:5]
        assert all(a <= b for a, b in pairwise(edges))
