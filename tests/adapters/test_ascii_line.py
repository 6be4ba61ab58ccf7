"""Delimited lines: what is a value, what is none, what is a line at all."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from adapters.ascii_line import MAX_LINE, DelimitedDecoder
from adapters.columns import split_quoted
from engine.config import Feed
from engine.events import BadLine, FeedEvent, Frame

HOOK = {"channel": "hook_load", "unit": "kN"}
MAP = {"Hook load": HOOK, "SPP": {"channel": "standpipe_pressure", "unit": "kPa"}}
HEADER = b"Time,Hook load,SPP\n"


def feed_of(**more: Any) -> Feed:
    return Feed.model_validate({"name": "rig", "format": "delimited", "map": MAP} | more)


def read(data: bytes, whole: bool = True, **more: Any) -> list[FeedEvent]:
    return DelimitedDecoder(feed_of(**more), whole=whole).feed(data, 5.0)


def frames(events: list[FeedEvent]) -> list[Frame]:
    return [e for e in events if isinstance(e, Frame)]


def bad(events: list[FeedEvent]) -> list[tuple[str, str]]:
    return [(e.reason, e.item) for e in events if isinstance(e, BadLine)]


def test_a_line_is_a_frame_of_its_named_columns() -> None:
    (frame,) = read(HEADER + b"12:00, 82.4 ,13790\r\n")
    assert isinstance(frame, Frame)
    assert (frame.at, frame.feed) == (5.0, "rig")
    assert frame.values == {"Hook load": 82.4, "SPP": 13790.0}
    assert frame.text == {"Time": "12:00"}


def test_names_may_hold_blanks_quotes_and_the_delimiter() -> None:
    item = dict.fromkeys(("Hook, max", 'Pipe "A"', "plain name"), HOOK)
    data = b'"Hook, max", "Pipe ""A""" ,  plain name\n1,2,3\n'
    assert frames(read(data, map=item))[0].values == {
        "Hook, max": 1.0, 'Pipe "A"': 2.0, "plain name": 3.0
    }  # fmt: skip


def test_without_a_quote_sign_quotes_are_letters() -> None:
    data = b'"Hook load",SPP\n1,2\n'
    assert frames(read(data, quote="", map={'"Hook load"': HOOK}))[0].values == {'"Hook load"': 1.0}


@pytest.mark.parametrize(
    ("delimiter", "line"),
    [(";", b"1;2\n"), ("tab", b"1\t2\n"), ("whitespace", b"  1 \t  2  \n"), ("|", b"1 | 2\n")],
)
def test_each_delimiter_splits(delimiter: str, line: bytes) -> None:
    events = read(line, delimiter=delimiter, header="none", map={"1": HOOK, "2": HOOK})
    assert frames(events)[0].values == {"1": 1.0, "2": 2.0}


def test_a_name_with_a_blank_between_blanks_is_quoted() -> None:
    data = b'Time   "Hook load"\t SPP\n0   82.4   7\n'
    assert frames(read(data, delimiter="whitespace"))[0].values == {"Hook load": 82.4, "SPP": 7.0}


def test_an_empty_first_field_between_tabs_keeps_the_columns_in_place() -> None:
    data = b"Hook load\tSPP\n\t7\n"
    (frame,) = frames(read(data, delimiter="tab"))
    assert (frame.values, frame.missing) == ({"SPP": 7.0}, {"Hook load": "empty"})


@pytest.mark.parametrize(
    ("text", "delimiter", "fields"),
    [
        ('"a,b" ,"c ""d""", e', ",", ["a,b", 'c "d"', "e"]), ('a,"b",', ",", ["a", "b", ""]),
        ('"a', ",", None), ('"a"x,b', ",", None), ('5" pipe,"x"', ",", ['5" pipe', "x"]),
        ('a "b c"\t d ', "whitespace", ["a", "b c", "d"]), ('"a"\t\t"b"', "tab", ["a", "", "b"]),
    ],
)  # fmt: skip
def test_a_quoted_field_keeps_what_would_split_it(
    text: str, delimiter: str, fields: list[str] | None
) -> None:
    """RFC 4180 (2005), section 2, rules 5 to 7; blanks around a quoted field: common practice."""
    assert split_quoted(text, "\t" if delimiter == "tab" else delimiter, '"') == fields


@pytest.mark.parametrize("line", [b"12:00,82.4\n", b"12:00,82.4,13790,1\n", b"82\n"])
def test_a_line_of_another_width_is_rejected_whole(line: bytes) -> None:
    events = read(HEADER + line)
    assert bad(events) == [("columns", "")]
    assert frames(events) == []


@pytest.mark.parametrize("text", [b"", b"nan", b"NaN", b"null", b"N/A", b"---", b"-9999.00"])
def test_a_field_that_says_nothing_is_missing_and_no_error(text: bytes) -> None:
    events = read(HEADER + b"t," + text + b",1\n")
    (frame,) = frames(events)
    assert bad(events) == []
    assert frame.values == {"SPP": 1.0}
    assert list(frame.missing) == ["Hook load"]
    assert "rejected" not in frame.missing.values()


def test_a_bad_number_costs_its_own_column_only() -> None:
    events = read(HEADER + b"t,82.4kN,1\n")
    assert bad(events) == [("bad_number", "Hook load")]
    (frame,) = frames(events)
    assert (frame.values, frame.missing) == ({"SPP": 1.0}, {"Hook load": "rejected"})


def test_a_number_beyond_its_limits_is_implausible() -> None:
    item = MAP | {"SPP": MAP["SPP"] | {"low": 0, "high": 100, "missing": [50]}}
    data = HEADER + b"t,1,100\nt,1,100.1\nt,1,-1\nt,1,50\n"
    events = read(data, map=item)
    assert bad(events) == [("implausible", "SPP")] * 2
    assert [f.values.get("SPP") for f in frames(events)] == [100.0, None, None, None]
    assert frames(events)[3].missing == {"SPP": "sentinel"}


def test_a_decimal_comma_is_only_read_when_the_feed_has_it() -> None:
    data = b"Hook load;SPP\n82,4;1.5\n"
    assert bad(read(data, delimiter=";")) == [("bad_number", "Hook load")]
    assert bad(read(data, delimiter=";", decimal=",")) == [("bad_number", "SPP")]


def test_a_header_that_comes_again_is_no_data() -> None:
    events = read(HEADER + b"t,1,2\n" + HEADER + b"t,3,4\n", header="repeating")
    assert [f.values["SPP"] for f in frames(events)] == [2.0, 4.0]
    assert bad(events) == []
    assert frames(events)[1].notes == {"header_again": 1}


def test_a_moved_column_keeps_its_meaning() -> None:
    events = read(HEADER + b"t,1,2\nSPP,Time,Hook load\n4,t,3\n", header="repeating")
    assert [f.values for f in frames(events)] == [
        {"Hook load": 1.0, "SPP": 2.0}, {"SPP": 4.0, "Hook load": 3.0},
    ]  # fmt: skip
    assert bad(events) == [("header_changed", "")]


def test_a_mapped_column_that_is_not_there_is_said_and_stays_missing() -> None:
    events = read(b"Time,Hook load\nt,1\n")
    assert bad(events) == [("no_column", "SPP")]
    assert frames(events)[0].missing == {"SPP": "no_column"}


def test_units_below_the_names_are_one_rejected_line() -> None:
    events = read(HEADER + b"hh:mm,kN,kPa\nt,1,2\n")
    assert bad(events) == [("no_numbers", "")]
    assert len(frames(events)) == 1


def test_lines_before_the_header_are_counted_not_read() -> None:
    events = read(b"Quernstone,rig,data\n# a note\n\n" + HEADER + b"t,1,2\n")
    assert bad(events) == [("no_header", "")]
    assert len(frames(events)) == 1


@pytest.mark.parametrize(
    ("line", "reason"),
    [
        (b'"12:00,1,2\n', "bad_quote"), (b"t,1\x07,2\n", "dirty"), (b"t,1\x00,2\n", "dirty"),
        (b"t" * (MAX_LINE + 1) + b"\n", "overlong_line"),
    ],
)  # fmt: skip
def test_a_damaged_line_is_rejected_and_the_next_is_read(line: bytes, reason: str) -> None:
    events = read(HEADER + line + b"t,1,2\n")
    assert bad(events) == [(reason, "")]
    assert len(frames(events)) == 1


def test_on_a_live_line_the_first_line_may_have_lost_its_beginning() -> None:
    """0,82.4 may be the end of 10,82.4: same width, another number."""
    more = {"header": "none", "map": {"1": HOOK}}
    events = read(b"0,82.4\n10,82.5\n", whole=False, **more)
    assert bad(events) == [("first_line", "")]
    assert [f.values["1"] for f in frames(events)] == [10.0]


def test_on_a_live_line_a_header_is_known_by_its_names() -> None:
    events = read(b"t,1,2\nt,3,4\n" + HEADER + b"t,5,6\n", whole=False, header="repeating")
    assert bad(events) == [("first_line", ""), ("no_header", "")]
    assert frames(events)[0].values == {"Hook load": 5.0, "SPP": 6.0}


def test_an_unfinished_line_is_dropped_with_its_rest() -> None:
    decoder = DelimitedDecoder(feed_of(), whole=True)
    decoder.feed(HEADER + b"t,8", 0.0)
    assert bad(decoder.idle(1.0)) == [("truncated_line", "")]
    assert decoder.idle(2.0) == []
    events = decoder.feed(b",2.4,13790\nt,1,2\n", 3.0)
    assert bad(events) == [("first_line", "")]
    assert [f.values["SPP"] for f in frames(events)] == [2.0]


def test_a_reopened_line_forgets_half_a_line_and_keeps_the_names() -> None:
    decoder = DelimitedDecoder(feed_of())
    decoder.feed(HEADER + b"t,1", 0.0)
    decoder.reset()
    events = decoder.feed(b"t,7,8\nt,1,2\n", 1.0)
    assert bad(events) == [("first_line", "")]
    assert [f.values["SPP"] for f in frames(events)] == [2.0]


@pytest.mark.parametrize(
    ("time", "text", "iso"),
    [
        ({"columns": ["Time"]}, b"2026-03-14 06:00:01.5", "2026-03-14T06:00:01.500000"),
        ({"columns": ["Time"]}, b"2026-03-14T05:00:00Z", "2026-03-14T06:00:00"),
        ({"columns": ["Time"], "layout": "unix"}, b"1773468000", "2026-03-14T07:00:00"),
        ({"columns": ["Time"], "layout": "%d.%m.%y %H:%M"}, b"14.03.26 06:00",
         "2026-03-14T06:00:00"),
        ({"columns": ["Time"], "layout": "seconds", "start": "2026-03-14T06:00:00"}, b"90",
         "2026-03-14T06:01:30"),
    ],
)  # fmt: skip
def test_the_senders_time_is_kept_on_its_own_clock(
    time: dict[str, Any], text: bytes, iso: str
) -> None:
    """Oslo is UTC+1 in March before the 29th: IANA time zone database. 1773468000 is 06:00 UTC."""
    events = read(HEADER + text + b",1,2\n", time=time, time_zone="Europe/Oslo")
    assert frames(events)[0].source_time == iso


@pytest.mark.parametrize("text", [b"", b"12:00", b"2026-03-14", b"2026-02-30T00:00:00", b"nan"])
def test_a_time_that_is_none_is_said_and_the_values_are_used(text: bytes) -> None:
    events = read(HEADER + text + b",1,2\n", time={"columns": ["Time"]})
    assert bad(events) == [("bad_time", "Time")]
    assert frames(events)[0].source_time == ""
    assert frames(events)[0].values == {"Hook load": 1.0, "SPP": 2.0}


def test_a_blank_may_mean_that_nothing_has_changed() -> None:
    (frame,) = frames(read(HEADER + b"t,,2\n", blank="unchanged"))
    assert (frame.values, frame.missing) == ({"SPP": 2.0}, {})


STREAM = (
    b"\xef\xbb\xbf" + HEADER + b"t,1,2\r\n\r\n#x\nt,3\nt,\xb0,\x114\x13\n" + HEADER
    + b"t,5,nan\rt,6,7,8\nA,B\n" + b"y" * 20 + b"\nt,-999.25,x\n"
)  # fmt: skip


@given(st.lists(st.integers(0, len(STREAM))), st.booleans())
def test_any_cut_of_the_reads_gives_the_same_events(cuts: list[int], whole: bool) -> None:
    expected = read(STREAM, whole)
    decoder = DelimitedDecoder(feed_of(), whole=whole)
    found: list[FeedEvent] = []
    for a, b in pairwise([0, *sorted(cuts), len(STREAM)]):
        found += decoder.feed(STREAM[a:b], 5.0)
    assert found == expected
    assert len(frames(expected)) == 4


@given(st.lists(st.binary(max_size=40)))
def test_no_input_makes_the_decoder_raise(pieces: list[bytes]) -> None:
    decoder = DelimitedDecoder(feed_of(header="none", map={"1": HOOK}), whole=True)
    for piece in pieces:
        decoder.feed(piece, 0.0)
    decoder.idle(1.0)
