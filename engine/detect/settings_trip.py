"""Limits on what the hole takes, or gives back, on a trip."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from engine.config_base import Model, Of, Positive, Share
from engine.units import BBL

Volume = Annotated[Positive, Of("volume")]


class SwabSettings(Model):
    """When a trip takes less, or gives more, than the pipe explains."""

    warning: Volume = 2.0 * BBL
    """Short since the trip began: ten times what a trip tank is off by, three dry stands."""
    critical: Volume = 5.0 * BBL
    """No fill and no trip tank is off by so much."""
    slack: Volume = 0.15 * BBL
    """Of each stand, what the cumulative sum never counts: pipe and tank are known no better."""
    sum: Volume = 1.0 * BBL
    """Limit of that sum: a third of a barrel a stand is called after six stands, and pure noise of
    0.15 bbl a reading never gets there, for it does not add up."""
    band: Share = 0.3
    """A stand out of its expected fill by more than this share is out of order. Common practice."""
    running: Annotated[int, Field(strict=True, ge=2)] = 3
    """So many of them one after the other, all on one side, are advice."""
    lost: Volume = 0.7 * BBL
    """A hole that first took so much too much, and then"""
    gained: Volume = 1.0 * BBL
    """gives back so much of it or more: a warning. Counted from the lowest point, since the losses
    would hide the gain in the whole sum."""
    back: Share = 0.4
    """A call ends below this share of every limit, with the newest stand in order."""
