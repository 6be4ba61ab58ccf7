"""A card as plain lines: what it says, what it stands on, who and when, and the caution."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import UTC, datetime
from math import floor, log10
from textwrap import wrap

from engine.units import UNITS, Unit
from engine.well.answer import Answer, Unknown
from engine.well.cards import Card, CardInput, Changed

WIDTH = 80
_MOST = 6  # decimals
NOT_KNOWN = "--"
"""Shown for an unknown number; the reason stands beside it."""
_FEET = {"capacity": "bbl_ft", "gradient": "psi_ft"}
_METRES = {"capacity": "l_m", "gradient": "kPa_m"}


def card_lines(
    card: Card, units: Mapping[str, str], changes: Sequence[Changed] = (), width: int = WIDTH
) -> tuple[str, ...]:
    """Return the card as lines of text.

    Parameters
    ----------
    card : Card
    units : mapping
        Quantity to unit id, as the well shows them.
    changes : sequence of Changed
        From `engine.well.cards.changed`; with any, the card is headed STALE.
    width : int
        Columns; no number is cut, a line grows if it must. [-]

    Returns
    -------
    tuple of str
        Times are UTC. The caution always stands last.
    """
    body: list[str] = []
    head = f"STALE  {card.title}" if changes or card.stale else card.title
    body.append(f"{head}   ({card.constants})")
    body.append(f"made {_when(card.made_at)} by {card.made_by or 'nobody named'}")
    for reason in card.stale:
        body += wrap(f"! {reason}", width, subsequent_indent="  ")
    for c in changes:
        now = NOT_KNOWN if c.now is None else shown(c.now, c.input.quantity, units)
        was = shown(c.input.value, c.input.quantity, units)
        of = f", {c.origin}" if c.origin else ""
        line = f"! {c.input.text}: was {was}, now {now}{of}"
        body += wrap(line, width, subsequent_indent="  ")
    rows = [(o.text, shown(o.value, o.quantity, units, o.unit, o.decimals)) for o in card.outputs]
    body += _columns(rows, width)
    if card.inputs:
        body.append("from")
        body += _columns([_input(i, units) for i in card.inputs], width)
    for note in card.notes:
        body += wrap(f"- {note}", width, subsequent_indent="  ")
    body += wrap(f"source: {card.source}", width, subsequent_indent="  ")
    body += wrap(card.caution, width)
    return tuple(body)


def shown(
    value: Answer,
    quantity: str,
    units: Mapping[str, str],
    unit_id: str = "",
    decimals: int | None = None,
) -> str:
    """Return a number in its unit, or dashes and why there is none.

    A number below 1 shows at least three digits that are not leading zeros: a pump output of
    0.0190 m3 is not 0.02.
    """
    if isinstance(value, Unknown):
        return f"{NOT_KNOWN} ({value.reason})"
    unit = UNITS[unit_id] if unit_id else unit_for(quantity, units)
    number = unit.from_si(value)
    places = unit.decimals if decimals is None else decimals
    if decimals is None and 0 < abs(number) < 1 and unit.quantity != "count":
        places = max(places, min(_MOST, 2 - floor(log10(abs(number)))))
    return f"{number:.{places}f} {unit.symbol}".rstrip()


def unit_for(quantity: str, units: Mapping[str, str]) -> Unit:
    """Return the unit the well reads `quantity` in; a capacity or gradient goes with the depth."""
    if quantity in units:
        return UNITS[units[quantity]]
    fallback = _FEET if units.get("length") == "ft" else _METRES
    found = fallback.get(quantity)
    return UNITS[found] if found else next(u for u in UNITS.values() if u.quantity == quantity)


def _input(i: CardInput, units: Mapping[str, str]) -> tuple[str, str]:
    before = "" if i.previous is None else f", before {shown(i.previous, i.quantity, units)}"
    origin = "" if i.origin == "person" else f", {i.origin}"
    return i.text, f"{shown(i.value, i.quantity, units)}  {i.who} {_when(i.at)}{origin}{before}"


def _columns(rows: Sequence[tuple[str, str]], width: int) -> Iterator[str]:
    """Lay out name and value; a value too long for its line goes on the next one, whole."""
    longest = max((len(text) for text, _ in rows), default=0)
    if any(longest + len(value) + 4 > width for _, value in rows):
        longest = min(longest, width // 2)
    margin = longest
    for text, value in rows:
        line = f"  {text:<{margin}}  {value}"
        if len(line) <= width:
            yield line
        else:
            yield f"  {text}"
            yield from wrap(value, width, initial_indent="    ", subsequent_indent="    ")


def _when(at: float) -> str:
    return datetime.fromtimestamp(at, UTC).strftime("%Y-%m-%d %H:%MZ")
