from __future__ import annotations

import pytest

from tui.glyphs import ASCII, UNICODE, choose
from tui.theme import PALETTES, Palette, contrast
from tui.words import ALARM_STATES, RIG_STATES

EACH = pytest.mark.parametrize("palette", PALETTES.values(), ids=PALETTES.keys())


def test_contrast_agrees_with_published_ratios() -> None:
    """WCAG 2.1: black on white 21:1; #767676 on white is the well-known 4.54:1."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.005)


@EACH
def test_text_and_alarms_stand_out(palette: Palette) -> None:
    """R-57: 7:1 for values and alarms, 3:1 for graphics (WCAG 2.1, 1.4.6 and 1.4.11)."""
    for name in ("text", "label", "changed"):
        assert contrast(getattr(palette, name), palette.background) >= 7.0, name
    for name in ("alarm_1", "alarm_2", "alarm_3", "notice"):
        fore, back = getattr(palette, name)
        assert contrast(fore, back) >= 7.0, name
        assert contrast(back, palette.background) >= (1.2 if not palette.dark else 2.0), name
    assert contrast(palette.background, palette.label) >= 7.0  # the rig state, reversed
    assert contrast(palette.graphic, palette.background) >= 3.0


@EACH
def test_what_is_normal_has_no_colour(palette: Palette) -> None:
    """A grey: the three parts differ by no more than a hint."""
    for name in ("background", "text", "label", "graphic", "faint"):
        color = getattr(palette, name)
        parts = [int(color[i : i + 2], 16) for i in (1, 3, 5)]
        assert max(parts) - min(parts) <= 16, name


@EACH
def test_every_style_has_both_colours(palette: Palette) -> None:
    """Painting under NO_COLOR needs them."""
    for name, style in palette.styles().items():
        assert style.color is not None, name
        assert style.bgcolor is not None, name


@pytest.mark.parametrize("glyphs", [UNICODE, ASCII], ids=["unicode", "ascii"])
def test_alarm_states_differ_by_shape_and_by_word(glyphs: object) -> None:
    """R-56: nothing hangs on colour."""
    symbols = (UNICODE if glyphs is UNICODE else ASCII).symbols
    assert len(set(symbols.values())) == len(symbols) == 8  # A shows nothing
    assert len(set(ALARM_STATES.values())) == 9
    assert all(len(symbol) == 1 for symbol in symbols.values())


def test_rig_states_have_words_of_their_own() -> None:
    """R-56."""
    from engine.states import STATE_IDS

    assert set(RIG_STATES) == set(STATE_IDS)
    assert len(set(RIG_STATES.values())) == len(STATE_IDS)


@pytest.mark.parametrize(
    ("terminal", "encoding", "plain", "expected"),
    [
        ("xterm-256color", "utf-8", False, UNICODE),
        ("xterm-256color", "UTF8", False, UNICODE),
        ("linux", "utf-8", False, ASCII),
        ("xterm", "cp437", False, ASCII),
        ("xterm", "ANSI_X3.4-1968", False, ASCII),
        ("xterm", None, False, ASCII),
        ("xterm", "utf-8", True, ASCII),
    ],
)
def test_plain_characters_are_chosen_where_dots_cannot_show(
    terminal: str, encoding: str | None, plain: bool, expected: object
) -> None:
    """R-61."""
    assert choose(terminal, encoding, plain=plain) is expected


def test_the_plain_set_is_ascii() -> None:
    for text in ("m³", "°C", "kN·m", "▸"):
        assert ASCII.text(text).isascii()
        assert "?" not in ASCII.text(text)
    for name in ("part", "ground", "limit", "zero", "beyond_low", "beyond_high", "wall", "select"):
        assert getattr(ASCII, name).isascii()
