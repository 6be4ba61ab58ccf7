"""Flowback curves out of a recording: those the watch has seen, for a screen to draw."""

from __future__ import annotations

import json
from contextlib import closing
from pathlib import Path

import numpy as np
import pytest

from adapters.sqlite_reader import SqliteRecording
from engine.detect.fingerprint import MARKS
from engine.records.fingerprints import Fingerprint, as_json, declarations, fingerprints
from engine.records.journal import Entry, Journal
from tests.commands import done, make_tour
from tests.tables import T0
from tui.commands.common import config_of


@pytest.fixture(scope="module")
def tour(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return two and a half hours of soft rock: three connections."""
    return make_tour(tmp_path_factory.mktemp("prints"), "quiet-soft", 2.5)


@pytest.fixture(scope="module")
def found(tour: Path) -> tuple[Fingerprint, ...]:
    with closing(SqliteRecording(str(tour))) as recording:
        return fingerprints(recording, config_of(recording.meta()))


def test_every_stop_of_the_truth_has_its_curve(tour: Path, found: tuple[Fingerprint, ...]) -> None:
    truth = json.loads(tour.with_suffix(".truth.json").read_text(encoding="utf-8"))
    flow = np.array(truth["columns"]["flow_in_m3_s"])
    stops = int(np.sum((flow[1:] < 1e-3) & (flow[:-1] >= 1e-3)))
    assert len(found) == stops >= 2
    for one in found:
        assert one.curve.refused == ""
        assert one.since[-1] == pytest.approx(one.curve.lasted, abs=5.1)
        # The flow line drains: 25 s and 8 s of flow, and what the string still squeezes out.
        assert one.curve.volumes[3] == pytest.approx(one.curve.flow * 37, rel=0.15)
        mark = one.volume[np.searchsorted(one.since, MARKS[3])]
        assert mark == pytest.approx(one.curve.volumes[3], abs=0.1)


def test_the_curves_as_json_hold_no_number_that_is_none(found: tuple[Fingerprint, ...]) -> None:
    from tests.tables import well

    text = json.dumps(as_json(found, well()), allow_nan=False)
    stops = json.loads(text)["stops"]
    assert [s["accepted"] for s in stops] == [True] * len(found)
    assert all(len(s["since_s"]) == len(s["volume_m3"]) for s in stops)


def test_the_command_lists_them_and_its_page_fits_a_terminal(tour: Path) -> None:
    page = done("fingerprints", tour).out.splitlines()
    assert page[0].startswith("FLOWBACK AFTER THE PUMPS STOPPED   Emberholt 4")
    assert all(len(line) <= 100 for line in page)
    assert page[-1].endswith("of them taken as a reference")
    assert len(json.loads(done("fingerprints", tour, "--json").out)["stops"]) >= 2


def test_declarations_come_from_the_journal_but_for_refused_ones() -> None:
    said = {"what": "in", "volume_m3": 5.0, "flow_m3_s": 0.01, "minutes": 9.0, "until": T0 + 540,
            "who": "Ines", "station": "doghouse"}  # fmt: skip
    entries = [
        Entry(T0, "command", "declare_transfer", "given", said),
        Entry(T0 + 1, "command", "declare_transfer", "given", {**said, "refused": "volume is 0"}),
    ]
    [one] = declarations(Journal().write(entries))
    assert (one.volume, one.rate, one.until) == (5.0, 0.01, T0 + 540)
