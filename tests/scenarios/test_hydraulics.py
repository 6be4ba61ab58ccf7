"""Expected pressure, its residual and the work of the bit on the synthetic rig, against truth.

The synthetic rig has pressure losses of its own (powers of the flow), not those of the model:
they meet in the one reading of the example well file, as they would on a real rig.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
import pytest

from adapters.config_file import example_text, parse_well
from engine.block import Block, FloatArray
from engine.pipeline import Pipeline
from engine.records.per_metre import per_metre
from engine.sim.ground import HARD
from engine.sim.rig import Rig
from engine.well.efficiency import d_exponent, specific_energy
from tests.helpers import FakeRecording
from tests.tables import T0, raw_of

CONFIG = parse_well(example_text(), "example")
AT = 3000.0
"""When the trouble of each scenario starts. [s]"""


@dataclass
class Run:
    """Two hours, and what really happened, row by row."""

    t: FloatArray
    """[s] from the start"""
    out: dict[str, Block]
    truth: dict[str, FloatArray]
    pressure: FloatArray
    """As the gauge has it. [Pa]"""

    def residual(self, after: float, until: float) -> FloatArray:
        """Return what is known of it between two times. [Pa]"""
        value = self.out["pressure_residual"].value[(self.t > after) & (self.t <= until)]
        return value[~np.isnan(value)]


@cache
def run(scenario: str, declared: bool = True, seed: int = 1) -> Run:
    config = CONFIG if declared else CONFIG.model_copy(update={"standpipe": None})
    chunk = Rig(config, scenario, seed, T0).advance(7200.0)
    raw = raw_of(chunk)
    truth = {name: column[chunk.sent] for name, column in chunk.truth.items()}
    out = Pipeline(config).process(raw)
    return Run(chunk.t[chunk.sent] - T0, out, truth, raw["standpipe_pressure"].value)


def test_expected_pressure_is_within_one_per_cent_while_drilling() -> None:
    """Of half-minute means; row by row the stroke counters alone make 1 per cent of noise."""
    r = run("washout-twin")
    drills = (r.truth["rig_state"] == 1) & (r.t > 120) & ~np.isnan(r.pressure)
    expected = r.out["expected_pressure"].value
    ratio = expected[drills] / r.pressure[drills]
    assert np.abs(np.median(ratio) - 1) < 0.005
    assert np.percentile(np.abs(ratio - 1), 95) < 0.03
    assert np.abs(r.residual(120, 7200)).max() < 0.01 * 11.5e6


@pytest.mark.parametrize("seed", [1, 2])
@pytest.mark.parametrize("declared", [True, False], ids=["reading", "stand"])
@pytest.mark.parametrize("twin", ["washout-twin", "pack-off-twin"])
def test_the_residual_stays_near_zero_when_nothing_is_wrong(
    twin: str, declared: bool, seed: int
) -> None:
    """Never beyond 1.2 per cent, 9 in 10 within 0.5; known nearly always, after the reference."""
    r = run(twin, declared, seed)
    residual = r.residual(0, 7200)
    assert np.abs(residual).max() < 0.012 * 11.5e6
    assert np.percentile(np.abs(residual), 90) < 0.005 * 11.5e6
    known = ~np.isnan(r.out["pressure_residual"].value)
    assert known[r.truth["rig_state"] == 1].mean() > (0.97 if declared else 0.85)


@pytest.mark.parametrize("declared", [True, False], ids=["reading", "stand"])
def test_the_residual_falls_as_a_washout_grows(declared: bool) -> None:
    """A fall of 2.2 per cent was once overlooked; here it is clear within ten minutes."""
    r = run("washout", declared)
    steps = [float(np.median(r.residual(AT + a, AT + a + 300))) for a in range(0, 3000, 600)]
    assert steps == sorted(steps, reverse=True)
    assert np.median(r.residual(AT - 600, AT)) > -0.005 * 11.5e6
    assert np.median(r.residual(AT + 540, AT + 600)) < -0.03 * 11.5e6
    lost = np.median(r.pressure[(r.t > AT - 600) & (r.t < AT)]) - np.median(
        r.pressure[(r.t > 6000) & (r.t < 6600)]
    )
    assert np.median(r.residual(6000, 6600)) == pytest.approx(-lost, rel=0.03)


def test_the_residual_rises_in_a_pack_off_until_the_crew_slows_the_pumps() -> None:
    r = run("pack-off")
    rising = r.residual(AT, AT + 120)
    assert rising.max() > 0.1 * 11.5e6
    assert rising[-1] > rising[0]
    changed = r.out["flow_in"].value < 0.9 * 0.045
    assert (changed & (r.t > AT) & (r.t < AT + 600)).any()
    assert np.abs(r.residual(AT + 900, 7200)).max() < 0.012 * 11.5e6


def test_with_the_pumps_off_at_a_connection_the_density_is_that_of_the_mud() -> None:
    r = run("washout-twin")
    still = (r.truth["in_slips"] == 1) & (r.out["flow_in"].value == 0.0)
    assert still.sum() > 60
    assert set(r.out["ecd_bit"].value[still].tolist()) == {1050.0}
    pumping = r.truth["rig_state"] == 1
    assert (r.out["ecd_bit"].value[pumping & (r.t > 120)] > 1060.0).all()


def test_specific_energy_and_exponent_are_those_of_the_true_drilling() -> None:
    """Ten minutes each, against the formulas on the truth of the same time.

    The weight on bit is allowed half a tonne of error and the rate a tenth; so much in
    them makes 15 per cent of the energy and 3 of the exponent.
    """
    r = run("washout-twin")
    drills = (r.truth["rig_state"] == 1) & (r.t > 1800)
    diameter = CONFIG.hole[-1].diameter
    for begin in range(1800, 7200, 600):
        part = drills & (r.t > begin) & (r.t <= begin + 600)
        weight, rate = (float(r.truth[c][part].mean()) for c in ("weight_on_bit", "rop"))
        torque = float(r.truth["weight_on_bit"][part].mean()) * HARD.bit_friction * diameter / 3
        want = specific_energy(weight, HARD.rotary, torque, rate, diameter).total
        got = np.nanmedian(r.out["specific_energy"].value[part])
        assert got == pytest.approx(want, rel=0.15)
        d = d_exponent(rate, HARD.rotary, weight, diameter)
        assert np.nanmedian(r.out["d_exponent"].value[part]) == pytest.approx(d, rel=0.03)


def test_metres_have_the_true_rate_and_weight() -> None:
    """Whole metres against the truth between the same depths; weight within half a tonne."""
    r = run("washout-twin")
    metres = per_metre(FakeRecording(r.out), CONFIG)
    # Before the first tare nobody knows the weight.
    found = [m for m in metres if m.drilled > 0.98 and isinstance(m.weight, float)]
    assert len(found) >= 7
    true_hole = r.truth["hole_depth"]
    for m in found:
        inside = (true_hole > m.depth - 1) & (true_hole <= m.depth) & (r.truth["rig_state"] == 1)
        assert 1 / m.rate == pytest.approx(inside.sum(), rel=0.06)  # type: ignore[operator]
        weight = float(r.truth["weight_on_bit"][inside].mean())
        assert m.weight == pytest.approx(weight, abs=5e3)
        torque = weight * HARD.bit_friction * CONFIG.hole[-1].diameter / 3
        want = specific_energy(
            weight, HARD.rotary, torque, 1 / inside.sum(), CONFIG.hole[-1].diameter
        ).total
        assert m.energy == pytest.approx(want, rel=0.12)
