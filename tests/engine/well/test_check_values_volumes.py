"""Capacities, volumes, strokes and lag against published examples and hand computations.

Sources: [A] Lag time and how to calculate it, www.drillingformulas.com/tag/lag-time-calculation/ ;
[B] Annular velocity, docs.kws.tn/formulas/1/annular-velocity.html ; [C] Drilling formulae and
pipe table, www.scribd.com/document/199663697/Drilling-Formula ; [D] Lag time and bottoms-up,
www.toolgrit.com/guides/lag-time-bottoms-up ; [E] Kick tolerance factor,
www.drillingformulas.com/kick-tolerance-factor-calculation/ ; [F] B. Guo and G. Liu, Applied
Drilling Circulation Systems, Gulf, 2011, p. 56 ; [G] Hydraulics Equations, API RP 13D, 2002 ;
[H] www.drillingfluidssolutions.com/resources/calculations/ ; [I] IADC WellSharp field sheet,
rev. 3. ``R1`` is an invented well of 10,000 ft: 5 in pipe, 8.5 in hole, shoe at 5,000 ft, two
pumps 6.5 x 12 in at 97 %; its numbers are by hand. ``own`` is by hand from definitions.
"""

from __future__ import annotations

from math import pi

import pytest

from engine.units import BBL, FT, GAL, IN, LB, MINUTE, PPG
from engine.well.active_volume import new_hole, pit_rate, stand_change
from engine.well.answer import Answer, Unknown
from engine.well.capacities import (
    annular_capacity,
    annular_speed,
    closed_displacement,
    mean_speed,
    open_displacement,
)
from engine.well.cuttings import lag_of_cuttings, slip_newtonian, slip_power_law
from engine.well.lag_times import lagged_depth_steady
from engine.well.pumps import strokes_for, time_for
from engine.well.sheet import CAPACITY_FIELD, CAPACITY_METRIC, round_half_away
from engine.well.volumes_sheet import (
    annular_capacity_sheet,
    annular_speed_barrels_sheet,
    annular_speed_sheet,
    bore_capacity_sheet,
    hole_from_lag_sheet,
    open_displacement_sheet,
    rectangular_pit_sheet,
    triplex_sheet,
)
from tests.check_rows import row


def known(answer: Answer) -> float:
    assert not isinstance(answer, Unknown), answer
    return answer


def bore(d: float) -> float:
    return known(bore_capacity_sheet(d))


def ring(hole: float, pipe: float) -> float:
    return known(annular_capacity_sheet(hole, pipe))


PIPE = known(open_displacement_sheet(21.9))
STROKE = known(triplex_sheet(6.5, 12, 0.97))
STRING = 9000 * bore(4.276) + 400 * bore(3) + 600 * bore(2.8125)
OPEN_HOLE = 600 * ring(8.5, 6.75) + 4400 * ring(8.5, 5)
ANNULUS = OPEN_HOLE + 5000 * ring(8.681, 5)
R1_LEGS = [("collars", 600, 9.2141), ("open hole", 4400, 5.2043), ("casing", 5000, 4.8829)]


@pytest.mark.parametrize(
    ("got", "want", "within"),
    [
        pytest.param(bore_capacity_sheet(4.276), 0.01776, 5e-6, id="V01-[C] bore of 5 in pipe"),
        pytest.param(bore_capacity_sheet(3.826), 0.0142257, 1.5e-5, id="V02-[C] takes 1029"),
        pytest.param(annular_capacity_sheet(8.5, 5), 0.0459, 5e-5, id="V03-[E]"),
        pytest.param(annular_capacity_sheet(12.25, 4.5), 0.1261, 5e-5, id="V04-[B]"),
        pytest.param(annular_speed_sheet(530, 12.25, 4.5), 100, 0.5, id="V06-[B] 530 gpm"),
        pytest.param(mean_speed(12.6, 0.1261), 99.92, 0.005, id="V07-[B] 12.6 bbl/min"),
        pytest.param(
            annular_speed_barrels_sheet(12.6, 12.25, 4.5), 1.6656, 5e-4,
            id="V08-[B] prints 17.6, its answer needs 17.16",
        ),
        pytest.param(ring(8.5, 6.5) * 500 + ring(8.5, 5) * 7500, 358.8, 0.05, id="V10-[D]"),
        pytest.param(time_for(250, 300 / 42), 35, 0.05, id="V11-[A] 250 bbl at 300 gpm"),
        pytest.param(strokes_for(250, 0.102), 2451, 0.5, id="V12-[A] at 0.102 bbl/stk"),
        pytest.param(time_for(40, 1.2), 33.3, 0.05, id="V13-[A] 40 m3 at 1200 L/min"),
        pytest.param(strokes_for(40, 0.01622), 2466, 0.5, id="V14-[A] at 0.01622 m3/stk"),
        pytest.param(STRING, 167.965492277, 167e-6, id="V15-R1 string, bbl"),
        pytest.param(ANNULUS, 462.124834855, 462e-6, id="V16-R1 annulus, bbl"),
        pytest.param(time_for(ANNULUS, STROKE * 120), 32.2249383474, 3e-5, id="V20-R1 lag, min"),
        pytest.param(
            lagged_depth_steady(10000, 60 / 60, 462.1248, 14.3406, 0.0459005),
            9967.87788663, 0.01, id="V21-own lagged depth, ft",
        ),
        pytest.param(lag_of_cuttings(R1_LEGS, 0.5166), 35.8791047245 * 60, 0.6, id="V25-R1 [F]"),
        pytest.param(new_hole(bore(8.5), 100), 7.01865164173, 7e-6, id="V26-own bbl/h"),
        pytest.param(PIPE, 0.00796722, 8e-9, id="V27-[H] 21.9 lb/ft"),
        pytest.param(bore_capacity_sheet(5), 0.0242859918399, 2e-8, id="V28-closed 5 in"),
        pytest.param(rectangular_pit_sheet(30, 10), 53.4, 5e-5, id="V29-[I] pit 30 x 10 ft"),
        pytest.param(
            hole_from_lag_sheet(8.5, (4200 - 3867) * 0.119505, 5000), 8.96900376687, 9e-6,
            id="V30-R1 hole size from lag, in",
        ),
        pytest.param(bore(6.75) - bore(2.8125), 0.0365769805226, 3.6e-8, id="V31-collar steel"),
        pytest.param(pit_rate(bore(8.5), PIPE, 100), -6.22192964173, 6e-6, id="V32-own bbl/h"),
    ],
)  # fmt: skip
def test_a_sheet_of_paper_agrees(got: Answer, want: float, within: float) -> None:
    assert known(got) == pytest.approx(want, abs=within)


@pytest.mark.parametrize(
    ("volume", "strokes"),
    [
        pytest.param(STRING, 1406, id="V17-R1 surface to bit"),
        pytest.param(OPEN_HOLE, 1820, id="V18-R1 bit to shoe"),
        pytest.param(ANNULUS, 3867, id="V19-R1 bottoms up"),
    ],
)
def test_whole_strokes_are_those_of_paper(volume: float, strokes: int) -> None:
    assert round_half_away(known(strokes_for(volume, STROKE))) == strokes


@row("V05, V09 own")
def test_the_constants_of_paper_lie_close_to_the_exact_ones() -> None:
    """V05, V09, own: 42 gallons of 231 in3 over 12 in are 4 x 9702 / (12 pi) in2."""
    exact = IN**2 * pi / 4 / (BBL / FT)
    assert 1 / exact == pytest.approx(1029.41417192, rel=1e-9)
    assert pytest.approx(1 / exact, rel=2e-5) == CAPACITY_FIELD
    assert pytest.approx(4000 / pi, rel=3e-6) == CAPACITY_METRIC
    litres = known(annular_capacity(0.2159, 0.127)) * 1e3
    assert litres == pytest.approx(23.9419283874, rel=1e-9)
    speed = known(annular_speed(2.0 / MINUTE, 0.2159, 0.127))
    assert speed == pytest.approx(1.392, abs=5e-4)
    assert known(closed_displacement(5 * IN)) / (BBL / FT) == pytest.approx(0.024286, rel=2e-5)


def test_live_numbers_lie_close_to_those_of_paper() -> None:
    """V04, V06 [B] in SI: paper is within 0.05 %."""
    assert known(annular_capacity(12.25 * IN, 4.5 * IN)) / (BBL / FT) == pytest.approx(
        ring(12.25, 4.5), rel=5e-5
    )
    exact = known(annular_speed(530 * GAL / MINUTE, 12.25 * IN, 4.5 * IN)) / (FT / MINUTE)
    assert exact == pytest.approx(known(annular_speed_sheet(530, 12.25, 4.5)), rel=5e-4)


@row("V22, V23 [F]")
def test_a_cutting_in_a_newtonian_mud_falls_as_in_the_book() -> None:
    """V22, V23 [F]: 0.25 in, sphericity 0.8, 6 cP, 12 ppg, 2.7 sg: 0.5166 ft/s, Re 240."""
    slip = known(slip_newtonian(0.25 * IN, 0.8, 6e-3, 12 * PPG, 2700)) / FT
    assert slip == pytest.approx(0.5166, abs=5e-5)
    assert 928 * 12 * slip * 0.25 / 6 == pytest.approx(240, abs=0.5)


@row("V24 [G]")
def test_a_cutting_in_a_power_law_mud_falls_as_the_equations_of_the_sheet() -> None:
    """V24 [G]: 0.25 in, 21.66 ppg, mud 12.5 ppg, dial 20 at 100 rpm, 3 at 3 rpm."""
    slip = known(slip_power_law(0.25 * IN, 21.66 * PPG, 12.5 * PPG, 20, 3)) / FT
    assert slip == pytest.approx(0.282095759532, rel=1e-6)


@row("V33, V34 own")
def test_what_a_stand_does_to_the_pits_adds_up() -> None:
    """V33, V34 own: net of a 93 ft stand -5.786 bbl; filled, drilled and cuttings close."""
    hole = bore(8.5)
    change = stand_change(93, hole, PIPE, 0.01776)
    assert not isinstance(change, Unknown)
    assert change.net == pytest.approx(-5.78639456681, rel=1e-6)
    assert change.filled + change.drilled + change.cuttings - change.net == pytest.approx(
        0, abs=1e-9
    )
    assert change.filled == pytest.approx(-1.65, abs=5e-3)
    assert change.drilled == pytest.approx(2.39, abs=5e-3)
    assert change.cuttings == pytest.approx(-6.53, abs=5e-3)


def test_mud_on_cuttings_is_lost_on_top() -> None:
    """Own: a quarter of the rock's volume of mud on it takes a quarter of 0.0702 x 93 bbl."""
    clean, dirty = (stand_change(93, bore(8.5), PIPE, 0.01776, share) for share in (0.0, 0.25))
    assert not isinstance(clean, Unknown)
    assert not isinstance(dirty, Unknown)
    assert clean.net - dirty.net == pytest.approx(0.25 * bore(8.5) * 93, rel=1e-12)
    assert isinstance(stand_change(93, 0.02, 0.01, 0.02), Unknown)
    assert isinstance(pit_rate(0.01, 0.02, 1), Unknown)
    assert pit_rate(0.07, 0.008, 0) == 0.0


def test_21_9_lb_ft_of_steel_displace_their_weight() -> None:
    """V27 exact, own: over 7850 kg/m3, 0.1 % less than on paper."""
    exact = known(open_displacement(21.9 * LB / FT)) / (BBL / FT)
    assert exact == pytest.approx(21.9 * LB / 7850 / BBL, rel=1e-12)
    assert pytest.approx(exact, rel=1.1e-3) == PIPE
