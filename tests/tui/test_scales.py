from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.snapshot import Reading
from tui.glyphs import UNICODE
from tui.scales import ends, label_step, round_down, step_up
from tui.widgets.bars import bar, ends_bar


def drawn(row: list[tuple[str, str]]) -> str:
    return "".join(text for text, _ in row)


@given(st.floats(-1e6, 1e6), st.floats(0, 1e6),
       st.sampled_from(["hook_load", "pit_volume", "pit_gain", "temperature_out"]))  # fmt: skip
def test_a_scale_holds_what_it_must_show(low: float, extent: float, channel: str) -> None:
    bottom, top = ends(channel, low, low + extent)
    assert bottom < top
    assert low + extent <= top * (1 + 1e-9) + 1e-9
    # a little noise below zero does not cost half the width
    assert bottom <= low + 1e-9 or low >= -0.02 * top


def test_a_scale_goes_by_round_numbers() -> None:
    assert ends("hook_load", 300, 1015) == (0, 1500)
    assert ends("pit_gain", -0.1, 0.4) == (-1, 1)
    assert ends("pit_gain", -0.1, 2.97) == (-3, 3)
    assert ends("pit_volume", 59.2, 59.9) == (59, 61)
    assert ends("standpipe_pressure", float("nan"), float("nan")) == (0, 1)


def test_the_ladder_is_exact_at_its_rungs() -> None:
    assert [step_up(x) for x in (1, 1.01, 1500, 0.03)] == [1, 1.5, 1500, pytest.approx(0.03)]
    assert [round_down(x) for x in (1, 4.9, 1500, 0.2)] == [1, 2, 1000, pytest.approx(0.2)]


def test_time_labels_stand_at_least_four_rows_apart() -> None:
    for row in (2, 4, 8, 20, 40, 60, 120, 240):
        assert 4 * row <= label_step(row) <= 15 * row


@pytest.mark.parametrize(
    ("value", "expected"),
    [
        (0.0, "──────────"),
        (5.0, "━━━━━─────"),
        (5.6, "━━━━━╸────"),
        (10.0, "━━━━━━━━━━"),
        (11.0, "━━━━━━━━━▸"),
        (-1.0, "◂─────────"),
        (None, "──────────"),
    ],
)
def test_a_bar_is_filled_to_its_value(value: float | None, expected: str) -> None:
    assert drawn(ends_bar(value, 0, 10, 10, UNICODE)) == expected


def test_a_bar_with_a_sign_starts_at_zero_and_shows_both_limits() -> None:
    """Limits of -6 and 1: each two thirds of the way to its own end."""
    assert drawn(bar(Reading("pit_gain", 0.75, low=-6, high=1), 12, UNICODE)) == "──┃───│━━─┃─"
    assert drawn(bar(Reading("pit_gain", -4.5, low=-6, high=1), 12, UNICODE)) == "──┃━━━│───┃─"


def test_a_high_limit_sets_the_end_of_a_bar() -> None:
    assert drawn(bar(Reading("gas", 0.05, high=0.08), 10, UNICODE)) == "━━━━━───┃─"
