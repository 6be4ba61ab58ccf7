"""Incidents of trips, from packets through the engine to alarms, each with a twin that is silent.

Packets by hand at 1 Hz with 0.05 bbl of noise on the trip tank and 3 kN on the hook, after the
published accounts:

- US Chemical Safety Board, Pryor Trust 1H-9, report 2018-01-I-OK, 2019 (K-13);
- Bureau of Safety and Environmental Enforcement, South Timbalier 220 A-3, panel report 2015 (K-17);
- published accounts of Luojia 16H, 23 December 2003 (K-22); 30 CFR 250.456(c).

Numbers of the scenarios are ours.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
import pytest

from engine.commands import Command, DeclareTrip, Issued, SetDepth
from engine.config import WellConfig
from engine.engine import Engine
from engine.events import Frame, LinkUp
from engine.interfaces import InputEvent
from engine.records.journal import Entry, read
from engine.records.sight import blind_between
from engine.units import BBL
from tests.tables import T0, well
from tests.trip_rows import BEFORE, DRY, HOIST, STAND, at_slips, end_of, pipe_of

SLIPS = 90
WATCHED = ("swab", "swab-critical", "trip-fill-overdue", "trip-without-trip-tank")
Taken = Callable[[int], float]


def trip_well() -> WellConfig:
    """Return the example well with pipe alone, 0.74 bbl a stand, and a tank for the whole trip."""
    return well(string=pipe_of(DRY), trip={"trip_tank_low_m3": 0.2, "trip_tank_high_m3": 29.0})


def packets(
    stands: int, taken: Taken, seed: int = 1, no_tank: Sequence[int] = ()
) -> list[InputEvent]:
    """Return the packets of a trip out: each stand is hoisted in 30 s, then 90 s in slips."""
    rng, n = np.random.default_rng(seed), BEFORE + stands * (HOIST + SLIPS)
    s = np.arange(n)
    stand, into = np.divmod(np.maximum(s - BEFORE, 0), HOIST + SLIPS)
    moves = (s >= BEFORE) & (into < HOIST)
    up = np.clip((into + 1) / HOIST, 0, 1) * (s >= BEFORE)
    down = np.clip((into - HOIST - 20) / 50, 0, 1)  # the empty block goes back down
    hung = (s >= BEFORE) & ~moves
    hook = np.where(hung, 150.0, 900.0) + 3.0 * rng.standard_normal(n)  # kN
    gone = np.concatenate(([0.0], np.cumsum([taken(i + 1) for i in range(stands)])))
    tank = 25.0 - (gone[stand] + up * np.diff(gone)[stand]) + 0.05 * BBL * rng.standard_normal(n)
    columns = {
        "0112": 1.0 + STAND * (up - down), "0114": hook / 10, "0118": 0.0 * s, "0120": 0.0 * s,
        "0121": 0.0 * s, "0123": 0.0 * s, "0124": 0.0 * s, "0129": 0.0 * s, "0141": tank,
        "0126": 60 + 0.03 * rng.standard_normal(n),
    }  # fmt: skip
    feed = trip_well().feeds[0].name
    out: list[InputEvent] = [LinkUp(T0 - 1, feed)]
    for i in range(n):
        values = {code: round(float(x[i]), 3) for code, x in columns.items()}
        if no_tank and no_tank[0] <= i < no_tank[1]:
            del values["0141"]
        out.append(Frame(T0 + i, feed, values))
    return out


def given(at: float, command: Command) -> Issued:
    return Issued(T0 + at, command, "Ines", "doghouse")


def journal(events: list[InputEvent], *commands: Issued) -> list[dict]:  # type: ignore[type-arg]
    """Return what the journal says, with commands at their times."""
    config = trip_well()
    engine = Engine(config, Entry(T0 - 1, "watch", config.well, "start", {}))
    every = [*events, given(5.5, SetDepth(2397.0, 2400.0, "tally")), *commands]
    every.sort(key=lambda event: event.at)
    lines = engine.take(every)[1]
    return [{**read(line), "second": line.at - T0, "line": line} for line in lines]


def alarms(found: list[dict]) -> dict[str, float]:  # type: ignore[type-arg]
    """Return when each alarm of a trip first reached a person. [s]"""
    rings = [
        f for f in found if f["kind"] == "alarm" and f["event"] == "trip" and f["id"] in WATCHED
    ]
    return {f["id"]: f["second"] for f in reversed(rings)}


def test_sc13_sixty_stands_that_take_half_of_what_they_should() -> None:
    """K-13, R-26: a warning by 2 bbl, which stand 7 passes, the alarm at 5 bbl, stand 16.

    The stands were pulled faster than the well file's margin advises, so three of them are enough.
    """
    found = journal(packets(60, lambda _: 0.41 * BBL))
    at = alarms(found)
    assert set(at) == {"swab", "swab-critical"}
    assert at_slips(3) < at["swab"] <= end_of(7)
    assert at_slips(15) < at["swab-critical"] <= end_of(16)
    calls = [f for f in found if f["kind"] == "event" and f["id"] == "swab"]
    last = next(f for f in calls if f["event"] == "critical")["evidence"]
    assert last["volume_m3"] == pytest.approx(5.2 * BBL, abs=0.3 * BBL)
    assert "end" not in [f["event"] for f in calls]


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_sc13_twin_takes_what_its_steel_displaces(seed: int) -> None:
    assert alarms(journal(packets(60, lambda _: DRY, seed))) == {}


def test_sc13_wet_declared_at_stand_10_expects_the_bore_from_there_on() -> None:
    """2.40 bbl a stand with the bore lost; a hole that goes on taking 0.74 is then short."""
    wet = given(end_of(10) - 5, DeclareTrip(wet=True, recovered_share=0.0))
    at = alarms(journal(packets(14, lambda _: DRY), wet))
    assert at_slips(11) < at["swab"] <= end_of(12)
    full = packets(14, lambda i: DRY if i <= 10 else DRY + 1.66 * BBL)
    assert alarms(journal(full, wet)) == {}


def test_sc17_losses_that_turn_into_a_gain_are_called_before_the_sum_is_short() -> None:
    """K-17, R-26: 1 bbl/h, which is 0.033 bbl a stand of 2 min, then 0.5 bbl a stand comes back."""

    def taken(i: int) -> float:
        return DRY + (0.033 * BBL if i <= 30 else -0.5 * BBL)

    found = journal(packets(36, taken))
    at = alarms(found)
    assert at_slips(31) < at["swab"] <= end_of(34)
    call = next(f for f in found if f["id"] == "swab" and f["event"] == "warning")["evidence"]
    assert call["difference_m3"] < 2.0 * BBL  # the whole sum is not short yet
    assert "lost first, gains now" in call["witnesses"] or call["stand_sum_m3"] >= BBL


def test_sc17_twin_loses_a_barrel_an_hour_and_gains_nothing() -> None:
    assert alarms(journal(packets(36, lambda _: DRY + 0.033 * BBL))) == {}


def test_sc22_a_fill_every_three_stands_that_comes_after_nine() -> None:
    """K-22, R-26: overdue with the third stand by the programme, before the fourth is pulled."""
    plan = given(20.0, DeclareTrip(wet=False, programme_stands=3))
    late = packets(11, lambda i: 9 * DRY if i == 9 else 0.0 if i < 9 else DRY)
    at = alarms(journal(late, plan))
    assert at_slips(3) < at["trip-fill-overdue"] <= end_of(4)


def test_sc22_by_the_rule_alone_it_is_overdue_with_the_fifth() -> None:
    """30 CFR 250.456(c): five stands or 75 psi; what is short by then is called as well."""
    late = packets(11, lambda i: 9 * DRY if i == 9 else 0.0 if i < 9 else DRY)
    at = alarms(journal(late))
    assert at_slips(5) < at["trip-fill-overdue"] <= end_of(6)
    assert at["swab"] <= end_of(3)  # three stands without a fill are 2.2 bbl


def test_sc22_twin_fills_every_third_stand() -> None:
    plan = given(20.0, DeclareTrip(wet=False, programme_stands=3))
    good = packets(12, lambda i: 3 * DRY if i % 3 == 0 else 0.0)
    assert alarms(journal(good, plan)) == {}


def test_a_trip_without_a_trip_tank_is_blind_and_the_review_says_how_long() -> None:
    """R-28, R-32: six minutes without the tank; then the sheet needs a rest to be read again."""
    events = packets(12, lambda _: DRY, no_tank=(900, 1260))
    found = journal(events)
    assert "trip-without-trip-tank" in alarms(found)
    lines = [f["line"] for f in found]
    swab = next(b for b in blind_between(lines, T0, T0 + 2000) if b["kind"] == "swab")
    assert swab["reasons"][0] == "no usable trip tank"
    assert 6.0 <= swab["minutes"] <= 6.0 + (HOIST + SLIPS) / 60
    assert swab["spells"][-1]["end"] is not None
