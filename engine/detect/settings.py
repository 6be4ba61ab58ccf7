"""Thresholds of the volume balance and its detectors, each with the reason for its default.

A well file may change every one of them under ``[detect.<name>]``.
"""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from engine.config_base import Model, NotNegative, Of, Positive, Share
from engine.detect.settings_connections import ConnectionSettings, TransferSettings
from engine.detect.settings_pressures import (
    AnnulusSettings,
    BleedSettings,
    PressureOffSettings,
    ReturnsSettings,
    ShutInSettings,
)
from engine.detect.settings_sensors import SensorSettings
from engine.detect.settings_standpipe import (
    NozzleSettings,
    PackOffSettings,
    PumpFaultSettings,
    StandpipeSettings,
    TwistOffSettings,
    WashoutSettings,
)
from engine.detect.settings_string_heat import (
    DrillingBreakSettings,
    GasSettings,
    HookLoadLostSettings,
    OverpullSettings,
    StickSlipSettings,
    TemperatureSettings,
)
from engine.detect.settings_trip import SwabSettings
from engine.units import BBL

MINUTE = 60.0
Volume = Annotated[Positive, Of("volume")]
Flow = Annotated[Positive, Of("flow")]


class BalanceSettings(Model):
    """What the volume balance assumes about flow line and pits."""

    dead_s: NotNegative = 8.0
    """From the bell nipple to the return gauge. Land rigs 3 to 15 s; common practice, no source."""
    storage_s: Positive = 37.0
    """Mud in the flow line as seconds of flow, until the first pumps-off has taught it. Land rigs
    20 to 75 s; common practice, no source."""
    filter_s: Positive = 60.0
    """Time constant of the filtered volume: ten time constants of waves on agitated pits, and a
    longer one gains nothing because its own lag adds to the volume."""
    settle_s: Positive = 180.0
    """After a start of the pumps or a change of flow by more than `step`: the flow line fills."""
    step: Share = 0.03
    """Change of flow-in that counts as one. Gains of return gauges move with the flow."""
    gain_s: Positive = 1800.0
    """Time constant of the return gauge's gain: shorter learns a slow influx away, longer lets
    the gauge's drift become an alarm; it is never frozen."""
    gain_slew: Positive = 2e-5
    """Greatest change of that gain a second, as a share: 0.02 % in 10 s."""
    mud_on_cuttings: NotNegative = 0.0
    """Mud that leaves with the cuttings, in volumes of rock. 0 to 1.5 in practice; 0 errs to the
    safe side: what is not booked shows as a slow loss, well below the leak."""


class WatchSettings(Model):
    """Limits of a leaky volume, the same for what comes and what goes."""

    leak: Flow = 0.10 * BBL / MINUTE
    """What is never called: below it, pits cool, foam and evaporate."""
    advice: Volume = 1.0 * BBL
    warning: Volume = 2.0 * BBL
    critical: Volume = 5.0 * BBL
    """Without a second witness; with one, the warning is critical."""
    flow_leak: Flow = 0.6 * BBL / MINUTE
    """Least excess of the return gauge that counts: what a flume can be off for minutes."""
    flow_leak_noise: Positive = 2.2
    """The leak is this many times the gauge's own noise of minute means if that is more: a poor
    paddle then leaves the call to the pits."""
    flow_volume: Volume = 1.2 * BBL
    """Volume by the return gauge alone that makes a warning, at least."""
    flow_volume_s: Positive = 240.0
    """It is this long at the gauge's own noise if that is more. With 2.2 the sum of pure noise
    gets there once in some hundred tours (Siegmund's formula for the cumulative sum)."""
    combine: Annotated[Positive, Field(le=1.0)] = 0.625
    """A warning too when the two, each as a share of its own limit, add up to 1 / this."""
    back: Share = 0.4
    """A call ends below this share of the limit for advice."""


class InfluxSettings(WatchSettings):
    """When more comes out than can be explained."""


class LossSettings(WatchSettings):
    """When less comes back than was pumped."""

    advice: Volume = 1.5 * BBL
    warning: Volume = 3.0 * BBL
    critical: Volume = 30.0 * BBL
    """Losses are a cost before they are a danger; so much is half of a usual annulus of pipe."""
    flow_volume: Volume = 1.5 * BBL
    total_share: Share = 0.05
    """Returns below this share of flow-in are none."""
    total_s: Positive = 20.0
    """For so long."""


class Detect(Model):
    """The table ``[detect]`` of the well file."""

    balance: BalanceSettings = BalanceSettings()
    influx: InfluxSettings = InfluxSettings()
    loss: LossSettings = LossSettings()
    pressure_off: PressureOffSettings = PressureOffSettings()
    bleed: BleedSettings = BleedSettings()
    annulus: AnnulusSettings = AnnulusSettings()
    shut_in: ShutInSettings = ShutInSettings()
    returns: ReturnsSettings = ReturnsSettings()
    connection: ConnectionSettings = ConnectionSettings()
    transfer: TransferSettings = TransferSettings()
    standpipe: StandpipeSettings = StandpipeSettings()
    washout: WashoutSettings = WashoutSettings()
    nozzle: NozzleSettings = NozzleSettings()
    pump_fault: PumpFaultSettings = PumpFaultSettings()
    pack_off: PackOffSettings = PackOffSettings()
    twist_off: TwistOffSettings = TwistOffSettings()
    overpull: OverpullSettings = OverpullSettings()
    hook_load_lost: HookLoadLostSettings = HookLoadLostSettings()
    stick_slip: StickSlipSettings = StickSlipSettings()
    drilling_break: DrillingBreakSettings = DrillingBreakSettings()
    temperature_rise: TemperatureSettings = TemperatureSettings()
    gas_at_surface: GasSettings = GasSettings()
    swab: SwabSettings = SwabSettings()
    sensor_fault: SensorSettings = SensorSettings()
