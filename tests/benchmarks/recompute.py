"""Working a tour out again, and reading it back, from a real recording."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from itertools import islice
from pathlib import Path

import numpy as np

from adapters.sqlite_reader import SqliteRecording
from adapters.sqlite_store import create_recording
from engine.alarms.manager import AlarmManager
from engine.block import Block
from engine.channels import CHANNELS
from engine.detect.detectors import board
from engine.detect.kinds import CALL_CHANNELS
from engine.engine import Engine
from engine.pipeline import Pipeline
from engine.records.recompute import BATCH
from engine.run import head_entry
from tests.benchmarks.material import Tour
from tests.benchmarks.measure import Result, ratio
from tests.helpers import same_table
from tests.tables import well

META = {
    "well": "Emberholt 4", "well_file": "", "config_hash": "0" * 64, "program": "benchmark",
    "created": "2026-05-28T20:26:40Z", "source": "synthetic", "synthetic": "1",
    "channels_mapped": "[]",
}  # fmt: skip


def record(tour: Tour, path: Path) -> None:
    """Record `tour` as the watch does: inputs, rows and journal."""
    recorder = create_recording(path, META)
    engine, events = Engine(well(), head_entry(META)), iter(tour.events)
    while batch := list(islice(events, BATCH)):
        recorder.inputs(batch)
        tables, lines = engine.take(batch)
        for table in tables:
            recorder.rows(table)
        recorder.journal(lines)
    recorder.close()


def recompute(tour: Tour, path: Path) -> Iterator[Result]:
    """Race working out against reading; last all that a replay check does before it compares."""
    config, recording = well(), SqliteRecording(path)

    limits = [alarm for alarm in config.alarms if alarm.channel not in CALL_CHANNELS]

    def work() -> None:
        AlarmManager(limits).process(Pipeline(config).process(tour.raw))

    def watch() -> None:
        table = Pipeline(config).process(tour.raw)
        channels, calls, _ = board(config).process(table)
        AlarmManager(config.alarms).process(table | channels | calls)

    def read() -> None:
        recording.rows()

    def check() -> None:
        engine, stream = Engine(config, head_entry(META)), recording.inputs()
        while batch := list(islice(stream, BATCH)):
            engine.take(batch)

    name = "recompute: 12 h of blocks in memory / reading 12 h of rows"
    yield Result(name, ratio(work, read, 5), 0.5)
    name = "recompute: the same with detectors and their alarms / reading rows"
    yield Result(name, ratio(watch, read, 5), 1.0)
    name = "recompute: from recorded inputs, JSON to journal / reading rows"
    yield Result(name, ratio(check, read, 3))
    recording.close()


def read(path: Path) -> Iterator[Result]:
    """Race our reader against the plain way: everything at once, then an array of it."""
    recording = SqliteRecording(path)
    connection = sqlite3.connect(f"file:{path}?mode=ro", uri=True)
    names = ", ".join(f'"{channel}"' for channel in CHANNELS)

    def plain() -> dict[str, Block]:
        question = f"SELECT t_us, {names}, quality FROM rows ORDER BY t_us"
        rows = connection.execute(question).fetchall()
        numbers = np.array([row[:-1] for row in rows], np.float64)
        blobs = b"".join(row[-1] for row in rows)
        quality = np.frombuffer(blobs, "<u2").reshape(len(rows), len(CHANNELS))
        t = numbers[:, 0] / 1e6
        return {
            channel: Block(
                t,
                np.ascontiguousarray(numbers[:, i + 1]),
                np.ascontiguousarray(quality[:, i]).astype(np.uint16),
            )
            for i, channel in enumerate(CHANNELS)
        }

    if not same_table(recording.rows(), plain()):
        raise RuntimeError("read: the two readers do not give the same table")
    name = "read: the recording's reader / fetchall and array"
    yield Result(name, ratio(recording.rows, plain, 5), 0.85)
    recording.close()
    connection.close()
