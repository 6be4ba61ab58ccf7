"""Tables of pressures in the well file: what is taken, and what is refused in which words."""

from __future__ import annotations

from typing import Any

import pytest

from engine.block import Quality
from engine.errors import ConfigError
from engine.pipeline import Pipeline
from engine.units import PSI, UNITS
from tests.tables import has, table_of, well

GPM = UNITS["gpm"].factor
PAIR = {"name": "a", "channels": ["standpipe_pressure", "kill_line_pressure"], "limit_psi": 50.0}


def refused(**tables: Any) -> str:
    with pytest.raises(ConfigError) as error:
        well(**tables)
    return str(error.value)


def test_a_pair_is_read_in_si_and_compared_in_a_test_by_default() -> None:
    """R-41"""
    (pair,) = well(pressure_pairs=[PAIR | {"offset_psi": -20.0}]).pressure_pairs
    assert pair.limit == pytest.approx(50 * PSI)
    assert pair.offset == pytest.approx(-20 * PSI)
    assert (pair.seconds, pair.connected, pair.in_test) == (60.0, (), True)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"channels": ["torque", "kill_line_pressure"]}, "'torque' is no pressure; pressures are"),
        ({"channels": ["expected_pressure", "kill_line_pressure"]}, "is worked out here"),
        ({"channels": ["kill_line_presure", "annulus_pressure"]}, "did you mean 'kill_line_pres"),
        ({"channels": ["annulus_pressure"] * 2}, "twice; name two different gauges"),
        ({"channels": ["annulus_pressure"]}, "channels: 1 given; a pair is two gauges"),
        ({"in_test": False}, "never connected: name rig states here, or let in_test = true"),
        ({"connected": ["statik"]}, "no rig state 'statik'; did you mean 'static'?"),
        ({"limit_psi": 0.0}, "pressure_pairs.0.limit_psi"),
    ],
)
def test_a_pair_that_cannot_be_compared_is_refused(change: dict[str, Any], words: str) -> None:
    assert words in refused(pressure_pairs=[PAIR | change])


def test_two_pairs_annuli_or_ranges_of_one_name_are_refused() -> None:
    annulus = {"name": "13 3/8", "channel": "annulus_b_pressure"}
    gauge = {"channel": "flow_out", "high_gpm": 3000.0}
    words = refused(pressure_pairs=[PAIR] * 2, annuli=[annulus] * 2, ranges=[gauge] * 2)
    for place in ("pressure_pairs.1.name", "annuli.1.channel", "ranges.1.channel"):
        assert place in words


@pytest.mark.parametrize(
    ("gauge", "words"),
    [
        ({"channel": "flow_out"}, "no end of the range is given; write low_m3_s"),
        ({"channel": "flow_out", "high_gpm": 30000.0}, "may only narrow the range"),
        ({"channel": "flow_out", "low_gpm": -300.0}, "may only narrow the range"),
        ({"channel": "flow_out", "low_gpm": 900.0, "high_gpm": 800.0}, "must lie above the low"),
        ({"channel": "flow_out", "high_psi": 800.0}, "wrong unit; the channel 'flow_out' takes"),
        ({"channel": "rop", "high_m_h": 80.0}, "'rop' is worked out here"),
    ],
)
def test_a_range_that_is_none_is_refused(gauge: dict[str, Any], words: str) -> None:
    assert words in refused(ranges=[gauge])


def test_a_reading_beyond_the_gauge_is_marked_and_kept() -> None:
    """R-03: never zeroed, clipped or dropped."""
    config = well(ranges=[{"channel": "flow_out", "low_gpm": 0.0, "high_gpm": 3000.0}])
    sent = [-1 * GPM, 10 * GPM, 2999 * GPM, 3001 * GPM]
    out = Pipeline(config).process(table_of(flow_out=sent))["flow_out"]
    assert out.value.tolist() == sent
    assert has(out, Quality.OUT_OF_RANGE) == [True, False, False, True]
    usual = Pipeline(well()).process(table_of(flow_out=sent))["flow_out"]
    assert has(usual, Quality.OUT_OF_RANGE) == [False] * 4
