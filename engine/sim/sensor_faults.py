"""What a script can do to a sensor, applied after everything else; the truth stays as it is.

``stuck`` and ``dropout`` need a memory or the whole line: `engine.sim.sensors` has them.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from engine.block import FloatArray
from engine.sim.script import Trouble

SPIKES = 1 / 30.0
"""Share of samples that are wild while spikes last. [-]"""

_Change = Callable[[FloatArray, FloatArray, FloatArray], FloatArray]


@dataclass(frozen=True, slots=True)
class Fault:
    """One kind of sensor fault."""

    stage: str
    """What it changes: ``truth`` (the gauge sees something else), ``reading`` or ``sent``."""
    change: _Change
    """(values, level, uniform numbers) to values; only where the level is not 0."""


def _spikes(value: FloatArray, level: FloatArray, u: FloatArray) -> FloatArray:
    # The middle of the uniform numbers is used for nothing else.
    wild = (u > 0.5) & (u < 0.5 + SPIKES)
    return np.where(wild, value * (1 + level) + np.sign(level) * 1e-9, value)


FAULTS: dict[str, Fault] = {
    "bypass": Fault("truth", lambda value, level, u: value * (1 - level)),
    "offset": Fault("reading", lambda value, level, u: value + level),
    "gain": Fault("reading", lambda value, level, u: value * (1 + level)),
    "spikes": Fault("reading", _spikes),
    "saturated": Fault("reading", lambda value, level, u: np.minimum(value, level)),
    "over-range": Fault("sent", lambda value, level, u: level.copy()),
    "dead": Fault("sent", lambda value, level, u: np.zeros_like(value)),
    "blank": Fault("sent", lambda value, level, u: np.full_like(value, np.nan)),
}
"""Kind to what it does. The size of ``bypass`` is the share that goes past the gauge; of ``offset``
what is added [SI]; of ``gain`` and ``spikes`` a share; of ``saturated`` the highest reading and of
``over-range`` the reading itself [SI]; ``dead`` and ``blank`` need any size but 0."""


def spoil(
    script: Sequence[Trouble], stage: str, times: FloatArray, value: FloatArray, u: FloatArray
) -> FloatArray:
    """Return `value` with the faults of `stage` in `script`; ``times`` [s from the start]."""
    for trouble in script:
        fault = FAULTS[trouble.kind]
        if fault.stage == stage and times[0] < trouble.end and times[-1] > trouble.start:
            level = np.array([trouble.level(float(t)) for t in times])
            value = np.where(level != 0, fault.change(value, level, u), value)
    return value
