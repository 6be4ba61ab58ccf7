"""Out of the hole nothing should come: R-29, and the watch of the fill while drilling blind."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from engine.block import Block
from engine.units import BBL
from engine.well.pumps import stroke_volume
from tests.tables import NAN, splits, table_of, well
from tests.volume_rows import BPM, blind, calls, ended, first, noise, ramp, watched

KIND = "out_of_hole_gain"
N = 7200
AT = 1800


def still(
    come: Any = 0.0,
    bit: Any = 0.0,
    tank: Any = 0.0,
    pits: Any = 0.0,
    waves: float = 0.3,
    n: int = N,
    **more: Any,
) -> dict[str, Block]:
    """Return a rig whose pits and trip tank hold still.

    But for what has `come` into the trip tank, is moved there from the pits, or changes the `pits`.
    """
    usual = {
        "pit_volume": 60.0 + np.broadcast_to(pits, n) - tank + BBL * noise(2, n, waves),
        "trip_tank_volume": 5.0 + np.broadcast_to(come, n) + tank + BBL * noise(3, n, 0.1, 3.0),
        "flow_in": 0.0, "flow_out": 0.0, "bit_depth": bit, "hole_depth": 2400.0, "rig_state": 11.0,
    }  # fmt: skip
    return table_of(n, **(usual | more))


@pytest.mark.parametrize("bpm", [0.2, 0.5, 2.0])
def test_a_gain_is_called_by_two_and_a_half_barrels_and_a_filter(bpm: float) -> None:
    at = first(watched(still(ramp(N, bpm * BPM, AT))), KIND)
    assert at > AT
    assert (at - AT) * bpm / 60 <= 2.0 + 1.0 * bpm


@pytest.mark.parametrize("waves", [0.25, 0.6])
def test_a_still_well_calls_nothing(waves: float) -> None:
    assert calls(watched(still(n=6 * 3600, waves=waves)), KIND) == []


def test_mud_moved_between_pits_and_trip_tank_is_none() -> None:
    assert calls(watched(still(tank=ramp(N, 0.008, AT, 300))), KIND, "advice") == []


def test_without_a_trip_tank_the_pits_tell() -> None:
    rows = still(pits=ramp(N, 0.5 * BPM, AT), trip_tank_volume=NAN)
    assert 0 < (first(watched(rows), KIND) - AT) * 0.5 / 60 <= 2.5


def test_over_a_hanging_assembly_what_the_pits_alone_gain_is_waves_until_it_is_a_cubic_metre() -> (
    None
):
    """Three barrels that the trip tank does not show; then 0.2 bbl/min up to five times 1.25."""
    assert calls(watched(still(pits=ramp(N, 0.5 * BPM, AT, 360), bit=209.0)), KIND) == []
    slow = first(watched(still(pits=ramp(N, 0.2 * BPM, AT), bit=209.0)), KIND)
    assert 6.0 <= (slow - AT) * (0.2 - 0.05) / 60 <= 7.0


def test_a_pump_test_that_gives_all_back_is_no_gain_and_one_that_gives_more_is() -> None:
    away = -ramp(N, 5 * BPM, AT, 180) + ramp(N, 5 * BPM, AT + 900, 180)
    assert calls(watched(still(pits=away)), KIND) == []
    more = away + ramp(N, 5 * BPM, AT + 1080, 60)
    found = watched(still(pits=more, trip_tank_volume=NAN))
    assert first(found, KIND) > AT + 1000


@pytest.mark.parametrize("tank", [True, False])
def test_what_had_come_before_a_pump_test_is_still_counted_after_it(tank: bool) -> None:
    """K-12: the test must not reset the count."""
    slow = ramp(N, 0.1 * BPM, AT, 900)
    away = -ramp(N, 5 * BPM, AT + 900, 180) + ramp(N, 5 * BPM, AT + 1500, 180)
    rest = ramp(N, 0.1 * BPM, AT + 1800)

    def at(come: Any, pits: Any) -> float:
        rows = still(come, pits=pits) if tank else still(pits=come + pits, trip_tank_volume=NAN)
        return first(watched(rows), KIND)

    assert at(slow + rest, away) == pytest.approx(at(slow + rest, 0.0), abs=300)


def test_a_bottom_assembly_that_hangs_still_is_watched_and_one_that_moves_is_not() -> None:
    """199 m of bit, motor and collars in the example well, and pipe enough for the slips."""
    come = ramp(N, 0.5 * BPM, AT)
    assert (first(watched(still(come, bit=209.0)), KIND) - AT) * 0.5 / 60 <= 2.5
    assert calls(watched(still(come, bit=215.0)), KIND) == []
    pulled = np.clip(214.0 - 0.2 * np.maximum(np.arange(N) - AT, 0), 100.0, None)
    at = first(watched(still(come, bit=pulled)), KIND)
    assert at > AT + 114 / 0.2, "not before it stands again"


def test_the_steel_that_comes_out_is_no_loss_and_what_goes_in_no_gain() -> None:
    """Drill collars of 136.2 kg/m in the last thirty metres: 0.0174 m2 (weight over density)."""
    bit = np.clip(30 - 0.05 * np.arange(N), 0, 30)
    area = 136.2 / 7850
    come = area * (np.minimum(bit, 30) - 30)
    found = watched(still(come[::-1].copy(), bit=bit[::-1].copy()))
    assert calls(found, KIND) == []


def test_in_the_hole_there_is_nothing_to_watch() -> None:
    found = watched(still(ramp(N, 1.0 * BPM, AT), bit=500.0))
    assert calls(found, KIND, "advice") == []
    assert list(blind(found, KIND)) == []


def test_it_ends_when_the_bit_goes_in() -> None:
    bit = np.where(np.arange(N) > 4000, 200.0, 0.0)
    found = watched(still(ramp(N, 1.0 * BPM, AT, 600), bit=bit))
    assert first(found, KIND) < AT + 300
    assert 3990 < ended(found, KIND) < 4020


def test_without_a_bit_depth_it_is_blind() -> None:
    assert list(blind(watched(still(bit=NAN)), KIND)) == ["no bit_depth"]


def test_any_split_makes_the_same_calls() -> None:
    away = -ramp(N, 5 * BPM, AT, 180) + ramp(N, 5 * BPM, AT + 900, 240)
    table = still(away)
    whole = watched(table)
    for edges in splits(N):
        assert watched(table, edges) == whole


FILL = "annulus_fill_stopped"


def test_a_fill_that_stops_is_called_within_a_minute_of_blind_drilling() -> None:
    """L-48, the fill pump is not lined up to the standpipe; silent where returns are expected."""
    pumps = well().pumps
    config = well(
        pumps=[
            {"name": "1", "type": "triplex", "liner_in": 6.5, "stroke_in": 12.0},
            {"name": "2", "type": "triplex", "liner_in": 6.5, "stroke_in": 12.0, "lined_up": False},
        ]
    )
    assert stroke_volume(pumps[0]) > 0
    rate = np.where(np.arange(N) > AT, 0.0, 0.5)
    table = still(pump_2_rate=rate, trip_tank_volume=NAN)
    assert AT + 30 < first(watched(table, blind=True, config=config), FILL) <= AT + 60
    assert calls(watched(table, config=config), FILL) == []
    runs = still(pump_2_rate=0.5, trip_tank_volume=NAN)
    assert calls(watched(runs, blind=True, config=config), FILL) == []


def test_a_fill_from_the_trip_tank_is_watched_over_a_refill() -> None:
    tank = -0.002 * np.minimum(np.arange(N), 5000.0) + ramp(N, 3.0 / 180, AT, 180)
    found = watched(still(trip_tank_volume=10 + tank), blind=True)
    assert [e.at for e in calls(found, FILL)] != []
    assert first(found, FILL) > 5000


def test_a_fill_that_nothing_measures_is_blind_and_says_what_it_needs() -> None:
    (reason,) = blind(watched(still(trip_tank_volume=NAN), blind=True), FILL)
    assert "send the rate of the fill pump, or the trip tank" in reason
