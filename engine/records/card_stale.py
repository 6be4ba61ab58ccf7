"""What has changed since a card was entered: with anything, the card is STALE (R-67).

Nothing is worked out anew: a person enters a new card. A screen, a report and the command line
ask here, each with what it knows of the present.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from engine.block import Table
from engine.config import WellConfig
from engine.ops.primitives import NAN
from engine.records.card_book import CardBook, Entered, string_name
from engine.well.answer import Unknown
from engine.well.card_text import shown
from engine.well.cards import Card, CardInput, Changed, changed
from engine.well.posted import fill_post, slow_rate_card
from engine.well.pumps import stroke_volume
from engine.well.slow_rates import RULES, Present, exponent, picked, stale

RECENT_S = 60.0
"""A sensor that has not been good for so long is not known now. [s]"""
CHANNELS = ("bit_depth", "density_in")
"""What the present is told by."""
_SAME = 1e-6  # relative


@dataclass(frozen=True, slots=True)
class Now:
    """How things stand; None where it is not known."""

    at: float
    """[s since 1970-01-01 UTC]"""
    config: WellConfig
    """The well file in force: not always that of the recording."""
    bit_depth: float | None = None
    """Measured. [m]"""
    density_in: float | None = None
    """Of the mud that goes down, by its sensor. [kg/m3]"""
    tour: str | None = None
    """Date and start: ``2026-03-14 06:00``."""


@dataclass(frozen=True, slots=True)
class CardView:
    """A card with what has changed since it was entered."""

    name: str
    card: Card
    changes: tuple[Changed, ...] = ()
    pump: str = ""
    casing: str = ""

    @property
    def is_stale(self) -> bool:
        """It must not be used as it stands."""
        return bool(self.changes or self.card.stale)


def present(table: Table, at: float, config: WellConfig, tour: str | None) -> Now:
    """Return the present from the newest rows.

    Parameters
    ----------
    table : mapping
        ``bit_depth`` [m] and ``density_in`` [kg/m3], shape (n,); rows older than `RECENT_S`
        are not looked at.
    at : float
        [s since 1970-01-01 UTC]
    config : WellConfig
    tour : str or None
    """
    depth, density = (newest_good(table, channel, at) for channel in CHANNELS)
    return Now(at, config, depth, density, tour)


def newest_good(table: Table, channel: str, at: float) -> float | None:
    """Return the newest usable sample of a channel in the last minute, None if there is none."""
    block = table.get(channel)
    if block is None:
        return None
    value = block.usable()
    good = ~(value != value) & (block.t > at - RECENT_S)
    return float(value[good][-1]) if good.any() else None


def views(book: CardBook, now: Now) -> tuple[CardView, ...]:
    """Return all cards by the time they were entered, the slow rates last."""
    return (*(view(book, one, now) for one in book.cards), slow_rate_view(book, now))


def view(book: CardBook, one: Entered, now: Now) -> CardView:
    """Return one card with what has changed."""
    changes = [*_mud_changes(book, one, now), *_other_changes(book, one, now)]
    reasons = (*_file_changes(book, one, now), *_slow_rate_reasons(book, one, now))
    notes = one.card.notes
    if one.input("mud_weight") is not None and now.density_in is None:
        notes = (*notes, "Not compared with a mud density sensor: it is not known.")
    card = replace(one.card, stale=reasons, notes=notes)
    return CardView(one.name, card, tuple(changes), one.pump, one.casing)


def slow_rate_view(book: CardBook, now: Now) -> CardView:
    """Return the card of the slow rates: newest of each pump and rate, age, why it is stale."""
    log = book.slow_rates
    mud, conflict = _mud_now(book, now)
    card = slow_rate_card(log, _present(book, now, mud), log[-1].who if log else "")
    notes = [*card.notes, *conflict]
    for pump in sorted({r.pump for r in log}):
        found = exponent(log, pump)
        how = "assumed: no two rates to fit it on" if found.assumed else "fitted on two rates"
        notes.append(f"Pump {pump}: pressure goes with the rate to the power {found.value:.2f} "
                     f"({how}).")  # fmt: skip
    made = log[-1].at if log else now.at
    return CardView("slow-rate", replace(card, notes=tuple(notes), made_at=made))


def reading_reasons(book: CardBook, now: Now) -> tuple[tuple[str, ...], ...]:
    """Return why each slow rate of the log is stale, in its order; empty while it holds."""
    there = _present(book, now, _mud_now(book, now)[0])
    return tuple(stale(r, there) for r in book.slow_rates)


def _present(book: CardBook, now: Now, mud: float | None) -> Present:
    same_string = now.config.string == book.config.string
    last = book.slow_rates[-1].string if book.slow_rates else string_name(now.config)
    return Present(
        mud,
        now.bit_depth,
        {p.name: stroke_volume(p) for p in now.config.pumps},
        last if same_string else f"the well file: {string_name(now.config)}",
        now.tour,
        now.at,
    )


def _mud_now(book: CardBook, now: Now) -> tuple[float | None, tuple[str, ...]]:
    """Return the present mud weight, None and a note where its sources disagree."""
    entered = book.mud
    told = now.config.mud.density if _other_mud(book, now) or entered is None else entered.density
    if now.density_in is None or abs(now.density_in - told) <= RULES.mud:
        return told, ()
    units = now.config.display_units()
    a, b = shown(told, "density", units), shown(now.density_in, "density", units)
    return None, (f"Mud weight: {a} as entered, but {b} by the sensor (density_in).",)


def _other_mud(book: CardBook, now: Now) -> bool:
    return now.config.mud.density != book.config.mud.density


def _mud_changes(book: CardBook, one: Entered, now: Now) -> Iterator[Changed]:
    """Yield the mud weight if a person, the well file or the sensor says another one now."""
    mud = one.input("mud_weight")
    if mud is None:
        return
    entered = book.mud
    told: list[tuple[float, str, float]] = []
    if _other_mud(book, now):
        told.append((now.config.mud.density, "well file", mud.tolerance))
    # A model of the well file is not made anew by a person's entry, whenever that was.
    of_file = mud.origin == "well file"
    if entered is not None and (of_file or entered.at > one.card.made_at):
        told.append((entered.density, f"as entered by {entered.who}", mud.tolerance))
    if now.density_in is not None:
        told.append((now.density_in, "channel density_in", RULES.mud))
    for value, origin, within in told:
        if abs(value - mud.value) > within + _SAME * mud.value:
            yield Changed(mud, value, origin)
            return


def _other_changes(book: CardBook, one: Entered, now: Now) -> Iterator[Changed]:
    """Yield inputs other than the mud: bit depth, slow rate, numbers of the well file."""
    there: dict[str, float | None] = {}
    origins: dict[str, str] = {}
    if one.name != "standpipe" and one.input("bit_depth") is not None:  # the model knows depth
        there["bit_depth"], origins["bit_depth"] = now.bit_depth, "channel bit_depth"
    rate, slow = one.input("slow_rate"), one.input("slow_pressure")
    if one.pump and rate is not None and slow is not None:
        newest = picked(book.slow_rates, [one.pump], rate.value)
        if not isinstance(newest, Unknown) and newest.at > one.card.made_at:
            there["slow_pressure"] = newest.pressure
            origins["slow_pressure"] = f"as read by {newest.who}"
    if one.name == "fill-card":
        mud = one.input("mud_weight")
        fresh = _fill_inputs(now.config, mud) if mud else {}
        for i in one.card.inputs:
            if i.origin == "well file":
                there[i.name], origins[i.name] = fresh.get(i.name, NAN), "well file"
    for change in changed(one.card, there):
        yield replace(change, origin=origins[change.input.name])


def _fill_inputs(config: WellConfig, mud: CardInput) -> dict[str, float]:
    return {i.name: i.value for i in fill_post(config, mud, mud.who, mud.at).inputs}


_PARTS = {"string": "the string", "hole": "the hole", "survey": "the survey", "bit": "the bit"}
_STANDS_ON = {
    "kill-sheet": ("string", "hole", "survey"),
    "maasp": ("hole", "survey"),
    "fill-card": ("string", "hole"),
    "standpipe": ("string", "hole", "survey", "bit"),
}
"""Subject of a card to the tables of the well file that it depends on."""


def _file_changes(book: CardBook, one: Entered, now: Now) -> Iterator[str]:
    """Yield what the well file in force says otherwise than the one it was entered with."""
    subject = one.name.removesuffix("-field").removesuffix("-metric")
    for part in _STANDS_ON[subject]:
        if getattr(book.config, part) != getattr(now.config, part):
            yield f"well file: {_PARTS[part]} changed"
    if one.pump:
        before = {p.name: stroke_volume(p) for p in book.config.pumps}[one.pump]
        after = {p.name: stroke_volume(p) for p in now.config.pumps}.get(one.pump)
        units = now.config.display_units()
        if after is None:
            yield f"well file: there is no pump {one.pump} any more"
        elif abs(after - before) > _SAME * before:
            a, b = shown(before, "volume", units), shown(after, "volume", units)
            yield f"well file: output of pump {one.pump} was {a}, now {b} (liner or efficiency)"


def _slow_rate_reasons(book: CardBook, one: Entered, now: Now) -> Iterator[str]:
    """Yield why the slow rate under a kill sheet no longer holds, or that there is one now."""
    if not one.pump:
        return
    slow = one.input("slow_pressure")
    if slow is None:
        rate = one.input("slow_rate")
        found = picked(book.slow_rates, [one.pump], rate.value if rate else None)
        if not isinstance(found, Unknown):
            yield f"a slow rate of pump {one.pump} has been read since"
    elif slow.origin == "slow-rate log":
        for r, reasons in zip(book.slow_rates, reading_reasons(book, now), strict=True):
            if r.pump == one.pump and r.at == slow.at and r.pressure == slow.value and reasons:
                yield f"slow rate of pump {one.pump}: {', '.join(reasons)}"
