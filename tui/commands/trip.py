"""``kellydown trip``: the fill card, and the trip sheet stand by stand."""

from __future__ import annotations

import argparse
import json
from contextlib import closing

from engine.config import WellConfig
from engine.records.card_book import CardBook
from engine.records.card_book_text import cards_text
from engine.records.card_stale import views
from engine.records.trip_log import trip_log
from engine.records.trip_text import as_json, trip_summary, trip_text
from engine.well.card_text import card_lines
from engine.well.cards import CardInput
from engine.well.posted import fill_post
from tui.commands.card import book_of, now_of
from tui.commands.common import config_of, open_recording

CARD = "fill-card"


def run(args: argparse.Namespace) -> int:
    """Print the fill card and the trip sheet of a recording."""
    with closing(open_recording(args.recording)) as recording:
        config = config_of(recording.meta())
        log = trip_log(recording, config)
        if args.json:
            print(json.dumps(as_json(log, config, args.recording), allow_nan=False, indent=1))
            return 0
        now = now_of(recording, config)
        posted = [one for one in views(book_of(recording), now) if one.name == CARD]
    if posted:
        print(cards_text(posted, CardBook(config), now))
    else:
        print("\n".join(not_posted(config, now.at)) + "\n")
    print(trip_text(log, config), end="")
    if log:
        print("\n" + "\n".join(trip_summary(log, config)))
    return 0


def not_posted(config: WellConfig, at: float) -> list[str]:
    """Return the card that the well file gives, with a word that nobody has posted it."""
    who = f"file of {config.well}"
    mud = CardInput(
        "mud_weight", "mud in the hole", config.mud.density, "density", who, at, "well file"
    )
    card = fill_post(config, mud, who, at)
    return [
        "NO FILL CARD IS POSTED; this is the one by the well file",
        *card_lines(card, config.display_units()),
    ]
