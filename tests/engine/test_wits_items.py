"""The item table against the published one, row by row.

Source: API PUBL 3855, Conventions and Implementation Guidelines for EDI, WITS, version 1.1, 1991,
records 1 and 11 as in public copies of the tables. Written down here on its own.
"""

from __future__ import annotations

from typing import Literal

import pytest

from engine.channels import CHANNELS, RAW
from engine.errors import InputError
from engine.units import WITS_UNITS, convert, unit
from engine.wits_items import ITEMS, ItemKind, standard_map, unit_of

RECORD_1 = """
01 WID - -|02 SKNO - -|03 RID - -|04 SQID - -|05 DATE - -|06 TIME - -|07 ACTC - -
08 DBTM F M|09 DBTV F M|10 DMEA F M|11 DVER F M|12 BPOS F M|13 ROPA F/HR M/HR
14 HKLA KLB KDN|15 HKLX KLB KDN|16 WOBA KLB KDN|17 WOBX KLB KDN
18 TQA KFLB KNM|19 TQX KFLB KNM|20 RPMA RPM RPM|21 SPPA PSI KPA|22 CHKP PSI KPA
23 SPM1 SPM SPM|24 SPM2 SPM SPM|25 SPM3 SPM SPM|26 TVA BBL M3|27 TVCA BBL M3
28 MFOP % %|29 MFOA GPM L/M|30 MFIA GPM L/M|31 MDOA PPG KGM3|32 MDIA PPG KGM3
33 MTOA DEGF DEGC|34 MTIA DEGF DEGC|35 MCOA MMHO MMHO|36 MCIA MMHO MMHO
37 STKC - -|38 LSTK - -|39 DRTM F M|40 GASA % %
41 SPR1 - -|42 SPR2 - -|43 SPR3 - -|44 SPR4 - -|45 SPR5 - -
"""
RECORD_11 = """
01 WID - -|02 SKNO - -|03 RID - -|04 SQID - -|05 DATE - -|06 TIME - -|07 ACTC - -
08 DMEA F M|09 DVER F M|10 TVT BBL M3|11 TVA BBL M3|12 TVCT BBL M3|13 TVCA BBL M3|14 TVRT - -
15 TV01 BBL M3|16 TV02 BBL M3|17 TV03 BBL M3|18 TV04 BBL M3|19 TV05 BBL M3|20 TV06 BBL M3
21 TV07 BBL M3|22 TV08 BBL M3|23 TV09 BBL M3|24 TV10 BBL M3|25 TV11 BBL M3|26 TV12 BBL M3
27 TV13 BBL M3|28 TV14 BBL M3|29 TTV1 BBL M3|30 TTV2 BBL M3
31 SPR1 - -|32 SPR2 - -|33 SPR3 - -|34 SPR4 - -|35 SPR5 - -
"""


def rows(record: str, text: str) -> list[tuple[str, str, str, str]]:
    parts = [row.split() for row in text.strip().replace("\n", "|").split("|")]
    return [(record + number, short, fps, metric) for number, short, fps, metric in parts]


ROWS = rows("01", RECORD_1) + rows("11", RECORD_11)


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row[0])
def test_mnemonic_and_units_are_the_published_ones(row: tuple[str, str, str, str]) -> None:
    item = ITEMS[row[0]]
    assert (item.code, item.short, item.fps, item.metric) == row


@pytest.mark.parametrize(("record", "count"), [("01", 45), ("11", 35)])
def test_records_1_and_11_are_whole(record: str, count: int) -> None:
    ours = [code for code in ITEMS if code.startswith(record)]
    assert ours == [row[0] for row in ROWS if row[0].startswith(record)]
    assert len(ours) == count


def test_only_the_head_and_the_slips_status_are_no_numbers() -> None:
    kinds = {code: item.kind for code, item in ITEMS.items() if item.kind is not ItemKind.NUMBER}
    heads = {"01": ItemKind.TEXT, "05": ItemKind.DATE, "06": ItemKind.TIME}
    expected = {f"{record:02}{n}": kind for record in range(1, 26) for n, kind in heads.items()}
    assert kinds == expected | {"0513": ItemKind.TEXT}


CHANNEL = {
    "0107": "reported_activity", "0108": "reported_bit_depth", "0110": "reported_hole_depth",
    "0112": "block_position", "0113": "reported_rop", "0114": "hook_load",
    "0116": "reported_weight_on_bit", "0118": "torque", "0120": "rotary",
    "0121": "standpipe_pressure", "0122": "annulus_pressure", "0123": "pump_1_rate",
    "0124": "pump_2_rate", "0125": "pump_3_rate", "0126": "pit_volume",
    "0127": "reported_pit_gain", "0128": "flow_out_share", "0129": "flow_out",
    "0130": "flow_in_measured", "0131": "density_out", "0132": "density_in",
    "0133": "temperature_out", "0134": "temperature_in", "0137": "pump_strokes", "0140": "gas",
    "1129": "trip_tank_volume",
}  # fmt: skip
"""What a public copy of the standard calls each item, in our words."""
UNLISTED = ("kill_line_pressure", "annulus_b_pressure", "reserve_volume")
"""No record of ours has an item for them; a well file maps them."""


@pytest.mark.parametrize("units", ["metric", "fps"])
def test_standard_map_fills_each_channel_from_one_item(units: Literal["metric", "fps"]) -> None:
    found = {code: item.channel for code, item in standard_map(units).items()}
    assert found == CHANNEL
    assert sorted((*found.values(), *UNLISTED)) == sorted(RAW)


@pytest.mark.parametrize("units", ["metric", "fps"])
@pytest.mark.parametrize("code", CHANNEL)
def test_standard_units_are_those_of_the_table(units: Literal["metric", "fps"], code: str) -> None:
    (row,) = [row for row in ROWS if row[0] == code]
    sent = WITS_UNITS[row[3] if units == "metric" else row[2]]
    ours = standard_map(units)[code]
    assert ours.unit == ("count" if code == "0137" else sent)
    assert unit(ours.unit).quantity == CHANNELS[ours.channel].quantity


def test_one_kdn_is_ten_kilonewton_and_not_a_tonne() -> None:
    """Deca is ten (SI Brochure, 9th ed., 2019, table 7): 1000 daN = 10 kN; 1 t of force 9.80665 kN.

    Catches the usual slip of 2 percent.
    """
    item = standard_map("metric")["0114"]
    assert convert(1.0, item.unit, "kN") == pytest.approx(10.0, rel=1e-15)
    assert convert(1.0, item.unit, "tf") == pytest.approx(1.01972, abs=5e-6)


@pytest.mark.parametrize(
    ("code", "low", "high"),
    [
        ("0108", -50, 50_000), ("0110", -50, 50_000), ("0112", -50, 200), ("0113", -1000, 5000),
        ("0114", -100, 5000), ("0116", -500, 1000), ("0120", -500, 500),
        ("0121", -500, 100_000), ("0123", -10, 400), ("0126", -100, 100_000),
        ("0130", -1000, 20_000),
    ],
)  # fmt: skip
def test_limits_catch_merged_numbers_but_not_zero_errors(code: str, low: int, high: int) -> None:
    """Common practice, no source. Flow, strokes and volumes may read a little below zero."""
    item = standard_map("fps")[code]
    assert (item.low, item.high) == (low, high)


def test_every_channel_can_reach_the_ends_of_its_range_within_the_limits() -> None:
    """A limit narrower than the sensor would reject what the sensor can measure."""
    for units in ("metric", "fps"):
        for code, item in standard_map(units).items():
            ends = CHANNELS[item.channel].low, CHANNELS[item.channel].high
            for end in ends:
                if abs(end) != float("inf"):
                    sent = unit(item.unit).from_si(end)
                    assert item.low is None or item.low <= sent, code
                    assert item.high is None or sent <= item.high, code


def test_an_item_without_a_channel_has_no_unit_of_ours() -> None:
    with pytest.raises(InputError, match="1111: fills no channel by default; map it to one"):
        unit_of(ITEMS["1111"], "metric")


def test_a_caller_may_change_its_copy_of_the_map() -> None:
    standard_map("metric").clear()
    assert standard_map("metric")["0114"].unit == "kdaN"
