"""Line work, drag, overpull and travel time on the synthetic rig, against formula and truth."""

from __future__ import annotations

from functools import cache
from itertools import pairwise

import numpy as np
import pytest

from adapters.config_file import example_text, parse_well
from engine.alarms.manager import AlarmManager
from engine.block import Block, FloatArray
from engine.config import WellConfig
from engine.ops.string_weight import StringWeight
from engine.pipeline import Pipeline
from engine.records.drag_log import drag_log, trend
from engine.sim import hoist
from engine.sim.jobs import Plan
from engine.sim.rig import Rig
from engine.sim.scenarios import Scenario, Trouble, scenario
from engine.sim.trouble import PACK_DRAG
from engine.units import FT, G0
from engine.well.answer import Unknown
from engine.well.drilling_line import LineLoad, excess_weight, move_work, round_trip_work
from engine.well.weight_drag import Part
from tests.helpers import FakeRecording
from tests.tables import T0, raw_of, table_of

T = 1e3 * G0
CONFIG: WellConfig = parse_well(example_text(), "example")
"""With its dead-line gauge: ten lines, 0.98 a sheave."""
TRIP = scenario("trip-in")


@cache
def run(what: Scenario, seed: int, hours: float) -> tuple[dict[str, Block], FloatArray, Rig]:
    """Return all channels, the rows' seconds from the start, and the rig."""
    rig = Rig(CONFIG, what, seed, T0)
    chunk = rig.advance(hours * 3600.0)
    return Pipeline(CONFIG).process(raw_of(chunk)), chunk.second[chunk.sent], rig


def raised(table: dict[str, Block]) -> set[str]:
    """Return the alarms that reached a person."""
    entries = AlarmManager(CONFIG.alarms).process(table)
    return {e.id for e in entries if e.kind == "alarm" and e.details.get("after") == "B"}


def worked(
    table: dict[str, Block], second: FloatArray, rig: Rig, begin: float, end: float
) -> tuple[float, float, float]:
    """Work counted between two times [s], in J, and the bit depth at both. [m]"""
    a, b = np.searchsorted(second, [begin + 0.5, end + 0.5])
    bit, work = table["bit_depth"].value, table["line_work"].value
    return float(work[b] - work[a]), float(bit[a]), float(bit[b])


def string_weight(bit: float) -> float:
    """In mud, bit at a depth [m]. [N]"""
    return float(StringWeight.of(CONFIG).buoyed(bit))


def half_a_trip(deep: float, shallow: float) -> float:
    """Work of pulling, or running, the string between two depths by API RP 9B. [J]"""
    *assembly, pipe = CONFIG.string
    parts = [Part(c.length or 0.0, c.weight) for c in assembly]
    mud = CONFIG.mud.density
    excess = excess_weight(parts, pipe.weight, mud)
    assert isinstance(excess, float)
    buoyed = pipe.weight * G0 * (1 - mud / 7850.0)
    load = LineLoad(buoyed, CONFIG.rig.block_weight, excess, CONFIG.rig.stand_length)
    trips = [round_trip_work(load, depth) for depth in (deep, shallow)]
    assert isinstance(trips[0], float)
    assert isinstance(trips[1], float)
    return (trips[0] - trips[1]) / 2


@pytest.mark.parametrize("seed", [1, 2])
def test_a_trip_out_and_in_counts_what_the_formula_of_the_line_says(seed: int) -> None:
    """API RP 9B round trip; the drag of both ways cancels. Eleven whole stands each way."""
    table, second, rig = run(TRIP, seed, 4.0)
    slips = rig.connections
    out, deep, shallow = worked(table, second, rig, slips[0].slips_in, slips[11].slips_in)
    begin, end = slips[11].slips_out, slips[22].slips_out
    assert begin is not None
    assert end is not None
    back, again, bottom = worked(table, second, rig, begin, end)
    assert deep - shallow == pytest.approx(11 * 28.5, abs=1.0)
    assert bottom - again == pytest.approx(11 * 28.5, abs=1.0)
    both = half_a_trip(deep, shallow) + half_a_trip(bottom, again)
    assert out + back == pytest.approx(both, rel=0.01)


@pytest.mark.parametrize("way", ["out", "in"])
def test_without_drag_each_way_alone_counts_what_the_formula_says(
    way: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The formula knows no drag: the hole of this rig is made frictionless."""
    monkeypatch.setattr(hoist, "DRAG", 0.0)
    run.cache_clear()
    table, second, rig = run(TRIP, 3, 4.0)
    run.cache_clear()
    slips = rig.connections
    begin, end = slips[0].slips_in, slips[11].slips_in
    if way == "in":
        assert slips[11].slips_out is not None
        assert slips[22].slips_out is not None
        begin, end = slips[11].slips_out, slips[22].slips_out
    done, first, last = worked(table, second, rig, begin, end)
    assert done == pytest.approx(half_a_trip(max(first, last), min(first, last)), rel=0.01)


def test_drilling_a_stand_counts_every_leg_of_it() -> None:
    """From one pulled slips to the next, leg by leg as the crew works it.

    With the string: 0.3 m up, down to bottom, the stand drilled with the weight that the bit
    takes, 3 m up; then the block alone up by a stand. Pump pressure lifts 8 kN. The formula
    of API RP 9B for drilling is for a kelly, which pulls and lowers the stand twice more.
    """
    table, second, rig = run(scenario("quiet-soft"), 1, 6.0)
    for one, two in list(pairwise(rig.connections))[:3]:
        assert one.slips_out is not None
        assert two.slips_out is not None
        done, bit, _ = worked(table, second, rig, one.slips_out, two.slips_out)
        stand = two.bit_depth - one.bit_depth
        weight = table["weight_on_bit"].value
        on = (second > one.slips_out) & (second < two.slips_in)
        on &= table["on_bottom"].value == 1.0
        hanging = CONFIG.rig.block_weight + string_weight(bit + 0.5 * stand)
        legs = [
            move_work(hanging, 0.3),
            move_work(hanging - hoist.LIFT, 3.3),
            move_work(hanging - hoist.LIFT - float(np.nanmean(weight[on])), stand),
            move_work(hanging - hoist.LIFT, 3.0),
            move_work(CONFIG.rig.block_weight, stand),
        ]
        assert done == pytest.approx(sum(x for x in legs if isinstance(x, float)), rel=0.01)


@pytest.mark.parametrize("seed", [1, 2])
def test_every_stand_of_a_trip_has_its_drag(seed: int) -> None:
    """The rig rubs with 3.5 % of the string's weight in air, up and down."""
    table, _, _ = run(TRIP, seed, 4.0)
    log = drag_log(FakeRecording(table))
    up = [s for s in log if not isinstance(s.pick_up, Unknown)]
    down = [s for s in log if not isinstance(s.slack_off, Unknown)]
    assert len(up) == 12
    assert len(down) == 11
    for stand, drag in [*((s, s.up_drag) for s in up), *((s, s.down_drag) for s in down)]:
        assert isinstance(stand.depth, float)
        assert isinstance(drag, float)
        air = string_weight(stand.depth) / (1 - CONFIG.mud.density / 7850.0)
        assert drag == pytest.approx(hoist.DRAG * air, abs=1.5 * T)
    for drags in ([s.up_drag for s in up], [s.down_drag for s in down]):
        slope = trend(drags, 10)
        assert isinstance(slope, float)
        assert abs(slope) < 0.15 * T


def test_a_tight_hole_is_overpull() -> None:
    """An annulus that packs off while the string is pulled holds it by 30 t: that much more."""
    tight = Scenario(
        "tight", "Packs off on a trip out", plan=Plan(left=0.4, trip=6),
        troubles=(Trouble("pack-off", 900.0, 12e6, rise=60.0, hold=240.0, fall=30.0),),
    )  # fmt: skip
    table, second, _ = run(tight, 1, 1.0)
    over = table["overpull"].value / T
    before = (second > 500) & (second < 880) & (table["block_speed"].value > 0.3)
    during = (second > 990) & (second < 1190) & (table["block_speed"].value > 0.3)
    assert np.nanmax(over[before]) < 10.0
    grip = PACK_DRAG * 12e6 / T
    assert np.nanmedian(over[during]) - np.nanmedian(over[before]) == pytest.approx(grip, abs=1.0)
    assert "overpull" in raised(table)


@pytest.mark.parametrize("name", ["quiet", "trip-in", "quiet-soft"])
def test_usual_work_keeps_clear_of_crown_and_floor(name: str) -> None:
    """A stand at 1 m/s, an empty block at 1.5 m/s; alarms of the example well stay silent."""
    table, _, _ = run(scenario(name), 1, 4.0)
    limits = {alarm.channel: alarm.low for alarm in CONFIG.alarms if alarm.low is not None}
    for channel in ("crown_time", "floor_time"):
        low = limits[channel]
        assert low is not None
        assert np.nanmin(table[channel].value) > 1.2 * low
    assert not raised(table) & {"crown-time", "floor-time", "overpull"}


@pytest.mark.parametrize("name", ["quiet", "trip-in", "demo"])
def test_what_is_not_known_says_why(name: str) -> None:
    table, _, _ = run(scenario(name), 1, 4.0)
    for channel in (
        "expected_hook_load", "overpull", "overpull_margin", "pick_up_load", "slack_off_load",
        "rotating_load", "line_work", "crown_time", "floor_time", "stopping_distance",
    ):  # fmt: skip
        block = table[channel]
        assert (block.quality[np.isnan(block.value)] != 0).all(), channel
        assert np.isfinite(block.value).any() or channel in ("pick_up_load", "slack_off_load")


def hoisted(speed: float, phase: float) -> list[tuple[str, float]]:
    """Hoist the empty block at a speed [m/s] to the crown limit, stop, stand; rows at 1 Hz.

    Returns
    -------
    list of (str, float)
        What the crown alarm did, and the seconds left to the limit then.
    """
    t = np.arange(0.0, 240.0) + phase
    arrives = (CONFIG.rig.crown_limit - 14.0) / speed
    z = 14.0 + speed * np.minimum(t, arrives)
    table = Pipeline(CONFIG).process(table_of(block_position=z, hook_load=32 * T))
    return [
        (e.event, arrives + T0 - e.at - phase)
        for e in AlarmManager(CONFIG.alarms).process(table)
        if e.id == "crown-time"
    ]


@pytest.mark.parametrize("phase", [0.0, 0.3, 0.6, 0.9])
def test_at_4_ft_s_the_crown_alarm_leaves_three_seconds_and_ends_when_the_block_stands(
    phase: float,
) -> None:
    """R-42, SC-23."""
    (trip, left), (clear, after) = hoisted(4 * FT, phase)
    assert (trip, clear) == ("trip", "clear")
    assert 3.0 <= left <= 4.0
    assert -3.0 <= after <= 0.0


@pytest.mark.parametrize("phase", [0.0, 0.5])
def test_at_half_a_foot_a_second_there_is_no_crown_alarm(phase: float) -> None:
    """R-42."""
    assert hoisted(0.5 * FT, phase) == []
