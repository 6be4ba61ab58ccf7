"""Figures of events, every one worked out by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest

from engine.score.match import match
from engine.score.scores import event_figures, figures, judge, labels, others
from engine.units import BBL
from tests.engine.score.runs import START, call, kick

TEN = [kick(call("influx", START + 60.0 * k)) for k in range(1, 11)]
"""Called after 1, 2, … 10 bbl."""


def test_ten_calls_at_one_to_ten_barrels() -> None:
    """Five are not above 5 bbl, all not above 10; the 95 % quantile of ten is the tenth."""
    found = figures([j.match for j in judge(TEN)])
    assert (found["runs"], found["called_runs"], found["recall"]) == (10, 10, 1.0)
    assert found["recall_lower"] == pytest.approx(0.05**0.1)
    assert found["dv50_m3"] == pytest.approx(5 * BBL)
    assert found["dv95_m3"] == pytest.approx(10 * BBL)
    assert not found["dv95_missed"]
    assert (found["called_by_5_bbl"], found["called_by_10_bbl"]) == (0.5, 1.0)
    assert (found["delay_p50_s"], found["delay_p95_s"]) == (300.0, 600.0)


def test_a_missed_one_has_the_volume_at_the_end_and_no_delay() -> None:
    """30 min of a barrel a minute; of eleven the 95 % quantile is the eleventh, which was missed.

    Clopper and Pearson: 10 of 11 are above 0.6356 (beta quantile 0.05 of 10 and 2, tables).
    """
    found = figures([j.match for j in judge([*TEN, kick()])])
    assert found["dv50_m3"] == pytest.approx(6 * BBL)
    assert found["dv95_m3"] == pytest.approx(30 * BBL)
    assert found["dv95_missed"]
    assert not found["dv50_missed"]
    assert found["recall"] == pytest.approx(10 / 11)
    assert found["recall_lower"] == pytest.approx(0.6356, abs=1e-4)
    assert found["called_by_10_bbl"] == pytest.approx(10 / 11)
    assert found["delay_p95_s"] == 600.0


def test_of_all_missed_there_is_no_delay_and_the_volumes_are_bounds() -> None:
    found = figures([j.match for j in judge([kick(), kick()])])
    assert (found["recall"], found["recall_lower"]) == (0.0, 0.0)
    assert found["delay_p50_s"] is None
    assert found["dv50_missed"]
    assert found["called_by_5_bbl"] == 0.0


def test_what_was_missed_is_not_called_by_five_barrels_however_small_it_was() -> None:
    """Gone after four minutes: four barrels in the well, and nobody called."""
    short = kick()
    assert short.truth is not None
    truth = replace(short.truth, end=START + 240.0)
    found = figures([match(truth, [])])
    assert found["dv50_m3"] == pytest.approx(4 * BBL)
    assert (found["called_by_5_bbl"], found["called_by_5_bbl_lower"]) == (0.0, 0.0)


def test_chatter_is_counted_for_each_event() -> None:
    chatty = kick(call("influx", 1100), call("influx", 1200), call("influx", 1300))
    assert figures([j.match for j in judge([chatty, TEN[0]])])["again_per_event"] == 1.0


def test_figures_are_split_by_size_and_by_noise() -> None:
    runs = [
        kick(call("influx", 1100), noise="calm", size=0.1),
        kick(call("influx", 1200), noise="poor", size=0.1),
        kick(noise="poor", size=0.2),
    ]
    (found,) = event_figures(judge(runs), frozenset({"influx"}))
    assert (found["kind"], found["called"], found["built"]) == ("influx", "influx", True)
    assert [(s["of"], s["called_runs"], s["runs"]) for s in found["by_size"]] == [
        (0.1, 2, 2), (0.2, 0, 1),
    ]  # fmt: skip
    assert [(s["of"], s["called_runs"], s["runs"]) for s in found["by_noise"]] == [
        ("calm", 1, 1), ("poor", 1, 2),
    ]  # fmt: skip


def test_a_kind_without_a_detector_says_so_and_its_family_still_counts() -> None:
    runs = [kick(call("influx", 1100), kind="flow_pumps_off")]
    (found,) = event_figures(judge(runs), frozenset({"influx"}))
    assert not found["built"]
    assert found["called_runs"] == 1


def test_a_seepage_is_to_be_called_a_loss() -> None:
    (found,) = event_figures(judge([kick(kind="seepage", called="loss")]), frozenset({"loss"}))
    assert (found["kind"], found["called"], found["built"]) == ("seepage", "loss", True)


def test_labels_are_those_of_the_first_calls_and_others_of_any() -> None:
    runs = judge(
        [
            kick(call("washout", 1050), call("influx", 1100)),
            kick(call("influx", 1050), call("washout", 1100)),
            kick(call("influx", 1050)),
            kick(call("influx", 900)),
        ]
    )
    assert labels(runs) == {"influx": {"influx": 2, "washout": 1, "": 1}}
    assert others(runs) == {"influx": {"washout": 2}}
