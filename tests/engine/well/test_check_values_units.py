"""Units against their definitions, where ``tests/engine/test_check_values_motion.py`` ends.

U01 to U21 and D06 to D08 are there; every unit against pint is in ``test_units_against_pint.py``.
``own`` is by hand from inch, foot, pound, gallon and g, which NIST Special Publication 811 (2008),
app. B, gives as exact.
"""

from __future__ import annotations

import pytest

from engine.units import convert


@pytest.mark.parametrize(
    ("got", "want", "within"),
    [
        pytest.param(convert(1, "ton_mile", "tkm"), 1.45997231821, 1e-10, id="U22-own ton mile"),
        pytest.param(convert(1, "bbl_ft", "l_m"), 521.6118, 1e-4, id="own 158.987 L on 0.3048 m"),
        pytest.param(convert(1, "in", "in32"), 32, 1e-12, id="own 32 in an inch"),
    ],
)
def test_units_convert_into_each_other(got: float, want: float, within: float) -> None:
    assert got == pytest.approx(want, abs=within)
