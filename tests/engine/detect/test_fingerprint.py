"""What comes back while the pumps stand, compared with the stops before.

References: deviation of a volume from the median of the newest eight, two marks running; volumes
go with the flow, as a flow line holds flow times time. Numbers by hand.
"""

from __future__ import annotations

import numpy as np
import pytest

from engine.detect.fingerprint import MARKS, Curve, Fingerprints
from engine.detect.settings_connections import ConnectionSettings
from engine.units import BBL

NAN = float("nan")
FLOW = 0.045


def known(*volumes: float, flow: float = FLOW) -> Fingerprints:
    """Return fingerprints that have accepted flat curves of `volumes` [m3], oldest first."""
    one = Fingerprints(ConnectionSettings())
    one.accepted.extend(Curve(0.0, flow, (v,) * len(MARKS), (NAN,) * len(MARKS)) for v in volumes)
    return one


def stop(one: Fingerprints, volume: float, flow: float = FLOW, until: int = 250) -> list[bool]:
    """Go through a stop with a flat `volume` [m3]; return `twice` at each mark."""
    one.begin(0.0, flow, "")
    return [one.twice() for t in range(0, until, 5) if one.step(float(t), volume) is not None]


def test_only_stops_at_about_the_same_flow_are_compared_and_none_is_forgotten_for_another() -> None:
    """A tenth of the flow is the limit: 45 against 47 L/s is near, 40 is not."""
    one = Fingerprints(ConnectionSettings())
    reference = []
    for flow in (0.045, 0.045, 0.047, 0.036, 0.045):
        stop(one, 1.5 * flow / FLOW, flow)
        reference.append(one.expected(90.0)[0])
        one.end(False)
    assert np.isnan(reference[:4]).all()
    assert reference[4] == pytest.approx(1.5)


def test_a_volume_is_expected_in_proportion_to_the_flow() -> None:
    one = known(1.35, 1.35, 1.35)
    one.begin(0.0, 0.042, "")
    assert one.expected(90.0)[0] == pytest.approx(1.35 * 0.042 / 0.045)


def test_the_reference_is_the_median_of_the_newest_eight() -> None:
    one = known(9.0, 1.0, 1.1, 1.2, 1.3, 1.4, 1.5, 1.6, 1.7)
    one.begin(0.0, FLOW, "")
    middle, sd = one.expected(90.0)
    assert middle == pytest.approx(1.35)
    # Squares of 0.05, 0.15, 0.25, 0.35, each twice: 0.42. Three stops of a quarter barrel beside.
    assert sd == pytest.approx(((3 * (0.25 * BBL) ** 2 + 0.42) / (3 + 8 - 1)) ** 0.5)


def test_three_stops_that_agree_by_luck_do_not_make_it_sure() -> None:
    """Waves of 0.6 bbl leave 0.7 of that: sqrt(0.25^2 + 0.42^2) bbl, counted as three stops."""
    one = known(1.0, 1.0, 1.0)
    one.noise = 0.6 * BBL
    one.begin(0.0, FLOW, "")
    sd = one.expected(90.0)[1]
    assert sd == pytest.approx((3 / 5 * (0.25**2 + 0.42**2)) ** 0.5 * BBL)


def test_the_noise_of_the_pits_is_known_after_minutes_not_only_after_hours() -> None:
    """Eight minutes of waves of 0.6 bbl: not half of it, as a filter that begins at 0 would say."""
    rng = np.random.default_rng(1)
    found = []
    for _ in range(50):
        one = Fingerprints(ConnectionSettings())
        for ripple in 0.6 * BBL * rng.normal(size=96):
            one.pumping(float(ripple), 1 - np.exp(-5 / 1800))
        found.append(one.noise / BBL)
    assert np.mean(found) == pytest.approx(0.6, abs=0.04)


def test_one_mark_out_of_line_is_a_wave_and_two_running_are_a_call() -> None:
    one = known(1.0, 1.0, 1.0, 1.0)
    one.begin(0.0, FLOW, "")
    twice = []
    for off in range(0, 245, 5):
        high = off <= 30 or off > 90
        if one.step(float(off), 1.0 + high * 6 * 0.25 * BBL) is not None:
            twice.append(one.twice())
    assert twice == [False, False, False, False, True, True]


def test_of_two_marks_neither_may_lie_far_below_the_limit() -> None:
    """Limit 4.5: 6.5 and 3.3 make more than 9, 6.5 and 3.0 as well, but 3.0 is below 0.7 of it."""
    one = known(*(1.0,) * 8)
    one.begin(0.0, FLOW, "")
    sd = one.expected(90.0)[1]
    for second, called in ((3.3, True), (3.0, False)):
        one.begin(0.0, FLOW, "")
        for off in range(0, 65, 5):
            one.step(float(off), 1.0 + (6.5 if off <= 30 else second) * sd)
        assert [m.off for m in one.marks] == [30, 60]
        assert one.twice() is called


def test_without_a_reference_a_climb_after_the_third_minute_is_found() -> None:
    """A barrel a minute: 0.9 above the leak; a quarter barrel of waves tells it in two minutes."""
    for rate, called in ((1.0, True), (0.1, False)):
        one = Fingerprints(ConnectionSettings())
        one.begin(0.0, FLOW, "")
        told = []
        for t in range(0, 605, 5):
            if one.step(float(t), 1.5 + rate * BBL / 60 * t) is not None and one.twice():
                told.append(t)
        assert bool(told) is called
        if called:
            assert 240 < told[0] <= 330


def test_a_stop_unlike_the_others_or_called_or_too_short_teaches_nothing() -> None:
    one = known(1.0, 1.0, 1.0)
    for volume, until, called, why in (
        (3.0, 250, False, "unlike the others"),
        (1.0, 250, True, "called"),
        (1.0, 50, False, "too short"),
        (NAN, 250, False, "pits not known"),
    ):
        stop(one, volume, until=until)
        curve = one.end(called)
        assert curve is not None
        assert curve.refused == why
        assert len(one.accepted) == 3


def test_no_more_than_four_times_eight_stops_are_kept() -> None:
    one = Fingerprints(ConnectionSettings())
    for _ in range(40):
        stop(one, 1.0)
        one.end(False)
    assert len(one.accepted) == 32
