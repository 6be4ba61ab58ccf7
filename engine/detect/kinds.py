"""What the detectors can call, and how grave a call can be."""

from __future__ import annotations

from enum import IntEnum


class Severity(IntEnum):
    """How grave a call is. The lower-case name is what journals and reports print."""

    NONE = 0
    ADVICE = 1
    """Worth a look; no alarm."""
    WARNING = 2
    CRITICAL = 3

    @property
    def id(self) -> str:
        """Name as printed in journals and reports."""
        return self.name.lower()


EVENT_KINDS: tuple[str, ...] = (
    "influx",
    "influx_at_connection",
    "flow_pumps_off",
    "pressure_rise_pumps_off",
    "bleed_rebuild",
    "swab",
    "loss",
    "total_loss",
    "washout",
    "nozzle_plugged",
    "nozzle_lost",
    "twist_off",
    "pack_off",
    "overpull",
    "take_weight",
    "hook_load_lost",
    "stick_slip",
    "drilling_break",
    "pump_fault",
    "temperature_rise",
    "annulus_pressure",
    "return_flow_not_measured",
    "sensor_fault",
    "paired_pressure_mismatch",
    "undeclared_transfer",
    "ballooning",
    "out_of_hole_gain",
    "gas_at_surface",
    "bottoms_up_due",
    "shut_in_pressure_fall",
    "annulus_fill_stopped",
)
"""Every kind of call."""


def call_channel(kind: str) -> str:
    """Return the channel an alarm reads for calls of `kind`: ``call_influx``.

    Its samples are a `Severity`, NaN with the reason in the quality where the detector is blind.
    It is worked out with the rows and never recorded: the journal has the calls.
    """
    return f"call_{kind}"


def kind_of_call(channel_id: str) -> str:
    """Return the kind that `call_channel` made a channel of."""
    return channel_id.removeprefix("call_")


TEST_LIMIT = "test_limit"
"""A criterion of a test or drill is passed: no detector's call, but an alarm can name it."""
COPY_LATE = "second_copy"
"""The second copy of the recording is late: nothing of the well, but an alarm can name it."""
CALL_CHANNELS: tuple[str, ...] = tuple(
    call_channel(kind) for kind in (*EVENT_KINDS, TEST_LIMIT, COPY_LATE)
)
"""What an alarm may name as its channel, besides those of `engine.channels`."""
