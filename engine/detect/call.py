"""What a detector says: how grave it is, whether it can see, and what stands behind it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any, ClassVar, Protocol

import numpy as np
import numpy.typing as npt

from engine.block import FloatArray, Table
from engine.detect.bins import Bins
from engine.detect.kinds import Severity
from engine.ops.primitives import IntArray
from engine.records.journal import Entry, iso

Codes = npt.NDArray[np.int8]

SEES = 0
NOT_ON_WATCH = -1
"""There is nothing to watch now: the rig does something else."""


def _nothing(_: int) -> Mapping[str, Any]:
    return {}


@dataclass(frozen=True, slots=True, eq=False)
class Verdict:
    """What one detector says at m moments of a block; between them it is held."""

    row: IntArray
    """Row of the block at which each becomes known, rising, shape (m,). [-]"""
    severity: Codes
    """`engine.detect.kinds.Severity`, shape (m,). [-]"""
    sight: Codes
    """`SEES`, `NOT_ON_WATCH`, or k > 0: blind for the k-th of `blind_reasons`, shape (m,). [-]"""
    blind_reasons: tuple[str, ...] = ()
    details: Callable[[int], Mapping[str, Any]] = field(default=_nothing)
    """JSON values behind moment i: ``volume_m3``, ``witnesses`` (a list of words) and the
    numbers, each name with its unit; asked for only where something changes."""
    edition: IntArray | None = None
    """Where it changes while the severity stays, the details are told anew, shape (m,). [-]"""


@dataclass(frozen=True, slots=True)
class Declared:
    """Mud that a person said would come or go, while it lasts."""

    at: float
    """When it was declared. [s since 1970-01-01 UTC]"""
    what: str
    """From or to where: ``reserve to active``."""
    volume: float
    """Into the active pits; negative: out of them. [m3]"""
    rate: float
    """[m3/s], greater than 0"""
    until: float
    """When it expires. [s since 1970-01-01 UTC]"""


JOBS = ("cementing", "pressure_test", "returns_bypassed", "inflow_test")
"""Work that a person may declare: it moves pressures or returns on purpose. An inflow test only
connects gauges that should agree; every detector stays on watch. [-]"""


@dataclass(frozen=True, slots=True)
class Job:
    """Work that a person said is going on, while it lasts."""

    at: float
    """When it was declared. [s since 1970-01-01 UTC]"""
    what: str
    """One of `JOBS`."""
    until: float
    """When it is over. [s since 1970-01-01 UTC]"""


@dataclass(frozen=True, slots=True, eq=False)
class Seen:
    """One block as the detectors see it."""

    rows: Table
    """Every channel, shape (n,). [SI]"""
    bins: Bins
    balance: Mapping[str, FloatArray]
    """What `engine.detect.balance` makes of the bins, shape (m,) each. [SI]"""
    declared: tuple[Declared, ...] = ()
    jobs: tuple[Job, ...] = ()


class Detector(Protocol):
    """One rule, told in words in its docstring, with a state that any split leaves the same."""

    kinds: ClassVar[tuple[str, ...]]
    """Of `engine.detect.kinds.EVENT_KINDS`: what it can call. [-]"""
    rule: ClassVar[str]
    """The rule in one or two sentences, for the page of the detectors."""

    def process(self, seen: Seen) -> Mapping[str, Verdict]:
        """Return a verdict for each of `kinds`."""
        ...


def call_entry(
    kind: str, at: float, severity: int, before: int, since: float, evidence: Mapping[str, Any]
) -> Entry:
    """Build the journal line of a call that began, changed or ended.

    Parameters
    ----------
    kind : str
        What is called.
    at : float
        When. [s since 1970-01-01 UTC]
    severity, before : int
        `Severity` now and until now; an end is told with the one it had.
    since : float
        When the call began. [s since 1970-01-01 UTC]
    evidence : mapping
        JSON values.
    """
    event = Severity(severity).id if severity else "end"
    named = Severity(severity or before).id
    said = {"severity": named, "since": iso(since), "evidence": dict(evidence)}
    return Entry(at, "event", kind, event, said)


def blind(bins: Bins, *needs: str) -> tuple[Codes, tuple[str, ...]]:
    """Return the sight of a detector that cannot do without `needs`, and its reasons.

    Returns
    -------
    sight : ndarray of int8
        0 where all have a value, else the place (from 1) of the first that has none, shape (m,).
    reasons : tuple of str
        ``no pit_volume`` and so on.
    """
    sight = np.zeros(len(bins), np.int8)
    for k in range(len(needs), 0, -1):
        sight[np.isnan(bins[needs[k - 1]])] = k
    return sight, tuple(f"no {name}" for name in needs)


def number(value: float) -> float | None:
    """Return `value` for a journal: rounded, None for what is not a number."""
    return round(float(value), 6) if np.isfinite(value) else None
