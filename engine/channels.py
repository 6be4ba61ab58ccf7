"""Every channel by id: what it is called, what it measures, how far its sensor can be believed."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from engine.errors import InputError
from engine.units import unit


class Kind(Enum):
    """Where a channel's samples come from."""

    RAW = "raw"
    """Measured by a sensor and sent by a feed."""
    REPORTED = "reported"
    """Worked out by the sender; shown beside our own value, never in its place."""
    DERIVED = "derived"
    """Worked out here."""


@dataclass(frozen=True, slots=True)
class Channel:
    """One channel; ``low`` and ``high`` are the measuring range in SI."""

    id: str
    label: str
    short: str
    """At most nine characters, for a narrow screen."""
    quantity: str
    export_unit: str
    """Unit of the column in an export; the column is ``{id}_{unit}`` or the bare id."""
    kind: Kind
    low: float = float("-inf")
    high: float = float("inf")
    can_freeze: bool = False
    """A live sensor of this kind always shows some noise, so a dead-flat line is suspect."""

    @property
    def column(self) -> str:
        """Column name in an export."""
        bare = self.export_unit in {"none", "count"}
        return self.id if bare else f"{self.id}_{self.export_unit}"


def _raw(
    id_: str, label: str, short: str, unit_id: str, low: float, high: float, *, freeze: bool = False
) -> Channel:
    u = unit(unit_id)
    lo, hi = u.to_si(low), u.to_si(high)
    return Channel(id_, label, short, u.quantity, unit_id, Kind.RAW, lo, hi, freeze)


def _other(id_: str, label: str, short: str, unit_id: str, kind: Kind) -> Channel:
    return Channel(id_, label, short, unit(unit_id).quantity, unit_id, kind)


# Ranges: common practice, no source; wide enough for any land rig, a well file may narrow them.
_ALL = (
    _raw("block_position", "Block position", "BLOCK", "m", -2, 60),
    _raw("hook_load", "Hook load", "HOOK", "kN", -50, 8000, freeze=True),
    _raw("standpipe_pressure", "Standpipe pressure", "SPP", "kPa", -500, 60000, freeze=True),
    _raw("annulus_pressure", "Annulus pressure", "ANNULUS", "kPa", -500, 100000),
    _raw("flow_out", "Flow out", "FLOW OUT", "l_min", -100, 15000, freeze=True),
    _raw("flow_out_share", "Flow out, share of full", "FLOW OUT%", "percent", -5, 200),
    _raw("flow_in_measured", "Flow in, metered", "METER IN", "l_min", -100, 15000),
    _raw("pit_volume", "Active pit volume", "PITS", "m3", -1, 2000, freeze=True),
    _raw("trip_tank_volume", "Trip tank volume", "TRIP TANK", "m3", -0.5, 30),
    _raw("pump_1_rate", "Pump 1 rate", "PUMP 1", "spm", -1, 300),
    _raw("pump_2_rate", "Pump 2 rate", "PUMP 2", "spm", -1, 300),
    _raw("pump_3_rate", "Pump 3 rate", "PUMP 3", "spm", -1, 300),
    _raw("pump_strokes", "Pump strokes, counter", "STROKES", "count", -1, 1e9),
    _raw("rotary", "Rotary speed", "RPM", "rpm", -400, 400),
    _raw("torque", "Rotary torque", "TORQUE", "kNm", -20, 200),
    _raw("density_in", "Mud density in", "DENS IN", "kg_m3", 0, 3000),
    _raw("density_out", "Mud density out", "DENS OUT", "kg_m3", 0, 3000),
    _raw("temperature_in", "Mud temperature in", "TEMP IN", "degC", -30, 200),
    _raw("temperature_out", "Mud temperature out", "TEMP OUT", "degC", -30, 200),
    _raw("gas", "Gas in mud", "GAS", "percent", -1, 101),
    _raw("kill_line_pressure", "Kill-line pressure", "KILL LINE", "kPa", -500, 100000),
    _raw("annulus_b_pressure", "Outer annulus pressure", "ANNULUS B", "kPa", -500, 100000),
    _raw("reserve_volume", "Tanks outside the active set", "RESERVE", "m3", -1, 5000),
    _other("reported_bit_depth", "Bit depth, as sent", "BIT SENT", "m", Kind.REPORTED),
    _other("reported_hole_depth", "Hole depth, as sent", "HOLE SENT", "m", Kind.REPORTED),
    _other("reported_weight_on_bit", "Weight on bit, as sent", "WOB SENT", "kN", Kind.REPORTED),
    _other("reported_rop", "Rate of penetration, as sent", "ROP SENT", "m_h", Kind.REPORTED),
    _other("reported_pit_gain", "Pit change, as sent", "PIT SENT", "m3", Kind.REPORTED),
    _other("reported_activity", "Activity code, as sent", "ACT SENT", "none", Kind.REPORTED),
    _other("bit_depth", "Bit depth", "BIT", "m", Kind.DERIVED),
    _other("hole_depth", "Hole depth", "HOLE", "m", Kind.DERIVED),
    _other("weight_on_bit", "Weight on bit", "WOB", "kN", Kind.DERIVED),
    _other("rop", "Rate of penetration", "ROP", "m_h", Kind.DERIVED),
    _other("in_slips", "In slips", "SLIPS", "none", Kind.DERIVED),
    _other("slips_since", "Slips changed at", "SLIPS AT", "none", Kind.DERIVED),
    _other("on_bottom", "On bottom", "ON BTM", "none", Kind.DERIVED),
    _other("rig_state", "Rig state", "STATE", "none", Kind.DERIVED),
    _other("rig_state_since", "Rig state began at", "STATE AT", "none", Kind.DERIVED),
    _other("flow_in", "Flow in", "FLOW IN", "l_min", Kind.DERIVED),
    _other("flow_difference", "Flow out minus in", "OUT-IN", "l_min", Kind.DERIVED),
    _other("pit_gain", "Pit gain since zero", "PIT GAIN", "m3", Kind.DERIVED),
    _other("tare", "Off-bottom hook load", "TARE", "kN", Kind.DERIVED),
    _other("off_bottom_torque", "Torque off bottom", "TQ OFF", "kNm", Kind.DERIVED),
    _other("stand_count", "Stands made up", "STANDS", "count", Kind.DERIVED),
    _other("stand_remaining", "Stand left to drill", "STAND LFT", "m", Kind.DERIVED),
    _other("stand_length", "Last stand, measured", "STAND LEN", "m", Kind.DERIVED),
    _other("block_speed", "Block speed, up positive", "BLOCK V", "m_s", Kind.DERIVED),
    _other("strokes", "Strokes since the start", "STROKES", "count", Kind.DERIVED),
    _other("bit_strokes", "Strokes surface to bit", "TO BIT", "count", Kind.DERIVED),
    _other("lag_strokes", "Strokes bit to surface", "LAG STK", "count", Kind.DERIVED),
    _other("lag_time", "Lag at this rate", "LAG TIME", "min", Kind.DERIVED),
    _other("lagged_depth", "Depth now at the shakers", "LAG DEPTH", "m", Kind.DERIVED),
    _other("expected_pressure", "Standpipe pressure, expected", "SPP EXP", "kPa", Kind.DERIVED),
    _other("pressure_residual", "Pressure above expected", "SPP DIFF", "kPa", Kind.DERIVED),
    _other("ecd_bit", "ECD at the bit", "ECD BIT", "kg_m3", Kind.DERIVED),
    _other("ecd_shoe", "ECD at the shoe", "ECD SHOE", "kg_m3", Kind.DERIVED),
    _other("bit_pressure_drop", "Pressure drop at the bit", "BIT DROP", "kPa", Kind.DERIVED),
    _other("bit_power", "Hydraulic power at the bit", "BIT POWER", "kW", Kind.DERIVED),
    _other("specific_energy", "Mechanical specific energy", "MSE", "MPa", Kind.DERIVED),
    _other("d_exponent", "d-exponent", "D-EXP", "none", Kind.DERIVED),
    _other("corrected_d_exponent", "d-exponent, corrected", "DC-EXP", "none", Kind.DERIVED),
    _other("torque_per_weight", "Torque per weight on bit", "TQ/WOB", "m", Kind.DERIVED),
    _other("expected_hook_load", "Hook load, expected", "HOOK EXP", "kN", Kind.DERIVED),
    _other("overpull", "Hook load above expected", "OVERPULL", "kN", Kind.DERIVED),
    _other("pick_up_load", "Pick-up weight, last stand", "PICK UP", "kN", Kind.DERIVED),
    _other("slack_off_load", "Slack-off weight, last stand", "SLACK OFF", "kN", Kind.DERIVED),
    _other("rotating_load", "Rotating weight, last stand", "ROTATING", "kN", Kind.DERIVED),
    _other("line_work", "Drilling-line work", "LINE WORK", "tkm", Kind.DERIVED),
    _other("crown_time", "Time to the crown limit", "TO CROWN", "s", Kind.DERIVED),
    _other("floor_time", "Time to the floor limit", "TO FLOOR", "s", Kind.DERIVED),
    _other("trip_fill_expected", "Trip fill, expected", "FILL EXP", "m3", Kind.DERIVED),
    _other("trip_fill_actual", "Trip fill, measured", "FILL ACT", "m3", Kind.DERIVED),
    _other("trip_fill_difference", "Trip fill, short of expected", "FILL DIFF", "m3", Kind.DERIVED),
    _other("overpull_margin", "Hook load left to the limit", "PULL LEFT", "kN", Kind.DERIVED),
    _other("stopping_distance", "Stopping distance of the block", "STOP DIST", "m", Kind.DERIVED),
    _other("unexplained_volume", "Volume that nothing explains", "UNEXPL", "m3", Kind.DERIVED),
    _other("unexplained_total", "The same, never re-based", "UNEXPL T", "m3", Kind.DERIVED),
    _other("explained_volume", "Volume change explained", "EXPLAINED", "m3", Kind.DERIVED),
    _other("flow_out_expected", "Flow out, expected", "OUT EXP", "l_min", Kind.DERIVED),
    _other("advised_block_speed", "Block speed, advised", "ADVISED V", "m_s", Kind.DERIVED),
    _other("trip_fill_overdue", "Stands unfilled, of those due", "FILL DUE", "none", Kind.DERIVED),
    _other("trip_tank_unusable", "Trip without a trip tank", "NO TANK", "none", Kind.DERIVED),
)
CHANNELS: dict[str, Channel] = {channel.id: channel for channel in _ALL}
"""Every channel by id, in export order within its kind."""

RAW = tuple(c.id for c in _ALL if c.kind is not Kind.DERIVED)
"""Ids that a feed may fill."""
DERIVED = tuple(c.id for c in _ALL if c.kind is Kind.DERIVED)
"""Ids that the engine works out."""


def channel(channel_id: str) -> Channel:
    """Return the channel called `channel_id`; `InputError` names the nearest one if absent."""
    found = CHANNELS.get(channel_id)
    if found is None:
        raise InputError(no_channel(channel_id))
    return found


def no_channel(channel_id: str) -> str:
    """Word the complaint about an unknown channel, with the nearest known one."""
    from difflib import get_close_matches

    near = get_close_matches(channel_id, CHANNELS, n=1)
    hint = f"; did you mean {near[0]!r}?" if near else ""
    return f"no channel {channel_id!r}{hint}"
