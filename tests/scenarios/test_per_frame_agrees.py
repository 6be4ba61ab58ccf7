"""The block operators against `tests.benchmarks.per_frame`, which shares no line with them.

The reference is written from the documented rules with floats and ifs; where both agree, a rule
was read the same way twice. Common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest

from engine.alarms.manager import AlarmManager
from engine.block import Block, FloatArray, Quality
from engine.pipeline import Pipeline
from engine.states import RigState
from tests.benchmarks.material import make_tour
from tests.benchmarks.per_frame import PerFrame
from tests.tables import well

CASES = ((7200, 1, "quiet"), (7200, 2, "quiet-soft"), (5400, 1, "stuck-sensor"))
DERIVED = (
    "block_speed", "in_slips", "slips_since", "on_bottom", "bit_depth", "hole_depth", "tare",
    "weight_on_bit", "rop", "flow_in", "flow_difference", "pit_gain",
)  # fmt: skip


@dataclass
class Both:
    """What the pipeline gave and what the reference gave for the same rows."""

    blocks: dict[str, Block]
    rows: dict[str, FloatArray]
    frozen: list[list[str]]
    edges: list[tuple[float, str, str]]

    def pair(self, channel: str) -> tuple[FloatArray, FloatArray]:
        """Return the numbers of both where both know one."""
        a, b = self.blocks[channel].value, self.rows[channel]
        known = ~np.isnan(a) & ~np.isnan(b)
        assert known.any()
        return a[known], b[known]


@pytest.fixture(scope="module", params=CASES, ids=lambda case: f"{case[2]}-{case[1]}")
def both(request: pytest.FixtureRequest) -> Both:
    tour = make_tour(*request.param)
    reference, out, frozen, edges = PerFrame(well()), [], [], []
    for values, held in tour.rows():
        out.append(reference.step(values, held))
        frozen.append(list(reference.frozen))
        edges += reference.alarms(out[-1])
    rows = {c: np.array([row[c] for row in out]) for c in out[0]}
    return Both(Pipeline(well()).process(tour.raw), rows, frozen, edges)


@pytest.mark.parametrize("channel", DERIVED)
def test_both_know_a_value_at_the_same_rows(both: Both, channel: str) -> None:
    known = ~np.isnan(both.blocks[channel].value)
    assert known.mean() > 0.5
    assert (known == ~np.isnan(both.rows[channel])).mean() >= 0.999


def test_depths_agree_within_five_centimetres(both: Both) -> None:
    for channel in ("bit_depth", "hole_depth"):
        ours, theirs = both.pair(channel)
        assert (np.abs(ours - theirs) <= 0.05).mean() >= 0.999


def test_slips_and_bottom_are_found_at_the_same_rows(both: Both) -> None:
    for channel in ("in_slips", "slips_since", "on_bottom"):
        ours, theirs = both.pair(channel)
        assert ours.tobytes() == theirs.tobytes()
    assert {0.0, 1.0} <= set(both.rows["in_slips"].tolist())


def test_tare_and_weight_agree_within_ten_kilograms(both: Both) -> None:
    for channel in ("tare", "weight_on_bit"):
        ours, theirs = both.pair(channel)
        assert (np.abs(ours - theirs) <= 98.0665).mean() >= 0.999


def test_the_rate_agrees(both: Both) -> None:
    """Where 30 s are the window, whether one sample more lies in it may change some per cent."""
    ours, theirs = both.pair("rop")
    assert np.median(np.abs(ours - theirs)) <= 1e-9 * np.median(ours)
    assert (np.abs(ours - theirs) <= 0.05 * ours).mean() >= 0.999


def test_flow_agrees_to_the_last_digits(both: Both) -> None:
    for channel in ("flow_in", "flow_difference"):
        ours, theirs = both.pair(channel)
        assert ours.tolist() == pytest.approx(theirs.tolist(), rel=1e-9, abs=1e-15)


def test_pit_gain_agrees_exactly(both: Both) -> None:
    ours, theirs = both.pair("pit_gain")
    assert ours.tobytes() == theirs.tobytes()


def test_the_rig_state_agrees(both: Both) -> None:
    ours, theirs = both.blocks["rig_state"].value, both.rows["rig_state"]
    assert {RigState.DRILLING_ROTARY, RigState.IN_SLIPS} <= set(ours.astype(int).tolist())
    assert (ours == theirs).mean() >= 0.99
    same = ours == theirs
    since = both.blocks["rig_state_since"].value, both.rows["rig_state_since"]
    assert (np.abs(since[0] - since[1])[same] <= 1.0).mean() >= 0.99


def test_the_same_sensors_are_frozen(both: Both, request: pytest.FixtureRequest) -> None:
    for channel in ("hook_load", "standpipe_pressure", "flow_out", "pit_volume"):
        bits = both.blocks[channel].quality & np.uint16(Quality.FROZEN)
        assert (bits != 0).tolist() == [channel in names for names in both.frozen]
    stuck = "stuck-sensor" in request.node.name
    assert any(both.frozen) == stuck


def test_the_same_limits_trip_and_clear_at_the_same_rows(both: Both) -> None:
    both_know = [alarm for alarm in well().alarms if alarm.channel in both.rows]
    entries = AlarmManager(both_know).process(both.blocks)
    edges = [(e.at, e.id, e.event) for e in entries if e.event in ("trip", "clear")]
    assert len(edges) >= 4
    assert edges == both.edges
