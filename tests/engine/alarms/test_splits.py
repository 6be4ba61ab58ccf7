"""Any split of the rows and any restart give the same journal, whatever is commanded (R-46, R-53).

The commands come between rows, as the watch gives them; both ways of coming back are tried: the
state set anew, and everything played again from the start.
"""

from __future__ import annotations

from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from engine.alarms.manager import AlarmManager
from engine.block import Block
from engine.commands import (
    Acknowledge,
    ChangeLimit,
    Command,
    OutOfService,
    Reset,
    ReturnToService,
    Shelve,
    Silence,
    Unshelve,
)
from engine.records.journal import Entry, Journal
from engine.states import RigState
from tests.helpers import T0, alarm_of, alarm_table, issue

NAN = float("nan")
DRILL, CIRC = float(RigState.DRILLING_ROTARY), float(RigState.CIRCULATING)
STEP_S = 15.0
"""Between rows: thirty of them are long enough for shelf, escalation and flood. [s]"""

SET = [
    alarm_of("gain", deadband_m3=0.4, on_delay_s=15.0, off_delay_s=30.0, re_alarm_s=45.0),
    alarm_of("twist", "torque", latching=True, armed=["drilling_rotary", "circulating"]),
    alarm_of("gain-2", high_m3=1.5, armed=["drilling_rotary"], re_alarm_s=22.0, priority=2),
    alarm_of("gain-3", high_m3=0.6, priority=3, re_alarm_step_m3=0.5, group="g"),
    alarm_of("call", "call_influx", well_control=True, group="g"),
]
ROW = st.tuples(
    st.sampled_from([0.0, 0.7, 1.2, 2.0, NAN]),
    st.sampled_from([0.0, DRILL, DRILL, CIRC, 8.0, NAN]),
    st.sampled_from([0.0, 5e3, NAN]),
)
NAMES = st.sampled_from([alarm.id for alarm in SET])
COMMANDS = st.dictionaries(
    st.integers(0, 30),
    st.one_of(
        st.sampled_from([Acknowledge(), Silence(), Reset("twist")]),
        st.builds(Acknowledge, NAMES),
        st.builds(Shelve, NAMES, st.sampled_from([20.0, 90.0, 200.0, 5000.0]), st.just("noise")),
        st.builds(Unshelve, NAMES),
        st.builds(OutOfService, NAMES, st.just("Ada"), st.just("gauge out")),
        st.builds(ReturnToService, NAMES, st.just("Ada"), st.just("gauge back")),
        st.builds(ChangeLimit, NAMES, st.sampled_from([0.5, 1.1, 1.6, 3.0]), st.just("section")),
    ),
    max_size=8,
)


def spread(table: dict[str, Block]) -> dict[str, Block]:
    out = {k: Block(T0 + (v.t - T0) * STEP_S, v.value, v.quality) for k, v in table.items()}
    call = out["torque"]
    return out | {"call_influx": Block(call.t, call.value * 0.0004, call.quality)}


def run(
    rows: list[tuple[float, float, float]], commands: dict[int, Command], cuts: list[int],
    *, restart: bool,
) -> list[str]:  # fmt: skip
    """Return the journal of `rows`, each command given before the row of its number."""
    manager, entries = AlarmManager(SET), []
    whole = spread(alarm_table([r[0] for r in rows], [r[1] for r in rows], [r[2] for r in rows]))
    ends = sorted({0, len(rows), *(c for c in (*cuts, *commands) if c < len(rows))})
    for a, b in pairwise(ends):
        if a in commands:
            entries += manager.command(issue(commands[a], T0 + (a - 0.5) * STEP_S))
        entries += manager.process({k: v.slice(a, b) for k, v in whole.items()})
        if restart:
            saved = manager.state
            manager = AlarmManager(SET)
            manager.state = saved
    last = f"{manager.horn} {manager.escalation} {manager.flood} {manager.state.standing}"
    entries.append(Entry(T0, "horn", last, ""))
    return [line.text for line in Journal().write(entries)]


@given(
    st.lists(ROW, min_size=1, max_size=30), COMMANDS, st.lists(st.integers(0, 30), max_size=6)
)  # fmt: skip
def test_any_split_and_any_restart_give_the_same_journal(
    rows: list[tuple[float, float, float]], commands: dict[int, Command], cuts: list[int]
) -> None:
    whole = run(rows, commands, [], restart=False)
    assert run(rows, commands, cuts, restart=True) == whole
    assert run(rows, commands, list(range(30)), restart=False) == whole


FLOODED = [
    alarm_of(f"a{i}", high_m3=0.5 + i / 100, priority=1 + i % 2, re_alarm_s=40.0) for i in range(8)
]


@given(st.lists(st.sampled_from([0.0, 0.55, 1.2]), min_size=20, max_size=120), st.integers(1, 19))
def test_a_flood_begins_and_ends_at_the_same_row_whatever_the_split(
    values: list[float], cut: int
) -> None:
    values = [*values, *[0.0] * 60]  # a quiet quarter of an hour, in which a flood ends
    whole = spread(alarm_table(values))

    def told(ends: list[int]) -> list[str]:
        manager, entries = AlarmManager(FLOODED), []
        for a, b in pairwise(ends):
            saved, manager = manager.state, AlarmManager(FLOODED)
            manager.state = saved
            entries += manager.process({k: v.slice(a, b) for k, v in whole.items()})
        return [line.text for line in Journal().write(entries)]

    n = len(values)
    assert told([0, n]) == told(list(range(n + 1))) == told([*range(0, n, cut), n])
