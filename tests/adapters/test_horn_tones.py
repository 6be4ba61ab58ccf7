from __future__ import annotations

import io
import wave
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from adapters.horn_tones import HIGH, LOW, LOWER, RATE, URGENT, Pattern, pattern, wav, wav_file
from engine.alarms.urgency import Urgency
from engine.block import FloatArray

ALL = (LOWER, *URGENT)


def heard(one: Pattern) -> FloatArray:
    """Return what a player makes of the file, as a share of full scale."""
    with wave.open(io.BytesIO(wav(one))) as file:
        assert (file.getnchannels(), file.getsampwidth(), file.getframerate()) == (1, 2, RATE)
        data = file.readframes(file.getnframes())
    return np.frombuffer(data, "<i2") / 32767.0


def pitch(sound: FloatArray) -> float:
    """Return the frequency with most power. [Hz]"""
    power = np.abs(np.fft.rfft(sound * np.hanning(sound.size), 8 * RATE))
    return float(np.argmax(power)) / 8.0


def test_priority_1_has_two_tones_in_turn_and_the_others_have_one() -> None:
    """R-14, R-61: told apart by ear; between 500 and 2500 Hz as ISO 7731 advises (from memory)."""
    sound = heard(URGENT[0])
    size = round(URGENT[0].each_s * RATE)
    tones = [pitch(sound[i * size : (i + 1) * size]) for i in range(sound.size // size)]
    assert tones == pytest.approx([LOW, HIGH] * 3, abs=2.0)
    assert all(500 < tone < 2500 for tone in tones)
    assert pitch(heard(LOWER)) == pytest.approx(LOW, abs=2.0)


def test_each_step_is_louder_faster_and_leaves_less_silence() -> None:
    """R-14."""
    loud = [float(np.max(np.abs(heard(one)))) for one in ALL]
    assert loud == pytest.approx([0.5, 0.6, 0.8, 1.0], abs=0.01)
    for mild, more in pairwise(ALL):
        assert more.each_s < mild.each_s
        assert more.gap_s < mild.gap_s


@pytest.mark.parametrize("one", ALL, ids=lambda p: p.name)
def test_a_tone_neither_clicks_nor_is_cut_off(one: Pattern) -> None:
    sound = heard(one)
    assert sound[0] == sound[-1] == 0.0
    assert np.max(np.abs(sound)) <= 1.0
    steepest = 2 * np.pi * max(one.tones) / RATE * one.loudness
    assert np.max(np.abs(np.diff(sound))) <= steepest * 1.3


@pytest.mark.parametrize(
    ("urgency", "name"),
    [
        (Urgency(4), "alarm"), (Urgency(2), "alarm"), (Urgency(2, 2), "alarm"),
        (Urgency(1), "priority-1"), (Urgency(1, 1), "priority-1-louder"),
        (Urgency(1, 2), "priority-1-loudest"), (Urgency(1, 9), "priority-1-loudest"),
    ],
)  # fmt: skip
def test_each_urgency_has_its_pattern(urgency: Urgency, name: str) -> None:
    assert pattern(urgency).name == name


def test_the_file_is_made_when_it_is_needed_and_again_when_it_is_not_ours(tmp_path: Path) -> None:
    folder = tmp_path / "data" / "horn"
    path = wav_file(folder, LOWER)
    assert path.read_bytes() == wav(LOWER)
    before = path.stat().st_mtime_ns
    assert wav_file(folder, LOWER).stat().st_mtime_ns == before
    path.write_bytes(b"RIFF, cut off")
    assert wav_file(folder, LOWER).read_bytes() == wav(LOWER)
    assert [p.name for p in folder.iterdir()] == ["alarm.wav"]
