"""Limits on pressures that nobody pumps, and on the return gauge."""

from __future__ import annotations

from typing import Annotated

from engine.config_base import Model, NotNegative, Of, Positive, Share
from engine.units import PSI, UNITS

Pressure = Annotated[Positive, Of("pressure")]
Flow = Annotated[Positive, Of("flow")]


class PressureOffSettings(Model):
    """When a string that nobody pumps into gains pressure."""

    rise: Pressure = 50 * PSI
    """Ten times the noise of a usual gauge and far less than a closed float holds back. Published
    investigations show rises of 45 to 110 psi/min that were not seen; common practice."""
    rise_s: Positive = 120.0
    """Within so long. A closed string that warms up gains 10 to 15 psi in that time."""
    settle_s: NotNegative = 10.0
    """After the pumps stop, pressure waves run out."""
    back: Share = 0.4
    """The call ends when less than this share of the limit is left of the rise."""


class BleedSettings(Model):
    """When pressure that was bled off comes back."""

    fall: Pressure = 50 * PSI
    """So much of a fall"""
    fall_s: Positive = 60.0
    """within so long is somebody's hand on a valve. A leak is slower."""
    after_s: NotNegative = 60.0
    """The fall of the pressure as the pumps stop is none; it is over by then."""
    rise: Pressure = 50 * PSI
    """So much of a rebuild"""
    rise_s: Positive = 180.0
    """within so long: slower than the limit without a bleed, since a balanced well does not rebuild
    at all; a string that warms up gains about 35 psi in that time."""
    back: Share = 0.4
    """As above."""


class AnnulusSettings(Model):
    """When the pressure behind a string rises; a table ``[[annuli]]`` may say otherwise."""

    rise: Pressure = 20 * PSI
    """Four times the noise of a usual gauge."""
    rise_s: Positive = 120.0
    """Within so long: 10 psi/min; circulating warms an annulus up at a few psi/min."""
    rest_s: Positive = 600.0
    """Without a rise for so long, the call ends: the level has its own limit."""
    critical_times: Positive = 10.0
    """So many times the limit above where it began is critical, where no level is given."""
    back: Share = 0.4
    """As above."""


class ShutInSettings(Model):
    """When the casing pressure of a shut-in well falls."""

    least: Pressure = 100 * PSI
    """Casing pressure above this with the pumps off: the well is shut in."""
    fall: Pressure = 50 * PSI
    """Least fall that is called, and at least"""
    share: Share = 0.1
    """of the highest pressure: a pressure test fails at that."""
    within_s: Positive = 600.0
    """Within so long."""
    bled: Pressure = 50 * PSI
    """A fall of so much"""
    bled_s: Positive = 60.0
    """within so long is taken as bled off by the crew: advice only."""
    back: Share = 0.4
    """The call ends when less than this share of the fall is left."""


class ReturnsSettings(Model):
    """When the return gauge measures nothing."""

    share_in: Share = 0.2
    """Of the usual flow: below it a paddle may hang and nothing can be said."""
    flow_in: Flow = 200 * UNITS["gpm"].factor
    """Stands for it until a usual flow is known."""
    empty_share: Share = 0.05
    """Returns below this share of flow-in are none."""
    empty_s: Positive = 8.0
    """Every sample of so long: with a reading that takes 5 s to fall and a bin to end, 18 s."""
    settle_s: NotNegative = 90.0
    """So long may the flow line take to fill after a start of the pumps. common practice"""
    loss_share: Share = 0.3
    """If the pits lose this share of what is pumped, it is a loss and the gauge is right."""
    lost_s: Positive = 120.0
    """A gauge that sends nothing for so long while pumping; gaps of a minute are usual."""
    over_s: NotNegative = 0.9
    """Out of range for so long: two samples of a usual feed, since one alone may be a spike."""
    over_off_s: NotNegative = 10.0
    """In range again for so long."""
