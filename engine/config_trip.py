"""How the hole is filled on a trip; import from `engine.config`."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field, model_validator

from engine.config_base import Count, Flag, Model, NotNegative, Number, Of, TableError

MOST_PROGRAMME = 5
"""No programme may leave more stands without a fill. [-] 30 CFR 250.456(c)"""


class Trip(Model):
    """The table ``[trip]`` of the well file: what is so until a person says otherwise."""

    wet: Flag = False
    """The bore's mud leaves with the pipe."""
    recovered_share: Annotated[Number, Field(ge=0, le=1)] = 0.0
    """Of a wet bore's mud, what comes back to the trip tank (a mud bucket). [-]"""
    programme_stands: Annotated[Count, Field(ge=1, le=MOST_PROGRAMME)] | None = None
    """The hole is filled after so many stands; None: as each stand is pulled. [-]"""
    float_holds: Flag = False
    """Running in, a float keeps the bore empty, and it is not filled from the trip tank."""
    trip_tank_low: Annotated[NotNegative, Of("volume")] = 0.0
    """Below this the trip tank's pump draws air. [m3]"""
    trip_tank_high: Annotated[NotNegative, Of("volume")] | None = None
    """Above this it runs over; None: it is never so full. [m3]"""

    @model_validator(mode="after")
    def _possible(self) -> Trip:
        problems = []
        if self.recovered_share and not self.wet:
            problems.append(("recovered_share", "of a dry bore there is nothing to recover"))
        if self.trip_tank_high is not None and self.trip_tank_high <= self.trip_tank_low:
            problems.append(("trip_tank_high", "must lie above trip_tank_low"))
        if problems:
            raise TableError(problems)
        return self
