"""Thresholds of all that is called by the standpipe pressure while pumping."""

from __future__ import annotations

from engine.config_base import Model, NotNegative, Positive, Share


class StandpipeSettings(Model):
    """The table ``[detect.standpipe]``: how the pressure is compared with what it should be."""

    settle_s: Positive = 30.0
    """After a change of flow: mud in string and hose is squeezed for some 6 s, pipe just added
    fills in as long."""
    learn_blocks: Positive = 10.0
    """So many blocks of 30 s make the first reference: five minutes of steady pumping."""
    reference_s: Positive = 3600.0
    """Time constant of the reference afterwards. Depth, wear and heat change the pressure by some
    tenths of a per cent in an hour; a leak grows faster."""
    noise_floor: Share = 0.0015
    """Of a block, as a share of the pressure: no gauge and stroke counter are closer."""
    noise_first: Share = 0.005
    """Assumed before anything is learnt."""
    rate_change: Share = 0.02
    """A change of flow beyond this is another rate: the exponent is not known well enough."""
    exponent_error: Share = 0.15
    """Of the flow exponent before two rates have taught it: 1.6 to 2.0 are met."""
    pumps_error: Share = 0.06
    """Other pumps at the same strokes: efficiencies differ by some per cent."""
    density_change: Share = 0.02
    """Another mud goes in: a balance is read to 1 per cent, and a meter drifts by as much."""


class WashoutSettings(Model):
    """The table ``[detect.washout]``."""

    false_alarms_per_tour: Positive = 0.05
    """Wanted false alarms in 12 h of pumping; the limit of the sum follows from it."""
    reference_value: Positive = 0.5
    """Of the sum, in standard deviations: best for a fall of twice that."""
    least: Share = 0.006
    """A smaller fall is not called: mud that thins does as much."""
    advice: Share = 0.75
    """Of the limit of the sum."""


class NozzleSettings(Model):
    """The table ``[detect.nozzle]``."""

    lost: Share = 0.05
    """Fall within 30 s. One of five nozzles lost takes 9 to 19 per cent, of three 12 to 27."""
    at_once: Share = 0.16
    """A fall up to this is called before the returns have shown: no pump stands behind it. One dead
    cylinder of nine takes 17 to 20 per cent, of six 25 to 29."""
    plugged: Share = 0.08
    """Rise within 30 s. One of seven nozzles plugged gives 11 to 23 per cent."""
    slight: Share = 0.05
    """A rise from this to `plugged` is called when it has lain flat for 10 s more: a pack-off
    begins like that, and grows."""
    grows: Share = 0.01
    """What rises by this meanwhile is none; it is flat while it is half of that."""


class PumpFaultSettings(Model):
    """The table ``[detect.pump_fault]``."""

    fall: Share = 0.04
    """Of the pressure. A dead cylinder of two triplexes takes 28 per cent."""
    returns: Share = 0.03
    """Less comes back, at least; and three times the noise of the gauge."""
    for_s: Positive = 30.0


class PackOffSettings(Model):
    """The table ``[detect.pack_off]``."""

    pressure: Share = 0.03
    """Rise of the pressure that speaks. 2 of 3 within two minutes make the call."""
    torque_times: Positive = 4.0
    """Rise of the torque that speaks, in its own standard deviations of 15 s."""
    torque_least: Share = 0.06
    """And at least this share of it."""
    returns: Share = 0.05
    """Fall of the returns that speaks, at least; and three times the noise of the gauge."""
    within_s: Positive = 120.0
    alone: Share = 0.05
    """Pressure alone for a minute above this is advice."""
    critical: Share = 0.15
    """Rise of the pressure: the next thing is stuck pipe or a broken formation."""


class TwistOffSettings(Model):
    """The table ``[detect.twist_off]``."""

    hook_load: Share = 0.05
    """Fall of the hook load."""
    pressure: NotNegative = 0.05
    """Fall of the pressure in the same moment."""
    torque: Share = 0.6
    """What is left of the torque is less than this."""
    at_bit: Share = 0.3
    """Fall of the pressure that with the torque is enough: a string that parts near the bit gets
    back as much weight from the bit as it loses. A motor off bottom takes a quarter at most."""
