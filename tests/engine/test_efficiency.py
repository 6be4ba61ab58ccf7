"""Live specific energy and exponents: the pure functions on the means of one minute."""

from __future__ import annotations

import tomllib
from typing import Any

import numpy as np
import pytest

from adapters.config_file import example_text
from engine.block import Block, Quality
from engine.config import WellConfig, parse_config
from engine.ops.efficiency import CHANNELS, Efficiency
from engine.units import FT, HOUR, IN, LBF, PPG, PSI
from engine.well.efficiency import (
    corrected_d_exponent,
    d_exponent,
    specific_energy,
    torque_per_weight,
)
from tests.tables import NAN, check_splits, has, random_table, table_of, well, with_bits

RPM = 2 * np.pi / 60
W, N, T, OFF, R, D = 150e3, 70 * RPM, 8e3, 3e3, 6.8 / HOUR, 8.5 * IN
STEADY: dict[str, Any] = {
    "weight_on_bit": W, "rotary": N, "torque": T, "off_bottom_torque": OFF, "rop": R,
    "on_bottom": 1.0,
}  # fmt: skip


def live(config: WellConfig | None = None, n: int = 120, **columns: Any) -> dict[str, Block]:
    return Efficiency(config or well()).process(table_of(n, **(STEADY | columns)))


def test_constant_inputs_give_what_the_pure_functions_give() -> None:
    out = live()
    d = d_exponent(R, N, W, D)
    want = {
        "specific_energy": specific_energy(W, N, T - OFF, R, D).total,
        "d_exponent": d,
        "corrected_d_exponent": corrected_d_exponent(d, 1030.0, 1050.0),
        "torque_per_weight": torque_per_weight(T - OFF, W),
    }
    for name, value in want.items():
        assert out[name].value[-1] == pytest.approx(value, rel=1e-9)
        assert out[name].quality[-1] == 0


def test_the_published_example_of_the_d_exponent() -> None:
    """30 ft/h, 120 rpm, 35,000 lbf, 8.5 in: d 1.82; 9.0 in 12.7 ppg: dc 1.29 (netwasgroup.us)."""
    config = well(
        mud={"density_ppg": 12.7}, profile={"normal_formation_density_ppg": 9.0}, standpipe=READING
    )
    out = live(config, weight_on_bit=35e3 * LBF, rotary=120 * RPM, rop=30 * FT / HOUR)
    assert config.mud.density == pytest.approx(12.7 * PPG)
    assert out["d_exponent"].value[-1] == pytest.approx(1.8223, abs=5e-5)
    assert out["corrected_d_exponent"].value[-1] == pytest.approx(1.2914, abs=5e-5)


READING = {"pressure_MPa": 11.5, "flow_l_s": 45.0, "bit_depth_m": 2400.0}


def test_the_published_example_of_the_specific_energy() -> None:
    """35,000 lbf, 120 rpm, 4,500 ft.lbf, 50 ft/h, 8.5 in: 616.8 + 71,750.9 psi by hand."""
    out = live(
        weight_on_bit=35e3 * LBF, rotary=120 * RPM, rop=50 * FT / HOUR, torque=4500 * FT * LBF,
        off_bottom_torque=0.0,
    )  # fmt: skip
    assert out["specific_energy"].value[-1] / PSI == pytest.approx(72367.7, abs=0.1)


def test_weight_rotation_and_torque_are_means_of_the_last_minute() -> None:
    """By hand: 40 rows of 8 kN m and 21 of 11 kN m within 60 s, both ends counted."""
    out = live(n=200, torque=np.where(np.arange(200) < 150, 8e3, 11e3))
    mean = (40 * 8e3 + 21 * 11e3) / 61 - OFF
    assert out["torque_per_weight"].value[170] == pytest.approx(mean / W)


def test_the_first_half_minute_of_drilling_gives_no_number() -> None:
    out = live(on_bottom=np.where(np.arange(120) < 50, 0.0, 1.0))
    for name in CHANNELS:
        assert np.flatnonzero(~np.isnan(out[name].value))[0] == 80
        assert out[name].quality[[0, 79, 80]].tolist() == [
            int(Quality.NOT_APPLICABLE), int(Quality.NO_REFERENCE), 0,
        ]  # fmt: skip


def test_no_hole_made_gives_no_number_and_no_infinity() -> None:
    """Case G08: rate 0 on bottom; 0.1 m/h is the least."""
    for rate in (0.0, 0.05 / HOUR):
        out = live(rop=rate)
        for name in CHANNELS:
            assert np.isnan(out[name].value).all()
            assert out[name].quality[-1] == int(Quality.NOT_APPLICABLE)


def test_a_sliding_string_has_the_axial_energy_only_and_is_marked() -> None:
    """Case G09; its torque may be unknown. The exponents need rotation."""
    out = live(rotary=0.0, off_bottom_torque=NAN)
    assert out["specific_energy"].value[-1] == pytest.approx(W / (np.pi / 4 * D**2))
    assert out["specific_energy"].quality[-1] == int(Quality.PARTIAL)
    assert np.isnan(out["d_exponent"].value[-1])
    assert out["d_exponent"].quality[-1] == int(Quality.NOT_APPLICABLE)
    assert has(out["torque_per_weight"], Quality.STALE)[-1]


def test_an_exponent_outside_its_formula_is_unknown() -> None:
    """Case G10: a foot or more a turn, or a million lbf on each foot of bit."""
    fast = live(rop=60.1 * FT / HOUR, rotary=1.001 * RPM)
    heavy = live(weight_on_bit=1.001e6 * LBF / FT * D)
    for out in (fast, heavy):
        assert np.isnan(out["d_exponent"].value[-1])
        assert out["d_exponent"].quality[-1] == int(Quality.NOT_APPLICABLE)
        assert not np.isnan(out["specific_energy"].value[-1])


def test_without_weight_on_the_bit_there_is_no_number() -> None:
    for weight in (0.0, -5e3):
        out = live(weight_on_bit=weight)
        for name in CHANNELS:
            assert np.isnan(out[name].value).all()
            assert out[name].quality[-1] == int(Quality.NOT_APPLICABLE)


def test_less_torque_than_off_bottom_is_a_conflict() -> None:
    out = live(torque=2.9e3)["specific_energy"]
    assert np.isnan(out.value).all()
    assert out.quality[-1] == int(Quality.CONFLICT)


def test_a_bad_torque_spoils_what_needs_it_and_nothing_else() -> None:
    table = table_of(120, **STEADY)
    table["torque"] = with_bits(table["torque"], Quality.FROZEN)
    out = Efficiency(well()).process(table)
    for name in ("specific_energy", "torque_per_weight"):
        assert np.isnan(out[name].value).all()
        assert has(out[name], Quality.FROZEN)[-1]
    assert not np.isnan(out["d_exponent"].value[-1])


def test_no_tare_yet_means_no_reference_for_the_torque() -> None:
    table = table_of(120, **STEADY)
    off = table["off_bottom_torque"]
    lacking = np.full(len(off), int(Quality.NO_REFERENCE), np.uint16)
    table["off_bottom_torque"] = Block(off.t, np.full(len(off), NAN), lacking)
    out = Efficiency(well()).process(table)["specific_energy"]
    assert np.isnan(out.value).all()
    assert out.quality[-1] == int(Quality.NO_REFERENCE)


def test_what_the_well_file_lacks_is_unknown_and_said() -> None:
    raw = tomllib.loads(example_text())
    del raw["profile"]["normal_formation_density_sg"]
    op = Efficiency(parse_config(raw, "test"))
    out = op.process(table_of(120, **STEADY))
    assert set(op.unknown) == {"corrected_d_exponent"}
    assert "normal_formation_density_sg" in op.unknown["corrected_d_exponent"]
    assert set(out["corrected_d_exponent"].quality.tolist()) == {int(Quality.NO_REFERENCE)}
    assert not np.isnan(out["d_exponent"].value[-1])
    bare = Efficiency(well(hole=[]))
    assert set(bare.unknown) == set(CHANNELS[:3])
    assert not np.isnan(bare.process(table_of(120, **STEADY))["torque_per_weight"].value[-1])


def test_left_hand_rotation_counts_like_right_hand() -> None:
    assert live(rotary=-N)["d_exponent"].value[-1] == live()["d_exponent"].value[-1]


def test_any_split_gives_the_same_efficiency() -> None:
    known = 0
    for seed in range(4):
        table = random_table(
            seed, 1500, weight_on_bit=(W, 0.9 * W, 0.0), rotary=(N, N, 0.0), torque=(T, T, 2e3),
            off_bottom_torque=(OFF,), rop=(R, R, 0.0), on_bottom=(*[1.0] * 6, 0.0),
        )  # fmt: skip
        bottom = table["on_bottom"]
        table["on_bottom"] = Block(bottom.t, np.round(bottom.value), bottom.quality)
        out = check_splits(lambda: Efficiency(well()), table)
        for block in out.values():
            assert not (np.isnan(block.value) & (block.quality == 0)).any()
            assert not (~np.isnan(block.value) & ~block.good).any()
            known += int((~np.isnan(block.value)).sum())
    assert known > 200


def test_it_goes_on_from_its_state() -> None:
    table = table_of(200, **STEADY)
    one, other = Efficiency(well()), Efficiency(well())
    half = {name: block.slice(0, 90) for name, block in table.items()}
    rest = {name: block.slice(90, 200) for name, block in table.items()}
    one.process(half)
    other.state = one.state
    assert repr(one.process(rest)) == repr(other.process(rest))


def test_no_rows_give_no_rows() -> None:
    out = Efficiency(well()).process(table_of(weight_on_bit=np.empty(0)))
    assert all(len(block) == 0 for block in out.values())
