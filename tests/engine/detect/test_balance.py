"""The volume balance: what it books, what it learns, what is left over.

Volumes of pipe and hole: A. T. Bourgoyne et al., Applied Drilling Engineering, SPE, 1986, ch. 4.
The bookings that close to zero over one stand are an own derivation.
"""

from __future__ import annotations

from math import pi

import numpy as np
import pytest

from engine.detect.balance import Balance
from engine.detect.bins import Binner
from engine.detect.call import Declared
from engine.detect.settings import BalanceSettings
from engine.pipeline import Pipeline
from engine.sim.rig import Rig
from engine.units import BBL, IN
from tests.tables import L_S, NAN, T0, raw_of, table_of, well

STEEL_M2 = 31.9 / 7850
BORE_M2 = pi / 4 * (4.276 * IN) ** 2
HOLE_M2 = pi / 4 * (8.5 * IN) ** 2


def columns(declared: tuple[Declared, ...] = (), **table: object) -> dict[str, np.ndarray]:
    rows = table_of(**table)  # type: ignore[arg-type]
    bins = Binner().process(rows)
    return Balance(well(), BalanceSettings()).process(rows, bins, declared)[1]


def test_steady_pumping_explains_everything_from_the_first_moment() -> None:
    out = columns(n=400, pit_volume=60.0, flow_in=45 * L_S, flow_out=45 * L_S)
    assert np.abs(out["unexplained"]).max() < 1e-9
    assert np.nanmax(np.abs(out["flow_excess"])) < 1e-9


def test_drilling_ahead_books_pipe_that_goes_in_and_cuttings_that_leave() -> None:
    """One stand of 28.5 m: (d + p) L comes, H L goes (own derivation)."""
    n = 2001
    depth = 2400 + 28.5 * np.arange(n) / (n - 1)
    pit = 60 + (STEEL_M2 + BORE_M2 - HOLE_M2) * (depth - 2400)
    out = columns(
        pit_volume=pit, flow_in=45 * L_S, flow_out=45 * L_S, bit_depth=depth, hole_depth=depth,
        lagged_depth=depth - 30, rig_state=1.0,
    )  # fmt: skip
    assert np.abs(out["unexplained"]).max() < 1e-3
    assert out["explained"][-1] - out["explained"][0] == pytest.approx(
        (STEEL_M2 + BORE_M2 - HOLE_M2) * 28.5, rel=0.01
    )


def test_the_bore_of_a_new_stand_is_filled_from_the_pits() -> None:
    pit = np.where(np.arange(600) < 300, 60.0, 60.0 - BORE_M2 * 28.5)
    count = np.where(np.arange(600) < 300, 3.0, 4.0)
    out = columns(
        pit_volume=pit, flow_in=45 * L_S, stand_count=count, stand_length=28.5, rig_state=1.0
    )
    assert abs(out["unexplained"][-1]) < 1e-9


def test_pipe_pulled_on_a_trip_is_not_booked_on_the_pits() -> None:
    depth = 2400 - 0.5 * np.arange(600)
    out = columns(pit_volume=60.0, flow_in=0.0, bit_depth=depth, rig_state=10.0)
    assert np.abs(out["unexplained"]).max() < 1e-9


def test_a_stop_of_the_pumps_teaches_what_the_flow_line_holds() -> None:
    """47 s of flow come back; the balance assumed 37 s."""
    flow = np.repeat([45 * L_S, 0.0, 45 * L_S], [600, 400, 1200])
    t = np.arange(flow.size)
    drained = 45 * L_S * 47 * (1 - np.exp(-np.maximum(t - 600, 0) / 20.0))
    back = 45 * L_S * 47 * (1 - np.exp(-np.maximum(t - 1000, 0) / 20.0))
    rows = table_of(pit_volume=60 + drained - back, flow_in=flow)
    balance = Balance(well(), BalanceSettings())
    assert balance.storage() == 37.0
    out = balance.process(rows, Binner().process(rows), ())[1]
    assert balance.storage() == pytest.approx(47, abs=0.5)
    assert abs(out["unexplained"][-1]) < 0.02
    assert out["off_volume"][np.nanargmin(np.abs(out["off_time"] - 390))] == pytest.approx(
        2.115, abs=0.1
    )


def test_unknown_pits_are_unknown_and_not_zero() -> None:
    pit = np.where((np.arange(300) > 100) & (np.arange(300) < 200), NAN, 60.0)
    out = columns(pit_volume=pit, flow_in=45 * L_S)
    assert np.isnan(out["unexplained"][25:39]).all()
    assert abs(out["unexplained"][-1]) < 1e-9


def moved(volume: float, seconds: int, start: int = 600, n: int = 2400) -> np.ndarray:
    return 60 + volume * np.clip((np.arange(n) - start) / seconds, 0, 1)


def test_a_declared_transfer_is_explained_when_it_comes_and_not_before() -> None:
    """R-30: from, to, planned volume and rate."""
    said = (Declared(T0 + 100.0, "reserve to active", 5.0, 10 * L_S, T0 + 3000.0),)
    out = columns(said, pit_volume=moved(5.0, 500), flow_in=45 * L_S)
    assert np.abs(out["unexplained"]).max() < 0.7  # waves of its own filter, no barrels
    assert abs(out["unexplained"][-1]) < 0.01
    assert out["declared"][-1] == pytest.approx(5.0, abs=0.01)


def test_what_comes_above_the_declared_volume_is_left_over() -> None:
    """R-30: declared 60 bbl, actual 75."""
    said = (Declared(T0 + 100.0, "reserve to active", 60 * BBL, 0.02, T0 + 3000.0),)
    out = columns(said, pit_volume=moved(75 * BBL, 900), flow_in=45 * L_S)
    assert out["unexplained"][-1] == pytest.approx(15 * BBL, rel=0.01)


def test_an_influx_under_a_transfer_is_left_over() -> None:
    """Six barrels of influx while sixty declared ones arrive."""
    said = (Declared(T0 + 100.0, "reserve to active", 60 * BBL, 0.02, T0 + 3000.0),)
    pit = moved(60 * BBL, 900) + moved(6 * BBL, 900) - 60
    out = columns(said, pit_volume=pit, flow_in=45 * L_S)
    assert out["unexplained"][-1] == pytest.approx(6 * BBL, rel=0.02)


def test_a_declaration_that_expires_explains_nothing_more() -> None:
    said = (Declared(T0 + 100.0, "reserve to active", 5.0, 10 * L_S, T0 + 500.0),)
    out = columns(said, pit_volume=moved(5.0, 500), flow_in=45 * L_S)
    assert out["unexplained"][-1] == pytest.approx(5.0, abs=0.01)


def test_rebasing_moves_what_is_shown_and_nothing_else() -> None:
    """R-11, R-21: the never-reset cumulative stays."""
    rows = table_of(pit_volume=moved(5.0, 500), flow_in=45 * L_S)
    balance = Balance(well(), BalanceSettings())
    balance.process(rows, Binner().process(rows), ())
    old, new = balance.rebase()
    assert old == 0.0
    assert new == pytest.approx(5.0)
    channels, out = balance.process(rows, Binner().process(rows), ())
    assert channels["unexplained_total"].value[0] == pytest.approx(5.0)
    assert channels["unexplained_volume"].value[0] == pytest.approx(0.0)
    assert np.nanmax(np.abs(out["unexplained"])) <= 5.0 + 1e-9


@pytest.mark.parametrize("scenario", ["quiet", "quiet-soft"])
@pytest.mark.parametrize("seed", [11, 12])
def test_three_quiet_hours_are_explained_to_about_a_barrel(scenario: str, seed: int) -> None:
    config = well()
    table = Pipeline(config).process(raw_of(Rig(config, scenario, seed, T0).advance(3 * 3600)))
    bins = Binner().process(table)
    out = Balance(config, BalanceSettings()).process(table, bins, ())[1]
    steady = out["settled"] > 180
    assert np.abs(out["filtered"][steady]).max() < 1.2 * BBL


@pytest.mark.parametrize("rate", [2.3, 5.0, 25.0])
def test_the_beginning_of_a_declared_transfer_is_no_gain(rate: float) -> None:
    """An addition at the rate that was said, with waves of 0.6 bbl (8 s) on the pits: R-30."""
    per_s = rate * BBL / 60
    n, volume = 2400, 60 * BBL
    rng = np.random.default_rng(7)
    wave = np.zeros(n)
    for i in range(1, n):
        wave[i] = wave[i - 1] * np.exp(-1 / 8) + 0.6 * BBL * rng.normal() * np.sqrt(
            1 - np.exp(-2 / 8)
        )
    pit = 60 + np.clip(per_s * (np.arange(n) - 600), 0, volume) + wave
    said = (Declared(T0 + 590.0, "reserve to active", volume, per_s, T0 + 4000.0),)
    out = columns(said, pit_volume=pit, flow_in=45 * L_S)
    assert np.abs(out["filtered"][60:]).max() < 0.9 * BBL


def test_a_slow_influx_before_a_declared_transfer_begins_is_left_over() -> None:
    """An influx of 1 bbl/min is no transfer of 8 bbl/min that has not come yet: R-30."""
    said = (Declared(T0 + 100.0, "reserve to active", 60 * BBL, 8 * BBL / 60, T0 + 3000.0),)
    out = columns(said, pit_volume=moved(10 * BBL, 600), flow_in=45 * L_S)
    assert out["unexplained"][-1] == pytest.approx(10 * BBL, rel=0.01)
    assert out["declared"][-1] == 0.0


def test_an_influx_faster_than_the_transfer_shows_while_it_runs() -> None:
    """4 bbl/min are declared and 8 come: what is above 1.25 times is left over at once: R-30."""
    rate = 4 * BBL / 60
    said = (Declared(T0 + 590.0, "reserve to active", 60 * BBL, rate, T0 + 3000.0),)
    out = columns(said, pit_volume=moved(60 * BBL, 450), flow_in=45 * L_S)
    after = np.searchsorted(np.arange(480) * 5.0, 600 + 300)
    assert out["unexplained"][after] > 10 * BBL


def test_a_declaration_after_the_transfer_explains_what_came_at_its_pace() -> None:
    """K-01: sixty barrels that nobody had spoken of, and thirty-nine of influx."""
    pit = moved(99 * BBL, 900)
    said = (Declared(T0 + 1560.0, "sand trap", 60 * BBL, 4 * BBL / 60, T0 + 2160.0),)
    out = columns(said, pit_volume=pit, flow_in=45 * L_S)
    before, end = out["unexplained"][300], out["unexplained"][-1]
    assert before == pytest.approx(99 * BBL, rel=0.01)
    assert end == pytest.approx(39 * BBL, rel=0.02)
    assert out["declared"][-1] == pytest.approx(60 * BBL)


def test_what_goes_from_the_reserve_to_the_active_pits_cancels() -> None:
    """R-21: all tanks and meters in one balance."""
    pit = moved(500 * BBL, 1200)
    out = columns(pit_volume=pit, reserve_volume=200 - (pit - 60), flow_in=45 * L_S)
    assert np.abs(out["unexplained"]).max() < 1e-9
    assert out["active"][-1] == pytest.approx(500 * BBL)
    assert out["reserve"][-1] == pytest.approx(-500 * BBL)
    assert out["explained"][-1] - out["explained"][0] == pytest.approx(500 * BBL)


def test_a_reserve_that_is_not_known_for_a_while_counts_as_it_last_was() -> None:
    pit, t = moved(10.0, 1000), np.arange(2400)
    reserve = np.where((t > 700) & (t < 1200), NAN, 200 - (pit - 60))
    out = columns(pit_volume=pit, reserve_volume=reserve, flow_in=45 * L_S)
    assert out["unexplained"][220] == pytest.approx(4.0, abs=0.1)  # not explained, not silent
    assert abs(out["unexplained"][-1]) < 1e-9


def test_the_trip_tank_is_topped_up_from_the_pits_without_a_loss() -> None:
    """On a trip the steel that is pulled comes out of the trip tank; topping it up cancels."""
    n = 1200
    depth = 2400 - 0.3 * np.arange(n)
    tank = 5.0 - STEEL_M2 * 0.3 * np.arange(n)
    topped = np.clip((np.arange(n) - 600) / 120, 0, 1) * 1.2
    out = columns(
        pit_volume=60.0 - topped, trip_tank_volume=tank + topped, flow_in=0.0, bit_depth=depth,
        rig_state=10.0,
    )  # fmt: skip
    assert np.abs(out["unexplained"]).max() < 0.03


def test_pipe_lowered_without_pumps_is_no_return_of_the_well() -> None:
    """Ten metres down push (d + p) x 10 m out of the hole (own derivation)."""
    t = np.arange(1200)
    flow = np.where(t < 600, 45 * L_S, 0.0)
    down = 10 * np.clip((t - 900) / 50, 0, 1)
    out = columns(
        pit_volume=60 + (STEEL_M2 + BORE_M2) * down, flow_in=flow, bit_depth=2300 + down,
        rig_state=11.0,
    )  # fmt: skip
    off = out["off_volume"][~np.isnan(out["off_volume"])]
    assert np.abs(off).max() < 0.02


def test_what_came_out_of_a_measured_reserve_is_not_owed_again() -> None:
    """60 bbl declared and moved between measured tanks hide no influx of 4 bbl/min after it."""
    move = moved(60 * BBL, 900) - 60
    said = (Declared(T0 + 590.0, "reserve to active", 60 * BBL, 4 * BBL / 60, T0 + 2400.0),)
    came = moved(40 * BBL, 600, start=1550) - 60
    out = columns(
        said, pit_volume=60 + move + came, reserve_volume=200 - move, flow_in=45 * L_S
    )  # fmt: skip
    assert out["unexplained"][-1] == pytest.approx(40 * BBL, rel=0.02)
