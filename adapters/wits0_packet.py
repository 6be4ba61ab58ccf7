"""One WITS level 0 packet while it is being read."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from adapters.wits0_grammar import read_date, read_time
from engine.events import Frame


@dataclass(slots=True)
class Packet:
    """What has been read since the opening mark."""

    values: dict[str, float] = field(default_factory=dict)
    missing: dict[str, str] = field(default_factory=dict)
    text: dict[str, str] = field(default_factory=dict)
    seen: set[str] = field(default_factory=set)
    """Items that were delivered, with a value or as missing; not the rejected ones."""

    def put(
        self,
        item: str,
        number: float | None = None,
        *,
        missing: str | None = None,
        text: str | None = None,
    ) -> bool:
        """Put one item in its place; the later of two counts. Return whether it came before."""
        again = item in self.seen
        if again:
            self.values.pop(item, None)
            self.text.pop(item, None)
        self.seen.add(item)
        self.missing.pop(item, None)
        if number is not None:
            self.values[item] = number
        elif missing is not None:
            self.missing[item] = missing
        elif text is not None:
            self.text[item] = text
        return again

    def reject(self, item: str) -> None:
        """Note that `item` came without a usable value; what it has already stays."""
        if item not in self.seen:
            self.missing[item] = "rejected"

    def frame(self, at: float, feed: str, *, partial: bool, notes: Mapping[str, int]) -> Frame:
        """Return the packet as an event."""
        time = self.source_time()
        return Frame(at, feed, self.values, self.missing, self.text, time, partial, notes)

    def source_time(self) -> str:
        """Sender's time: of record 1, else of the first record with date and time; or empty."""
        for code in ("0105", *self.text):
            if code[2:] == "05" and code in self.text:
                day = read_date(self.text[code])
                time = read_time(self.text.get(code[:2] + "06", "?"))
                if day is not None and time is not None:
                    return f"{day}T{time[:2]}:{time[2:4]}:{time[4:]}"
        return ""
