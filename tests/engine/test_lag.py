"""Lag by volume: strokes up and down, lagged depth through everything that happens to pumps.

Expected figures are by hand from one straight annulus; rows are a second apart and drill a metre
every hundred of them.
"""

from __future__ import annotations

from math import pi

import numpy as np
import pytest

from engine.block import Block, Quality
from engine.ops.lag import Lag
from engine.units import IN
from engine.well.lag_times import lagged_depth
from engine.well.pumps import stroke_volume
from tests.check_rows import row
from tests.tables import NAN, check_splits, has, random_table, table_of, well, with_bits

PIPE = {"name": "pipe", "outer_in": 5.0, "inner_in": 4.276, "weight_kg_m": 20.0}
HOLE = {"name": "hole", "diameter_in": 8.5}
CONFIG = well(string=[PIPE], hole=[HOLE])
AREA = pi / 4 * (8.5**2 - 5.0**2) * IN**2
"""Annulus of a metre; pipe so light has no tool joints to count. [m2]"""
BORE = pi / 4 * (4.276 * IN) ** 2
EACH = stroke_volume(CONFIG.pumps[0])
FLOW = 0.0239
"""About a cubic metre in 42 s, and a metre of annulus a second. [m3/s]"""
DEPTH = 500.0
UP = DEPTH * AREA / FLOW
"""Bottoms-up at the start: 500 s. [s]"""


def table(n: int = 3000, rop: float = 0.01, **columns: object) -> dict[str, Block]:
    """Drill from 500 m at one flow; any column can be given instead."""
    hole = DEPTH + rop * np.arange(n)
    base = {"flow_in": FLOW, "flow_difference": 0.0, "bit_depth": hole, "hole_depth": hole}
    return table_of(n, **(base | columns))


def lagged(n: int = 3000, rop: float = 0.01, **columns: object) -> np.ndarray:
    return Lag(CONFIG).process(table(n, rop, **columns))["lagged_depth"].value


def test_strokes_down_and_up_are_volumes_over_output() -> None:
    """Strokes = volume / output, www.drillingformulas.com, Lag time; areas by hand."""
    out = Lag(CONFIG).process(table(3))
    assert out["bit_strokes"].value[0] == pytest.approx(DEPTH * BORE / EACH)
    assert out["lag_strokes"].value[0] == pytest.approx(DEPTH * AREA / EACH)
    assert out["lag_time"].value[0] == pytest.approx(UP)


def test_250_barrels_at_300_gpm_come_up_in_35_minutes() -> None:
    """The worked example of www.drillingformulas.com, Lag time: 250 bbl, 300 gpm."""
    bit = 250 * 0.158987294928 / AREA
    out = Lag(CONFIG).process(table_of(1, flow_in=300 * 6.30901964e-5, bit_depth=bit))
    assert out["lag_time"].value[0] / 60 == pytest.approx(35.0, abs=0.05)


def test_tool_joints_take_room_in_the_annulus() -> None:
    """Weight over 7850 kg/m3 is the steel; what is more of it than the body is outside."""
    heavy = well(string=[PIPE | {"weight_kg_m": 31.9}], hole=[HOLE])
    more = 31.9 / 7850 - pi / 4 * (5.0**2 - 4.276**2) * IN**2
    out = Lag(heavy).process(table(1))
    assert out["lag_strokes"].value[0] == pytest.approx(DEPTH * (AREA - more) / EACH)


def test_lag_time_does_not_apply_without_flow_and_the_strokes_stay() -> None:
    out = Lag(CONFIG).process(table(2, flow_in=0.0))
    assert np.isnan(out["lag_time"].value).all()
    assert has(out["lag_time"], Quality.NOT_APPLICABLE) == [True, True]
    assert out["lag_strokes"].value[0] == pytest.approx(DEPTH * AREA / EACH)


def test_nothing_is_known_before_one_bottoms_up_and_all_that_is_drilled_after() -> None:
    """What was in the annulus when the watch began came from nobody knows where."""
    block = Lag(CONFIG).process(table())["lagged_depth"]
    first = int(np.flatnonzero(~np.isnan(block.value))[0])
    assert first == pytest.approx(UP, abs=1.0)
    assert all(has(block, Quality.NO_REFERENCE)[:first])
    assert block.value[first] == DEPTH


def test_steady_drilling_gives_the_closed_form() -> None:
    """D - d = (R A/q) / (1 + R c/q), own derivation from the balance of volumes."""
    got, now = lagged(), DEPTH + 29.99
    back = 0.01 * now * AREA / FLOW / (1 + 0.01 * AREA / FLOW)
    assert got[-1] == pytest.approx(now - back, abs=0.02)


@row("G18")
def test_pumps_that_stop_for_ten_minutes_change_nothing() -> None:
    """Case G18: lagged depth unchanged, strokes to go unchanged."""
    flow = np.where(np.arange(3000) < 1500, FLOW, np.where(np.arange(3000) < 2100, 0.0, FLOW))
    stood = np.arange(3000).clip(0, 1500) + (np.arange(3000) - 2100).clip(0)
    hole = DEPTH + 0.01 * stood
    rows, op = table(hole_depth=hole, bit_depth=hole, flow_in=flow), Lag(CONFIG)
    head = {name: block.slice(0, 1502) for name, block in rows.items()}
    rest = {name: block.slice(1502, 2099) for name, block in rows.items()}
    before, to_go = op.process(head)["lagged_depth"], op.to_go(DEPTH + 14.0)
    during = op.process(rest)["lagged_depth"]
    assert during.value.tolist() == [before.value[-1]] * 597
    assert not during.quality.any()
    assert op.to_go(DEPTH + 14.0) == to_go > 0


def test_any_stops_and_rates_agree_with_the_log_of_strokes_and_depth() -> None:
    """Against `engine.well.lag_times.lagged_depth`, which knows all of the log at once."""
    rng = np.random.default_rng(1)
    flow = FLOW * rng.choice([0.0, 0.4, 1.0, 1.3], 60).repeat(50)
    drilled = np.where(flow > 0, 0.01, 0.0) * rng.choice([0.0, 1.0], 60).repeat(50)
    hole = DEPTH + np.cumsum(drilled)
    got = lagged(flow_in=flow, hole_depth=hole, bit_depth=hole)
    pumped = np.r_[0.0, np.cumsum(0.5 * (flow[1:] + flow[:-1]))]
    log = list(zip(pumped.tolist(), hole.tolist(), (hole * AREA).tolist(), strict=True))
    for i in range(900, 3000, 100):
        assert got[i] == pytest.approx(lagged_depth(log[: i + 1], pumped[i]), abs=0.03)


@row("G19")
def test_after_a_trip_it_is_unknown_until_one_bottoms_up() -> None:
    """Case G19; two stands off bottom is a trip."""
    bit, hole = DEPTH + 0.01 * np.arange(4000), DEPTH + 0.01 * np.arange(4000).clip(0, 2000)
    bit[2000:] = 520.0
    bit[2000:2200] = np.r_[np.linspace(520, 400, 100), np.linspace(400, 520, 100)]
    flow = np.where((np.arange(4000) >= 2000) & (np.arange(4000) < 2200), 0.0, FLOW)
    block = Lag(CONFIG).process(table(4000, bit_depth=bit, hole_depth=hole, flow_in=flow))
    value = block["lagged_depth"].value
    assert not np.isnan(value[600:2040]).any()
    unknown = np.flatnonzero(np.isnan(value[2000:])) + 2000
    assert unknown[0] == pytest.approx(2000 + 57 / 1.2, abs=2)
    assert unknown[-1] == pytest.approx(2200 + 520 * AREA / FLOW, abs=2)
    assert value[unknown[-1] + 1] == 520.0
    assert has(block["lagged_depth"], Quality.NOT_APPLICABLE)[2100]
    assert has(block["lagged_depth"], Quality.NO_REFERENCE)[2300]


def test_a_stand_reamed_is_no_trip() -> None:
    rows = table()
    bit = rows["bit_depth"].value - 30.0 * np.sin(np.arange(3000) * pi / 300) ** 2
    assert np.array_equal(lagged(bit_depth=bit), lagged(), equal_nan=True)


def test_a_depth_set_by_hand_corrects_all_that_is_on_its_way() -> None:
    """The annulus grows by a metre as well: what comes up does so a second later."""
    hole = DEPTH + 0.01 * np.arange(3000) + np.where(np.arange(3000) >= 2000, 1.0, 0.0)
    got, plain = lagged(hole_depth=hole, bit_depth=hole), lagged()
    assert got[1999] == plain[1999]
    assert got[2000:2400] == pytest.approx(plain[2000:2400] + 1.0, abs=0.03)
    shallower = lagged(hole_depth=2 * DEPTH - hole + 0.02 * np.arange(3000), bit_depth=hole)
    assert shallower[2100] == pytest.approx(plain[2100] - 1.0, abs=0.03)


def test_hole_that_was_drilled_unseen_is_not_given_a_depth() -> None:
    """No depth from 1000 to 1200 s, two metres of hole; the counter went on."""
    hole = DEPTH + 0.01 * np.arange(3000)
    hole[1000:1200] = NAN
    got = lagged(hole_depth=hole)
    unknown = np.flatnonzero(np.isnan(got[600:])) + 600
    assert unknown[0] == pytest.approx(1000 + 509.99 * AREA / FLOW, abs=3)
    assert unknown[-1] == pytest.approx(1200 + 512 * AREA / FLOW, abs=3)
    assert got[unknown[-1] + 1] == pytest.approx(512.0, abs=0.02)


def test_pumping_that_was_missed_starts_it_again() -> None:
    flow = np.where((np.arange(3000) >= 1000) & (np.arange(3000) < 1200), NAN, FLOW)
    block = Lag(CONFIG).process(table(flow_in=flow))["lagged_depth"]
    unknown = np.flatnonzero(np.isnan(block.value[600:])) + 600
    assert unknown[0] == 1000
    assert unknown[-1] == pytest.approx(1200 + 512 * AREA / FLOW, abs=2)
    assert has(block, Quality.STALE)[1100]
    assert has(block, Quality.NO_REFERENCE)[1300]


def test_losses_are_marked_until_an_annulus_later() -> None:
    """What is lost lifts nothing; a fifth of the returns is missing from 1000 to 1300 s."""
    short = np.where((np.arange(3000) >= 1000) & (np.arange(3000) < 1300), -0.2 * FLOW, 0.0)
    block = Lag(CONFIG).process(table(flow_difference=short))["lagged_depth"]
    marked = np.flatnonzero(has(block, Quality.CONFLICT))
    assert not np.isnan(block.value[600:]).any()
    assert marked[0] == 1120
    assert marked[-1] == pytest.approx(1300 + 513 * AREA / FLOW, abs=6)


def test_with_no_returns_nothing_is_at_the_shakers() -> None:
    lost = np.where((np.arange(3000) >= 1000) & (np.arange(3000) < 1300), -0.95 * FLOW, 0.0)
    block = Lag(CONFIG).process(table(flow_difference=lost))["lagged_depth"]
    unknown = np.flatnonzero(np.isnan(block.value[600:])) + 600
    assert (unknown[0], unknown[-1]) == pytest.approx((1120, 1300 + 513 * AREA / FLOW), abs=2)
    assert has(block, Quality.NOT_APPLICABLE)[1200]


def test_a_flow_line_that_fills_after_a_connection_is_no_loss() -> None:
    short = np.where(np.arange(3000) % 1000 < 90, -0.9 * FLOW, 0.0)
    block = Lag(CONFIG).process(table(flow_difference=short))["lagged_depth"]
    assert not block.quality[600:].any()


def test_a_well_file_without_a_hole_gives_no_lag_and_says_so() -> None:
    out = Lag(well(hole=[])).process(table(5))
    for name in ("lag_strokes", "lag_time", "lagged_depth"):
        assert has(out[name], Quality.NO_REFERENCE) == [True] * 5
        assert np.isnan(out[name].value).all()
    assert not np.isnan(out["bit_strokes"].value).any()


def test_a_depth_in_doubt_is_marked() -> None:
    rows = table()
    rows["hole_depth"] = with_bits(rows["hole_depth"], Quality.CONFLICT, np.arange(3000) == 1500)
    block = Lag(CONFIG).process(rows)["lagged_depth"]
    assert np.flatnonzero(has(block, Quality.CONFLICT)).tolist() == [1500]


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("slip", [0.0, 0.1])
def test_any_split_gives_the_same_bits(seed: int, slip: float) -> None:
    """With everything that can go wrong, trips and depths set by hand."""
    rng = np.random.default_rng(seed)
    rows = random_table(
        seed, 4000, flow_in=(0.0, 0.5 * FLOW, FLOW), flow_difference=(0.0, 0.0, -0.9 * FLOW, -0.01),
        bit_depth=(0.0, 0.0, 0.0, 0.0, 5.0, 70.0), hole_depth=(0.0, 1.0), pump_strokes=(0.0, 1.0),
    )  # fmt: skip
    made = 120 + np.cumsum(rng.random(4000) * 0.01) + (rng.random(4000) < 0.001).cumsum() * 0.7
    count = np.nan_to_num(rows["flow_in"].value) * np.diff(rows["flow_in"].t, prepend=0.0) / EACH
    count[0] = 0.0
    for name, value in (
        ("hole_depth", made),
        ("bit_depth", made - rows["bit_depth"].value),
        ("pump_strokes", 1e5 + np.floor(np.cumsum(count))),
    ):
        old = rows[name]
        rows[name] = Block(old.t, np.where(np.isnan(old.value), NAN, value), old.quality)
    config = well(string=[PIPE], hole=[HOLE], profile={"cuttings_slip_m_s": slip})
    out = check_splits(lambda: Lag(config), rows)
    for block in out.values():
        assert not (np.isnan(block.value) & (block.quality == 0)).any()
    assert not np.isnan(out["lagged_depth"].value).all()
