"""Flow check: minimum time, slope, what it could have seen (R-27, K-13)."""

from __future__ import annotations

import numpy as np
import pytest

from engine.commands_trial import EndTrial, StartTrial
from engine.detect.bins import BIN_S
from engine.records.trial_log import sentence, trials_between
from engine.trials.slope import slope
from engine.units import BBL
from tests.pressure_rows import rig
from tests.tables import NAN, block_of, well
from tests.trial_rows import Given, journal, verdict, waves

BPM = BBL / 60
START = 300
UNITS_ = well(display="oilfield").display_units()


def checked(
    bpm: float, length: int = 600, end: int | None = None, tank: bool = True, pumps: float = 0.0,
    **criteria: float,
):  # type: ignore[no-untyped-def]  # fmt: skip
    """Return the verdict of a check with the pumps off from the beginning, begun at 300 s."""
    n = START + length + 120
    flowing = bpm * BPM * np.maximum(np.arange(n) - START, 0)
    raw = rig(n, pumps, 0.0)
    if tank:
        raw["trip_tank_volume"] = block_of(raw["flow_out"].t, 8.0 + flowing + waves(n, 0.1))
    else:
        raw["pit_volume"] = block_of(raw["flow_out"].t, 60.0 + flowing + waves(n, 0.6))
    given: list[Given] = [(START + 0.5, StartTrial("flow-check", {"minutes": length, **criteria}))]
    if end is not None:
        given.append((START + end + 0.5, EndTrial()))
    lines = journal(raw, given)
    (listed,) = trials_between(lines)
    return verdict(lines) | {"said": sentence(listed, UNITS_)}


def test_forty_five_seconds_are_stored_as_too_short() -> None:
    """K-13: such a check was taken for a stable well."""
    found = checked(0.0, end=45)
    assert found["verdict"] == "too short"
    assert found["said"] == "too short (45 s; minimum 10 min)"
    assert found["seconds"] == pytest.approx(45.0)


def test_ten_quiet_minutes_are_met_and_say_what_they_could_have_seen() -> None:
    """Detection limits of a check: 0.014 bbl/min in a trip tank with waves of 0.1 bbl."""
    found = checked(0.0)
    assert found["verdict"] == "met"
    assert found["numbers"]["could_have_seen_m3_s"] / BPM == pytest.approx(0.014, rel=0.35)
    assert abs(found["numbers"]["flow_m3_s"]) / BPM < 0.014
    assert found["numbers"]["end_volume_m3"] == pytest.approx(8.0, abs=0.1)
    assert (found["began"][-4:], found["by"]) == ("500Z", "Ines")


@pytest.mark.parametrize(("bpm", "how"), [(0.2, "rises"), (-0.2, "falls")])
def test_a_tank_that_moves_is_not_met(bpm: float, how: str) -> None:
    found = checked(bpm)
    assert found["verdict"] == "not met"
    (breach,) = found["breaches"]
    assert (breach["what"], breach["how"]) == ("trip_tank_volume", how)
    assert breach["value"] / BPM == pytest.approx(0.2, abs=0.01)


def test_a_flow_that_one_minute_proves_is_not_too_short() -> None:
    assert checked(3.0, end=60)["verdict"] == "not met"


def test_agitated_pits_cannot_see_the_limit_in_ten_minutes() -> None:
    """0.12 bbl/min is what pits with 0.6 bbl of waves can show; the limit is 0.05."""
    found = checked(0.0, tank=False)
    assert found["verdict"] == "inconclusive"
    assert "could not be seen in pit_volume" in found["said"]
    assert found["numbers"]["could_have_seen_m3_s"] / BPM == pytest.approx(0.12, rel=0.35)
    assert checked(0.0, tank=False, flow=0.2 * BPM)["verdict"] == "met"


def test_without_pump_rates_nobody_knows_that_they_were_off() -> None:
    found = checked(0.0, pumps=NAN)
    assert found["verdict"] == "inconclusive"
    assert any("flow_in known for 0 %" in why for why in found["why"])


def test_pumps_that_never_stop_make_no_check() -> None:
    found = checked(0.0, end=650, pumps=500.0)
    assert found["verdict"] == "inconclusive"
    assert found["why"][0] == "the pumps never stopped"


def test_time_counts_from_the_drained_flow_line_and_ends_with_the_pumps() -> None:
    """Pumps stop at 400 s, 90 s of drain-back; they start at 900 s: 410 s are no ten minutes."""
    n = 1500
    t = np.arange(n)
    raw = rig(n, np.where((t < 400) | (t >= 900), 500.0, 0.0), 0.0)
    lines = journal(raw, [(350.5, StartTrial("flow-check", {}))])
    found = verdict(lines)
    assert found["verdict"] == "too short"
    assert found["seconds"] == pytest.approx(410, abs=8)
    assert sentence(trials_between(lines)[0], UNITS_).startswith("too short (4")


@pytest.mark.parametrize("seed", range(3))
def test_the_slope_and_its_limit_agree_with_the_spread_of_many_checks(seed: int) -> None:
    """Four standard deviations of the slopes found on 150 tanks without any flow."""
    t = np.arange(0, 600, BIN_S)
    sets = [
        [(a, float(v)) for a, v in zip(t, waves(600, 0.1, 1000 * seed + k)[::5], strict=True)]
        for k in range(150)
    ]
    found = [slope(points) for points in sets]
    spread = float(np.std([one.flow for one in found if one]))
    assert np.median([one.seen for one in found if one]) == pytest.approx(4 * spread, rel=0.3)


def test_too_few_levels_have_no_slope() -> None:
    assert slope([(0.0, 1.0), (5.0, 1.0)]) is None
