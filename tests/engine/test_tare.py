"""When a hook load is fit to be the tare, when it is refused, and when it is old."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from engine.block import Block, Quality
from engine.ops.motion import Motion
from tests.hoist_rows import BLOCK, STRING, Rows, T
from tests.tables import cut, has, well

W0 = BLOCK + STRING


def run(rows: Rows, **more: object) -> dict[str, Block]:
    return Motion(well()).process(rows.table(**more))


def off_bottom() -> Rows:
    """Bit 3 m off a bottom at 2400 m, block well up."""
    return Rows(z=20.0, bit=2397.0).still(10)


def test_a_load_is_taken_while_sinking_with_pumps_and_rotation() -> None:
    tare = run(off_bottom().to_bottom(2.0))["tare"]
    assert np.isnan(tare.value[:25]).all()
    assert has(tare, Quality.NO_REFERENCE)[0]
    assert tare.value[-1] == pytest.approx(W0)
    assert tare.quality[-1] == 0
    first = int(np.flatnonzero(~np.isnan(tare.value))[0])
    assert first - 25 == pytest.approx(9, abs=2)  # eight seconds after it begins to sink


@pytest.mark.parametrize(
    "spoil",
    [
        pytest.param(lambda r: r.turn(False).still(15).move(-1.0, 0.01), id="pumps off"),
        pytest.param(lambda r: r.turn(True).still(60), id="standing"),
        pytest.param(lambda r: r.turn(True).move(2.0, 0.09), id="hoisting"),
        pytest.param(lambda r: r.turn(True).move(6.0, 0.5).move(-2.0, 0.3), id="too fast"),
        pytest.param(lambda r: r.move(6.0, 0.5).turn(True).move(-2.0, 0.09), id="too far off"),
        pytest.param(lambda r: r.turn(True).still(5).move(-0.4, 0.09), id="too short"),
        pytest.param(lambda r: r.slips(True).turn(True).move(-2.0, 0.09), id="in slips"),
    ],
)
def test_no_load_is_taken(spoil: Callable[[Rows], Rows]) -> None:
    assert np.isnan(run(spoil(off_bottom()))["tare"].value).all()


def test_no_load_is_taken_on_bottom_nor_where_the_bit_may_touch() -> None:
    """15 t squeeze the string by 0.6 m here: the last metre is not fit."""
    rows = Rows(z=20.0, bit=2399.4).still(10).to_bottom(0.6, 0.05).drill(1.0)
    assert np.isnan(run(rows)["tare"].value).all()


@pytest.mark.parametrize("step", [0.1, 1.0])
def test_a_noisy_load_is_not_taken(step: float) -> None:
    rows = Rows(z=20.0, bit=2397.0, step=step).to_bottom(2.0)
    load = rows.table()["hook_load"].value
    load += np.where(np.arange(load.size) % 2, 10 * T, -10 * T)
    assert np.isnan(run(rows, hook_load=load)["tare"].value).all()


def test_the_weight_of_a_new_stand_is_added_until_the_next_tare() -> None:
    """28.5 m of 31.9 kg/m pipe in mud of 1.05: 0.787 tf, marked old."""
    rows = off_bottom().to_bottom(2.0)
    rows.turn(False).still(5)
    one = len(rows.rows) - 1
    rows.connect(28.5)
    tare = run(rows)["tare"]
    assert not has(tare, Quality.OLD_REFERENCE)[one - 10]
    assert has(tare, Quality.OLD_REFERENCE)[-1]
    added = 31.9 * 28.5 * (1 - 1050 / 7850) / 1000
    assert (tare.value[-1] - W0) / T == pytest.approx(added, abs=1e-3)


def test_a_tare_is_old_when_flow_or_rotation_are_not_what_they_were() -> None:
    rows = off_bottom().to_bottom(2.0)
    rows.flow = 0.035
    rows.still(3)
    rows.flow, rows.rotary = 0.045, 0.0
    rows.still(10)
    old = has(run(rows)["tare"], Quality.OLD_REFERENCE)
    n = len(rows.rows)
    assert old[n - 14] is False
    assert old[n - 13 : n - 10] == [True] * 3
    assert old[-1] is True


def test_sliding_has_a_tare_of_its_own() -> None:
    rows = off_bottom().to_bottom(1.0)
    rows.rotary, rows.string = 0.0, STRING - 3 * T  # drag of a string that does not turn
    rows.still(5).move(-1.0, 0.05)
    tare = run(rows)["tare"]
    assert tare.value[-1] == pytest.approx(W0 - 3 * T)
    assert tare.quality[-1] == 0


def test_a_load_far_from_the_last_tare_is_refused_and_shown_as_a_conflict() -> None:
    rows = off_bottom().to_bottom(2.0).move(2.0, 0.1)
    rows.string = STRING + 8 * T
    rows.still(15).to_bottom(2.0)
    motion = Motion(well())
    tare = motion.process(rows.table())["tare"]
    assert tare.value[-1] == pytest.approx(W0)
    assert has(tare, Quality.CONFLICT)[-1]
    assert motion.state.tare.refused == pytest.approx(8 * T)
    assert motion.tare_now() == pytest.approx(W0 + 8 * T)
    after = motion.process({k: b.slice(-1, len(b)) for k, b in rows.table().items()})["tare"]
    assert after.value.tolist() == pytest.approx([W0 + 8 * T])
    assert not has(after, Quality.CONFLICT)[-1]


def test_a_tare_by_hand_is_refused_in_slips_and_before_any_load() -> None:
    motion = Motion(well())
    assert motion.tare_now() is None
    rows = Rows().still(5).slips(True).still(5)
    motion.process(rows.table())
    assert motion.tare_now() is None
    assert motion.state.tare.rotating == motion.state.tare.sliding


def test_the_usual_flow_and_speed_are_learned_when_the_well_file_is_silent() -> None:
    rows = Rows(z=20.0, bit=2397.0).turn(True).still(60).turn(False).still(10)
    rows.to_bottom(2.0)
    half = rows.flow
    out = Motion(well(profile={})).process(rows.table())
    assert out["tare"].value[-1] == pytest.approx(W0)
    flow = rows.table()["flow_in"].value
    flow[75:] = 0.5 * half
    out = Motion(well(profile={})).process(rows.table(flow_in=flow))
    assert np.isnan(out["tare"].value).all()


def test_the_tare_outlives_a_block() -> None:
    rows = off_bottom().to_bottom(2.0).still(50)
    motion = Motion(well())
    motion.process(cut(rows.table(), 0, 48))
    later = motion.process(cut(rows.table(), 90, 97))
    assert later["tare"].value == pytest.approx(W0)
