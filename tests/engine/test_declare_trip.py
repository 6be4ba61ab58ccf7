"""What a person declares of a trip: taken, journalled, or refused with what would be right."""

from __future__ import annotations

import pytest

from engine.commands import DeclareTrip, Issued, SetDepth
from engine.engine import Engine
from engine.errors import ConfigError
from engine.records.codec import decode_command, encode_command
from engine.records.journal import Entry, read
from engine.records.words import what
from tests.tables import NAN, T0, well

HEAD = Entry(T0, "watch", "Emberholt 4", "start")


def given(command: DeclareTrip) -> tuple[Engine, dict[str, object]]:
    """Give a command to a watch whose pipe is dry and filled as each stand is pulled."""
    engine = Engine(well(), HEAD)
    _, lines = engine.take([Issued(T0 + 1.0, command, "Ines", "doghouse")])
    (entry,) = [f for f in map(read, lines) if f["id"] == "declare_trip"]
    return engine, entry


def test_it_is_taken_and_journalled_with_what_was_before() -> None:
    """R-26: wet or dry, and the programme."""
    engine, entry = given(DeclareTrip(True, 0.25, 3, "float leaks"))
    now = engine.pipeline.trip_fill.state.declared
    assert (now.spilled, now.programme) == (0.75, 3)
    assert (entry["wet"], entry["recovered_share"], entry["programme_stands"]) == (True, 0.25, 3)
    assert (entry["old_spilled_share"], entry["old_programme_stands"]) == (0.0, 0)
    assert what(entry, {}).startswith("declare trip by Ines: wet yes, recovered share 0.25")


@pytest.mark.parametrize(
    ("command", "words"),
    [
        (DeclareTrip(True, 1.2), "recovered share 1.2: give a share of the bore's mud, 0 to 1"),
        (DeclareTrip(True, -0.1), "recovered share -0.1"),
        (DeclareTrip(True, NAN), "recovered share nan"),
        (DeclareTrip(False, 0.5), "of a dry bore: declare it wet"),
        (DeclareTrip(False, 0.0, 6), "a fill every 6 stands: give 1 to 5, or 0"),
        (DeclareTrip(False, 0.0, -1), "a fill every -1 stands"),
    ],
    ids=["above 1", "below 0", "no number", "dry", "above the rule", "negative"],
)
def test_nonsense_is_refused_and_changes_nothing(command: DeclareTrip, words: str) -> None:
    """30 CFR 250.456(c): no programme of more than five stands."""
    engine, entry = given(command)
    now = engine.pipeline.trip_fill.state.declared
    assert (now.spilled, now.programme) == (0.0, 0)
    assert words in str(entry["refused"])


def test_it_comes_back_from_its_text() -> None:
    command = DeclareTrip(True, 0.25, 3, "float leaks")
    assert decode_command(encode_command(command)) == command


def test_a_depth_set_by_hand_before_there_is_a_depth_does_no_harm() -> None:
    engine = Engine(well(), HEAD)
    engine.take([Issued(T0 + 1.0, SetDepth(2000.0, None, "tally"), "Ines", "doghouse")])
    assert engine.pipeline.trip_fill.state.trip.way == 0


@pytest.mark.parametrize(
    ("table", "words"),
    [
        ({"recovered_share": 0.5}, "trip.recovered_share: of a dry bore"),
        ({"programme_stands": 6}, "trip.programme_stands"),
        ({"trip_tank_low_m3": 5.0, "trip_tank_high_m3": 2.0}, "must lie above trip_tank_low"),
        ({"wett": True}, "wett"),
    ],
)
def test_the_well_file_is_held_to_the_same(table: dict[str, object], words: str) -> None:
    with pytest.raises(ConfigError) as error:
        well(trip=table)
    assert words in str(error.value)
