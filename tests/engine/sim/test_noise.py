"""What the classes of noise add, against their tables."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from engine.block import FloatArray
from engine.sim.noise import CLASSES, NoiseClass
from engine.sim.sensors import Sensors
from engine.units import BBL

USUAL = 0.045


def read(kinds: NoiseClass, name: str, truth: FloatArray, interval: float = 1.0) -> FloatArray:
    """Return the readings of one sensor; `truth` is a multiple of 600 samples."""
    sensors = Sensors(kinds, 3, (), interval, {"flow_out": USUAL})
    parts = [
        sensors.read(first, {name: truth[first : first + 600]}, np.zeros(600))[name]
        for first in range(0, truth.size, 600)
    ]
    return np.concatenate(parts)


@pytest.mark.parametrize(
    ("name", "flow", "pit"),
    [("meter", 0.005, 0.25), ("flume", 0.03, 0.6), ("paddle", 0.06, 0.6), ("heave", 0.03, 2.0)],
)
def test_flow_and_pit_noise_are_those_of_the_table(name: str, flow: float, pit: float) -> None:
    """Own table (common practice): meter 0.5 %, flume 3 %, paddle 6 %; 0.25 to 2 bbl of waves."""
    n = 600 * 60
    pits = read(CLASSES[name], "pit_volume", np.full(n, 60.0))
    waves = pits - np.convolve(pits, np.ones(301) / 301, "same")
    assert np.nanstd(waves[200:-200]) / BBL == pytest.approx(pit, rel=0.2)
    quiet = replace(CLASSES[name].sensors["flow_out"], wander=0.0, outliers=0.0, sticks=0.0)
    kinds = replace(CLASSES[name], sensors={"flow_out": quiet})
    flows = read(kinds, "flow_out", np.full(n, USUAL)) / USUAL
    assert np.nanstd(flows) == pytest.approx(flow, rel=0.25)
    assert np.nanmean(flows) == pytest.approx(1.0, abs=0.02)


def test_a_paddle_is_curved_hangs_down_at_little_flow_and_has_an_end() -> None:
    """By hand: ((q - 0.12) / 0.88) ** 0.6 of the usual flow, 1.5 times at most."""
    silent = replace(
        CLASSES["paddle"].sensors["flow_out"], sd=0.0, share=0.0, wander=0.0, outliers=0.0,
        dropouts=0.0, sticks=0.0, quantum=0.0,
    )  # fmt: skip
    kinds = replace(CLASSES["paddle"], sensors={"flow_out": silent})
    share = np.repeat([0.0, 0.10, 0.5, 1.0, 3.0, 1.0], 100)
    got = read(kinds, "flow_out", share * USUAL)[50::100] / USUAL
    assert got == pytest.approx([0.0, 0.0, (0.38 / 0.88) ** 0.6, 1.0, 1.5, 1.0])


def test_poor_pits_are_read_in_whole_barrels() -> None:
    pits = read(CLASSES["poor"], "pit_volume", np.full(6000, 60.0)) / BBL
    assert np.nanmax(np.abs(pits - np.round(pits))) < 1e-6
    assert np.unique(pits[~np.isnan(pits)]).size >= 4


def test_poor_gauges_drop_out_and_run_wild_more_than_fair_ones() -> None:
    n = 600 * 144  # a day
    gaps = {k: np.isnan(read(CLASSES[k], "pit_volume", np.full(n, 60.0))).sum()
            for k in ("calm", "poor")}  # fmt: skip
    assert gaps["calm"] == 0
    assert 5 <= gaps["poor"] <= 400


def test_noise_keeps_its_time_constant_at_another_interval() -> None:
    """AR(1): the correlation of neighbours is exp(-interval / tau)."""
    for interval in (0.2, 1.0, 5.0):
        flat = replace(CLASSES["flume"].sensors["flow_out"], wander=0, outliers=0, dropouts=0)
        kinds = replace(CLASSES["flume"], sensors={"flow_out": flat})
        x = read(kinds, "flow_out", np.full(60000, USUAL), interval)
        x = x - x.mean()
        assert np.dot(x[1:], x[:-1]) / np.dot(x, x) == pytest.approx(
            np.exp(-interval / 10.0), abs=0.03
        )


def test_gaps_and_spells_last_as_long_at_another_interval() -> None:
    paddle = replace(CLASSES["paddle"].sensors["flow_out"], outliers=0, dropouts=0, sticks=1 / 3600)
    kinds = replace(CLASSES["paddle"], sensors={"flow_out": paddle})
    for interval in (1.0, 5.0):
        x = read(kinds, "flow_out", np.full(60000, USUAL), interval)
        changes = np.flatnonzero(np.diff(x))
        longest = np.diff(changes).max() * interval
        assert 300 <= longest <= 2500


def test_a_sensor_that_only_some_rigs_have_leaves_the_others_as_they_are() -> None:
    truth = {"hook_load": np.full(600, 1e6)}
    more = truth | {"annulus_pressure": np.full(600, 1e6)}
    one, two = (Sensors(CLASSES["calm"], 3, ()) for _ in range(2))
    a, b = one.read(0, truth, np.zeros(600)), two.read(0, more, np.zeros(600))
    assert a["hook_load"].tobytes() == b["hook_load"].tobytes()
    assert 1e3 < b["annulus_pressure"].std() < 1e5
