"""Entering a card on the engine: it is kept, or the journal says why not."""

from __future__ import annotations

from typing import TYPE_CHECKING

from engine.commands import EnterStandpipe, Issued
from engine.errors import InputError
from engine.well.answer import Unknown
from engine.well.well_file import reading_of

if TYPE_CHECKING:
    from engine.engine import Engine


def enter(engine: Engine, issued: Issued) -> dict[str, str]:
    """Keep the card, slow rate or reading of `issued`; a reading is what the model meets now.

    Returns
    -------
    dict
        What the journal adds: ``refused``, in words, if it was not kept.
    """
    try:
        engine.cards = engine.cards.taken(issued)
    except InputError as error:
        return {"refused": str(error)}
    command = issued.command
    if isinstance(command, EnterStandpipe):
        reading = reading_of(command.pressure, command.flow, command.bit_depth)
        assert not isinstance(reading, Unknown)  # the book would have refused it
        engine.pipeline.hydraulics.calibrate(reading)
    return {}
