"""The log of connections and stands on the synthetic rig, against what it really did."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import pytest

from engine.block import Block
from engine.ops.flow import FLOWING
from engine.pipeline import Pipeline
from engine.records.connection_log import Logged, connections_of
from engine.records.stand_log import StandLog, stands_of
from engine.records.tally_log import tally_of
from engine.sim.rig import Chunk, Rig
from engine.sim.truth import BITING
from engine.well.answer import Unknown
from engine.well.tally import Tally
from tests.tables import T0, raw_of, well

_LOAD_CELL = well(line={"goal_tkm": 1000.0}, tally=[{"joints_m": [14.25, 14.25]}] * 95)
_RIG = _LOAD_CELL.rig.model_copy(update={"sheave_efficiency": 0.98})
CONFIG = _LOAD_CELL.model_copy(update={"rig": _RIG})
"""The rig has a dead-line gauge and makes stands of 28.5 m, 3 cm more or less."""


@dataclass(frozen=True, slots=True)
class Run:
    """One run and what the log makes of it."""

    rig: Rig
    chunk: Chunk
    rows: Mapping[str, Block]
    log: tuple[Logged, ...]
    stands: StandLog


@pytest.fixture(scope="module")
def drilling() -> Run:
    """Return four hours of soft rock, a connection an hour."""
    return run("quiet-soft", 4.0)


@pytest.fixture(scope="module")
def trip() -> Run:
    """Return twelve stands out and in again."""
    return run("trip-in", 3.0)


def run(name: str, hours: float) -> Run:
    rig = Rig(CONFIG, name, 7, T0)
    chunk = rig.advance(hours * 3600.0)
    rows = Pipeline(CONFIG).process(raw_of(chunk))
    return Run(rig, chunk, rows, connections_of(rows, CONFIG), stands_of(rows, CONFIG))


def seconds(answer: object) -> float:
    assert isinstance(answer, float), answer
    return answer


def test_every_connection_is_there_and_slip_to_slip_is_within_two_seconds(drilling: Run) -> None:
    true = drilling.rig.connections
    assert len(drilling.log) == len(true) >= 3
    for one, real in zip(drilling.log, true, strict=True):
        assert one.kind == "drilling"
        assert one.at == pytest.approx(T0 + real.slips_in, abs=2.0)
        assert real.slips_out is not None
        assert seconds(one.times.slip_to_slip) == pytest.approx(
            real.slips_out - real.slips_in, abs=2.0
        )
        assert one.bit_depth == pytest.approx(real.bit_depth, abs=0.1)


def test_weight_to_weight_is_within_eight_seconds_of_the_bits_own(drilling: Run) -> None:
    """The bit is known to have left bottom some 5 s late, when the pipe has been lifted."""
    weight, t = drilling.chunk.truth["weight_on_bit"], drilling.chunk.t
    timed = 0
    for one in drilling.log:
        if isinstance(one.times.weight_to_weight, Unknown):
            continue
        timed += 1
        k = int(np.searchsorted(t, one.at or 0.0))
        off = t[:k][weight[:k] > BITING][-1]
        on = t[k:][weight[k:] > BITING][0]
        assert seconds(one.times.weight_to_weight) == pytest.approx(on - off, abs=8.0)
    assert timed >= len(drilling.log) - 1


def test_pumps_off_to_on_is_within_a_ramp_of_the_flow(drilling: Run) -> None:
    """Pumps take 10 s to stop and 30 to 40 to come up; the limits are a tenth and nine tenths."""
    flow, t = drilling.rows["flow_in"].usable(), drilling.rows["flow_in"].t
    for one in drilling.log:
        k = int(np.searchsorted(t, one.at or 0.0))
        pumping = flow > FLOWING
        idle = int(np.flatnonzero(pumping[:k])[-1]) + 1
        flows = k + int(np.flatnonzero(pumping[k:])[0])
        dead = t[flows] - t[idle]
        assert dead < seconds(one.times.pumps_off_to_on) < dead + 50.0


def test_stands_have_the_length_that_was_run_and_the_hole_that_was_made(drilling: Run) -> None:
    made = drilling.chunk.truth["hole_depth"]
    total = sum(one.drilled for one in drilling.stands.stands)
    assert total == pytest.approx(made[-1] - made[0], abs=0.25)
    for one in drilling.stands.stands[1:]:
        assert seconds(one.length) == pytest.approx(28.5, abs=0.12)
        assert one.off is False
    assert all(seconds(one.rate) == pytest.approx(29 / 3600, rel=0.1)
               for one in drilling.stands.stands if one.drilled > 5)  # fmt: skip


def test_rotating_weight_of_each_stand_is_near_the_expected_one(drilling: Run) -> None:
    """The string weighed while it turns off bottom; block 32 t, buoyed string, 3 %."""
    weighed = 0
    for one in drilling.stands.stands[1:]:
        load = one.loads["rotating_load"]
        if isinstance(load, Unknown):
            continue
        weighed += 1
        row = int(np.searchsorted(drilling.rows["hook_load"].t, one.start)) + 60
        expected = drilling.rows["expected_hook_load"].value[row]
        assert load == pytest.approx(expected, rel=0.03)
    assert weighed >= 2


def test_a_trip_is_told_from_drilling_and_the_tally_follows_it(trip: Run) -> None:
    kinds = [one.kind for one in trip.log]
    assert kinds.count("tripping") >= 20
    assert len(trip.log) == len(trip.rig.connections)
    changes = [one.change for one in trip.stands.stands if one.change in (1, -1)]
    assert changes.count(-1) >= 11
    start = tally_of(CONFIG)
    assert isinstance(start, Tally)
    assert isinstance(trip.stands.tally, Tally)
    out = min(one.number for one in trip.stands.stands if isinstance(one.number, float))
    back = trip.stands.tally.in_hole
    assert back - out == pytest.approx(12, abs=1)


def test_line_work_of_a_stand_is_that_of_its_moves(drilling: Run) -> None:
    """API RP 9B, from memory: load times distance.

    Down 28.5 m with the string, up empty; lifting off bottom and picking up add to it.
    """
    work, t = drilling.rows["line_work"].value, drilling.rows["line_work"].t
    a, b = (np.searchsorted(t, one.at or 0.0) for one in drilling.log[1:3])
    block = CONFIG.rig.block_weight
    string = float(np.nanmedian(drilling.rows["tare"].value)) - block
    least = 28.5 * (2 * block + string)
    assert least < work[b] - work[a] < 1.3 * least
