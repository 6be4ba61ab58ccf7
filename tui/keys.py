"""Keys: one plain key each, no chords, so that a gloved hand can use them."""

from __future__ import annotations

from collections.abc import Callable

from textual.binding import Binding

REPEAT_GUARD_S = 0.2
"""A key seen again sooner than this is a stuck key or a tremor. [s] common practice, no source"""

WATCH: tuple[Binding, ...] = (
    Binding("a", "acknowledge", "acknowledge the selected alarm, or all", id="alarm.acknowledge"),
    Binding("r", "reset", "reset the selected latched alarm", id="alarm.reset"),
    Binding("s", "silence", "silence the horn", id="alarm.silence"),
    Binding("z", "ask('zero')", "zero the pit gain", id="pits.zero"),
    Binding("m", "ask('transfer')", "declare mud that is moved or added", id="balance.declare"),
    Binding("u", "ask('rebase')", "zero the unexplained volume that is shown", id="balance.zero"),
    Binding("d", "ask('depth')", "correct the depths", id="depth.set"),
    Binding("t", "ask('tare')", "tare: take the hook load now as off bottom", id="tare.now"),
    Binding("n", "note", "write a note in the journal", id="journal.note"),
    Binding("h", "wanted('horn')", "test the horn: do you hear it?", id="horn.test"),
    Binding("f", "faster", "synthetic well: time runs 1, 5, 20, 60 times", id="synthetic.speed"),
)
VIEW: tuple[Binding, ...] = (
    Binding("up", "select(-1)", "select the alarm above", id="alarm.up"),
    Binding("down", "select(1)", "select the alarm below", id="alarm.down"),
    Binding("enter", "details", "cause, consequence and action of the alarm", id="alarm.details"),
    Binding("v", "values", "the values there was no room for", id="values.further"),
    Binding("w", "watched", "limits watched, feeds and their packets", id="view.watched"),
    Binding("b", "sight", "detectors that cannot see, and why; what the others call",
            id="view.sight"),
    Binding("c", "tracks", "other curves on the chart", id="chart.tracks"),
    Binding("plus,equals_sign", "zoom(-1)", "chart: fewer seconds a row", id="chart.in",
            key_display="+"),
    Binding("minus", "zoom(1)", "chart: more seconds a row", id="chart.out", key_display="-"),
    Binding("l", "wanted('theme')", "light or dark", id="view.theme"),
    Binding("question_mark,f1", "wanted('help')", "this page", id="view.help", key_display="?"),
    Binding("q", "leave", "leave the screen", id="view.leave"),
)  # fmt: skip
REPLAY: tuple[Binding, ...] = (
    Binding("space", "play", "play or pause", id="replay.toggle"),
    Binding("less_than_sign,comma", "gear(-1)", "slower", id="replay.slower", key_display="<"),
    Binding("greater_than_sign,full_stop", "gear(1)", "faster", id="replay.faster",
            key_display=">"),
    Binding("left", "step(-1)", "one row back", id="replay.back"),
    Binding("right", "step(1)", "one row on", id="replay.on"),
    Binding("left_square_bracket", "event(-1)", "previous event", id="replay.previous",
            key_display="["),
    Binding("right_square_bracket", "event(1)", "next event", id="replay.next",
            key_display="]"),
    Binding("g", "go_to", "go to a time", id="replay.go"),
)  # fmt: skip
SYNTHETIC_SPEEDS = (1.0, 5.0, 20.0, 60.0)


class RepeatGuard:
    """Lets one press through and drops what follows it too closely."""

    def __init__(self, clock: Callable[[], float], interval: float = REPEAT_GUARD_S) -> None:
        self._clock = clock
        self._interval = interval
        self._last: dict[str, float] = {}

    def allows(self, what: str) -> bool:
        """Tell whether `what` may be done now; a key held down counts as one press."""
        now = self._clock()
        before = self._last.get(what, float("-inf"))
        self._last[what] = now
        return now - before >= self._interval


def shown(binding: Binding) -> str:
    """Return the key as a person reads it."""
    return binding.key_display or binding.key.split(",")[0]
