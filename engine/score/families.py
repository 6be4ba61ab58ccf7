"""Which calls are right for which event, how long they may take, what volume they are measured by.

Tables that a test walks; the page prints them beside the figures.
"""

from __future__ import annotations

from engine.detect.kinds import EVENT_KINDS

EARLY_S = 5.0
"""A call may come so long before the truth: its bin began before. [s]"""
EPISODE_S = 300.0
"""Calls of a kind that come within this time of the one before are the same episode. [s]"""

FAMILIES: tuple[frozenset[str], ...] = (
    frozenset(
        {"influx", "influx_at_connection", "flow_pumps_off", "swab", "out_of_hole_gain"}
    ),
    frozenset({"pressure_rise_pumps_off", "bleed_rebuild"}),
    frozenset({"loss", "total_loss"}),
    frozenset({"sensor_fault", "return_flow_not_measured"}),
    frozenset({"overpull", "take_weight"}),
)  # fmt: skip
"""Calls of one family lead to the same action, so any of them is right; every other kind stands
alone. Which of a family it was is told by the table of labels."""

USUAL_S = 1800.0
"""Within this time a call is right: half an hour, as for a kick. [s]"""
WINDOW_S: dict[str, float] = {
    "washout": 3600.0,
    "swab": 3600.0,
    "ballooning": 3600.0,
    "overpull": 3600.0,
    "temperature_rise": 3600.0,
    "gas_at_surface": 3600.0,
    "annulus_pressure": 3600.0,
}
"""The same for what grows slowly, or shows later than it begins. [s]"""
LAG_S: dict[str, float] = {
    "temperature_rise": 1800.0,
    "gas_at_surface": 1800.0,
    "influx_at_connection": 300.0,
}
"""What begins at the bit and is seen at surface ends there so much later; what came at a
connection is judged when the pumps run and the pits have settled. [s]"""

VOLUMES: dict[str, str] = dict.fromkeys(FAMILIES[0], "influx_volume") | {
    "loss": "loss_volume",
    "total_loss": "loss_volume",
    "ballooning": "breath_volume",
    "undeclared_transfer": "transfer_volume",
}
"""Column of the truth whose change since the start tells how much had come or gone. [m3]"""

DECOYS: dict[str, str] = {"breathing": "ballooning", "soft-rock": "drilling_break"}
"""A twin may hold something that is an event of its own: what calling it by this name is right."""
OWN_FAULTS = frozenset({"sensor_fault", "return_flow_not_measured"})
"""Calls that are right where a class of noise has sticking sensors and gaps of its own."""
OWN_FAULT_S = 180.0
"""So long after such a spell a call of it still is. [s]"""


def family(kind: str) -> frozenset[str]:
    """Return every kind whose call is right for an event of `kind`."""
    return next((f for f in FAMILIES if kind in f), frozenset({kind}))


def window(kind: str) -> float:
    """Return how long after the start a call of it counts. [s]"""
    return WINDOW_S.get(kind, USUAL_S)


assert set(WINDOW_S) | set(LAG_S) | set(VOLUMES) | set(DECOYS.values()) <= set(EVENT_KINDS)
