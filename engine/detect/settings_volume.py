"""Thresholds of what comes and what goes, each with the reason for its default.

Sizes were set on synthetic tours (seeds below 1000) of rigs with a fair flume and agitated pits, so
that a clean tour of twelve hours reaches none of the limits for a warning; see `engine.sim`.
"""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from engine.config_base import Model, NotNegative, Of, Positive, Share, Text
from engine.units import BBL

MINUTE = 60.0
Volume = Annotated[Positive, Of("volume")]
Flow = Annotated[Positive, Of("flow")]


class FlowLimit(Model):
    """One sum of the return gauge: what is never counted, and how much makes a warning."""

    leak: Flow
    volume: Volume


def _flows(*pairs: tuple[float, float]) -> tuple[FlowLimit, ...]:
    made = ({"leak_bbl_min": leak, "volume_bbl": volume} for leak, volume in pairs)
    return tuple(FlowLimit.model_validate(one) for one in made)


class WatchSettings(Model):
    """Limits of a leaky volume, the same for what comes and what goes."""

    leak: Flow = 0.10 * BBL / MINUTE
    """What is never called: below it, pits cool, foam and evaporate."""
    advice: Volume = 1.0 * BBL
    warning: Volume = 2.0 * BBL
    critical: Volume = 5.0 * BBL
    """Without a second witness; with one, the warning is critical."""
    filter_s: Positive = 30.0
    """Time constant of the level: five of waves on agitated pits. Twice as long keeps the noise
    down by a quarter of a barrel, and costs that much at half a barrel a minute."""
    wander: Volume = 0.55 * BBL
    """By which the level of the pits that the limits were set with goes up or down in ten minutes,
    as a standard deviation: agitated, with a gauge that drifts by a barrel in an hour."""
    least_wander: Share = 0.75
    """Pits that wander less have smaller limits, but none smaller than this times."""
    most_wander: Positive = 3.0
    """Pits that wander more have larger limits, and a larger leak; none larger than this
    times: then the call is late, and the advice was there before."""
    enter_s: Positive = 90.0
    """After a start of the pumps or a change of flow volumes count again: the flow line is
    modelled, and what is left of its error is small by then."""
    flow: tuple[FlowLimit, ...] = _flows((0.6, 1.8), (1.0, 0.8), (1.5, 0.38))
    """For the return gauge: a slow influx needs a small leak and a large volume, a fast one
    the opposite."""
    flow_noise: Flow = 0.32 * BBL / MINUTE
    """Noise of minute means of the gauge that leaks and volumes were set with: a fair flume. A
    gauge of another noise has all of them in proportion, so a poor paddle leaves the call to
    the pits, and a mass meter makes it sooner."""
    least_noise: Share = 0.65
    """They never shrink below this: the flow line itself is not modelled better."""
    flow_drift_s: Positive = 600.0
    """Time constant of what the gauge is off for longer: a flume wanders by 2 % in an hour, as
    much as an influx of a third of a barrel a minute; so slow a one is left to the pits."""
    stuck_s: Positive = 20.0
    """One reading for so long is a gauge that hangs, until it is frozen for certain: what was
    counted meanwhile is taken back. A gauge whose reading often repeats has three times
    its longest repetition."""
    combine: Annotated[Positive, Field(le=1.0)] = 0.8
    """A warning too when the two, each as a share of its own limit, add up to 1 / this."""
    back: Share = 0.4
    """A call ends below this share of the limit for advice."""
    over_s: Positive = 900.0
    """It ends too when nothing more has come for so long: less than `progress`."""
    progress: Volume = 0.5 * BBL
    """An influx of 0.1 bbl/min makes as much in five minutes, waves make less."""


class InfluxSettings(WatchSettings):
    """When more comes out than can be explained."""


class Grade(Model):
    """A word for losses up to a rate."""

    name: Text
    up_to: Flow


class LossSettings(WatchSettings):
    """When less comes back than was pumped."""

    advice: Volume = 1.5 * BBL
    warning: Volume = 3.0 * BBL
    critical: Volume = 30.0 * BBL
    """Losses are a cost before they are a danger; so much is half of a usual annulus of pipe."""
    flow: tuple[FlowLimit, ...] = _flows((0.6, 2.0), (1.0, 0.9), (1.5, 0.43))
    grades: tuple[Grade, ...] = (
        Grade.model_validate({"name": "seepage", "up_to_l_min": 26.5}),
        Grade.model_validate({"name": "partial", "up_to_l_min": 132.5}),
    )
    """By rising rate. The words mean other rates in every handbook: 10 and 50 bbl/h are one
    common pair. The slowest is advice and never an alarm."""
    most: Text = "severe"
    """What is faster than all of them."""
    total_share: Share = 0.05
    """Returns below this share of flow-in are none."""
    total_s: Positive = 20.0
    """For so long."""


class OutOfHoleSettings(Model):
    """When a hole without pipe gives mud; nothing should move then."""

    above: Annotated[NotNegative, Of("length")] = 30.0
    """A bit no deeper than this is out of the hole: above the preventers of a land rig."""
    leak: Flow = 0.05 * BBL / MINUTE
    """Half of that while pumping: no flow line, no cuttings."""
    advice: Volume = 0.75 * BBL
    warning: Volume = 1.25 * BBL
    critical: Volume = 2.5 * BBL
    filter_s: Positive = 60.0
    """Ten time constants of waves; a static hole leaves the time."""
    moved: Flow = 1.0 * BBL / MINUTE
    """A fall faster than this is mud that was moved: a pump that is tested. Its return is not
    a gain, as far as it is as much and as fast."""
    moved_s: Positive = 3600.0
    """What has not come back for so long will not come back."""
    settle_s: Positive = 120.0
    """After the bit came out, or the pumps changed: mud drains from the pipe and the lines."""


class FillSettings(Model):
    """When the annulus is no longer filled while drilling blind."""

    least: Flow | None = None
    """What the annulus must get; None: what it usually gets."""
    stopped: Share = 0.5
    """Below this share of it the fill has stopped."""
    stopped_s: Positive = 45.0
    """For so long: with the gauge's own delay that is within a minute."""
    none: Flow = 0.2 * BBL / MINUTE
    """Less than this is waves of the trip tank: 0.15 bbl in three quarters of a minute."""
