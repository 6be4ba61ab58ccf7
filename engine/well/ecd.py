"""Mud columns and equivalent circulating density (ECD), in any constant set.

Heights are true vertical. The friction is that of the annulus above the point, never the
standpipe pressure.

References
----------
.. [1] IADC WellSharp formula sheet (2016); IWCF formula sheet, field units (2000).
"""

from __future__ import annotations

from collections.abc import Mapping

from engine.well.answer import Answer, Unknown, first_unknown
from engine.well.calculation import Calculation, Input, Output, mud_input
from engine.well.kill_mud import equivalent_density, hydrostatic
from engine.well.sheet import EXACT, ConstantSet, numbers


def circulating_density(cs: ConstantSet, density: float, loss: Answer, tvd: float) -> Answer:
    """Return mud weight + annular friction / (constant x depth).

    Parameters
    ----------
    cs : ConstantSet
    density : float
        Of the mud. [unit of `cs`]
    loss : Answer
        Friction in the annulus above the point; 0 with the pumps off. [unit of `cs`]
    tvd : float
        True vertical depth of the point. [unit of `cs`]

    Returns
    -------
    float or Unknown
        The mud weight itself at no friction (the caller labels it static); `Unknown` above
        1 m of true vertical depth.
    """
    if isinstance(loss, Unknown):
        return loss
    got = numbers(("friction", loss, 0.0))
    extra = equivalent_density(cs, loss, tvd)
    unknown = first_unknown(hydrostatic(cs, density, tvd), extra)
    if isinstance(got, Unknown) or unknown or isinstance(extra, Unknown):
        return got if isinstance(got, Unknown) else unknown or extra
    return density + extra


def rule_of_thumb_sheet(density: float, yp: float, hole: float, pipe: float) -> Answer:
    """Return MW + 0.1 YP / (hole - pipe) [ppg], from lbf/100 ft2 and in.

    References
    ----------
    .. [1] Quick reference book of formulas of a well-control school (2007/2014).
    """
    got = numbers(("mud weight", density, 0.0), ("yield point", yp, 0.0),
                  ("clearance", hole - pipe, 0.01))  # fmt: skip
    return got if isinstance(got, Unknown) else got[0] + 0.1 * got[1] / got[2]


def level_fall(cs: ConstantSet, volume: float, capacity: float, density: float) -> Answer:
    """Return the pressure lost when `volume` is lost from a vertical space of `capacity`."""
    got = numbers(("volume", volume, 0.0), ("capacity", capacity, 1e-9))
    return got if isinstance(got, Unknown) else hydrostatic(cs, density, got[0] / got[1])


def pressure_at_top(base_pressure: float, gradient: float, height: float) -> Answer:
    """Return the pressure at the top of a column standing on `base_pressure`.

    Any units that belong together. `Unknown` where the column outweighs its base.
    """
    got = numbers(("pressure", base_pressure, 0.0), ("gradient", gradient, 0.0),
                  ("height", height, 0.0))  # fmt: skip
    if isinstance(got, Unknown):
        return got
    top = base_pressure - gradient * height
    return top if top >= 0 else Unknown("the column is heavier than the pressure below it")


def _work(given: Mapping[str, float]) -> Mapping[str, Answer]:
    g = given
    return {
        "hydrostatic": hydrostatic(EXACT, g["mud_weight"], g["tvd"]),
        "ecd": circulating_density(EXACT, g["mud_weight"], g["annular_loss"], g["tvd"]),
    }


CALCULATIONS: tuple[Calculation, ...] = (
    Calculation(
        "circulating-density",
        "Hydrostatic pressure and equivalent circulating density",
        (
            mud_input("mud_weight", "mud weight"),
            Input("annular_loss", "pressure", "friction in the annulus above the point", low=0.0),
            Input("tvd", "length", "true vertical depth of the point", low=0.0),
        ),
        (
            Output("hydrostatic", "pressure", "pressure of the mud column"),
            Output("ecd", "density", "equivalent circulating density"),
        ),
        "IADC WellSharp formula sheet (2016), exact constants",
        _work,
        caution=True,
    ),
)
