"""Pump output and flow-in against published figures.

Sources: [A] Pump output calculation for duplex and triplex pumps,
www.drillingformulas.com/pump-output-calculation-for-duplex-pump-and-triplex-pump/ ;
[B] Pump Output, www.scribd.com/document/106831148/Pump-Output ;
[C] NIST SP 811 (2008), app. B: inch, pound and US gallon are exact.

[A] and [B] use the rounded field factors 0.000243 and 0.000162 bbl/in3; the exact ones are
pi / (4 * 3234) = 0.00024286 and two thirds of it. So exact output lies 0.06 % below theirs.
"""

from __future__ import annotations

import numpy as np
import pytest

from engine.config import Pump
from engine.ops.flow import Flow
from engine.ops.strokes import Strokes
from engine.units import BBL, GAL, IN, MINUTE
from engine.well.pumps import efficiency_from_tank, flow_from_counter, stroke_volume
from tests.check_rows import row
from tests.tables import SPM, table_of, well

ROUNDED = 0.000243 / (np.pi / 4 / 3234)
"""Field factor over the exact one. [-]"""


def triplex(liner: float, stroke: float, efficiency: float = 1.0) -> Pump:
    return Pump.model_validate(
        {
            "name": "1", "type": "triplex", "liner_in": liner, "stroke_in": stroke,
            "efficiency": efficiency,
        }
    )  # fmt: skip


def duplex(liner: float, rod: float, stroke: float, efficiency: float = 1.0) -> Pump:
    return Pump.model_validate(
        {
            "name": "1", "type": "duplex", "liner_in": liner, "rod_in": rod, "stroke_in": stroke,
            "efficiency": efficiency,
        }
    )  # fmt: skip


def barrels(pump: Pump) -> float:
    return stroke_volume(pump) / BBL


def test_the_rounded_field_factor_is_six_hundredths_of_a_percent_high() -> None:
    """[C]: 1 bbl = 9702 in3, so the exact triplex factor is 3 pi / 4 / 9702."""
    assert pytest.approx(1.00059, abs=1e-5) == ROUNDED


@pytest.mark.parametrize(
    ("pump", "published", "digits"),
    [
        pytest.param(triplex(6, 12), 0.104976, 5e-7, id="P01 [A]"),
        pytest.param(triplex(6, 12, 0.97), 0.101827, 5e-7, id="P02 [A]"),
        pytest.param(triplex(7, 12, 0.95), 0.13574, 5e-6, id="P04 [B]"),
        pytest.param(duplex(5.5, 2, 14), 0.128142, 5e-7, id="P05 [B]"),
        pytest.param(duplex(5.5, 2, 14, 0.85), 0.10892, 5e-6, id="P06 [B]"),
        pytest.param(duplex(6, 2, 12), 0.13219, 5e-6, id="P07 [A]"),
    ],
)
def test_pump_output_agrees_with_the_published_barrels_per_stroke(
    pump: Pump, published: float, digits: float
) -> None:
    """[A] and [B], after their rounding of the factor is put in."""
    assert barrels(pump) * ROUNDED == pytest.approx(published, abs=digits)


@row("P03, P09 by hand, not the 0.016690 m3 of [A]")
def test_a_triplex_gives_its_three_swept_cylinders() -> None:
    """P03, P09, by hand from [C]: 6 x 12 in in barrels and in m3.

    [A] prints 0.016690 m3, which is 0.06 % high for the same reason as above.
    """
    assert barrels(triplex(6, 12)) == pytest.approx(0.10491404038, rel=1e-9)
    assert stroke_volume(triplex(6, 12)) == pytest.approx(0.0166799994799, rel=1e-9)


def flow_in(pumps: list[dict[str, object]], **rates: float) -> float:
    """Return flow-in [m3/s] at strokes per minute."""
    columns = {name: [rate * SPM] for name, rate in rates.items()}
    return float(Flow(well(pumps=pumps)).process(table_of(**columns))["flow_in"].value[0])


def liner_6_5(efficiency: float, name: str = "1") -> dict[str, object]:
    return {
        "name": name, "type": "triplex", "liner_in": 6.5, "stroke_in": 12.0,
        "efficiency": efficiency,
    }  # fmt: skip


@row("P08 not the 455.5 of [B]")
def test_80_strokes_a_minute_of_a_7_by_12_give_480_gallons() -> None:
    """P08: [B] prints 455.5 for it, which hides an efficiency of 95 per cent in its factor."""
    pump = liner_6_5(1.0) | {"liner_in": 7.0}
    exact = flow_in([pump], pump_1_rate=80) * MINUTE / GAL
    assert exact * ROUNDED == pytest.approx(480.090, abs=0.01)
    assert exact * ROUNDED * 0.95 == pytest.approx(455.5, abs=0.6)


@row("P10 [A], P11 [C]")
def test_three_pumps_one_idle_give_their_sum() -> None:
    """P10 by the formula of [A], P11 by hand from [C]: 97 % at 60, 95 % at 58, one idle."""
    pumps = [liner_6_5(0.97), liner_6_5(0.95, "2"), liner_6_5(0.97, "3")]
    flow = flow_in(pumps, pump_1_rate=60, pump_2_rate=58, pump_3_rate=0)
    assert flow * MINUTE / GAL * ROUNDED == pytest.approx(586.2642786, rel=1e-6)
    assert flow * MINUTE * 1000 == pytest.approx(2217.94184751, rel=1e-9)
    by_hand = 3 * np.pi / 4 * (6.5 * IN) ** 2 * 12 * IN * (0.97 * 60 + 0.95 * 58) / 60
    assert flow == pytest.approx(by_hand, rel=1e-12)


@row("P13 [A]")
def test_47_strokes_in_30_seconds_are_11_barrels_a_minute() -> None:
    """P13 by the formula of [A]: 6.5 x 12 in, 97 %, from a stroke counter."""
    counter = table_of(step=30.0, pump_strokes=[100_000.0, 100_047.0])["pump_strokes"]
    strokes = Strokes().process(counter).value[1]
    volume = strokes * barrels(triplex(6.5, 12, 0.97)) * ROUNDED
    assert volume / 30.0 * MINUTE == pytest.approx(11.23346718, rel=1e-6)
    each = barrels(triplex(6.5, 12, 0.97)) * ROUNDED
    assert flow_from_counter(47, 0.5, each) == pytest.approx(11.23346718, rel=1e-6)


@row("P12 [A]")
def test_a_tank_check_of_20_barrels_in_170_strokes_is_95_5_percent() -> None:
    """P12 by the formula of [A]: 6.5 x 12 in."""
    share = efficiency_from_tank(20.0, 170, barrels(triplex(6.5, 12)) * ROUNDED)
    assert share == pytest.approx(0.954919674544, rel=1e-6)
