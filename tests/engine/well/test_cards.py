"""Posted cards: inputs, time and names stand on them, and they go stale (R-67).

30 CFR 250.456(c): stands and fill volumes posted; (f): highest shut-in pressures posted.
"""

from __future__ import annotations

import tomllib
from dataclasses import fields, replace
from math import nan
from pathlib import Path

import pytest

import adapters
from engine.config import WellConfig, parse_config
from engine.errors import InputError
from engine.units import DISPLAY, FT, PPG, PSI
from engine.well import cards
from engine.well.answer import Unknown
from engine.well.card_text import card_lines, shown
from engine.well.cards import CAUTION, Card, CardInput, changed, post
from engine.well.kill_calculations import SHEET_INPUTS, inputs_of
from engine.well.kill_card import kill_card
from engine.well.kill_schedule import Station
from engine.well.posted import BY_NAME, fill_post, maasp_card, slow_rate_card
from engine.well.sheet import EXACT, FIELD, METRIC
from engine.well.slow_rates import Present
from tests.engine.well.test_kill_calculations import WELL
from tests.engine.well.test_slow_rates import NOW, READ

AT = 1_773_468_000.0  # 2026-03-14 06:00 UTC
MUD = CardInput("mud_weight", "mud in the hole", 10 * PPG, "density", "A. Field", AT)
SHOE_TEST = CardInput(
    "highest_mud_weight", "leak-off equivalent", 15.5 * PPG, "density", "B. Tool", AT - 86400
)
SHOE = CardInput("shoe_tvd", "shoe", 5000 * FT, "length", "well file", AT, "well file")
MAASP = maasp_card(FIELD, "9 5/8 in", [MUD, SHOE_TEST, SHOE], "A. Field", AT + 60)
OILFIELD = DISPLAY["oilfield"]


def config() -> WellConfig:
    text = (Path(adapters.__file__).parent / "example_well.toml").read_text(encoding="utf-8")
    return parse_config(tomllib.loads(text), "example")


def sheet_inputs(**other: float) -> list[CardInput]:
    values = WELL | other
    return [
        CardInput(i.name, i.text, values[i.name], i.quantity, "A. Field", AT) for i in SHEET_INPUTS
    ]


def text_of(card: Card, *present: dict[str, float | None]) -> str:
    return "\n".join(card_lines(card, OILFIELD, changed(card, present[0]) if present else ()))


def every_card() -> list[Card]:
    return [
        MAASP,
        fill_post(config(), MUD, "A. Field", AT),
        slow_rate_card((READ,), NOW, "A. Field"),
        kill_card(FIELD, sheet_inputs(), "A. Field", AT),
    ]


@pytest.mark.parametrize("card", every_card(), ids=lambda card: card.title)
def test_every_card_shows_inputs_people_times_and_the_caution(card: Card) -> None:
    """R-67, R-66."""
    text = text_of(card)
    assert " ".join(text.split()).endswith(CAUTION)
    assert f"({card.constants})" in text
    assert card.inputs
    for i in card.inputs:
        assert i.text in text
        assert i.who in text
    assert "A. Field 20" in text
    assert "Z" in text
    assert "STALE" not in text
    assert max(map(len, text.splitlines())) <= 80


def test_a_changed_mud_weight_makes_the_card_stale_and_names_it() -> None:
    """L-10 of 30 CFR 250.456(f): mud from 10.0 to 10.5 ppg."""
    assert changed(MAASP, {"mud_weight": 10 * PPG}) == ()
    found = changed(MAASP, {"mud_weight": 10.5 * PPG, "shoe_tvd": 5000 * FT})
    assert [(c.input.name, c.now) for c in found] == [("mud_weight", 10.5 * PPG)]
    lines = card_lines(MAASP, OILFIELD, found)
    assert lines[0].startswith("STALE")
    assert "! mud in the hole: was 10.00 ppg, now 10.50 ppg" in lines
    again = maasp_card(
        FIELD, "9 5/8 in", [MUD.now(10.5 * PPG, "C. Rope", AT), SHOE_TEST, SHOE], "C. Rope", AT
    )
    assert changed(again, {"mud_weight": 10.5 * PPG}) == ()
    assert "before 10.00 ppg" in text_of(again)


def test_an_input_no_longer_known_makes_the_card_stale() -> None:
    for gone in (None, nan):
        assert changed(MAASP, {"mud_weight": gone})[0].now is None
    assert "! mud in the hole: was 10.00 ppg, now --" in text_of(MAASP, {"mud_weight": None})


def test_a_change_within_the_tolerance_or_of_rounding_is_no_change() -> None:
    wide = replace(MUD, tolerance=0.1 * PPG)
    card = maasp_card(FIELD, "x", [wide, SHOE_TEST, SHOE], "A", AT)
    assert changed(card, {"mud_weight": 10.09 * PPG}) == ()
    assert len(changed(card, {"mud_weight": 9.89 * PPG})) == 1
    assert changed(MAASP, {"mud_weight": 10 * PPG * (1 + 1e-12)}) == ()


def test_the_maasp_card_reads_as_the_field_sheet_and_says_when_there_is_no_margin() -> None:
    """By hand: (15.5 - 10) 0.052 x 5000 = 1430 psi; 70 % of 9000 psi burst is 6300."""
    assert "1430 psi" in text_of(MAASP)
    assert "not looked at: bop_rating, casing_burst" in " ".join(text_of(MAASP).split())
    steel = [
        CardInput("bop_rating", "BOP", 10_000 * PSI, "pressure", "B", AT),
        CardInput("casing_burst", "burst", 9000 * PSI, "pressure", "B", AT),
    ]
    full = maasp_card(FIELD, "x", [MUD, SHOE_TEST, SHOE, *steel], "B", AT)
    assert "6300 psi" in text_of(full)
    heavy = maasp_card(FIELD, "x", [replace(MUD, value=16 * PPG), SHOE_TEST, SHOE], "B", AT)
    assert "0 psi" in text_of(heavy)
    assert "No margin" in text_of(heavy)


def test_the_fill_card_stands_on_the_well_file_and_names_dry_and_wet() -> None:
    card = fill_post(config(), MUD, "A. Field", AT)
    text = text_of(card)
    assert "drill pipe, dry: stands before filling" in text
    assert "drill pipe, wet or float holds: fill then" in text
    assert "well file" in text
    assert changed(card, {"mud_weight": 11 * PPG})
    with pytest.raises(InputError, match="needs a mud_weight above 0"):
        fill_post(config(), replace(MUD, value=0.0), "A", AT)


def test_the_slow_rate_card_says_why_a_reading_is_stale() -> None:
    text = text_of(slow_rate_card((READ,), replace(NOW, tour="2026-03-14 night"), "A. Field"))
    assert text.startswith("STALE")
    assert "! pump 1, 40 spm: new tour (2026-03-14 night)" in text
    assert "2.0 h" in text
    empty = slow_rate_card((), Present(None, None, {}, None, None, AT), "A. Field")
    assert "ICP and FCP are unknown" in text_of(empty)


def test_the_kill_card_shows_the_sheet_digit_for_digit() -> None:
    """By hand with the formulas of the IADC WellSharp field sheet, rev. 3 (2018)."""
    text = text_of(kill_card(FIELD, sheet_inputs(), "A. Field", AT))
    for line in ("11.3 ppg", "5860 psi", "1000 psi", "646 psi", "1406", "25 psi", "15.5 ppg",
                 "1300 psi", "1092 psi", "697 ft", "0.3738 psi/ft", "35.1 min"):  # fmt: skip
        assert f"  {line}\n" in text
    metric = kill_card(METRIC, sheet_inputs(), "A. Field", AT)
    assert "1.36 sg" in "\n".join(card_lines(metric, DISPLAY["metric"]))
    exact = kill_card(EXACT, sheet_inputs(), "A. Field", AT)
    assert "1350 kg/m³" in "\n".join(card_lines(exact, DISPLAY["metric"]))


def test_a_kill_card_without_a_slow_rate_shows_dashes_and_why() -> None:
    """G28."""
    some = [i for i in sheet_inputs() if not i.name.startswith("slow")]
    text = text_of(kill_card(FIELD, some, "A. Field", AT))
    assert "FCP                      -- (no slow rate for the pump on line)" in text
    assert "11.3 ppg" in text


def test_a_deviated_kill_card_must_stand_on_the_numbers_it_shows() -> None:
    known = inputs_of({i.name: i.value for i in sheet_inputs()})
    bent = replace(
        known, stations=(Station(0, 0, 0), Station(500, 1500, 1500), Station(1406, 4000, 3048))
    )
    text = text_of(kill_card(FIELD, sheet_inputs(), "A. Field", AT, bent))
    assert "at 500 strokes" in text
    assert "no single step in a deviated well" in text
    with pytest.raises(InputError, match="sidpp differ"):
        kill_card(FIELD, sheet_inputs(), "A. Field", AT, replace(bent, sidpp=1.0))


def test_nothing_of_well_control_is_filled_in_from_live_pressure() -> None:
    """A pressure is read on the gauge by a person; the standpipe channel is refused anywhere."""
    live = [
        replace(i, origin="channel annulus_pressure") if i.name == "sicp" else i
        for i in sheet_inputs()
    ]
    with pytest.raises(InputError, match="entered by a person"):
        kill_card(FIELD, live, "A", AT)
    live_mud = replace(MUD, origin="channel standpipe_pressure")
    with pytest.raises(InputError, match="standpipe_pressure"):
        maasp_card(
            FIELD,
            "x",
            [live_mud, SHOE_TEST, SHOE],
            "A",
            AT,
        )
    taken = replace(MUD, origin="channel density_in")
    assert "channel density_in" in text_of(
        maasp_card(FIELD, "x", [taken, SHOE_TEST, SHOE], "A", AT)
    )


def test_a_card_on_bad_inputs_is_refused_with_all_of_them_named() -> None:
    bad = [replace(MUD, value=nan, who=" "), MUD, SHOE_TEST, SHOE]
    with pytest.raises(InputError) as error:
        maasp_card(FIELD, "x", bad, "A", AT)
    for part in ("mud_weight is nan", "nobody is named", "given twice"):
        assert part in str(error.value)
    with pytest.raises(InputError, match="is a density, not a pressure"):
        post("x", BY_NAME["maasp"], [replace(MUD, quantity="pressure"), SHOE_TEST, SHOE], "A", AT)
    with pytest.raises(InputError, match="shoe_tvd is missing"):
        post("x", BY_NAME["maasp"], [MUD, SHOE_TEST], "A", AT)
    with pytest.raises(InputError, match="Kill sheet: missing sidpp"):
        kill_card(FIELD, [i for i in sheet_inputs() if i.name != "sidpp"], "A", AT)
    with pytest.raises(InputError, match="no input 'mud'"):
        changed(MAASP, {"mud": 1.0})


def test_small_numbers_keep_their_digits_and_unknown_ones_their_reason() -> None:
    assert shown(0.01899, "volume", DISPLAY["metric"]) == "0.0190 m³"
    assert shown(0.2205, "length", DISPLAY["metric"]) == "0.221 m"
    assert shown(0.0, "volume", OILFIELD) == "0.0 bbl"
    assert shown(Unknown("why"), "volume", OILFIELD) == "-- (why)"
    assert shown(0.02, "capacity", DISPLAY["metric"]) == "20.000 L/m"
    assert shown(1e4, "gradient", OILFIELD) == "0.4421 psi/ft"


def test_a_card_cannot_be_made_without_the_caution() -> None:
    assert cards.Card.__dataclass_fields__["caution"].default == CAUTION
    assert {f.name for f in fields(Card)} >= {"made_by", "made_at", "source", "constants"}
