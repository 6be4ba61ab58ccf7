"""What a person may tell the watch about a test or a drill; part of `engine.commands`."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class StartTrial:
    """A test or drill begins now; its criteria are written down before it."""

    trial: str
    """One of `engine.trials.kinds.TRIALS`: ``flow-check``."""
    criteria: Mapping[str, float]
    """By name, as `engine.trials.criteria.Criterion` has them. [SI]"""
    watch: str = ""
    """Ids of the channels that must be read, with blanks between; empty: the usual ones."""
    what: str = ""
    """What is tested, and from where: ``upper pipe rams, remote panel``."""


@dataclass(frozen=True, slots=True)
class MarkTrial:
    """A moment of a drill that no gauge shows."""

    moment: str
    """One of `engine.trials.drill.MOMENTS`: ``detected`` or ``acted``."""


@dataclass(frozen=True, slots=True)
class EndTrial:
    """The test or drill that runs is over; the rule says what came of it."""

    note: str = ""


@dataclass(frozen=True, slots=True)
class OverrideTrial:
    """The newest verdict is accepted although its criteria were not met; it stays on record."""

    reason: str
    second: str
    """Who else answers for it: not who gives the command."""


TrialCommand = StartTrial | MarkTrial | EndTrial | OverrideTrial
