"""Live hydraulics: the model of the well file at each row, unknown where anything is unknown."""

from __future__ import annotations

import tomllib
from typing import Any

import numpy as np
import pytest

from adapters.config_file import example_text
from engine.block import Block, Quality
from engine.config import WellConfig, parse_config
from engine.ops.hydraulics import CHANNELS, Hydraulics
from engine.units import GAL, HP, IN, MINUTE, PPG, PSI
from engine.well.answer import Unknown
from engine.well.hydraulics import circulate
from engine.well.well_file import circuit_of
from tests.tables import L_S, NAN, check_splits, has, random_table, table_of, well, with_bits

GPM = GAL / MINUTE


def without(*tables: str, **changes: Any) -> WellConfig:
    """Return the example well without some tables."""
    kept = {k: v for k, v in tomllib.loads(example_text()).items() if k not in tables}
    return parse_config(kept | changes, "test")


def live(config: WellConfig | None = None, **columns: Any) -> dict[str, Block]:
    return Hydraulics(config or well()).process(table_of(**columns))


def test_the_live_values_are_those_of_the_model() -> None:
    """Within 0.1 per cent, the promise of the table; scaled to the reading of the well file."""
    circuit = circuit_of(well())
    assert not isinstance(circuit, Unknown)
    out = live(flow_in=[45 * L_S, 30 * L_S, 8 * L_S], bit_depth=[2400.0, 1000.0, 2500.0])
    reading = circulate(circuit, 45 * L_S, 2400.0)
    assert not isinstance(reading, Unknown)
    scale = 11.5e6 / reading.standpipe  # type: ignore[operator]
    for i, (q, z) in enumerate([(45 * L_S, 2400.0), (30 * L_S, 1000.0), (8 * L_S, 2500.0)]):
        want = circulate(circuit, q, z)
        assert not isinstance(want, Unknown)
        assert out["expected_pressure"].value[i] == pytest.approx(want.standpipe * scale, rel=1e-3)
        assert out["ecd_bit"].value[i] == pytest.approx(want.ecd_bit, rel=1e-4)
        assert out["ecd_shoe"].value[i] == pytest.approx(want.ecd_shoe, rel=1e-4)
        assert out["bit_pressure_drop"].value[i] == pytest.approx(want.bit, rel=1e-12)
    assert not any(out[name].quality.any() for name in CHANNELS if name != "pressure_residual")


def test_bit_drop_and_power_agree_with_the_field_formulas() -> None:
    """MW Q^2/(10858 A^2) psi and P Q/1714 hp (Guo and Liu 2011, p. 53), to their roundings."""
    mud = {"density_ppg": 10.0, "plastic_viscosity_cP": 15, "yield_point_lb_100ft2": 10}
    config = well(mud=mud, bit={"nozzles_in32": [12, 12, 12]})
    out = live(config, flow_in=[500 * GPM], bit_depth=[2400.0])
    area = 3 * np.pi / 4 * (12 / 32) ** 2
    psi = 10.0 * 500**2 / (10858 * area**2)
    assert config.mud.density == pytest.approx(10 * PPG)
    assert out["bit_pressure_drop"].value[0] / PSI == pytest.approx(psi, rel=3e-4)
    assert out["bit_power"].value[0] / HP == pytest.approx(psi * 500 / 1714, rel=5e-4)


def test_with_the_pumps_off_there_is_no_friction_and_the_ecd_is_the_mud_weight() -> None:
    """Case G04; good, and not unknown: it is the static density. A rate below 0 is noise.

    Nor is there any below 1 L/min.
    """
    out = live(flow_in=[0.0, -0.1 * L_S, 0.01 * L_S], bit_depth=2400.0, standpipe_pressure=0.0)
    for name in ("expected_pressure", "bit_pressure_drop", "bit_power"):
        assert out[name].value.tolist() == [0.0, 0.0, 0.0]
    for name in ("ecd_bit", "ecd_shoe"):
        assert out[name].value.tolist() == [1050.0, 1050.0, 1050.0]
        assert out[name].quality.tolist() == [0, 0, 0]
    assert has(out["pressure_residual"], Quality.NOT_APPLICABLE) == [True, True, True]


def test_an_ecd_near_the_floor_is_not_applicable() -> None:
    """Case G07: below 1 m of true vertical depth; the bit at the floor has no column."""
    out = live(flow_in=[0.0, 0.0, 0.0], bit_depth=[0.0, 0.9, 1.1])["ecd_bit"]
    assert np.isnan(out.value).tolist() == [True, True, False]
    assert has(out, Quality.NOT_APPLICABLE) == [True, True, False]
    assert not any(has(out, Quality.NO_DATA))


def test_the_depth_of_the_ecd_is_the_true_vertical_one() -> None:
    """Same friction over half the height is twice the gain in density."""
    points = [{"md_m": 2000.0, "tvd_m": 1000.0}]
    straight = live(flow_in=[45 * L_S], bit_depth=[2000.0])["ecd_bit"].value[0] - 1050.0
    bent = live(well(survey=points), flow_in=[45 * L_S], bit_depth=[2000.0])["ecd_bit"]
    assert bent.value[0] - 1050.0 == pytest.approx(2 * straight)


def test_a_lost_input_makes_all_that_needs_it_unknown_with_its_reason() -> None:
    out = live(flow_in=[45 * L_S, NAN], bit_depth=[NAN, 2400.0], standpipe_pressure=[1e7, 1e7])
    for name in ("expected_pressure", "pressure_residual", "ecd_bit", "ecd_shoe"):
        assert np.isnan(out[name].value).all()
        assert has(out[name], Quality.STALE) == [True, True]
    assert np.isnan(out["bit_power"].value).tolist() == [False, True]


def test_a_frozen_flow_is_not_computed_with() -> None:
    table = table_of(flow_in=[45 * L_S], bit_depth=[2400.0])
    table["flow_in"] = with_bits(table["flow_in"], Quality.FROZEN)
    out = Hydraulics(well()).process(table)
    assert all(np.isnan(block.value).all() for block in out.values())
    assert has(out["ecd_bit"], Quality.FROZEN) == [True]


def test_a_doubtful_flow_is_computed_with_and_the_doubt_goes_on() -> None:
    table = table_of(flow_in=[45 * L_S], bit_depth=[2400.0])
    table["flow_in"] = with_bits(table["flow_in"], Quality.CONFLICT)
    out = Hydraulics(well()).process(table)["ecd_bit"]
    assert not np.isnan(out.value[0])
    assert has(out, Quality.CONFLICT) == [True]


def test_another_mud_at_the_meter_is_a_conflict_and_no_other_number() -> None:
    """2 per cent of 1050 is 21 kg/m3; a slug of 1200 must not swing the ECD at once."""
    at = {"flow_in": [45 * L_S] * 7, "bit_depth": 2400.0}
    meter = [NAN, 1050.0, 1070.0, 1030.0, 1072.0, 1028.0, 1200.0]
    out, without_meter = live(density_in=meter, **at), live(**at)
    for name in ("ecd_bit", "ecd_shoe", "expected_pressure", "bit_pressure_drop", "bit_power"):
        assert has(out[name], Quality.CONFLICT) == [False] * 4 + [True] * 3
        assert out[name].value.tolist() == without_meter[name].value.tolist()
        assert out[name].good.all()
    table = table_of(density_in=[1200.0], flow_in=[45 * L_S], bit_depth=[2400.0])
    table["density_in"] = with_bits(table["density_in"], Quality.FROZEN)
    assert has(Hydraulics(well()).process(table)["ecd_bit"], Quality.CONFLICT) == [False]


def test_another_mud_marks_only_what_has_a_number() -> None:
    out = live(flow_in=[NAN], bit_depth=[2400.0], density_in=[1300.0])
    for name in CHANNELS[:4]:
        assert has(out[name], Quality.CONFLICT) == [False]


@pytest.mark.parametrize(
    ("config", "lacking", "word"),
    [
        (well(mud={"density_sg": 1.05}), CHANNELS[:4], "[mud]"),
        (well(bit={}), ("expected_pressure", "pressure_residual", *CHANNELS[4:]), "[bit]"),
        (without("surface", "standpipe"), CHANNELS[:2], "[surface]"),
        (well(hole=[]), CHANNELS[:4], "[[hole]]"),
        (
            well(hole=[{"name": "open hole", "diameter_in": 8.5}]),
            ("ecd_shoe",),
            "no casing",
        ),
    ],
)
def test_what_the_well_file_lacks_is_unknown_and_said(
    config: WellConfig, lacking: tuple[str, ...], word: str
) -> None:
    """A reference is missing, whatever the flow; the other channels go on."""
    op = Hydraulics(config)
    out = op.process(table_of(flow_in=[45 * L_S, NAN], bit_depth=[2400.0, 2400.0]))
    assert set(op.unknown) == set(lacking)
    assert all(word in reason for reason in op.unknown.values())
    for name in CHANNELS:
        if name in lacking:
            assert np.isnan(out[name].value).all()
            assert out[name].quality.tolist() == [int(Quality.NO_REFERENCE)] * 2
        elif name != "pressure_residual":
            assert not np.isnan(out[name].value[0])


def test_a_string_too_thick_for_the_hole_gives_no_reference() -> None:
    """At 1500 m the bit has passed the narrow liner; in it no pressure can be told."""
    hole = [
        {"name": "casing", "bottom_m": 1000.0, "diameter_in": 8.681},
        {"name": "narrow", "top_m": 1000.0, "diameter_in": 6.0},
    ]
    out = live(without("standpipe", hole=hole), flow_in=[45 * L_S] * 2, bit_depth=[900.0, 1500.0])
    assert np.isnan(out["ecd_bit"].value).tolist() == [False, True]
    assert has(out["ecd_bit"], Quality.NO_REFERENCE) == [False, True]
    assert np.isnan(out["expected_pressure"].value).tolist() == [False, True]


def test_any_split_gives_the_same_hydraulics() -> None:
    known = 0
    for seed in range(4):
        table = random_table(
            seed, 1500,
            flow_in=(0.0, *[45 * L_S] * 8, 45.5 * L_S), bit_depth=(*[2400.0] * 9, 0.5),
            standpipe_pressure=(1.1e7, 1.15e7), in_slips=(*[0.0] * 9, 1.0), on_bottom=(1.0, 0.0),
            density_in=(1050.0, 1055.0, 1100.0),
        )  # fmt: skip
        out = check_splits(lambda: Hydraulics(well()), table)
        known += _honest(out)
    assert known > 50


def test_any_split_gives_the_same_reference_of_a_stand() -> None:
    """Three stands of 1000 s with noise and lost rows, faster than they are worked out."""
    rng = np.random.default_rng(3)
    i = np.arange(9000)
    slips = (i % 3000 < 300).astype(float)
    noise = 1 + 0.005 * rng.standard_normal((2, i.size))
    table = table_of(
        i.size, 1 / 3, in_slips=slips, on_bottom=1 - slips, bit_depth=2400.0,
        flow_in=np.where(slips > 0, 0.0, 45 * L_S * noise[0]),
        standpipe_pressure=np.where(rng.random(i.size) < 0.01, NAN, 1.2e7 * noise[1]),
    )  # fmt: skip
    out = check_splits(lambda: Hydraulics(without("standpipe")), table)
    assert _honest(out) > 4000
    residual = out["pressure_residual"].value
    assert np.nanmax(np.abs(residual)) < 0.01 * 1.2e7


def _honest(out: dict[str, Block]) -> int:
    """Assert no NaN without a reason, no number from a bad input; return residuals known."""
    for block in out.values():
        assert not (np.isnan(block.value) & (block.quality == 0)).any()
        assert not (~np.isnan(block.value) & ~block.good).any()
    return int((~np.isnan(out["pressure_residual"].value)).sum())


def test_no_rows_give_no_rows() -> None:
    out = Hydraulics(well()).process(table_of(flow_in=np.empty(0), bit_depth=np.empty(0)))
    assert all(len(block) == 0 for block in out.values())


def test_the_example_well_has_all_the_keys() -> None:
    assert Hydraulics(well()).unknown == {}
    assert well().mud.plastic_viscosity == pytest.approx(0.008)
    assert sum(well().bit.nozzles) == pytest.approx(75 / 32 * IN)
