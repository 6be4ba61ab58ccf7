from __future__ import annotations

import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path

import pytest

from adapters.horn import Horn, Report
from adapters.horn_outputs import HornError, Output, Player, Program, Unwanted
from engine.alarms.urgency import TEST, Urgency
from tests.helpers import eventually

LOWER, URGENT = Urgency(3), Urgency(1)


class Fake:
    """An output that notes its passes; `fails` is why it does not work."""

    def __init__(self, name: str = "fake", escalation: int = 0, pause: float = 0.01) -> None:
        self.name, self.escalation, self.pause = name, escalation, pause
        self.passes: list[Urgency] = []
        self.rests = 0
        self.fails = ""
        self.closed = False
        self.hang = threading.Event()
        self.hang.set()

    def sound(self, urgency: Urgency, unwanted: Unwanted) -> float | None:
        self.passes.append(urgency)
        self.hang.wait(5.0)
        if self.fails:
            raise HornError(self.fails)
        return self.pause

    def rest(self) -> None:
        self.rests += 1

    def close(self) -> None:
        self.closed = True


@pytest.fixture
def horn() -> Iterator[Callable[..., tuple[Horn, list[Report]]]]:
    made: list[Horn] = []

    def make(*outputs: Output) -> tuple[Horn, list[Report]]:
        reports: list[Report] = []
        made.append(Horn(outputs, reports.append))
        return made[-1], reports

    yield make
    for one in made:
        one.close()
    left = [t.name for t in threading.enumerate() if t.name.startswith("horn ")]
    assert left == []


Make = Callable[..., tuple[Horn, list[Report]]]


def test_it_sounds_again_and_again_until_nothing_calls(horn: Make) -> None:
    """R-14: an unacknowledged alarm is not heard once only."""
    fake = Fake()
    one, _ = horn(fake)
    one.follow(LOWER)
    eventually(lambda: len(fake.passes) >= 3, 5.0)
    one.follow(None)
    eventually(lambda: fake.rests == 1, 5.0)
    count = len(fake.passes)
    for _ in range(50):
        one.follow(None)
    time.sleep(0.05)
    assert len(fake.passes) == count
    assert set(fake.passes) == {LOWER}


def test_a_louder_call_is_heard_at_once_and_brings_a_second_output(horn: Make) -> None:
    """R-14: not acknowledged after 30 s, after 60 s, an alarm goes to more outputs."""
    near, far = Fake("near", pause=60.0), Fake("far", escalation=1)
    one, _ = horn(near, far)
    one.follow(URGENT)
    eventually(lambda: near.passes == [URGENT], 5.0)
    assert far.passes == []
    one.follow(Urgency(1, 1))
    eventually(lambda: bool(far.passes) and near.passes == [URGENT, Urgency(1, 1)], 5.0)


def test_a_test_sounds_everything_once_and_says_what_each_output_said(horn: Make) -> None:
    near, far = Fake("near"), Fake("far", escalation=2)
    far.fails = "no such port"
    one, reports = horn(near, far)
    one.test()
    eventually(lambda: bool(reports), 5.0)
    assert (near.passes, far.passes) == ([TEST], [TEST])
    assert reports == [Report("near", "far: no such port", test=True)]
    eventually(lambda: near.rests == far.rests == 1, 5.0)


def test_when_all_fail_it_says_that_it_is_silent_and_says_so_once(horn: Make) -> None:
    """R-61."""
    fake = Fake(pause=0.0)
    one, reports = horn(fake)
    one.follow(URGENT)
    eventually(lambda: len(fake.passes) >= 2, 5.0)
    assert reports == []  # that it works is no news
    fake.fails = "gone"
    eventually(lambda: bool(reports), 5.0)
    assert reports == [Report("", "fake: gone", test=False)]


def test_what_works_again_is_told_so(horn: Make, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("adapters.horn.AGAIN_S", 0.01)
    fake = Fake()
    fake.fails = "gone"
    one, reports = horn(fake)
    one.follow(URGENT)
    eventually(lambda: len(fake.passes) >= 4, 5.0)
    fake.fails = ""
    eventually(lambda: len(reports) == 2, 5.0)
    assert [(r.working, r.failed) for r in reports] == [("", "fake: gone"), ("fake", "")]


def test_an_output_that_hangs_keeps_no_other_quiet(horn: Make) -> None:
    stuck, fine = Fake("stuck"), Fake("fine")
    stuck.hang.clear()
    one, _ = horn(stuck, fine)
    start = time.monotonic()
    one.follow(URGENT)
    assert time.monotonic() - start < 0.5
    eventually(lambda: len(fine.passes) >= 3, 5.0)
    stuck.hang.set()


def test_twelve_hours_without_an_alarm_make_no_sound(horn: Make) -> None:
    fake = Fake()
    one, reports = horn(fake)
    for _ in range(12 * 3600):
        one.follow(None)
    assert (fake.passes, fake.rests, reports) == ([], 0, [])


def test_closing_cuts_a_call_short_and_lets_go(horn: Make) -> None:
    fake = Fake(pause=60.0)
    one, _ = horn(fake)
    one.follow(URGENT)
    eventually(lambda: bool(fake.passes), 5.0)
    start = time.monotonic()
    one.close()
    assert time.monotonic() - start < 1.0
    assert fake.closed


def script(tmp_path: Path, code: str) -> list[str]:
    """Return a command that runs `code`; what it is given is in sys.argv."""
    path = tmp_path / "player.py"
    path.write_text(f"import sys, time, pathlib\n{code}\n")
    return [sys.executable, "-I", str(path)]


def test_silencing_ends_the_player_in_the_middle(tmp_path: Path, horn: Make) -> None:
    started, ended = tmp_path / "started", tmp_path / "ended"
    command = script(
        tmp_path,
        f"pathlib.Path({str(started)!r}).touch(); time.sleep(8); "
        f"pathlib.Path({str(ended)!r}).touch()",
    )
    one, reports = horn(Program("siren", 0, command))
    one.follow(URGENT)
    eventually(started.exists, 10.0)
    one.follow(None)
    start = time.monotonic()
    one.close()
    assert time.monotonic() - start < 2.0
    assert not ended.exists()
    assert reports == []  # that it was cut short says nothing about it


def test_a_call_goes_through_a_player_and_its_exit_code_tells(tmp_path: Path, horn: Make) -> None:
    played = tmp_path / "played"
    player = script(tmp_path, f"open({str(played)!r}, 'a').write(sys.argv[-1] + '\\n')")
    one, reports = horn(Player("speaker", 0, player, "", tmp_path / "tones"))
    one.test()
    eventually(lambda: bool(reports), 10.0)
    assert reports == [Report("speaker", "", test=True)]
    one.follow(Urgency(1, 2))
    eventually(lambda: "loudest" in played.read_text(), 10.0)
    one.follow(None)
    names = [Path(line).name for line in played.read_text().splitlines()]
    assert names[:2] == ["priority-1.wav", "priority-1-loudest.wav"]
    with closing((tmp_path / "tones" / names[0]).open("rb")) as file:
        assert file.read(4) == b"RIFF"
