"""When a sensor is not believed any more."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from engine.config_base import Model, Positive, Share

Whole = Annotated[int, Field(strict=True, ge=2)]


class SensorSettings(Model):
    """Limits of each kind of fault."""

    frozen_times: Positive = 3.0
    """So many times the longest run of equal readings that was ever seen while the rig worked.
    Longest runs of quantised noise in 400,000 samples differ by less from day to day."""
    frozen_least_s: Positive = 60.0
    """Never sooner."""
    learn_s: Positive = 1800.0
    """The longest run is not known before so long at work."""
    over_s: Positive = 2.0
    """Out of its range for so long; a single reading is a spike."""
    saturated_s: Positive = 30.0
    """At the very end of its range, without a change, for so long."""
    spike_mads: Positive = 3.0
    """A single reading this many scaled median deviations from its seven neighbours is a spike:
    Hampel's identifier."""
    spike_share: Share = 0.1
    """and this share of the largest reading off both its neighbours, or it is noise: seven readings
    alone tell little of how wide that is. A poor paddle's differ by 3 %."""
    spikes: Whole = 5
    """So many within `count_s` are advice. Usual electronics give one in ten thousand readings."""
    dropouts: Whole = 5
    """So often lost within `count_s`: a loose connector. A line that is down has its own alarm."""
    count_s: Positive = 600.0
    silent_s: Positive = 120.0
    """Without a reading for so long after it had sent some: no dropout any more."""
    apart: Share = 0.1
    """Flow-in metered and by strokes differ by more than this share"""
    apart_s: Positive = 60.0
    """for so long: pumps at 95 % and a meter of 2 % are never so far apart."""
    depth_apart: Positive = 10.0
    """Depth as sent and our own differ by so much: a single of pipe. [m]"""
    drift: Share = 0.03
    """Mean of the two flows against what it was when both were new: a meter's year."""
    drift_weight: Share = 0.03
    """Weight of a new minute in the moving mean: it remembers half an hour."""
    drift_limit: Positive = 2.44
    """and its limit in standard deviations of that mean; with the weight above a chart of this kind
    gives a false alarm in 370 values, which is why `drift` must be met too."""
