"""Incidents in which string, rock, heat or gas spoke first, with rows made by hand, and twins.

SC-14: U.S. Bureau of Safety and Environmental Enforcement, safety alerts on a gain/loss alarm that
was reset again and again. SC-16: the same, on gas at the shakers after a bit trip. SC-19: Petroleum
Safety Authority Norway, investigation of the well control incident on Troll G-4, 2016. SC-24: U.S.
Department of Energy and State of Hawaii, reports on the uncontrolled venting of the Puna
geothermal well KS-8, June 1991. Which of the alerts each came from: from memory.
"""

from __future__ import annotations

import numpy as np
import pytest

from engine.alarms.manager import AlarmManager
from engine.block import Block
from engine.channels import CHANNELS
from engine.ops.block_motion import BlockSpeed
from engine.units import FT, HOUR
from tests.string_rows import KLBF, board_of, calls, evidence, returns, rock, trip
from tests.tables import NAN, T0, block_of, table_of, well

MIN = 60
SEEDS = range(3)


def alarms(table: dict[str, Block]) -> list[tuple[float, str, int, bool]]:
    """Return (second, alarm, priority, first of its group) of the example well's alarms."""
    _, samples, _ = board_of().process(table)
    t = table["gas"].t
    none = {name: block_of(t, NAN) for name in CHANNELS}
    table = none | {"rig_state": block_of(t, 1.0)} | table
    entries = AlarmManager(well().alarms).process(table | samples)
    return [
        (e.at - T0, e.id, e.details["priority"], bool(e.details.get("first_out")))
        for e in entries
        if e.kind == "alarm" and e.event == "trip" and e.details["after"] == "B"
    ]  # fmt: skip


@pytest.mark.parametrize("seed", SEEDS)
def test_sc_14_a_break_of_eighteen_feet_is_told_by_five(seed: int) -> None:
    """60 to 140 ft/h at minute 35 over 18 ft."""
    at = 35 * MIN
    made = np.arange(60 * MIN)
    rate = np.where(made < at, 60.0, 140.0) * FT / HOUR
    since = np.cumsum(np.where(made < at, 0.0, rate))
    rate = np.where(since > 18 * FT, 60 * FT / HOUR, rate)
    table = rock(rate, seed=seed)
    (called, kind, event), *_ = calls(table)
    assert (kind, event) == ("drilling_break", "warning")
    assert 0 < since[round(called)] < 5 * FT
    said = evidence(table, "drilling_break", "warning")
    assert abs(said["from_hole_depth_m"] - (2400 + rate[:at].sum())) < 1 * FT


@pytest.mark.parametrize("seed", SEEDS)
def test_sc_14_twin_the_same_rock_all_the_way_is_silent(seed: int) -> None:
    assert calls(rock(np.full(60 * MIN, 60 * FT / HOUR), seed=seed)) == []


LAG = 42 * MIN
TRIP_H = 6


def after_a_trip(gas: bool, seed: int) -> tuple[dict[str, Block], int]:
    """An hour of drilling, six of a trip, then pumps on; returns the second of that."""
    on = (1 + TRIP_H) * 60 * MIN
    n = on + 60 * MIN
    s = np.arange(n)
    flow = np.where((s >= 60 * MIN) & (s < on), 0.0, 0.045)
    off = np.interp(s, [3700, 3700 + 3 * 3600, on - 600], [0.0, 2300.0, 0.0])
    came = (s >= on + 38 * MIN) & (s < on + 48 * MIN) & gas
    units = 20 + came * np.minimum((s - on - 38 * MIN) / 20.0, 1.0) * 880
    share = 0.12 * came
    rng = np.random.default_rng(seed)
    smelt = units * 2e-4 * (1 + 0.05 * rng.standard_normal(n))  # 50 units to a per cent
    return returns(flow, lag_s=LAG, gas=smelt, share=share, off=off, seed=seed), on


@pytest.mark.parametrize("seed", SEEDS)
def test_sc_16_trip_gas_is_announced_at_30_min_and_called_with_the_flow_at_39(seed: int) -> None:
    table, on = after_a_trip(gas=True, seed=seed)
    out = calls(table)
    due = next(t - on for t, kind, _ in out if kind == "bottoms_up_due")
    assert 30 * MIN <= due <= 30 * MIN + 15
    note = evidence(table, "bottoms_up_due", "advice")["note"]
    assert note == "trip gas due in 12 min"
    joint = next(t - on for t, kind, e in out if (kind, e) == ("gas_at_surface", "critical"))
    assert 38 * MIN < joint <= 39 * MIN + 15
    said = evidence(table, "gas_at_surface", "critical")
    assert said["witnesses"] == ["gas", "lag since the trip", "return flow"]


@pytest.mark.parametrize("seed", SEEDS)
def test_sc_16_twin_is_announced_and_nothing_is_called(seed: int) -> None:
    table, _ = after_a_trip(gas=False, seed=seed)
    assert [e for _, k, e in calls(table) if k == "bottoms_up_due"] == ["advice", "end"]
    assert calls(table, "gas_at_surface", "temperature_rise") == []


def thrown(lifted: bool) -> dict[str, Block]:
    """180 to 60 klbf in 2 s; the block goes up 20 ft, or (twin) down as slips are set."""
    s = np.arange(120)
    rng = np.random.default_rng(5)
    up = np.interp(s, [60, 62], [0.0, 20 * FT]) if lifted else -np.interp(s, [58, 61], [0, 0.3])
    block = 10 + up
    gas = np.interp(s, [60, 64], [0.0, 0.04]) if lifted else np.zeros(s.size)  # 80 % of 5 %
    table = table_of(
        s.size, hook_load=np.interp(s, [60, 62], [180, 60]) * KLBF + 2e3 * rng.standard_normal(120),
        block_position=block, in_slips=0.0, on_bottom=0.0, rotary=0.0, bit_depth=1200.0, gas=gas,
        expected_hook_load=180 * KLBF,
    )  # fmt: skip
    return table | {"block_speed": BlockSpeed().process(T0 + s.astype(float), block)}


def test_sc_19_a_string_that_is_thrown_is_a_p1_in_three_seconds_and_the_first_out() -> None:
    (at, name, priority, first), *more = alarms(thrown(lifted=True))
    assert (name, priority, first) == ("hook-load-lost", 1, True)
    assert 60 < at <= 63
    assert all(later >= at and not also for later, _, _, also in more)


def test_sc_19_twin_slips_that_take_the_string_raise_nothing() -> None:
    assert calls(thrown(lifted=False)) == []
    assert alarms(thrown(lifted=False)) == []


START = 40 * MIN


def heat(seed: int) -> tuple[dict[str, Block], np.ndarray]:
    """48 to 86 C in 10 min; losses to 40 % in the first two, a surge of 25 % from the third on."""
    s = np.arange(70 * MIN)
    celsius = 48 + 38 * np.clip((s - START) / 600.0, 0, 1)
    lost = np.interp(s - START, [0, 90, 150, 180], [0.0, -0.4, -0.4, 0.25])
    flow = np.full(s.size, 0.045)
    table = returns(flow, lag_s=LAG, out=celsius + 273.15, inn=308.0, share=lost, seed=seed)
    return table, celsius


@pytest.mark.parametrize("seed", SEEDS)
def test_sc_24_heat_is_told_by_55_c_and_the_thermal_kick_by_65(seed: int) -> None:
    table, celsius = heat(seed)
    out = calls(table, "temperature_rise")
    warned = next(round(t) for t, _, e in out if e == "warning")
    grave = next(round(t) for t, _, e in out if e == "critical")
    assert warned > START
    assert celsius[warned] <= 55.0
    assert celsius[grave] <= 65.0
    said = evidence(table, "temperature_rise", "critical")["witnesses"]
    assert said[0] == "temperature out rising"
    assert said[-1] == "losses, then returns surging"
    assert "thermal-kick" in {name for _, name, priority, _ in alarms(table) if priority == 1}


@pytest.mark.parametrize("seed", SEEDS)
def test_sc_24_twin_a_warm_slug_after_two_hours_is_no_p1_and_no_call(seed: int) -> None:
    """Pumps on after a wait of 2 h; the deepest third comes up after 28 min: 48 to 60 and back."""
    s = np.arange(5 * 60 * MIN)
    stop, on = 60 * MIN, 180 * MIN
    flow = np.where((s >= stop) & (s < on), 0.0, 0.045)
    slug = np.interp(s - on, [28 * MIN, 31 * MIN, 42 * MIN, 45 * MIN], [0, 12, 12, 0])
    table = returns(flow, lag_s=LAG, out=48 + 273.15 + slug, inn=308.0, seed=seed)
    assert calls(table, "temperature_rise") == []
    assert [a for a in alarms(table) if a[2] == 1] == []


@pytest.mark.parametrize("seed", range(10))
@pytest.mark.parametrize("step", [1.0, 0.2])
def test_an_overpull_of_ten_klbf_is_called_within_two_seconds(step: float, seed: int) -> None:
    """Ten klbf above the limit's noise: a reading's deviation is 1 klbf, so 10 is 12 at most."""
    table = trip(12, step=step, seed=seed, noise=1.0 * KLBF, bumps=[(9, 12.0, 12 * KLBF, 6.0)])
    at = next(t for t, kind, _ in calls(table) if kind == "overpull")
    assert 0 < at - (9 * 90 + 12) <= 2.0


@pytest.mark.parametrize("down", [False, True])
def test_less_than_one_false_call_in_fifty_stands(down: bool) -> None:
    """200 stands without a spot, readings that deviate by 2 klbf."""
    found = [calls(trip(50, seed=s, noise=2 * KLBF, down=down)) for s in range(40, 44)]
    assert sum(len(one) for one in found) // 2 < 4
