"""Trouble by the long way: simulate to a file, import it with the example well, review, export.

What the alarms of the example well make of each scenario, seed 7, trouble from 06:50:00:

==============  ===================================================================
kick            influx after 4 min, pit-gain after 9; flow-out-high stays quiet (200 L/min of 500)
partial-loss    flow-out-low after 1 min, pit-loss after 9 min
pack-off        pressure-high after 1 min
washout         nothing: it ends near 9.3 MPa and the limit is 8.5; the signature is in the rows
stuck-sensor    nothing: the gauge is marked frozen
feed-dropout    nothing: every channel is dark, and the gap is in the review
==============  ===================================================================
"""

from __future__ import annotations

import csv
import json
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from adapters.sqlite_reader import SqliteRecording
from engine.block import Block, Quality
from engine.records.journal import from_iso
from tests.commands import done, make_tour, reviewed

SEED = 7
HOURS = {"washout": 1.6}
START = from_iso("2026-03-14T06:00:00Z")
TROUBLE = START + 3000.0
Tour = Callable[[str], Path]


@pytest.fixture(scope="module")
def tour(tmp_path_factory: pytest.TempPathFactory) -> Tour:
    """Return the recording of a scenario, made when first asked for."""
    folder = tmp_path_factory.mktemp("trouble")
    made: dict[str, Path] = {}

    def make(name: str) -> Path:
        if name not in made:
            made[name] = make_tour(folder, name, HOURS.get(name.removesuffix("-twin"), 1.1), SEED)
        return made[name]

    return make


def raised(recording: Path) -> dict[str, float]:
    """Return when each alarm was raised, from the start of the trouble. [s]"""
    alarms: list[dict[str, Any]] = reviewed(recording)["alarms"]
    return {a["id"]: from_iso(a["raised"]) - TROUBLE for a in alarms}


def rows(recording: Path, *channels: str) -> dict[str, Block]:
    with closing(SqliteRecording(recording)) as found:
        return dict(found.rows(channels=channels))


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("kick", {"influx": 360.0, "pit-gain": 720.0}),
        ("partial-loss", {"flow-out-low": 120.0, "pit-loss": 720.0}),
        # As the cavings let go the pressure falls at once, which looks like a lost nozzle.
        (
            "pack-off",
            {
                "pressure-high": 120.0,
                "pack-off": 120.0,
                "pack-off-severe": 120.0,
                "nozzle-lost": 600.0,
            },
        ),
    ],
)
def test_trouble_trips_its_alarms_in_time(
    name: str, expected: dict[str, float], tour: Tour
) -> None:
    """Each within the minutes given; nothing else, and nothing before the trouble."""
    found = raised(tour(name))
    assert found.keys() == expected.keys()
    for alarm, latest in expected.items():
        assert 0 < found[alarm] <= latest
    truth = json.loads(tour(name).with_suffix(".truth.json").read_text(encoding="utf-8"))
    (event,) = (e for e in truth["events"] if e["kind"] != "addition")
    assert event["start"] == pytest.approx(3000.0, abs=120.0)


@pytest.mark.parametrize("name", ["kick", "partial-loss", "washout", "pack-off"])
def test_the_twin_without_the_trouble_trips_nothing(name: str, tour: Tour) -> None:
    assert raised(tour(f"{name}-twin")) == {}


def test_a_washout_loses_pressure_at_constant_flow_and_is_called(tour: Tour) -> None:
    """The signature: standpipe pressure falls slowly while strokes and returns stay."""
    found = raised(tour("washout"))
    assert list(found) == ["washout"]
    assert 0 < found["washout"] <= 300.0
    seen = rows(tour("washout"), "standpipe_pressure", "flow_in", "flow_out", "rig_state")
    t = seen["rig_state"].t - TROUBLE
    drilling = seen["rig_state"].value == 1

    def mean(channel: str, first: float, last: float) -> float:
        return float(seen[channel].value[drilling & (t >= first) & (t < last)].mean())

    before, half, late = (-600, 0), (1150, 1250), (2300, 2400)
    assert mean("standpipe_pressure", *half) < 0.95 * mean("standpipe_pressure", *before)
    assert mean("standpipe_pressure", *late) < 0.88 * mean("standpipe_pressure", *before)
    for steady in ("flow_in", "flow_out"):
        assert mean(steady, *late) == pytest.approx(mean(steady, *before), rel=0.02)


def test_a_dropout_is_a_gap_in_the_review_and_empty_in_the_export(
    tour: Tour, tmp_path: Path
) -> None:
    found = reviewed(tour("feed-dropout"))
    (gap,) = (g for g in found["gaps"] if "hook_load" in g["channels"])
    # 90 s of silence, less the 5 s for which the last value is still shown.
    assert from_iso(gap["start"]) == pytest.approx(TROUBLE + 5.0, abs=2.0)
    assert from_iso(gap["end"]) == pytest.approx(TROUBLE + 90.0, abs=2.0)
    assert {"block_position", "standpipe_pressure", "pit_volume", "flow_out"} <= {*gap["channels"]}
    assert found["span"]["missing_s"] == pytest.approx(85.0, abs=2.0)
    assert raised(tour("feed-dropout")) == {}
    out = tmp_path / "dark.csv"
    done("export", tour("feed-dropout"), "--out", out)
    with out.open(encoding="utf-8", newline="") as file:
        dark = [
            row for row in csv.DictReader(file) if "06:50:10" < row["time_utc"][11:19] < "06:51:25"
        ]
    assert len(dark) > 30
    for row in dark:
        assert row["hook_load_kN"] == row["bit_depth_m"] == row["standpipe_pressure_kPa"] == ""
        assert "hook_load:stale" in row["quality"]
    twin = reviewed(tour("feed-dropout-twin"))
    assert not [g for g in twin["gaps"] if "hook_load" in g["channels"]]


def test_a_stuck_gauge_is_marked_frozen_and_its_value_is_kept(tour: Tour, tmp_path: Path) -> None:
    seen = rows(tour("stuck-sensor"), "standpipe_pressure", "hook_load")
    gauge, load = seen["standpipe_pressure"], seen["hook_load"]
    t = gauge.t - TROUBLE
    frozen = (gauge.quality & np.uint16(Quality.FROZEN)) != 0
    assert not frozen[t < 0].any()
    assert frozen[(t > 300) & (t < 890)].all()
    assert not frozen[t > 910].any()
    assert not np.isnan(gauge.value[frozen]).any()
    assert not ((load.quality & np.uint16(Quality.FROZEN)) != 0).any()
    out = tmp_path / "stuck.csv"
    done("export", tour("stuck-sensor"), "--out", out)
    with out.open(encoding="utf-8", newline="") as file:
        row = next(r for r in csv.DictReader(file) if r["time_utc"][11:19] == "07:00:30")
    assert "standpipe_pressure:frozen" in row["quality"]
    assert float(row["standpipe_pressure_kPa"]) > 9000
    twin = rows(tour("stuck-sensor-twin"), "standpipe_pressure")["standpipe_pressure"]
    assert not ((twin.quality & np.uint16(Quality.FROZEN)) != 0).any()


def test_a_tour_of_twelve_hours_is_simulated_imported_reviewed_and_exported(
    tmp_path: Path,
) -> None:
    recording = make_tour(tmp_path, "quiet", 12.0, seed=2)
    found = reviewed(recording)
    assert found["span"]["frames"] > 42_000
    assert found["span"]["missing_s"] == 0.0
    assert found["alarms"] == []
    truth = json.loads(recording.with_suffix(".truth.json").read_text(encoding="utf-8"))
    assert len(found["connections"]) == len(truth["connections"]) >= 3
    assert found["depth"]["hole_m"][1] == pytest.approx(
        truth["columns"]["hole_depth_m"][-1], abs=0.1
    )
    assert "Emberholt 4" in done("review", recording).out
    out = tmp_path / "tour.csv"
    done("export", recording, "--out", out)
    with out.open("rb") as file:
        lines = sum(1 for _ in file)
    assert lines == found["span"]["frames"] + 1
