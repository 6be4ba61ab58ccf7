"""What a person enters about the drilling line, the crown device and the pumps, folded.

References
----------
.. [1] 30 CFR 250.404: the crown block device is checked at least weekly and after each slip of
   the drilling line. API RP 54 (from memory): and at the start of each tour.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from math import isfinite

from engine.commands import Command, MarkPump, SetLines, SlipLine
from engine.config import WellConfig
from engine.interfaces import JournalLine
from engine.records.journal import iso, read
from engine.units import HOUR

_NAMES = ('"slip_line"', '"crown_check"', '"mark_pump"')
WEEK = 168 * HOUR
"""A check holds no longer [1]_. [s]"""


def refusal(command: Command, config: WellConfig) -> dict[str, str]:
    """Return ``{"refused": why}`` for a slip or a mark that cannot be, else an empty dict."""
    if isinstance(command, SlipLine):
        length, cut = command.length, command.cut
        if not (isfinite(length) and isfinite(cut) and length >= 0 and cut >= 0):
            return {"refused": f"slipped {length:g} m, cut {cut:g} m: give lengths, 0 or more"}
        if length == 0 and cut == 0:
            return {"refused": "nothing was slipped and nothing cut: give a length above 0"}
    if isinstance(command, SetLines) and (command.lines % 2 or not 2 <= command.lines <= 16):
        return {"refused": f"{command.lines} lines: give an even number, 2 to 16"}
    if isinstance(command, MarkPump):
        names = [pump.name for pump in config.pumps]
        if command.pump not in names:
            return {"refused": f"no pump {command.pump!r}; there are {', '.join(names)}"}
        if not command.what.strip():
            return {"refused": "say what was renewed, such as liner"}
    return {}


@dataclass(frozen=True, slots=True)
class Entered:
    """Something that a person entered: when, and who."""

    at: float
    """[s since 1970-01-01 UTC]"""
    who: str


@dataclass(frozen=True, slots=True)
class Slip(Entered):
    """One slip of the line."""

    length: float
    """[m]"""
    cut: float
    """[m]"""


@dataclass(frozen=True, slots=True)
class Due:
    """The crown check is due: since when, and why."""

    since: float
    """[s since 1970-01-01 UTC]"""
    reason: str


@dataclass(frozen=True, slots=True)
class Upkeep:
    """All that the journal says of line, crown and pumps up to its newest line taken."""

    seq: int = 0
    """Number of the newest line taken. [-]"""
    began: float | None = None
    """Time of the first line. [s since 1970-01-01 UTC]"""
    check: Entered | None = None
    """The newest signed crown check."""
    slip: Slip | None = None
    """The newest slip of the line."""
    cut: Slip | None = None
    """The newest one with a cut."""
    marks: Mapping[tuple[str, str], Entered] = field(default_factory=dict)
    """Pump and what was renewed to when."""

    def take(self, lines: Sequence[JournalLine]) -> Upkeep:
        """Return what is known after `lines`, later than all before."""
        if not lines:
            return self
        began = lines[0].at if self.began is None else self.began
        out = replace(self, seq=lines[-1].seq, began=began)
        for line in lines:  # few of them are of interest, and reading one takes long
            if any(name in line.text for name in _NAMES):
                out = out._entered(line)
        return out

    def _entered(self, line: JournalLine) -> Upkeep:
        fields = read(line)
        if fields["kind"] != "command" or fields["event"] != "given" or "refused" in fields:
            return self
        who = str(fields.get("who") or "someone")
        name = fields["id"]
        if name == "crown_check":
            return replace(self, check=Entered(line.at, who))
        if name == "mark_pump":
            key = str(fields["pump"]), str(fields["what"])
            return replace(self, marks={**self.marks, key: Entered(line.at, who)})
        if name == "slip_line":
            slip = Slip(line.at, who, float(fields["length_m"]), float(fields["cut_m"]))
            return replace(self, slip=slip, cut=slip if slip.cut > 0 else self.cut)
        return self

    def crown_due(self, now: float, tour: float | None) -> Due | None:
        """Return why the crown check is due at `now`; None if it is signed and holds.

        Parameters
        ----------
        now : float
            [s since 1970-01-01 UTC]
        tour : float or None
            Start of the tour at `now`; see `engine.records.tours.tour_start`. [s] None: no
            tour is on.

        Returns
        -------
        Due or None
            The first of the reasons that hold: a slip of the line, the start of the tour, a
            week, never signed. Only a `CrownCheck` after all of them ends it. None also before
            the first line of the journal.
        """
        if self.began is None:
            return None
        signed = None if self.check is None else self.check.at
        reasons = []
        if self.slip is not None:
            reasons.append(Due(self.slip.at, f"the line was slipped at {_clock(self.slip.at)}"))
        if tour is not None:
            reasons.append(Due(tour, f"the tour began at {_clock(tour)}"))
        if signed is not None:
            reasons.append(Due(signed + WEEK, f"a week since the check of {_clock(signed)}"))
        else:
            reasons.append(Due(self.began, "no check has been signed in this recording"))
        last = float("-inf") if signed is None else signed
        return next((due for due in reasons if last < due.since <= now), None)


def _clock(at: float) -> str:
    text = iso(at)
    return f"{text[:10]} {text[11:16]} UTC"
