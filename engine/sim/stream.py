"""Samples as the bytes a rig would send: WITS level 0, metric, one packet a second.

References
----------
.. [1] API PUBL 3855, WITS version 1.1, 1991: record 1, its items and its metric units.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import UTC, datetime

import numpy as np

from engine.commands import DeclareTransfer, Issued
from engine.sim.rig import Chunk, Rig
from engine.sim.tours import declarations
from engine.states import RigState
from engine.units import unit
from engine.wits_encode import encode_packet

ITEMS: tuple[tuple[str, str, str, int], ...] = (
    ("0108", "reported_bit_depth", "m", 2),
    ("0110", "reported_hole_depth", "m", 2),
    ("0112", "block_position", "m", 2),
    ("0114", "hook_load", "kdaN", 2),
    ("0118", "torque", "kNm", 2),
    ("0120", "rotary", "rpm", 0),
    ("0121", "standpipe_pressure", "kPa", 0),
    ("0122", "annulus_pressure", "kPa", 0),
    ("0123", "pump_1_rate", "spm", 0),
    ("0124", "pump_2_rate", "spm", 0),
    ("0125", "pump_3_rate", "spm", 0),
    ("0126", "pit_volume", "m3", 2),
    ("0129", "flow_out", "l_min", 0),
    ("0130", "flow_in_measured", "l_min", 0),
    ("0131", "density_out", "kg_m3", 0),
    ("0132", "density_in", "kg_m3", 0),
    ("0133", "temperature_out", "degC", 1),
    ("0134", "temperature_in", "degC", 1),
    ("0137", "pump_strokes", "count", 0),
    ("0140", "gas", "percent", 2),
    ("0141", "trip_tank_volume", "m3", 2),
)
"""Item code, channel, unit as sent and decimals; the spare 0141 is the trip tank."""


def wits_bytes(chunk: Chunk) -> Iterator[tuple[float, bytes]]:
    """Yield (time [s since 1970-01-01 UTC], packet); a channel without a value is left out."""
    columns = [
        (code, unit(unit_id), decimals, chunk.sensors[name])
        for code, name, unit_id, decimals in ITEMS
        if name in chunk.sensors
    ]
    texts = [
        (code, [f"{x:.{decimals}f}" for x in (values - u.offset) / u.factor])
        for code, u, decimals, values in columns
    ]
    for i in np.flatnonzero(chunk.sent):
        when = datetime.fromtimestamp(float(chunk.t[i]), UTC)
        items = [("0105", f"{when:%y%m%d}"), ("0106", f"{when:%H%M%S}")]
        items.append(("0107", f"{chunk.sensors['reported_activity'][i]:.0f}"))
        items += [(code, text[i]) for code, text in texts if text[i] != "nan"]
        data = encode_packet(items)
        at = float(chunk.at[i])
        yield at, data
        if chunk.doubled[i]:
            yield at, data


CREW = "synthetic crew"
"""Who declares what comes into the pits of the synthetic rig, or leaves them."""
SPARE_S = 120.0
"""A declaration lasts so long after its addition should be done. [s]"""


def spoken(rig: Rig, after: float, until: float) -> list[Issued]:
    """Return what the crew declares after the one and up to the other time. [s from the start]

    Its additions can be told only once the rig has gone on beyond them.
    """
    said = [
        (
            one.at,
            DeclareTransfer(
                "new mud to active", one.volume, one.rate, (one.end - one.at + SPARE_S) / 60
            ),
        )
        for one in rig.announced
    ]
    due = [one for one in (*declarations(rig.scenario), *said) if after < one[0] <= until]
    due.sort(key=lambda one: one[0])
    return [Issued(rig.start + at, what, CREW, "synthetic rig") for at, what in due]


def truth_json(rig: Rig, chunks: Sequence[Chunk]) -> dict[str, object]:
    """Return the truth of a run as plain values for a file beside its stream.

    ``columns`` are per sample, SI, named with their unit; all times elsewhere are seconds from
    ``start``.
    """
    names = {
        "bit_depth": "bit_depth_m",
        "hole_depth": "hole_depth_m",
        "weight_on_bit": "weight_on_bit_N",
        "rop": "rop_m_s",
        "influx_volume": "influx_volume_m3",
        "loss_volume": "loss_volume_m3",
        "lagged_depth": "lagged_depth_m",
        "influx_rate": "influx_rate_m3_s",
        "loss_rate": "loss_rate_m3_s",
        "breath_volume": "breath_volume_m3",
        "transfer_volume": "transfer_volume_m3",
        "flow_in": "flow_in_m3_s",
        "flow_out": "flow_out_m3_s",
        "pit_volume": "pit_volume_m3",
    }
    columns: dict[str, list[object]] = {"second": [], "rig_state": [], "in_slips": []}
    columns |= {label: [] for label in names.values()}
    for chunk in chunks:
        columns["second"] += [
            int(s) if s.is_integer() else round(float(s), 3) for s in chunk.second
        ]
        columns["rig_state"] += [RigState(int(s)).id for s in chunk.truth["rig_state"]]
        columns["in_slips"] += [bool(s) for s in chunk.truth["in_slips"]]
        for name, label in names.items():
            columns[label] += [round(float(x), 6) for x in chunk.truth[name]]
    return {
        "scenario": rig.scenario.name,
        "text": rig.scenario.text,
        "seed": rig.seed,
        "start": datetime.fromtimestamp(rig.start, UTC).isoformat(),
        "noise": rig.noise,
        "declared": [
            {"at": at, "what": d.what, "volume_m3": d.volume, "flow_m3_s": d.flow}
            for at, d in declarations(rig.scenario)
        ],
        "columns": columns,
        "events": [
            {"kind": e.kind, "start": e.start, "end": e.end}
            | ({"channel": e.channel} if e.channel else {})
            | ({"event": e.event} if e.event else {})
            for e in rig.events
        ],
        "connections": [
            {
                "slips_in": round(c.slips_in, 3),
                "slips_out": None if c.slips_out is None else round(c.slips_out, 3),
                "bit_depth_m": round(c.bit_depth, 3),
                "hole_depth_m": round(c.hole_depth, 3),
            }
            for c in rig.connections
        ],
    }
