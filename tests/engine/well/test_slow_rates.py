"""Slow circulating rates: one pump, one mud, one depth, one tour.

Rules: www.drillingmanual.com/slow-reduced-circulation-rate-scr (each shift, new bit, other mud);
0.1 ppg and 500 ft are common practice without a source.
"""

from __future__ import annotations

from dataclasses import replace
from math import nan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.errors import InputError
from engine.units import FT, PPG, PSI
from engine.well.answer import Unknown
from engine.well.slow_rates import (
    Present,
    SlowRate,
    SlowRates,
    age,
    entered,
    exponent,
    newest,
    picked,
    stale,
)
from tests.check_rows import row

AT = 1_780_000_000.0
READ = SlowRate(
    "1", 40 / 60, 600 * PSI, 10.5 * PPG, 3000.0, 0.019, "BHA 4", "2026-03-14 day", AT, "A. Field"
)
NOW = Present(10.5 * PPG, 3000.0, {"1": 0.019, "2": 0.021}, "BHA 4", "2026-03-14 day", AT + 7200)


def test_a_reading_holds_while_nothing_has_changed() -> None:
    assert stale(READ, NOW) == ()
    assert age(READ, NOW.at) == 7200


@pytest.mark.parametrize(
    ("change", "reason"),
    [
        ({"mud": 10.6 * PPG}, "mud weight changed"),
        ({"mud": 10.4 * PPG}, "mud weight changed"),
        ({"mud": None}, "present mud weight not known"),
        ({"mud": nan}, "mud weight changed"),
        ({"depth": 3000 + 501 * FT}, "depth changed"),
        ({"depth": 2000.0}, "depth changed"),
        ({"depth": None}, "present depth not known"),
        ({"tour": "2026-03-14 night"}, "new tour (2026-03-14 night)"),
        ({"tour": None}, "present tour not known"),
        ({"string": "BHA 5"}, "another string (BHA 5)"),
        ({"string": None}, "present string not known"),
        ({"stroke_volumes": {"1": 0.0165}}, "pump output changed"),
        ({"stroke_volumes": {"2": 0.021}}, "output of pump 1 not known"),
        ({"at": AT - 1}, "dated in the future"),
    ],
)
def test_a_reading_is_stale_as_soon_as_one_thing_differs(
    change: dict[str, object], reason: str
) -> None:
    assert stale(READ, replace(NOW, **change)) == (reason,)  # type: ignore[arg-type]


def test_small_changes_within_the_rules_keep_it() -> None:
    assert stale(READ, replace(NOW, mud=10.55 * PPG, depth=3000 + 500 * FT)) == ()


def test_the_reading_of_the_pump_on_line_is_picked_and_no_other() -> None:
    """G28: with none for this pump, ICP and FCP stay unknown."""
    again = replace(READ, pressure=620 * PSI, at=AT + 60)
    slow = replace(READ, rate=30 / 60, pressure=360 * PSI, at=AT + 120)
    log: SlowRates = (READ, again, slow)
    assert picked(log, ["1"], 40 / 60) is again
    assert picked(log, ["1"]) is slow
    assert picked(log, ["2"]) == Unknown("no slow rate read for pump 2")
    assert picked(log, ["1"], 50 / 60) == Unknown("no slow rate read for pump 1 at 50 spm")
    both = picked(log, ["1", "2"])
    assert isinstance(both, Unknown)
    assert "one pump" in both.reason
    assert isinstance(picked(log, []), Unknown)
    assert newest(log) == (slow, again)


def test_a_reading_with_anything_missing_is_refused_and_everything_is_named() -> None:
    with pytest.raises(InputError) as error:
        entered((READ,), replace(READ, pressure=0.0, rate=nan, who=" ", at=AT - 5))
    for part in ("pressure is 0", "rate is nan", "who is empty", "dated before"):
        assert part in str(error.value)
    assert entered((READ,), replace(READ, pump="2")) == (READ, replace(READ, pump="2"))


@row("G29")
def test_the_exponent_is_fitted_from_two_rates_and_marked_when_assumed() -> None:
    """G29. Lapeyrouse: 2,500 psi at 315 and 450 psi at 120 give 1.7768."""
    high = replace(READ, rate=3.15, pressure=2500 * PSI)
    low = replace(READ, rate=1.20, pressure=450 * PSI)
    fitted = exponent((high, low), "1")
    assert fitted.value == pytest.approx(1.7768, abs=5e-5)
    assert not fitted.assumed
    for log in ((), (high,), (replace(high, mud=1300.0), low), (high, replace(low, tour="x"))):
        assert exponent(log, "1").value == 2
        assert exponent(log, "1").assumed


@given(st.lists(st.tuples(st.sampled_from("12"), st.sampled_from((20, 30, 40))), max_size=12))
def test_newest_has_one_reading_a_pump_and_rate_and_it_is_the_last(
    readings: list[tuple[str, int]],
) -> None:
    log: SlowRates = ()
    for i, (pump, spm) in enumerate(readings):
        log = entered(log, replace(READ, pump=pump, rate=spm / 60, at=AT + i))
    assert len(newest(log)) == len(set(readings))
    for reading in newest(log):
        assert picked(log, [reading.pump], reading.rate) is reading
