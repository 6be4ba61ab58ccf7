"""An invented half hour on an invented rig, as a recording would hold it; for screen tests."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np

import adapters
from engine.block import Block, Quality
from engine.channels import CHANNELS, Kind, channel
from engine.config import WellConfig, parse_config
from engine.interfaces import FeedHealth, Status
from engine.records.journal import Entry, Journal
from engine.states import RigState
from engine.units import units_of
from tests.helpers import T0, FakeRecording

LONG = 1800
"""Rows, one a second. [-]"""
NOT_SENT = ("gas", "trip_tank_volume", "annulus_pressure", "flow_out_share", "density_out")


def well(**changes: object) -> WellConfig:
    """Return the example well, with top-level keys changed."""
    import tomllib

    text = (Path(adapters.__file__).parent / "example_well.toml").read_text(encoding="utf-8")
    return parse_config({**tomllib.loads(text), **changes}, "example")


def drilling_table(n: int = LONG, influx: float = 0.0) -> dict[str, Block]:
    """Return rows of steady drilling with one connection; `influx` [m3/s] starts 300 s before end.

    Numbers are made up so that a chart looks like a chart; no rule of the engine is behind them.
    """
    t = T0 + np.arange(n, dtype=float)
    s = np.arange(n, dtype=float)
    rng = np.random.default_rng(4)
    noise = rng.standard_normal((12, n))
    slips = (s > 700) & (s < 940)
    kick = np.where(s > n - 300, influx, 0.0)
    depth = 2391.0 + np.cumsum(np.where(slips, 0.0, 8 / 3600))
    flow = np.where(slips, 0.0, 0.0452)
    values = {
        "block_position": np.where(
            s < 700, 18 - s * 8 / 3600, 28.0 - np.maximum(s - 940, 0) * 0.003
        ),
        "hook_load": np.where(slips, 3.3e5, 1.02e6 + 6e3 * noise[0]),
        "weight_on_bit": np.where(slips, np.nan, 1.45e5 + 6e3 * noise[1]),
        "rop": np.where(slips, np.nan, 8 / 3600 + 4e-5 * noise[2]),
        "torque": np.where(slips, 0.0, 1.52e4 + 700 * noise[3]),
        "rotary": np.where(slips, 0.0, 7.33 + 0.05 * noise[4]),
        "standpipe_pressure": np.where(slips, 1e5, 1.182e7 + 4e4 * noise[5]),
        "flow_in": flow,
        "flow_out": np.where(slips, 0.0, flow + kick + 2e-4 * noise[6]),
        "pit_volume": 41.2 + np.where(slips, 0.8, 0.0) + np.cumsum(kick) + 0.01 * noise[7],
        "temperature_out": 341.0 + 0.2 * noise[8],
        "temperature_in": 322.0 + 0.2 * noise[9],
        "pump_1_rate": np.where(slips, 0.0, 62 / 60),
        "pump_2_rate": np.where(slips, 0.0, 61 / 60),
        "density_in": np.full(n, 1050.0),
        "bit_depth": depth - np.where(slips, 1.0, 0.0),
        "hole_depth": depth,
        "in_slips": slips.astype(float),
        "slips_since": np.where(s <= 700, t[0], np.where(slips, T0 + 701, T0 + 940)),
        "on_bottom": (~slips).astype(float),
        "rig_state": np.where(slips, RigState.IN_SLIPS, RigState.DRILLING_ROTARY).astype(float),
        "rig_state_since": np.where(s <= 700, t[0], np.where(slips, T0 + 701, T0 + 940)),
        "pit_gain": np.cumsum(kick) + 0.01 * noise[7],
        "tare": np.full(n, 1.165e6),
        "stand_count": np.where(s < 940, 83.0, 84.0),
        "stand_remaining": np.where(
            s < 700, 2.0 - s * 0.002, 28.5 - np.maximum(s - 940, 0) * 0.003
        ),
    }
    values["flow_difference"] = values["flow_out"] - values["flow_in"]
    table = {}
    for name in CHANNELS:
        value = values.get(name, np.full(n, np.nan))
        gone = np.isnan(value)
        measured = CHANNELS[name].kind is not Kind.DERIVED and name not in values
        reason = Quality.NO_DATA if measured else Quality.NOT_APPLICABLE
        table[name] = Block(t, value, np.where(gone, int(reason), 0).astype(np.uint16))
    return table


def alarm(at: float, id_: str, event: str, move: str, **more: object) -> Entry:
    """Return an alarm's journal entry; `move` is the letters before and after."""
    known = next(a for a in well().alarms if a.id == id_)
    high = known.high is not None
    limit = known.high if high else known.low
    details = {
        "label": known.label, "before": move[0], "after": move[1], "priority": known.priority,
        "side": "high" if high else "low", "value": limit, "limit": limit,
        "unit": units_of(channel(known.channel).quantity)[0].id, "who": None, "reason": None,
    }  # fmt: skip
    return Entry(at, "alarm", id_, event, details | more)


def recording(
    table: dict[str, Block], entries: Sequence[Entry] = (), *, bad_lines: int = 0
) -> FakeRecording:
    """Return a live recording whose heartbeat is of the newest row."""
    fake = FakeRecording(table)
    fake.lines = Journal().write(entries)
    last = float(table["hook_load"].t[-1])
    notes = {"bad_number": bad_lines} if bad_lines else None
    health = FeedHealth("rig", True, "", last, last, 1800, bad_lines, notes)
    fake.beat = Status(wall=last, data=last, feeds=(health,))
    return fake


def kick() -> FakeRecording:
    """Return drilling into an influx: two new alarms, one acknowledged, one returned."""
    end = T0 + LONG - 1
    entries = [
        alarm(end - 900, "pressure-high", "trip", "AB", value=14.8e6),
        alarm(end - 870, "pressure-high", "clear", "BD", value=14.1e6),
        alarm(end - 600, "returns-hot", "trip", "AB", value=355.5),
        alarm(end - 570, "returns-hot", "ack", "BC", value=355.6, who="Ines"),
        alarm(end - 200, "flow-out-high", "trip", "AB", value=0.0095),
        alarm(end - 95, "pit-gain", "trip", "AB", value=1.04),
    ]
    return recording(drilling_table(influx=0.0099), entries, bad_lines=3)
