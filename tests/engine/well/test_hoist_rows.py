"""String weight, drag, reeving, efficiency, line work, travel, connections: published numbers.

[a] Buoyancy factor calculation and its application (after N. Lapeyrouse), worked example.
[b] www.drillingformulas.com: round-trip, casing and coring ton-miles.
[c] W. Lyons, T. Carter, N. Lapeyrouse, Formulas and Calculations, 3rd ed., p. 24: 65.5 ppg.
[d] Hoisting system, slideplayer.com/amp/7886608 : tension of a frictionless line.
[e] Hoisting problem, www.scribd.com/document/492738514/One , after Bourgoyne et al., ch. 1.
[f] API RP 9B, 14th ed., Addendum 1 (2020), clause 2.3.3.4, example.
[g] www.netwasgroup.us: d exponent; ton-miles while making short trip.
[h] MSE exercise pages, calculator5.snowdaycalculatornow.com and www.pythonforoilandgas.com/
    exercises/14-2 ; R. Teale (1965).
[C] computed here by hand from definitions; [M] formula from memory (Luke and Juvkam-Wold 1993,
    Johancsik et al. 1984, API RP 9B), number computed by hand.
"""

from __future__ import annotations

from math import radians

import pytest

from engine.units import (
    FT,
    G0,
    GAL,
    HOUR,
    HP,
    IN,
    LB,
    LBF,
    MINUTE,
    PPG,
    PSI,
    TON_MILE,
    UNITS,
)
from engine.well.answer import Answer, Unknown
from engine.well.connection_stats import length_per_time, stand_time
from engine.well.drilling_line import (
    LineLoad,
    casing_work,
    coring_work,
    drilling_work,
    excess_weight,
    move_work,
    round_trip_work,
    short_trip_work,
    stand_by_stand_work,
)
from engine.well.efficiency import (
    bit_rotation,
    corrected_d_exponent,
    d_exponent,
    rotary_power,
    sliding_coefficient,
    specific_energy,
)
from engine.well.reeving import (
    crown_load,
    design_factor,
    fast_line_factor,
    fast_line_load,
    fast_line_speed,
    hoist_power,
    hoist_speed,
    line_tension,
    reeving_efficiency,
    string_up_error,
)
from engine.well.sheaves import hoisting_factor, lowering_factor
from engine.well.soft_string import Contact, Element, contact
from engine.well.travel import (
    allowed_speed,
    braking_factor,
    highest_at_full_speed,
    move_time,
    stopping_distance,
)
from engine.well.weight_drag import (
    Part,
    buoyancy_factor,
    buoyancy_factor_sheet,
    buoyed_weights,
    stretch,
    total,
    up_drag,
    usable_bit_weight,
    weight_on_bit,
)

RPM = UNITS["rpm"].factor
FT_LBF = FT * LBF
LB_FT = LB / FT


def n(answer: Answer) -> float:
    assert not isinstance(answer, Unknown), answer
    return answer


def touch(mu: float, radius: float) -> Contact:
    e = Element(1000 * LBF, radians(45), 0.02, 0.0, radius * FT)
    found = contact(50_000 * LBF, e, mu)
    assert isinstance(found, Contact)
    return found


def trip(depth: float, w: float = 11.27, c: float = 26866, stand: float = 94) -> float:
    """Round trip of [b], in ton-miles."""
    load = LineLoad(w * LBF / FT, 95000 * LBF, c * LBF, stand * FT)
    return n(round_trip_work(load, depth * FT)) / TON_MILE


CASING = LineLoad(21.18 * LBF / FT, 95000 * LBF, 0.0, 42 * FT)
PIPE = LineLoad(11.27 * LBF / FT, 95000 * LBF, 26866 * LBF, 94 * FT)
STRING = [Part(a * FT, w * LB_FT) for a, w in ((600, 150), (900, 49.3), (8500, 21.9))]
ASSEMBLY = [
    Part(120 * FT, 85 * LB_FT),
    Part(450 * FT, 49 * LB_FT),
    Part(94 * FT, 8300 / 94 * LB_FT),
]
MUD_847 = 0.153 * 7850
MSE = specific_energy(35_000 * LBF, 120 * RPM, 4500 * FT_LBF, 50 * FT / HOUR, 8.5 * IN)
D = d_exponent(30 * FT / HOUR, 120 * RPM, 35_000 * LBF, 8.5 * IN)
MOTOR = 0.16 * UNITS["rpm"].factor * MINUTE / GAL  # 0.16 turns in each gallon

ROWS = [
    ("H01 [b] 10 ppg", buoyancy_factor_sheet(10), 0.847, 0.0005),
    ("H02 [a] 13 ppg", buoyancy_factor_sheet(13), 0.8015, 0.00005),
    ("H03 [a] 350 klbf", 350 * n(buoyancy_factor_sheet(13)), 280.5, 0.05),
    ("H04 [C] SI", buoyancy_factor(1200), 0.847133757962, 8.4e-10),
    (
        "H05 [C] 65.44 or 65.5",
        n(buoyancy_factor_sheet(16, 65.44)) - n(buoyancy_factor_sheet(16)),
        -0.000223968345807, 2.3e-10,
    ),
    (
        "H06 [c] string in 12 ppg",
        n(total(buoyed_weights(STRING, 12 * PPG, 65.5 * PPG))) / LBF, 261798.778626, 0.26,
    ),
    ("H07 [C] weight on bit", weight_on_bit(261.799 + 60, 296.8), 24.999, 0.0005),
    ("H08 [d] tension of 10 lines", line_tension(400_000, 10), 40_000, 0.5),
    ("H09 [e] efficiency, 8 lines", reeving_efficiency(8), 0.841, 0.001),
    ("H10 [f] fast-line factor", fast_line_factor(10, reeving_efficiency(10)), 0.123, 0.0005),
    ("H11 [f] fast line", fast_line_load(400_000, 0.123), 49_200, 0.5),
    ("H12 [f] design factor", design_factor(192_000, 49_200), 3.9, 0.05),
    (
        "H13 [e] fast line, 8 lines (prints 44589.88)",
        fast_line_load(300_000, fast_line_factor(8, 0.841)), 44589.77, 0.2,
    ),
    ("H14 [e] crown load", crown_load(300_000, 8, 0.841), 382089.774078, 0.38),
    (
        "H15 [e] hoist speed",
        n(hoist_speed(500 * HP, 300_000 * LBF, 0.841)) / (FT / MINUTE), 46.25, 0.01,
    ),
    ("H16 [M] dead line, hoisting", hoisting_factor(10, 0.98), 1.09701759586, 1e-6),
    ("H17 [M] dead line, lowering", lowering_factor(10, 0.98), 0.914635965562, 9.1e-7),
    ("H18 [C] drag up", up_drag(300, 265), 35, 1e-9),
    ("H19 [M] side force", touch(0.25, 0.25).side_force / LBF, 1707.10678119, 1.7e-6),
    ("H20 [M] torque", touch(0.25, 0.25).torque / FT_LBF, 106.694173824, 1e-7),
    (
        "H21 [M] stretch",
        n(stretch(100_000 * LBF, 10_000 * FT, 5.275 * IN**2, 30e6 * PSI)) / IN,
        75.8293838863, 7.6e-8,
    ),
    (
        "H22 [M] weight of collars for the bit",
        n(usable_bit_weight(STRING[:1], 12 * PPG, 0.85, 65.5 * PPG)) / LBF, 62484.7328244, 0.062,
    ),
    ("H23 [C] 10 lines entered, 8 strung", string_up_error(10, 8), 1.25, 1e-12),
    ("M01 [h] published 72,357, not copied", n(MSE.total) / PSI, 72367.7, 0.1),
    (
        "M02 [h] Pa",
        specific_energy(155687.7565, 2 * 60 * RPM, 6101.180768, 0.00423333333, 0.2159).total,
        498957447.144, 499,
    ),
    ("M03 [g] d exponent", D, 1.82, 0.005),
    (
        "M04 [C] d exponent, SI",
        d_exponent(9.144 / HOUR, 120 * RPM, 155687.76, 0.2159), 1.82228371363, 1.8e-5,
    ),
    (
        "M05 [g] corrected",
        corrected_d_exponent(1.8222834, 9 * PPG, 12.7 * PPG), 1.29138193701, 1e-6,
    ),
    (
        "M06 sliding coefficient, Pessier and Fear (1992)",
        sliding_coefficient(4500 * FT_LBF, 35_000 * LBF, 8.5 * IN), 0.544537815126, 5e-7,
    ),
    ("M07 [C] hp", n(rotary_power(120 * RPM, 4500 * FT_LBF)) / HP, 102.815759572, 1e-4),
    (
        "M08 [M] motor, 0.16 turns a gallon",
        n(bit_rotation(60 * RPM, 500 * GAL / MINUTE, MOTOR)) / RPM, 140, 1e-9,
    ),
    ("L01 [b] excess weight", n(excess_weight(ASSEMBLY, 13.3 * LB_FT, MUD_847)) / LBF, 26866, 0.5),
    ("L02 [b] round trip", trip(5500), 258.737697917, 2.6e-4),
    (
        "L03 [b] published 50.73, not copied",
        n(casing_work(CASING, 5200 * FT)) / TON_MILE, 120.896444697, 1.2e-4,
    ),
    (
        "L04 [C] stand by stand proves L03",
        n(stand_by_stand_work(CASING, 124)) / TON_MILE
        - n(casing_work(CASING, 5208 * FT)) / TON_MILE,
        0, 1e-9,
    ),
    (
        "L05 [C] stand by stand proves L02",
        2 * n(stand_by_stand_work(PIPE, 59)) / TON_MILE - trip(5546), 0, 1e-9,
    ),
    (
        "L06 [b] drilling 5500 to 6000 ft, reaming",
        drilling_work(trip(5500), trip(6000), reaming=True), 80.1699403409, 8e-5,
    ),
    ("L07 [b] coring", coring_work(190, 200), 20, 1e-9),
    ("L08 [g] short trip", short_trip_work(190, 200), 10, 1e-9),
    ("L09 [C] one move", n(move_work(300_000 * LBF, 90 * FT)) / TON_MILE, 2.55681818182, 2.6e-9),
    ("L10 [b] lbf ft of a ton-mile", round(TON_MILE / FT_LBF, 6), 10_560_000, 0),
    (
        "L11 [C] t km",
        n(round_trip_work(
            LineLoad(16.7716 * G0, 43091.28 * G0, 12186.21 * G0, 28.6512), 1676.4
        )) / UNITS["tkm"].factor,
        377.74987855, 3.8e-3,
    ),
    (
        "L12 [C] t km by conversion",
        trip(5500) * TON_MILE / UNITS["tkm"].factor, 377.749794303, 3.8e-3,
    ),
    ("U22 [C] ton-mile in t km", TON_MILE / UNITS["tkm"].factor, 1.45997231821, 1.5e-9),
    ("K04 [C] 40 stands an hour", stand_time(40, HOUR), 90, 1e-9),
    (
        "K05 [C] m per min of connection",
        n(length_per_time(28.3, 5.5 * MINUTE)) * MINUTE, 5.14545454545, 5e-9,
    ),
    ("B01 [C] stopping distance", stopping_distance(1.5, 0.5, 1.5), 1.5, 1e-9),
    ("B02 [C] allowed speed", allowed_speed(3.0, 0.5, 1.5), 2.34232921921, 2.3e-9),
    ("B03 [C] braking on the way down", braking_factor(1.5), 1.15295743195, 1.2e-9),
    ("B04 [C] a move of 28 m", move_time(28, 1.5, 0.5, 1.5), 20.6666666667, 2e-8),
    ("B05 [C] a short move", move_time(1, 1.5, 0.5, 1.5), 2.30940107676, 2.3e-9),
    (
        "B06 [M] kW at the drum",
        n(hoist_power(1.5e6, 0.5, reeving_efficiency(10))) / 1e3, 924.682082476, 9e-4,
    ),
    ("B07 [C] fast line", fast_line_speed(1.5, 10), 15, 1e-9),
    (
        "B08 [e] power, the reverse of H15",
        n(hoist_power(300_000 * LBF, 46.255 * FT / MINUTE, 0.841)) / HP, 500, 0.05,
    ),
    ("B09 [C] highest at full speed", highest_at_full_speed(34, 1.5, 1.5, 0.5, 1.5), 31, 1e-9),
]  # fmt: skip


@pytest.mark.parametrize(
    ("answer", "expected", "tolerance"), [pytest.param(*r[1:], id=r[0]) for r in ROWS]
)
def test_a_number_agrees_with_its_source(answer: Answer, expected: float, tolerance: float) -> None:
    """Sources at the head of this file."""
    assert n(answer) == pytest.approx(expected, abs=tolerance, rel=0)


def test_published_figures_that_are_wrong_are_not_reproduced() -> None:
    """[h] prints 72,357 psi; [b] 50.73 ton-miles for casing; a textbook 0.770 for 12 lines."""
    assert abs(n(MSE.total) / PSI - 72357) > 5
    assert abs(n(casing_work(CASING, 5200 * FT)) / TON_MILE - 50.73) > 50
    assert n(reeving_efficiency(12)) == pytest.approx(0.782, abs=5e-4)


def test_the_loads_above_the_element_add_weight_and_drag() -> None:
    """[M]: 51,133.9 lbf up, 50,280.3 lbf down."""
    found = touch(0.25, 0.25)
    still = 50_000 + found.along / LBF
    assert still + found.drag / LBF == pytest.approx(51_133.9, abs=0.05)
    assert still - found.drag / LBF == pytest.approx(50_280.3, abs=0.05)


def test_the_efficiencies_of_six_to_twelve_lines() -> None:
    """[f] friction factor 1.04: 0.8737, 0.8416, 0.8111, 0.7821; 1: no friction."""
    found = [n(reeving_efficiency(k)) for k in (6, 8, 10, 12)]
    assert found == pytest.approx([0.8737, 0.8416, 0.8111, 0.7821], abs=5e-5)
    assert reeving_efficiency(10, 1.0) == 1.0
    assert crown_load(400_000, 10, 1.0) == pytest.approx(480_000)
