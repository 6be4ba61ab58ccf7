"""Hot returns: how warm, how fast, and whether losses and a surge of returns go with it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, ClassVar

import numpy as np

from engine.block import FloatArray, Mask
from engine.detect.bins import BIN_S
from engine.detect.call import NOT_ON_WATCH, Seen, Verdict, blind
from engine.detect.heat_state import Heat, HeatState
from engine.detect.influx import number
from engine.detect.kinds import Severity
from engine.detect.no_bins import nothing_new
from engine.detect.settings_string_heat import TemperatureSettings
from engine.errors import InputError
from engine.ops.primitives import hold, previous
from engine.units import unit
from engine.well.answer import Unknown
from engine.well.steam import saturation_temperature

CELSIUS = unit("degC").offset
HOLDS_S = 120.0
"""A call ends so long after the last reason for it. [s]"""
LINE_S = 90.0
"""So long may the flow line take to fill after a start of the pumps. [s] common practice"""
RISE, EXCESS, BOILING, KICK = range(4)
WORDS = (
    "temperature out rising", "out less in above usual", "near boiling",
    "losses, then returns surging",
)  # fmt: skip


@dataclass(slots=True, eq=False)
class TemperatureRise:
    """Call returns that become hot, near boiling, or hot with losses and a surge: a thermal kick.

    A warning where temperature out has risen by 6 K within three minutes (2 K a minute), or where
    out less in is 15 K above what is usual. Critical where it comes within 10 K of boiling at
    air pressure, or where it rose, returns were short of flow-in by a tenth, and now come back a
    tenth above it, all within half an hour.

    Not taken for it: the one warm slug after a stop of ten minutes and more, since rises count only
    after 1.5 annulus volumes; the cold flow line after any stop; warm mud from the pits, which
    moves in and out together. Until those volumes are pumped it is blind to rises and says so, and
    boiling is watched all the same. It cannot see without temperature out, flow-in or lag strokes.
    """

    kinds: ClassVar[tuple[str, ...]] = ("temperature_rise",)
    rule: ClassVar[str] = (
        "Temperature out up by 6 K in 3 min, 1.5 annulus volumes after a long stop, or out less in "
        "15 K above usual; critical within 10 K of boiling, or with losses and then a surge."
    )
    settings: TemperatureSettings
    state: HeatState = field(init=False)
    boils: float = field(init=False)
    """Temperature out from which it may flash. [K]"""
    why: list[float] = field(default_factory=lambda: [-np.inf] * 4)
    """When each reason was last there. [s since 1970-01-01 UTC]"""
    risen: bool = False
    """There was a rise in the newest bin."""

    def __post_init__(self) -> None:
        boils = saturation_temperature(self.settings.air)
        if isinstance(boils, Unknown):
            raise InputError(f"temperature_rise: air pressure: {boils.reason}")
        self.boils = boils - self.settings.margin
        self.state = HeatState(self.settings)

    def process(self, seen: Seen) -> Mapping[str, Verdict]:
        """Return the verdict on each bin of the block."""
        if not len(seen.bins):
            return nothing_new(self.kinds)
        bins, balance = seen.bins, seen.balance
        flow = bins["flow_in"]
        excess, settled = balance["flow_excess"], balance["settled"]
        pumping = balance["pumping"] > 0
        with np.errstate(divide="ignore", invalid="ignore"):
            raw = np.where(flow > 0, bins["flow_out"] / flow - 1, np.nan)
            share = np.where(np.isnan(excess), raw, excess / flow)
        share[settled < LINE_S] = np.nan
        out = bins["temperature_out"]
        heat = self.state.process(
            bins.t,
            pumping,
            out,
            bins["temperature_in"],
            bins["strokes"],
            bins["lag_strokes"],
            share,
        )
        stands = self._stands(bins.t, out, heat)
        severity = np.select(
            [stands[BOILING] | stands[KICK], stands[RISE] | stands[EXCESS]],
            [Severity.CRITICAL, Severity.WARNING], Severity.NONE,
        ).astype(np.int8)  # fmt: skip
        sight, reasons = blind(bins, "temperature_out", "flow_in")
        masked = heat.masked
        sight[masked & np.isnan(bins["lag_strokes"]) & (sight == 0)] = len(reasons) + 1
        sight[masked & (sight == 0)] = len(reasons) + 2
        sight[~pumping & (sight == 0) & (severity == 0)] = NOT_ON_WATCH
        more = (
            "no lag_strokes: what stood still in the annulus is not counted out",
            f"less than {self.settings.annuli:g} annulus volumes since the pumps stood",
        )

        def details(i: int) -> dict[str, Any]:
            return {
                "volume_m3": None,
                "witnesses": [word for word, there in zip(WORDS, stands, strict=True) if there[i]],
                "temperature_out_c": number(out[i] - CELSIUS),
                "rise_k": number(heat.rise[i]),
                "out_less_in_above_usual_k": number(heat.excess[i]),
                "annulus_volumes_since_stop": number(heat.pumped[i]),
                "returns_above_flow_in_share": number(share[i]),
            }

        return {"temperature_rise": Verdict(bins.row, severity, sight, (*reasons, *more), details)}

    def _stands(self, t: FloatArray, out: FloatArray, heat: Heat) -> list[Mask]:
        """Return where each reason is or was there a short time ago, shape (m,) each."""
        s = self.settings
        rises = heat.rise >= s.rise
        now = (
            rises & previous(rises, self.risen),
            heat.excess >= s.out_less_in,
            np.isfinite(out) & (out >= self.boils),
            heat.kick,
        )
        held = [hold(t, there, at) for there, at in zip(now, self.why, strict=True)]
        if t.size:
            self.risen, self.why = bool(rises[-1]), [float(at[-1]) for at in held]
        return [t - at <= HOLDS_S + BIN_S for at in held]
