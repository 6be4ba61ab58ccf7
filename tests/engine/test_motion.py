"""The whole chain of motion operators: any split, any fault, save and restore."""

from __future__ import annotations

import numpy as np
import pytest

from engine.block import BAD, Block, Quality
from engine.channels import CHANNELS
from engine.ops.motion import Motion
from tests.hoist_rows import RPM, Rows, T
from tests.tables import Columns, check_splits, cut, random_table, well

NAMES = {
    "block_speed", "in_slips", "slips_since", "bit_depth", "hole_depth", "on_bottom", "tare",
    "off_bottom_torque", "weight_on_bit", "rop", "stand_count", "stand_length", "stand_remaining",
}  # fmt: skip


def stand() -> Rows:
    """From off bottom to bottom, drill, connect, drill; with a slide."""
    rows = Rows(z=6.0, bit=2397.0).still(10).to_bottom(3.0).drill(1.5, rate=0.008)
    rows.pick_up().still(8).connect().to_bottom(3.2).drill(1.5, rate=0.008)
    rows.pick_up().still(12)
    rows.rotary = 0.0
    rows.still(5).move(-2.0, 0.05)
    return rows.drill(0.5, rate=0.004)


def spoiled(table: Columns, seed: int) -> dict[str, Block]:
    """Take rows out, lose values and add wild ones."""
    rng = np.random.default_rng(seed)
    n = len(table["hook_load"])
    keep = rng.random(n) > 0.02
    keep[100:140] = False
    out = {}
    for name, block in table.items():
        value, quality = block.value.copy(), block.quality.copy()
        for _ in range(4):
            a = int(rng.integers(n))
            b = a + int(rng.integers(1, 60))
            value[a:b], quality[a:b] = np.nan, 2
        value[rng.random(n) < 0.003] *= 3.0
        out[name] = Block(block.t[keep], value[keep], quality[keep])
    return out


@pytest.mark.parametrize("seed", [2, 3])
def test_any_split_of_a_stand_gives_the_same_bytes_and_state(seed: int) -> None:
    table = spoiled(stand().table(seed), seed)
    whole = check_splits(lambda: Motion(well()), table)
    assert set(whole) == NAMES
    assert np.nanmax(whole["weight_on_bit"].value) > 9 * T
    assert np.nanmax(whole["rop"].value) > 0.005


@pytest.mark.parametrize("seed", [1, 2])
def test_any_split_of_nonsense_gives_the_same_bytes_and_state(seed: int) -> None:
    table = random_table(
        seed, 700, hook_load=(30 * T, 60 * T, 117 * T), block_position=(2.0, 2.3, 9.0, 30.0),
        rotary=(0.0, 70 * RPM), torque=(0.0, 5e3), flow_in=(0.0, 0.045),
        reported_bit_depth=(2400.0,), reported_hole_depth=(2400.0,),
    )  # fmt: skip
    check_splits(lambda: Motion(well()), table)


def test_nan_never_stands_without_a_reason() -> None:
    for seed in (1, 2, 3):
        out = Motion(well()).process(spoiled(stand().table(seed), seed))
        for name, block in out.items():
            assert (block.quality[np.isnan(block.value)] != 0).all(), name
            assert CHANNELS[name].id == name


def test_a_saved_state_goes_on_as_if_nothing_had_happened() -> None:
    table = stand().table(7)
    n = len(table["hook_load"])
    one = Motion(well())
    first = one.process(cut(table, 0, 300))
    kept = one.state
    whole = one.process(cut(table, 300, n))
    other = Motion(well())
    other.state = kept
    again = other.process(cut(table, 300, n))
    for name in NAMES:
        assert again[name].value.tobytes() == whole[name].value.tobytes()
    assert len(first["bit_depth"]) == 300


def test_a_missing_channel_is_unknown_not_an_error() -> None:
    table = stand().table()
    for name in ("torque", "flow_in", "rotary", "hook_load", "block_position"):
        rest = {k: b for k, b in table.items() if k != name}
        out = Motion(well()).process(rest)
        assert set(out) == NAMES
    without = Motion(well()).process({k: b for k, b in table.items() if k != "hook_load"})
    assert np.isnan(without["weight_on_bit"].value).all()
    assert (without["weight_on_bit"].quality & np.uint16(BAD)).all()


@pytest.mark.parametrize("step", [0.1, 1.0, 10.0])
def test_a_stand_is_followed_at_every_rate(step: float) -> None:
    """A stand drilled and a connection at 10 Hz, 1 Hz and one row in ten seconds."""
    rows = Rows(z=6.0, bit=2397.0, step=step).still(20).to_bottom(3.0, 0.03).drill(3.0)
    rows.pick_up(3.0).still(20).connect().to_bottom(3.0, 0.03).drill(3.0)
    out = Motion(well()).process(rows.table())
    assert out["stand_count"].value[-1] == 1
    assert out["stand_length"].value[-1] == pytest.approx(28.5, abs=1e-6)
    assert out["bit_depth"].value[-1] == pytest.approx(rows.bit, abs=1e-6)
    assert out["hole_depth"].value[-1] == pytest.approx(rows.bit, abs=0.11)
    assert out["weight_on_bit"].value[-1] == pytest.approx(10 * T, rel=0.01)
    assert out["rop"].value[-1] == pytest.approx(0.005, rel=0.01)


def test_the_torque_off_bottom_comes_with_the_tare() -> None:
    """The rows of a rig turn off bottom with 3 kN m; before the first tare it is unknown."""
    out = Motion(well()).process(stand().table())["off_bottom_torque"]
    assert np.isnan(out.value[0])
    assert out.quality[0] == int(Quality.NO_REFERENCE)
    known = out.value[~np.isnan(out.value)]
    assert set(np.round(known).tolist()) <= {3000.0, 0.0}
    assert known[0] == 3000.0
    old = (out.quality & np.uint16(Quality.OLD_REFERENCE)) != 0
    assert old.any()
    assert not old[np.flatnonzero(~np.isnan(out.value))[0]]
