"""Hot returns, and warm ones that a stop of the pumps explains (R-44)."""

from __future__ import annotations

import numpy as np
import pytest

from engine.well.answer import Unknown
from engine.well.steam import saturation_temperature
from tests.string_rows import blind, calls, check_splits, evidence, returns
from tests.tables import NAN, block_of

N, AT = 7200, 4000
FLOW = np.full(N, 0.045)


def ramp(at: float, seconds: float, size: float) -> np.ndarray:
    return size * np.clip((np.arange(N) - at) / seconds, 0.0, 1.0)


def hot(seconds: float, kelvin: float, **more: object) -> dict[str, object]:
    return returns(FLOW, lag_s=1500.0, out=321.0 + ramp(AT, seconds, kelvin), **more)


@pytest.mark.parametrize(
    ("pressure", "kelvin"), [(1e5, 372.755919), (1e6, 453.035632), (1e7, 584.149488)]
)
def test_water_boils_where_the_formulation_says(pressure: float, kelvin: float) -> None:
    """IAPWS R7-97(2012), table 36."""
    assert saturation_temperature(pressure) == pytest.approx(kelvin, abs=1e-6)


@pytest.mark.parametrize("pressure", [0.0, 600.0, 23e6, float("nan")])
def test_outside_of_it_nothing_boils(pressure: float) -> None:
    assert isinstance(saturation_temperature(pressure), Unknown)


def test_two_kelvin_a_minute_is_called_after_three_minutes() -> None:
    (at, kind, event), *_ = calls(hot(600, 22.0))
    assert (kind, event) == ("temperature_rise", "warning")
    assert 120 < at - AT < 190


@pytest.mark.parametrize("seed", range(4))
def test_one_kelvin_a_minute_for_ten_minutes_is_not(seed: int) -> None:
    assert calls(hot(600, 10.0, seed=seed)) == []


def test_out_less_in_above_usual_is_called_however_slowly_it_came() -> None:
    out = calls(hot(2400, 25.0))
    assert [e for _, _, e in out][:1] == ["warning"]
    said = evidence(hot(2400, 25.0), "temperature_rise", "warning")
    assert said["witnesses"] == ["out less in above usual"]
    assert said["out_less_in_above_usual_k"] == pytest.approx(15, abs=0.6)


def test_warm_mud_from_the_pits_is_no_rise_of_out_less_in() -> None:
    table = returns(
        FLOW, lag_s=1500.0, out=321 + ramp(AT, 2700, 18.0), inn=305 + ramp(AT, 2700, 18.0)
    )
    assert calls(table, "temperature_rise") == []


def test_near_boiling_is_critical_at_once_after_a_stop_too() -> None:
    """Boiling at 101,325 Pa is 100 C less 0.03; 10 K below it is called."""
    flow = np.where((np.arange(N) > 2000) & (np.arange(N) < 3500), 0.0, 0.045)
    table = returns(flow, lag_s=1500.0, out=321.0 + ramp(3600, 100, 44.0))
    at = next(t for t, _, e in calls(table) if e == "critical")
    reached = 3600 + 100 * (363.12 - 321.0) / 44.0
    assert abs(at - reached) <= 10


def test_one_warm_slug_after_a_long_stop_is_not_called() -> None:
    """12 K warmer, an annulus volume long, once."""
    flow = np.where((np.arange(N) > 1000) & (np.arange(N) < 2800), 0.0, 0.045)
    slug = ramp(2800 + 900, 120, 12.0) - ramp(2800 + 1500, 120, 12.0)
    table = returns(flow, lag_s=1500.0, out=321.0 + slug)
    assert calls(table, "temperature_rise") == []
    said = blind(table, "temperature_rise")
    assert said[0] == ("blind", "less than 1.5 annulus volumes since the pumps stood")
    assert said[-1][0] == "sees"


def test_the_cold_flow_line_after_a_connection_is_not_called() -> None:
    flow = np.where((np.arange(N) > AT) & (np.arange(N) < AT + 400), 0.0, 0.045)
    cold = 8.0 * ((np.arange(N) > AT) & (np.arange(N) < AT + 420))
    assert calls(returns(flow, lag_s=1500.0, out=321.0 - cold), "temperature_rise") == []


def test_heat_losses_and_a_surge_in_turn_are_critical() -> None:
    share = -0.4 * ((np.arange(N) > AT - 300) & (np.arange(N) < AT + 100))
    share = share + 0.25 * (np.arange(N) >= AT + 150)
    table = hot(600, 30.0, share=share)
    at = next(t for t, _, e in calls(table, "temperature_rise") if e == "critical")
    assert 150 < at - AT < 220
    assert (
        "losses, then returns surging"
        in evidence(table, "temperature_rise", "critical")["witnesses"]
    )


@pytest.mark.parametrize("kelvin", [0.0, 30.0])
def test_a_surge_without_losses_or_without_heat_is_not_critical(kelvin: float) -> None:
    lost = -0.4 * ((np.arange(N) > AT - 300) & (np.arange(N) < AT + 100)) * (kelvin == 0)
    share = lost + 0.25 * (np.arange(N) >= AT + 150)
    found = [e for _, _, e in calls(hot(600, kelvin, share=share), "temperature_rise")]
    assert "critical" not in found


@pytest.mark.parametrize("name", ["temperature_out", "flow_in"])
def test_it_is_blind_without_what_it_needs(name: str) -> None:
    table = hot(600, 30.0)
    lost = table | {name: block_of(table["flow_in"].t, NAN)}  # type: ignore[union-attr]
    assert ("blind", f"no {name}") in blind(lost, "temperature_rise")


def test_any_split_gives_the_same_lines() -> None:
    assert any(e.event == "warning" for e in check_splits(hot(600, 30.0)))
