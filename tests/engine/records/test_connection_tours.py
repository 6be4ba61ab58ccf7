"""Connections added up by crew tour."""

from __future__ import annotations

import json
from datetime import UTC

import pytest

from engine.records.connection_log import Logged, connections_of
from engine.records.connection_text import connections_text, tours_text
from engine.records.connection_tours import FIGURES, as_json, tours_of, whole
from engine.records.journal import from_iso
from engine.units import MINUTE
from engine.well.answer import Unknown
from engine.well.connection_stats import Timed, statistics
from tests.connection_rows import connection, joined, later
from tests.tables import T0, well

CONFIG = well(tour={"target_min": 5.0})
START = from_iso("2026-05-28T17:45:00Z")


def log() -> tuple[Logged, ...]:
    """Return three connections, slips set 17:51:15, 18:06:15 and 18:21:15."""
    rows = [later(connection(), START - T0 + 900.0 * k) for k in range(3)]
    return connections_of(joined(*rows), CONFIG)


def test_a_connection_counts_in_the_tour_in_which_its_slips_were_set() -> None:
    first, second = tours_of(log(), CONFIG, UTC, (START, START + 2700.0))
    assert (first.tour.name, second.tour.name) == ("2026-05-28 06:00", "2026-05-28 18:00")
    assert (first.recorded, second.recorded) == (900.0, 1800.0)
    assert first.figures["slip_to_slip"].timed == 1
    assert second.figures["slip_to_slip"].timed == 2
    assert (first.spent, second.spent) == (150.0, 300.0)


def test_over_the_target_is_the_sum_of_what_each_took_too_long() -> None:
    """5.5 min against a target of 5 min, twice; only weight to weight has the target."""
    second = tours_of(log(), CONFIG, UTC, (START, START + 2700.0))[1].figures
    assert second["weight_to_weight"].over_target == pytest.approx(2 * 0.5 * MINUTE)
    assert isinstance(second["slip_to_slip"].over_target, Unknown)
    bare = tours_of(log(), well(), UTC, (START, START + 2700.0))[1].figures
    assert isinstance(bare["weight_to_weight"].over_target, Unknown)


def test_a_tenth_takes_less_than_p10_and_a_tenth_more_than_p90() -> None:
    """Hyndman and Fan (1996), definition 7: of 1 to 11, element 2 and element 10."""
    found = statistics([Timed(0.0, float(n)) for n in range(11, 0, -1)], Unknown("none"))
    assert (found.p10, found.p90) == pytest.approx((2.0, 10.0))
    two = statistics([Timed(0.0, 10.0), Timed(0.0, 20.0)], Unknown("none"))
    assert (two.p10, two.p90) == pytest.approx((11.0, 19.0))
    none = statistics([], Unknown("none"))
    assert isinstance(none.p10, Unknown)
    assert isinstance(none.p90, Unknown)


def test_trips_are_no_part_of_the_statistics() -> None:
    trip = connections_of(connection(bit_depth=2300.0), CONFIG)
    assert trip[0].kind == "tripping"
    assert whole(trip, "slip_to_slip", CONFIG).timed == 0


def test_the_json_has_numbers_or_none_with_a_reason() -> None:
    found = log()
    tours = tours_of(found, CONFIG, UTC, (START, START + 2700.0))
    out = as_json(found, tours, CONFIG, "x.kdrec")
    json.dumps(out, allow_nan=False)
    one = out["connections"][0]
    assert one["slips_set"] == "2026-05-28T17:51:15.000Z"
    assert one["seconds"] == {
        "slip_to_slip": 150.0, "weight_to_weight": 330.0, "pumps_off_to_on": 230.0,
        "bottom_to_bottom": 330.0, "pre_slip": 75.0, "post_slip": 105.0,
    }  # fmt: skip
    assert one["unknown"] == {}
    assert sum(part["seconds"] for part in one["time_line"]) == 330.0
    assert [t["figures"]["weight_to_weight"]["over_target_s"] for t in out["tours"]] == [30.0, 60.0]
    assert set(out["all"]) == set(FIGURES)
    dark = connection()
    del dark["weight_on_bit"]
    bare = as_json(connections_of(dark, CONFIG), [], CONFIG, "x")["connections"][0]
    assert bare["seconds"]["weight_to_weight"] is None
    assert bare["unknown"]["weight_to_weight"] == "weight on bit was not known"


def test_the_pages_fit_a_terminal_and_say_what_is_not_known() -> None:
    dark = connection()
    del dark["weight_on_bit"]
    tours = tours_of(log(), CONFIG, UTC, (START, START + 2700.0))
    bare = connections_text(connections_of(dark, CONFIG), CONFIG)
    pages = [connections_text(log(), CONFIG), tours_text(tours, CONFIG, "UTC"), bare]
    assert all(len(line) <= 80 for page in pages for line in page.splitlines())
    assert "  weight: weight on bit was not known" in bare
    row = "2026-05-28 17:51:15    2400.00 m    2:30    5:30    3:50    5:30  drilling"
    assert row in pages[0]
    assert "slips set +1:15, slips out +3:45, pumps on +4:20" in pages[0].replace("\n    ", " ")
    assert "weight to weight       2    5:30   5:30   5:30   5:30   5:30" in pages[1]
    assert "over the target, weight to weight: 1:00" in pages[1]
    assert "tour 2026-05-28 18:00: 0.50 h recorded, 2 connections, 5:00 in slips" in pages[1]
    assert "no time in slips was recorded" in connections_text((), CONFIG)
    assert "nothing was recorded" in tours_text((), CONFIG, "UTC")
