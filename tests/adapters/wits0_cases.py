"""Forty inputs as they come from real lines, and what must be made of each.

Worked out by hand from the rules in the docstrings of the decoder; item meanings from API PUBL
3855 (1991). `Frm` is one packet: numbers, text, items without a value, closed without its mark.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from adapters.wits0 import Wits0Decoder, from_feed
from engine.config import Feed
from engine.events import FeedEvent


@dataclass(frozen=True)
class Frm:
    values: Mapping[str, float] = field(default_factory=dict)
    text: Mapping[str, str] = field(default_factory=dict)
    missing: Mapping[str, str] = field(default_factory=dict)
    partial: bool = False


@dataclass(frozen=True)
class Case:
    name: str
    data: bytes
    frames: Sequence[Frm] = ()
    bad: Sequence[tuple[bytes, str]] = ()
    counts: Mapping[str, int] = field(default_factory=dict)
    decimal: str = "."


def decoder(decimal: str = ".") -> Wits0Decoder:
    return from_feed(Feed(name="rig", decimal=decimal), text_items=["2208"])


def run(decoder: Wits0Decoder, reads: Sequence[bytes]) -> list[FeedEvent]:
    """Feed the reads, then the idle time."""
    events = [event for data in reads for event in decoder.feed(data, 1.0)]
    return events + decoder.idle(1.0)


def cut(data: bytes, size: int) -> list[bytes]:
    return [data[i : i + size] for i in range(0, len(data), size)]


def packet(*lines: bytes) -> bytes:
    return b"".join(line + b"\r\n" for line in (b"&&", *lines, b"!!"))


REJ = "rejected"
GOOD = Frm({"0108": 1234.5})
NOMINAL = packet(
    b"0101WELL 7", b"010301", b"01044711", b"0105260314", b"0106093015", b"010702",
    b"01081234.56", b"0114182.4",
)  # fmt: skip
BAUD = (b"\xff\xf8\x00\x80\x9c\xfe\xe0\x1c", b"\xc0\xf0")
SEVEN = (b"\xa6\xa6\x8d", b"0\xb10\xb8\xb1\xb23\xb4.5\x8d", b"!!\x8d")

FLOATISH = (
    b"0108nan", b"0110Infinity", b"01131_0", b"01141e400", b"01160x1F", b"0121\xd9\xa1\xd9\xa2",
)  # fmt: skip
BROKEN = (
    b"0108--5", b"0110- 5.2", b"011312 3.4", b"01141.2.3", b"0116\xe2\x88\x925.2", b"0121.",
)  # fmt: skip
CODES = (b"00081", b"01001", b"108", b"01 081234.5", b"O1081234.5")
WIDE = (b"012011501212500", b"01141e30", b"0123-32768")


def every(lines: Sequence[bytes], reason: str) -> list[tuple[bytes, str]]:
    return [(line, reason) for line in lines]


def rejected(*codes: str) -> dict[str, str]:
    return dict.fromkeys(codes, REJ)


CASES = [
    Case("01 nominal", NOMINAL, [Frm(
        {"0103": 1, "0104": 4711, "0107": 2, "0108": 1234.56, "0114": 182.4},
        {"0101": "WELL 7", "0105": "260314", "0106": "093015"})]),
    Case("02 LF only, blank lines", b"\n\n&&\n\n01081234.5\n\n!!\n", [GOOD]),
    Case("03 CR only", b"&&\r01081234.5\r!!\r", [GOOD]),
    Case("04 end mark missing", b"&&\r\n01081234.5\r\n" + packet(b"01081235.0"),
         [Frm({"0108": 1234.5}, partial=True), Frm({"0108": 1235})]),
    Case("05 joined mid-packet", b"34.56\r\n0114182.4\r\n!!\r\n" + packet(b"01081235.0"),
         [Frm({"0108": 1235})], every([b"34.56", b"0114182.4"], "outside_packet"),
         {"stray_end": 1}),
    Case("06 heartbeat", b"&&\r\n!!\r\n", [Frm()]),
    Case("07 two records in one packet", packet(
        b"0105260314", b"0106093015", b"01081234.5", b"1105260314", b"1106093010", b"1111182.4"),
        [Frm({"0108": 1234.5, "1111": 182.4},
             {"0105": "260314", "0106": "093015", "1105": "260314", "1106": "093010"})]),
    Case("08 spaces and tabs",
         b" &&  \r\n  0108   1234.5  \r\n0114\t182.4\t\r\n!! \r\n",
         [Frm({"0108": 1234.5, "0114": 182.4})]),
    Case("09 sentinels",
         packet(b"0108-9999", b"0113-999.25", b"0114-8888.00", b"0121-9999.2500"),
         [Frm(missing=dict.fromkeys(("0108", "0113", "0114", "0121"), "sentinel"))]),
    Case("10 near sentinels are data", packet(b"0113-999.26", b"0116-99.925", b"01219999"),
         [Frm({"0113": -999.26, "0116": -99.925, "0121": 9999})]),
    Case("11 empty values and placeholders",
         packet(b"0108", b"0110   ", b"0113----", b"0114****", b"0121-", b"0120115"),
         [Frm({"0120": 115}, missing={
             "0108": "empty", "0110": "empty", "0113": "placeholder", "0114": "placeholder",
             "0121": "placeholder"})]),
    Case("12 decimal comma, dot expected", packet(b"01081234,5", b"0120115"),
         [Frm({"0120": 115}, missing=rejected("0108"))], [(b"01081234,5", "bad_number")]),
    Case("13 decimal comma expected", packet(b"01081234,5", b"0120115", b"0114182.4"),
         [Frm({"0108": 1234.5, "0120": 115}, missing=rejected("0114"))],
         [(b"0114182.4", "bad_number")], decimal=","),
    Case("14 thousands comma", packet(b"01081,234.5", b"0114182.4"),
         [Frm({"0114": 182.4}, missing=rejected("0108"))], [(b"01081,234.5", "bad_number")]),
    Case("15 words and units", packet(b"0108BAD", b"01101234.5 ft", b"0114182.4"),
         [Frm({"0114": 182.4}, missing=rejected("0108", "0110"))],
         every([b"0108BAD", b"01101234.5 ft"], "bad_number")),
    Case("16 what float() would take", packet(*FLOATISH),
         [Frm(missing=rejected("0108", "0110", "0113", "0114", "0116", "0121"))],
         every(FLOATISH, "bad_number")),
    Case("17 legal number shapes", packet(
        b"0108+1234.5", b"0113.5", b"01145.", b"0116-0.0", b"01210012.50", b"01301.5E+03"),
        [Frm({"0108": 1234.5, "0113": 0.5, "0114": 5, "0116": -0.0, "0121": 12.5,
              "0130": 1500})]),
    Case("18 broken number shapes", packet(*BROKEN),
         [Frm(missing=rejected("0108", "0110", "0113", "0114", "0116", "0121"))],
         every(BROKEN, "bad_number")),
    Case("19 integer item with a fraction", packet(b"0120115.5", b"012360.0"),
         [Frm({"0120": 115.5, "0123": 60})]),
    Case("20 duplicate item", packet(b"01081234.5", b"0114182.4", b"01081234.6"),
         [Frm({"0114": 182.4, "0108": 1234.6})], counts={"duplicate": 1}),
    Case("21 unknown codes", packet(b"019912.5", b"3132ABC", b"31337", b"01081234.5"),
         [Frm({"0108": 1234.5}, {"0199": "12.5", "3132": "ABC", "3133": "7"})]),
    Case("22 bad codes", packet(*CODES, b"01081234.5"), [GOOD], every(CODES, "bad_code")),
    Case("23 line break lost, decimals", packet(b"01081234.560114182.4", b"0120115"),
         [Frm({"0120": 115}, missing=rejected("0108"))],
         [(b"01081234.560114182.4", "bad_number")]),
    Case("24 line break lost, integers; out of range", packet(*WIDE, b"01081234.5"),
         [Frm({"0108": 1234.5}, missing=rejected("0120", "0114", "0123"))],
         every(WIDE, "implausible")),
    Case("25 end mark glued", b"&&\r\n01081234.5\r\n0114182.4!!\r\n",
         [Frm({"0108": 1234.5}, missing=rejected("0114"))], [(b"0114182.4", "glued")]),
    Case("26 start mark glued", b"&&01081234.5\r\n0114182.4\r\n!!\r\n",
         [Frm({"0114": 182.4}, missing=rejected("0108"))], [(b"01081234.5", "glued")]),
    Case("27 both marks on one line", b"&&\r\n01081234.5\r\n!!&&\r\n01081235.0\r\n!!\r\n",
         [GOOD, Frm({"0108": 1235})]),
    Case("28 NUL bytes",
         b"\x00&&\r\n\x00\x0001081234.5\x00\r\n011418\x002.4\r\n!!\r\n\x00",
         [Frm({"0108": 1234.5}, missing=rejected("0114"))], [(b"011418\x002.4", "dirty")],
         {"nul": 6}),
    Case("29 XON and XOFF", packet(b"01081\x13\x11234.5"), [GOOD], counts={"flow": 2}),
    Case("30 one bit flipped", packet(b"0108123t.5", b"0q14182.4", b"0114182.4"),
         [Frm({"0114": 182.4}, missing=rejected("0108"))],
         [(b"0108123t.5", "bad_number"), (b"0q14182.4", "bad_code")]),
    Case("31 7E1 read as 8N1", b"\n".join(SEVEN) + b"\n", bad=every(SEVEN, "parity_suspect"),
         counts={"parity_suspect": 3}),
    Case("32 wrong baud, then good", b"\r".join(BAUD) + b"\n" + packet(b"01081234.5"), [GOOD],
         every(BAUD, "outside_packet"), {"nul": 1}),
    Case("33 telnet negotiation", b"\xff\xfb\x01\xff\xfb\x03" + packet(b"01081234.5"), [GOOD],
         [(b"\xff\xfb\x01\xff\xfb\x03", "glued")]),
    Case("34 runaway line", packet(b"0108" + b"9" * 3000, b"0114182.4"), [Frm({"0114": 182.4})],
         counts={"overlong_line": 1}),
    Case("35 link dies inside a line", b"&&\r\n0114182.4\r\n0108123",
         [Frm({"0114": 182.4}, missing=rejected("0108"), partial=True)],
         [(b"0108123", "truncated_line")]),
    Case("36 split reads", packet(b"01081234.5"), [GOOD]),
    Case("37 text: marks and escape codes",
         packet(b"0101A!!", b"2208\x1b[2J\x1b]0;x\x07WATCH && OUT!!", b"01081234.5"),
         [Frm({"0108": 1234.5}, {"0101": "A!!", "2208": "[2J]0;xWATCH && OUT!!"})],
         counts={"sanitised": 1}),
    Case("38 text: UTF-8 and Latin-1",
         packet(b"0101F\xc3\xb8rde 1", b"2208temp 40 \xb0C", b"0108\xb1234"),
         [Frm(text={"0101": "F\u00f8rde 1", "2208": "temp 40 \u00b0C"})],
         [(b"0108\xb1234", "parity_suspect")], {"latin1": 1, "parity_suspect": 1}),
    Case("39 time fields",
         packet(b"0105260230", b"010693015", b"010306", b"01081234.5")
         + packet(b"010560314", b"0106246000"),
         [Frm({"0103": 6, "0108": 1234.5}, {"0106": "093015"}, rejected("0105")),
          Frm(missing=rejected("0105", "0106"))],
         every([b"0105260230", b"010560314", b"0106246000"], "bad_time"), {"recid_mismatch": 1}),
    Case("40 foreign sentences",
         packet(b"$GPGGA,093015,,,,,0*66", b"NO CARRIER", b"01081234.5") + b"!!\r\n", [GOOD],
         every([b"$GPGGA,093015,,,,,0*66", b"NO CARRIER"], "bad_code"), {"stray_end": 1}),
]  # fmt: skip
