"""Well-control numbers against published worked examples.

[a] www.drillingformulas.com, maximum surface pressure from gas influx; kick tolerance factor;
    maximum formation pressure; volume increase; trip margin; hydrostatic loss of gas-cut mud;
    pump pressure and pump stroke relationship.
[b] drillingforgas.com, change in circulating rate, procedure and example.
[c] IADC WellSharp formula sheet, field units rev. 3 (2018), and the metric sheet: rounding.
[d] docs.kws.tn, pump pressure, after Lapeyrouse, Formulas and Calculations.
[e] Rig equations, www.scribd.com/document/40450773 .
[f] kickdrill.com/formulas, bar, kg/L, L/m; [g] IWCF field sheet (2000).
[R] computed by hand for an invented well, 10,000 ft, from the formulas of [c] and [g].
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from engine.units import FT, PPG, PSI
from engine.well.answer import Answer, Unknown
from engine.well.influx import (
    Section,
    bleed_volume,
    boyle_volume,
    column_loss,
    gas_casing_pressure_sheet,
    height_of_volume,
    influx_gradient,
    migration_speed,
)
from engine.well.kill_mud import (
    final_pressure,
    formation_pressure,
    initial_pressure,
    kill_mud_weight,
    mixed_density,
    pressure_at_rate,
    rate_exponent,
)
from engine.well.kill_schedule import Station, drillpipe_pressure, pressure_step
from engine.well.sheet import (
    CAPACITY_FIELD,
    EXACT,
    FIELD,
    METRIC,
    round_down,
    round_up,
)
from engine.well.shoe import (
    highest_formation_pressure,
    kick_tolerance,
    kick_tolerance_density,
    kick_tolerance_factor,
    leak_off_density,
    maasp,
)
from engine.well.weight_up import (
    FORM_1470,
    barite_per_barrel_sheet,
    barite_per_volume,
    density_with_margin,
    trip_margin_sheet,
    volume_increase,
)
from tests.check_rows import row


def ann(hole: float, pipe: float) -> float:
    """Annulus in bbl/ft, with the rounded constant of the sheets."""
    return (hole**2 - pipe**2) / CAPACITY_FIELD


UNROUNDED = replace(FIELD, rounding=None)
DEVIATED = Station(0, 12000, 9000)
ANNULUS = (Section(600, ann(8.5, 6.75)), Section(4400, ann(8.5, 5)))
TOLERANCE = kick_tolerance(FIELD, 15.5, 10.5, 11.0, 5000, 10000, 0.1, ANNULUS, ann(8.5, 5), 5000)
ROWS = [
    ("W01 [a] kill weight", kill_mud_weight(UNROUNDED, 12, 450, 9500), 12.91, 0.005),
    ("W02 [a,c] kill weight rounded up", kill_mud_weight(FIELD, 12, 450, 9500), 13.0, 1e-9),
    ("W03 [a] formation pressure", formation_pressure(FIELD, 12, 450, 9500), 6378, 0.5),
    ("W04 [b] ICP", initial_pressure(FIELD, 650, 530), 1180, 0.5),
    (
        "W05 [b] FCP, unrounded kill weight",
        final_pressure(FIELD, 650, kill_mud_weight(UNROUNDED, 14.1, 530, 12366), 14.1), 688, 0.5,
    ),
    ("W08 [c] up", round_up(10.73, 1), 10.8, 1e-9),
    ("W09 [c] down", round_down(11.76, 1), 11.7, 1e-9),
    ("W10 [c] down, whole", round_down(21.6), 21, 1e-9),
    ("W11 [c] up, metric", round_up(1.212, 2), 1.22, 1e-9),
    ("W12 [R] kill weight", kill_mud_weight(FIELD, 10.5, 400, 10000), 11.3, 1e-9),
    ("W13 [R] ICP", initial_pressure(FIELD, 600, 400), 1000, 0.5),
    ("W14 [R] FCP", final_pressure(FIELD, 600, 11.3, 10.5), 646, 0),
    ("W15 [R] step", pressure_step(FIELD, 1000.0, 646.0, 1406.0), 25, 0),
    (
        "W16 deviated schedule, from memory",
        drillpipe_pressure(400, 700, 10.5, 11.4, Station(0, 3000, 3000), DEVIATED),
        981.666666667, 981.67e-6,
    ),
    (
        "W17 deviated schedule ends at FCP",
        drillpipe_pressure(400, 700, 10.5, 11.4, DEVIATED, DEVIATED), 760, 0.01,
    ),
    ("W18 [R] leak-off equivalent", leak_off_density(FIELD, 9.8, 1500, 5000), 15.5, 1e-9),
    ("W19 [R] MAASP", maasp(FIELD, 15.5, 10.5, 5000), 1300, 0.5),
    ("W20 [R] MAASP after the kill", maasp(FIELD, 15.5, 11.3, 5000), 1092, 0.5),
    ("W21 [R] influx height", height_of_volume(ANNULUS, 20), 696.835978836, 697e-6),
    (
        "W22 [R] influx gradient", influx_gradient(FIELD, 10.5, 400, 520, 696.836),
        0.373793053172, 3.7e-6,
    ),
    ("W23 [d] half the rate", pressure_at_rate(1800, 60, 30), 450, 0.5),
    ("W24 [d] exponent", rate_exponent(2500, 315, 450, 120), 1.7768, 5e-5),
    ("W25 [d] with that exponent", pressure_at_rate(1800, 60, 30, 1.7768), 525, 0.5),
    ("W26 [a] 40 to 25 spm", pressure_at_rate(2500, 40, 25), 976.6, 0.05),
    ("W27 [a] exponent", rate_exponent(2700, 320, 500, 130), 1.872, 0.0005),
    ("W28 [a] gas casing pressure", gas_casing_pressure_sheet(6378, 25, 13, 0.0459), 1344, 0.5),
    ("W29 [a] factor", kick_tolerance_factor(12.9, 9.8, 5000, 11000), 1.41, 0.005),
    ("W30 [e] absolute", kick_tolerance_density(20.5, 18.2, 11422, 12670), 20.27, 0.005),
    ("W31 [a] highest formation", highest_formation_pressure(FIELD, 1.8, 9.8, 9500), 5730, 0.5),
    ("W32 [R] tolerance height", TOLERANCE.height, 2331.83856502, 2331.8e-6),
    ("W33 [R] tolerance volume", TOLERANCE.at_bottom, 75.4093472618, 0.05),
    ("W34 [g] barite 1500/35.8", barite_per_barrel_sheet(10.5, 11.3), 48.9795918367, 49e-6),
    (
        "W35 barite 1470/35, from memory",
        barite_per_barrel_sheet(10.5, 11.3, FORM_1470), 49.6202531646, 49.6e-6,
    ),
    ("W36 [a] volume increase", volume_increase(10, 13, 35, 100), 13.64, 0.005),
    ("W37 [f] barite kg/L", barite_per_volume(1.25, 1.35, 4.2), 0.147368421053, 0.147e-6),
    ("W38 [c,f] metric kill weight", kill_mud_weight(METRIC, 1.25, 28, 3000), 1.35, 1e-9),
    ("W39 [g] migration ft/h", migration_speed(FIELD, 100, 10.5), 183.15018315, 183e-6),
    (
        "W40 [f] metric MAASP", maasp(replace(METRIC, rounding=None), 1.55, 1.25, 1500),
        44.145, 44e-9,
    ),
    ("W41 [f] metric FCP", final_pressure(METRIC, 41, 1.35, 1.25), 44, 0),
    ("W42 Boyle, absolute", boyle_volume(404, 10, 138), 29.2753623188, 29e-9),
    ("[a] trip margin", trip_margin_sheet(12, 10, 5), 0.2, 0.05),
    ("[a] column lost to gas", column_loss(FIELD, 15, 13, 0.0352), 288, 0.5),
    ("[g] bleed, the reverse", bleed_volume(FIELD, 288.068, 13, 0.0352), 15, 0.001),
    ("[g] trip margin by pressure", density_with_margin(FIELD, 10, 260, 10000), 10.5, 1e-9),
]  # fmt: skip


@pytest.mark.parametrize(
    ("answer", "expected", "tolerance"), [pytest.param(*r[1:], id=r[0]) for r in ROWS]
)
def test_a_number_agrees_with_its_published_example(
    answer: Answer, expected: float, tolerance: float
) -> None:
    """Sources at the head of this file."""
    assert answer == pytest.approx(expected, abs=tolerance, rel=0)


@row("W06 not the 14.9 of [b]")
def test_w06_the_published_kill_weight_of_14_9_is_not_copied() -> None:
    """[b] prints 14.9 ppg for 14.924: rounded down, it would leave the well underbalanced."""
    assert kill_mud_weight(FIELD, 14.1, 530, 12366) == pytest.approx(15.0, abs=1e-9)


@row("W07 not the 14.2 of [b]")
def test_w07_the_published_average_mud_weight_of_14_2_is_not_copied() -> None:
    """[b] prints 14.2 ppg after 600 of 492 / 0.245 strokes from 14.1 to 14.9 ppg."""
    average = mixed_density(14.1, 14.9, 600, 492 / 0.245)
    assert average == pytest.approx(14.3390243902, abs=1e-9)
    assert average == pytest.approx(14.339, abs=0.005)
    assert average != pytest.approx(14.2, abs=0.1)


def test_exact_numbers_in_si_are_the_field_ones_within_the_error_of_their_constant() -> None:
    """0.052 is 0.1 % above 12/231, so the exact kill weight is the higher one (W01)."""
    kill = kill_mud_weight(EXACT, 12 * PPG, 450 * PSI, 9500 * FT)
    assert isinstance(kill, float)
    assert kill / PPG == pytest.approx(12 + 450 * 231 / (12 * 9500), rel=1e-12)
    pressure = formation_pressure(EXACT, 12 * PPG, 450 * PSI, 9500 * FT)
    assert isinstance(pressure, float)
    assert pressure / PSI == pytest.approx(450 + 12 * 9500 * 12 / 231, rel=1e-12)


def test_the_exact_tolerance_takes_absolute_pressures_and_the_sheet_does_not() -> None:
    """Boyle with 14.696 psi added by hand: 107.03 x (4030 + 14.696) / (5720 + 14.696)."""
    exactly = replace(FIELD, rounding=None, atmosphere=14.696)
    found = kick_tolerance(exactly, 15.5, 10.5, 11, 5000, 10000, 0.1, ANNULUS, ann(8.5, 5), 5000)
    assert found.at_shoe == pytest.approx(107.0325, abs=1e-3)
    assert found.at_bottom == pytest.approx(107.0325 * 4044.696 / 5734.696, abs=1e-3)
    assert not isinstance(found.height, Unknown)
