"""The cards of the doghouse: MAASP of each casing, fill card, slow rates."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from engine.config import WellConfig
from engine.errors import InputError
from engine.well.answer import Unknown
from engine.well.cards import Card, CardInput, CardOutput, checked, post
from engine.well.fill_card import CardLine, Fill, fill_card
from engine.well.kill_calculations import CALCULATIONS
from engine.well.sheet import EXACT, FIELD, METRIC, ConstantSet
from engine.well.shoe import no_margin
from engine.well.slow_rates import RULES, Present, Rules, SlowRates, age, newest, stale

BY_NAME = {c.name: c for c in CALCULATIONS}
STEEL_LIMITS = {"bop_rating": 1.0, "casing_burst": 0.7}
"""Share of a strength that may be used; 70 % of burst is common practice, from memory. [-]"""
TAILS = {EXACT.name: "", FIELD.name: "-field", METRIC.name: "-metric"}


def maasp_card(
    cs: ConstantSet, string: str, inputs: Sequence[CardInput], made_by: str, made_at: float
) -> Card:
    """Return the card of one casing `string`; inputs as of the ``maasp`` calculation.

    With ``bop_rating`` or ``casing_burst`` among the inputs it also shows the lesser of the
    rating and 70 % of the burst.

    Raises
    ------
    InputError
        As `post`.
    """
    title = f"MAASP, {string}"
    own = checked(title, inputs)
    steel = {i.name: i.value for i in own if i.name in STEEL_LIMITS}
    for i in own:
        if i.name in STEEL_LIMITS and (i.quantity != "pressure" or not i.value > 0):
            raise InputError(
                f"card {title!r}: {i.name} must be a pressure above 0, not {i.value:g}"
            )
    shoe = [i for i in own if i.name not in STEEL_LIMITS]
    card = post(title, BY_NAME["maasp" + TAILS[cs.name]], shoe, made_by, made_at, cs.name)
    outputs = _on_paper(cs, card.outputs)
    notes = ["A full column of this mud is assumed; no limit once the influx is above the shoe."]
    value = {i.name: i.value for i in shoe}
    if no_margin(value["highest_mud_weight"], value["mud_weight"]):
        notes.insert(0, "No margin: the mud is at or above the highest the shoe stands.")
    if steel:
        lesser = min(STEEL_LIMITS[name] * pressure for name, pressure in steel.items())
        outputs += (CardOutput("most the steel stands", lesser, "pressure"),)
    if missing := sorted(set(STEEL_LIMITS) - set(steel)):
        notes.append(f"Not given, so not looked at: {', '.join(missing)}.")
    return replace(card, inputs=own, outputs=outputs, notes=tuple(notes))


def fill_outputs(lines: Sequence[CardLine]) -> tuple[CardOutput, ...]:
    """Return stands before filling, fill then, fill for each stand, of every part of the string.

    Ways of pulling a part that need the same fill share one line.
    """
    ways: dict[tuple[str, Fill | Unknown], list[str]] = {}
    for line in lines:
        how = "float holds" if line.float_holds else ("wet" if line.wet else "dry")
        names = ways.setdefault((line.part, line.fill), [])
        if how not in names:
            names.append(how)
    found: list[CardOutput] = []
    for (part, fill), names in ways.items():
        name = f"{part}, {' or '.join(names)}"
        if isinstance(fill, Unknown):
            found.append(CardOutput(f"{name}: stands before filling", fill, "count"))
            continue
        found += [
            CardOutput(f"{name}: stands before filling", fill.allowed, "count"),
            CardOutput(f"{name}: fill then", fill.volume, "volume"),
            CardOutput(f"{name}: each stand", fill.each, "volume"),
        ]
    return tuple(found)


def fill_post(config: WellConfig, mud: CardInput, made_by: str, made_at: float) -> Card:
    """Return the fill card of the well (75 psi or five stands, the smaller fall).

    Parameters
    ----------
    config : WellConfig
        String, hole and stands; they become inputs of the card, from the well file.
    mud : CardInput
        ``mud_weight``.
    made_by : str
    made_at : float
        [s] UTC

    Raises
    ------
    InputError
        If `mud` is no mud weight above 0.
    """
    if mud.name != "mud_weight" or mud.quantity != "density" or not mud.value > 0:
        raise InputError(f"fill card: needs a mud_weight above 0, not {mud.name} {mud.value:g}")

    def from_file(name: str, text: str, value: float, quantity: str = "length") -> CardInput:
        who = f"file of {config.well}"
        return CardInput(name, text, value, quantity, who, made_at, "well file")

    inputs = [mud, from_file("stand_length", "stand", config.rig.stand_length)]
    if config.hole:
        top = config.hole[0]
        inputs.append(from_file("hole_diameter", f"bore of {top.name}", top.diameter))
    for number, part in enumerate(config.string, 1):
        inputs += [
            from_file(f"bore_{number}", f"bore of {part.name}", part.inner),
            from_file(f"weight_{number}", f"weight of {part.name}", part.weight, "linear_weight"),
        ]
    notes = ["Fill before 75 psi is lost or every five stands, whichever comes first."]
    notes += ["0 stands: fill continuously."]
    outputs = fill_outputs(fill_card(config, mud.value))
    return Card(
        "Fill card", EXACT.name, checked("Fill card", inputs), outputs, tuple(notes),
        "30 CFR 250.456(c)", made_by, made_at,
    )  # fmt: skip


def slow_rate_card(log: SlowRates, present: Present, made_by: str, rules: Rules = RULES) -> Card:
    """Return the newest reading of each pump and rate, with its age and why it is stale.

    Its inputs are the readings themselves: pressure, mud and depth of each, who and when.
    """
    inputs: list[CardInput] = []
    outputs: list[CardOutput] = []
    out_of_date: list[str] = []
    for r in newest(log):
        name = f"pump {r.pump}, {r.rate * 60:.0f} spm"
        outputs.append(CardOutput(name, r.pressure, "pressure"))
        outputs.append(CardOutput(f"{name}: age", age(r, present.at), "time", "h", 1))
        if reasons := stale(r, present, rules):
            out_of_date.append(f"{name}: {', '.join(reasons)}")
        for what, value, quantity, within in (
            ("pressure", r.pressure, "pressure", 0.0),
            ("mud", r.mud, "density", rules.mud),
            ("depth", r.depth, "length", rules.depth),
        ):
            key = f"{what} {name}"
            inputs.append(CardInput(key, f"{name}: {what}", value, quantity, r.who, r.at,
                                    tolerance=within))  # fmt: skip
    notes = () if log else ("No slow rates read: ICP and FCP are unknown.",)
    return Card(
        "Slow rates", EXACT.name, tuple(inputs), tuple(outputs), notes, "readings of the crew",
        made_by, present.at, tuple(out_of_date),
    )  # fmt: skip


def _on_paper(cs: ConstantSet, outputs: Sequence[CardOutput]) -> tuple[CardOutput, ...]:
    """Return outputs that read as on the sheet of `cs`."""
    if cs.rounding is None:
        return tuple(outputs)
    limit = cs.rounding.limit
    return tuple(replace(o, unit=cs.units.get(o.quantity, ""), decimals=limit) for o in outputs)
