"""``kellydown card`` and ``cards`` as a person types them, on a watch that runs (R-67)."""

from __future__ import annotations

import json
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from adapters.config_file import example_text
from adapters.sqlite_reader import SqliteRecording
from engine.engine import Engine
from engine.records.recompute import compare
from engine.well.cards import CAUTION
from tests.cards import CONFIG, running_watch
from tests.commands import Said, done, kellydown

SLOW = ("pump=1", "rate=30spm", "pressure=310psi", "density=1.05sg")
LIMIT = ("highest_mud_weight=15.5ppg", "shoe_tvd=1180m", "casing=casing 9 5/8")
SHEET = (
    "mud_weight=1.05sg", "tvd=2405m", "sidpp=400psi", "sicp=520psi", "gain=20bbl",
    "string_volume=22m3", "open_hole_volume=30m3", "cased_volume=28m3", "shoe_tvd=1180m",
    "test_mud_weight=1.05sg", "test_pressure=1500psi", "pipe_annulus=24l_m",
)  # fmt: skip


@pytest.fixture(scope="module")
def tour(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("cards") / "tour.kdrec"


@pytest.fixture(scope="module")
def watch(tour: Path) -> Iterator[Engine]:
    with running_watch(tour) as engine:
        yield engine


def card(name: str, tour: Path, *words: str, by: str = "Ines") -> Said:
    return kellydown("card", name, tour, *words, "--by", by)


@pytest.mark.usefixtures("watch")
def test_a_slow_rate_is_entered_shown_and_kept_with_its_age(tour: Path) -> None:
    said = card("slow-rate", tour, *SLOW, "string=BHA 5")
    assert said.code == 0, said
    assert "pump 1, 30 spm       2137 kPa" in said.out
    assert "0.0 h ago: pump 1, 30 spm, 2137 kPa  Ines" in said.out
    assert "bit at 2400.00 m, BHA 5" in said.out
    assert "(assumed: no two rates" in " ".join(said.out.split())
    assert " ".join(said.out.split()).count(CAUTION) == 1


@pytest.mark.usefixtures("watch")
def test_a_changed_mud_weight_marks_the_posted_card_stale(tour: Path) -> None:
    """R-67. First as the sensor has it, then as a person enters it with another card."""
    assert card("maasp-field", tour, "mud_weight=density_in", *LIMIT).code == 0
    shown = kellydown("card", "maasp-field", tour)
    assert shown.code == 0
    assert "1050 kg/m³  Ines" in shown.out
    assert "channel density_in" in shown.out
    assert "STALE" not in shown.out
    assert card("fill-card", tour, "mud_weight=1.12sg", by="Ola").code == 1  # the sensor: 1050
    shown = kellydown("card", "maasp-field", tour)
    assert shown.code == 1
    assert "STALE  MAASP, casing 9 5/8   (field sheet)" in shown.out
    assert "! mud in the hole: was 1050 kg/m³, now 1120 kg/m³, as entered by Ola" in shown.out


@pytest.mark.usefixtures("watch")
def test_sheets_of_two_constant_sets_stand_side_by_side(tour: Path) -> None:
    for name, constants in (("kill-sheet", "exact"), ("kill-sheet-metric", "metric sheet")):
        assert f"Kill sheet   ({constants})" in card(name, tour, "pump=2", *SHEET).out
    cards = json.loads(kellydown("cards", tour, "--json").out)["cards"]
    sheets = {one["card"]: one for one in cards if one["title"] == "Kill sheet"}
    assert set(sheets) == {"kill-sheet", "kill-sheet-metric"}
    for one in sheets.values():
        icp = next(o for o in one["outputs"] if o["text"] == "ICP")
        assert icp["value"] is None  # G28: nothing was read on pump 2
        assert icp["unknown"] == "no slow rate for the pump on line"
    depth = next(i for i in sheets["kill-sheet"]["inputs"] if i["name"] == "bit_depth")
    assert (depth["value"], depth["origin"]) == (2400.0, "channel bit_depth")


def test_a_reading_of_the_standpipe_calibrates_the_watch(watch: Engine, tour: Path) -> None:
    said = card("standpipe", tour, "pressure=11MPa", "flow=45l_s", "depth=2400m", by="Ola")
    assert "Standpipe reading" in said.out
    reading = watch.pipeline.hydraulics.state.reading
    assert reading is not None
    assert (reading.pressure, reading.flow, reading.bit_depth) == pytest.approx((11e6, 0.045, 2400))
    far = card("standpipe", tour, "pressure=90MPa", "flow=45l_s", "depth=2400m")
    assert far.code == 2
    assert "times the model's; check its unit" in far.err


@pytest.mark.parametrize(
    ("name", "words", "complaint"),
    [
        ("kill-card", ("a=1",), "no card 'kill-card'; did you mean"),
        ("slow-rate", ("pump=1", "rate=30", "pressur=1psi"), "rate=30: say the unit"),
        ("slow-rate", ("pump=1", "rate=30", "pressur=1psi"), "no input 'pressur'"),
        ("slow-rate", SLOW[1:], "pump is missing: pump=1"),
        ("slow-rate", SLOW[:2], "pressure is missing"),
        ("slow-rate", ("pump=7", *SLOW[1:]), "no pump '7' in the well file; there are 1, 2"),
        ("slow-rate", (*SLOW, "rate=20spm"), "rate is given twice"),
        ("fill-card", ("mud_weight=-1sg",), "mud_weight is -1000 kg/m³; it must be above 0"),
        ("fill-card", ("mud_weight=12sg",), "it must be at most 3000 kg/m³"),
        ("fill-card", ("mud_weight=1psi",), "is a unit of pressure"),
        ("fill-card", ("mud_weight",), "write name=number"),
        ("maasp", ("mud_weight=1sg", *LIMIT[:2]), "casing is missing: casing 9 5/8"),
        ("maasp", ("mud_weight=standpipe_pressure", *LIMIT), "standpipe_pressure measures pressur"),
        ("maasp", ("mud_weight=density_out", *LIMIT), "has shown nothing good for a minute"),
        ("kill-sheet", ("sidpp=standpipe_pressure",), "a pressure is read on the gauge and typed"),
    ],
)
@pytest.mark.usefixtures("watch")
def test_what_cannot_be_entered_is_said_before_it_is_posted(
    name: str, words: tuple[str, ...], complaint: str, tour: Path
) -> None:
    with closing(SqliteRecording(str(tour))) as recording:
        before = recording.journal()
    said = card(name, tour, *words)
    assert said.code == 2, said
    assert complaint in said.err
    with closing(SqliteRecording(str(tour))) as recording:
        assert not [x for x in recording.journal(before[-1].seq) if '"enter_' in x.text]


@pytest.mark.usefixtures("watch")
def test_a_card_needs_a_name_and_a_name_needs_a_card(tour: Path) -> None:
    assert "--by WHO: write who enters it" in kellydown("card", "slow-rate", tour, *SLOW).err
    assert "nothing to enter" in card("slow-rate", tour).err
    none = kellydown("card", "kill-sheet-field", tour)
    assert (none.code, none.out) == (1, "no kill-sheet-field has been entered\n")


def test_without_a_watch_nothing_can_be_entered_and_everything_can_be_read(tmp_path: Path) -> None:
    path = tmp_path / "tour.kdrec"
    with running_watch(path):
        assert card("fill-card", path, "mud_weight=1.05sg").code == 0
    said = card("fill-card", path, "mud_weight=1.05sg")
    assert said.code == 1
    assert "no watch is writing this recording" in said.err
    assert "Fill card   (exact)" in done("card", "fill-card", path).out
    heavy = tmp_path / "heavy.toml"
    heavy.write_text(example_text().replace("density_sg = 1.05", "density_sg = 1.4"), "utf-8")
    stale = kellydown("cards", path, "--well", heavy)
    assert stale.code == 1
    assert "now 1400 kg/m³, well file" in stale.out


def test_a_watch_that_goes_on_still_has_the_cards(tmp_path: Path) -> None:
    path = tmp_path / "tour.kdrec"
    with running_watch(path) as first:
        assert card("slow-rate", path, *SLOW).code == 0
        assert card("kill-sheet", path, "pump=1", *SHEET).code == 0
        assert card("standpipe", path, "pressure=11MPa", "flow=45l_s", "depth=2400m").code == 0
        kept = first.cards
    assert len(kept.cards) == 2
    assert len(kept.slow_rates) == 1
    with running_watch(path) as second:
        assert second.cards == kept
        assert second.pipeline.hydraulics.state.reading is not None
        assert "ICP                      4895 kPa" in kellydown("card", "kill-sheet", path).out
    with closing(SqliteRecording(str(path))) as recording:
        assert compare(recording, CONFIG) == []
