"""What tripping formulas do with what cannot be."""

from __future__ import annotations

from math import isfinite

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.errors import InputError
from engine.well import fill_card, trip, trip_sheet
from engine.well.answer import Answer, Unknown
from engine.well.fill_card import Fill, fill
from engine.well.sheet import EXACT
from engine.well.trip import (
    displaced,
    dry_length,
    length_to_lose,
    level_fall,
    level_fall_out,
    level_ratio,
    pressure_drop,
    slug_gain,
)

NAN, INF = float("nan"), float("inf")
ANY = st.floats(allow_nan=True, allow_infinity=True)


@pytest.mark.parametrize(
    ("answer", "why"),
    [
        (displaced(NAN, 0.01), "steel is unknown"),
        (displaced(0.004, 0.009, 1.5), "share spilled is 1.5; it must be 0 to 1"),
        (displaced(-0.004, 0.009), "steel is -0.004; it must not be negative"),
        (level_ratio(0, 0.01), "hole capacity is 0; it must be above 0"),
        (level_fall(-1, 0.04, 0.01), "length pulled is -1; it must not be negative"),
        (pressure_drop(EXACT, 0, 10.0), "mud weight 0 is lighter than air"),
        (pressure_drop(EXACT, NAN, 10.0), "mud weight is unknown"),
        (pressure_drop(EXACT, 1000, Unknown("no level")), "no level"),
        (length_to_lose(EXACT, 1e5, 1000, 0.04, 0), "this pipe takes no mud: no level falls"),
        (slug_gain(4, 1000, 1200), "the slug is lighter than the mud; it does not keep the"
                                   " pipe dry"),
        (dry_length(1.0, 0.0), "bore is 0; it must be above 0"),
        (level_fall_out(INF, 0.04, 0.01), "length pulled is unknown"),
        (fill(EXACT, 1000, NAN, 0.004, 28), "hole capacity is unknown"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_unknown_with_its_reason(answer: object, why: str) -> None:
    assert answer == Unknown(why)


def test_nothing_pulled_loses_nothing() -> None:
    assert level_fall(0, 0.04, 0.01) == 0.0
    assert level_fall(10, 0.04, 0) == 0.0
    assert length_to_lose(EXACT, 0, 1000, 0.04, 0.01) == 0.0
    assert slug_gain(4, 1200, 1200) == 0.0


def test_mud_lighter_than_air_leaves_the_rule_unknown_but_not_the_fill() -> None:
    line = fill(EXACT, 0.5, 0.038, 0.0042, 28.5)
    assert isinstance(line, Fill)
    assert line.allowed == Unknown("mud weight 0.5 is lighter than air")
    assert line.each == pytest.approx(28.5 * 0.0042)


@given(ANY, ANY, ANY, ANY)
def test_the_rule_never_gives_an_infinity_or_nan(
    mud: float, hole: float, taken: float, stand: float
) -> None:
    line = fill(EXACT, mud, hole, taken, stand)
    if isinstance(line, Unknown):
        return
    answers: tuple[Answer, ...] = (
        line.to_limit, line.allowed, line.over_five, line.volume, line.fall, line.each
    )  # fmt: skip
    for answer in answers:
        assert isinstance(answer, Unknown) or (isfinite(answer) and answer >= 0)


@given(
    st.floats(900, 2500), st.floats(0.02, 0.1), st.floats(0.001, 0.019), st.floats(20, 30)
)  # fmt: skip
def test_the_allowed_stands_never_lose_75_psi_and_never_are_six(
    mud: float, hole: float, taken: float, stand: float
) -> None:
    """30 CFR 250.456(c)."""
    line = fill(EXACT, mud, hole, taken, stand)
    assert isinstance(line, Fill)
    assert isinstance(line.allowed, int)
    assert 0 <= line.allowed <= fill_card.MOST_STANDS
    lost = pressure_drop(EXACT, mud, level_fall(line.allowed * stand, hole, taken))
    assert isinstance(lost, float)
    assert lost <= fill_card.LIMIT * (1 + 1e-6)
    if line.allowed < fill_card.MOST_STANDS:
        more = pressure_drop(EXACT, mud, level_fall((line.allowed + 1) * stand, hole, taken))
        assert isinstance(more, float)
        assert more > fill_card.LIMIT * (1 - 1e-6)


def test_calculations_of_tripping_carry_the_caution() -> None:
    """They are well-control numbers; a slug is not."""
    made = {c.name: c.caution for m in (trip, fill_card, trip_sheet) for c in m.CALCULATIONS}
    assert made == {
        "trip-pressure-drop": True, "length-to-lose-overbalance": True, "slug": False,
        "stands-to-fill": True, "trip-fill": True,
    }  # fmt: skip


def test_calculations_of_tripping_take_si() -> None:
    """By hand: 93 m of 0.004 m3/m out of 0.038 m3/m in 1200 kg/m3: 10.94 m, 128.7 kPa."""
    by_name = {c.name: c for m in (trip, fill_card, trip_sheet) for c in m.CALCULATIONS}
    pipe = {"steel": 0.004, "bore": 0.009, "hole": 0.038, "mud_weight": 1200.0}
    out = by_name["trip-pressure-drop"].run({**pipe, "length": 93.0})
    assert out["fill"] == pytest.approx(0.372)
    assert out["level_fall"] == pytest.approx(10.941, abs=1e-3)
    assert out["pressure_drop"] == pytest.approx(128_756, abs=10)
    out = by_name["length-to-lose-overbalance"].run({**pipe, "overbalance": 128_756.0})
    assert out["length"] == pytest.approx(93.0, abs=0.01)
    out = by_name["stands-to-fill"].run({**pipe, "stand": 28.5, "spilled": 1.0})
    assert out["allowed"] == 2  # 517107 / (1200 g) (0.025 / 0.013) / 28.5 = 2.965
    assert out["to_limit"] == pytest.approx(2.965, abs=1e-3)
    assert out["fill"] == pytest.approx(2 * 28.5 * 0.013)
    full = {k: pipe[k] for k in ("steel", "bore")} | {"stands": 5.0, "stand": 28.5, "actual": 0.5}
    out = by_name["trip-fill"].run(full)
    assert out["total"] == pytest.approx(0.57)
    assert out["difference"] == pytest.approx(0.07)
    slug = {"volume": 4.0, "slug_weight": 1440.0, "mud_weight": 1200.0, "bore": 0.01}
    assert by_name["slug"].run(slug)["dry_length"] == pytest.approx(80.0)
    with pytest.raises(InputError, match="hole is missing"):
        by_name["trip-pressure-drop"].run({"length": 1.0, "steel": 0.004, "bore": 0.0})
