"""What the tare is worked out from, what it keeps, and what it gives."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from engine.block import FloatArray, Mask
from engine.ops.primitives import NAN, DelayState, DwellState, Past

FIELDS = 6
LOAD, SPREAD, TORQUE, TORQUE_SPREAD, FLOW, PIPE = range(FIELDS)
"""What one tare holds: hook load and its error (sd) [N], torque and its error [N m], flow-in
[m3/s], and the reach [m] that tells how much pipe hung on it."""
NONE = (NAN,) * FIELDS


@dataclass(frozen=True, slots=True, eq=False)
class Conditions:
    """What decides whether a load is fit, each of shape (n,), NaN where unfit."""

    t: FloatArray
    load: FloatArray
    speed: FloatArray
    rotary: FloatArray
    flow: FloatArray
    torque: FloatArray
    slips: FloatArray
    above: FloatArray
    """Height of the bit above where it touches bottom without weight. [m]"""
    reach: FloatArray
    """Bit depth with the block at the floor. [m]"""


@dataclass(frozen=True, slots=True, eq=False)
class TareState:
    """The newest tare with and without rotation, and what judges the next one."""

    rotating: tuple[float, ...] = NONE
    sliding: tuple[float, ...] = NONE
    refused: float = NAN
    """How far off the last refused load was; NaN once one is taken. [N]"""
    stretch: int = 0
    """Kind of the fit stretch now open: 0 none, 1 rotating, 2 sliding. [-]"""
    taken: bool = False
    """The open stretch was taken, not refused."""
    run: DwellState = field(default_factory=DwellState)
    went_up: float = -np.inf
    past: Past = field(default_factory=Past)
    usual_past: Past = field(default_factory=Past)
    usual: tuple[float, float] = (NAN, NAN)
    turns: bool = False
    turning: DelayState = field(default_factory=DelayState)
    newest: tuple[float, float] = (NAN, NAN)
    """Slips and reach at the newest sample."""


@dataclass(frozen=True, slots=True, eq=False)
class Tares:
    """What `Tare` gives, all of shape (n,)."""

    load: FloatArray
    """Tare with the weight of pipe added since; NaN if there is none. [N]"""
    spread: FloatArray
    """Standard error of the tare. [N]"""
    torque: FloatArray
    torque_spread: FloatArray
    old: Mask
    """Pipe, flow or rotation are not what they were."""
    refused: Mask
    """A newer load was fit but too far off; the older one was kept."""
    turning: Mask
