"""Losses while pumping: three barrels or a minute, seepage as advice, the words for a rate."""

from __future__ import annotations

import numpy as np
import pytest

from engine.detect.loss import Losses
from engine.detect.settings_volume import LossSettings
from engine.units import BBL
from tests.tables import NAN, splits, well
from tests.volume_rows import AT, BPM, blind, calls, ended, first, ramp, rows, watched

N = 7200


@pytest.mark.parametrize("bpm", [0.5, 1.0, 2.0, 4.0])
@pytest.mark.parametrize("seed", [1, 2])
def test_a_loss_is_called_by_about_three_barrels_or_within_a_minute(bpm: float, seed: int) -> None:
    """The sum passes a leak of 0.1 bbl/min and a filter of half a minute: 5.5 bbl at most."""
    at = first(watched(rows(-ramp(N, bpm * BPM), seed=seed)), "loss")
    assert at > AT
    assert (at - AT) * bpm / 60 <= 5.5


def test_seepage_is_advice_with_its_rate_and_its_word() -> None:
    """0.13 bbl/min is 8 bbl/h: seepage by the usual table; never an alarm."""
    found = watched(rows(-ramp(5 * 3600, 0.13 * BPM)))
    told = calls(found, "loss", "advice")
    assert {e.event for e in told} == {"advice"}
    evidence = told[-1].details["evidence"]
    assert evidence["grade"] == "seepage"
    assert evidence["rate_m3_s"] / BPM == pytest.approx(0.13, abs=0.03)


def test_losses_that_grow_past_seepage_are_called() -> None:
    come = -ramp(3 * 3600, 0.15 * BPM) - ramp(3 * 3600, 0.6 * BPM, AT + 3600)
    assert AT + 3600 < first(watched(rows(come)), "loss") < AT + 3600 + 900


@pytest.mark.parametrize(
    ("bbl_h", "word"), [(5, "seepage"), (30, "partial"), (80, "severe"), (float("nan"), None)]
)
def test_a_rate_has_the_word_of_the_table(bbl_h: float, word: str | None) -> None:
    """10 and 50 bbl/h, one common pair of limits (handbooks differ; common practice)."""
    assert Losses(LossSettings(), 180.0).grade(bbl_h * BBL / 3600) == word


def test_the_table_of_words_is_the_well_file_s() -> None:
    raw = {"loss": {"grades": [{"name": "sips", "up_to_bbl_min": 2.0}], "most": "gulps"}}
    loss = Losses(well(detect=raw).detect.loss, 180.0)
    assert [loss.grade(x * BPM) for x in (1.0, 3.0)] == ["sips", "gulps"]
    assert calls(watched(rows(-ramp(N, 0.8 * BPM)), config=well(detect=raw)), "loss") == []


def test_it_ends_when_the_loss_has_healed() -> None:
    found = watched(rows(-ramp(3 * 3600, 1.0 * BPM, seconds=900)))
    assert 600 < ended(found, "loss") - (AT + 900) < 1500


def test_blind_drilling_is_said_and_calls_nothing() -> None:
    """L-48: with no returns declared the detectors of returns are blind by declaration."""
    out = np.where(np.arange(N) > AT, 0.0, 45e-3)
    table = rows(n=N, flow_out=out, pit_volume=60.0 - 0.0045 * np.clip(np.arange(N) - AT, 0, None))
    found = watched(table, blind=True)
    for kind in ("influx", "loss", "total_loss"):
        assert calls(found, kind, "advice") == []
        assert [r.split(",")[0] for r in blind(found, kind)] == ["blind drilling is declared"]
    assert calls(watched(table), "loss")


def test_it_is_blind_without_pits() -> None:
    assert list(blind(watched(rows(n=600, pit_volume=NAN)), "loss")) == ["no pit_volume"]


def test_any_split_makes_the_same_calls() -> None:
    table = rows(-ramp(N, 0.2 * BPM) - ramp(N, 0.8 * BPM, AT + 2400), waves=0.5)
    whole = watched(table)
    assert calls(whole, "loss", "advice")
    for edges in splits(N):
        assert watched(table, edges) == whole
