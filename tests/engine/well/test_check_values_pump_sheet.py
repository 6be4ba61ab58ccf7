"""Pump output with the rounded factors of paper, digit for digit; edge cases of pumps.

The exact output is held by ``tests/engine/test_check_values_pumps.py`` (P01 to P13), flow
imbalance (P14) and live counters (cases G01 to G03) by ``tests/engine/test_flow.py``.

Sources: [A] Pump output calculation for duplex and triplex pumps,
www.drillingformulas.com/pump-output-calculation-for-duplex-pump-and-triplex-pump/ ;
[B] Pump Output, www.scribd.com/document/106831148/Pump-Output .
"""

from __future__ import annotations

import pytest

from engine.errors import InputError
from engine.units import BBL, GAL, IN, MINUTE
from engine.well.answer import Answer, Unknown
from engine.well.pumps import (
    CALCULATIONS,
    STROKING,
    PumpHours,
    duplex_output,
    efficiency_from_tank,
    flow_from_counter,
    flow_of,
    pump_hours,
    strokes_for,
    time_for,
    triplex_output,
)
from engine.well.volumes_sheet import duplex_sheet, triplex_sheet
from tests.check_rows import row

NAN = float("nan")


def known(answer: Answer) -> float:
    assert not isinstance(answer, Unknown), answer
    return answer


@pytest.mark.parametrize(
    ("got", "want", "within"),
    [
        pytest.param(triplex_sheet(6, 12), 0.104976, 5e-7, id="P01-[A] triplex"),
        pytest.param(triplex_sheet(6, 12, 0.97), 0.101827, 5e-7, id="P02-[A] at 97 %"),
        pytest.param(triplex_sheet(7, 12, 0.95), 0.13574, 5e-6, id="P04-[B]"),
        pytest.param(duplex_sheet(5.5, 2, 14), 0.128142, 5e-7, id="P05-[B] duplex"),
        pytest.param(duplex_sheet(5.5, 2, 14, 0.85), 0.10892, 5e-6, id="P06-[B]"),
        pytest.param(duplex_sheet(6, 2, 12), 0.13219, 5e-6, id="P07-[A]"),
    ],
)
def test_the_sheet_prints_the_published_barrels_per_stroke(
    got: Answer, want: float, within: float
) -> None:
    assert known(got) == pytest.approx(want, abs=within)


@row("P08 not the 455.5 of [B]")
def test_80_strokes_of_a_7_by_12_are_480_gallons_on_paper() -> None:
    """P08: [B] prints 455.5, which hides an efficiency of 95 %; not copied."""
    assert 42 * 80 * known(triplex_sheet(7, 12)) == pytest.approx(480.090, abs=0.01)


@row("P10 [A], P11 own")
def test_three_pumps_on_paper_and_exactly() -> None:
    """P10 (paper), P11 (exact): 97 % at 60, 95 % at 58, the third idle."""
    paper = [(60, 0.97), (58, 0.95), (0, 0.97)]
    sheet = flow_of([(n, known(triplex_sheet(6.5, 12, e))) for n, e in paper])
    assert 42 * known(sheet) == pytest.approx(586.2642786, rel=1e-6)
    exact = flow_of([(n / 60, known(triplex_output(6.5 * IN, 12 * IN, e))) for n, e in paper])
    assert known(exact) * MINUTE * 1e3 == pytest.approx(2217.94184751, rel=1e-9)


@row("P03, P09 own, not the 0.016690 of [A]")
def test_the_output_in_cubic_metres_is_not_the_printed_one() -> None:
    """P03, P09: by hand; [A] prints 0.016690 m3, 0.06 % too much. Not copied."""
    exact = known(triplex_output(0.1524, 0.3048))
    assert exact == pytest.approx(0.0166799994799, rel=1e-9)
    assert exact != pytest.approx(0.016690, abs=5e-6)
    assert exact / BBL == pytest.approx(0.10491404038, rel=1e-9)
    assert known(duplex_output(6 * IN, 2 * IN, 12 * IN)) / BBL == pytest.approx(0.13219, rel=1e-3)


@row("P13 [A], G03")
def test_a_counter_gives_flow_and_a_step_back_none() -> None:
    """P13: 47 strokes in 30 s of a 6.5 x 12 at 97 %, 11.233 bbl/min; case G03."""
    each = known(triplex_sheet(6.5, 12, 0.97))
    assert known(flow_from_counter(47, 0.5, each)) == pytest.approx(11.23346718, rel=1e-6)
    assert isinstance(flow_from_counter(-3, 30, each), Unknown)
    assert flow_from_counter(0, 30, each) == 0.0


@row("P12 [A]")
def test_a_tank_check_gives_the_efficiency() -> None:
    """P12: 20.0 bbl in 170 strokes of a 6.5 x 12."""
    full = known(triplex_sheet(6.5, 12))
    assert known(efficiency_from_tank(20.0, 170, full)) == pytest.approx(0.954919674544, rel=1e-6)
    too_good = efficiency_from_tank(25.0, 170, full)
    assert isinstance(too_good, Unknown)
    assert "above 1" in too_good.reason
    assert isinstance(efficiency_from_tank(20.0, 0, full), Unknown)


@row("G01")
def test_pumps_that_stand_still_give_no_flow_and_unknown_ones_no_number() -> None:
    """Case G01."""
    assert flow_of([(0.0, 0.016), (0.0, 0.016)]) == 0.0
    assert flow_of([]) == 0.0
    assert flow_of([(1.0, 0.016), (NAN, 0.016)]) == Unknown("stroke rate is unknown")


@pytest.mark.parametrize(
    "answer",
    [
        triplex_output(0, 0.3), triplex_output(0.16, -0.3), triplex_output(0.16, 0.3, 1.2),
        triplex_output(NAN, 0.3), duplex_output(0.15, 0.15, 0.3), duplex_output(0.15, -1, 0.3),
        duplex_output(0.15, 0.05, 0.3, NAN), strokes_for(1, 0), strokes_for(-1, 0.01),
        time_for(1, 0), time_for(1, -1), time_for(NAN, 1), triplex_sheet(0, 12),
        duplex_sheet(6, 7, 12), duplex_sheet(6, 2, 12, 2), strokes_for(1, 5e-324),
    ],
)  # fmt: skip
def test_a_pump_that_cannot_be_gives_a_reason(answer: Answer) -> None:
    assert isinstance(answer, Unknown)
    assert answer.reason


def test_no_flow_says_so() -> None:
    assert time_for(1.0, 0.0) == Unknown("no flow: the pumps stand still")
    assert strokes_for(0.0, 0.01) == 0.0


def test_pump_hours_count_strokes_and_leave_the_unknown_apart() -> None:
    """10 s stroking, 5 s at rest, 5 s unknown, then a gap of 60 s of which 5 s count."""
    t = [float(n) for n in range(20)] + [80.0]
    rate = [1.0] * 10 + [STROKING / 2] * 5 + [NAN] * 4 + [1.0, 1.0]
    assert pump_hours(t, rate) == PumpHours(stroking=15.0, unknown=60.0)
    assert pump_hours([], []) == PumpHours(0.0, 0.0)
    with pytest.raises(InputError, match="one length"):
        pump_hours([0.0], [])


def test_calculations_of_pumps_take_si() -> None:
    """P02, P07, P12 from SI; the factors of paper are 0.06 % high."""
    by_name = {c.name: c for c in CALCULATIONS}
    out = by_name["pump-output"].run({"liner": 6 * IN, "stroke": 12 * IN, "efficiency": 0.97})
    assert known(out["stroke_volume"]) / BBL == pytest.approx(0.101827, rel=1e-3)
    duplex = {"liner": 6 * IN, "rod": 2 * IN, "stroke": 12 * IN}
    volume = known(by_name["pump-output-duplex"].run(duplex)["stroke_volume"])
    assert volume / BBL == pytest.approx(0.13219, rel=1e-3)
    given = {"volume": 20 * BBL, "strokes": 170.0, "full_stroke": 0.123201 * BBL}
    efficiency = by_name["pump-efficiency"].run(given)["efficiency"]
    assert known(efficiency) == pytest.approx(0.95492, abs=1e-5)
    strokes = by_name["strokes-for-volume"].run({"volume": 42 * GAL, "stroke_volume": BBL / 10})
    assert known(strokes["strokes"]) == pytest.approx(10.0, rel=1e-12)
