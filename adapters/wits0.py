"""WITS level 0: bytes to frames, without any I/O.

A packet is a line ``&&``, lines of a four-digit item code and its value, and a line ``!!``. There
is no length, no checksum and no escape, so every doubt is a rejection: a line that is not exactly
an item gives no value, never a guessed one.

References
----------
.. [1] API PUBL 3855, Conventions and Implementation Guidelines for EDI, WITS, version 1.1, 1991:
   items and records. Framing, and what senders do against the rules: common practice, no source.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Mapping
from math import isfinite
from typing import Literal

from adapters.wits0_grammar import (
    CODE,
    CONTROL,
    NUMBER,
    PLACEHOLDER,
    PLAIN,
    Rule,
    read_date,
    read_time,
    rules_of,
    split_marks,
)
from adapters.wits0_packet import Packet
from engine.config import Feed
from engine.events import BadLine, FeedEvent
from engine.wits_items import ItemKind

LONGEST = 1024
"""Bytes of the longest line that is read; far above any item, far below any memory. [-]"""
_SEVEN_BITS = bytes(byte & 0x7F for byte in range(256))
_FLOW = b"\x11\x13"
"""XON and XOFF."""


class Wits0Decoder:
    """Decoder of one feed (see `engine.interfaces.Decoder`).

    Any cut of the input into reads gives the same events. Numbers stay in the sender's unit.
    Dates and times are delivered as six digits in ``Frame.text`` and as ``Frame.source_time``:
    of record 1, else of the first record that brings both. A two-digit year from 69 on is of the
    1900s, as in POSIX ``strptime``.

    Parameters
    ----------
    name : str
        Name of the feed in its events.
    rules : mapping of str to Rule
        Item code to rule; any other item is delivered as text.
    decimal : {".", ","}
        The sender's decimal sign. With a comma neither a dot nor an exponent is a number.
    """

    def __init__(
        self, name: str, rules: Mapping[str, Rule], decimal: Literal[".", ","] = "."
    ) -> None:
        self.name = name
        self.counts: Counter[str] = Counter()
        """Oddities since the start: duplicate, flow, latin1, nul, overlong_line,
        parity_suspect, recid_mismatch, sanitised, stray_end. Rejections are events instead."""
        self._rules = {code.encode("ascii"): rule for code, rule in rules.items()}
        self._comma = decimal == ","
        self._number = NUMBER[decimal].fullmatch
        self._plain = PLAIN[decimal].fullmatch
        self._notes: Counter[str] = Counter()
        self._tail = b""
        self._discarding = False
        self._packet: Packet | None = None
        self._out: list[FeedEvent] = []
        self._at = 0.0

    def feed(self, data: bytes, at: float) -> list[FeedEvent]:
        """Take the bytes read at time `at` [s]; return the events they complete."""
        if not data:
            return []
        self._at, self._out = at, []
        text = self._tail + data
        lines = text.splitlines()  # of bytes: at CR, LF and CR LF, nowhere else
        self._tail = b"" if text.endswith((b"\r", b"\n")) else lines.pop()
        if self._discarding:
            if lines:
                del lines[0]
                self._discarding = False
            else:
                self._tail = b""
        plain, rules = self._plain, self._rules
        for line in lines:
            packet = self._packet
            if packet is not None and (found := plain(line)) is not None:
                code, value = found.groups()
                rule = rules.get(code)
                if rule is not None and rule.kind is ItemKind.NUMBER:
                    self._take_number(packet, code, value, rule, line)
                    continue
            self._line(line)
        if len(self._tail) > LONGEST:
            self._count("overlong_line")
            self._tail, self._discarding = b"", True
        return self._out

    def idle(self, at: float) -> list[FeedEvent]:
        """Nothing came for the idle time: reject an unfinished line, close an open packet."""
        self._at, self._out = at, []
        fragment = self._trim(self._tail)
        self._tail, self._discarding = b"", False
        if fragment:
            self._reject("truncated_line", fragment)
        if self._packet is not None:
            self._close(self._packet, partial=True)
        return self._out

    def reset(self) -> None:
        """Forget half a message (the line was reopened); the counts stay."""
        self._tail, self._discarding, self._packet = b"", False, None

    def _count(self, oddity: str, times: int = 1) -> None:
        self.counts[oddity] += times
        self._notes[oddity] += times

    def _trim(self, line: bytes) -> bytes:
        """Drop and count what the line itself adds; drop blanks at both ends."""
        if flow := line.count(_FLOW[0]) + line.count(_FLOW[1]):
            self._count("flow", flow)
            line = line.translate(None, _FLOW)
        if nul := line.count(0):
            self._count("nul", nul)
        return line.replace(b"\t", b" ").strip(b" \x00")

    def _line(self, line: bytes) -> None:
        if len(line) > LONGEST:
            self._count("overlong_line")
            return
        line = self._trim(line)
        if not line:
            return
        rule = self._rules.get(line[:4])
        if self._packet is not None and rule is not None and rule.kind is ItemKind.TEXT:
            self._take_text(self._packet, line)
        elif not line.isascii() and self._is_seven_bit(line):
            self._count("parity_suspect")
            self._out.append(BadLine(self._at, self.name, "parity_suspect", line))
        else:
            before, rest, after = split_marks(line)
            if before or after:
                self._marks(before + after, rest)
            elif self._packet is None:
                self._reject("outside_packet", line)
            else:
                self._item(self._packet, line)

    def _is_seven_bit(self, line: bytes) -> bool:
        """Whether `line` is a mark or a known number once its top bits are cleared."""
        cleared = line.translate(_SEVEN_BITS).strip(b" \t\r\n\x00")
        if cleared and not split_marks(cleared)[1]:
            return True
        rule = self._rules.get(cleared[:4])
        known = rule is not None and rule.kind is not ItemKind.TEXT
        return known and self._number(cleared[4:].strip(b" \t")) is not None

    def _marks(self, marks: bytes, glued: bytes) -> None:
        """Apply `marks`; what stood on their line has lost its own line end, so reject it."""
        if glued and self._packet is not None:
            self._reject("glued", glued)
            glued = b""
        for mark in marks:
            if mark == ord("&"):
                if self._packet is not None:
                    self._close(self._packet, partial=True)
                self._packet = Packet()
            elif self._packet is not None:
                self._close(self._packet, partial=False)
            else:
                self._count("stray_end")
        if glued:
            self._reject("glued", glued)

    def _close(self, packet: Packet, *, partial: bool) -> None:
        notes = dict(self._notes)
        self._notes.clear()
        self._out.append(packet.frame(self._at, self.name, partial=partial, notes=notes))
        self._packet = None

    def _reject(self, reason: str, line: bytes) -> None:
        """Report `line`; a known item has no value in this packet unless it has one already."""
        code = line[:4].decode("latin-1") if CODE.match(line) else ""
        self._out.append(BadLine(self._at, self.name, reason, line, code))
        if self._packet is not None and line[:4] in self._rules:
            self._packet.reject(code)

    def _item(self, packet: Packet, line: bytes) -> None:
        code, value = line[:4], line[4:].strip(b" ")
        rule = self._rules.get(code)
        if CODE.match(line) is None:
            self._reject("bad_code", line)
        elif CONTROL.search(line) is not None:
            self._reject("dirty", line)
        elif rule is None:
            self._deliver(packet, code, text=self._clean(value))
        elif not value:
            self._deliver(packet, code, missing="empty")
        elif PLACEHOLDER.fullmatch(value):
            self._deliver(packet, code, missing="placeholder")
        elif rule.kind is not ItemKind.NUMBER:
            self._take_time(packet, code, value, rule, line)
        elif self._number(value) is None:
            self._reject("bad_number", line)
        else:
            self._take_number(packet, code, value, rule, line)

    def _take_number(
        self, packet: Packet, code: bytes, value: bytes, rule: Rule, line: bytes
    ) -> None:
        number = float(value.replace(b",", b".") if self._comma else value)
        if number in rule.missing:
            self._deliver(packet, code, missing="sentinel")
        elif rule.low <= number <= rule.high and isfinite(number):
            if code[2:] == b"03" and number != int(code[:2]):
                self._count("recid_mismatch")
            self._deliver(packet, code, number)
        else:
            self._reject("implausible" if isfinite(number) else "bad_number", line)

    def _take_time(
        self, packet: Packet, code: bytes, value: bytes, rule: Rule, line: bytes
    ) -> None:
        if self._number(value) and float(value.replace(b",", b".")) in rule.missing:
            self._deliver(packet, code, missing="sentinel")
            return
        digits = value.decode("latin-1")
        text: str | None = None
        if value.isdigit():
            is_time = rule.kind is ItemKind.TIME
            text = read_time(digits) if is_time else digits if read_date(digits) else None
        if text is None:
            self._reject("bad_time", line)
        else:
            self._deliver(packet, code, text=text)

    def _take_text(self, packet: Packet, line: bytes) -> None:
        value = line[4:].strip(b" ")
        if PLACEHOLDER.fullmatch(value):
            self._deliver(packet, line[:4], missing="placeholder")
        elif text := self._clean(value):
            self._deliver(packet, line[:4], text=text)
        else:
            self._deliver(packet, line[:4], missing="empty")

    def _clean(self, value: bytes) -> str:
        """Decode and make fit for a terminal: an escape code in a well name must not act."""
        try:
            text = value.decode("utf-8")
        except UnicodeDecodeError:
            self._count("latin1")
            text = value.decode("latin-1")
        if not text.isprintable():
            self._count("sanitised")
            text = "".join(c for c in text if c.isprintable())
        return text.strip(" ")

    def _deliver(
        self,
        packet: Packet,
        code: bytes,
        number: float | None = None,
        *,
        missing: str | None = None,
        text: str | None = None,
    ) -> None:
        if packet.put(code.decode("ascii"), number, missing=missing, text=text):
            self._count("duplicate")


def from_feed(feed: Feed, text_items: Collection[str] = ()) -> Wits0Decoder:
    """Return the decoder of one feed of a well file.

    Parameters
    ----------
    feed : Feed
        Gives name, decimal sign, sentinels and the own map.
    text_items : collection of str
        Items to be read as text, besides those that the standard has as text.

    Raises
    ------
    InputError
        If the feed names something that is no item code.
    """
    return Wits0Decoder(feed.name, rules_of(feed, text_items), feed.decimal)
