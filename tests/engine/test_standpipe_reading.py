"""A reading of the standpipe, entered on a running watch, is what the model meets from then on."""

from __future__ import annotations

import tomllib
from itertools import pairwise

import numpy as np
import pytest

from adapters.config_file import example_text
from engine.block import Block, Quality
from engine.commands import EnterStandpipe, Issued
from engine.config import Standpipe, WellConfig, parse_config
from engine.engine import Engine
from engine.ops.hydraulics import CHANNELS, Hydraulics
from engine.records.journal import Entry, read
from engine.well.answer import Unknown
from engine.well.well_file import reading_factor, reading_of
from tests.tables import L_S, T0, cut, has, table_of, well

N, AT_ROW = 400, 200


def reading(pressure: float = 12.65e6) -> Standpipe:
    found = reading_of(pressure, 45 * L_S, 2400.0)
    assert not isinstance(found, Unknown)
    return found


def without_standpipe() -> WellConfig:
    raw = {k: v for k, v in tomllib.loads(example_text()).items() if k != "standpipe"}
    return parse_config(raw, "test")


def steady() -> dict[str, Block]:
    return table_of(
        N, flow_in=45 * L_S, bit_depth=2400.0, standpipe_pressure=12e6, in_slips=0.0, on_bottom=1.0
    )


def run(config: WellConfig, edges: list[int]) -> dict[str, Block]:
    """Calibrate before row `AT_ROW`; `edges` has it among the cuts."""
    op, table = Hydraulics(config), steady()
    parts = []
    for a, b in pairwise(edges):
        if a == AT_ROW:
            assert not isinstance(op.calibrate(reading()), Unknown)
        parts.append(op.process(cut(table, a, b)))
    t = np.concatenate([part["ecd_bit"].t for part in parts])
    return {
        name: Block(
            t,
            np.concatenate([part[name].value for part in parts]),
            np.concatenate([part[name].quality for part in parts]),
        )
        for name in CHANNELS
    }


def test_the_model_meets_the_newest_reading_and_the_residual_settles_anew() -> None:
    """11.5 MPa by the well file, 12.65 as read later: 12 MPa is 0.5 more, then 0.65 less.

    Both at 45 L/s and 2400 m. No mean of two models is shown: none for the first minute.
    """
    out = run(well(), [0, AT_ROW, N])
    expected, residual = out["expected_pressure"].value, out["pressure_residual"]
    assert expected[:AT_ROW] == pytest.approx(11.5e6, rel=1e-3)
    assert expected[AT_ROW:] == pytest.approx(12.65e6, rel=1e-3)
    assert residual.value[AT_ROW - 1] == pytest.approx(0.5e6, abs=2e4)
    assert np.isnan(residual.value[AT_ROW : AT_ROW + 59]).all()
    assert all(has(residual, Quality.NOT_APPLICABLE)[AT_ROW : AT_ROW + 59])
    assert residual.value[AT_ROW + 62 :] == pytest.approx(-0.65e6, abs=2e4)
    for name in ("ecd_bit", "bit_pressure_drop"):
        assert np.ptp(out[name].value) == 0.0


def test_a_reading_between_blocks_of_any_size_gives_the_same_bytes() -> None:
    whole = run(well(), [0, AT_ROW, N])
    for edges in ([*range(N), N], [0, 7, 150, AT_ROW, 201, 333, N]):
        parts = run(well(), edges)
        for name, block in whole.items():
            assert parts[name].value.tobytes() == block.value.tobytes(), name
            assert parts[name].quality.tobytes() == block.quality.tobytes(), name


def test_a_reading_makes_known_what_the_well_file_alone_left_open() -> None:
    """Without surface lines and reading there is no expectation; the reading makes one."""
    raw = {k: v for k, v in tomllib.loads(example_text()).items()
           if k not in ("standpipe", "surface")}  # fmt: skip
    op = Hydraulics(parse_config(raw, "test"))
    assert set(op.unknown) == {"expected_pressure", "pressure_residual"}
    op.calibrate(reading())
    assert op.unknown == {}
    out = op.process(table_of(flow_in=[45 * L_S], bit_depth=[2400.0]))
    assert out["expected_pressure"].value[0] == pytest.approx(12.65e6, rel=1e-3)


def test_the_state_carries_the_reading() -> None:
    op = Hydraulics(without_standpipe())
    op.calibrate(reading())
    other = Hydraulics(without_standpipe())
    other.state = op.state
    table = table_of(flow_in=[45 * L_S], bit_depth=[2400.0])
    got = other.process(table)["expected_pressure"].value[0]
    assert got == pytest.approx(12.65e6, rel=1e-3)


def test_a_reading_that_cannot_be_leaves_the_old_one() -> None:
    op = Hydraulics(well())
    far = op.calibrate(reading(90e6))
    assert isinstance(far, Unknown)
    assert "times the model's" in far.reason
    out = op.process(table_of(flow_in=[45 * L_S], bit_depth=[2400.0]))
    assert out["expected_pressure"].value[0] == pytest.approx(11.5e6, rel=1e-3)
    assert isinstance(reading_of(0.0, 45 * L_S, 2400.0), Unknown)
    no_flow = well(mud={"density_sg": 1.05})
    assert isinstance(reading_factor(no_flow, reading()), Unknown)


def test_the_command_of_a_person_calibrates_and_a_bad_one_is_refused() -> None:
    config = well()
    engine = Engine(config, Entry(T0, "watch", config.well, "start"))
    good = EnterStandpipe(12.65e6, 45 * L_S, 2400.0)
    _, lines = engine.take([Issued(T0 + 1, good, "Ola", "doghouse")])
    told = read(lines[-1])
    assert (told["pressure_Pa"], told["bit_depth_m"], told["who"]) == (12.65e6, 2400.0, "Ola")
    table = table_of(flow_in=[45 * L_S], bit_depth=[2400.0])
    hydraulics = engine.pipeline.hydraulics
    after = hydraulics.process(table)["expected_pressure"].value[0]
    assert after == pytest.approx(12.65e6, rel=1e-3)
    bad = EnterStandpipe(1e5, 45 * L_S, 2400.0)
    _, lines = engine.take([Issued(T0 + 2, bad, "Ola", "doghouse")])
    assert "times the model's" in read(lines[-1])["refused"]
    assert hydraulics.state.reading == reading()
