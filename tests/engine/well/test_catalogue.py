"""The list of calculations: nothing missing, nothing twice, nothing that raises or overflows."""

from __future__ import annotations

import pkgutil
import re
from collections import Counter
from importlib import import_module
from math import isfinite

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import engine.well
from engine.errors import InputError
from engine.units import units_of
from engine.well.answer import Unknown
from engine.well.calculation import Calculation, Input
from engine.well.catalogue import CATALOGUE, calculation
from engine.well.checks import LEAST, MOST

MODULES = [m.name for m in pkgutil.iter_modules(engine.well.__path__) if m.name != "catalogue"]
WORD = re.compile(r"[a-z][a-z0-9_]*")
CONTROL = re.compile(r"kill|maasp|kick|barite|migration|bleed|leak-off|trip-margin|circulating-pr")


def offered() -> list[Calculation]:
    """Every calculation of every module, once each however often it is imported."""
    found: dict[int, Calculation] = {}
    for name in MODULES:
        module = import_module(f"engine.well.{name}")
        found |= {id(c): c for c in getattr(module, "CALCULATIONS", ())}
    return list(found.values())


def test_no_two_calculations_have_one_name() -> None:
    assert [name for name, n in Counter(c.name for c in offered()).items() if n > 1] == []


def test_every_calculation_of_every_module_is_listed() -> None:
    assert {c.name for c in offered()} == set(CATALOGUE)
    assert all(CATALOGUE[c.name] is c for c in offered())


@pytest.mark.parametrize("c", CATALOGUE.values(), ids=lambda c: c.name)
def test_a_calculation_says_what_it_takes_and_gives(c: Calculation) -> None:
    assert re.fullmatch(r"[a-z][a-z0-9-]*", c.name)
    assert c.text
    assert len(c.source) > 5
    assert c.outputs
    for names in ([i.name for i in c.inputs], [o.name for o in c.outputs]):
        assert len(set(names)) == len(names)
        assert all(WORD.fullmatch(name) for name in names)
    for quantity in (*(i.quantity for i in c.inputs), *(o.quantity for o in c.outputs)):
        assert units_of(quantity), quantity
    for i in c.inputs:
        assert i.low < i.high
        assert i.default is None or i.low <= i.default <= i.high


@pytest.mark.parametrize("c", CATALOGUE.values(), ids=lambda c: c.name)
def test_a_well_control_number_carries_the_caution(c: Calculation) -> None:
    assert c.caution or not CONTROL.search(c.name)


def numbers(i: Input) -> st.SearchStrategy[float]:
    """Numbers `run` lets through: usual ones, the limits, and absurd ones."""
    low, high = max(i.low, -MOST), min(i.high, MOST)
    usual = st.floats(max(low, -1e4), min(high, 1e4)) if low <= 1e4 else st.just(low)
    extremes = [low, high, 0.0, LEAST, 1e-9, 1.0, 1e9, -1e9]
    sizes = usual | st.sampled_from([x for x in extremes if low <= x <= high])
    return sizes.filter(lambda x: x == 0.0 or abs(x) >= LEAST)


@pytest.mark.parametrize("c", CATALOGUE.values(), ids=lambda c: c.name)
@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(data=st.data())
def test_whatever_is_typed_an_answer_is_a_number_or_a_reason(
    c: Calculation, data: st.DataObject
) -> None:
    """Never an exception, an infinity or a NaN."""
    typed = {i.name: data.draw(numbers(i), label=i.name) for i in c.inputs}
    found = c.run(typed)
    assert set(found) == {o.name for o in c.outputs}
    for name, answer in found.items():
        if isinstance(answer, Unknown):
            assert answer.reason, name
        else:
            assert isfinite(answer), name


def test_a_name_that_is_none_is_refused_with_those_near_it() -> None:
    assert calculation("slug").name == "slug"
    with pytest.raises(InputError, match="no calculation 'mud-wieght'; did you mean kill-mud-weig"):
        calculation("mud-wieght")
    with pytest.raises(InputError, match=r"no calculation 'qqqq' \(calc --list has all\)"):
        calculation("qqqq")


@pytest.mark.parametrize("value", [float("nan"), float("inf"), -1.0, 1e16, 1e-16, 2.0])
def test_a_number_that_cannot_be_is_refused_before_any_work(value: float) -> None:
    share = CATALOGUE["bit-weight-of-collars"]
    typed = {"mud": 1200.0, "collar_length": 200.0, "collar_weight": 220.0, "share": value}
    with pytest.raises(InputError, match=r"bit-weight-of-collars: share: .* is impossible; 0 to 1"):
        share.run(typed)
