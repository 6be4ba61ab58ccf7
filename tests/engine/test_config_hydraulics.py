"""Keys of the well file that pressures need: units in lists, pairs, one way at a time."""

from __future__ import annotations

import tomllib
from typing import Any

import numpy as np
import pytest

from adapters.config_file import example_text
from engine.config import Mud, parse_config
from engine.errors import ConfigError
from engine.units import IN, LB100
from engine.well.answer import Unknown
from engine.well.hydraulics import circulate
from engine.well.well_file import (
    bit_area,
    bit_diameter,
    circuit_of,
    flow_model,
    standpipe_factor,
    true_depth,
)
from tests.tables import well

PLAIN = {"density_sg": 1.05}


def problems(**changes: Any) -> list[str]:
    with pytest.raises(ConfigError) as caught:
        well(**changes)
    return list(caught.value.problems)


def reason(answer: object) -> str:
    assert isinstance(answer, Unknown)
    return answer.reason


def test_nozzles_are_a_list_in_one_unit() -> None:
    """IADC: three 12/32 in nozzles have 0.3313 in2."""
    sizes = well(bit={"nozzles_in32": [12, 12, 12]})
    assert bit_area(sizes.bit) == pytest.approx(0.33134 * IN**2, rel=1e-4)
    assert well(bit={"nozzles_mm": [9.525, 0]}).bit.nozzles == pytest.approx((12 / 32 * IN, 0.0))


@pytest.mark.parametrize(
    ("bit", "said"),
    [
        ({"nozzles_in32": [12, -1]}, "bit.nozzles_in32.1: must be greater than or equal to 0"),
        ({"nozzles_in32": [12, "13"]}, "bit.nozzles_in32.1: must be a number, got '13'"),
        ({"nozzles_in32": [0, 0]}, "bit.nozzles_in32: all are blank"),
        ({"nozzles_in32": 12}, "bit.nozzles_in32: must be a list"),
        ({"nozzles": [12]}, "bit.nozzles: a length needs its unit in the key"),
        ({"nozzles_in32": [12], "nozzles_mm": [9]}, "bit.nozzles_mm: given twice"),
        ({"discharge_coefficient": 95}, "bit.discharge_coefficient: must be less than"),
    ],
)
def test_a_wrong_nozzle_is_named_with_its_place(bit: dict[str, Any], said: str) -> None:
    (found,) = problems(bit=bit)
    assert found.startswith(said)


def test_pv_and_yp_take_field_units() -> None:
    mud = well(mud=PLAIN | {"plastic_viscosity_cP": 8, "yield_point_lb_100ft2": 6}).mud
    assert mud.plastic_viscosity == pytest.approx(0.008)
    assert mud.yield_point == pytest.approx(6 * LB100)


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({"plastic_viscosity_cP": 8}, "mud.yield_point: missing; plastic_viscosity needs it"),
        ({"yield_point_Pa": 3}, "mud.plastic_viscosity: missing; yield_point needs it"),
        ({"r600": 30}, "mud.r300: missing; r600 is of no use without it"),
        ({"r600": 30, "r300": 30}, "mud.r600: must be above r300, got 30 and 30"),
        (
            {"plastic_viscosity_cP": 8, "yield_point_Pa": 3, "r600": 30, "r300": 20},
            "mud.r600: give plastic viscosity and yield point, or dial readings, not both",
        ),
    ],
)
def test_half_a_rheology_or_two_of_them_are_refused(more: dict[str, Any], said: str) -> None:
    (found,) = problems(mud=PLAIN | more)
    assert found.startswith(said)


def test_dial_readings_become_the_model_they_allow() -> None:
    """Dial 60/40/8/7: yield 6 degrees, index 0.667 (API RP 13D, 2006)."""
    model = flow_model(Mud.model_validate({"density_sg": 1.2, "r600": 60, "r300": 40, "r6": 8,
                                           "r3": 7}))  # fmt: skip
    assert not isinstance(model, Unknown)
    assert model.pipe.model == "herschel_bulkley"
    assert model.pipe.index == pytest.approx(0.667, abs=1e-3)


def test_a_survey_gives_the_true_depth_between_and_beyond_its_stations() -> None:
    points = [{"md_m": 1000.0, "tvd_m": 1000.0}, {"md_m": 2000.0, "tvd_m": 1600.0}]
    tvd = true_depth(well(survey=points).survey)
    assert tvd(np.array([0.0, 500.0, 1500.0, 2500.0])).tolist() == [0.0, 500.0, 1300.0, 1900.0]


def test_a_survey_that_no_hole_can_have_is_refused() -> None:
    """Depth along the hole rises, and no hole is longer in depth than in length."""
    points = [{"md_m": 1000.0, "tvd_m": 1000.5}, {"md_m": 1000.0, "tvd_m": 900.0}]
    first, second = problems(survey=points)
    assert first.startswith("survey.0.tvd_m: 1000.5 m is further from 0 m than 1000 m of hole")
    assert second.startswith("survey.1.md_m: 1000 m is not below the one before, 1000 m")


def test_the_bit_is_as_wide_as_the_last_hole_unless_it_is_given() -> None:
    assert bit_diameter(well()) == pytest.approx(8.5 * IN)
    assert bit_diameter(well(bit={"diameter_in": 8.375})) == pytest.approx(8.375 * IN)
    assert "bit diameter" in reason(bit_diameter(well(hole=[])))


def test_what_is_missing_is_said_in_words() -> None:
    assert "[mud]" in reason(circuit_of(well(mud=PLAIN)))
    assert "[[hole]]" in reason(circuit_of(well(hole=[])))
    circuit = circuit_of(well(bit={}))
    assert not isinstance(circuit, Unknown)
    assert "[bit]" in reason(standpipe_factor(circuit, well(bit={})))


def test_a_reading_makes_the_model_meet_it() -> None:
    config = well()
    circuit = circuit_of(config)
    assert not isinstance(circuit, Unknown)
    factor = standpipe_factor(circuit, config)
    found = circulate(circuit, 0.045, 2400.0)
    assert not isinstance(found, Unknown)
    assert found.standpipe * factor == pytest.approx(11.5e6)  # type: ignore[operator]
    assert found.surface == pytest.approx(400e3)


def test_surface_lines_nobody_described_leave_the_bare_model_unknown() -> None:
    """Unknown is not zero; a reading under [standpipe] takes them in."""
    config = parse_config(_without("surface"), "test")
    circuit = circuit_of(config)
    assert not isinstance(circuit, Unknown)
    assert isinstance(standpipe_factor(circuit, config), float)
    bare = parse_config(_without("surface", "standpipe"), "test")
    assert "[surface]" in reason(standpipe_factor(circuit, bare))
    known = parse_config(_without("standpipe"), "test")
    assert standpipe_factor(circuit, known) == 1.0


def test_a_reading_far_from_the_model_is_not_used() -> None:
    """A pressure typed in psi but called kPa is off by seven."""
    wrong = {"pressure_kPa": 1668.0, "flow_l_s": 45.0, "bit_depth_m": 2400.0}
    config = well(standpipe=wrong)
    circuit = circuit_of(config)
    assert not isinstance(circuit, Unknown)
    assert "check its unit" in reason(standpipe_factor(circuit, config))


def _without(*tables: str) -> dict[str, Any]:
    return {k: v for k, v in tomllib.loads(example_text()).items() if k not in tables}
