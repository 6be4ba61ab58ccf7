"""The characters that draw: a Unicode set, and a plain ASCII set for old consoles."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

_SYMBOLS = {"B": "▲", "C": "△", "D": "▽", "E": "◆", "F": "◇", "G": "○", "H": "·", "I": "■"}
_PLAIN_SYMBOLS = {"B": "!", "C": "+", "D": "v", "E": "#", "F": "=", "G": "o", "H": ".", "I": "x"}


@dataclass(frozen=True, slots=True)
class Glyphs:
    """One set of characters; every one is one cell wide."""

    name: str
    symbols: Mapping[str, str]
    """Alarm state letter to a shape of its own."""
    part: str
    """Fills of a bar from thin to full."""
    ground: str
    """Empty part of a bar."""
    limit: str
    """Where a limit stands on a bar."""
    zero: str
    beyond_low: str
    """The value lies left of the scale."""
    beyond_high: str
    wall: str
    """Vertical line."""
    select: str
    """Marks the selected row."""
    curves: str
    """In the plain set: one mark a curve; empty: curves are drawn in dots."""
    samples: str
    """A piece of each curve, to stand beside its name."""

    @property
    def plain(self) -> bool:
        """Only ASCII."""
        return bool(self.curves)

    def text(self, words: str) -> str:
        """Return `words` in what this set can show; what it cannot becomes ``?``."""
        if not self.plain:
            return words
        for fancy, simple in _SIMPLE:
            words = words.replace(fancy, simple)
        return words.encode("ascii", "replace").decode("ascii")


_SIMPLE = (("m³", "m3"), ("³", "3"), ("°", " "), ("·", "."), ("▸", ">"),
           ("…", ".."))  # fmt: skip

UNICODE = Glyphs("unicode", _SYMBOLS, "╸━", "─", "┃", "│", "◂", "▸", "│", "▸", "", "⡇⠅")
ASCII = Glyphs("ascii", _PLAIN_SYMBOLS, "#", "-", "|", ":", "<", ">", "|", ">", "*+", "*+")


def choose(terminal: str, encoding: str | None, *, plain: bool = False) -> Glyphs:
    """Choose a set for a terminal.

    Parameters
    ----------
    terminal : str
        The variable TERM. The Linux console has 512 glyphs and lacks the dots.
    encoding : str or None
        Encoding of the stream that is drawn on (textual draws on stderr).
    plain : bool
        A person asked for ASCII.
    """
    utf8 = (encoding or "").lower().replace("-", "").replace("_", "") in {"utf8", "utf8sig"}
    return ASCII if plain or terminal == "linux" or not utf8 else UNICODE
