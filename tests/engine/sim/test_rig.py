"""The run as a whole: cuts, states, connections, noise, bytes."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise
from math import sqrt

import numpy as np
import pytest

from engine.block import FloatArray
from engine.config import WellConfig
from engine.errors import InputError
from engine.sim.noise import CLASSES
from engine.sim.rig import Chunk, Rig
from engine.sim.scenarios import SCENARIOS, Scenario, Trouble, scenario
from engine.sim.sensors import Sensors
from engine.sim.stream import truth_json, wits_bytes
from engine.sim.trouble import Fate
from engine.states import RigState
from engine.units import BBL, LBF

Run = Callable[[str, float, int], tuple[Rig, Chunk]]
START = 1_780_000_000.0


def wire(chunks: list[Chunk]) -> list[tuple[float, bytes]]:
    return [packet for chunk in chunks for packet in wits_bytes(chunk)]


@pytest.mark.parametrize("noise", ["calm", "rough", "heave"])
def test_the_bytes_do_not_depend_on_how_the_run_is_cut(well: WellConfig, noise: str) -> None:
    what = replace(scenario("stuck-sensor"), noise=noise)
    what = replace(what, troubles=(replace(what.troubles[0], start=500.0),))
    whole = Rig(well, what, 11, START)
    one = whole.advance(1800)
    cut = Rig(well, what, 11, START)
    parts = [cut.advance(s) for s in (0, 0.3, 0.4, 0.3, 1, 595.5, 2.5, 0, 700, 500)]
    assert wire([one]) == wire(parts)
    assert truth_json(whole, [one]) == truth_json(cut, parts)
    for name, values in one.sensors.items():
        joined = np.concatenate([p.sensors[name] for p in parts if p.second.size])
        assert joined.tobytes() == values.tobytes(), name


def test_another_seed_is_another_run(well: WellConfig) -> None:
    a, b = (Rig(well, "quiet", seed, START).advance(60) for seed in (1, 2))
    assert a.sensors["hook_load"].tobytes() != b.sensors["hook_load"].tobytes()
    rocks = [Rig(well, "quiet", seed, START).hoist.rock for seed in (1, 2, 3, 1)]
    assert len(set(rocks)) == 3  # not only the noise: the rock is another, too
    assert rocks[0] == rocks[3]


def test_time_does_not_go_back(well: WellConfig) -> None:
    with pytest.raises(InputError, match="time only goes forward"):
        Rig(well, "quiet", 1, START).advance(-1)


def test_unknown_names_are_refused_with_the_known_ones(well: WellConfig) -> None:
    with pytest.raises(InputError, match=r"no scenario 'quite'.*quiet-soft"):
        Rig(well, "quite", 1, START)
    with pytest.raises(InputError, match=r"no kind 'flood'.*washout"):
        Fate((Trouble("flood", 0.0, 1.0),))


def test_a_connection_goes_through_the_usual_states_in_order(run: Run) -> None:
    _, chunk = run("quiet", 3600, 4)
    states = chunk.truth["rig_state"]
    order = [int(s) for s in states[np.flatnonzero(np.diff(states, prepend=-1))]]
    for before, after in (
        (RigState.DRILLING_ROTARY, RigState.REAMING_UP),
        (RigState.REAMING_UP, RigState.CIRCULATING),
        (RigState.CIRCULATING, RigState.STATIC),
        (RigState.STATIC, RigState.IN_SLIPS),
        (RigState.CIRCULATING, RigState.REAMING_DOWN),
        (RigState.REAMING_DOWN, RigState.DRILLING_ROTARY),
    ):
        assert (before, after) in set(pairwise(order))


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_a_connection_adds_a_stand_and_leaves_time_for_a_tare(run: Run, seed: int) -> None:
    """Common practice: 3 to 8 min slip to slip, at least 20 s of slow lowering to bottom."""
    rig, chunk = run("quiet-soft", 7200, seed)
    done = [c for c in rig.connections if c.slips_out is not None]
    assert len(done) >= 2
    for c in done:
        assert c.slips_out is not None
        assert 180 <= c.slips_out - c.slips_in <= 481
        first, last = (int(np.searchsorted(chunk.second, x)) for x in (c.slips_in, c.slips_out))
        block = chunk.sensors["block_position"]
        assert block[last - 2] - block[first + 1] == pytest.approx(28.5, abs=0.15)
        assert np.ptp(chunk.truth["bit_depth"][first:last]) == 0
        after = slice(last, last + 400)
        down = chunk.truth["rig_state"][after] == RigState.REAMING_DOWN
        assert down.sum() >= 20
        speed = -np.diff(chunk.truth["bit_depth"][after])[down[1:]]
        assert np.abs(speed).max() <= 0.1
        assert (chunk.sensors["flow_in_measured"][after][down] > 0.97 * rig.fluid.usual).all()


def test_hole_depth_only_grows_and_the_bit_is_never_deeper(run: Run) -> None:
    _, chunk = run("trip-in", 4700, 1)
    assert (np.diff(chunk.truth["hole_depth"]) >= 0).all()
    assert (chunk.truth["bit_depth"] <= chunk.truth["hole_depth"] + 1e-9).all()


def correlation_time(x: FloatArray) -> float:
    x = x - x.mean()
    r = float(np.dot(x[1:], x[:-1]) / np.dot(x, x))
    return -1 / float(np.log(r))


def test_the_calm_class_has_the_noise_of_its_table() -> None:
    """Own table (common practice): hook 0.5 klbf, block 5 mm, pits 0.25 bbl, flume 3 % at 10 s."""
    n = 600 * 60
    level = {
        "hook_load": 1e6, "block_position": 10.0, "pit_volume": 60.0,
        "flow_out": 0.045, "standpipe_pressure": 11e6, "temperature_out": 330.0,
    }  # fmt: skip
    sensors = Sensors(CLASSES["calm"], 3, ())
    parts: dict[str, list[FloatArray]] = {name: [] for name in level}
    for first in range(0, n, 600):
        truth = {name: np.full(600, value) for name, value in level.items()}
        read = sensors.read(first, truth, np.zeros(600))
        for name, values in read.items():
            parts[name].append(values - values.mean() if name == "flow_out" else values)
    seen = {name: np.concatenate(values) for name, values in parts.items()}
    diff = np.diff(seen["hook_load"])  # takes the slow error out; AR(1) of 1 s: 2(1 - e^-1)
    assert diff.std() / sqrt(2 * (1 - np.exp(-1))) == pytest.approx(500 * LBF, rel=0.2)
    assert seen["block_position"].std() == pytest.approx(0.0058, rel=0.2)  # 5 mm and 1 cm steps
    assert seen["pit_volume"].std() == pytest.approx(sqrt((0.25 * BBL) ** 2 + 0.03**2), rel=0.2)
    assert seen["flow_out"].std() / 0.045 == pytest.approx(0.03, rel=0.2)
    assert correlation_time(seen["flow_out"]) == pytest.approx(10, rel=0.2)
    assert seen["standpipe_pressure"].std() / 11e6 == pytest.approx(0.003, rel=0.4)
    assert seen["temperature_out"].std() == pytest.approx(0.2, rel=0.2)
    assert abs(seen["block_position"].mean() / 10.0 - 1) <= 5e-4 + 1e-4


def test_the_sender_is_as_uneven_as_its_table_says(run: Run) -> None:
    """Own table (common practice): 0.9 to 1.1 s apart, 0.1 % of the packets missing."""
    _, chunk = run("quiet", 20000, 1)
    gaps = np.diff(chunk.t)
    assert gaps.min() >= 0.9 - 1e-6
    assert gaps.max() <= 1.1 + 1e-6
    assert (~chunk.sent).sum() == pytest.approx(20, abs=14)
    assert not chunk.doubled.any()


def test_a_poor_paddle_sticks_drops_out_and_runs_wild() -> None:
    """Own table (common practice): sticks 1 to 20 min, gaps 5 to 60 s, single wild readings."""
    paddle = replace(
        CLASSES["rough"].sensors["flow_out"], sticks=20 / 86400, dropouts=40 / 86400, outliers=1e-3
    )
    kinds = replace(CLASSES["rough"], sensors={"flow_out": paddle})
    sensors = Sensors(kinds, 1, ())
    flow = np.concatenate(
        [
            sensors.read(first, {"flow_out": np.full(600, 0.045)}, np.zeros(600))["flow_out"]
            for first in range(0, 43200, 600)
        ]
    )
    gap = np.isnan(flow).astype(int)
    begins, ends = np.flatnonzero(np.diff(gap) == 1), np.flatnonzero(np.diff(gap) == -1)
    assert 8 <= begins.size <= 36
    lengths = ends[: begins.size] - begins[: ends.size]
    assert 5 <= lengths.min() <= lengths.max() <= 130  # two gaps may run into each other
    still = np.diff(np.flatnonzero(np.diff(flow[gap == 0])))
    assert 60 <= still.max() <= 2400
    assert 15 <= (flow > 1.4 * 0.045).sum() <= 90


def test_a_jump_of_the_encoder_stays_for_good() -> None:
    """Own table (common practice): lasting steps of up to 20 cm."""
    block = replace(CLASSES["rough"].sensors["block_position"], jumps=5e-4, outliers=0, dropouts=0)
    sensors = Sensors(replace(CLASSES["rough"], sensors={"block_position": block}), 2, ())
    truth = {"block_position": np.full(600, 15.0)}
    parts = [
        sensors.read(first, truth, np.zeros(600))["block_position"]
        for first in range(0, 12000, 600)
    ]
    read = np.concatenate(parts)
    steps = np.flatnonzero(np.abs(np.diff(read)) > 0.045)
    assert 2 <= steps.size <= 14
    assert np.abs(np.diff(read)).max() <= 0.2 + 0.06
    for before, after in pairwise(parts):
        # No step where two spans meet, but for one that fell there.
        assert abs(before[-20:].mean() - after[:20].mean()) < 0.05


def test_a_rough_sender_doubles_packets_and_stalls_then_catches_up(well: WellConfig) -> None:
    """Own table (common practice): 5 s of silence, then everything at once."""
    sensors = Sensors(replace(CLASSES["rough"], stalls=2e-3), 1, ())
    delay = np.concatenate([sensors.clock(first, 600)[3] for first in range(0, 6000, 600)])
    begins = np.flatnonzero(np.diff(delay, prepend=0) > 0)
    assert 4 <= begins.size <= 30
    for i in begins:
        assert delay[i : i + 5].tolist() == [5, 4, 3, 2, 1]
    what = replace(scenario("quiet"), noise="rough")
    chunk = Rig(well, what, 1, START).advance(21600)
    assert chunk.doubled.sum() == pytest.approx(21600 * 5e-4, rel=0.9)
    packets = list(wits_bytes(chunk))
    assert len(packets) == chunk.sent.sum() + (chunk.sent & chunk.doubled).sum()


def test_a_packet_is_short_enough_for_9600_baud_and_says_what_was_read(run: Run) -> None:
    """API PUBL 3855 (1991), record 1, metric units; 0114 in kilodecanewton."""
    _, chunk = run("quiet", 3600, 4)
    packets = list(wits_bytes(chunk))
    assert len(packets) == chunk.sent.sum()
    assert np.mean([len(data) for _, data in packets]) < 300
    at, data = packets[0]
    lines = data.decode("ascii").split("\r\n")
    assert (lines[0], lines[-2:]) == ("&&", ["!!", ""])
    item = {line[:4]: line[4:] for line in lines[1:-2]}
    i = int(np.flatnonzero(chunk.sent)[0])
    assert at == chunk.t[i]
    assert float(item["0114"]) == pytest.approx(chunk.sensors["hook_load"][i] / 1e4, abs=0.006)
    assert float(item["0121"]) == pytest.approx(
        chunk.sensors["standpipe_pressure"][i] / 1e3, abs=0.6
    )
    assert float(item["0129"]) == pytest.approx(chunk.sensors["flow_out"][i] * 6e4, abs=0.6)
    assert item["0105"] == "260528"
    assert "0141" not in item


def test_every_scenario_runs(well: WellConfig) -> None:
    for name, what in SCENARIOS.items():
        assert what.name == name
        assert what.text
        assert Rig(well, what, 1, START).advance(5).second.size == 5


def test_a_rig_of_ones_own_needs_no_table(well: WellConfig) -> None:
    what = Scenario("mine", "A dropout at once", troubles=(Trouble("dropout", 10, 1, 0, 20, 0),))
    chunk = Rig(well, what, 1, START).advance(60)
    assert not chunk.sent[9:29].any()
    assert chunk.sent[30:].any()
