"""Two quiet themes. Grey is normal; colour is kept for what is not, and never stands alone."""

from __future__ import annotations

from dataclasses import dataclass, fields

from rich.style import Style
from textual.theme import Theme


@dataclass(frozen=True, slots=True)
class Palette:
    """Colours by what they mean; an alarm is a (foreground, background) pair."""

    name: str
    dark: bool
    background: str
    text: str
    """Values."""
    label: str
    """Words around the values."""
    graphic: str
    """Bars, rules and the second curve."""
    faint: str
    """Decoration that carries nothing: the ground of a bar."""
    changed: str
    """Value out of its limits or in doubt."""
    alarm_1: tuple[str, str]
    alarm_2: tuple[str, str]
    alarm_3: tuple[str, str]
    notice: tuple[str, str]
    """A condition of the program itself: synthetic, replay, no value."""

    def styles(self) -> dict[str, Style]:
        """Return a style for every role; each has both colours, as painting demands."""
        paper = self.background
        plain = {"text": self.text, "label": self.label, "graphic": self.graphic}
        plain |= {"faint": self.faint, "changed": self.changed}
        out = {name: Style(color=color, bgcolor=paper) for name, color in plain.items()}
        out["strong"] = Style(color=self.text, bgcolor=paper, bold=True)
        out["changed"] = Style(color=self.changed, bgcolor=paper, bold=True)
        out["curve_0"] = Style(color=self.text, bgcolor=paper)
        out["curve_1"] = Style(color=self.graphic, bgcolor=paper)
        out["state"] = Style(color=paper, bgcolor=self.label, bold=True)
        for name in ("alarm_1", "alarm_2", "alarm_3", "notice"):
            fore, back = getattr(self, name)
            out[name] = Style(color=fore, bgcolor=back, bold=True)
        return out

    def textual(self) -> Theme:
        """Return the theme for the framework's own widgets."""
        return Theme(
            name=self.name,
            primary=self.label,
            secondary=self.label,
            accent=self.text,
            warning=self.changed,
            error=self.changed,
            success=self.label,
            foreground=self.text,
            background=self.background,
            surface=self.background,
            panel=self.background,
            dark=self.dark,
        )


LANTERN = Palette(
    "lantern", True, "#0e1113", "#dfe3e6", "#a3abb1", "#7d868d", "#343a3f", "#ffc24d",
    ("#ffffff", "#a5001c"), ("#101010", "#ffb21a"), ("#101010", "#8fd3e8"), ("#0e1113", "#b9c0c5"),
)  # fmt: skip
"""For the night: dim paper, light ink."""
NOON = Palette(
    "noon", False, "#f4f4f0", "#14181b", "#41484d", "#6b747a", "#cfd2cf", "#7a3b00",
    ("#ffffff", "#a5001c"), ("#101010", "#ffb21a"), ("#101010", "#8fd3e8"), ("#f4f4f0", "#41484d"),
)  # fmt: skip
"""For daylight on the glass."""
PALETTES = {palette.name: palette for palette in (LANTERN, NOON)}


def contrast(one: str, other: str) -> float:
    """Return the contrast ratio of two ``#rrggbb`` colours, 1 to 21.

    References
    ----------
    .. [1] W3C, Web Content Accessibility Guidelines 2.1, definitions of contrast ratio and
       relative luminance.
    """
    bright, dim = sorted((_luminance(one), _luminance(other)), reverse=True)
    return (bright + 0.05) / (dim + 0.05)


def _luminance(color: str) -> float:
    parts = (int(color[i : i + 2], 16) / 255 for i in (1, 3, 5))
    linear = (c / 12.92 if c <= 0.03928 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    return sum(w * c for w, c in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


def roles() -> tuple[str, ...]:
    """Return the names of all palette fields that are colours."""
    return tuple(f.name for f in fields(Palette) if f.name not in ("name", "dark"))
