"""Casing and preventer tests (L-14, R-25): decline, hold, pumped up again, twins."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from engine.commands_trial import EndTrial, StartTrial
from engine.records.trial_log import sentence, trials_between
from engine.units import PSI
from tests.pressure_rows import ramp, rig
from tests.tables import NAN, well
from tests.trial_rows import Given, fields, journal, verdict

AT = 300
UNITS_ = well(display="oilfield").display_units()


def outcome(kind: str, psi: Any, end: int | None = None, **criteria: float) -> dict[str, Any]:
    """Return the verdict of a test begun at 60 s; `psi` by the second."""
    raw = rig(np.size(psi), 0.0, 0.0, psi)
    given: list[Given] = [(60.5, StartTrial(kind, criteria, what="9 5/8 casing"))]
    if end is not None:
        given.append((end + 0.5, EndTrial()))
    lines = journal(raw, given)
    (one,) = trials_between(lines)
    return verdict(lines) | {"said": sentence(one, UNITS_), "all": fields(lines, "trial")}


def casing(*end: float) -> np.ndarray:
    """Pumped to 5,000 psi, then in a line to the pressures `end`, one each half hour."""
    points = [(AT + 1800 * k, p) for k, p in enumerate((5000.0, *end))]
    return ramp(AT + 1800 * len(end) + 120, (100, 0.0), *points)


def test_ten_point_four_per_cent_fails() -> None:
    """30 CFR 250.721(f): 10 % in 30 min. 5,000 to 4,480 psi is 10.4 %."""
    found = outcome("casing-test", casing(4480.0), pressure=4995 * PSI)
    assert found["verdict"] == "not met"
    assert found["said"].startswith("criteria not met: Standpipe pressure declined by 10.")
    assert found["numbers"]["decline_fraction"] == pytest.approx(0.104, abs=0.002)
    assert found["all"][0]["event"] == "beyond"  # at once, not at the end
    assert found["what"] == "9 5/8 casing"


def test_nine_point_six_per_cent_passes() -> None:
    found = outcome("casing-test", casing(4520.0), pressure=4995 * PSI)
    assert (found["verdict"], found["said"]) == ("met", "criteria met")
    assert found["numbers"]["start_pressure_Pa"] == pytest.approx(5000 * PSI, rel=0.002)


def test_an_overshoot_is_the_start() -> None:
    """Pumped to 5,400, required 5,000: a fall to 4,800 is 11 % of what was pumped."""
    psi = ramp(2400, (100, 0.0), (300, 5400.0), (2100, 4750.0))
    found = outcome("casing-test", psi, pressure=5000 * PSI)
    assert found["numbers"]["start_pressure_Pa"] == pytest.approx(5400 * PSI, rel=0.003)
    assert found["verdict"] == "not met"


def test_pumped_up_again_proves_nothing() -> None:
    psi = ramp(2400, (100, 0.0), (300, 5000.0), (1200, 4700.0), (1230, 5000.0), (2100, 4900.0))
    found = outcome("casing-test", psi, pressure=4995 * PSI)
    assert found["verdict"] == "inconclusive"
    assert "pumped up again" in found["said"]


def test_ended_early_or_never_pumped_up() -> None:
    short = outcome("casing-test", casing(4990.0), end=1200, pressure=4995 * PSI)
    assert short["verdict"] == "too short"
    low = outcome("casing-test", casing(4990.0), end=1200, pressure=5200 * PSI)
    assert (low["verdict"], low["why"][0]) == (
        "inconclusive", "the test pressure was never reached"
    )  # fmt: skip


def test_a_gauge_that_is_lost_for_a_third_of_the_time_proves_nothing() -> None:
    psi = casing(4900.0)
    psi[600:1400] = NAN
    found = outcome("casing-test", psi, pressure=4990 * PSI)
    assert found["verdict"] == "inconclusive"
    assert "standpipe_pressure known for" in found["said"]


@pytest.mark.parametrize(
    ("points", "verdict_", "attempts"),
    [
        (((600, 3100.0), (1500, 3060.0)), "met", 1),
        (((480, 2900.0), (1500, 2890.0)), "not met", 1),
        (((450, 2950.0), (470, 3120.0), (1500, 3100.0)), "met", 2),
    ],
)
def test_a_preventer_holds_five_minutes_or_is_pumped_up_again(
    points: tuple[tuple[float, float], ...], verdict_: str, attempts: int
) -> None:
    """30 CFR 250.737(c), from memory: the required pressure for 5 min."""
    psi = ramp(1600, (100, 0.0), (300, 3100.0), *points)
    found = outcome("bop-test", psi, end=1500, pressure=3000 * PSI)
    assert (found["verdict"], found["numbers"]["attempts_count"]) == (verdict_, attempts)
