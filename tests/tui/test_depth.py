from __future__ import annotations

import pytest

from engine.block import Block, Quality
from engine.snapshot import Reading
from tests.scene import drilling_table, recording
from tests.tui.test_screen import Screen, picture
from tui.widgets.depth import off_bottom


@pytest.mark.parametrize(
    ("bit", "on_bottom", "expected"),
    [
        (100.01, 1.0, 0.0),  # a centimetre below the hole, drilling: stretch and block sensor
        (100.05, None, 0.0),
        (100.07, 1.0, -0.07),  # more than noise is a conflict, and is shown as it is
        (103.0, 1.0, -3.0),
        (99.96, 1.0, 0.0),
        (99.96, 0.0, 0.04),  # off bottom a little is a little
        (99.0, 1.0, 1.0),
    ],
)
def test_off_bottom_is_calm_within_the_noise_and_honest_beyond(
    bit: float, on_bottom: float | None, expected: float
) -> None:
    """Noise of 0.05 m: common practice, no source."""
    got = off_bottom(
        Reading("bit_depth", bit), Reading("hole_depth", 100.0), Reading("on_bottom", on_bottom)
    )
    assert got == pytest.approx(expected, abs=1e-9)


def test_off_bottom_is_unknown_without_both_depths() -> None:
    known, gone = Reading("bit_depth", 1.0), Reading("hole_depth", None)
    assert off_bottom(known, gone, None) is None
    assert off_bottom(gone, known, None) is None


async def shown(table: dict[str, Block], size: tuple[int, int] = (80, 24)) -> str:
    """Return the row of the depths."""
    screen = Screen(recording(table))
    async with screen.app.run_test(size=size) as pilot:
        text = await picture(pilot, screen)
    return next(line for line in text.splitlines() if line.startswith("BIT "))


async def test_a_bit_below_the_hole_is_told_in_words() -> None:
    table = drilling_table()
    table["bit_depth"].value[-1] = table["hole_depth"].value[-1] + 0.2
    row = await shown(table)
    assert "-0.20 m" in row
    assert "BIT BELOW HOLE" in row


@pytest.mark.parametrize(
    ("quality", "words"),
    [(Quality.CONFLICT, "DISPUTED"), (Quality.OLD_REFERENCE, "UNSURE"), (Quality.GOOD, "STANDS")],
)
async def test_a_depth_in_doubt_says_so(quality: Quality, words: str) -> None:
    table = drilling_table()
    table["bit_depth"].quality[-1] = int(quality)
    row = await shown(table)
    assert words in row
    assert ("DISPUTED" in row) == (quality is Quality.CONFLICT)


async def test_the_last_times_in_slips_stand_beside_the_timer() -> None:
    """The scene sets the slips at 701 s and pulls them at 940 s: 3:59."""
    screen = Screen(recording(drilling_table()))
    async with screen.app.run_test(size=(80, 24)) as pilot:
        text = await picture(pilot, screen)
    assert "OUT OF SLIPS 14:19   LAST 3:59" in text
