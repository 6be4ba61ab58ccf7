"""What each event in mud and pressure does to truth and sensors, and what its twin does not.

Every event begins at 1500 s, when the first connection is long over. Numbers are by hand.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from engine.sim.rig import Chunk, Rig
from engine.sim.tours import declarations
from engine.states import RigState
from engine.units import BBL, PSI

Pair = Callable[..., tuple[tuple[Rig, Chunk], ...]]
AT = 1500
BPM = BBL / 60


def mean(chunk: Chunk, channel: str, first: int, last: int) -> float:
    return float(np.nanmean(chunk.sensors[channel][AT + first : AT + last]))


def change(chunk: Chunk, channel: str, first: int, last: int) -> float:
    """Return the mean of a span less that of the five minutes before the event."""
    return mean(chunk, channel, first, last) - mean(chunk, channel, -300, 0)


def still(chunk: Chunk) -> slice:
    """Return the stop of the pumps after the event began."""
    at = np.flatnonzero((chunk.truth["rig_state"] == RigState.STATIC) & (chunk.second > AT - 70))
    return slice(int(at[0]), int(at[-1]) + 1)


def test_an_influx_shows_in_pits_and_returns_a_declared_addition_only_in_the_pits(
    pair: Pair,
) -> None:
    (_, kick), (twin_rig, twin) = pair("influx", 3600.0, at=AT, rate=BPM)
    for chunk in (kick, twin):
        assert change(chunk, "pit_volume", 800, 1000) == pytest.approx(15 * BBL, abs=0.4)
    assert mean(kick, "flow_out", 300, 1500) - mean(twin, "flow_out", 300, 1500) == pytest.approx(
        BPM, rel=0.05
    )
    assert abs(twin.truth["flow_out"][AT + 300 : AT + 1500] - 0.045).max() < 1e-4
    assert change(kick, "standpipe_pressure", 1000, 1500) < -3e4
    ((at, said),) = declarations(twin_rig.scenario)
    assert at == AT - 20
    assert said.volume == pytest.approx(twin.truth["transfer_volume"][-1], rel=1e-3)
    assert not twin.truth["influx_volume"].any()


def test_a_growing_influx_grows_a_tenth_of_a_barrel_a_minute_every_minute(pair: Pair) -> None:
    """By hand: 0.1 t2 / 2 barrels in t minutes, 5 bbl in ten."""
    (_, kick), _ = pair("growing-influx", 3600.0, at=AT, rate=2 * BPM)
    assert kick.truth["influx_rate"][AT + 600] == pytest.approx(BPM, rel=0.01)
    assert kick.truth["influx_volume"][AT + 600] == pytest.approx(5 * BBL, rel=0.01)
    assert kick.truth["influx_rate"].max() == pytest.approx(2 * BPM)


def test_an_influx_at_a_connection_flows_only_while_the_pumps_stand(pair: Pair) -> None:
    (rig, kick), (_, twin) = pair("influx-at-connection", 3600.0, at=AT, rate=BPM)
    flowing = kick.truth["influx_rate"] > 0
    assert flowing.sum() > 200
    pumping = kick.truth["flow_in"] > 0.9 * rig.fluid.usual
    assert not (flowing & pumping).any()
    assert kick.truth["influx_volume"][-1] > 3 * BBL
    assert not twin.truth["influx_volume"].any()
    # The twin's hole gives back, less and less; the returns of the influx go on.
    off = np.flatnonzero(kick.truth["flow_in"] == 0)
    off = off[off > AT]
    early, late = off[120:150], off[-30:]
    assert kick.truth["flow_out"][late].mean() == pytest.approx(BPM, rel=0.1)
    assert twin.truth["breath_volume"][AT] > 0.5
    assert 0 < twin.truth["flow_out"][late].mean() < 0.75 * twin.truth["flow_out"][early].mean()


def test_a_flow_check_sees_the_flow(pair: Pair) -> None:
    (_, kick), (_, twin) = pair("flow-pumps-off", 3600.0, at=AT, rate=0.5 * BPM)
    late = slice(AT + 600, AT + 900)
    assert kick.truth["rig_state"][late] == pytest.approx(RigState.STATIC)
    assert kick.truth["flow_out"][late].mean() == pytest.approx(0.5 * BPM, rel=0.05)
    assert twin.truth["flow_out"][late].mean() < 0.01 * BPM
    gain = kick.sensors["pit_volume"] - twin.sensors["pit_volume"]
    # By hand: (0.5 - 0.03) bbl/min for 15 min, less 33 s of it in the flow line.
    assert gain[AT + 895 : AT + 905].mean() / BBL == pytest.approx(0.47 * 15 - 0.28, abs=0.2)


def test_a_closed_string_gains_pressure_at_the_rate_that_was_asked_for(pair: Pair) -> None:
    """45 psi a minute for five minutes; the twin's has the slow warming of the hole, 7 at most."""
    (_, rising), (_, twin) = pair("pressure-rise-pumps-off", 3600.0, at=AT)
    slopes = [
        (c.sensors["standpipe_pressure"][AT + 290] - c.sensors["standpipe_pressure"][AT + 50]) / 4
        for c in (rising, twin)
    ]
    assert slopes[0] / PSI == pytest.approx(45 + 6, abs=3)
    assert 2 < slopes[1] / PSI < 9


def test_pressure_that_was_bled_off_comes_back_only_with_its_source(pair: Pair) -> None:
    (_, back), (_, twin) = pair("bleed-rebuild", 3600.0, at=AT)
    for chunk in (back, twin):
        assert mean(chunk, "standpipe_pressure", 320, 390) > 430 * PSI
        assert mean(chunk, "standpipe_pressure", 455, 465) < 60 * PSI
    assert mean(back, "standpipe_pressure", 800, 900) > 450 * PSI
    assert mean(twin, "standpipe_pressure", 800, 900) < 100 * PSI


def test_a_swabbed_hole_takes_less_than_the_steel(pair: Pair) -> None:
    """By hand: 31.9 / 7850 m3 a metre, and 45 % of it comes from the formation."""
    (_, swabbed), (_, twin) = pair("swab", 3000.0, at=900.0)
    for chunk, share in ((swabbed, 0.55), (twin, 1.0)):
        bit = chunk.truth["bit_depth"]
        out = (chunk.second > 1100) & (chunk.second <= chunk.second[np.argmin(bit)])
        pulled = bit[out][0] - bit[out][-1]
        given = np.ptp(chunk.truth["trip_fill"][out])
        assert pulled > 300
        assert given == pytest.approx(share * pulled * 31.9 / 7850, rel=0.08)
    assert swabbed.truth["influx_volume"][-1] > 0.5
    assert not twin.truth["influx_volume"].any()


@pytest.mark.parametrize(("kind", "rate"), [("loss", 2 * BPM), ("seepage", 0.2 * BPM)])
def test_a_loss_is_missing_in_returns_and_pits(pair: Pair, kind: str, rate: float) -> None:
    (_, loss), (_, twin) = pair(kind, 3600.0, at=AT, rate=rate)
    assert loss.truth["loss_volume"][AT + 1500] == pytest.approx(1490 * rate, rel=0.01)
    gone = (loss.sensors["pit_volume"] - twin.sensors["pit_volume"])[AT + 1400 : AT + 1500]
    # The twin's mud was pumped away; a loss is in the flow line as well, 33 s of it.
    assert gone.mean() == pytest.approx(33 * rate, abs=0.04)
    short = (loss.sensors["flow_out"] - twin.sensors["flow_out"])[AT + 200 : AT + 1700]
    assert short.mean() == pytest.approx(-rate, rel=0.1)
    assert not twin.truth["loss_volume"].any()


def test_a_total_loss_has_no_returns_while_the_twin_only_stops(pair: Pair) -> None:
    (_, total), (_, twin) = pair("total-loss", 3600.0, at=AT)
    assert mean(total, "flow_out", 400, 1700) < 0.001
    assert total.truth["loss_volume"][-1] > 40
    stop = still(twin)
    assert mean(twin, "flow_out", stop.stop - AT - 60, stop.stop - AT) < 0.001
    assert not twin.truth["loss_volume"].any()


def test_blind_drilling_goes_on_without_returns(pair: Pair) -> None:
    (rig, blind), _ = pair("blind-drilling", 5400.0, at=60.0)
    assert blind.truth["flow_out"][600:].max() < 1e-3
    assert (blind.truth["rig_state"][600:] == RigState.DRILLING_ROTARY).mean() > 0.5
    assert blind.truth["pit_volume"].min() > 20
    assert [e.kind for e in rig.events][:2] == ["total-loss", "addition"]


def test_a_balloon_takes_mud_and_gives_it_back_ever_more_slowly(pair: Pair) -> None:
    (_, balloon), (_, twin) = pair("ballooning", 5400.0, at=AT)
    bank = balloon.truth["breath_volume"]
    off = np.flatnonzero((balloon.truth["flow_in"] == 0) & (balloon.second > AT + 1700))
    assert bank[off[0]] == pytest.approx(2.5, rel=0.1)
    back = bank[off[0]] - bank[off]
    assert 0.3 < back[-1] / bank[off[0]] < 1.0
    thirds = np.diff(back[:: off.size // 3][:4])
    assert thirds[0] > 1.5 * thirds[1] > 0
    assert not balloon.truth["influx_volume"].any()
    assert not balloon.truth["loss_volume"].any()
    assert not twin.truth["breath_volume"].any()


def test_a_transfer_without_a_word_and_one_with(pair: Pair) -> None:
    (silent_rig, silent), (said_rig, said) = pair("undeclared-transfer", 3600.0, at=AT)
    assert declarations(silent_rig.scenario) == ()
    assert len(declarations(said_rig.scenario)) == 1
    assert silent.sensors["pit_volume"].tobytes() == said.sensors["pit_volume"].tobytes()
    assert silent.truth["transfer_volume"][-1] == pytest.approx(3 * BPM * 605)
    assert [e.event for e in silent_rig.events] == ["undeclared_transfer"]
    assert [e.event for e in said_rig.events] == [""]


def test_hot_returns_stay_hot_a_warm_slug_does_not(pair: Pair) -> None:
    """After one lag, 20 min by hand."""
    (_, hot), (_, twin) = pair("temperature-rise", 7200.0, at=AT)
    warm = hot.sensors["temperature_out"] - hot.sensors["temperature_out"][:AT].mean()
    assert np.abs(warm[AT : AT + 900]).max() < 4
    assert warm[AT + 1200 :].max() > 15
    slug = twin.sensors["temperature_out"] - twin.sensors["temperature_out"][:AT].mean()
    assert 2 < slug[AT + 1800 :].max() < 12


def test_gas_arrives_one_lag_later(pair: Pair) -> None:
    (_, gas), (_, twin) = pair("gas-at-surface", 5400.0, at=AT)
    first = int(np.flatnonzero(gas.sensors["gas"][AT:] > 0.03)[0])
    assert 900 < first < 1700
    assert gas.sensors["gas"].max() > 2.5 * twin.sensors["gas"].max()


def test_an_outer_annulus_gains_pressure(pair: Pair) -> None:
    (_, rising), (_, twin) = pair("annulus-pressure", 3600.0, at=AT)
    assert change(rising, "annulus_pressure", 1300, 1400) == pytest.approx(2e6, rel=0.05)
    assert abs(change(twin, "annulus_pressure", 1300, 1400)) < 0.2e6


def test_the_pressure_of_a_shut_in_well_falls_or_stands(pair: Pair) -> None:
    (_, falls), (_, stands) = pair("shut-in-pressure-fall", 3600.0, at=AT)
    fall = mean(falls, "annulus_pressure", 620, 680) - mean(falls, "annulus_pressure", -5, 5)
    assert fall / PSI == pytest.approx(-140, abs=20)
    stand = mean(stands, "annulus_pressure", 620, 680) - mean(stands, "annulus_pressure", -5, 5)
    assert abs(stand) / PSI < 15


def test_gauges_that_should_agree_do_until_one_line_plugs(pair: Pair) -> None:
    (_, apart), (_, agree) = pair("paired-pressure-mismatch", 3600.0, at=AT)
    for chunk, least, most in ((apart, 1.0e6, 2.5e6), (agree, -0.3e6, 0.5e6)):
        off = mean(chunk, "standpipe_pressure", 350, 500) - mean(
            chunk, "annulus_pressure", 350, 500
        )
        assert least < off < most
    assert np.ptp(apart.sensors["annulus_pressure"][AT + 2 : AT + 800]) == 0


def test_a_gain_with_the_string_out_of_the_hole_is_in_the_trip_tank(pair: Pair) -> None:
    (_, kick), (_, twin) = pair("out-of-hole-gain", 5400.0, at=AT)
    gain = kick.sensors["trip_tank_volume"][-60:].mean() - 5.0
    assert gain == pytest.approx(kick.truth["influx_volume"][-1], abs=0.1)
    assert kick.truth["in_slips"].all()
    tank = twin.sensors["trip_tank_volume"]
    assert tank.max() - 5.0 > 2.0
    assert tank[-60:].mean() == pytest.approx(5.0, abs=0.1)
