"""The review as a page; expected lines are written by hand."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest

from engine.config import WellConfig, parse_config
from engine.records.review_text import review_text

WELL = (Path(__file__).parents[3] / "adapters" / "example_well.toml").read_text(encoding="utf-8")
DAY = "2026-03-14T"


def config(**more: Any) -> WellConfig:
    return parse_config({**tomllib.loads(WELL), **more}, "example_well.toml")


def found() -> dict[str, Any]:
    return {
        "recording": "tour.kdrec",
        "span": {
            "start": f"{DAY}06:00:00.000Z", "end": f"{DAY}08:00:00.000Z",
            "frames": 7100, "missing_s": 95.4,
        },
        "states": [
            {
                "state": "drilling_rotary", "start": f"{DAY}06:00:00.000Z",
                "end": f"{DAY}07:30:00.000Z", "seconds": 5400.0,
            },
            {
                "state": "in_slips", "start": f"{DAY}07:30:00.000Z",
                "end": f"{DAY}08:00:00.000Z", "seconds": 1800.0,
            },
        ],
        "connections": [
            {
                "slips_in": f"{DAY}07:30:00.000Z", "slips_out": None, "seconds": None,
                "bit_depth_m": 304.8, "hole_depth_m": None, "kind": "drilling",
            }
        ],
        "depth": {"bit_m": [304.8, None], "hole_m": [None, None]},
        "alarms": [
            {
                "id": "pit-gain", "priority": 1, "raised": f"{DAY}06:10:00.000Z",
                "acknowledged": f"{DAY}06:10:09.000Z", "cleared": None,
                "value": 1.5898729, "limit": 1.0, "unit": "m3",
            }
        ],
        "events": [
            {
                "kind": "influx", "at": f"{DAY}06:09:00.000Z", "severity": "warning",
                "ended": f"{DAY}06:30:00.000Z", "volume_m3": 0.31797459,
                "witnesses": ["pit volume", "gas rising"], "steps": [],
            }
        ],
        "gaps": [
            {
                "start": f"{DAY}06:20:00.000Z", "end": f"{DAY}06:21:00.000Z",
                "channels": ["hook_load", "pit_volume"],
            }
        ],
    }  # fmt: skip


def test_the_page_says_everything_in_the_units_of_the_well() -> None:
    """304.8 m are 1000 ft exactly; 1.5898729 m3 are 10.0 bbl (NIST SP 811, app. B.8)."""
    page = " ".join(review_text(found(), config(display="oilfield")).split())
    for text in (
        "REVIEW Emberholt 4 rig Quernstone recording tour.kdrec",
        "from 2026-03-14 06:00:00 to 2026-03-14 08:00:00 UTC",
        "7100 frames, nothing known for 0:01:35",
        "bit depth 1000.00 ft at the start, unknown at the end",
        "drilling rotary 1:30:00 75.0 %",
        "in slips 0:30:00 25.0 %",
        "2026-03-14 06:10:00 P1 Pit gain: 10.0 bbl, limit 6.3 bbl; acknowledged 06:10:09, "
        "NOT CLEARED",
        "2026-03-14 06:09:00 to 06:30:00 influx, warning: 2.0 bbl at the call; "
        "seen by pit volume, gas rising",
        "2026-03-14 07:30:00 to still in slips drilling, bit 1000.00 ft, hole unknown",
        "2026-03-14 06:20:00 to 2026-03-14 06:21:00 Hook load; Active pit volume",
    ):
        assert text in page


def test_the_page_warns_that_it_is_no_safety_system() -> None:
    assert "not a safety system" in review_text(found(), config())


def test_synthetic_data_are_called_so_in_the_first_line() -> None:
    assert "SYNTHETIC" in review_text(found(), config(synthetic=True)).splitlines()[0]
    assert "SYNTHETIC" not in review_text(found(), config())


def test_no_line_is_wider_than_80_columns() -> None:
    page = found()
    page["gaps"][0]["channels"] *= 9
    page["events"][0]["witnesses"] = [f"witness {i}" for i in range(20)]
    lines = review_text(page, config()).splitlines()
    assert max(len(line) for line in lines) <= 80


@pytest.mark.parametrize("title", ["ALARMS", "EVENTS", "CONNECTIONS", "NO DATA", "RIG STATES"])
def test_an_empty_section_says_none(title: str) -> None:
    empty = {key: [] for key in ("states", "connections", "alarms", "events", "gaps")}
    span = {"start": None, "end": None, "frames": 0, "missing_s": None}
    text = review_text({**found(), **empty, "span": span}, config())
    assert f"{title}\n  none\n" in text
    assert "nothing was recorded" in text
