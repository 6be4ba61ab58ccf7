"""The cards of a recording as text and as JSON values."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from textwrap import wrap
from typing import Any

from engine.records.card_book import SAME_MUD, CardBook
from engine.records.card_stale import CardView, Now, reading_reasons
from engine.records.journal import iso
from engine.units import HOUR, units_of
from engine.well.answer import Answer, Unknown
from engine.well.card_text import WIDTH, card_lines, shown
from engine.well.cards import CAUTION, CardInput, Changed
from engine.well.slow_rates import SlowRate, age, exponent


def cards_text(found: Sequence[CardView], book: CardBook, now: Now) -> str:
    """Return the cards one after another, then the log of slow rates, as lines of text."""
    units = now.config.display_units()
    lines = [f"{now.config.well}, cards at {_minute(now.at)}"]
    for one in found:
        lines += ["", *card_lines(one.card, units, one.changes)]
    if book.slow_rates:
        lines += ["", *log_lines(book, now)]
    return "\n".join(lines) + "\n"


def log_lines(book: CardBook, now: Now) -> Iterator[str]:
    """Yield every slow rate that was read, under its tour and mud, with age and what changed."""
    units = now.config.display_units()
    yield "Slow rates as they were read"
    last: SlowRate | None = None
    for r, reasons in zip(book.slow_rates, reading_reasons(book, now), strict=True):
        if last is None or last.tour != r.tour or abs(last.mud - r.mud) > SAME_MUD:
            yield f"  tour {r.tour}, mud {shown(r.mud, 'density', units)}"
        last = r
        old = age(r, now.at)
        ago = old.reason if isinstance(old, Unknown) else f"{old / HOUR:.1f} h ago"
        rate, pressure = shown(r.rate, "stroke_rate", units), shown(r.pressure, "pressure", units)
        yield f"    {_minute(r.at)}, {ago}: pump {r.pump}, {rate}, {pressure}  {r.who}"
        more = f"bit at {shown(r.depth, 'length', units)}, {r.string}"
        yield from wrap(more, WIDTH, initial_indent=" " * 6, subsequent_indent=" " * 8)
        if reasons:
            why = f"! STALE: {', '.join(reasons)}"
            yield from wrap(why, WIDTH, initial_indent=" " * 6, subsequent_indent=" " * 8)


def as_json(found: Sequence[CardView], book: CardBook, now: Now, recording: str) -> dict[str, Any]:
    """Return the cards as JSON values.

    Times are ISO 8601 UTC, numbers SI with their unit; what is not known is None. Keys:
    recording, well, now, stale (of any card), cards, slow_rates, exponents, caution.
    """
    reasons = reading_reasons(book, now)
    return {
        "recording": recording,
        "well": now.config.well,
        "now": iso(now.at),
        "stale": any(one.is_stale for one in found),
        "cards": [_card(one) for one in found],
        "slow_rates": [
            _slow_rate(r, now.at, why) for r, why in zip(book.slow_rates, reasons, strict=True)
        ],
        "exponents": {
            pump: {"value": e.value, "assumed": e.assumed}
            for pump in sorted({r.pump for r in book.slow_rates})
            for e in [exponent(book.slow_rates, pump)]
        },
        "caution": CAUTION,
    }


def _card(one: CardView) -> dict[str, Any]:
    card = one.card
    return {
        "card": one.name,
        "title": card.title,
        "constants": card.constants,
        "pump": one.pump or None,
        "casing": one.casing or None,
        "made_at": iso(card.made_at),
        "made_by": card.made_by,
        "stale": one.is_stale,
        "changed": [*(_change(c) for c in one.changes), *({"reason": r} for r in card.stale)],
        "outputs": [
            {"text": o.text, **_number(o.value, o.quantity)} for o in card.outputs
        ],
        "inputs": [_input(i) for i in card.inputs],
        "notes": list(card.notes),
        "source": card.source,
    }  # fmt: skip


def _change(c: Changed) -> dict[str, Any]:
    return {
        "input": c.input.name,
        "was": c.input.value,
        "now": c.now,
        "unit": _unit(c.input.quantity),
        "origin": c.origin or None,
    }


def _input(i: CardInput) -> dict[str, Any]:
    return {
        "name": i.name,
        "text": i.text,
        "value": i.value,
        "unit": _unit(i.quantity),
        "who": i.who,
        "at": iso(i.at),
        "origin": i.origin,
        "previous": i.previous,
    }


def _slow_rate(r: SlowRate, now: float, reasons: Sequence[str]) -> dict[str, Any]:
    old = age(r, now)
    return {
        "at": iso(r.at),
        "age_s": None if isinstance(old, Unknown) else round(old, 3),
        "pump": r.pump,
        "rate_per_s": r.rate,
        "pressure_Pa": r.pressure,
        "density_kg_m3": r.mud,
        "bit_depth_m": r.depth,
        "stroke_volume_m3": r.stroke_volume,
        "string": r.string,
        "tour": r.tour,
        "who": r.who,
        "stale": list(reasons),
    }


def _number(value: Answer, quantity: str) -> dict[str, Any]:
    if isinstance(value, Unknown):
        return {"value": None, "unit": _unit(quantity), "unknown": value.reason}
    return {"value": value, "unit": _unit(quantity)}


def _unit(quantity: str) -> str:
    return units_of(quantity)[0].id


def _minute(at: float) -> str:
    return iso(at)[:16].replace("T", " ") + "Z"
