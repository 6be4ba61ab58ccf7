"""The sample schedule of a recording, by hand on one straight annulus and on the synthetic rig.

Rows are a second apart; a metre of hole takes 100 of them, a metre of annulus one.
"""

from __future__ import annotations

from math import pi

import numpy as np
import pytest

from engine.block import Block
from engine.errors import InputError
from engine.pipeline import Pipeline
from engine.records.journal import from_iso
from engine.records.samples import Schedule, as_json, sample_schedule
from engine.records.samples_text import samples_text
from engine.sim.rig import Rig
from engine.units import IN
from engine.well.pumps import stroke_volume
from tests.helpers import FakeRecording
from tests.tables import NAN, T0, cut, raw_of, table_of, well

PIPE = {"name": "pipe", "outer_in": 5.0, "inner_in": 4.276, "weight_kg_m": 20.0}
CONFIG = well(string=[PIPE], hole=[{"name": "hole", "diameter_in": 8.5}])
AREA = pi / 4 * (8.5**2 - 5.0**2) * IN**2
FLOW = AREA
"""Mud rises at a metre a second. [m3/s]"""
EACH = stroke_volume(CONFIG.pumps[0])


def table(n: int = 2000, **columns: object) -> dict[str, Block]:
    hole = 499.0 + 0.01 * np.arange(n)
    base = {"flow_in": FLOW, "flow_difference": 0.0, "bit_depth": hole, "hole_depth": hole}
    return table_of(n, **(base | columns))


def schedule(rows: dict[str, Block], every: float = 5.0) -> Schedule:
    return sample_schedule(FakeRecording(rows), CONFIG, every)


def test_each_depth_drilled_is_listed_with_when_it_was_and_when_it_came_up() -> None:
    """500 m was drilled after 100 s and is up 500 s later; 505 m 505 s after 600 s."""
    found = schedule(table())
    assert [s.depth for s in found.samples] == [500.0, 505.0, 510.0, 515.0]
    assert [s.drilled - T0 for s in found.samples if s.drilled] == pytest.approx(
        [100, 600, 1100, 1600], abs=1
    )
    assert [s.state for s in found.samples] == ["surfaced", "surfaced", "surfaced", "coming"]
    assert [s.at - T0 for s in found.samples if s.at] == pytest.approx(
        [600, 1105, 1610, 2115], abs=2
    )


def test_the_next_one_is_told_with_its_time_and_strokes() -> None:
    """At 1999 s there are 515 m of annulus to pump less the 399 s since it was drilled."""
    found = schedule(table()).next
    assert found is not None
    assert found.strokes == pytest.approx((515 - 399) * AREA / EACH, abs=0.2)
    text = samples_text(schedule(table()), CONFIG)
    said = f"at {_clock(2115)}, {found.strokes:.0f} strokes to go"
    assert f"next sample from 515.00 m reaches the shakers {said}" in text


def test_pumps_that_stop_for_ten_minutes_leave_the_strokes_to_go() -> None:
    """Case G18: the strokes stay, the time is unknown until they run again."""
    flow = np.where(np.arange(2600) < 2000, FLOW, 0.0)
    hole = 499.0 + 0.01 * np.arange(2600).clip(0, 2000)
    rows = table(2600, flow_in=flow, hole_depth=hole, bit_depth=hole)
    early, late = schedule(cut(rows, 0, 2002)).next, schedule(rows).next
    assert early is not None
    assert late is not None
    assert early.strokes == late.strokes != 0
    assert late.at is None
    assert "no flow now" in samples_text(schedule(rows), CONFIG)


def test_half_the_flow_takes_twice_the_time_and_the_same_strokes() -> None:
    flow = np.where(np.arange(2001) < 2000, FLOW, FLOW / 2)
    whole, half = (
        as_json(schedule(rows), "")["next"] for rows in (table(2001), table(2001, flow_in=flow))
    )
    left = [from_iso(found["at_shakers"]) - (T0 + 2000) for found in (whole, half)]
    assert left[1] == pytest.approx(2 * left[0], abs=2)
    assert half["strokes_to_go"] == pytest.approx(whole["strokes_to_go"], abs=1)


def test_a_sample_on_its_way_at_a_trip_is_not_given_a_time() -> None:
    """Case G19: 505 m was drilled at 600 s, the bit is pulled at 700 s."""
    away = np.where((np.arange(2000) > 700) & (np.arange(2000) < 900), 100.0, 0.0)
    hole = table()["hole_depth"].value
    rows = table(bit_depth=hole - away)
    during, after = schedule(cut(rows, 0, 1000)), schedule(rows)
    assert during.samples[1].state == after.samples[1].state == "unknown"
    assert after.samples[1].at is after.samples[1].strokes is None
    assert after.samples[1].drilled is not None
    assert after.samples[2].state == "surfaced"
    assert "unknown: the lag was lost" in samples_text(after, CONFIG)


def test_depths_drilled_before_the_recording_or_while_nobody_looked_have_no_time() -> None:
    rows = table()
    hole = rows["hole_depth"].value.copy()
    hole[500:700] = NAN
    found = schedule(table(hole_depth=hole))
    assert found.samples[0].depth == 500.0
    assert found.samples[1].drilled is None
    assert found.samples[1].state == "unknown"


def test_how_it_is_read_makes_no_difference(monkeypatch: pytest.MonkeyPatch) -> None:
    whole = schedule(table())
    for span in (1.0, 333.0, 1999.0):
        monkeypatch.setattr("engine.records.samples.SPAN_S", span)
        assert schedule(table()) == whole


def test_cuttings_that_fall_come_later() -> None:
    """500 m at 1 m/s less 0.2 m/s of slip: 625 s instead of 500 s."""
    slow = CONFIG.model_copy(
        update={"profile": CONFIG.profile.model_copy(update={"cuttings_slip": 0.2})}
    )
    found = sample_schedule(FakeRecording(table()), slow, 5.0)
    assert found.samples[0].at == pytest.approx(T0 + 100 + 625, abs=2)
    to_go = found.samples[-1].strokes
    assert to_go == pytest.approx((515 / 0.8 - 399) * AREA / EACH, abs=0.5)
    assert "fall through the mud" in samples_text(found, slow)


def test_nothing_recorded_is_said_so() -> None:
    found = sample_schedule(FakeRecording(), CONFIG, 5.0)
    assert found.samples == ()
    assert found.next is None
    assert "nothing was recorded" in samples_text(found, CONFIG)
    assert as_json(found, "x")["now"] is None


def test_an_interval_that_is_none_or_too_short_is_refused_in_words() -> None:
    with pytest.raises(InputError, match="above 0"):
        schedule(table(), 0.0)
    with pytest.raises(InputError, match="take a longer interval"):
        schedule(table(), 0.001)


def test_on_the_synthetic_rig_samples_come_up_when_the_tracer_does() -> None:
    """Within a minute, which is half a metre at 29 m/h; the last ones by their strokes."""
    chunk = Rig(well(), "quiet-soft", 3, T0).advance(3 * 3600.0)
    t = chunk.t[chunk.sent]
    rows = Pipeline(well()).process(raw_of(chunk))
    found = sample_schedule(FakeRecording(cut(rows, 0, 9000)), well(), 5.0)
    strokes = rows["strokes"].value
    truth = chunk.truth["lagged_depth"][chunk.sent]
    assert {s.state for s in found.samples} == {"surfaced", "coming"}
    for sample in found.samples:
        up = int(np.searchsorted(truth, sample.depth))
        if sample.state == "surfaced":
            assert sample.at == pytest.approx(float(t[up]), abs=60.0)
        else:
            assert sample.strokes == pytest.approx(strokes[up] - strokes[8999], abs=170)


def _clock(second: float) -> str:
    minutes = int((T0 + second) % 86400 // 60)
    return f"{minutes // 60:02}:{minutes % 60:02}"
