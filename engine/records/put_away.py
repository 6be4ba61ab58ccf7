"""How many alarms somebody has put away: what a header must never hide (R-10, R-13)."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from engine.alarms.model import State
from engine.interfaces import JournalLine
from engine.records.journal import read


@dataclass(frozen=True, slots=True)
class PutAway:
    """Alarms that do not sound because a person said so, by id."""

    out_of_service: tuple[str, ...] = ()
    shelved: tuple[str, ...] = ()

    @property
    def words(self) -> str:
        """For a header: ``OOS 2 SHELVED 1``; empty if there are none."""
        parts = (("OOS", self.out_of_service), ("SHELVED", self.shelved))
        return " ".join(f"{word} {len(ids)}" for word, ids in parts if ids)


def put_away(lines: Iterable[JournalLine]) -> PutAway:
    """Return which alarms are out of service or shelved after the newest of `lines`."""
    now: dict[str, str] = {}
    for line in lines:
        f = read(line)
        if f["kind"] == "alarm":
            now[f["id"]] = f["after"]
    return PutAway(
        tuple(name for name, after in now.items() if after == State.OUT_OF_SERVICE),
        tuple(name for name, after in now.items() if after == State.SHELVED),
    )
