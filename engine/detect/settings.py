"""Thresholds of the volume balance and its detectors, each with the reason for its default.

A well file may change every one of them under ``[detect.<name>]``.
"""

from __future__ import annotations

from engine.config_base import Model, NotNegative, Positive, Share
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
from engine.detect.settings_volume import (
    FillSettings,
    InfluxSettings,
    LossSettings,
    OutOfHoleSettings,
)


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


class Detect(Model):
    """The table ``[detect]`` of the well file."""

    balance: BalanceSettings = BalanceSettings()
    influx: InfluxSettings = InfluxSettings()
    loss: LossSettings = LossSettings()
    out_of_hole: OutOfHoleSettings = OutOfHoleSettings()
    annulus_fill: FillSettings = FillSettings()
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
