"""Range and frozen checks of raw channels."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pytest

from engine.block import Block, Quality
from engine.ops.checks import FROZEN_RULES, GAP_S, Checks
from engine.units import PSI
from tests.tables import (
    L_S,
    NAN,
    SPM,
    T0,
    check_splits,
    cut,
    has,
    random_table,
    table_of,
    well,
    with_bits,
)

LIVE = np.random.default_rng(7)


def alive(n: int, level: float) -> np.ndarray:
    """Return a living signal: no two samples are equal."""
    return level * (1 + 0.01 * LIVE.standard_normal(n))


def working(n: int, **columns: object) -> dict[str, Block]:
    """Return a rig that drills: pumps at 70, rotary at 60, everything alive."""
    base = {
        "pump_1_rate": 70 * SPM, "pump_2_rate": 0.0, "rotary": alive(n, 6.3),
        "flow_out": alive(n, 40 * L_S), "standpipe_pressure": alive(n, 1e7),
        "hook_load": alive(n, 1e6), "pit_volume": alive(n, 40.0),
        "block_position": np.full(n, 20.0),
    }  # fmt: skip
    return table_of(n, **(base | columns))


def frozen_at(table: Mapping[str, Block], channel: str) -> int | None:
    """Return the first row at which the channel is marked."""
    marks = has(Checks(well()).process(table)[channel], Quality.FROZEN)
    return marks.index(True) if True in marks else None


def test_a_number_outside_the_measuring_range_is_marked_and_kept() -> None:
    """R-03: shown as such and kept as it came, never zeroed, clipped or dropped."""
    table = table_of(flow_out=[-300 / 6e4, -50 / 6e4, 15_000 / 6e4, 16_000 / 6e4, NAN])
    out = Checks(well()).process(table)["flow_out"]
    assert has(out, Quality.OUT_OF_RANGE) == [True, False, False, True, False]
    assert out.value.tobytes() == table["flow_out"].value.tobytes()


def test_a_channel_without_a_range_is_left_as_it_is() -> None:
    table = table_of(reported_rop=[1e9])
    assert Checks(well()).process(table)["reported_rop"] is table["reported_rop"]


def test_a_living_rig_flags_nothing() -> None:
    out = Checks(well()).process(working(3600))
    assert not any(block.quality.any() for block in out.values())


def test_flow_out_held_while_pumps_vary_is_flagged_within_60_s() -> None:
    """R-04."""
    flow = alive(400, 40 * L_S)
    flow[100:] = flow[100]
    rate = np.full(400, 70 * SPM)
    rate[100:] -= np.minimum(np.arange(300), 40) * SPM / 2
    at = frozen_at(working(400, flow_out=flow, pump_1_rate=rate), "flow_out")
    assert at is not None
    assert 100 + 45 <= at <= 100 + 60


def test_a_still_rig_flags_nothing_however_long() -> None:
    table = table_of(
        7200, pump_1_rate=0.0, pump_2_rate=0.0, rotary=0.0, block_position=1.0,
        flow_out=0.0, standpipe_pressure=0.0, hook_load=3e5, pit_volume=40.0,
    )  # fmt: skip
    out = Checks(well()).process(table)
    assert not any(block.quality.any() for block in out.values())


def test_no_returns_while_the_pumps_run_is_a_loss_and_not_a_dead_sensor() -> None:
    """A total loss must stay a number, or its own alarm would go blind."""
    n = 900
    rate = np.where(np.arange(n) < 300, 70 * SPM, 30 * SPM)
    assert frozen_at(working(n, flow_out=np.zeros(n), pump_1_rate=rate), "flow_out") is None


def test_pressure_at_rest_while_the_pumps_fill_the_pipe_is_not_flagged() -> None:
    table = working(900, standpipe_pressure=np.full(900, 10 * PSI))
    assert frozen_at(table, "standpipe_pressure") is None


@pytest.mark.parametrize(
    ("channel", "value", "after"),
    [("standpipe_pressure", 1e7, 190), ("flow_out", 40 * L_S, 190), ("pit_volume", 40.0, 300),
     ("hook_load", 1e6, 260)],
)  # fmt: skip
def test_a_flat_line_on_a_working_rig_is_flagged_after_its_limit(
    channel: str, value: float, after: int
) -> None:
    """Three times the longest run that noise of half a quantum gives, so never by chance."""
    n = after + 100
    table = working(n, **{channel: np.full(n, value)})
    assert frozen_at(table, channel) == after


def test_a_hook_load_that_ignores_five_metres_of_hoisting_is_flagged() -> None:
    n = 200
    table = working(
        n, pump_1_rate=np.zeros(n), rotary=np.zeros(n), hook_load=np.full(n, 1e6),
        block_position=2.0 + np.minimum(np.arange(n), 20) * 0.5,
    )  # fmt: skip
    assert frozen_at(table, "hook_load") == 11 + 60


def test_a_hook_load_in_slips_may_hang_quite_still_while_the_pumps_fill_pipe() -> None:
    n = 900
    table = working(n, rotary=np.zeros(n), hook_load=np.full(n, 3e5))
    assert frozen_at(table, "hook_load") is None


def test_a_calm_quantised_pit_is_not_flagged_by_chance() -> None:
    """Noise of half a quantum, correlated over 10 s, for 55 h: longest run 85 s [computed]."""
    n = 200_000
    rng = np.random.default_rng(3)
    keep = np.exp(-1 / 10.0)
    noise = np.empty(n)
    last = 0.0
    for i, e in enumerate(rng.standard_normal(n).tolist()):
        last = noise[i] = keep * last + np.sqrt(1 - keep**2) * e
    pits = np.round((40.0 + 0.005 * noise) / 0.01) * 0.01
    assert frozen_at(working(n, pit_volume=pits), "pit_volume") is None


def test_only_fresh_samples_prove_and_a_held_one_shares_the_mark() -> None:
    n = 300
    table = table_of(n, pump_1_rate=70 * SPM, flow_out=40 * L_S)
    flow = table["flow_out"]
    table["flow_out"] = with_bits(flow, Quality.HELD, np.arange(n) > 0)
    assert frozen_at(table, "flow_out") is None
    table["flow_out"] = with_bits(flow, Quality.HELD, np.arange(n) % 7 != 0)
    marks = has(Checks(well()).process(table)["flow_out"], Quality.FROZEN)
    assert marks == [i >= 196 for i in range(n)]  # 196: the first fresh one after 190 s


@pytest.mark.parametrize("gap", [Quality.STALE, Quality.LINK_DOWN, Quality.NO_DATA])
def test_a_lost_channel_that_comes_back_starts_anew(gap: Quality) -> None:
    n = 300
    flow = np.full(n, 40 * L_S)
    flow[150:152] = NAN
    table = table_of(n, pump_1_rate=70 * SPM, flow_out=flow)
    block = table["flow_out"]
    lost = np.where(np.isnan(block.value), int(gap), 0).astype(np.uint16)
    table["flow_out"] = Block(block.t, block.value, lost)
    assert frozen_at(table, "flow_out") is None


def test_equal_values_on_both_sides_of_a_gap_without_rows_prove_nothing() -> None:
    n = 300
    block = table_of(n, flow_out=40 * L_S)["flow_out"]
    t = block.t + np.where(np.arange(n) >= 150, GAP_S, 0.0)
    table = {
        name: Block(t, np.full(n, value), block.quality)
        for name, value in (("flow_out", 40 * L_S), ("pump_1_rate", 70 * SPM))
    }
    assert frozen_at(table, "flow_out") is None


def test_an_empty_item_now_and_then_does_not_hide_a_frozen_sensor() -> None:
    n = 300
    block = table_of(n, flow_out=40 * L_S)["flow_out"]
    empty = np.arange(n) % 3 == 1
    table = table_of(n, pump_1_rate=70 * SPM)
    table["flow_out"] = Block(
        block.t,
        np.where(empty, NAN, block.value),
        np.where(empty, int(Quality.MISSING), 0).astype(np.uint16),
    )
    marks = has(Checks(well()).process(table)["flow_out"], Quality.FROZEN)
    assert marks == [i >= 190 and not empty[i] for i in range(n)]


def test_the_mark_goes_when_the_value_moves() -> None:
    flow = np.full(400, 40 * L_S)
    flow[300:] = alive(100, 40 * L_S)
    table = table_of(400, pump_1_rate=70 * SPM, flow_out=flow)
    marks = has(Checks(well()).process(table)["flow_out"], Quality.FROZEN)
    assert marks == [190 <= i < 300 for i in range(400)]


def test_an_unknown_pump_is_no_witness() -> None:
    table = table_of(400, pump_1_rate=NAN, flow_out=40 * L_S)
    assert frozen_at(table, "flow_out") is None


def test_every_rule_reads_a_channel_that_can_freeze_and_says_why() -> None:
    from engine.channels import channel

    assert {rule.channel for rule in FROZEN_RULES} == {
        "hook_load", "standpipe_pressure", "flow_out", "pit_volume",
    }  # fmt: skip
    for rule in FROZEN_RULES:
        assert channel(rule.channel).can_freeze
        for group in rule.witness.groups:
            assert all(channel(name) for name, _ in group)


LEVELS = {
    "pump_1_rate": (0.0, 0.8, 1.2, 6.0), "pump_2_rate": (0.0, 1.0), "pump_3_rate": (0.0, 0.0),
    "flow_in_measured": (0.0, 0.03), "rotary": (0.0, 6.0), "block_position": (1.0, 20.0, 30.0),
    "flow_out": (0.0, 0.04), "standpipe_pressure": (0.0, 1e7), "hook_load": (3e5, 1e6),
    "pit_volume": (40.0, 41.0, -9.0),
}  # fmt: skip


def test_any_split_gives_the_same_marks() -> None:
    frozen, outside = set(), False
    for seed in range(4):
        table = random_table(seed, 1200, **LEVELS)
        out = check_splits(lambda: Checks(well()), table)
        frozen |= {name for name, block in out.items() if any(has(block, Quality.FROZEN))}
        outside |= any(has(out["pit_volume"], Quality.OUT_OF_RANGE))
    assert {"flow_out", "hook_load", "standpipe_pressure"} <= frozen
    assert outside


@pytest.mark.parametrize("seed", range(4))
def test_the_marks_are_those_of_plain_code_row_by_row(seed: int) -> None:
    """The rule in words, written once more without arrays."""
    n = 1500
    table = random_table(seed, n, **LEVELS)
    out = Checks(well()).process(table)
    for channel in ("flow_out", "hook_load", "pit_volume"):
        plain = [PlainRule(rule) for rule in FROZEN_RULES if rule.channel == channel]
        ranged = {name: _known(block) for name, block in out.items()}
        for i in range(n):
            block = table[channel].slice(i, i + 1)
            marks = [rule.row(block, {k: v[i] for k, v in ranged.items()}) for rule in plain]
            got = bool(out[channel].quality[i] & int(Quality.FROZEN))
            assert got == (any(marks) and not np.isnan(block.value[0])), (channel, i)


def _known(block: Block) -> list[float]:
    """Return values without the marks that the check itself adds; witnesses never freeze."""
    plain = block.quality & ~np.uint16(Quality.FROZEN)
    return Block(block.t, block.value, plain).usable().tolist()


class PlainRule:
    """One frozen rule, one row at a time."""

    def __init__(self, rule: object) -> None:
        self.rule = rule
        self.value, self.at, self.since = NAN, -np.inf, NAN
        self.moved = self.frozen = False
        self.base: dict[str, float] = {}

    def row(self, block: Block, now: dict[str, float]) -> bool:
        t, value, bits = float(block.t[0]), float(block.value[0]), int(block.quality[0])
        fresh = not np.isnan(value) and not bits & int(Quality.HELD)
        if bits & int(Quality.NO_DATA | Quality.STALE | Quality.LINK_DOWN):
            self.value = NAN
        elif fresh:
            if value != self.value or t - self.at > GAP_S:
                self.value, self.since, self.moved, self.frozen = value, t, False, False
                self.base = dict(now)
            self.at = t
        witness = self.rule.witness
        old = self.base if witness.since_run else dict.fromkeys(now, 0.0)
        moves = all(
            any(abs(now[c] - old.get(c, NAN)) > amount for c, amount in group)
            for group in witness.groups
        )
        moves = moves or (witness.since_run and self.moved)
        if moves and not self.moved:
            self.since = t
        self.moved = moves
        long = t - self.since >= self.rule.limit
        if fresh and moves and long and self.value > self.rule.rest:
            self.frozen = True
        return self.frozen


def test_the_rows_before_a_cut_do_not_change_when_more_come() -> None:
    """What was shown is not taken back."""
    table = working(400, flow_out=np.full(400, 40 * L_S))
    first = Checks(well()).process(cut(table, 0, 250))["flow_out"]
    whole = Checks(well()).process(table)["flow_out"]
    assert first.quality.tobytes() == whole.quality[:250].tobytes()
    assert first.t[0] == T0
