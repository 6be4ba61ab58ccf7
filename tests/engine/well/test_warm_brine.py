"""Brine and mud in a warm well, against published tables and a published example.

[1] H. Crumpton, Well Control for Completions and Interventions, Gulf, 2018, tables 5.2 and 5.3
(Krook and Boyce, 1984); [2] drillingformulas.com, brine density with temperature correction.
"""

from __future__ import annotations

import pytest

from engine.errors import InputError
from engine.units import FT, PPG, PSI, UNITS
from engine.well.answer import Unknown
from engine.well.catalogue import calculation
from engine.well.warm_brine import density_at, margin, mean_temperature, to_mix

F = UNITS["degF"]
BRINES = [
    (9.49, 2.54e-4, 0.24, 1.98e-6, 0.019),
    (11.46, 2.39e-4, 0.27, 1.50e-6, 0.017),
    (12.48, 2.67e-4, 0.33, 1.67e-6, 0.021),
    (14.3, 2.33e-4, 0.33, 1.53e-6, 0.022),
    (16.0, 2.27e-4, 0.36, 1.39e-6, 0.022),
]
"""Density [ppg], its expansion [1/degF], loss per 100 degF [ppg], compression [1/psi], gain per
1,000 psi [ppg], as printed side by side in [1]."""


@pytest.mark.parametrize(("ppg", "expansion", "loss", "compression", "gain"), BRINES)
def test_the_loss_printed_is_the_expansion_printed(
    ppg: float, expansion: float, loss: float, compression: float, gain: float
) -> None:
    """[1] eq. 5.2 with the expansion gives what the model gives with the loss."""
    cold, hot = F.to_si(70.0), F.to_si(270.0)
    by_table = density_at(ppg * PPG, cold, hot, loss * PPG)
    assert by_table == pytest.approx(ppg * (1 - 200 * expansion) * PPG, abs=0.01 * PPG)
    pressed = density_at(ppg * PPG, cold, cold, loss * PPG, 5000 * PSI, gain * PPG)
    assert pressed == pytest.approx(ppg * (1 + 5000 * compression) * PPG, abs=0.01 * PPG)


def test_the_published_example_of_a_brine_to_mix() -> None:
    """[2]: 10.0 ppg wanted, 90 and 300 degF, 0.0025 ppg/degF: mean 195 degF, 10.26 ppg."""
    top, bottom = F.to_si(90.0), F.to_si(300.0)
    assert mean_temperature(top, bottom) == pytest.approx(F.to_si(195.0))
    mixed = to_mix(10.0 * PPG, top, F.to_si(195.0), 0.25 * PPG)
    assert mixed / PPG == pytest.approx(10.2625)
    asked = {"density": 10.0 * PPG, "surface_temperature": top, "bottom_temperature": bottom,
             "loss_100f": 0.25 * PPG}  # fmt: skip
    assert calculation("brine-to-mix").run(asked)["to_mix"] == pytest.approx(mixed)
    assert density_at(mixed, top, F.to_si(195.0), 0.25 * PPG) == pytest.approx(10.0 * PPG)


def asked(bottom_f: float, **more: float) -> dict[str, float]:
    """Return the well of SC-17: 13.8 ppg at 70 degF, 9,000 ft, 150 psi over the formation."""
    return {
        "density": 13.8 * PPG, "measured_at": F.to_si(70.0), "surface_temperature": F.to_si(70.0),
        "bottom_temperature": F.to_si(bottom_f), "loss_100f": 0.35 * PPG, "tvd": 9000 * FT,
        "formation_pressure": 13.8 * PPG * 9.80665 * 9000 * FT - 150 * PSI, **more,
    }  # fmt: skip


def test_a_well_60_degrees_warmer_takes_the_margin_below_100_psi() -> None:
    """SC-17 (R-36): 0.2 to 0.3 ppg less; the alert is there before anybody pulls."""
    work = calculation("warm-density")
    cold, warm = work.run(asked(70.0)), work.run(asked(70.0 + 2 * 60.0))  # mean 60 degF warmer
    assert cold["margin"] == pytest.approx(150 * PSI, rel=1e-6)
    assert cold["spare"] == pytest.approx(50 * PSI, rel=1e-6)
    assert 0.2 <= 13.8 - warm["mean_density"] / PPG <= 0.3
    # By hand: 0.21 ppg x 0.051948 x 9,000 ft = 98.2 psi.
    assert warm["margin"] / PSI == pytest.approx(150 - 98.2, abs=0.1)
    assert warm["margin_as_measured"] == cold["margin"]
    assert warm["spare"] / PSI == pytest.approx(-48.2, abs=0.1)
    assert work.run(asked(190.0, wanted_margin=40 * PSI))["spare"] > 0


def test_pressure_gives_back_some_of_it() -> None:
    work = calculation("warm-density")
    plain = work.run(asked(190.0))["mean_density"]
    pressed = work.run(asked(190.0, gain_1000psi=0.022 * PPG))["mean_density"]
    # By hand: half of 13.8 ppg x 0.051948 x 9,000 ft = 3,226 psi, 0.071 ppg.
    assert (pressed - plain) / PPG == pytest.approx(0.071, abs=0.001)


def test_it_is_called_a_model_and_refuses_what_it_cannot_know() -> None:
    for name in ("warm-density", "brine-to-mix"):
        one = calculation(name)
        assert one.caution
        assert "MODEL" in one.text
    with pytest.raises(InputError, match="loss_100f is missing"):
        calculation("warm-density").run({k: v for k, v in asked(190.0).items() if k != "loss_100f"})
    gone = density_at(1000.0, 300.0, 3000.0, 100.0)
    assert isinstance(gone, Unknown)
    assert isinstance(margin(gone, 1000.0, 1e7), Unknown)
