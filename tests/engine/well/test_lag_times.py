"""Lag in strokes and minutes, lagged depth, lag tests, sample schedule, cuttings that do not rise.

``own`` is by hand from the balance of volumes; the published rows are in
``test_check_values_volumes.py``.
"""

from __future__ import annotations

from math import isfinite, pi

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from engine.units import FT, HOUR, IN, PPG
from engine.well.answer import Answer, Unknown
from engine.well.cuttings import (
    CALCULATIONS as CUTTINGS,
)
from engine.well.cuttings import (
    annular_legs,
    lag_of_cuttings,
    slip_newtonian,
    slip_power_law,
)
from engine.well.geometry import WellGeometry
from engine.well.lag_times import (
    CALCULATIONS,
    LagTimes,
    Sample,
    hole_from_lag,
    lag_times,
    lagged_depth,
    lagged_depth_steady,
    sample_schedule,
)
from tests.tables import well

NAN = float("nan")
WELL = WellGeometry.of(well())
STROKE, FLOW = 0.019, 0.045
ROP = 10.0 / HOUR


def known(answer: Answer) -> float:
    assert not isinstance(answer, Unknown), answer
    return answer


def lags(flow: float = FLOW, bit: float = 2400.0) -> LagTimes:
    found = lag_times(WELL, bit, 2400.0, STROKE, flow)
    assert not isinstance(found, Unknown), found
    return found


def schedule(**changes: float) -> tuple[Sample, ...]:
    given = {"start": 2400.0, "end": 2450.0, "every": 5.0, "rop": ROP, "flow": FLOW,
             "per_stroke": STROKE} | changes  # fmt: skip
    found = sample_schedule(WELL, **given)
    assert not isinstance(found, Unknown), found
    return found


def test_every_way_of_the_mud_has_its_volume_strokes_and_time() -> None:
    """Own: from the volumes of the geometry; round trip = down and up."""
    out, v = lags(), WELL.volumes(2400.0, 2400.0)
    assert not isinstance(v, Unknown)
    for way, volume in (
        (out.to_bit, v.string), (out.to_shoe, v.to_shoe), (out.bottoms_up, v.annulus),
        (out.around, v.string + v.annulus),
    ):  # fmt: skip
        assert way.volume == volume
        assert known(way.strokes) == pytest.approx(known(volume) / STROKE, rel=1e-12)
        assert known(way.time) == pytest.approx(known(volume) / FLOW, rel=1e-12)


def test_without_flow_the_time_is_unknown_and_the_strokes_are_not() -> None:
    """Case G18: strokes to go do not change when the pumps stop."""
    still, flowing = lags(flow=0.0), lags()
    assert still.bottoms_up.time == Unknown("no flow: the pumps stand still")
    assert still.bottoms_up.strokes == flowing.bottoms_up.strokes


def test_lag_of_what_is_unknown_is_unknown() -> None:
    assert isinstance(lag_times(WELL, 2500.0, 2400.0, STROKE, FLOW), Unknown)
    bare = lag_times(WellGeometry(WELL.string, WELL.hole[:1]), 500.0, 1000.0, STROKE, FLOW)
    assert isinstance(bare, LagTimes)
    assert bare.to_shoe.strokes == Unknown("no casing in the well file")
    assert bare.to_shoe.time == Unknown("no casing in the well file")


def log_of(times: np.ndarray, rop: float, flow: float) -> list[tuple[float, float, float]]:
    depth = 2400.0 + rop * times
    rows = zip(flow * times, depth, WELL.annulus_at(depth), strict=True)
    return [(float(a), float(b), float(c)) for a, b, c in rows]


def test_the_log_and_the_steady_formula_agree() -> None:
    """Own: 2 bottoms-ups at a steady rate; only 8.5 x 5 in annulus grows under the collars."""
    times = np.arange(0.0, 4 * HOUR, 10.0)
    growth = pi / 4 * ((8.5 * IN) ** 2 - (5 * IN) ** 2)
    rows = log_of(times, ROP, FLOW)
    depth = 2400.0 + ROP * times[-1]
    steady = lagged_depth_steady(depth, ROP, float(WELL.annulus_at(depth)), FLOW, growth)
    assert lagged_depth(rows, FLOW * times[-1]) == pytest.approx(known(steady), abs=1e-6)


def test_the_steady_formula_is_what_a_particle_does() -> None:
    """Own, by scipy: a particle goes up with the mud from when the bit was at its depth."""
    annulus, growth, depth = 70.0, 0.0239, 2500.0
    steady = known(lagged_depth_steady(depth, ROP, annulus, FLOW, growth))
    age = (depth - steady) / ROP
    area = (annulus - growth * (depth - steady)) / steady
    path = solve_ivp(lambda _t, _y: [-FLOW / area], (0, age), [steady], rtol=1e-10)
    assert path.y[0, -1] == pytest.approx(0.0, abs=1e-3)


def test_pumps_that_stop_freeze_the_lagged_depth() -> None:
    """Case G18: ten minutes without strokes add nothing to the volume pumped."""
    rows = log_of(np.arange(0.0, 2 * HOUR, 10.0), ROP, FLOW)
    before = lagged_depth(rows, rows[-1][0])
    rows += [(rows[-1][0], rows[-1][1], rows[-1][2])] * 60
    assert lagged_depth(rows, rows[-1][0]) == before
    assert known(before) < rows[-1][1]


def test_before_one_bottoms_up_the_lagged_depth_is_unknown() -> None:
    """Case G19."""
    rows = log_of(np.arange(0.0, HOUR / 4, 10.0), ROP, FLOW)
    assert lagged_depth(rows, rows[-1][0]) == Unknown(
        "less than one bottoms-up pumped since the bit ran in"
    )
    assert isinstance(lagged_depth([], 5.0), Unknown)
    first = rows[0][0] + rows[0][2]
    assert lagged_depth(rows, first) == pytest.approx(2400.0)
    assert lagged_depth(rows, first + 1e4) == rows[-1][1]


def test_a_log_that_was_set_back_gives_no_lagged_depth() -> None:
    rows = [(0.0, 2400.0, 70.0), (10.0, 2399.0, 70.0)]
    assert isinstance(lagged_depth(rows, 90.0), Unknown)
    assert isinstance(lagged_depth([(0.0, NAN, 70.0)], 90.0), Unknown)
    assert isinstance(lagged_depth([(0.0, 2400.0, 70.0)], NAN), Unknown)


@pytest.mark.parametrize(
    ("answer", "why"),
    [
        (lagged_depth_steady(2400, ROP, 70, 0, 0.02), "flow is 0; it must be above 0"),
        (lagged_depth_steady(2, ROP, 70, FLOW, 0.02), "drilled for less than one bottoms-up"),
        (lagged_depth_steady(NAN, ROP, 70, FLOW, 0.02), "depth is unknown"),
        (hole_from_lag(0.2159, -90.0, 1500),
         "less was pumped than the open hole could ever explain"),
        (hole_from_lag(0.2159, 1, 0), "length of open hole is 0; it must be above 0"),
        (lag_of_cuttings([("casing", 100, 1.0)], -0.1),
         "slip velocity is -0.1; it must not be negative"),
        (slip_newtonian(0.006, 0.8, 0.006, 1200, 1100), "the cutting is lighter than the mud"),
        (slip_newtonian(0.006, 0.8, 0, 1200, 2700), "viscosity is 0; it must be above 0"),
        (slip_newtonian(1e-7, 0.8, 10.0, 1200, 2700),
         "the cutting falls too slowly for the correlation"),
        (slip_newtonian(0.006, 1.8, 0.006, 1200, 2700), "sphericity is 1.8; it must be 0 to 1"),
        (slip_power_law(0.006, 2700, 1200, 3, 3),
         "the reading at 100 rpm must be above the one at 3 rpm"),
        (slip_power_law(0.006, 2700, 1200, 20, 0), "reading at 3 rpm is 0; it must be above 0"),
        (slip_power_law(0.006, 1100, 1200, 20, 3), "the cutting is lighter than the mud"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_unknown_with_its_reason(answer: Answer, why: str) -> None:
    assert answer == Unknown(why)


def test_a_cutting_as_heavy_as_the_mud_does_not_fall() -> None:
    assert slip_newtonian(0.006, 0.8, 0.006, 1200, 1200) == 0.0
    assert slip_power_law(0.006, 1200, 1200, 20, 3) == 0.0
    assert lagged_depth_steady(2400, 0, 70, FLOW, 0.02) == 2400.0


def test_cuttings_that_fall_as_fast_as_the_mud_rises_are_not_transported() -> None:
    """Case G17."""
    legs = [("open hole", 1200.0, 1.5), ("wide casing", 1180.0, 0.15)]
    for slip in (0.15, 0.2):
        answer = lag_of_cuttings(legs, slip)
        assert isinstance(answer, Unknown)
        assert answer.reason.startswith("not transported in wide casing: cuttings fall at")
    assert known(lag_of_cuttings(legs, 0.0)) == pytest.approx(1200 / 1.5 + 1180 / 0.15)
    assert known(lag_of_cuttings(legs, 0.1)) == pytest.approx(1200 / 1.4 + 1180 / 0.05)
    assert lag_of_cuttings([("none", 0.0, 0.0)], 0.1) == 0.0


def test_a_lag_test_finds_the_hole_it_was_made_in() -> None:
    """Own: 1,500 m of 9 in hole drilled with an 8.5 in bit, and the other way round."""
    for size in (9.0, 8.2):
        extra = pi / 4 * ((size * IN) ** 2 - (8.5 * IN) ** 2) * 1500
        assert known(hole_from_lag(8.5 * IN, extra, 1500)) / IN == pytest.approx(size, rel=1e-12)


def test_samples_come_at_whole_depths_one_lag_after_they_are_drilled() -> None:
    """Own: 5 m at 10 m/h are 30 min; lag = annulus over flow; strokes are time by rate."""
    found = schedule()
    assert [s.depth for s in found] == pytest.approx([2405 + 5 * n for n in range(10)])
    assert [s.drilled for s in found] == pytest.approx([1800 * (n + 1) for n in range(10)])
    for s in found:
        lag = float(WELL.annulus_at(s.depth)) / FLOW
        assert s.caught - s.drilled == pytest.approx(lag, rel=1e-9)
        assert s.strokes == pytest.approx(s.caught * FLOW / STROKE, rel=1e-12)


def test_a_schedule_that_cannot_be_gives_a_reason() -> None:
    assert schedule(end=2404.0) == ()
    assert isinstance(sample_schedule(WELL, 2400, 2500, 0.001, ROP, FLOW, STROKE), Unknown)
    assert isinstance(sample_schedule(WELL, 2400, 2500, 5, 0, FLOW, STROKE), Unknown)
    assert isinstance(sample_schedule(WELL, 1000, 1100, 5, ROP, FLOW, STROKE), Unknown)
    slow = sample_schedule(WELL, 2400, 2500, 5, ROP, FLOW, STROKE, slip=3.0)
    assert isinstance(slow, Unknown)
    assert "not transported" in slow.reason


@given(st.floats(1.0, 100.0), st.floats(0.02, 0.08), st.floats(0.5, 20.0), st.floats(0.0, 0.2))
def test_a_schedule_only_goes_forward(rate: float, flow: float, every: float, slip: float) -> None:
    found = schedule(rop=rate / HOUR, flow=flow, every=every, slip=slip)
    for name in ("depth", "drilled", "caught", "strokes"):
        values = [getattr(s, name) for s in found]
        assert values == sorted(values)
    assert all(s.caught > s.drilled > 0 for s in found)
    with_mud = schedule(rop=rate / HOUR, flow=flow, every=every)
    assert all(a.caught >= b.caught for a, b in zip(found, with_mud, strict=True))


def test_legs_are_the_annulus_around_the_string() -> None:
    sections = WELL.sections(2300.0, 2400.0)
    assert not isinstance(sections, Unknown)
    legs = annular_legs(sections, FLOW)
    assert sum(length for _, length, _ in legs) == pytest.approx(2300.0)
    lag = known(lag_of_cuttings(legs, 0.0))
    assert lag == pytest.approx(float(WELL.annulus_at(2300.0)) / FLOW, rel=1e-9)


@given(
    st.floats(1e-4, 0.05), st.floats(0.1, 1.0), st.floats(1e-4, 1.0), st.floats(800, 2400),
    st.floats(0.1, 3000),
)  # fmt: skip
def test_a_slip_is_finite_and_solves_its_own_equation(
    size: float, sphericity: float, viscosity: float, mud: float, more: float
) -> None:
    """Guo and Liu, eqs 2.90 to 2.96, put back into each other."""
    slip = slip_newtonian(size, sphericity, viscosity, mud, mud + more)
    if isinstance(slip, Unknown):
        return
    assert slip > 0
    assert isfinite(slip)
    p, d, rho, v = sphericity, size / IN, mud / PPG, slip / FT
    x = np.log10(928 * rho * v * d / (viscosity * 1e3))
    a = 2.2954 - 2.2626 * p + 4.4395 * p**2 - 2.9825 * p**3
    b = -0.4193 - 1.9014 * p + 3.3416 * p**2 - 2.0409 * p**3
    c = 0.1117 + 0.0553 * p - 0.1468 * p**2 + 0.1145 * p**3
    excess = (62.4 * (mud + more) / 1000 - 7.48 * rho) / (7.48 * rho)
    assert v == pytest.approx(1.89 * np.sqrt(d / 10 ** (a + b * x + c * x * x) * excess), rel=1e-6)


@given(st.floats(1e-4, 0.05), st.floats(0.1, 3000), st.floats(1.0, 300.0), st.floats(0.01, 0.99))
def test_a_slip_in_a_power_law_mud_is_finite(
    size: float, more: float, dial: float, share: float
) -> None:
    slip = slip_power_law(size, 1200 + more, 1200, dial, dial * share)
    assert isinstance(slip, Unknown) or (0 < slip < 100)


def test_calculations_of_lag_take_si() -> None:
    """By hand: 40 m3 at 20 L/s are 2000 s, at 0.016 m3 2500 strokes; V22, V24 again."""
    by_name = {c.name: c for c in (*CALCULATIONS, *CUTTINGS)}
    out = by_name["lag"].run({"volume": 40.0, "stroke_volume": 0.016, "flow": 0.02})
    assert out == {"strokes": pytest.approx(2500), "time": pytest.approx(2000)}
    given = {"depth": 3000.0, "rop": 0.005, "volume": 40.0, "flow": 0.02, "capacity": 0.0}
    assert by_name["lagged-depth"].run(given)["lagged_depth"] == pytest.approx(2990.0)
    given = {"bit": 0.2, "extra_volume": 0.0, "length": 100.0}
    assert by_name["hole-size-from-lag"].run(given)["diameter"] == pytest.approx(0.2)
    cutting = {"size": 0.25 * IN, "mud_density": 12 * PPG, "cutting_density": 2700.0}
    out = by_name["cuttings-slip"].run({**cutting, "viscosity": 0.006})
    assert known(out["slip"]) / FT == pytest.approx(0.5166, abs=5e-5)
    law = {"size": 0.25 * IN, "mud_density": 12.5 * PPG, "cutting_density": 21.66 * PPG}
    out = by_name["cuttings-slip-power-law"].run({**law, "dial_100": 20.0, "dial_3": 3.0})
    assert known(out["slip"]) / FT == pytest.approx(0.282095759532, rel=1e-6)
