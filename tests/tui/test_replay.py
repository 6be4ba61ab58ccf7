from __future__ import annotations

import pytest

from engine.commands import Silence
from engine.errors import InputError
from engine.records.journal import Entry
from tests.helpers import T0, FakeRecording
from tests.scene import alarm, drilling_table, recording, well
from tui.follow import Follower
from tui.replay import ReplayFollower

LAST = T0 + 1799
LINES = [
    alarm(T0 + 100, "pit-gain", "trip", "AB", value=1.2, limit=1.0),
    alarm(T0 + 150, "pit-gain", "ack", "BC", value=1.2, limit=1.0),
    alarm(T0 + 160, "pit-gain", "clear", "CA", value=0.2, limit=1.0),
    alarm(T0 + 200, "pressure-low", "suppress", "AH"),
    Entry(T0 + 300, "link", "rig", "down", {"reason": "port gone"}),
    Entry(T0 + 310, "link", "rig", "up"),
]


class Wall:
    def __init__(self) -> None:
        self.now = 50.0

    def __call__(self) -> float:
        return self.now


@pytest.fixture
def wall() -> Wall:
    return Wall()


@pytest.fixture
def player(wall: Wall) -> ReplayFollower:
    return ReplayFollower(recording(drilling_table(), LINES), well(), wall)


def test_it_starts_paused_at_the_first_row(player: ReplayFollower, wall: Wall) -> None:
    wall.now += 100
    snapshot = player.poll()
    assert snapshot.now == T0
    assert snapshot.watch.replay
    assert snapshot.watch.paused
    assert snapshot.trends.t.size == 1


@pytest.mark.parametrize(("steps", "speed"), [(0, 1), (1, 2), (3, 10), (6, 300), (9, 300)])
def test_it_plays_at_the_speed_chosen(
    player: ReplayFollower, wall: Wall, steps: int, speed: float
) -> None:
    player.toggle()
    for _ in range(steps):
        player.gear(1)
    wall.now += 2
    assert player.poll().now == T0 + 2 * speed
    player.toggle()
    wall.now += 50
    assert player.poll().now == T0 + 2 * speed


def test_a_change_of_speed_does_not_jump(player: ReplayFollower, wall: Wall) -> None:
    player.toggle()
    wall.now += 10
    player.set_speed(30)
    wall.now += 1
    assert player.poll().now == T0 + 40
    player.gear(-1)
    wall.now += 1
    assert player.poll().now == T0 + 50


def test_the_end_pauses_and_play_starts_again(player: ReplayFollower, wall: Wall) -> None:
    player.seek(LAST - 1)
    player.toggle()
    wall.now += 100
    snapshot = player.poll()
    assert snapshot.now == LAST
    assert snapshot.watch.paused
    player.toggle()
    assert player.poll().now == T0


def test_a_seek_shows_alarms_as_they_stood(player: ReplayFollower) -> None:
    def states(at: float) -> list[str]:
        player.seek(at)
        return [a.state for a in player.poll().alarms]

    assert states(T0 + 120) == ["B"]
    assert states(T0 + 155) == ["C"]
    assert states(T0 + 250) == []
    assert states(T0 + 120) == ["B"]
    assert states(T0 + 50) == []


def test_a_moment_is_the_same_watched_and_replayed(player: ReplayFollower) -> None:
    """Live up to a moment, and the whole recording sought to it, show the same."""
    at = T0 + 155
    rows = {k: b.slice(0, 156) for k, b in drilling_table().items()}
    live = Follower(recording(rows, LINES[:2]), well(), lambda: at).poll()
    player.seek(at)
    replayed = player.poll()
    assert live.readings == replayed.readings
    assert live.alarms == replayed.alarms
    assert live.log == replayed.log
    assert live.rig_state == replayed.rig_state
    assert live.connection == replayed.connection
    assert live.trends.t.tolist() == replayed.trends.t.tolist()


def test_steps_go_row_by_row_and_pause(player: ReplayFollower, wall: Wall) -> None:
    player.toggle()
    wall.now += 5.5
    player.step(1)
    wall.now += 9
    assert player.poll().now == T0 + 6
    player.step(-2)
    assert player.poll().now == T0 + 4
    player.step(-100)
    assert player.poll().now == T0


def test_events_are_trips_links_and_commands(player: ReplayFollower) -> None:
    stops = []
    while player.event(1):
        stops.append(player.poll().now - T0)
    assert stops == [100, 300, 310]
    assert player.event(-1)
    assert player.poll().now == T0 + 300


def test_links_show_as_journalled(player: ReplayFollower) -> None:
    player.seek(T0 + 305)
    feed = player.poll().feeds[0]
    assert (feed.name, feed.up, feed.reason) == ("rig", False, "port gone")


def test_a_gap_in_the_recording_shows_no_value(wall: Wall) -> None:
    table = drilling_table()
    fake = recording({k: b.slice(0, 100) for k, b in table.items()})
    fake.table = {
        k: type(b)(*(__import__("numpy").concatenate([getattr(b, f)[:100], getattr(b, f)[400:]])
                     for f in ("t", "value", "quality")))
        for k, b in table.items()
    }  # fmt: skip
    player = ReplayFollower(fake, well(), wall)
    player.seek(T0 + 250)
    assert {r.value for r in player.poll().readings.values()} == {None}


def test_a_start_given_before_the_first_poll_is_kept(player: ReplayFollower) -> None:
    player.seek(T0 + 60)
    player.set_speed(5)
    snapshot = player.poll()
    assert (snapshot.now, snapshot.watch.speed) == (T0 + 60, 5)


def test_a_replay_takes_no_command(player: ReplayFollower) -> None:
    with pytest.raises(InputError, match="Silence is for a live watch"):
        player.post(Silence(), "Ines", "doghouse")


def test_an_empty_recording_cannot_be_replayed(wall: Wall) -> None:
    with pytest.raises(InputError, match=r"fake\.kdrec: no row recorded"):
        ReplayFollower(FakeRecording(), well(), wall).poll()


def test_a_speed_must_be_above_zero(player: ReplayFollower) -> None:
    with pytest.raises(InputError, match="got 0"):
        player.set_speed(0)
