"""The rig state: facts with their limits and holds, dwell, grammar, back-dating."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
import pytest

from engine.block import Block, Quality
from engine.ops.rig_state import RigStates
from engine.states import RigState
from engine.units import UNITS
from tests.tables import (
    NAN,
    SPM,
    T0,
    check_splits,
    has,
    random_table,
    table_of,
    well,
    with_bits,
)

RPM = UNITS["rpm"].factor


def rig(n: int = 60, **columns: Any) -> dict[str, Block]:
    """Return a rig that circulates off bottom without turning; give what differs."""
    base = {
        "flow_in": 0.045, "standpipe_pressure": 1e7, "pump_1_rate": 70 * SPM, "rotary": 0.0,
        "block_speed": 0.0, "in_slips": 0.0, "slips_since": T0 - 500, "on_bottom": 0.0,
        "bit_depth": 2400.0, "hole_depth": 2405.0, "hook_load": 1e6, "block_position": 10.0,
    }  # fmt: skip
    return table_of(n, **(base | columns))


def names(table: Mapping[str, Block], op: RigStates | None = None) -> list[str]:
    out = (op or RigStates(well())).process(table)["rig_state"]
    return [RigState(int(v)).id for v in out.value]


def runs(table: Mapping[str, Block], op: RigStates | None = None) -> list[tuple[str, int]]:
    """Return each state shown and the second in which it appears."""
    shown = names(table, op)
    return [(s, i) for i, s in enumerate(shown) if i == 0 or shown[i - 1] != s]


def switched(before: float, after: float, at: int = 20, n: int = 60) -> np.ndarray:
    return np.where(np.arange(n) < at, before, after)


DRILLS = {"on_bottom": 1.0, "rotary": 70 * RPM, "bit_depth": 2405.0}
OFF = {"flow_in": 0.0, "pump_1_rate": 0.0, "standpipe_pressure": 0.0}


def test_nothing_is_claimed_before_the_dwell_has_passed() -> None:
    assert runs(rig(**DRILLS)) == [("unknown", 0), ("drilling_rotary", 5)]
    assert runs(rig(**OFF)) == [("unknown", 0), ("static", 3)]


@pytest.mark.parametrize(
    ("columns", "state"),
    [
        ({}, "circulating"),
        (OFF, "static"),
        ({"in_slips": 1.0}, "in_slips"),
        (DRILLS, "drilling_rotary"),
        (DRILLS | {"rotary": 0.0}, "drilling_slide"),
        ({"block_speed": 0.15, "rotary": 70 * RPM}, "reaming_up"),
        ({"block_speed": -0.15, "rotary": 70 * RPM}, "reaming_down"),
        ({"block_speed": -0.15}, "washing"),
        (OFF | {"rotary": 20 * RPM}, "rotating_off_bottom"),
        (OFF | {"block_speed": 0.8}, "tripping_out"),
        (OFF | {"block_speed": -0.8}, "tripping_in"),
        ({"bit_depth": 20.0}, "static"),
    ],
)
def test_each_state_is_reached_from_its_channels(columns: dict[str, Any], state: str) -> None:
    assert names(rig(**columns))[-1] == state


@pytest.mark.parametrize(
    "lost",
    [("hook_load",), ("flow_in",), ("block_speed",), ("block_position", "block_speed")],
)
def test_a_lost_key_channel_makes_the_state_unknown(lost: tuple[str, ...]) -> None:
    """The slips helper repeats its last word while the hook load is away; we do not."""
    columns = DRILLS | OFF | {"rotary": 0.0, "hole_depth": 2405.0}
    table = rig(**(columns | {name: switched(1.0, NAN) for name in lost}))
    assert names(table)[-1] == "unknown"


def test_a_frozen_hook_load_makes_the_state_unknown() -> None:
    table = rig()
    table["hook_load"] = with_bits(table["hook_load"], Quality.FROZEN)
    assert names(table)[-1] == "unknown"


def test_one_missing_sample_changes_nothing() -> None:
    hook = np.full(60, 1e6)
    hook[30:32] = NAN
    assert runs(rig(hook_load=hook)) == [("unknown", 0), ("circulating", 4)]


def test_without_rotary_speed_it_drills_and_how_is_not_guessed() -> None:
    out = RigStates(well()).process(rig(**(DRILLS | {"rotary": NAN})))["rig_state"]
    assert RigState(int(out.value[-1])) is RigState.DRILLING_ROTARY
    assert has(out, Quality.CONFLICT)[-1]
    sure = RigStates(well()).process(rig(**DRILLS))["rig_state"]
    assert not any(has(sure, Quality.CONFLICT))


def test_a_flow_in_doubt_puts_the_state_in_doubt() -> None:
    table = rig()
    table["flow_in"] = with_bits(table["flow_in"], Quality.CONFLICT)
    assert all(has(RigStates(well()).process(table)["rig_state"], Quality.CONFLICT))


def test_pumps_stop_at_half_their_starting_share_and_hold() -> None:
    """Hysteresis 10 % and 5 % of the usual flow, 45 L/s in this well file."""
    flow = np.concatenate([np.full(20, 0.0036), np.full(20, 0.006), np.full(20, 0.003)])
    shown = names(rig(80, flow_in=np.concatenate([flow, np.full(20, 0.002)])))
    assert shown[19] == "static"
    assert shown[39] == shown[59] == "circulating"
    assert shown[79] == "static"


def test_flow_without_pressure_or_strokes_keeps_the_last_word() -> None:
    """Two witnesses disagree: neither turns the pumps on nor off."""
    dead = {"standpipe_pressure": 0.0, "pump_1_rate": 6 * SPM}
    assert names(rig(**dead))[-1] == "static"
    pressure = {"standpipe_pressure": switched(1e7, 0.0), "pump_1_rate": 6 * SPM}
    assert names(rig(**pressure))[-1] == "circulating"


def test_a_slow_block_goes_on_as_it_did_until_it_is_still() -> None:
    """Moving above 0.03 m/s, still below 0.01 m/s."""
    speed = np.concatenate([np.full(20, 0.02), np.full(20, 0.04), np.full(20, 0.02)])
    shown = names(rig(80, block_speed=np.concatenate([speed, np.full(20, 0.005)])))
    assert shown[19] == "circulating"
    assert shown[39] == shown[59] == "washing"
    assert shown[79] == "circulating"


def test_the_usual_flow_is_learned_when_the_well_file_names_none() -> None:
    """5 L/s is pumping on a rig seen at 20 L/s at most, and not after 60 L/s were seen."""
    columns = {"flow_in": np.r_[np.full(20, 0.02), np.full(20, 0.005), np.full(20, 0.0)]}
    more = {"flow_in": np.r_[np.full(20, 0.06), np.full(20, 0.0), np.full(20, 0.005)]}
    learns = well(profile={})
    assert names(rig(**columns), RigStates(learns))[39] == "circulating"
    assert names(rig(**more), RigStates(learns))[59] == "static"


def test_a_string_rocked_for_a_slide_is_not_rotating() -> None:
    """Both ways within 30 s; the sensor must have a sign."""
    rocking = 25 * RPM * np.sign(np.sin(2 * np.pi * np.arange(120) / 20.0))
    rocks = rig(120, **(DRILLS | {"rotary": rocking}))
    assert names(rocks)[-1] == "drilling_slide"
    assert names(rig(120, **(DRILLS | {"rotary": np.abs(rocking) + 20 * RPM})))[-1] == (
        "drilling_rotary"
    )


def test_drilling_lasts_300_s_without_new_hole_and_not_longer() -> None:
    """0.05 m in 300 s, that is 0.6 m/h, proves drilling."""
    n = 900
    hole = 2405.0 + 0.002 * np.minimum(np.arange(n), 200)
    shown = names(rig(n, **(DRILLS | {"hole_depth": hole})))
    last = max(i for i, s in enumerate(shown) if s == "drilling_rotary")
    # 0.05 m are 25 s of this rate: the window holds less from second 175 + 300 on.
    assert 475 <= last <= 480
    assert set(shown[last + 1 :]) == {"circulating"}


def test_a_corrected_hole_depth_is_no_advance() -> None:
    n = 900
    hole = np.where(np.arange(n) < 600, 2405.0, 2410.0)
    assert set(names(rig(n, **(DRILLS | {"hole_depth": hole})))[320:]) == {"circulating"}


def test_a_lift_out_of_the_slips_is_not_shown_as_a_trip() -> None:
    slips = switched(1.0, 0.0)
    speed = np.zeros(60)
    speed[21:24] = 0.1
    table = rig(**(OFF | {"in_slips": slips, "slips_since": T0, "block_speed": speed}))
    assert [s for s, _ in runs(table)] == ["unknown", "in_slips", "static"]


def test_a_change_is_shown_late_and_dated_back() -> None:
    """Pumps stop in second 20; held 3 s, shown in second 24, dated second 20."""
    off = {name: switched(v, 0.0) for name, v in (("flow_in", 0.045), ("pump_1_rate", 1.2))}
    out = RigStates(well()).process(rig(**off))
    since = (out["rig_state_since"].value - T0).tolist()
    assert runs(rig(**off))[-1] == ("static", 24)
    assert since[:3] == [0.0, 0.0, 0.0]
    assert since[23] == 0.0
    assert since[24] == since[59] == 20.0


def test_slips_are_dated_by_the_slips() -> None:
    slips = switched(0.0, 1.0)
    table = rig(in_slips=slips, slips_since=np.where(slips > 0, T0 + 17, T0 - 500))
    out = RigStates(well()).process(table)
    assert out["rig_state_since"].value[-1] == T0 + 17
    assert runs(table)[-1] == ("in_slips", 21)


def test_a_channel_lost_for_a_while_is_unknown_for_that_while() -> None:
    """Not dated back to when the pumps were started, nor forward."""
    flow = np.full(90, 0.045)
    flow[30:60] = NAN
    out = RigStates(well()).process(rig(90, **(DRILLS | {"flow_in": flow, "rotary": 0.0})))
    state, since = out["rig_state"].value, out["rig_state_since"].value - T0
    assert (int(state[29]), since[29]) == (RigState.DRILLING_SLIDE, 0.0)
    assert (int(state[59]), since[59]) == (RigState.UNKNOWN, 30.0)
    assert (int(state[89]), since[89]) == (RigState.DRILLING_SLIDE, 60.0)


STOPS = {
    "on_bottom": switched(1.0, 0.0), "rotary": switched(70 * RPM, 0.0), "bit_depth": 2405.0,
    "flow_in": switched(0.045, 0.0), "pump_1_rate": switched(1.2, 0.0),
}  # fmt: skip


def test_a_jump_from_drilling_to_a_trip_waits_five_seconds_more_and_is_counted() -> None:
    op = RigStates(well())
    shown = runs(rig(**STOPS, block_speed=switched(0.0, 0.5)), op)
    assert shown == [("unknown", 0), ("drilling_rotary", 5), ("tripping_out", 20 + 6 + 5)]
    assert op.state.illegal == 1


def test_a_stop_between_drilling_and_a_trip_makes_it_legal() -> None:
    op = RigStates(well())
    shown = runs(rig(**STOPS, block_speed=switched(0.0, 0.5, 30)), op)
    assert [state for state, _ in shown] == [
        "unknown", "drilling_rotary", "static", "tripping_out",
    ]  # fmt: skip
    assert shown[-1] == ("tripping_out", 30 + 6)
    assert op.state.illegal == 0


LEVELS = {
    "flow_in": (0.0, 0.003, 0.045), "standpipe_pressure": (0.0, 1e7),
    "pump_1_rate": (0.0, 1.2), "pump_2_rate": (0.0, 0.1), "rotary": (0.0, 7.0, -7.0),
    "block_speed": (0.0, 0.02, 0.5, -0.5), "in_slips": (0.0, 0.0, 1.0),
    "slips_since": (T0 - 500, T0 + 20), "on_bottom": (0.0, 1.0), "bit_depth": (10.0, 2405.0),
    "hole_depth": (2405.0, 2405.06, 2405.2, 2409.0), "hook_load": (3e5, 1e6),
    "block_position": (5.0, 20.0),
}  # fmt: skip


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize("profile", [{}, {"flow_normal_l_s": 45.0}])
def test_any_split_gives_the_same_states(seed: int, profile: dict[str, float]) -> None:
    table = random_table(seed, 1200, **LEVELS)
    out = check_splits(lambda: RigStates(well(profile=profile)), table)
    assert len(set(out["rig_state"].value.tolist())) >= 5


@pytest.mark.parametrize("seed", range(6))
def test_no_state_begins_before_the_one_it_ends_or_in_the_future(seed: int) -> None:
    table = random_table(seed, 3000, **LEVELS)
    out = RigStates(well()).process(table)
    since, state = out["rig_state_since"].value, out["rig_state"].value
    assert (np.diff(since) >= 0).all()
    assert (since <= out["rig_state"].t).all()
    assert ((np.diff(since) == 0) | (np.diff(state) != 0)).all()


def test_no_rows_give_no_states() -> None:
    op = RigStates(well())
    out = op.process(rig(1))
    empty = op.process({k: b.slice(0, 0) for k, b in rig().items()})
    assert len(empty["rig_state"]) == len(empty["rig_state_since"]) == 0
    assert len(out["rig_state"]) == 1
