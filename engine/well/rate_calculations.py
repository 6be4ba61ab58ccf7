"""Calculations of well control that need no constant set: ratios, which are exact in any unit."""

from __future__ import annotations

from engine.well.calculation import Calculation, Input, Output, mud_input
from engine.well.influx import boyle_volume
from engine.well.kill_calculations import GAIN, HIGHEST, IADC, MUD, SHOE, SIDPP, SLOW, TVD
from engine.well.kill_mud import mixed_density, pressure_at_density, pressure_at_rate, rate_exponent
from engine.well.kill_schedule import Station, drillpipe_pressure
from engine.well.shoe import kick_tolerance_factor
from engine.well.weight_up import volume_increase

LAPEYROUSE = "N. J. Lapeyrouse, Formulas and Calculations, 2nd ed., Gulf, 2002"


def _low(name: str, quantity: str, text: str, default: float | None = None) -> Input:
    return Input(name, quantity, text, default, low=0.0)


PRESSURE = _low("pressure", "pressure", "pump pressure measured")
VOLUME = _low("volume", "volume", "whole volume")
NEW_MUD = mud_input("new_mud_weight", "the new mud")
KILL = mud_input("kill_mud_weight", "kill mud, as rounded")
RESULT = (Output("pressure", "pressure", "an approximation"),)

CALCULATIONS: tuple[Calculation, ...] = (
    Calculation(
        "drillpipe-pressure", "drillpipe pressure with kill mud part of the way down, any well",
        (SIDPP, SLOW, MUD, KILL, _low("front_md", "length", "kill mud front, along the hole"),
         _low("front_tvd", "length", "kill mud front, true vertical"),
         _low("md", "length", "bit, along the hole"), TVD),
        (Output("pressure", "pressure", "on the drillpipe gauge"),),
        "deviated kill sheet, from memory",
        lambda v: {"pressure": drillpipe_pressure(
            v["sidpp"], v["slow_pressure"], v["mud_weight"], v["kill_mud_weight"],
            Station(0.0, v["front_md"], v["front_tvd"]), Station(0.0, v["md"], v["tvd"]))},
        caution=True),
    Calculation(
        "pump-pressure-at-rate", "pump pressure at another rate",
        (PRESSURE, _low("old_rate", "stroke_rate", "rate measured at"),
         _low("new_rate", "stroke_rate", "rate wanted"),
         _low("exponent", "none", "2 is assumed; better fitted", 2.0)), RESULT, LAPEYROUSE,
        lambda v: {"pressure": pressure_at_rate(
            v["pressure"], v["old_rate"], v["new_rate"], v["exponent"])},
        caution=True),
    Calculation(
        "pump-pressure-at-density", "pump pressure with another mud",
        (PRESSURE, MUD, NEW_MUD), RESULT, "kickdrill.com/formulas",
        lambda v: {"pressure": pressure_at_density(
            v["pressure"], v["mud_weight"], v["new_mud_weight"])},
        caution=True),
    Calculation(
        "rate-exponent", "exponent of pump pressure against rate, from two slow rates",
        (PRESSURE, _low("rate", "stroke_rate", "its rate"),
         _low("pressure_2", "pressure", "second pressure"),
         _low("rate_2", "stroke_rate", "its rate")),
        (Output("exponent", "none", "1.5 to 2 as a rule"),), LAPEYROUSE,
        lambda v: {"exponent": rate_exponent(
            v["pressure"], v["rate"], v["pressure_2"], v["rate_2"])},
        caution=True),
    Calculation(
        "average-mud-weight", "average mud while new mud is pumped in",
        (MUD, NEW_MUD, _low("pumped", "volume", "new mud pumped"), VOLUME),
        (Output("average", "density", "of the whole volume"),), "volume balance",
        lambda v: {"average": mixed_density(
            v["mud_weight"], v["new_mud_weight"], v["pumped"], v["volume"])},
        caution=True),
    Calculation(
        "weight-up-volume", "growth of the mud when barite is added",
        (MUD, NEW_MUD, VOLUME,
         _low("barite_density", "density", "4200 kg/m3 as a rule", 4200.0)),
        (Output("increase", "volume", "more mud than before"),),
        "www.drillingformulas.com, volume increase by adding barite",
        lambda v: {"increase": volume_increase(
            v["mud_weight"], v["new_mud_weight"], v["barite_density"], v["volume"])},
        caution=True),
    Calculation(
        "kick-tolerance-factor", "by how much formation may exceed mud, as a density increment",
        (HIGHEST, MUD, SHOE, TVD),
        (Output("factor", "density", "increment over the mud"),),
        "www.drillingformulas.com/kick-tolerance-factor-calculation/",
        lambda v: {"factor": kick_tolerance_factor(
            v["highest_mud_weight"], v["mud_weight"], v["shoe_tvd"], v["tvd"])},
        caution=True),
    Calculation(
        "boyle", "gas volume at another pressure, at one temperature; absolute pressures",
        (_low("pressure", "pressure", "absolute, where the gas is"), GAIN,
         _low("new_pressure", "pressure", "absolute, where it goes")),
        (Output("volume", "volume", "there"),), IADC,
        lambda v: {"volume": boyle_volume(v["pressure"], v["gain"], v["new_pressure"])},
        caution=True),
)  # fmt: skip
