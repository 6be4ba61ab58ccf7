"""What a sensor adds to the truth: classes of rigs, as tables.

Everything is drawn in fixed spans of seconds from a seed of its own, so the numbers do not
depend on how a run is cut.

References
----------
.. [1] The sizes are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from math import inf

from engine.units import BBL, unit

_KLBF = unit("klbf").factor
_PSI = unit("psi").factor
_RPM = unit("rpm").factor
_L_MIN = unit("l_min").factor
_SPM = unit("spm").factor
_DAY = 86400.0


@dataclass(frozen=True, slots=True)
class Error:
    """One sensor's faults. Absolute sizes are in SI."""

    sd: float = 0.0
    """Standard deviation of the noise."""
    share: float = 0.0
    """The same as a share of the value. [-]"""
    tau: float = 0.0
    """Correlation time of the noise; 0: none. [s]"""
    quantum: float = 0.0
    """Step in which it is read."""
    scale: float = 0.0
    """Standard deviation of a scale error that stays for the run, at most twice it. [-]"""
    wander: float = 0.0
    """Standard deviation of a slow error as a share of the value. [-]"""
    drift: float = 0.0
    """The same, absolute."""
    moving: float = 0.0
    """More noise while the block moves, as a share of the value. [-]"""
    outliers: float = 0.0
    """Probability of a wild reading. [1/s]"""
    dropouts: float = 0.0
    """Gaps of 5 to 60 s. [1/s]"""
    sticks: float = 0.0
    """Spells of 1 to 20 min at one reading. [1/s]"""
    jumps: float = 0.0
    """Lasting steps of the zero by up to 20 cm. [1/s]"""
    curve: float = 1.0
    """Power by which the reading follows the value; right at nothing and at the usual. [-]"""
    dead: float = 0.0
    """Below this share of the usual value it reads nothing: a paddle hangs down. [-]"""
    limit: float = inf
    """It reads no more than this share of the usual value. [-]"""
    wave: float = 0.0
    """Amplitude of a regular wave: an agitator, or the sea."""
    period: float = 1.0
    """Of that wave. [s]"""


@dataclass(frozen=True, slots=True)
class NoiseClass:
    """All sensors of a rig and its sender."""

    name: str
    sensors: Mapping[str, Error]
    more: Mapping[str, Error] = field(default_factory=lambda: _MORE)
    """Sensors that only some rigs have; they draw apart, so that the others stay as they are."""
    jitter: float = 0.05
    """A sample is taken this much early or late at most. [s]"""
    missing: float = 1e-3
    """Probability that a packet never comes. [-]"""
    doubled: float = 0.0
    """Probability that a packet comes twice. [-]"""
    stalls: float = 0.0
    """Probability that the sender stops for 5 s and then sends all at once. [1/s]"""


WANDER_S = 3600.0
"""Slow errors come and go in this time. [s]"""
_MORE: dict[str, Error] = {
    "annulus_pressure": Error(sd=3 * _PSI, tau=1.0, quantum=_PSI, drift=4 * _PSI),
}

_CALM: dict[str, Error] = {
    "block_position": Error(sd=0.005, quantum=0.01, scale=0.00025),
    "hook_load": Error(sd=0.5 * _KLBF, tau=1.0, quantum=0.1 * _KLBF, moving=0.01, wander=0.001),
    "standpipe_pressure": Error(sd=1.5 * _PSI, share=0.003, tau=0.5, quantum=_PSI, scale=0.002),
    "flow_out": Error(sd=8 * _L_MIN, share=0.03, tau=10.0, quantum=5 * _L_MIN, wander=0.008),
    "pit_volume": Error(sd=0.25 * BBL, tau=6.0, quantum=0.01, drift=0.03),
    "trip_tank_volume": Error(sd=0.08 * BBL, tau=3.0, quantum=0.01),
    "pump_1_rate": Error(share=0.006, quantum=_SPM),
    "pump_2_rate": Error(share=0.006, quantum=_SPM),
    "pump_3_rate": Error(share=0.006, quantum=_SPM),
    "rotary": Error(share=0.01, tau=0.5, quantum=_RPM),
    "torque": Error(sd=20.0, share=0.03, tau=1.0, quantum=10.0, wander=0.005),
    "density_in": Error(sd=2.0, tau=20.0, quantum=1.0),
    "density_out": Error(sd=3.0, tau=20.0, quantum=1.0),
    "temperature_in": Error(sd=0.1, tau=20.0, quantum=0.1),
    "temperature_out": Error(sd=0.2, tau=20.0, quantum=0.1),
    "gas": Error(share=0.08, tau=30.0, quantum=1e-4),
}

_OUTLIER = 1e-5
_ROUGH: dict[str, Error] = {
    "block_position": Error(
        sd=0.005, quantum=0.01, scale=0.0005, outliers=1e-6, dropouts=0.2 / _DAY, jumps=0.2 / _DAY
    ),
    "hook_load": Error(
        sd=1.5 * _KLBF, tau=2.0, quantum=_KLBF, moving=0.03, wander=0.004,
        outliers=_OUTLIER, dropouts=1 / _DAY,
    ),
    "standpipe_pressure": Error(
        sd=5 * _PSI, share=0.01, tau=1.0, quantum=5 * _PSI, scale=0.005,
        outliers=_OUTLIER, dropouts=0.5 / _DAY,
    ),
    "flow_out": Error(
        sd=20 * _L_MIN, share=0.06, tau=10.0, quantum=25 * _L_MIN, wander=0.02,
        outliers=1e-4, dropouts=0.5 / _DAY, sticks=0.5 / _DAY,
    ),
    "pit_volume": Error(
        sd=0.6 * BBL, tau=8.0, quantum=0.02, drift=0.15, outliers=_OUTLIER, dropouts=0.5 / _DAY
    ),
    "trip_tank_volume": Error(sd=0.15 * BBL, tau=3.0, quantum=0.01, outliers=_OUTLIER),
    "pump_1_rate": Error(share=0.012, quantum=_SPM, outliers=_OUTLIER, dropouts=0.2 / _DAY),
    "pump_2_rate": Error(share=0.012, quantum=_SPM, outliers=_OUTLIER, dropouts=0.2 / _DAY),
    "pump_3_rate": Error(share=0.012, quantum=_SPM, outliers=_OUTLIER, dropouts=0.2 / _DAY),
    "rotary": Error(share=0.02, tau=0.5, quantum=_RPM, outliers=_OUTLIER, dropouts=0.2 / _DAY),
    "torque": Error(
        sd=100.0, share=0.04, tau=1.0, quantum=100.0, wander=0.03,
        outliers=_OUTLIER, dropouts=0.2 / _DAY,
    ),
    "density_in": Error(sd=4.0, tau=20.0, quantum=1.0),
    "density_out": Error(sd=8.0, tau=20.0, quantum=1.0),
    "temperature_in": Error(sd=0.2, tau=20.0, quantum=0.1, dropouts=0.2 / _DAY),
    "temperature_out": Error(sd=0.2, tau=20.0, quantum=0.1, dropouts=0.2 / _DAY),
    "gas": Error(share=0.2, tau=30.0, quantum=1e-4, outliers=1e-4, dropouts=1 / _DAY),
}  # fmt: skip

_HEAVE = _ROUGH | {
    "hook_load": replace(_ROUGH["hook_load"], wave=2 * _KLBF, period=11.0),
    "pit_volume": Error(
        sd=1.6 * BBL, tau=12.0, quantum=0.05, drift=0.3, wave=1.7 * BBL, period=11.0,
        outliers=_OUTLIER, dropouts=0.5 / _DAY,
    ),
    "flow_out": Error(
        sd=20 * _L_MIN, share=0.03, tau=10.0, quantum=13 * _L_MIN, wander=0.02,
        outliers=_OUTLIER, dropouts=0.5 / _DAY,
    ),
}  # fmt: skip

_FLUME = _ROUGH | {
    "hook_load": replace(_ROUGH["hook_load"], sd=_KLBF, tau=1.5, quantum=0.5 * _KLBF, moving=0.02),
    "standpipe_pressure": replace(_ROUGH["standpipe_pressure"], sd=3 * _PSI, share=0.006),
    "torque": replace(_ROUGH["torque"], sd=50.0, share=0.03, quantum=50.0, wander=0.015),
    "flow_out": Error(
        sd=10 * _L_MIN, share=0.03, tau=10.0, quantum=13 * _L_MIN, wander=0.02,
        outliers=_OUTLIER, dropouts=0.5 / _DAY,
    ),
    "pit_volume": Error(
        sd=0.55 * BBL, tau=6.0, quantum=0.02, drift=0.14, wave=0.25 * BBL, period=4.3,
        outliers=_OUTLIER, dropouts=0.5 / _DAY,
    ),
}  # fmt: skip
_METER = _FLUME | {
    "flow_out": Error(
        sd=2 * _L_MIN, share=0.005, tau=2.0, quantum=2 * _L_MIN, wander=0.003,
        outliers=_OUTLIER, dropouts=0.5 / _DAY,
    ),
    "pit_volume": Error(
        sd=0.25 * BBL, tau=5.0, quantum=0.02, drift=0.08, outliers=_OUTLIER, dropouts=0.5 / _DAY
    ),
}  # fmt: skip
_PADDLE = _FLUME | {
    "flow_out": Error(
        sd=20 * _L_MIN, share=0.06, tau=10.0, quantum=25 * _L_MIN, wander=0.05, curve=0.6,
        dead=0.12, limit=1.5, outliers=1e-4, dropouts=0.5 / _DAY, sticks=0.5 / _DAY,
    ),
}  # fmt: skip
_POOR = _ROUGH | {
    "flow_out": replace(_PADDLE["flow_out"], share=0.08, dead=0.2, sticks=1 / _DAY),
    "pit_volume": Error(
        sd=0.8 * BBL, tau=8.0, quantum=BBL, drift=0.4, wave=0.4 * BBL, period=5.1,
        outliers=1e-4, dropouts=2 / _DAY,
    ),
    "trip_tank_volume": Error(sd=0.15 * BBL, tau=3.0, quantum=0.05, outliers=1e-4),
}  # fmt: skip

CLASSES: dict[str, NoiseClass] = {
    "calm": NoiseClass("calm", _CALM),
    "rough": NoiseClass("rough", _ROUGH, doubled=5e-4, stalls=3 / _DAY),
    "heave": NoiseClass("heave", _HEAVE, doubled=5e-4, stalls=3 / _DAY),
    "meter": NoiseClass("meter", _METER, doubled=5e-4, stalls=1 / _DAY),
    "flume": NoiseClass("flume", _FLUME, doubled=5e-4, stalls=1 / _DAY),
    "paddle": NoiseClass("paddle", _PADDLE, doubled=5e-4, stalls=1 / _DAY),
    "poor": NoiseClass("poor", _POOR, missing=3e-3, doubled=1e-3, stalls=6 / _DAY),
}
"""Every noise class by name.

``calm``: a land rig with a flume and quiet pits; ``meter``: a mass meter in the return line,
0.25 bbl of waves; ``flume``: 3 % and 0.6 bbl; ``paddle``: the same pits, 6 % and a curve; ``poor``:
a worse paddle, pits read in whole barrels; ``rough``: as ``paddle`` but straight, with coarse
gauges; ``heave``: a floating rig, 2 bbl.
"""
