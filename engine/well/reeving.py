r"""Block and tackle: what friction costs, what fast line, crown and drawworks carry. SI, exact.

References
----------
.. [1] API RP 9B, 14th ed. with Addendum 1 (2020): fast-line factor, design factor and their
   example (clause 2.3.3.4); friction factor 1.04 of a sheave on roller bearings (from memory).
.. [2] A. T. Bourgoyne et al., Applied Drilling Engineering, SPE, 1986, ch. 1: efficiency, crown
   load, hoist speed (worked examples after it, www.scribd.com/document/492738514/One).
"""

from __future__ import annotations

from engine.well.answer import Answer, Unknown, finite
from engine.well.checks import not_negative, positive, share

SHEAVE_FRICTION = 1.04
"""Line tension after a turning sheave over that before it, roller bearings [1]_. [-]"""
MOST_LINES = 16
"""No rig strings more. [-]"""
LOAD_FLOOR = 500.0
"""Less hangs on no hook. [N]"""


def _lines(lines: float) -> Unknown | None:
    if bad := positive(lines=lines):
        return bad
    if lines != int(lines) or lines > MOST_LINES:
        return Unknown(f"{lines:g} lines; it must be a whole number up to {MOST_LINES}")
    return None


def line_tension(hook_load: float, lines: float) -> Answer:
    """Tension of every line of a still block, no friction. [N]

    Parameters
    ----------
    hook_load : float
        Block and string. [N]
    lines : float
        Strung to the block. [-]
    """
    bad = _lines(lines) or not_negative(hook_load=hook_load)
    return bad or hook_load / lines


def string_up_error(entered: float, strung: float) -> Answer:
    """Shown over true hook load of a dead-line gauge set up for a wrong number of lines. [-]"""
    bad = _lines(entered) or _lines(strung)
    return bad or entered / strung


def reeving_efficiency(lines: float, friction: float = SHEAVE_FRICTION) -> Answer:
    r"""Hook work over fast-line work, as many turning sheaves as lines [1]_. [-]

    .. math:: E = \frac{K^n - 1}{K^n n (K - 1)}

    Parameters
    ----------
    lines : float
        Strung to the block, n. [-]
    friction : float
        K of one sheave; 1 is none: efficiency 1. [-]

    Notes
    -----
    A printed table has 0.770 for 12 lines where this gives 0.782; use the rig's own value
    where there is one.
    """
    if bad := _lines(lines) or positive(sheave_friction=friction):
        return bad
    if friction < 1:
        return Unknown(f"sheave friction is {friction:g}; it must be at least 1")
    # Sum of 1/K^i, i = 1 to n, over n: the same, without 0/0 at K = 1.
    return float(sum(friction**-i for i in range(1, int(lines) + 1)) / lines)


def fast_line_factor(lines: float, efficiency: Answer) -> Answer:
    """Fast-line tension over hook load while hoisting, ``1 / (n E)`` [1]_. [-]

    Parameters
    ----------
    lines : float
        Strung to the block. [-]
    efficiency : Answer
        Of the reeving, above 0 to 1. [-]
    """
    if isinstance(efficiency, Unknown):
        return efficiency
    if bad := _lines(lines) or positive(efficiency=efficiency) or share(efficiency=efficiency):
        return bad
    return finite(1 / (lines * efficiency), "the efficiency is next to nothing")


def fast_line_load(hook_load: float, factor: Answer) -> Answer:
    """Tension of the fast line while hoisting: hook load x `factor`. [N]"""
    if isinstance(factor, Unknown):
        return factor
    if bad := not_negative(hook_load=hook_load, fast_line_factor=factor):
        return bad
    return finite(hook_load * factor, "the hook load is too large to be one")


def crown_load(hook_load: float, lines: float, efficiency: Answer) -> Answer:
    r"""Load on the crown while hoisting, :math:`W (1 + E + E n) / (E n)` [2]_. [N]

    Hook, fast line, and a dead line without friction. Efficiency 1 is the still block:
    ``(n + 2) / n`` of the hook load.

    Parameters
    ----------
    hook_load : float
        [N]
    lines, efficiency : float, Answer
        As of `fast_line_factor`. [-]
    """
    factor = fast_line_factor(lines, efficiency)
    if isinstance(factor, Unknown):
        return factor
    if bad := not_negative(hook_load=hook_load):
        return bad
    return finite(hook_load * (1 + factor + 1 / lines), "the hook load is too large to be one")


def hoist_speed(power: float, hook_load: float, efficiency: Answer) -> Answer:
    """Speed of the block that a drawworks power gives, ``E P / W`` [2]_. [m/s]

    Parameters
    ----------
    power : float
        At the drum; 0 gives 0. [W]
    hook_load : float
        [N]
    efficiency : Answer
        Of the reeving. [-]

    Returns
    -------
    float or Unknown
        [m/s] Unknown on an empty hook: its speed is a matter of gears, not of power.
    """
    if isinstance(efficiency, Unknown):
        return efficiency
    if bad := not_negative(power=power, hook_load=hook_load) or share(efficiency=efficiency):
        return bad
    if hook_load < LOAD_FLOOR:
        return Unknown("nothing hangs on the hook")
    return finite(efficiency * power / hook_load, "the hook load is unknown")


def hoist_power(hook_load: float, speed: float, efficiency: Answer) -> Answer:
    """Power at the drum to hoist at `speed` [m/s], ``W v / E``. [W] 0 at rest."""
    if isinstance(efficiency, Unknown):
        return efficiency
    if bad := not_negative(hook_load=hook_load, speed=speed) or positive(efficiency=efficiency):
        return bad
    if bad := share(efficiency=efficiency):
        return bad
    return finite(hook_load * speed / efficiency, "the power is too large to be one")


def fast_line_speed(speed: float, lines: float) -> Answer:
    """Speed of the fast line, ``n v``. [m/s]"""
    if bad := _lines(lines) or not_negative(speed=speed):
        return bad
    return finite(lines * speed, "the speed is too large to be one")


def design_factor(strength: float, fast_line: Answer) -> Answer:
    """Breaking strength of the rope over fast-line tension [1]_. [-]

    From memory of [1]_: at least 3 drilling, 2 setting casing or pulling stuck pipe.

    Parameters
    ----------
    strength : float
        Nominal breaking strength of the rope. [N]
    fast_line : Answer
        [N]
    """
    if isinstance(fast_line, Unknown):
        return fast_line
    if bad := not_negative(breaking_strength=strength, fast_line_load=fast_line):
        return bad
    if fast_line < LOAD_FLOOR / MOST_LINES:
        return Unknown("nothing hangs on the line")
    return finite(strength / fast_line, "the strength is too large to be one")
