"""Damaged input: never an exception, never a value that was not sent, never a cut that matters."""

from __future__ import annotations

import tracemalloc
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from adapters.wits0 import Wits0Decoder
from engine.events import FeedEvent, Frame
from engine.wits_items import ITEMS
from tests.adapters.wits0_cases import CASES, NOMINAL, cut, decoder, packet, run

LINES = NOMINAL.splitlines()
DAMAGE = st.one_of(
    st.sampled_from([b"&&", b"!!", b"\r", b"\n", b"\0", b"\t", b" ", b"\x11", b"\x13", b"\xb1"]),
    st.sampled_from([b"x" * 1020, b"9" * 400, b"0108", b"0101", b"-9999", b"e999", b"\xe2\x88"]),
    st.binary(max_size=4),
)


@st.composite
def damaged(draw: st.DrawFn) -> bytes:
    """One of the forty inputs with up to eight pieces replaced, cut out or put in."""
    data = draw(st.sampled_from(CASES)).data
    for _ in range(draw(st.integers(0, 8))):
        at = draw(st.integers(0, len(data)))
        data = data[:at] + draw(DAMAGE) + data[at + draw(st.integers(0, 5)) :]
    return data


def reads_of(data: bytes, cuts: list[int]) -> list[bytes]:
    edges = [0, *sorted(c % (len(data) + 1) for c in cuts), len(data)]
    return [data[a:b] for a, b in pairwise(edges)]


def assert_sound(events: list[FeedEvent]) -> None:
    for frame in events:
        if isinstance(frame, Frame):
            for code, value in frame.values.items():
                assert ITEMS[code].low <= value <= ITEMS[code].high
            assert all(text.isprintable() for text in frame.text.values())
            assert not set(frame.values) & (set(frame.missing) | set(frame.text))
            assert set(frame.missing.values()) <= {"empty", "placeholder", "sentinel", "rejected"}


@settings(max_examples=400, deadline=None)
@given(damaged(), st.lists(st.integers(0, 5000), max_size=30), st.sampled_from(".,"))
def test_any_cut_of_any_damaged_input_gives_the_same_events(
    data: bytes, cuts: list[int], decimal: str
) -> None:
    whole, parts = decoder(decimal), decoder(decimal)
    events = run(whole, [data])
    assert run(parts, reads_of(data, cuts)) == events
    assert parts.counts == whole.counts
    assert_sound(events)


@settings(max_examples=200, deadline=None)
@given(st.binary(max_size=3000), st.integers(1, 600))
def test_noise_gives_the_same_events_for_any_read_size(data: bytes, size: int) -> None:
    events = run(decoder(), [data])
    assert run(decoder(), cut(data, size)) == events
    assert_sound(events)


@settings(max_examples=200, deadline=None)
@given(damaged())
def test_after_any_damage_and_a_silence_a_good_packet_is_read_whole(data: bytes) -> None:
    worn = decoder()
    run(worn, [data])
    (frame,) = run(worn, [NOMINAL])
    (fresh,) = run(decoder(), [NOMINAL])
    assert isinstance(frame, Frame)
    assert isinstance(fresh, Frame)
    assert (frame.values, frame.text) == (fresh.values, fresh.text)


@settings(max_examples=200, deadline=None)
@given(damaged())
def test_every_oddity_is_in_the_counts_and_in_the_notes_of_one_frame(data: bytes) -> None:
    plain = decoder()
    events = run(plain, [data + b"\n" + packet()])
    noted: dict[str, int] = {}
    for frame in (e for e in events if isinstance(e, Frame)):
        for kind, times in frame.notes.items():
            noted[kind] = noted.get(kind, 0) + times
    assert noted == dict(plain.counts)


def delivered(data: bytes) -> dict[str, float | str]:
    got: dict[str, float | str] = {}
    events = run(decoder(), [data])
    assert_sound(events)
    for frame in events:
        if isinstance(frame, Frame):
            got |= dict(frame.values) | dict(frame.text)
    return got


@pytest.mark.parametrize("end", range(len(NOMINAL) + 1))
def test_a_prefix_delivers_the_items_whose_line_end_was_seen_and_no_other(end: int) -> None:
    whole = delivered(NOMINAL)
    seen = [line.decode()[:4] for line in NOMINAL[:end].splitlines(keepends=True)
            if line.endswith((b"\r", b"\n"))]  # fmt: skip
    assert delivered(NOMINAL[:end]) == {c: whole[c] for c in whole if c in seen}


@pytest.mark.parametrize("at", range(len(NOMINAL)))
def test_one_lost_byte_changes_no_item_but_those_of_the_lines_it_touches(at: int) -> None:
    data = NOMINAL[:at] + NOMINAL[at + 1 :]
    whole, got, lines = delivered(NOMINAL), delivered(data), data.splitlines()
    if at < 2:  # half an opening mark: no packet at all
        assert got == {}
        return
    touched = {line[:4].decode() for line in lines if line not in LINES}
    kept = {line[:4].decode() for line in lines if line in LINES[1:-1]} - touched
    assert len(kept) >= 6
    assert {code: got.get(code) for code in kept} == {code: whole[code] for code in kept}
    assert set(got) <= kept | touched


@pytest.mark.parametrize("at", range(len(NOMINAL)))
def test_one_flipped_bit_makes_no_value_outside_the_limits(at: int) -> None:
    for bit in range(8):
        data = bytearray(NOMINAL)
        data[at] ^= 1 << bit
        assert len(delivered(bytes(data))) <= len(LINES)
        assert run(decoder(), cut(bytes(data), 3)) == run(decoder(), [bytes(data)])


@pytest.mark.parametrize("data", [b"\0", b"9", b"&", b"\xff", b"\x11"])
def test_memory_stays_flat_without_a_line_end(data: bytes) -> None:
    plain: Wits0Decoder = decoder()
    read = data * 4096
    tracemalloc.start()
    for _ in range(2560):  # 10 MB
        assert plain.feed(read, 1.0) == []
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert peak < 100_000
    assert plain.counts == {"overlong_line": 1}
    assert plain.idle(2.0) == []
