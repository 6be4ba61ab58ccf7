"""Friction in field units, as published, with the sharp change from laminar to turbulent.

For pages and checks that must agree with a hand calculation. ft, in, gpm, ppg, psi, cP,
lbf/100 ft2; dial readings in degrees. Live numbers come from `engine.well.friction`.

Every function gives 0 psi at no flow (a yield point is no friction), and `Unknown` for a
number that is NaN, infinite or negative, for no bore or no annulus, and for a mud without
viscosity.

References
----------
.. [1] API RP 13D, 3rd ed. (1995): power law. At Re 2100 its two branches do not meet (+27 %
   for n = 0.74).
.. [2] B. Guo and G. Liu, Applied Drilling Circulation Systems, Gulf (2011), p. 40: Bingham.
.. [3] A. T. Bourgoyne et al., Applied Drilling Engineering, SPE, 1986, ch. 4: Bingham regime
   (from memory).
"""

from __future__ import annotations

from math import log10

from engine.well.answer import Answer, Unknown, finite
from engine.well.sheet import numbers

TURBULENT = 2100.0
"""Reynolds number from which the sharp forms take the turbulent branch. [-]"""
NO_FLOW = 0.2642
"""One litre a minute. [gpm]"""


def pipe_velocity_sheet(flow: float, bore: float) -> float:
    """Return 0.408 Q / d^2, the velocity in a bore above 0. [ft/s]"""
    return 0.408 * flow / bore**2


def power_law_pipe_sheet(
    flow: float, density: float, bore: float, length: float, r600: float, r300: float
) -> Answer:
    """Return the power-law loss in a bore. [psi]

    n = 3.32 log10(R600 / R300), K = 5.11 R600 / 1022^n [dyn s^n/cm2].
    """
    wrong = _checked(flow, density, length, bore) or _readings("R600", r600, "R300", r300)
    if wrong or flow < NO_FLOW:
        return wrong or 0.0
    n = 3.32 * log10(r600 / r300)
    consistency = 5.11 * r600 / 1022**n
    v = pipe_velocity_sheet(flow, bore)
    viscosity = 100 * consistency * (96 * v / bore) ** (n - 1) * ((3 * n + 1) / (4 * n)) ** n
    return _rp13d(n, viscosity, v, density, bore, length, 16)


def power_law_annulus_sheet(
    flow: float, density: float, hole: float, pipe: float, length: float, r100: float, r3: float
) -> Answer:
    """Return the power-law loss in an annulus. [psi]

    n = 0.657 log10(R100 / R3), K = 5.11 R100 / 170.2^n [dyn s^n/cm2].
    """
    wrong = _checked(flow, density, length, hole - pipe) or _readings("R100", r100, "R3", r3)
    if wrong or flow < NO_FLOW:
        return wrong or 0.0
    n = 0.657 * log10(r100 / r3)
    consistency = 5.11 * r100 / 170.2**n
    gap, v = hole - pipe, 0.408 * flow / (hole**2 - pipe**2)
    viscosity = 100 * consistency * (144 * v / gap) ** (n - 1) * ((2 * n + 1) / (3 * n)) ** n
    return _rp13d(n, viscosity, v, density, gap, length, 24)


def _rp13d(
    n: float, viscosity: float, v: float, density: float, size: float, length: float, laminar: int
) -> Answer:
    reynolds = 928 * size * v * density / viscosity
    factor = laminar / reynolds
    if reynolds >= TURBULENT:
        factor = (log10(n) + 3.93) / 50 / reynolds ** ((1.75 - log10(n)) / 7)
    lost = factor * v**2 * density * length / (25.81 * size)
    return finite(lost, "the flow is too fast for the formula")


def turbulent_annulus_sheet(
    flow: float, density: float, hole: float, pipe: float, length: float, index: float,
    consistency: float,
) -> Answer:  # fmt: skip
    """Return the turbulent power-law loss in an annulus after Guo and Liu. [psi]

    `consistency` is in eq cP: K of their 109,000 form. f = 0.0791 / Re^0.25.

    References
    ----------
    .. [1] B. Guo and G. Liu, Applied Drilling Circulation Systems, Gulf (2011), p. 45.
    """
    wrong = _checked(flow, density, length, hole - pipe)
    if wrong or flow < NO_FLOW:
        return wrong or 0.0
    if not (0.1 < index <= 1 and consistency > 0):
        return Unknown(f"index above 0.1 to 1 and K above 0, got {index:g} and {consistency:g}")
    gap, v = hole - pipe, flow / (2.448 * (hole**2 - pipe**2))
    reynolds = (
        109000 * density * v ** (2 - index) / consistency
        * (0.0208 * gap / (2 + 1 / index)) ** index
    )  # fmt: skip
    lost = 0.0791 / reynolds**0.25 * density * v**2 * length / (21.1 * gap)
    return finite(lost, "the flow is too fast for the formula")


def bingham_pipe_sheet(
    flow: float, density: float, pv: float, yp: float, bore: float, length: float
) -> Answer:
    """Return the Bingham loss in a bore. [psi]

    Laminar (PV v / (1500 d^2) + YP / (225 d)) L, turbulent
    rho^0.75 v^1.75 PV^0.25 L / (1800 d^1.25);
    turbulent from 928 rho v d / (PV + 6.66 YP d / v) = 2100.
    """
    wrong = _checked(flow, density, length, bore) or _viscous(pv, yp)
    if wrong or flow < NO_FLOW:
        return wrong or 0.0
    v = flow / (2.448 * bore**2)
    if 928 * density * v * bore / (pv + 6.66 * yp * bore / v) < TURBULENT:
        return (pv * v / (1500 * bore**2) + yp / (225 * bore)) * length
    return _turbulent(density, v, pv, bore, length, 1800)


def bingham_annulus_sheet(
    flow: float, density: float, pv: float, yp: float, hole: float, pipe: float, length: float
) -> Answer:
    """Return the Bingham loss in an annulus. [psi]

    Laminar as in `bingham_slot_sheet`, turbulent rho^0.75 v^1.75 PV^0.25 L / (1396 c^1.25),
    c = hole - pipe; turbulent from 757 rho v c / (PV + 5 YP c / v) = 2100.
    """
    wrong = _checked(flow, density, length, hole - pipe) or _viscous(pv, yp)
    if wrong or flow < NO_FLOW:
        return wrong or 0.0
    gap, v = hole - pipe, flow / (2.448 * (hole**2 - pipe**2))
    if 757 * density * v * gap / (pv + 5 * yp * gap / v) < TURBULENT:
        return bingham_slot_sheet(v, pv, yp, gap, length)
    return _turbulent(density, v, pv, gap, length, 1396)


def _turbulent(
    density: float, v: float, pv: float, size: float, length: float, divisor: int
) -> Answer:
    lost = density**0.75 * v**1.75 * pv**0.25 * length / (divisor * size**1.25)
    return finite(lost, "the flow is too fast for the formula")


def bingham_slot_sheet(v: float, pv: float, yp: float, gap: float, length: float) -> Answer:
    """Return the laminar loss of a Bingham mud moving at `v` [ft/s] in an annulus. [psi]

    (PV v / (1000 c^2) + YP / (200 c)) L; also the swab and surge form, with the effective
    velocity. 0 at v = 0.
    """
    wrong = _checked(v, 1.0, length, gap) or _viscous(pv, yp)
    if wrong or v == 0:
        return wrong or 0.0
    return (pv * v / (1000 * gap**2) + yp / (200 * gap)) * length


def yield_limit_sheet(yp: float, hole: float, pipe: float, length: float) -> Answer:
    """Return YP L / (200 c), what the laminar annulus form leaves as the flow goes to 0. [psi]

    It belongs to starting circulation; at rest there is no friction.
    """
    wrong = _checked(0.0, 1.0, length, hole - pipe) or _viscous(1.0, yp)
    return wrong or yp / (200 * (hole - pipe)) * length


def herschel_bulkley_annulus_sheet(
    flow: float, hole: float, pipe: float, length: float, readings: tuple[float, ...]
) -> Answer:
    """Return the laminar Herschel-Bulkley loss in an annulus. [psi]

    Parameters
    ----------
    flow, hole, pipe, length : float
        [gpm], [in], [in], [ft]
    readings : tuple of float
        At 600, 300, 6 and 3 rpm. [degrees]

    References
    ----------
    .. [1] API RP 13D, 5th ed. (2006), section 7 (from memory): wall stress
       1.066 (1.5^n ty + k rate^n) lbf/100 ft2, rate = 1.6 G v / c with v in ft/min.
    """
    r600, r300, r6, r3 = readings
    wrong = _checked(flow, 1.0, length, hole - pipe) or _readings("R600", r600, "R300", r300)
    if wrong or flow < NO_FLOW:
        return wrong or 0.0
    stress = 2 * r3 - r6
    if not 0 <= stress < r300:
        return Unknown(f"the yield 2 R3 - R6 must lie from 0 to R300, got {stress:g}")
    n = 3.32 * log10((r600 - stress) / (r300 - stress))
    consistency = (r300 - stress) / 511**n
    v = 24.5 * flow / (hole**2 - pipe**2)
    rate = 1.6 * (2 * n + 1) / (3 * n) * 1.5 * v / (hole - pipe)
    wall = 1.066 * (1.5**n * stress + consistency * rate**n)
    return finite(wall * length / (300 * (hole - pipe)), "the flow is too fast for the formula")


def surface_loss_sheet(coefficient: float, density: float, flow: float) -> Answer:
    """Return the loss in standpipe, hose, top drive: 1e-5 k MW Q^1.86. [psi]

    `coefficient` is 2 to 10, by the size of the surface pipe.

    References
    ----------
    .. [1] Drilling fluid surface pressure losses, eng-info-tech.blogspot.com (2016).
    """
    got = numbers(("coefficient", coefficient, 0.0), ("mud weight", density, 0.0),
                  ("flow", flow, 0.0))  # fmt: skip
    return got if isinstance(got, Unknown) else 1e-5 * coefficient * density * flow**1.86


def _checked(flow: float, density: float, length: float, size: float) -> Unknown | None:
    got = numbers(
        ("flow", flow, 0.0), ("mud weight", density, 0.01), ("length", length, 0.0),
        ("bore or clearance", size, 0.01),
    )  # fmt: skip
    return got if isinstance(got, Unknown) else None


def _viscous(pv: float, yp: float) -> Unknown | None:
    got = numbers(("plastic viscosity", pv, 1e-3), ("yield point", yp, 0.0))
    return got if isinstance(got, Unknown) else None


def _readings(name_a: str, a: float, name_b: str, b: float) -> Unknown | None:
    if 0 < b < a < float("inf"):
        return None
    return Unknown(f"{name_a} must be above {name_b} and both above 0, got {a:g} and {b:g}")
