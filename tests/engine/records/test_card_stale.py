"""A card is STALE once an input changed, and says which one (R-67; 30 CFR 250.456(c) and (f))."""

from __future__ import annotations

import json
import tomllib
from dataclasses import replace
from typing import Any

import pytest

from adapters.config_file import example_text
from engine.block import Block
from engine.commands import EnterStandpipe
from engine.config import WellConfig
from engine.records.card_book import CardBook
from engine.records.card_book_text import as_json, cards_text
from engine.records.card_stale import (
    CardView,
    Now,
    newest_good,
    present,
    reading_reasons,
    slow_rate_view,
    view,
    views,
)
from engine.records.journal import read
from engine.records.words import what
from engine.units import FT, PPG, PSI
from engine.well.cards import CAUTION
from tests.engine.records.test_card_book import (
    AT,
    CONFIG,
    FILL,
    LIMIT,
    SLOW,
    book_of,
    card_of,
    engine,
    issued,
)
from tests.engine.records.test_card_book import sheet as sheet_of
from tests.tables import NAN, T0, table_of, well

TOUR = "2026-05-28 18:00"
NOW = Now(AT + 7200, CONFIG, 3000.0, None, TOUR)
READING = EnterStandpipe(11e6, 0.045, 2400.0)
SHEET = sheet_of(bit_depth=3000.0)


def seen(book: CardBook, name: str, now: Now = NOW) -> CardView:
    return view(book, card_of(book, name), now)


def said(one: CardView) -> list[str]:
    """Return what changed: input and origin, and the reasons in words."""
    return [*(f"{c.input.name} {c.origin}" for c in one.changes), *one.card.stale]


def now_with(config: WellConfig | None = None, **changes: Any) -> Now:
    return replace(NOW, config=config or CONFIG, **changes)


def test_a_card_is_fresh_while_nothing_has_changed() -> None:
    book = book_of(SLOW, SHEET, replace(SHEET, card="kill-sheet"), READING)
    mud = SHEET.inputs["mud_weight"]
    assert [said(one) for one in views(replace(book, cards=book.cards[:2]), NOW)] == [[], [], []]
    sensor = replace(NOW, density_in=mud * 1.005)
    assert said(seen(book, "kill-sheet-field", sensor)) == []
    assert said(slow_rate_view(book, sensor)) == []


def test_another_mud_weight_makes_every_card_on_the_old_one_stale() -> None:
    """R-67, L-10 of 30 CFR 250.456(f): mud from 10.0 to 10.5 ppg."""
    book = book_of(LIMIT, FILL)
    assert not any(one.is_stale for one in views(book, NOW))
    heavier = book.taken(issued(replace(FILL, inputs={"mud_weight": 10.5 * PPG}), AT + 600, "Ola"))
    limit = seen(heavier, "maasp-field")
    assert limit.is_stale
    assert said(limit) == ["mud_weight as entered by Ola"]
    assert limit.changes[0].now == pytest.approx(10.5 * PPG)
    assert said(seen(heavier, "fill-card")) == []
    text = cards_text([limit], heavier, replace(NOW, config=_oilfield()))
    assert "STALE  MAASP, casing 9 5/8   (field sheet)" in text
    assert "! mud in the hole: was 10.00 ppg, now 10.50 ppg, as entered by Ola" in text


def test_the_density_sensor_makes_a_card_stale_beyond_a_tenth_of_a_ppg() -> None:
    """0.1 ppg: common practice, no source."""
    book = book_of(LIMIT)
    for off, stale in ((0.09, []), (-0.09, []), (0.11, ["mud_weight channel density_in"])):
        now = now_with(density_in=(10 + off) * PPG)
        assert said(seen(book, "maasp-field", now)) == stale, off
    blind = seen(book, "maasp-field")
    assert "Not compared with a mud density sensor: it is not known." in blind.card.notes
    seeing = seen(book, "maasp-field", now_with(density_in=10 * PPG))
    assert not any("Not compared" in note for note in seeing.card.notes)


def test_what_was_entered_later_counts_even_where_the_sensor_still_shows_the_old_mud() -> None:
    book = book_of(LIMIT, replace(FILL, inputs={"mud_weight": 10.5 * PPG}))
    now = now_with(density_in=10 * PPG)
    assert said(seen(book, "maasp-field", now)) == ["mud_weight as entered by Ines"]
    assert said(seen(book, "fill-card", now)) == ["mud_weight channel density_in"]


@pytest.mark.parametrize(("depth", "stale"), [(3000 + 499 * FT, False), (3000 - 501 * FT, True)])
def test_a_bit_further_than_500_ft_makes_a_kill_sheet_stale(depth: float, *, stale: bool) -> None:
    """500 ft: common practice, no source."""
    book = book_of(SHEET)
    one = seen(book, "kill-sheet-field", now_with(bit_depth=depth))
    assert said(one) == (["bit_depth channel bit_depth"] if stale else [])


def test_a_bit_depth_that_is_not_known_makes_a_kill_sheet_stale() -> None:
    one = seen(book_of(SHEET), "kill-sheet-field", now_with(bit_depth=None))
    assert [(c.input.name, c.now) for c in one.changes] == [("bit_depth", None)]


def test_another_liner_or_efficiency_makes_what_stands_on_the_pump_stale() -> None:
    book = book_of(SLOW, SHEET)
    pumps = [{"name": "1", "type": "triplex", "liner_in": 6.0, "stroke_in": 12.0}]
    one = seen(book, "kill-sheet-field", now_with(well(pumps=pumps)))
    assert "well file: output of pump 1 was 0.0190 m³, now 0.0162 m³ (liner or efficiency)" in (
        one.card.stale
    )
    assert reading_reasons(book, now_with(well(pumps=pumps))) == (("pump output changed",),)
    gone = [pumps[0] | {"name": "9"}]
    assert "well file: there is no pump 1 any more" in said(
        seen(book, "kill-sheet-field", now_with(well(pumps=gone)))
    )


def test_another_well_file_makes_the_cards_stale_that_stand_on_it() -> None:
    book = book_of(SLOW, SHEET, LIMIT, FILL, READING)
    rig = {k: v for k, v in _raw()["rig"].items() if k != "stand_length_m"} | {
        "sheave_efficiency": 1.0, "stand_length_m": 19.0,
    }  # fmt: skip
    assert said(seen(book, "fill-card", now_with(well(rig=rig)))) == ["stand_length well file"]
    mud = now_with(well(mud={"density_sg": 1.4}))
    for name in ("maasp-field", "fill-card", "kill-sheet-field", "standpipe"):
        assert said(seen(book, name, mud))[0] == "mud_weight well file", name
    survey = now_with(well(survey=[{"md_m": 1000.0, "tvd_m": 900.0}]))
    for name in ("maasp-field", "kill-sheet-field", "standpipe"):
        assert "well file: the survey changed" in said(seen(book, name, survey)), name
    assert said(seen(book, "fill-card", survey)) == []
    bit = now_with(well(bit={"nozzles_in32": [12, 12, 12]}))
    assert "well file: the bit changed" in said(seen(book, "standpipe", bit))
    assert reading_reasons(book, now_with(well(string=_raw()["string"][1:])))[0][-1].startswith(
        "another string (the well file: drill collars"
    )


def test_a_new_tour_makes_the_slow_rates_and_the_sheet_on_them_stale() -> None:
    """www.drillingmanual.com/slow-reduced-circulation-rate-scr: at the start of each shift."""
    book, later = book_of(SLOW, SHEET), now_with(tour="2026-05-29 06:00")
    assert said(slow_rate_view(book, later)) == [
        "pump 1, 40 spm: new tour (2026-05-29 06:00)",
    ]  # fmt: skip
    assert said(seen(book, "kill-sheet-field", later)) == [
        "slow rate of pump 1: new tour (2026-05-29 06:00)"
    ]
    typed = book_of(sheet_of(bit_depth=3000.0, slow_pressure=4e6, slow_rate=0.5))
    assert said(seen(typed, "kill-sheet-field", later)) == []


def test_a_slow_rate_read_since_makes_a_sheet_stale() -> None:
    """G28: the sheet without one stays unknown, and says that it need not."""
    book = book_of(SHEET, SLOW)
    assert said(seen(book, "kill-sheet-field")) == ["a slow rate of pump 1 has been read since"]
    again = book_of(SLOW, SHEET, replace(SLOW, pressure=650 * PSI))
    assert "slow_pressure as read by Ines" in said(seen(again, "kill-sheet-field"))
    other = book_of(SLOW, SHEET, replace(SLOW, pump="2", pressure=650 * PSI))
    assert said(seen(other, "kill-sheet-field")) == []


def test_where_entry_and_sensor_disagree_the_mud_is_not_known() -> None:
    one = slow_rate_view(book_of(SLOW), now_with(density_in=9 * PPG))
    assert said(one) == ["pump 1, 40 spm: present mud weight not known"]
    assert any("by the sensor (density_in)" in note for note in one.card.notes)


def test_one_rate_gives_an_assumed_exponent_and_two_a_fitted_one() -> None:
    """G29. 2500 psi at 315, 450 at 120: 1.7768; Lapeyrouse, Formulas and Calculations, 2002."""
    one = book_of(SLOW)
    assert any("power 2.00 (assumed" in note for note in slow_rate_view(one, NOW).card.notes)
    fast = replace(SLOW, rate=3.15, pressure=2500 * PSI)
    two = book_of(fast, replace(SLOW, rate=1.2, pressure=450 * PSI))
    assert any("power 1.78 (fitted" in note for note in slow_rate_view(two, NOW).card.notes)
    assert as_json((), one, NOW, "t")["exponents"] == {"1": {"value": 2.0, "assumed": True}}
    assert not as_json((), two, NOW, "t")["exponents"]["1"]["assumed"]


def test_the_text_shows_the_log_by_tour_and_mud_with_ages() -> None:
    night = replace(SLOW, tour="2026-05-29 06:00")
    book = book_of(SLOW, replace(SLOW, pump="2"), night, replace(night, density=11 * PPG))
    text = cards_text(views(book, NOW), book, NOW)
    log = text[text.index("Slow rates as they were read") :].splitlines()
    assert [line.strip() for line in log if line.startswith("  tour")] == [
        "tour 2026-05-28 18:00, mud 1258 kg/m³",
        "tour 2026-05-29 06:00, mud 1258 kg/m³",
        "tour 2026-05-29 06:00, mud 1318 kg/m³",
    ]
    assert "    2026-05-28 20:26Z, 2.0 h ago: pump 1, 40 spm, 4137 kPa  Ines" in log
    assert "      ! STALE: mud weight changed" in log
    assert max(map(len, text.splitlines())) <= 80


def test_json_has_what_the_text_has_and_nothing_that_is_no_number() -> None:
    book = book_of(SLOW, SHEET, sheet_of("kill-sheet", pump="2", bit_depth=3000.0), LIMIT)
    found = as_json(views(book, NOW), book, NOW, "tour.kdrec")
    json.dumps(found, allow_nan=False)
    assert found["caution"] == CAUTION
    assert found["stale"] is True
    cards = {one["card"]: one for one in found["cards"]}
    icp = next(o for o in cards["kill-sheet"]["outputs"] if o["text"] == "ICP")
    assert icp == {
        "text": "ICP", "value": None, "unit": "Pa",
        "unknown": "no slow rate for the pump on line",
    }  # fmt: skip
    assert cards["kill-sheet-field"]["constants"] == "field sheet"
    assert cards["kill-sheet-field"]["changed"][0]["input"] == "mud_weight"
    assert {"name", "value", "unit", "who", "at", "origin", "previous"} <= set(
        cards["maasp-field"]["inputs"][0]
    )
    assert found["slow_rates"][0]["age_s"] == 7200.0
    assert found["slow_rates"][0]["stale"] == ["mud weight changed"]


def test_the_present_is_the_newest_good_sample_of_the_last_minute() -> None:
    table = table_of(bit_depth=[2400.0, 2401.0, NAN], density_in=[NAN, NAN, NAN])
    now = present(table, T0 + 30, CONFIG, TOUR)
    assert (now.bit_depth, now.density_in, now.tour) == (2401.0, None, TOUR)
    assert present(table, T0 + 62, CONFIG, None).bit_depth is None
    assert newest_good({}, "bit_depth", T0) is None
    empty: dict[str, Block] = {"bit_depth": table["bit_depth"].slice(0, 0)}
    assert newest_good(empty, "bit_depth", T0) is None


def _oilfield() -> WellConfig:
    return well(display="oilfield")


def _raw() -> dict[str, Any]:
    return tomllib.loads(example_text())


def test_the_journal_tells_an_entry_in_a_line_and_leaves_the_numbers_to_the_card() -> None:
    watch = engine()
    _, lines = watch.take([issued(SHEET), issued(replace(FILL, inputs={}), AT + 1)])
    told = [what(read(line), CONFIG.display_units()) for line in lines[1:]]
    assert told[0] == "enter card by Ines: card kill-sheet-field, pump 1"
    assert told[1] == (
        "enter card by Ines: card fill-card, refused fill-card: mud_weight is missing "
        "(mud in the hole)"
    )
