"""The residual of the standpipe: only while steady, against a reading or the stand's own start."""

from __future__ import annotations

from typing import Any

import numpy as np

from engine.block import Block, Quality
from engine.ops.pressure_residual import PressureResidual
from tests.tables import L_S, NAN, block_of, has, table_of


def residual(
    declared: bool = True, step: float = 1.0, op: PressureResidual | None = None, **columns: Any
) -> Block:
    """Return the residual of rows `step` s apart; 45 L/s at 10 MPa on bottom unless given."""
    base = {"flow": 45 * L_S, "pressure": 10e6, "expected": 10e6, "slips": 0.0, "bottom": 1.0}
    n = max(np.size(c) for c in columns.values())
    t = table_of(n, step, **(base | columns))
    return (op or PressureResidual(declared)).process(
        t["flow"].value, t["pressure"], t["expected"], t["slips"], t["bottom"]
    )


def test_it_is_the_mean_of_measured_minus_expected() -> None:
    """By hand: 0.3 MPa too much, and half a minute later 0.6 MPa."""
    out = residual(pressure=np.where(np.arange(200) < 100, 10.3e6, 10.6e6))
    assert out.value[99] == 0.3e6
    assert abs(out.value[115] - (15 * 0.3e6 + 16 * 0.6e6) / 31) < 1.0
    assert out.value[130] == 0.6e6


def test_it_begins_a_minute_after_the_flow_is_steady() -> None:
    flow = np.where(np.arange(200) < 50, 0.0, 45 * L_S)
    out = residual(flow=flow)
    known = np.flatnonzero(~np.isnan(out.value))
    assert known[0] == 50 + 60
    assert all(np.array(has(out, Quality.NOT_APPLICABLE))[: known[0]])


def test_pumps_off_and_a_changed_rate_end_it_at_once() -> None:
    for new in (0.0, 36 * L_S):
        out = residual(flow=np.where(np.arange(200) < 150, 45 * L_S, new))
        assert not np.isnan(out.value[149])
        assert np.isnan(out.value[150:]).all() if new == 0.0 else np.isnan(out.value[150:210]).all()
        assert has(out, Quality.NOT_APPLICABLE)[150]


def test_the_noise_of_a_stroke_counter_does_not_end_it() -> None:
    rng = np.random.default_rng(1)
    flow = 45 * L_S * (1 + 0.009 * rng.standard_normal(2000))
    assert (~np.isnan(residual(flow=flow).value[100:])).mean() > 0.99


def test_a_lost_row_does_not_end_it_but_a_gap_does() -> None:
    pressure = np.full(300, 10e6)
    pressure[150:155], pressure[200:220] = NAN, NAN
    out = residual(pressure=pressure)
    assert np.isnan(out.value[150:155]).all()
    assert has(out, Quality.STALE)[150:155] == [True] * 5
    assert not np.isnan(out.value[155:200]).any()
    assert np.isnan(out.value[200:281]).all()
    assert not np.isnan(out.value[281])


def test_slow_rows_are_served_as_well() -> None:
    out = residual(step=10.0, pressure=np.full(60, 10.2e6))
    assert np.isnan(out.value[:7]).all()
    assert (out.value[10:] == 0.2e6).all()


def test_without_a_reading_the_first_five_minutes_of_the_stand_are_the_reference() -> None:
    """A model a fifth too high all along; after the reference the pressure falls by 3 per cent."""
    pressure = np.where(np.arange(900) < 600, 10e6, 9.7e6)
    out = residual(declared=False, expected=12e6, pressure=pressure)
    began = 61
    assert np.isnan(out.value[: began + 299]).all()
    assert has(out, Quality.NO_REFERENCE)[began + 298]
    assert np.abs(out.value[began + 301 : 600]).max() < 1.0
    assert abs(out.value[700] + 0.3e6) < 1.0


def test_only_steady_drilling_makes_the_reference() -> None:
    """Circulating off bottom for as long as you like gives none."""
    out = residual(declared=False, bottom=np.where(np.arange(900) < 500, 0.0, 1.0))
    assert np.isnan(out.value[:799]).all()
    assert not np.isnan(out.value[802])


def test_every_stand_has_its_own_reference() -> None:
    """What was wrong before the connection is not told after it: the docstring says so."""
    i = np.arange(1500)
    slips = ((i >= 700) & (i < 800)).astype(float)
    flow = np.where(slips > 0, 0.0, 45 * L_S)
    pressure = np.where(slips > 0, 0.0, np.where(i < 600, 10e6, 9e6))
    out = residual(declared=False, slips=slips, flow=flow, pressure=pressure)
    assert abs(out.value[690] + 1e6) < 1.0
    assert np.isnan(out.value[700:1159]).all()
    assert np.abs(out.value[1159:]).max() < 1.0


def test_an_expected_pressure_that_is_unknown_leaves_its_reason() -> None:
    t = table_of(100, flow=45 * L_S, pressure=10e6, expected=NAN, slips=0.0, bottom=1.0)
    out = PressureResidual(True).process(
        t["flow"].value, t["pressure"], t["expected"], t["slips"], t["bottom"]
    )
    assert np.isnan(out.value).all()
    assert all(has(out, Quality.STALE))
    assert not any(has(out, Quality.NOT_APPLICABLE))


def test_it_goes_on_from_its_state() -> None:
    whole = residual(declared=False, pressure=np.full(800, 10.5e6), expected=10e6)
    first, second = PressureResidual(False), PressureResidual(False)
    t = np.arange(800) * 1.0
    parts = {
        name: block_of(t, value)
        for name, value in (("p", 10.5e6), ("e", 10e6), ("s", 0.0), ("b", 1.0))
    }
    flow = np.full(800, 45 * L_S)

    def half(op: PressureResidual, a: int, b: int) -> Block:
        p, e, s, on = (parts[name].slice(a, b) for name in "pesb")
        return op.process(flow[a:b], p, e, s, on)

    a = half(first, 0, 350)
    second.state = first.state
    b = half(second, 350, 800)
    got = np.concatenate((a.value, b.value))
    assert np.array_equal(np.isnan(got), np.isnan(whole.value))
    assert np.allclose(got[~np.isnan(got)], 0.0, atol=1.0)
