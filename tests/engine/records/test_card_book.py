"""Cards that people enter: kept as entered, each constant set apart, refused in words (R-67).

30 CFR 250.456(c) and (f): fill volumes and highest surface pressures are posted, with inputs.
"""

from __future__ import annotations

from dataclasses import replace
from math import inf, nan
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.commands import Command, EnterCard, EnterSlowRate, EnterStandpipe, Issued
from engine.engine import Engine
from engine.errors import InputError, RecordingError
from engine.events import Frame
from engine.interfaces import JournalLine
from engine.records import codec
from engine.records.card_book import CardBook, Entered
from engine.records.journal import Entry, read
from engine.units import FT, PPG, PSI
from engine.well.answer import Unknown
from engine.well.cards import CAUTION
from engine.well.kill_calculations import SHEET_INPUTS
from tests.engine.well.test_kill_calculations import WELL
from tests.tables import well

AT = 1_780_000_000.0
CONFIG = well()
CASING = "casing 9 5/8"
SLOW = EnterSlowRate("1", 40 / 60, 600 * PSI, 10.5 * PPG, 3000.0, "2026-05-28 18:00", "BHA 4")
LIMIT = EnterCard(
    "maasp-field",
    {"highest_mud_weight": 15.5 * PPG, "mud_weight": 10 * PPG, "shoe_tvd": 5000 * FT},
    casing=CASING,
)
FILL = EnterCard("fill-card", {"mud_weight": 10 * PPG})


def sheet(card: str = "kill-sheet-field", pump: str = "1", **other: float | None) -> EnterCard:
    """Return the invented well of the field sheet, its slow rate left to the log."""
    values: dict[str, Any] = {i.name: WELL[i.name] for i in SHEET_INPUTS} | {"bit_depth": 3048.0}
    values |= {"slow_pressure": None, "slow_rate": None} | other
    return EnterCard(card, {n: v for n, v in values.items() if v is not None}, pump)


def issued(command: Command, at: float = AT, who: str = "Ines") -> Issued:
    return Issued(at, command, who, "doghouse")


def book_of(*commands: Command, config: Any = CONFIG) -> CardBook:
    book = CardBook(config)
    for i, command in enumerate(commands):
        book = book.taken(issued(command, AT + 60 * i))
    return book


def card_of(book: CardBook, name: str) -> Entered:
    (found,) = book.newest(name)
    return found


def result(one: Entered, text: str) -> float | Unknown:
    return next(o.value for o in one.card.outputs if o.text == text)


def psi(one: Entered, text: str) -> float:
    value = result(one, text)
    assert not isinstance(value, Unknown), value.reason
    return value / PSI


def engine() -> Engine:
    return Engine(CONFIG, Entry(AT - 1, "watch", CONFIG.well, "start"))


def test_a_kill_sheet_takes_the_slow_rate_of_the_pump_on_line() -> None:
    """By hand, IADC WellSharp field sheet: 600 + 400 psi; 600 x 11.3 / 10.5 = 645.7 psi."""
    one = card_of(book_of(SLOW, sheet()), "kill-sheet-field")
    assert psi(one, "ICP") == pytest.approx(1000)
    assert psi(one, "FCP") == pytest.approx(646)
    slow = one.input("slow_pressure")
    assert slow is not None
    assert (slow.who, slow.at, slow.origin) == ("Ines", AT, "slow-rate log")
    assert "Pump 1 on line." in one.card.notes
    assert any("as typed is not that of the well file" in note for note in one.card.notes)


def test_without_a_slow_rate_of_the_pump_on_line_icp_and_fcp_are_unknown() -> None:
    """G28: the reading of pump 1 does not take the place of the missing one of pump 2."""
    one = card_of(book_of(SLOW, sheet(pump="2")), "kill-sheet-field")
    for text in ("ICP", "FCP", "time, surface to bit", "schedule"):
        assert isinstance(result(one, text), Unknown), text
    assert psi(one, "formation pressure") == pytest.approx(5860)
    assert "Slow rate: no slow rate read for pump 2." in one.card.notes
    other_rate = card_of(book_of(SLOW, sheet(slow_rate=0.5)), "kill-sheet-field")
    assert isinstance(result(other_rate, "ICP"), Unknown)


def test_a_slow_rate_that_is_typed_is_not_taken_from_the_log() -> None:
    typed = sheet(slow_pressure=650 * PSI, slow_rate=40 / 60)
    assert psi(card_of(book_of(SLOW, typed), "kill-sheet-field"), "ICP") == pytest.approx(1050)


def test_the_output_of_the_pump_comes_from_the_well_file_if_it_is_not_typed() -> None:
    one = card_of(book_of(SLOW, sheet(stroke_volume=None)), "kill-sheet-field")
    output = one.input("stroke_volume")
    assert output is not None
    assert output.origin == "well file"
    # 3 pi/4 (6.5 in)^2 12 in 0.97, by hand
    assert output.value == pytest.approx(3 * 0.785398 * 0.1651**2 * 0.3048 * 0.97, rel=1e-5)


def test_sheets_and_exact_cards_are_kept_apart() -> None:
    """10.5 + 400/(0.052 x 10,000) = 11.269 ppg: 11.3 on the sheet, not rounded when exact."""
    book = book_of(SLOW, sheet("kill-sheet"), sheet("kill-sheet-field"), sheet("kill-sheet-metric"))
    found = {n: card_of(book, n) for n in ("kill-sheet", "kill-sheet-field", "kill-sheet-metric")}
    assert [one.card.constants for one in found.values()] == [
        "exact", "field sheet", "metric sheet",
    ]  # fmt: skip
    kill = {name: result(one, "kill mud weight") for name, one in found.items()}
    assert kill["kill-sheet-field"] == pytest.approx(11.3 * PPG)
    assert kill["kill-sheet"] == pytest.approx(11.27 * PPG, abs=0.002 * PPG)
    assert kill["kill-sheet-metric"] == pytest.approx(1360)
    again = book.taken(issued(sheet("kill-sheet", sidpp=500 * PSI), AT + 900, "Ola"))
    assert card_of(again, "kill-sheet-field") == found["kill-sheet-field"]
    sidpp = card_of(again, "kill-sheet").input("sidpp")
    assert sidpp is not None
    assert (sidpp.who, sidpp.previous) == ("Ola", pytest.approx(400 * PSI))


def test_each_casing_string_has_its_own_card() -> None:
    """30 CFR 250.456(f): for each casing string; (15.5 - 10) 0.052 x 5000 = 1430 psi by hand."""
    hole = [
        {"name": "surface", "bottom_m": 400.0, "diameter_in": 12.415},
        {"name": "intermediate", "top_m": 400.0, "bottom_m": 1180.0, "diameter_in": 8.681},
        {"name": "open", "top_m": 1180.0, "diameter_in": 8.5},
    ]
    one, two = (replace(LIMIT, casing=name) for name in ("surface", "intermediate"))
    book = book_of(one, two, one, config=well(hole=hole))
    found = book.newest("maasp-field")
    assert [c.casing for c in found] == ["intermediate", "surface"]
    assert psi(found[0], "with a full column of this mud") == pytest.approx(1430)
    with pytest.raises(InputError, match="there is surface, intermediate"):
        book.taken(issued(replace(one, casing="open")))


def test_every_card_names_inputs_people_times_origins_and_the_caution() -> None:
    """R-66, R-67."""
    taken = replace(LIMIT, origins={"mud_weight": "channel density_in"})
    reading = EnterStandpipe(11e6, 0.045, 2400.0)
    for one in book_of(SLOW, sheet(), taken, FILL, reading).cards:
        assert one.card.caution == CAUTION
        assert one.card.made_by == "Ines"
        assert all(i.who and i.at >= AT for i in one.card.inputs), one.name
    mud = card_of(book_of(taken), "maasp-field").input("mud_weight")
    assert mud is not None
    assert mud.origin == "channel density_in"
    left_out = card_of(book_of(sheet(collar_length=None)), "kill-sheet-field").input(
        "collar_length"
    )
    assert left_out is not None
    assert (left_out.value, left_out.origin) == (0.0, "not given")


def test_in_a_deviated_well_the_schedule_follows_the_survey() -> None:
    """The standard deviated sheet, from memory: 981.7 psi at 3000 ft, a straight line has 1015.

    12,000 ft measured, 9000 ft true, vertical to 3000 ft; SIDPP 400, slow pressure 700 psi.
    """
    survey = [{"md_ft": 3000.0, "tvd_ft": 3000.0}, {"md_ft": 12000.0, "tvd_ft": 9000.0}]
    bent = sheet(tvd=9000 * FT, bit_depth=12000 * FT, slow_pressure=700 * PSI, slow_rate=40 / 60)
    one = card_of(book_of(bent, config=well(survey=survey)), "kill-sheet-field")
    rows = [o for o in one.card.outputs if o.text.startswith("at ")]
    assert [psi(one, o.text) for o in rows] == pytest.approx([1100, 982, 760])
    assert isinstance(result(one, "fall in 100 strokes"), Unknown)
    assert any("follows the survey" in note for note in one.card.notes)


REFUSED = [
    (replace(LIMIT, card="maasp-imperial"), "no card 'maasp-imperial'; there are kill-sheet"),
    (replace(LIMIT, casing="liner"), "no casing 'liner' in the well file"),
    (replace(LIMIT, pump="1"), "it takes no pump"),
    (replace(LIMIT, inputs={}), "mud_weight is missing (mud in the hole)"),
    (replace(LIMIT, inputs=LIMIT.inputs | {"mud": 1.0}), "no input 'mud'; it takes"),
    (replace(LIMIT, inputs=LIMIT.inputs | {"mud_weight": 0.0}), "mud_weight is 0 kg/m³; it must "
     "be above 0 (mud in the hole)"),
    (replace(LIMIT, inputs=LIMIT.inputs | {"mud_weight": 12000.0}), "it must be at most 3000"),
    (replace(LIMIT, inputs=LIMIT.inputs | {"mud_weight": nan}), "mud_weight is nan"),
    (replace(LIMIT, inputs=LIMIT.inputs | {"shoe_tvd": inf}), "shoe_tvd is inf"),
    (replace(FILL, inputs={"mud_weight": -1.0}), "it must be above 0"),
    (sheet(pump="9"), "no pump '9' in the well file; there are 1, 2"),
    (sheet(sidpp=-1.0), "sidpp is -1 Pa; it must be 0 or more"),
    (sheet(sidpp=2e8), "it must be at most 1e+08 Pa"),
    (sheet(shoe_tvd=4000.0), "the shoe is deeper than the hole"),
    (sheet(slow_pressure=4e6), "slow_pressure without its slow_rate"),
    (sheet(pump="", stroke_volume=None), "stroke_volume is missing"),
    (sheet(bit_depth=None), "bit_depth is missing"),
    (replace(SLOW, pump="3"), "no pump '3' in the well file"),
    (replace(SLOW, rate=0.0), "rate is 0 1/s; it must be above 0"),
    (replace(SLOW, pressure=nan), "pressure is nan"),
    (replace(SLOW, tour=" "), "tour is empty"),
    (EnterStandpipe(0.0, 0.045, 2400.0), "pressure is 0 Pa; it must be above 0"),
    (EnterStandpipe(90e6, 0.045, 2400.0), "times the model's; check its unit"),
]  # fmt: skip


@pytest.mark.parametrize(("command", "why"), REFUSED, ids=lambda x: x if isinstance(x, str) else "")
def test_what_cannot_be_is_refused_in_words_and_the_journal_says_so(
    command: Command, why: str
) -> None:
    watch = engine()
    _, lines = watch.take([issued(command)])
    told = read(lines[-1])
    assert told["event"] == "given"
    assert why in told["refused"]
    assert watch.cards == CardBook(CONFIG)
    assert CardBook(CONFIG).folded(lines) == watch.cards


@pytest.mark.parametrize(
    ("command", "name", "channel"),
    [
        (sheet(), "sidpp", "standpipe_pressure"),
        (sheet(), "sicp", "annulus_pressure"),
        (LIMIT, "mud_weight", "standpipe_pressure"),
    ],
)
def test_no_live_pressure_fills_in_a_well_control_number(
    command: EnterCard, name: str, channel: str
) -> None:
    with pytest.raises(InputError, match=f"{name} comes from {channel}; a pressure is read"):
        book_of(replace(command, origins={name: f"channel {channel}"}))


@pytest.mark.parametrize("origin", ["density_in", "channel mud", "channel gas", "somebody"])
def test_an_origin_must_be_a_channel_that_measures_it(origin: str) -> None:
    with pytest.raises(InputError, match="maasp-field: mud_weight"):
        book_of(replace(LIMIT, origins={"mud_weight": origin}))


def test_a_card_that_nobody_entered_is_refused() -> None:
    with pytest.raises(InputError, match="nobody is named"):
        CardBook(CONFIG).taken(issued(FILL, who=" "))


NUMBER = st.floats() | st.sampled_from([0.0, 1e-300, 1e300, 1000.0, -0.0])


@given(
    st.sampled_from(["kill-sheet", "kill-sheet-field", "maasp", "maasp-metric", "fill-card"]),
    st.dictionaries(st.sampled_from([*WELL, "bit_depth"]), NUMBER),
    st.sampled_from(["", "1", "7"]),
    st.sampled_from(["", CASING]),
)
def test_no_number_brings_the_watch_down(
    name: str, changes: dict[str, float], pump: str, casing: str
) -> None:
    base = {"maasp": LIMIT.inputs, "fill": FILL.inputs}.get(name.split("-")[0], sheet().inputs)
    command = EnterCard(name, {n: changes.get(n, v) for n, v in base.items()} | changes, pump)
    watch = engine()
    watch.take([issued(replace(command, casing=casing)), issued(EnterStandpipe(
        changes.get("sidpp", 11e6), changes.get("slow_rate", 0.045), 2400.0), AT + 1)])  # fmt: skip


def test_a_watch_that_goes_on_has_the_cards_and_the_journal_tells_the_same() -> None:
    """They are in the recorded inputs; a screen folds the journal, line by line or at once."""
    events = [issued(c, AT + i) for i, c in enumerate([SLOW, sheet(), LIMIT, FILL, sheet()])]
    first = engine()
    _, lines = first.take([Frame(AT - 0.5, "rig", {"0108": 2400.0}), *events])
    kept = [codec.decode_event(codec.encode_event(event)) for event in events]
    second = engine()
    for event in kept:
        second.take([event])
    assert second.cards == first.cards
    assert len(first.cards.cards) == 3
    assert CardBook(CONFIG).folded(lines) == first.cards
    half = CardBook(CONFIG).folded(lines[:4])
    assert half != first.cards
    assert half.folded(lines[4:]) == first.cards


def test_a_damaged_line_of_the_journal_is_named() -> None:
    _, lines = engine().take([issued(FILL)])
    broken = JournalLine(2, AT, lines[1].text.replace("inputs_si", "inputs"))
    with pytest.raises(RecordingError, match="journal line 2: damaged: it lacks 'inputs_si'"):
        CardBook(CONFIG).folded([broken])
    other = JournalLine(2, AT, lines[1].text.replace("fill-card", "fill-bard"))
    with pytest.raises(RecordingError, match="journal line 2: no card 'fill-bard'"):
        CardBook(CONFIG).folded([other])
