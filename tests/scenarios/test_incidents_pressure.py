"""Incidents in which pressures or the return gauge told it, each with a twin that must be silent.

Rows by hand at 1 Hz, with the noise of `tests.pressure_rows`, after the published accounts:

- National Commission on the BP Deepwater Horizon Oil Spill, Deep Water, 2011, ch. 4 (K-02 to K-04);
- International Association of Oil and Gas Producers and national regulators' safety alerts on a
  gain that was reset, and on a surge that a filter deleted (K-14, K-15);
- Petroleum Safety Authority Norway, investigation of Gullfaks C-06A, 2010 (K-20).

Numbers of the scenarios are ours.
"""

from __future__ import annotations

import numpy as np
import pytest

from engine.block import Quality
from engine.detect.call import Job
from engine.pipeline import Pipeline
from engine.records.happened import events_between
from engine.records.journal import Journal, iso
from engine.records.review_text import review_text
from engine.units import PSI
from tests.pressure_rows import GPM, calls, entries, first, ramp, rig, said
from tests.tables import NAN, T0, well

OFF = 600
"""The pumps stop, or the trouble starts. [s]"""


def flow(n: int, gpm: float) -> np.ndarray:
    """Return flow-in that stops at `OFF`."""
    return np.where(np.arange(n) < OFF, gpm, 0.0)


@pytest.mark.parametrize("gauge", ["good", "bypassed", "silent"])
def test_sc02_pumps_off_and_the_string_gains_pressure(gauge: str) -> None:
    """K-02, R-23: by 3 min, and alone if the returns go past their gauge."""
    n = OFF + 420
    returns = {"good": ramp(n, (OFF, 600.0), (OFF + 90, 60.0)), "bypassed": 3.0, "silent": NAN}
    psi = np.where(
        np.arange(n) < OFF, 2400.0, ramp(n, (OFF, 1020.0), (OFF + 320, 1260.0))
    )  # 45 psi/min
    found = calls(rig(n, flow(n, 600.0), returns[gauge], psi), "pressure_rise_pumps_off")
    assert 60 < first(found) - OFF <= 180
    assert first(found, "critical") - OFF <= 240


def test_sc02_twin_drains_back_and_holds_its_pressure() -> None:
    n = OFF + 420
    psi = np.where(np.arange(n) < OFF, 2400.0, ramp(n, (OFF, 1020.0), (OFF + 400, 980.0)))
    returns = ramp(n, (OFF, 600.0), (OFF + 90, 0.0))
    assert calls(rig(n, flow(n, 600.0), returns, psi), least="advice") == []


def bypass(n: int, minutes: float, at: int = 900) -> np.ndarray:
    """Return a gauge that the mud goes past."""
    end = at + 60 * minutes
    return ramp(n, (at, 820.0), (at + 5, 3.0), (end, 3.0), (end + 5, 820.0))


@pytest.mark.parametrize("late", range(1, 5))
def test_sc03_is_in_time_wherever_the_bins_begin(late: int) -> None:
    found = calls(rig(1200, 800.0, bypass(1200, 34.0, 900 + late)))
    assert first(found, "critical") - 900 - late <= 20


def test_sc03_returns_that_go_past_the_gauge() -> None:
    """K-03, R-31, R-32: in 20 s; the report says for how long nothing was measured."""
    n = 3600
    found = entries(rig(n, 800.0, bypass(n, 34.0)))
    assert [kind for _, kind, _ in said(found)] == ["return_flow_not_measured"]
    assert 0 < first(said(found), "critical") - 900 <= 20
    span = {"start": iso(T0), "end": iso(T0 + n), "frames": n, "missing_s": 0.0}
    events = events_between(Journal().write(found), T0, T0 + n)
    depth = {"bit_m": [None, None], "hole_m": [None, None]}
    lists = dict.fromkeys(("states", "alarms", "connections", "gaps"), ())
    reviewed = {"recording": "by hand", "span": span, "depth": depth, "events": events, **lists}
    page = review_text(reviewed, well())
    assert "no return measurement 34 min" in page.splitlines()


def test_sc03_twin_with_a_gauge_that_works_says_nothing() -> None:
    found = entries(rig(3600, 800.0, 820.0))
    assert said(found, least="advice") == []


def second_chance(n: int, built: float, rebuilt: float) -> np.ndarray:
    """Return standpipe pressure: it falls, builds, is bled at 6 min, builds again. [psi]"""
    minute = (0, 0.5, 5.5, 6, 7, 10)
    psi = (1200, 900, 900 + built, 900 + built, 500 + built, 500 + built + rebuilt)
    points = [(OFF + 60 * m, p) for m, p in zip(minute, psi, strict=True)]
    return ramp(n, *points)


def test_sc04_pressure_builds_is_bled_and_builds_again() -> None:
    """K-04, R-23, R-24: by 1.5 min, and the rebuild by 8 min."""
    n = OFF + 660
    psi = second_chance(n, 550.0, 300.0)
    raw = rig(n, flow(n, 700.0), ramp(n, (OFF, 700.0), (OFF + 90, 0.0)), psi,
              kill_line_pressure=200.0)  # fmt: skip
    found = entries(raw)
    assert 30 < first(said(found, "pressure_rise_pumps_off")) - OFF <= 90
    assert 420 < first(said(found, "bleed_rebuild")) - OFF <= 480


def test_sc04_two_gauges_that_should_agree_come_apart() -> None:
    """R-41: a test is declared, which connects them; the kill line stays where it was."""
    n = OFF + 660
    pair = {"name": "string and kill line", "limit_psi": 50.0,
            "channels": ["standpipe_pressure", "kill_line_pressure"]}  # fmt: skip
    test = Job(T0 + OFF + 30, "pressure_test", T0 + n)
    config = well(pressure_pairs=[pair])
    psi = second_chance(n, 550.0, 300.0)
    apart = rig(n, flow(n, 700.0), psi=psi, kill_line_pressure=900.0)
    together = rig(n, flow(n, 700.0), psi=psi, kill_line_pressure=psi)
    kind = "paired_pressure_mismatch"
    assert 60 < first(calls(apart, kind, config=config, jobs=[test])) - OFF <= 240
    assert calls(apart, kind, "advice", config=config) == []
    assert calls(together, kind, "advice", config=config, jobs=[test]) == []


def test_sc04_twin_is_bled_once_and_stays_down() -> None:
    n = OFF + 1200
    raw = rig(n, flow(n, 700.0), ramp(n, (OFF, 700.0), (OFF + 90, 0.0)),
              second_chance(n, 0.0, 0.0), kill_line_pressure=200.0)  # fmt: skip
    assert calls(raw, least="advice") == []


def surge(n: int, top: float) -> np.ndarray:
    """Return a flow out that jumps to `top` within 8 s, holds 12 s, then 2,900 gpm."""
    return ramp(n, (900, 600.0), (908, top), (920, top), (921, min(top, 2900.0)))


def test_sc15_a_surge_beyond_the_range_is_seen_kept_and_called() -> None:
    """K-15, R-03, R-31: critical within 2 s of the reading, and the reading stays as it came."""
    config = well(ranges=[{"channel": "flow_out", "high_gpm": 3000.0}])
    raw = rig(1200, 600.0, surge(1200, 3400.0))
    out = Pipeline(config).process(raw)["flow_out"]
    assert out.value.tobytes() == raw["flow_out"].value.tobytes()
    wild = (out.quality & np.uint16(Quality.OUT_OF_RANGE)) != 0
    assert wild.tolist() == (out.value > 3000 * GPM).tolist()
    begins = int(np.flatnonzero(wild)[0])
    assert out.value[wild].max() == pytest.approx(3400 * GPM, rel=0.02)
    found = entries(raw, config)
    called = first(said(found, "return_flow_not_measured"), "critical")
    assert begins < called <= begins + 2
    assert called < 920
    evidence = next(e for e in found if e.event == "critical").details["evidence"]
    assert evidence["why"] == "out of range"
    assert evidence["reading"] > 3000 * GPM


def test_sc15_twin_within_the_range_is_a_measurement() -> None:
    config = well(ranges=[{"channel": "flow_out", "high_gpm": 3000.0}])
    raw = rig(1200, 600.0, surge(1200, 2900.0))
    assert calls(raw, "return_flow_not_measured", "advice", config=config) == []


def test_sc20_the_mud_goes_and_the_outer_annulus_rises() -> None:
    """K-20, R-33, R-39: the loss within 20 s of the last returns, the annulus by 30 psi."""
    n = 1500
    pits = 400 - 12 / 60 * np.maximum(np.arange(n) - 900, 0)
    outer = 60 + 15 / 60 * np.maximum(np.arange(n) - 900, 0)
    returns = ramp(n, (900, 700.0), (960, 0.0))
    found = entries(rig(n, 700.0, returns, 2500.0, pits, annulus_b_pressure=outer))
    assert 900 < first(said(found, "total_loss")) <= 960 + 20
    assert first(said(found, "annulus_pressure")) <= 900 + 120  # 15 psi/min: 30 psi in 2 min
    assert said(found, "return_flow_not_measured") == []


def test_sc20_twin_warms_its_annulus_up_and_keeps_its_returns() -> None:
    """Circulating warms an outer annulus at a few psi/min; common practice, no source."""
    n = 7200
    outer = 60 + 3 / 60 * np.arange(n)
    assert calls(rig(n, 700.0, 710.0, 2500.0, annulus_b_pressure=outer), least="advice") == []


def shut_in(n: int, *after: tuple[float, float]) -> np.ndarray:
    """Return casing pressure: shut in at `OFF` + 30 s, 620 psi three minutes later."""
    return ramp(n, (OFF + 30, 0.0), (OFF + 210, 620.0), (OFF + 510, 620.0), *after)


def test_sc14_end_the_casing_pressure_of_a_shut_in_well_falls() -> None:
    """K-14, R-33: 620 to 480 psi in 10 min."""
    n = OFF + 1200
    casing = shut_in(n, (OFF + 1110, 480.0))
    raw = rig(n, flow(n, 500.0), ramp(n, (OFF, 500.0), (OFF + 30, 0.0)),
              ramp(n, (OFF, 2000.0), (OFF + 20, 0.0)), annulus_pressure=casing)  # fmt: skip
    found = calls(raw)
    assert {kind for _, kind, _ in found} == {"shut_in_pressure_fall"}
    assert OFF + 510 < first(found) <= OFF + 510 + 360
    assert first(found, "critical") <= OFF + 1110 + 5


def test_sc14_end_twin_holds_its_pressure() -> None:
    n = OFF + 2400
    raw = rig(n, flow(n, 500.0), ramp(n, (OFF, 500.0), (OFF + 30, 0.0)),
              ramp(n, (OFF, 2000.0), (OFF + 20, 0.0)),
              annulus_pressure=shut_in(n, (OFF + 2300, 650.0)))  # fmt: skip
    assert calls(raw, least="advice") == []


def test_ten_clean_connections_are_silent() -> None:
    """R-22 and R-23: drain-back, the fall of the pressure, trapped pressure that is bled."""
    n, turn = 9000, np.arange(9000) % 900
    gpm = 600 * np.clip(np.minimum((turn - 400) / 30, (900 - turn) / 10), 0, 1)
    gpm[turn < 400] = 0.0
    gpm[:100] = 600.0
    trapped = np.where(turn < 60, 300.0, np.maximum(300 - 10 * (turn - 60.0), 0.0))
    psi = np.where(gpm > 0, 2500 * (gpm / 600) ** 1.8, trapped)
    drained = np.exp(-turn / 25.0) * 600
    returns = np.where(gpm > 0, gpm, drained)
    pits = 400 + np.where(gpm > 0, 0.0, 8 * (1 - np.exp(-turn / 25.0)))
    raw = rig(n, gpm, returns, psi, pits, kill_line_pressure=0.0, annulus_pressure=0.0,
              annulus_b_pressure=80.0)  # fmt: skip
    assert calls(raw, least="advice") == []
    assert raw["standpipe_pressure"].value.max() > PSI * 2400
