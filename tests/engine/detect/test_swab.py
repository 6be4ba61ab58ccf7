"""Trips by hand: what is called, when, and what is not."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from engine.block import Block
from engine.config import WellConfig
from engine.detect.balance import Balance
from engine.detect.board import Board
from engine.detect.kinds import Severity
from engine.detect.settings_trip import SwabSettings
from engine.detect.swab import Stands, Swab
from engine.ops.trip_fill import TripFill
from engine.records.journal import Entry
from engine.units import BBL
from tests.tables import NAN, T0, block_of, cut, splits
from tests.trip_rows import BEFORE, DRY, at_slips, end_of, of, trip


def called(
    table: dict[str, Block], config: WellConfig | None = None, edges: list[int] | None = None
) -> list[Entry]:
    """Return what the journal gets of the rows of a trip."""
    config = config or of()
    rows = table | TripFill(config).process(table)
    board = Board((Swab(config.detect.swab),), Balance(config, config.detect.balance))
    n = len(rows["bit_depth"])
    return [e for a, b in pairwise(edges or [0, n]) for e in board.process(cut(rows, a, b))[2]]


def said(entries: list[Entry]) -> list[tuple[str, float]]:
    """Return the severities in order, each with the second at which it was called."""
    return [(e.event, e.at - T0) for e in entries if e.kind == "event"]


def first(entries: list[Entry], event: str) -> float:
    """Return when it was first called; infinity if never. [s]"""
    return min((at for what, at in said(entries) if what == event), default=float("inf"))


def noisy(table: dict[str, Block], size_bbl: float, seed: int) -> dict[str, Block]:
    """Return the table with noise on the trip tank, correlated over 3 s."""
    tank, rng = table["trip_tank_volume"], np.random.default_rng(seed)
    white = rng.standard_normal(len(tank) + 20)
    waves = np.convolve(white, np.full(3, 3**-0.5), "same")[: len(tank)]
    return table | {"trip_tank_volume": block_of(tank.t, tank.value + size_bbl * BBL * waves)}


def test_a_hole_that_takes_0_41_of_0_74_bbl_is_called_before_two_barrels() -> None:
    """SC-13 (R-26): three stands 45 % short are advice; the sum and 5 bbl are by hand.

    0.18 bbl a stand over the slack is a barrel with the sixth; the 16th makes 5.28 bbl.
    """
    found = called(trip(60, lambda _: 0.41 * BBL))
    assert at_slips(3) < first(found, "advice") <= at_slips(4)
    assert at_slips(6) < first(found, "warning") <= at_slips(7)
    assert at_slips(16) < first(found, "critical") <= end_of(16)
    critical = next(e for e in found if e.event == "critical").details["evidence"]
    assert critical["volume_m3"] == pytest.approx(5.28 * BBL, abs=0.02 * BBL)
    assert critical["witnesses"][:2] == ["trip tank", "short since the trip began"]
    assert critical["last_stand_actual_m3"] == pytest.approx(0.41 * BBL, abs=1e-3)


def test_two_barrels_at_once_are_a_warning_and_five_are_critical() -> None:
    """Own rule: one stand that gives back what it should take, and more."""
    two = called(trip(4, lambda i: DRY - 2.1 * BBL if i == 2 else DRY))
    assert at_slips(2) < first(two, "warning") <= end_of(2)
    assert first(two, "critical") == float("inf")
    five = called(trip(4, lambda i: DRY - 5.1 * BBL if i == 2 else DRY))
    assert at_slips(2) - 30 < first(five, "critical") <= end_of(2)


@pytest.mark.parametrize("way", [1, -1])
@pytest.mark.parametrize("bias", [0.97, 1.0, 1.03])
def test_a_good_trip_is_silent_with_noise_and_steel_3_per_cent_off(way: int, bias: float) -> None:
    bit = 2397.0 if way == 1 else 600.0
    for seed in range(3):
        table = trip(60, lambda _: way * bias * DRY, way=way, bit=bit, level=30.0)
        assert said(called(noisy(table, 0.15, seed))) == []


def test_losses_first_and_then_a_gain_are_called_though_the_sum_is_short_of_nothing() -> None:
    """SC-17 (K-17): a loss of 1 bbl/h, then 0.5 bbl a stand comes back."""

    def taken(i: int) -> float:
        return DRY + (0.04 * BBL if i <= 30 else -0.5 * BBL)

    found = called(trip(40, taken))
    assert at_slips(31) < first(found, "warning") <= end_of(33)
    evidence = next(e for e in found if e.event == "warning").details["evidence"]
    assert evidence["difference_m3"] < 0.5 * BBL
    assert evidence["lost_before_m3"] == pytest.approx(1.2 * BBL, abs=0.1 * BBL)
    assert said(called(trip(40, lambda _: DRY + 0.04 * BBL))) == []


def test_three_short_stands_are_a_warning_where_they_were_pulled_too_fast() -> None:
    """The advised speed is that of the mean of a stand; here 0.95 m/s were pulled."""
    table = trip(8, lambda i: 0.41 * BBL if i <= 3 else DRY)
    t = table["bit_depth"].t
    slow = called(table | {"advised_block_speed": block_of(t, np.full(t.size, 1.2))})
    fast = called(table | {"advised_block_speed": block_of(t, np.full(t.size, 0.6))})
    assert first(slow, "warning") == float("inf")
    assert at_slips(3) < first(fast, "warning") <= at_slips(4)
    words = next(e for e in fast if e.event == "warning").details["evidence"]["witnesses"]
    assert "pulled faster than advised" in words


def test_a_fill_of_the_programme_counts_as_one_stand() -> None:
    """Three stands without a fill are as planned; the fill takes what all three are due."""
    table = trip(12, lambda i: 3 * DRY if i % 3 == 0 else 0.0)
    assert said(called(table, of(programme_stands=3))) == []
    short = trip(30, lambda i: 3 * 0.41 * BBL if i % 3 == 0 else 0.0)
    found = called(short, of(programme_stands=3))
    assert at_slips(6) < first(found, "warning") <= at_slips(7)
    evidence = next(e for e in found if e.event == "warning").details["evidence"]
    assert evidence["stands"] == 2
    assert evidence["last_stand_expected_m3"] == pytest.approx(3 * DRY, abs=1e-4)


def test_a_call_ends_when_stands_fill_and_the_shortage_is_made_up() -> None:
    found = called(trip(20, lambda i: DRY - BBL if i <= 2 else DRY + 0.7 * BBL if i <= 5 else DRY))
    assert said(found)[-1][0] == "end"


def test_without_a_usable_tank_or_a_depth_it_is_blind_and_a_call_stands() -> None:
    """R-28, R-32."""
    table = trip(20, lambda _: 0.2 * BBL)
    t, tank, bit = (table[k] for k in ("flow_in", "trip_tank_volume", "bit_depth"))
    late = np.arange(len(tank)) > end_of(8)
    gone = table | {"trip_tank_volume": block_of(t.t, np.where(late, NAN, tank.value))}
    found = called(gone)
    blind = [e for e in found if e.event == "blind"]
    assert [e.details["reason"] for e in blind] == ["no usable trip tank"]
    assert 0 < blind[0].at - T0 - end_of(8) <= 10
    assert first(found, "warning") < end_of(8)
    assert "end" not in [e.event for e in found if e.kind == "event"]
    lost = called(table | {"bit_depth": block_of(t.t, np.where(late, NAN, bit.value))})
    assert [e.details["reason"] for e in lost if e.event == "blind"] == ["no bit_depth"]


def test_one_wild_bin_of_the_sheet_is_none() -> None:
    """Own rule: five seconds are no reading, ten are."""
    for wild, severity in (([6.0], Severity.NONE), ([6.0, 6.0], Severity.CRITICAL)):
        stands, seen = Stands(SwabSettings()), []
        for short in (0.0, 0.0, *wild, 0.0):
            stands.step((0.2, 0.2, short * BBL), False, 0.0, 1.0, NAN)
            seen.append(stands.severity)
        assert max(seen) == severity


def test_off_a_trip_it_is_not_on_watch() -> None:
    assert called(cut(trip(1, lambda _: 0.0), 0, BEFORE)) == []


def test_any_split_gives_the_same_calls() -> None:
    table = noisy(trip(20, lambda i: 0.41 * BBL if i < 12 else DRY + BBL), 0.1, 4)
    whole = called(table)
    assert {"advice", "warning"} <= {e.event for e in whole}
    for edges in splits(len(table["bit_depth"])):
        assert called(table, edges=edges) == whole
