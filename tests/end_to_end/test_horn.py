"""The watch's own horn, with a real process and a real command as its output."""

from __future__ import annotations

import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest

from adapters.config_file import example_text
from adapters.sqlite_reader import SqliteRecording
from engine.commands import HornTest, Silence, SoundHorn, StopWatch
from engine.records.journal import read
from tests.helpers import eventually

KELLYDOWN = [sys.executable, "-m", "tui.cli"]
ALARM = """
[[alarms]]
id = "string-on"
label = "String on the hook"
channel = "hook_load"
high_kN = 100
priority = 1
on_delay_s = 1
cause = "The test wants an alarm"
consequence = "None"
action = "Acknowledge it, for the test"
time_available_s = 60
limit_reason = "The string weighs more"
"""


@pytest.mark.skipif(sys.platform == "win32", reason="a script as a program")
def test_the_watch_sounds_louder_until_somebody_acts_and_says_what_a_test_gave(
    tmp_path: Path,
) -> None:
    """R-14, R-61: no screen is open; twenty times real time, so that 60 s pass in three."""
    notes, script, well = tmp_path / "notes", tmp_path / "siren.py", tmp_path / "well.toml"
    script.write_text(
        f"import sys\nopen({str(notes)!r}, 'a').write(' '.join(sys.argv[1:]) + '\\n')\n"
    )
    words = [sys.executable, "-I", str(script), "{priority}", "{escalation}"]
    outputs = (
        f'[[horn.outputs]]\nkind = "command"\nname = "siren"\ncommand = {words!r}\n'
        '[[horn.outputs]]\nkind = "relay"\nname = "lamp"\nport = "/dev/no-such-port"\n'
    )
    well.write_text(example_text().partition("[[alarms]]")[0] + ALARM + outputs, "utf-8")
    path = tmp_path / "tour.kdrec"
    watch = subprocess.Popen(
        [*KELLYDOWN, "record", "--well", str(well), "--scenario", "quiet", "--speed", "20",
         "--out", str(path)], stdout=subprocess.DEVNULL,
    )  # fmt: skip

    def heard() -> list[str]:
        return notes.read_text().splitlines() if notes.exists() else []

    try:
        eventually(lambda: "1 2" in heard(), 60.0)
        calls = heard()
        assert calls == sorted(calls)
        assert {"1 0", "1 1", "1 2"} == set(calls)
        with closing(SqliteRecording(path)) as recording:

            def told(name: str) -> list[dict[str, object]]:
                fields = [read(line) for line in recording.journal()]
                return [f for f in fields if f["id"] == name]

            eventually(lambda: bool(told("horn_outputs")), 10.0)
            recording.post(Silence(), "Ines", "doghouse")
            eventually(lambda: bool(told("silence")), 10.0)
            recording.post(SoundHorn(), "Ines", "doghouse")
            eventually(lambda: len(told("horn_outputs")) == 2, 20.0)
            assert heard()[-1] == "1 0"
            recording.post(HornTest(heard=True, outputs="siren"), "Ines", "doghouse")
            recording.post(StopWatch(), "Ines", "doghouse")
            assert watch.wait(20.0) == 0
            for report in told("horn_outputs"):
                assert report["who"] == "watch"
                assert report["working"] in ("siren", "")
                assert str(report["failed"]).startswith("lamp: line RTS of /dev/no-such-port")
            (test,) = told("horn_test")
            assert (test["heard"], test["who"]) == (True, "Ines")
    finally:
        watch.kill()
        watch.wait()
    check = [*KELLYDOWN, "replay", str(path), "--check"]
    assert subprocess.run(check, capture_output=True, check=False).returncode == 0
