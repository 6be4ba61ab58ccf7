"""Formulas and balances of the synthetic rig against published ones and hand calculation."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from math import pi

import numpy as np
import pytest

from engine.config import WellConfig
from engine.sim.fluid import bit_pressure_drop
from engine.sim.ground import GROUNDS, HARD
from engine.sim.rig import Chunk, Rig
from engine.sim.scenarios import scenario
from engine.states import RigState
from engine.units import BBL, GAL, IN, PPG, PSI
from engine.well.pumps import stroke_volume
from engine.well.sheaves import hoisting_factor, lowering_factor

Run = Callable[[str, float, int], tuple[Rig, Chunk]]


def test_sheave_factors_are_the_published_ones() -> None:
    """Luke and Juvkam-Wold, SPE Drilling & Completion, 1993: formula; figures by hand."""
    assert hoisting_factor(10, 0.98) == pytest.approx(1.097, abs=5e-4)
    assert lowering_factor(10, 0.98) == pytest.approx(0.915, abs=5e-4)
    assert hoisting_factor(8, 0.98) == pytest.approx(1.074, abs=5e-4)
    assert lowering_factor(12, 0.98) == pytest.approx(0.897, abs=5e-4)


def test_bit_pressure_drop_is_the_field_formula() -> None:
    """Bourgoyne et al., Applied Drilling Engineering, 1986, eq. 4.34.

    dp = 8.311e-5 rho q2 / (Cd2 A2), in psi, ppg, gpm and in2.
    """
    area = 3 * pi / 4 * (14 / 32) ** 2
    field = 8.311e-5 * 10.0 * 500.0**2 / (0.95**2 * area**2)
    ours = bit_pressure_drop(10 * PPG, 500 * GAL / 60, area * IN**2, 0.95)
    assert ours / PSI == pytest.approx(field, rel=1e-3)


def test_a_triplex_stroke_is_the_published_volume(well: WellConfig) -> None:
    """0.000243 D2 S eta bbl, inches: the oilfield rule of thumb (rounded to three figures)."""
    assert stroke_volume(well.pumps[0]) / BBL == pytest.approx(
        0.000243 * 6.5**2 * 12 * 0.97, rel=1e-3
    )


@pytest.mark.parametrize("name", ["quiet", "trip-in", "total-loss", "kick", "demo"])
def test_no_mud_is_lost_or_made_up(well: WellConfig, name: str) -> None:
    """Volume balance, own derivation: everything in minus everything out stays what it was."""
    rig = Rig(well, name, 3, 0.0)
    before = rig.fluid.held_volume()
    for _ in range(3):
        rig.advance(2000)
        assert rig.fluid.held_volume() == pytest.approx(before, abs=1e-6)


def test_a_stand_takes_steel_less_hole_from_the_pits(well: WellConfig) -> None:
    """Volume balance, own derivation: fill -pL, pipe +(d+p)L, cuttings -HL; net (d-H)L."""
    quiet = scenario("quiet-soft")
    rig = Rig(well, replace(quiet, plan=replace(quiet.plan, left=0.6)), 5, 0.0)

    def next_slips() -> tuple[float, float, float]:
        seen = len(rig.connections)
        while len(rig.connections) == seen:
            rig.advance(1.0)
        fluid = rig.fluid
        return rig.hoist.made, fluid.in_use(), fluid.returns.carried

    next_slips()  # the first, from an odd place in the stand
    made_1, mud_1, carried_1 = next_slips()
    made_2, mud_2, carried_2 = next_slips()
    steel = 31.9 / 7850
    hole = pi / 4 * (8.5 * IN) ** 2
    length = made_2 - made_1
    assert length == pytest.approx(28.5, abs=0.3)
    # Cuttings on their way are not out yet: what is more of them than before is still to leave.
    change = mud_2 - mud_1 - (carried_2 - carried_1)
    assert change == pytest.approx((steel - hole) * length, abs=0.01)


@pytest.mark.parametrize(("name", "low", "high"), [("quiet", 5, 9), ("quiet-soft", 20, 40)])
def test_rate_of_penetration_suits_the_rock(run: Run, name: str, low: float, high: float) -> None:
    """Common practice, no source: 5 to 9 m/h in fresh volcanic rock, 20 to 40 in shale."""
    _, chunk = run(name, 7200, 1)
    drilling = chunk.truth["rig_state"] == RigState.DRILLING_ROTARY
    steady = drilling & np.roll(drilling, 120)
    rate = chunk.truth["rop"][steady] * 3600
    assert low < np.mean(rate) < high
    assert low - 1 < np.percentile(rate, 5)
    assert np.percentile(rate, 95) < high + 1


def test_weight_and_speed_act_as_powers() -> None:
    """Bourgoyne and Young (1974): twice the threshold-free weight gives 2^a5, speed 2^a6."""
    one = HARD.rate(HARD.weight, HARD.rotary, 1.0, 0.0)
    assert one == pytest.approx(HARD.rop)
    twice = HARD.rate(2 * HARD.weight - HARD.threshold, HARD.rotary, 1.0, 0.0)
    assert twice / one == pytest.approx(2**HARD.weight_power)
    assert HARD.rate(HARD.weight, 2 * HARD.rotary, 1.0, 0.0) / one == pytest.approx(
        2**HARD.rotary_power
    )
    for ground in GROUNDS.values():
        weight = ground.weight_for(0.8 * ground.rop, ground.rotary, 1.1)
        assert ground.rate(weight, ground.rotary, 1.1, 0.0) == pytest.approx(0.8 * ground.rop)


def test_hook_load_is_block_plus_buoyed_string(well: WellConfig) -> None:
    """Hand calculation: 32 t block; (9 x 150 + 190 x 136.2 + pipe x 31.9) x (1 - 1050/7850)."""
    rig = Rig(well, "quiet", 1, 0.0)
    while rig.hoist.block < 3.5:  # picking up before the connection
        rig.advance(0.1)
    string = 9 * 150 + 190 * 136.2 + (rig.hoist.bit - 199) * 31.9
    still = (32_000 + string * (1 - 1050 / 7850)) * 9.80665
    # Hoisting: the dead line shows 1/1.097 of it; drag up to 3.5 % of the string, lift 8 kN.
    assert rig.hoist.hook * 1.097 == pytest.approx(still, rel=0.04)
    while rig.hoist.held < 1:
        rig.advance(0.1)
    rig.advance(5)
    assert rig.hoist.hook == pytest.approx(32_000 * 9.80665, rel=0.1)
