"""How late the second copy is, from what the watch says of it (K-10, R-47)."""

from __future__ import annotations

import numpy as np
import pytest

from engine.commands_copy import SecondCopy
from engine.detect.kinds import Severity
from engine.records import codec
from engine.second_copy import CopyState, CopyWatch
from tests.helpers import T0, issue
from tests.tables import splits

PLACE = "/mnt/blue/tour.kdrec"
GONE = SecondCopy(PLACE, "its folder is not there", T0 + 90)


def after(*said: tuple[float, SecondCopy]) -> CopyWatch:
    watch = CopyWatch()
    for at, command in said:
        watch.take(issue(command, at), command)
    return watch


def called(watch: CopyWatch, t: list[float]) -> list[float]:
    return watch.process(np.array(t)).value.tolist()


def test_it_is_called_after_five_minutes_without_something_and_not_a_moment_before() -> None:
    watch = after((T0 + 91, GONE))
    times = [T0 + 100, T0 + 389.999, T0 + 390, T0 + 9000]
    assert called(watch, times) == [
        Severity.NONE,
        Severity.NONE,
        Severity.WARNING,
        Severity.WARNING,
    ]


def test_a_copy_that_holds_nothing_yet_counts_from_when_that_was_said() -> None:
    watch = after((T0 + 5, SecondCopy(PLACE, "gone")), (T0 + 200, SecondCopy(PLACE, "full")))
    assert watch.state == CopyState(PLACE, "full", None, T0 + 5)
    assert called(watch, [T0 + 304, T0 + 305]) == [Severity.NONE, Severity.WARNING]


def test_a_copy_that_creeps_on_is_as_late_as_it_is() -> None:
    watch = after((T0 + 91, GONE), (T0 + 500, SecondCopy(PLACE, "slow", T0 + 450)))
    assert called(watch, [T0 + 510, T0 + 750]) == [Severity.NONE, Severity.WARNING]


@pytest.mark.parametrize("end", [SecondCopy(PLACE), SecondCopy("")])
def test_complete_again_or_given_up_is_no_longer_called(end: SecondCopy) -> None:
    watch = after((T0 + 91, GONE), (T0 + 9000, end))
    assert called(watch, [T0 + 9001, T0 + 99999]) == [Severity.NONE, Severity.NONE]
    assert watch.state == CopyState(end.place)


def test_the_next_watch_that_cannot_see_the_copy_keeps_what_was_known() -> None:
    watch = after((T0 + 91, GONE), (T0 + 9000, SecondCopy(PLACE, "its folder is not there")))
    assert watch.state == CopyState(PLACE, "its folder is not there", T0 + 90, T0 + 90)


def test_without_a_copy_nothing_is_called() -> None:
    assert called(CopyWatch(), [T0, T0 + 1e6]) == [Severity.NONE, Severity.NONE]


def test_any_split_gives_the_same() -> None:
    watch, t = after((T0 + 91, GONE)), T0 + np.arange(900.0)
    whole = watch.process(t)
    for cuts in splits(t.size):
        parts = [watch.process(part) for part in np.split(t, cuts)]
        assert np.concatenate([p.value for p in parts]).tobytes() == whole.value.tobytes()
        assert np.concatenate([p.quality for p in parts]).tobytes() == whole.quality.tobytes()


@pytest.mark.parametrize("command", [GONE, SecondCopy(PLACE), SecondCopy("")])
def test_what_is_said_is_recorded_and_read_back(command: SecondCopy) -> None:
    assert codec.decode_command(codec.encode_command(command)) == command
