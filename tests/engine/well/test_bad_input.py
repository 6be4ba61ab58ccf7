"""Bad input to every calculation: a refusal or a reason, never an exception or an infinity.

Each input in turn is put on and beyond its limits while the rest stay usual, so that a fault is
reached that no other bad input hides; hypothesis in ``test_catalogue.py`` moves all at once.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from math import inf, isfinite, nan, nextafter

import pytest

from engine.errors import InputError
from engine.units import units_of
from engine.well.answer import Answer, Unknown
from engine.well.calculation import Calculation, Input
from engine.well.catalogue import CATALOGUE
from engine.well.checks import LEAST, MOST
from tests.engine.well.usual_inputs import usual
from tui.cli import main

EVERY = pytest.mark.parametrize("c", CATALOGUE.values(), ids=lambda c: c.name)
FLUIDS = {"inside", "outside"}
"""Fluids that may be air, by their text."""


def bad(i: Input) -> Iterator[float]:
    """Yield numbers at and beyond the limits of an input."""
    yield from (0.0, -0.0, -1.0, nan, inf, -inf, 1e300, -1e300, MOST, -MOST, MOST * 2)
    yield from (LEAST, LEAST / 2, 5e-324, 1e-6, 1.0, 1e6, 1e9)
    for limit in (i.low, i.high):
        if isfinite(limit):
            yield from (limit, nextafter(limit, -inf), nextafter(limit, inf))


def sound(c: Calculation, found: dict[str, Answer]) -> None:
    assert set(found) == {o.name for o in c.outputs}
    for name, answer in found.items():
        if isinstance(answer, Unknown):
            assert len(answer.reason) > 4, name
        else:
            assert isfinite(answer), name


@EVERY
def test_usual_numbers_give_numbers(c: Calculation) -> None:
    """Else the bad ones below would meet a reason before they meet the formula."""
    assert {n: a.reason for n, a in c.run(usual(c)).items() if isinstance(a, Unknown)} == {}


@EVERY
def test_one_bad_number_at_a_time_gives_numbers_or_reasons(c: Calculation) -> None:
    for i in c.inputs:
        for value in bad(i):
            given = usual(c) | {i.name: value}
            if i.possible(value):
                sound(c, dict(c.run(given)))
            else:
                with pytest.raises(InputError, match=rf"{i.name}: .* is impossible"):
                    c.run(given)


@EVERY
def test_all_numbers_at_one_limit_give_numbers_or_reasons(c: Calculation) -> None:
    """An empty string in an empty hole with the pumps off; and all that is huge."""
    for value in (0.0, LEAST, 1.0, 1e9, MOST):
        sound(c, dict(c.run({i.name: min(max(value, i.low), i.high) for i in c.inputs})))


NO_MUDS = {"cutting_density", "barite_density", "loss_100f", "gain_1000psi"}


@EVERY
def test_a_mud_lighter_than_air_is_refused(c: Calculation) -> None:
    for i in c.inputs:
        if i.quantity != "density" or i.name in FLUIDS | NO_MUDS:
            continue
        for light in (0.0, 0.5, 1.25):
            with pytest.raises(InputError, match=f"{i.name}: {light:g} .* is impossible; 1.3 to"):
                c.run(usual(c) | {i.name: light})


@pytest.mark.parametrize(
    ("name", "given", "output", "words"),
    [
        ("lag", {"flow": 0.0}, "time", "no flow"),
        ("pump-efficiency", {"strokes": 0.0}, "efficiency", "strokes is 0"),
        ("strokes-for-volume", {"stroke_volume": 0.0}, "strokes", "volume per stroke is 0"),
        ("kill-sheet", {"stroke_volume": 0.0}, "to_bit", "pump output is 0"),
        ("kill-sheet", {"tvd": 0.0}, "formation", "true vertical depth is below 1"),
        ("kill-sheet", {"shoe_tvd": 3001.0}, "highest", "the shoe is deeper than the hole"),
        ("kill-sheet", {"shoe_tvd": 3001.0}, "maasp", "the shoe is deeper than the hole"),
        ("kick-tolerance", {"shoe_tvd": 3001.0}, "height", "the shoe is deeper than the hole"),
        ("kill-mud-weight", {"tvd": 0.5}, "formation", "true vertical depth is below 1"),
        ("drillpipe-pressure", {"front_tvd": 1100.0}, "pressure", "swapped?"),
        ("drillpipe-pressure", {"kill_mud_weight": 1200.0}, "pressure", "lighter than the mud"),
        ("bit-depth-from-tally", {"stick_up": 9e3}, "bit_depth", "above the floor"),
        ("annular-capacity", {"pipe": 0.3}, "capacity", "does not go into"),
        ("swab-surge", {"pipe": 0.3}, "change", "does not fit"),
        ("circulating-density", {"tvd": 0.0}, "ecd", "below 1"),
        ("d-exponent", {"rate": 0.0}, "d", "nothing is drilled"),
    ],
)  # fmt: skip
def test_what_can_be_typed_by_mistake_is_told(
    name: str, given: dict[str, float], output: str, words: str
) -> None:
    """Zero flow, zero strokes, bit on the floor, casing below the hole, depths swapped."""
    c = CATALOGUE[name]
    answer = c.run(usual(c) | given)[output]
    assert isinstance(answer, Unknown)
    assert words in answer.reason


def test_closed_nozzles_leave_everything_at_the_bit_unknown() -> None:
    c = CATALOGUE["bit-hydraulics"]
    shut = usual(c) | {f"nozzle_{k}": 0.0 for k in range(1, 9)}
    assert {str(a) for a in c.run(shut).values()} == {str(Unknown("no open nozzle"))}


WORDS = ("nan", "inf", "-inf", "-1", "0", "1e400", "-1e400", "1e15", "1e-300", "", "9" * 400)


@EVERY
def test_the_command_says_a_number_or_a_reason_whatever_is_typed(
    c: Calculation, capsys: pytest.CaptureFixture[str]
) -> None:
    """``kellydown calc``: a result, exit 1 with a reason, or exit 2 with what is wrong."""
    typed = {n: f"{n}={v!r} {units_of(i.quantity)[0].id}" for (n, v), i in zip(
        usual(c).items(), c.inputs, strict=True)}  # fmt: skip
    for i in c.inputs:
        for word in WORDS:
            one = typed | {i.name: f"{i.name}={word} {units_of(i.quantity)[0].id}"}
            code = main(["calc", c.name, *one.values(), "--json"])
            out, err = capsys.readouterr()
            assert "Traceback" not in err
            if code == 2:
                assert i.name in err
                continue
            said = json.loads(out, parse_constant=pytest.fail)
            unknown = [o for o in said["outputs"].values() if o["value"] is None]
            assert all(o["unknown"] for o in unknown)
            assert code == (1 if unknown else 0)
