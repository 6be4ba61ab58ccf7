from __future__ import annotations

from collections import Counter

import pytest

from adapters.wits0 import from_feed
from engine.config import Feed, Item
from engine.errors import InputError
from engine.events import BadLine, FeedEvent, Frame
from engine.wits_encode import encode_packet
from tests.adapters.wits0_cases import CASES, NOMINAL, Case, Frm, cut, decoder, packet, run


def frames(events: list[FeedEvent]) -> list[Frame]:
    return [event for event in events if isinstance(event, Frame)]


def outcome(events: list[FeedEvent]) -> tuple[list[Frm], list[tuple[bytes, str]]]:
    bad = [(e.raw, e.reason) for e in events if isinstance(e, BadLine)]
    return [Frm(f.values, f.text, f.missing, f.partial) for f in frames(events)], bad


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_each_input_gives_exactly_the_stated_outcome(case: Case) -> None:
    """Framing and items: API PUBL 3855 (1991); deviations: common practice, no source."""
    plain = decoder(case.decimal)
    events = run(plain, [case.data])
    assert outcome(events) == (list(case.frames), list(case.bad))
    assert dict(plain.counts) == dict(case.counts)


@pytest.mark.parametrize("size", [1, 2, 3, 7])
@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_reads_of_any_size_give_the_same_events(case: Case, size: int) -> None:
    parts = decoder(case.decimal)
    assert run(parts, cut(case.data, size)) == run(decoder(case.decimal), [case.data])
    assert dict(parts.counts) == dict(case.counts)


def test_uneven_reads_give_the_same_packet() -> None:
    reads = [b"&", b"&\r", b"\n0", b"10", b"81234", b".5\r", b"\n!", b"!", b"\r\n"]
    assert outcome(run(decoder(), reads)) == ([Frm({"0108": 1234.5})], [])


@pytest.mark.parametrize("number", [b"1e400", b"-1e999", b"9" * 400])
def test_a_number_too_large_to_be_held_is_none_even_without_limits(number: bytes) -> None:
    line = b"0141" + number
    assert outcome(run(decoder(), [packet(line)])) == (
        [Frm(missing={"0141": "rejected"})],
        [(line, "bad_number")],
    )


def test_marks_may_be_longer_and_stand_together_but_one_sign_is_none() -> None:
    data = b"&&&&\r\n01081!!!&&&\r\n&\r\n!!! &&\r\n01082\r\n!!!!!\r\n"
    assert outcome(run(decoder(), [data])) == (
        [Frm(missing={"0108": "rejected"}), Frm(), Frm({"0108": 2.0})],
        [(b"01081", "glued"), (b"&", "bad_code")],
    )


def test_negative_zero_keeps_its_sign() -> None:
    (frame,) = frames(run(decoder(), [packet(b"0116-0.0")]))
    assert str(frame.values["0116"]) == "-0.0"


def test_events_carry_feed_item_and_the_time_of_the_read_that_completed_them() -> None:
    plain = decoder()
    assert plain.feed(b"&&\r\n0108x\r\n", 5.0) == [
        BadLine(5.0, "rig", "bad_number", b"0108x", "0108")
    ]
    (frame,) = frames(plain.feed(b"!!\r\n", 6.5))
    assert (frame.at, frame.feed) == (6.5, "rig")


def test_source_time_is_that_of_record_1_whatever_the_order() -> None:
    lines = [b"1105260314", b"1106093010", b"010693015", b"0105260314"]
    (frame,) = frames(run(decoder(), [packet(*lines)]))
    assert frame.source_time == "2026-03-14T09:30:15"


def test_source_time_is_that_of_another_record_when_record_1_is_incomplete() -> None:
    (frame,) = frames(run(decoder(), [packet(b"0106093015", b"1105980314", b"1106000010")]))
    assert frame.source_time == "1998-03-14T00:00:10"


def test_date_of_one_record_and_time_of_another_make_no_source_time() -> None:
    (frame,) = frames(run(decoder(), [packet(b"0105260314", b"1106093010")]))
    assert frame.source_time == ""


def test_notes_count_what_happened_since_the_frame_before() -> None:
    data = b"!!\r\n" + packet(b"01081\x11", b"01082") + packet() + b"\x00\r\n" + packet()
    notes = [dict(frame.notes) for frame in frames(run(decoder(), [data]))]
    assert notes == [{"stray_end": 1, "flow": 1, "duplicate": 1}, {}, {"nul": 1}]


def test_a_rejected_line_replaces_nothing_and_a_good_one_replaces_it() -> None:
    first = frames(run(decoder(), [packet(b"01081", b"0108x")]))[0]
    later = decoder()
    second = frames(run(later, [packet(b"0108x", b"01081")]))[0]
    assert first.values == second.values == {"0108": 1.0}
    assert first.missing == second.missing == {}
    assert later.counts == Counter()


def test_a_later_missing_value_replaces_a_number() -> None:
    (frame,) = frames(run(decoder(), [packet(b"01081", b"0108-9999")]))
    assert (frame.values, frame.missing) == ({}, {"0108": "sentinel"})


def test_reset_forgets_half_a_message_but_not_the_counts() -> None:
    plain = decoder()
    plain.feed(b"!!\r\n&&\r\n01081\r\n0114", 1.0)
    plain.reset()
    assert run(plain, [packet(b"01082")]) == [
        Frame(1.0, "rig", {"0108": 2.0}, notes={"stray_end": 1})
    ]


def test_after_silence_a_runaway_line_is_over() -> None:
    plain = decoder()
    plain.feed(b"x" * 5000, 1.0)
    plain.idle(3.0)
    assert outcome(run(plain, [packet(b"01081")])) == ([Frm({"0108": 1.0})], [])


@pytest.mark.parametrize(("size", "overlong"), [(1024, 0), (1025, 1)])
@pytest.mark.parametrize("read", [1, 7, 5000])
def test_the_longest_line_is_1024_bytes(size: int, overlong: int, read: int) -> None:
    plain = decoder()
    events = run(plain, cut(b"x" * size + b"\r\n", read))
    assert plain.counts["overlong_line"] == overlong
    assert len(events) == 1 - overlong


def test_mapped_items_are_numbers_with_their_own_limits_and_missing_values() -> None:
    own = Item(channel="trip_tank_volume", unit="m3", low=0.0, high=20.0, missing=(9999.0,))
    plain = from_feed(Feed(name="rig", map={"3133": own, "0141": own}))
    events = run(plain, [packet(b"31335.5", b"014121"), packet(b"31339999", b"0141-999.25")])
    assert outcome(events) == (
        [
            Frm({"3133": 5.5}, missing={"0141": "rejected"}),
            Frm(missing={"3133": "sentinel", "0141": "sentinel"}),
        ],
        [(b"014121", "implausible")],
    )


def test_a_mapping_in_another_unit_drops_the_standard_limits_and_the_same_keeps_them() -> None:
    """0114 is limited to 5000 in klbf or kdaN; 9000 daN is an ordinary load."""
    dans = Item(channel="hook_load", unit="kN", scale=0.01)
    same = Item(channel="hook_load", unit="kdaN", missing=(0.0,))
    line = packet(b"01149000")
    assert outcome(run(from_feed(Feed(name="a", map={"0114": dans})), [line]))[1] == []
    assert outcome(run(from_feed(Feed(name="a", map={"0114": same})), [line]))[1] == [
        (b"01149000", "implausible")
    ]


def test_own_sentinels_of_a_feed_take_the_place_of_the_usual_ones() -> None:
    plain = from_feed(Feed(name="rig", sentinels=(-1.0,)))
    events = run(plain, [packet(b"0121-1.0", b"0113-999.25")])
    assert outcome(events)[0] == [Frm({"0113": -999.25}, missing={"0121": "sentinel"})]


def test_a_code_that_is_none_is_refused_with_what_would_be_right() -> None:
    own = Item(channel="gas", unit="percent")
    feed = Feed(name="rig", map={"114": own}, ignore=("0100",))
    with pytest.raises(InputError, match=r"feed rig: map: '114'.*such as 0114; ignore: '0100'"):
        from_feed(feed)


def test_encoded_packets_are_those_of_the_nominal_case_and_decode_to_themselves() -> None:
    items = [
        ("0101", "WELL 7"), ("0103", "01"), ("0104", "4711"), ("0105", "260314"),
        ("0106", "093015"), ("0107", "02"), ("0108", "1234.56"), ("0114", "182.4"),
    ]  # fmt: skip
    assert encode_packet(items) == NOMINAL
    assert encode_packet([]) == b"&&\r\n!!\r\n"


@pytest.mark.parametrize("item", [("114", "1"), ("0014", "1"), ("0101", "a\r\n!!")])
def test_what_would_break_the_framing_is_not_encoded(item: tuple[str, str]) -> None:
    with pytest.raises(InputError, match="WITS packet: item"):
        encode_packet([item])
