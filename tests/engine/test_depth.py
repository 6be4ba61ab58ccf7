"""Slips by load, bit depth by the block: every rule of `engine.ops.depth` and `slips`."""

from __future__ import annotations

import numpy as np
import pytest

from engine.block import Block, Quality
from engine.ops.by_tally import ByTally
from engine.ops.motion import Motion
from tests.hoist_rows import BLOCK, STRING, Rows, ends
from tests.tables import NAN, T0, cut, has, table_of, well


def out_of(rows: Rows, seed: int | None = None, **more: object) -> dict[str, Block]:
    return Motion(well()).process(rows.table(seed, **more))


def test_depth_follows_the_worked_table() -> None:
    """Own computation: a stand drilled, a connection of 28.30 m, back to bottom.

    Bit 2999.50, 3000.00, 3025.50, 3024.30 (three times), 3023.90, 3025.50 m; hole 3000.00,
    then 3025.50 m from the end of drilling on.
    """
    rows = Rows(z=28.0, bit=2999.5)
    marks = ends(
        rows,
        [
            lambda r: r.turn(True).still(20),
            lambda r: r.move(-0.5, 0.09),
            lambda r: r.drill(25.5, rate=0.02),
            lambda r: r.pick_up(1.2).turn(False).still(10),
            lambda r: r.slips(True).still(20),
            lambda r: r.move(28.3, 0.8).still(20),
            lambda r: r.slips(False).still(5),
            lambda r: r.move(0.4, 0.1),
            lambda r: r.turn(True).still(5).move(-1.6, 0.1),
        ],
    )
    out = out_of(rows, reported_hole_depth=3000.0)
    bit, hole = out["bit_depth"].value[marks], out["hole_depth"].value[marks]
    want = [2999.5, 3000.0, 3025.5, 3024.3, 3024.3, 3024.3, 3024.3, 3023.9, 3025.5]
    assert bit == pytest.approx(want, abs=1e-9)
    assert hole == pytest.approx([3000.0, 3000.0] + [3025.5] * 7, abs=0.05)
    assert out["stand_count"].value[marks].tolist() == [0, 0, 0, 0, 0, 0, 1, 1, 1]
    assert out["stand_length"].value[-1] == pytest.approx(28.3, abs=1e-9)


def test_the_bit_stands_still_in_slips_whatever_the_block_does() -> None:
    rows = Rows().still(10).slips(True).still(10).move(20, 0.8).move(-15, 0.8).move(9, 0.5)
    bit = out_of(rows)["bit_depth"].value
    assert bit.tolist() == [2400.0] * len(rows.rows)


def test_a_day_of_trips_keeps_the_bit_within_a_decimetre() -> None:
    """5 mm noise and 1 cm steps on the block, 20 stands out and 20 in."""
    rows = Rows(z=1.5).still(5)
    for _ in range(20):
        rows.move(28.5, 0.8).still(2).slips(True).still(25).move(-28.5, 1.2).still(10)
        rows.slips(False).still(2)
    for _ in range(20):
        rows.slips(True).still(10).move(28.5, 1.2).still(10).slips(False).still(2)
        rows.move(-28.5, 0.7).still(2)
    out = out_of(rows, seed=3)
    assert np.abs(out["bit_depth"].value - rows.truth()).max() < 0.10
    assert out["stand_count"].value[-1] == 0


def test_slips_are_dated_back_and_shown_after_their_hold_time() -> None:
    """Shown after 3 s in and 2 s out, dated at the change itself."""
    rows = Rows().still(10).slips(True).still(20).slips(False).still(10)
    out = out_of(rows)
    shown, since = out["in_slips"].value, out["slips_since"].value - T0
    assert shown.tolist() == [0.0] * 13 + [1.0] * 19 + [0.0] * 8
    assert since.tolist() == [0.0] * 13 + [10.0] * 19 + [30.0] * 8


def test_a_wild_load_makes_no_slips_and_moves_no_depth() -> None:
    """One sample of no load while the string is hoisted, one of load while it stands in slips."""
    rows = Rows(z=2.0).still(5).move(20, 0.5).slips(True).still(30)
    load = rows.table()["hook_load"].value
    load[[20, 60]] = BLOCK, BLOCK + STRING
    out = out_of(rows, hook_load=load)
    assert out["bit_depth"].value == pytest.approx(rows.truth(), abs=1e-9)
    assert np.flatnonzero(np.diff(out["in_slips"].value)).size == 1


def test_a_wild_load_in_slips_makes_up_no_stand() -> None:
    """The block is 20 m above where the string was set when the gauge jumps for a sample."""
    rows = Rows(z=2.0).still(10).slips(True).still(10).move(20, 0.8).still(20)
    load = rows.table()["hook_load"].value
    load[55] = BLOCK + STRING
    out = out_of(rows, hook_load=load)
    assert out["stand_count"].value[-1] == 0
    assert out["bit_depth"].value.tolist() == [2400.0] * len(rows.rows)
    assert out["slips_since"].value[-1] == T0 + 10


def test_a_string_set_down_on_a_ledge_is_not_in_slips() -> None:
    """The load goes, but slowly and with the block sinking."""
    rows = Rows().still(10)
    for share in np.linspace(0.95, 0.05, 19):
        rows.string = share * STRING
        rows.move(-0.2, 0.2)
    rows.still(60)
    out = out_of(rows)
    assert out["in_slips"].value.tolist() == [0.0] * len(rows.rows)
    assert out["bit_depth"].value == pytest.approx(rows.truth())


def test_a_block_that_rises_without_load_shows_that_slips_were_set_slowly() -> None:
    rows = Rows().still(10)
    for share in np.linspace(0.95, 0.05, 19):
        rows.string = share * STRING
        rows.move(-0.02, 0.02)
    rows.string, low = 0.05 * STRING, rows.bit
    rows.slips(True).move(20, 0.8)
    out = out_of(rows)
    assert out["in_slips"].value[-1] == 1.0
    assert out["bit_depth"].value[-1] == pytest.approx(low, abs=0.4)


def test_a_string_too_light_to_be_seen_leaves_slips_unknown() -> None:
    """20 m of collars weigh less than eight times the noise: no guess."""
    rows = Rows(bit=20.0).still(10)
    out = out_of(rows)
    assert np.isnan(out["in_slips"].value).all()
    assert all(has(out["in_slips"], Quality.NO_REFERENCE))
    assert all(has(out["weight_on_bit"], Quality.NO_REFERENCE))


def test_a_light_string_is_believed_only_while_the_block_stands() -> None:
    """Collars of some 5 t on a block of 32 t: sheave friction moves the load by as much."""
    rows = Rows(z=2.0, bit=50.0)
    rows.string = 6 * 9806.65
    rows.still(10).move(20, 0.5).still(5).slips(True).still(20)
    load = rows.table()["hook_load"].value
    moving = slice(12, 49)
    load[moving] = BLOCK  # friction hides the string
    out = out_of(rows, hook_load=load, reported_hole_depth=60.0)
    assert out["in_slips"].value[49] == 0.0
    assert has(out["in_slips"], Quality.HELD)[20]
    assert out["in_slips"].value[-1] == 1.0
    assert out["bit_depth"].value[-1] == pytest.approx(30.0, abs=1e-6)


def test_without_any_depth_there_is_none_until_it_is_set_by_hand() -> None:
    rows = Rows().still(30)
    table = rows.table(reported_bit_depth=NAN, reported_hole_depth=NAN)
    motion = Motion(well())
    first = motion.process(cut(table, 0, 10))
    for name in ("bit_depth", "hole_depth", "in_slips", "on_bottom", "stand_count"):
        assert np.isnan(first[name].value).all()
        assert all(has(first[name], Quality.NO_REFERENCE))
    motion.set_depth(1200.0, 1210.0)
    second = motion.process(cut(table, 10, 30))
    assert second["bit_depth"].value.tolist() == [1200.0] * 20
    assert second["hole_depth"].value.tolist() == [1210.0] * 20
    assert second["in_slips"].value[-1] == 0.0


def test_reported_depths_are_used_once_and_the_well_file_goes_before_them() -> None:
    rows = Rows().still(5).move(2, 0.5)
    sent = rows.truth() + np.arange(len(rows.rows)) * 3.0
    assert out_of(rows, reported_bit_depth=sent)["bit_depth"].value == pytest.approx(rows.truth())
    start = {"bit_depth_m": 2300.0, "hole_depth_m": 2310.0}
    out = Motion(well(start=start)).process(rows.table(reported_bit_depth=sent))
    assert out["bit_depth"].value == pytest.approx(rows.truth() - 100.0)
    assert out["hole_depth"].value[-1] == 2310.0


def test_a_stand_changed_while_nothing_was_received_leaves_the_depth_in_doubt() -> None:
    rows = Rows(z=2.0).still(20).move(0.1, 0.1)
    t = np.arange(21.0)
    t[15:] += 300.0
    z = rows.table()["block_position"].value
    z[15:] += 25.0
    table = {k: Block(T0 + t, b.value, b.quality) for k, b in rows.table().items()}
    table["block_position"] = Block(T0 + t, z, table["hook_load"].quality)
    motion = Motion(well())
    out = motion.process(table)
    assert has(out["bit_depth"], Quality.OLD_REFERENCE) == [False] * 15 + [True] * 6
    motion.set_depth(2377.0, None)
    late = {k: Block(b.t[-3:] + 10, b.value[-3:], b.quality[-3:]) for k, b in table.items()}
    late["block_position"] = Block(late["hook_load"].t, np.full(3, z[-1]), np.zeros(3, np.uint16))
    out = motion.process(late)
    assert out["bit_depth"].value.tolist() == [2377.0] * 3
    assert not any(has(out["bit_depth"], Quality.OLD_REFERENCE))


def test_a_lost_position_loses_the_bit_out_of_slips_only() -> None:
    rows = Rows().still(10).slips(True).still(10)
    z = rows.table()["block_position"].value
    z[[4, 15]] = NAN
    out = out_of(rows, block_position=z)
    assert np.flatnonzero(np.isnan(out["bit_depth"].value)).tolist() == [4]
    assert has(out["bit_depth"], Quality.STALE)[4]


def test_stand_remaining_counts_to_the_floor_out_of_slips() -> None:
    """Block at 10 m, lowest position 0.3 m, stick-up 1.0 m: 8.7 m are left."""
    rows = Rows(z=10.0).still(5).slips(True).still(5)
    left = out_of(rows)["stand_remaining"]
    assert left.value[:5] == pytest.approx(8.7)
    assert np.isnan(left.value[5:]).all()
    assert has(left, Quality.NOT_APPLICABLE) == [False] * 5 + [True] * 5


def test_a_tally_length_goes_before_a_measured_stand() -> None:
    """Measured 28.45 m, in the tally 28.30 m: the difference is the encoder's."""
    rows = Rows(z=2.0).still(20).slips(True).still(20).move(28.45, 0.8).still(20)
    rows.slips(False).still(5)
    lower = [{"joints_m": [14.0, 14.23]}] * 78
    for stand, expected in ((28.30, 28.30), (28.20, 28.45)):  # 0.25 m apart is another stand
        tally = [*lower, {"joints_m": [14.0, stand - 14.0]}, {"joints_m": [14.0, 14.45]}]
        out = Motion(well(tally=tally)).process(rows.table())
        assert out["stand_length"].value[-1] == pytest.approx(expected)
        assert out["bit_depth"].value[-1] == pytest.approx(2400.0 + expected - 28.45)


def test_the_stand_of_the_tally_is_the_next_one_and_not_the_most_alike() -> None:
    """By hand: 199 - 1 m below, three stands of 28.3, 28.5 and 28.4 m; up made up, down broken."""
    tally = ByTally.of(well(tally=[{"joints_m": [14.3, 14.0]}, {"joints_m": [14.5, 14.0]},
                                   {"joints_m": [14.4, 14.0]}]))  # fmt: skip
    assert tally.below == 198.0
    assert tally(198.0, 28.5) == pytest.approx(28.3)
    assert tally(198.0 + 28.3 + 3.0, 28.3) == pytest.approx(28.5)
    assert tally(198.0 + 28.3 + 28.5, -28.4) == pytest.approx(28.5)
    assert np.isnan([tally(198.0, -28.3), tally(198.0 + 85.2, 28.5), tally(400.0, 28.5)]).all()
    assert np.isnan([tally(NAN, 28.5), ByTally()(198.0, 28.5)]).all()


def test_no_rows_are_no_rows() -> None:
    out = Motion(well()).process(table_of(1, hook_load=0.0) | {})
    assert len(out) == 13
    empty = Motion(well()).process(cut(Rows().still(3).table(), 0, 0))
    assert all(len(block) == 0 for block in empty.values())
