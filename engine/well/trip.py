r"""What pulling pipe does to the level in the hole and to the pressure on bottom.

Numbers are in the units of a constant set (`engine.well.sheet`): SI for `EXACT`; bbl/ft, ft,
psi, ppg for `FIELD`; L/m, m, bar, kg/L for `METRIC`. Where only volumes enter, no set is needed.

*Dry*: the bore drains into the hole as the pipe rises; a metre of pipe leaves its steel `d`.
*Wet*: the bore's mud leaves with the pipe; a metre leaves `d + p`, and only the annulus falls.
A string that a float or a plug *holds* closed leaves its whole outside, `d + p`, wet or dry.

References
----------
.. [1] Pressure decrease when pulling pipe, docs.kws.tn/formulas/1/pressure-decrease.html, and
   www.drillingformulas.com/hydrostatic-pressure-decrease-when-pooh/ , after N. Lapeyrouse,
   Formulas and Calculations for Drilling, Production and Workover.
.. [2] Well-control formulas in bar, kg/L, L/m, kickdrill.com/formulas: metric forms, length to
   lose an overbalance, last collars.
"""

from __future__ import annotations

from engine.well.answer import Answer, Unknown, finite
from engine.well.calculation import Calculation, Input, Output, mud_input
from engine.well.checks import LEAST, not_negative, number, positive, share
from engine.well.kill_mud import floors
from engine.well.sheet import EXACT, ConstantSet


def displaced(steel: float, bore: float, spilled: float = 0.0) -> Answer:
    """What each metre pulled takes out of the hole: ``d + k p`` [1]_. [m3/m]

    Parameters
    ----------
    steel, bore : float
        Steel and bore of the pipe. [m3/m]
    spilled : float
        Share of the bore's mud that does not come back to the hole or the trip tank: 0 dry,
        1 wet or closed, between them with a mud bucket. [-]
    """
    if bad := not_negative(steel=steel, bore=bore) or share(share_spilled=spilled):
        return bad
    return finite(steel + spilled * bore, "the pipe is unknown")


def fill_volume(length: float, taken: float) -> Answer:
    """Mud that fills the hole after a length is pulled: ``L V`` [1]_. [m3]

    Parameters
    ----------
    length : float
        [m]
    taken : float
        What each metre pulled takes, see `displaced`. [m3/m]
    """
    if bad := not_negative(length=length, pipe_volume=taken):
        return bad
    return finite(length * taken, "the length is unknown")


def level_ratio(hole: float, taken: float) -> Answer:
    r"""Fall of the level for each metre pulled without filling, :math:`V / (C - V)` [1]_. [-]

    Parameters
    ----------
    hole : float
        Capacity of the casing or hole at the fluid level, not at the bit. [m3/m]
    taken : float
        What each metre pulled takes, see `displaced`. [m3/m]

    Returns
    -------
    float or Unknown
        [-] Unknown, never negative, if the pipe fills the hole.
    """
    if bad := positive(hole_capacity=hole) or not_negative(pipe_volume=taken):
        return bad
    if taken >= hole:
        return Unknown("the pipe takes all the room in the casing; the fall of level is unknown")
    return finite(taken / (hole - taken), "the annulus is too narrow")


def level_fall(length: float, hole: float, taken: float) -> Answer:
    """Fall of the level after `length` [m] is pulled without filling. [m]

    The pipe left in the hole reaches up to the level.
    """
    ratio = level_ratio(hole, taken)
    if isinstance(ratio, Unknown):
        return ratio
    if bad := not_negative(length_pulled=length):
        return bad
    return finite(length * ratio, "the length is unknown")


def level_fall_out(length: float, hole: float, taken: float) -> Answer:
    """Fall of the level when the last `length` of collars is out of the hole: ``L V / C`` [2]_.

    Parameters
    ----------
    length : float
        Nothing is left in the hole afterwards. [m]
    hole, taken : float
        See `level_ratio`. [m3/m]

    Returns
    -------
    float or Unknown
        [m]
    """
    if bad := not_negative(length_pulled=length, pipe_volume=taken) or positive(hole=hole):
        return bad
    if taken >= hole:
        return Unknown("the collars take all the room in the casing")
    return finite(length * taken / hole, "the hole is unknown")


def pressure_drop(cs: ConstantSet, mud: float, fall: Answer) -> Answer:
    """Pressure on bottom lost to a fall of the level, vertical there. [of the set]

    Parameters
    ----------
    cs : ConstantSet
        Constants and units.
    mud : float
        Mud weight.
    fall : float or Unknown
        From `level_fall` or `level_fall_out`.
    """
    if isinstance(fall, Unknown):
        return fall
    if bad := _mud(cs, mud) or not_negative(fall_of_level=fall):
        return bad
    return finite(cs.hydrostatic * mud * fall, "the mud is unknown")


def length_to_lose(
    cs: ConstantSet, pressure: float, mud: float, hole: float, taken: float
) -> Answer:
    """Length that may be pulled without filling until `pressure` is lost [1]_ [2]_.

    Parameters
    ----------
    cs : ConstantSet
        Constants and units.
    pressure : float
        A limit, or the overbalance; 0 may lose nothing: 0.
    mud : float
        Mud weight.
    hole, taken : float
        See `level_ratio`.

    Returns
    -------
    float or Unknown
        Unknown if the pipe takes no mud at all, for then nothing is ever lost.
    """
    if bad := _mud(cs, mud) or not_negative(pressure=pressure):
        return bad
    ratio = level_ratio(hole, taken)
    if isinstance(ratio, Unknown):
        return ratio
    if ratio < LEAST:
        return Unknown("this pipe takes no mud: no level falls")
    return finite(pressure / (cs.hydrostatic * mud * ratio), "the pipe is too thin")


def slug_gain(volume: float, slug: float, mud: float) -> Answer:
    r"""What a slug gives back at surface, :math:`V (\rho_s / \rho_m - 1)`. From memory. [m3]

    Parameters
    ----------
    volume : float
        Of the slug. [m3]
    slug, mud : float
        Densities, in any one unit; a slug that is not heavier does not sink.

    Returns
    -------
    float or Unknown
        [m3]
    """
    if bad := not_negative(slug_volume=volume) or positive(slug_weight=slug, mud_weight=mud):
        return bad
    if slug < mud:
        return Unknown("the slug is lighter than the mud; it does not keep the pipe dry")
    return finite(volume * (slug / mud - 1), "the mud is unknown")


def dry_length(gain: Answer, bore: float) -> Answer:
    """Length of pipe that a slug keeps empty: what it gave back over the bore. [m]"""
    if isinstance(gain, Unknown):
        return gain
    if bad := not_negative(slug_gain=gain) or positive(bore=bore):
        return bad
    return finite(gain / bore, "the bore is too small")


def _mud(cs: ConstantSet, mud: float) -> Unknown | None:
    if bad := number(mud_weight=mud):
        return bad
    lightest = floors(cs)[1]
    return None if mud >= lightest else Unknown(f"mud weight {mud:g} is lighter than air")


_MUD = mud_input("mud_weight", "mud in the hole")
_HOLE = Input("hole", "capacity", "casing capacity at the fluid level", low=0.0)
_STEEL = Input("steel", "capacity", "open-end displacement of the pipe", low=0.0)
_BORE = Input("bore", "capacity", "bore capacity of the pipe", low=0.0)
_SPILLED = Input("spilled", "ratio", "share of the bore lost: 0 dry, 1 wet or closed", 0, 0, 1)
_SOURCE = "N. Lapeyrouse, Formulas and Calculations for Drilling, Production and Workover"


def _work(
    steel: float, bore: float, spilled: float, hole: float, mud: float, length: float
) -> dict[str, Answer]:
    taken = displaced(steel, bore, spilled)
    if isinstance(taken, Unknown):
        return dict.fromkeys(("fill", "level_fall", "pressure_drop"), taken)
    fall = level_fall(length, hole, taken)
    return {
        "fill": fill_volume(length, taken),
        "level_fall": fall,
        "pressure_drop": pressure_drop(EXACT, mud, fall),
    }


def _lose(v: dict[str, float]) -> Answer:
    taken = displaced(v["steel"], v["bore"], v["spilled"])
    if isinstance(taken, Unknown):
        return taken
    return length_to_lose(EXACT, v["overbalance"], v["mud_weight"], v["hole"], taken)


CALCULATIONS: tuple[Calculation, ...] = (
    Calculation(
        "trip-pressure-drop",
        "fill, fall of level and pressure lost when pipe is pulled without filling",
        (
            Input("length", "length", "length pulled", low=0.0),
            _STEEL, _BORE, _SPILLED, _HOLE, _MUD,
        ),
        (
            Output("fill", "volume", "mud that fills the hole again"),
            Output("level_fall", "length", "fall of the level, if not filled"),
            Output("pressure_drop", "pressure", "pressure lost on bottom, if not filled"),
        ),
        _SOURCE,
        lambda v: _work(
            v["steel"], v["bore"], v["spilled"], v["hole"], v["mud_weight"], v["length"]
        ),
        caution=True,
    ),
    Calculation(
        "length-to-lose-overbalance",
        "length that may be pulled without filling until the overbalance is gone",
        (
            Input("overbalance", "pressure", "pressure above the formation", low=0.0),
            _STEEL, _BORE, _SPILLED, _HOLE, _MUD,
        ),
        (Output("length", "length", "length pulled"),),
        _SOURCE,
        lambda v: {"length": _lose(dict(v))},
        caution=True,
    ),
    Calculation(
        "slug",
        "what a slug gives back, and how much pipe it keeps dry",
        (
            Input("volume", "volume", "of the slug", low=0.0),
            mud_input("slug_weight", "of the slug"),
            _MUD,
            _BORE,
        ),
        (
            Output("gain", "volume", "back at surface"),
            Output("dry_length", "length", "pipe kept dry"),
        ),
        "common practice",
        lambda v: {
            "gain": (g := slug_gain(v["volume"], v["slug_weight"], v["mud_weight"])),
            "dry_length": dry_length(g, v["bore"]),
        },
    ),
)  # fmt: skip
