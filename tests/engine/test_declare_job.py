"""Work that a person declares: taken with its end, ended early, refused in words."""

from __future__ import annotations

import pytest

from engine.commands import DeclareJob, Issued
from engine.detect.call import JOBS
from engine.detect.pressure_bins import busy
from engine.engine import Engine
from engine.records.journal import Entry, read
from tests.tables import NAN, T0, well


def engine() -> Engine:
    return Engine(well(), Entry(T0, "watch", "Emberholt 4", "start"))


def give(to: Engine, at: float, job: str, minutes: float) -> dict[str, object]:
    _, lines = to.take([Issued(T0 + at, DeclareJob(job, minutes), "Ines", "doghouse")])
    (entry,) = [f for f in map(read, lines) if f["id"] == "declare_job"]
    return entry


@pytest.mark.parametrize("job", JOBS)
def test_a_job_lasts_as_long_as_was_said(job: str) -> None:
    """R-23: any state but declared work."""
    watch = engine()
    entry = give(watch, 10.0, job, 20.0)
    assert (entry["job"], entry["until"]) == (job, T0 + 1210.0)
    jobs = watch.detectors.jobs
    assert [busy(jobs, T0 + at, job) for at in (5, 15, 1210, 1215)] == [False, True, True, False]
    assert not any(busy(jobs, T0 + 15, other) for other in JOBS if other != job)


def test_a_job_can_be_ended_or_extended() -> None:
    watch = engine()
    give(watch, 10.0, "cementing", 20.0)
    give(watch, 300.0, "cementing", 0.0)
    assert busy(watch.detectors.jobs, T0 + 295, "cementing")
    assert not busy(watch.detectors.jobs, T0 + 305, "cementing")
    give(watch, 400.0, "pressure_test", 5.0)
    give(watch, 500.0, "pressure_test", 60.0)
    assert busy(watch.detectors.jobs, T0 + 3000, "pressure_test")


@pytest.mark.parametrize(
    ("job", "minutes", "words"),
    [
        ("cementin", 5.0, "no job 'cementin'; give one of cementing, pressure_test, returns_"),
        ("cementing", -1.0, "-1 minutes: give how long it lasts, or 0 to end it"),
        ("cementing", float("inf"), "inf minutes"),
        ("cementing", NAN, "nan minutes"),
    ],
)
def test_what_cannot_be_is_refused(job: str, minutes: float, words: str) -> None:
    watch = engine()
    assert words in str(give(watch, 10.0, job, minutes)["refused"])
    assert watch.detectors.jobs == ()
