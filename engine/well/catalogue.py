"""Every calculation a person can ask for by name."""

from __future__ import annotations

from difflib import get_close_matches

from engine.errors import InputError
from engine.well import (
    active_volume,
    bit_hydraulics,
    capacities,
    connection_stats,
    cuttings,
    drum,
    ecd,
    efficiency,
    fill_card,
    friction,
    hoist_calculations,
    hydraulics,
    kill_calculations,
    lag_times,
    line_calculations,
    pressure_law,
    pumps,
    rate_calculations,
    rheology,
    swab_surge,
    tally,
    travel,
    trip,
    trip_sheet,
    warm_brine,
)
from engine.well.calculation import Calculation

_ALL: tuple[Calculation, ...] = (
    *capacities.CALCULATIONS,
    *active_volume.CALCULATIONS,
    *pumps.CALCULATIONS,
    *lag_times.CALCULATIONS,
    *cuttings.CALCULATIONS,
    *tally.CALCULATIONS,
    *trip.CALCULATIONS,
    *trip_sheet.CALCULATIONS,
    *fill_card.CALCULATIONS,
    *warm_brine.CALCULATIONS,
    *rheology.CALCULATIONS,
    *friction.CALCULATIONS,
    *bit_hydraulics.CALCULATIONS,
    *hydraulics.CALCULATIONS,
    *pressure_law.CALCULATIONS,
    *ecd.CALCULATIONS,
    *swab_surge.CALCULATIONS,
    *kill_calculations.CALCULATIONS,
    *rate_calculations.CALCULATIONS,
    *hoist_calculations.CALCULATIONS,
    *drum.CALCULATIONS,
    *travel.CALCULATIONS,
    *line_calculations.CALCULATIONS,
    *efficiency.CALCULATIONS,
    *connection_stats.CALCULATIONS,
)
CATALOGUE: dict[str, Calculation] = {c.name: c for c in _ALL}
"""Every calculation by name, those on one subject together."""


def calculation(name: str) -> Calculation:
    """Return the calculation called `name`.

    Raises
    ------
    InputError
        If there is none; it names those that hold the word or are spelt nearly so.
    """
    found = CATALOGUE.get(name)
    if found is None:
        near = [n for n in CATALOGUE if name in n][:3] or get_close_matches(name, CATALOGUE, 3, 0.5)
        hint = f"; did you mean {' or '.join(near)}?" if near else ""
        raise InputError(f"no calculation {name!r}{hint} (calc --list has all)")
    return found
