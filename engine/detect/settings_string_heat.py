"""Thresholds of what hook load, torque, rate of penetration, heat and gas are watched for."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from engine.config_base import Length, Model, Of, Positive, Share
from engine.units import unit

KLBF = unit("klbf").factor
Force = Annotated[Positive, Of("force")]
Pressure = Annotated[Positive, Of("pressure")]
Whole = Annotated[int, Field(strict=True, ge=1)]


class OverpullSettings(Model):
    """The table ``[detect.overpull]``, for pulling and for taking weight alike."""

    advice: Force = 10 * KLBF
    """From here on it goes into the log of tight spots; what crews begin to write down. Common
    practice, no source; so are the next two."""
    warning: Force = 20 * KLBF
    critical: Force = 40 * KLBF
    """In the middle of the 30 to 50 klbf at which pipe is usually called stuck."""
    deviations: Positive = 4.0
    """It is so many standard deviations of the load itself, if that is more: once in 30,000
    readings of pure noise, and two in a row are asked for."""
    passes: Whole = 20
    """So many moves of the string the same way are compared with: a day's trip to the shoe."""
    reach: Length = 600.0
    """They lie no further away than this: drag grows with depth, 20 stands are 570 m."""


class HookLoadLostSettings(Model):
    """The table ``[detect.hook_load_lost]``."""

    fall: Share = 0.2
    """Of the load before. Braking a block takes 5 per cent off for each 0.5 m/s2."""
    least: Force = 20 * KLBF
    """And no less than this: a string so light tells nothing."""
    rise: Length = 0.3
    """The block has gone up so far since the load was whole. It goes down when slips are set."""
    within_s: Positive = 3.0
    """The fall takes no longer: it is told within three seconds."""


class StickSlipSettings(Model):
    """The table ``[detect.stick_slip]``."""

    advice: Share = 0.15
    """Swing of the torque as a share of its mean, from middle to top. Noise alone makes 7 per
    cent on a rough gauge."""
    warning: Share = 0.25
    """Common practice, no source: the bit then nearly stands once in each turn of the swing."""
    periodicity: Share = 0.5
    """Correlation of the torque with itself one swing later."""
    samples: Positive = 3.0
    """Readings in one swing. Below two the swing shows as a slower one that is not there."""


class DrillingBreakSettings(Model):
    """The table ``[detect.drilling_break]``."""

    times: Annotated[Positive, Field(gt=1.0)] = 1.5
    """So much faster than the three metres before. Breaks are 1.5 to 2 times; common practice."""
    block: Length = 0.1
    """The rate is taken over such steps of depth, or over 10 s of drilling if that is more."""
    past: Whole = 30
    """Blocks that the rate is compared with: ten feet."""
    reference_value: Positive = 0.5
    """Of the cumulative sum, in standard deviations."""
    limit: Positive = 5.0
    """Of the sum. With 0.5 it is reached by chance once in 930 blocks, which is why the rate
    must also be `times` as high over `least`."""
    least: Length = 0.6
    """Drilled at the new rate; an alert must come within 5 ft."""
    noise: Share = 0.12
    """Least standard deviation of the logarithm of the rate: 5 mm of block noise in 0.1 m."""
    steady: Share = 0.1
    """Weight and rotary speed are steady if they differ no more from those of the blocks before."""


class TemperatureSettings(Model):
    """The table ``[detect.temperature_rise]``."""

    rise: Positive = 6.0
    """[K] within `rise_s`: 2 K a minute over three minutes, or as much in less."""
    rise_s: Positive = 180.0
    out_less_in: Positive = 15.0
    """[K] more than usual; a well that heats up by itself does so over hours."""
    usual_s: Positive = 7200.0
    """Time constant of what is usual; never frozen, so that drift makes no endless alarm."""
    margin: Positive = 10.0
    """[K] Returns this near to boiling may flash to steam."""
    air: Pressure = 101325.0
    """Air pressure at the flow line; less up in the mountains, where water boils sooner."""
    annuli: Positive = 1.5
    """Annulus volumes to be pumped after a stop before a rise counts: what stood still comes up
    warm, once."""
    stop_s: Positive = 600.0
    """A stop of the pumps so long warms the hole. Connections take 3 to 8 min."""
    settle_s: Positive = 300.0
    """After any stop the flow line and its probe are cold first."""
    losses: Share = 0.1
    """Of flow-in: losses before a surge."""
    surge: Share = 0.1
    """Of flow-in: more comes back than goes in."""
    together_s: Positive = 1800.0
    """Losses, surge and heat within this time are one event: half an hour, a lag."""


class GasSettings(Model):
    """The table ``[detect.gas_at_surface]``."""

    times: Annotated[Positive, Field(gt=1.0)] = 3.0
    """So much above the background. Common practice, no source."""
    least: Share = 0.003
    """[share of gas in the sample] Below it a gauge shows three times nothing."""
    background_s: Positive = 1800.0
    """Time constant of the background."""
    flow: Share = 0.06
    """Returns above flow-in by this share at the same time make it critical."""
    window: Share = 0.1
    """Of the lag strokes: gas from the bottom may come so much sooner or later."""
    trip_lead_s: Positive = 720.0
    """Trip gas is announced so long before it is due: time to line up the choke."""
    connection_lead_s: Positive = 180.0
    """The same for what was at the bit during a connection."""
    stop_s: Positive = 60.0
    """A stop of the pumps shorter than this leaves no mark."""
