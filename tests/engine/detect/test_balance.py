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
