"""Thresholds of what is watched while the pumps stand, and of transfers."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from engine.config_base import Count, Model, Of, Positive, Share
from engine.units import BBL

MINUTE = 60.0
Volume = Annotated[Positive, Of("volume")]
Flow = Annotated[Positive, Of("flow")]
Several = Annotated[Count, Field(ge=2, le=30)]


class ConnectionSettings(Model):
    """The table ``[detect.connection]``: what comes back while the pumps stand."""

    kept: Several = 8
    """Newest accepted flowbacks that make the reference; fifteen tell no better."""
    least: Several = 3
    """Before there are so many, pits are not judged by them."""
    z: Positive = 4.5
    """Deviation that is called if two marks running have it: false once in a thousand connections
    with Gaussian noise. Without a gauge it finds 0.5 bbl/min in one connection of five minutes
    on calm pits; agitated ones take two barrels and more."""
    floor: Volume = 0.25 * BBL
    """Least standard deviation: no crew stops the pumps twice in quite the same way."""
    small_z: Positive = 1.5
    """Three running with this are a trend."""
    accepted_z: Positive = 3.0
    """A flowback further out than this teaches nothing."""
    flow_change: Share = 0.10
    """Of the flow before the stop: another flow line content, everything is learnt anew."""
    leak: Flow = 0.10 * BBL / MINUTE
    """After the last mark a stop may give so much more: mud warms."""
    critical: Volume = 5.0 * BBL
    """Without a second witness; with one, the warning is critical."""
    flow_share: Share = 0.05
    """Of the return flow before the stop, above the drain-back, while fewer than `least` stops are
    known: who has seen a gauge at rest only twice does not know its zero."""
    flow_least: Flow = 0.3 * BBL / MINUTE
    """Above the drain-back of `least` stops or more. Half a barrel a minute is to be seen in one
    connection; a gauge that wavers more than this has its own limit, four standard deviations."""
    flow_s: Positive = 30.0
    """For so long."""
    armed_s: Positive = 30.0
    """After the pumps stopped, once the drain-back is known: the half minute begins then."""
    unlearned_s: Positive = 120.0
    """Before that: a flow line has run empty by then."""
    halves_s: Positive = 300.0
    """Flowback is asked about once it can be halved: 100 % of kicks and 98 % of ballooning were
    told apart after 10 min, 72 and 67 % after 5 min (own trials, 0.6 bbl of noise)."""
    asked: Volume = 1.0 * BBL
    """Less above the reference is no question."""


class TransferSettings(Model):
    """The table ``[detect.transfer]``."""

    slowest: Flow = 2.0 * BBL / MINUTE
    """A transfer pump moves 2 to 10 bbl/min; common practice, no source."""
    look_s: Positive = 90.0
    """A straight line for so long: three barrels at the slowest."""
    bend: Share = 0.25
    """First and second half may differ by so much of the slope."""
    seen_share: Share = 0.3
    """With this share of it in the return flow it comes from the well."""
    overrun: Share = 0.10
    """Beyond what was declared: strapping a tank is no better."""
    overrun_least: Volume = 3.0 * BBL
    """Waves and the end of a transfer make as much."""
    short: Share = 0.5
    """Of what was declared; less than this at its end, and it went elsewhere."""
