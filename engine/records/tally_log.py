"""The tally of the well file against what the block and the slips showed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from engine.config import WellConfig
from engine.records.connection_log import Logged
from engine.well.answer import Answer, Unknown
from engine.well.tally import Stand, Tally

NO_TALLY = Unknown("no tally in the well file: [[tally]] tables with joints_m")
NO_SLIPS = Unknown("no time in slips was recorded")
HALF = 0.5
"""A block that travels more than this share of a stand in slips changed one; a bit nearer than
this to a line of the tally stands on that line. [-]"""


def tally_of(config: WellConfig) -> Tally | Unknown:
    """Return the tally of the well file with no stand in the hole.

    Below its first stand are the parts of the string that have a length, but for the last part.
    """
    if not config.tally:
        return NO_TALLY
    below = sum(part.length or 0.0 for part in config.string[:-1])
    stands = tuple(Stand(n, one.joints) for n, one in enumerate(config.tally, 1))
    return Tally(below, stands, config.rig.stick_up)


def in_hole_at(tally: Tally, bit: float | None, stand: float) -> int | Unknown:
    """Return how many stands hang in the hole with the string in slips.

    Parameters
    ----------
    tally : Tally
    bit : float or None
        Bit depth as measured. [m]
    stand : float
        Nominal length of one. [m]

    Returns
    -------
    int or Unknown
        The line of the tally nearest to `bit`, up to half a stand away. [-]
    """
    if bit is None:
        return Unknown("the bit depth is not known")
    depths = [tally.bha - tally.stick_up]
    depths += [one.bit for one in tally.lines() if not isinstance(one.bit, Unknown)]
    near = min(range(len(depths)), key=lambda n: abs(depths[n] - bit))
    if abs(depths[near] - bit) > HALF * stand:
        return Unknown(
            f"the bit is at {bit:.2f} m; the tally reaches from {depths[0]:.2f} "
            f"to {depths[-1]:.2f} m"
        )
    return near


def change_of(one: Logged, config: WellConfig) -> int | Unknown:
    """Return 1 if a stand was made up while in slips, -1 if broken out, 0 if neither. [-]"""
    if isinstance(one.travel, Unknown):
        return one.travel
    if abs(one.travel) <= HALF * config.rig.stand_length:
        return 0
    return 1 if one.travel > 0 else -1


def stand_changed(one: Logged, tally: Tally | Unknown, config: WellConfig) -> Stand | Unknown:
    """Return the stand of the tally that was made up or broken out while in slips."""
    if isinstance(tally, Unknown):
        return tally
    before = in_hole_at(tally, one.bit_depth, config.rig.stand_length)
    change = change_of(one, config)
    if isinstance(before, Unknown):
        return before
    if isinstance(change, Unknown):
        return change
    if change == 0:
        return Unknown("no stand was made up or broken out")
    number = before + (1 if change > 0 else 0)
    if not 1 <= number <= len(tally.stands):
        return Unknown(f"the tally has no stand {number}; its last one is {len(tally.stands)}")
    return tally.stands[number - 1]


def tally_at_end(log: Sequence[Logged], config: WellConfig, rows: int) -> Tally | Unknown:
    """Return the tally with what is in the hole at the end of a recording of `rows` rows."""
    tally = tally_of(config)
    if isinstance(tally, Unknown):
        return tally
    if not log:
        return NO_SLIPS
    last = log[-1]
    count = in_hole_at(tally, last.bit_depth, config.rig.stand_length)
    change = change_of(last, config) if last.pulled < rows else 0
    if isinstance(count, Unknown):
        return count
    if isinstance(change, Unknown):
        return change
    now = count + change
    if not 0 <= now <= len(tally.stands):
        return Unknown(f"{now} stands are in the hole; the tally has {len(tally.stands)}")
    return replace(tally, in_hole=now)


def bit_by_tally(tally: Tally | Unknown, one: Logged, config: WellConfig) -> Answer:
    """Return the bit depth by tally with the string in the slips of `one`. [m]"""
    if isinstance(tally, Unknown):
        return tally
    count = in_hole_at(tally, one.bit_depth, config.rig.stand_length)
    return count if isinstance(count, Unknown) else replace(tally, in_hole=count).bit_depth
