"""Pressure, speed, power and force at the nozzles of the bit.

References
----------
.. [1] A. T. Bourgoyne et al., Applied Drilling Engineering, SPE, 1986, ch. 4.
.. [2] B. Guo and G. Liu, Applied Drilling Circulation Systems, Gulf (2011), pp. 53 and 90.
.. [3] L. H. Robinson, Drill bit nozzle pressure loss, AADE-10-DF-HO-26 (2010): discharge
   coefficients near 1.03 measured, against the customary 0.95.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import isfinite, pi, sqrt

from engine.units import IN
from engine.well.answer import Answer, Unknown, finite
from engine.well.calculation import Calculation, Input, Output, mud_input
from engine.well.friction import FLOW_FLOOR
from engine.well.sheet import POWER_FIELD, numbers

DISCHARGE = 0.95
"""Customary discharge coefficient; calibrate it on the standpipe. [-]"""
AREA_FLOOR = 1e-6
"""Less than a square millimetre is no nozzle. [m2]"""
NOZZLE_32ND = IN / 32
"""Nozzles are sold by this. [m] exact"""


def nozzle_area(nozzles: Sequence[float]) -> Answer:
    """Return the total flow area of nozzles.

    Parameters
    ----------
    nozzles : sequence of float
        Diameters; 0 for a blank. [m] A size 14 is ``14 * NOZZLE_32ND``.

    Returns
    -------
    float or Unknown
        [m2] `Unknown` with no open nozzle, or a diameter that is negative or not a number.
    """
    for i, diameter in enumerate(nozzles, 1):
        if not isfinite(diameter) or diameter < 0:
            return Unknown(f"nozzle {i}: {diameter:g} m is no diameter")
    return _open(sum(pi / 4 * d**2 for d in nozzles))


def _open(area: float) -> Answer:
    if not isfinite(area) or area < AREA_FLOOR:
        return Unknown("no open nozzle")
    return area


def bit_loss(density: float, flow: float, area: Answer, discharge: float = DISCHARGE) -> Answer:
    r"""Return the pressure lost at the bit.

    .. math:: \Delta p = \frac{\rho Q^2}{2 C_d^2 A^2}

    Parameters
    ----------
    density : float
        [kg/m3]
    flow : float
        [m3/s]
    area : Answer
        Total flow area. [m2]
    discharge : float
        Discharge coefficient. [-]

    Returns
    -------
    float or Unknown
        [Pa] 0 below 1 L/min; `Unknown` with no open nozzle, never infinite.
    """
    got = numbers(
        ("density", density, 1.0), ("flow", flow, 0.0), ("discharge coefficient", discharge, 0.1),
        ("nozzle area", area, float("-inf")),
    )  # fmt: skip
    if isinstance(got, Unknown):
        return got
    opening = _open(got[3])
    if isinstance(opening, Unknown):
        return opening
    return 0.0 if flow < FLOW_FLOOR else density * (flow / (discharge * opening)) ** 2 / 2


def jet_speed(flow: float, area: Answer) -> Answer:
    """Return Q / A [m/s]: 0 below 1 L/min, `Unknown` with no open nozzle."""
    got = numbers(("flow", flow, 0.0), ("nozzle area", area, float("-inf")))
    if isinstance(got, Unknown):
        return got
    opening = _open(got[1])
    if isinstance(opening, Unknown):
        return opening
    return 0.0 if flow < FLOW_FLOOR else flow / opening


def hydraulic_power(loss: Answer, flow: float) -> Answer:
    """Return pressure loss x flow. [W]"""
    got = numbers(("pressure loss", loss, 0.0), ("flow", flow, 0.0))
    return got if isinstance(got, Unknown) else finite(got[0] * got[1], "power out of range")


def power_per_area(power: Answer, bit_diameter: float) -> Answer:
    """Return hydraulic power over the area of the *bit* [W/m2]; hp/in2 of it is the HSI.

    Some sheets divide by the flow area of the nozzles, which is another number.
    """
    got = numbers(("power", power, 0.0), ("bit diameter", bit_diameter, 1e-2))
    return got if isinstance(got, Unknown) else got[0] / (pi / 4 * got[1] ** 2)


def impact_force(density: float, flow: float, speed: Answer) -> Answer:
    """Return density x flow x jet speed. [N]"""
    got = numbers(("density", density, 1.0), ("flow", flow, 0.0), ("jet speed", speed, 0.0))
    return got if isinstance(got, Unknown) else got[0] * got[1] * got[2]


def implied_area(density: float, flow: float, loss: float, discharge: float = DISCHARGE) -> Answer:
    """Return the nozzle area that a measured loss speaks of: a plugged or lost nozzle. [m2]

    `Unknown` below 1 L/min or 1 kPa, where the loss says nothing.
    """
    got = numbers(
        ("density", density, 1.0), ("flow", flow, FLOW_FLOOR),
        ("discharge coefficient", discharge, 0.1), ("pressure loss", loss, 1e3),
    )  # fmt: skip
    return got if isinstance(got, Unknown) else flow / discharge * sqrt(density / (2 * loss))


def best_share(exponent: float, aim: str) -> Answer:
    """Return the share of the pump pressure to spend at the bit. [-]

    m / (m + 1) for ``power``, m / (m + 2) for ``impact``, with the losses of the rest of the
    system as Q^m. `Unknown` for another aim.
    """
    got = numbers(("exponent", exponent, 0.1))
    if isinstance(got, Unknown):
        return got
    more = {"power": 1, "impact": 2}.get(aim)
    return Unknown(f"no aim {aim!r}; use power or impact") if more is None else (
        exponent / (exponent + more)
    )  # fmt: skip


def bit_loss_sheet(density: float, flow: float, area: float) -> Answer:
    """Return MW Q^2 / (10858 A^2) [psi] from ppg, gpm, in2; discharge coefficient 0.95."""
    got = numbers(("mud weight", density, 0.0), ("flow", flow, 0.0), ("nozzle area", area, 1e-3))
    return got if isinstance(got, Unknown) else density * flow**2 / (10858 * area**2)


def nozzle_loss_sheet(density: float, flow: float, sizes: Sequence[float]) -> Answer:
    """Return 156 MW Q^2 / (sum of 32nds squared)^2 [psi], as RP 13D (1995) rounds it."""
    squares = sum(n**2 for n in sizes)
    got = numbers(("mud weight", density, 0.0), ("flow", flow, 0.0), ("nozzles", squares, 1.0))
    return got if isinstance(got, Unknown) else 156 * density * flow**2 / squares**2


def jet_speed_sheet(flow: float, area: float) -> Answer:
    """Return 0.3208333 Q / A [ft/s] from gpm and in2."""
    got = numbers(("flow", flow, 0.0), ("nozzle area", area, 1e-3))
    return got if isinstance(got, Unknown) else 0.3208333 * flow / area


def hydraulic_power_sheet(pressure: float, flow: float) -> Answer:
    """Return P Q / 1714 [hp] from psi and gpm."""
    got = numbers(("pressure", pressure, 0.0), ("flow", flow, 0.0))
    return got if isinstance(got, Unknown) else pressure * flow / POWER_FIELD


def power_per_area_sheet(pressure: float, flow: float, bit_diameter: float) -> Answer:
    """Return the HSI, power over bit area [hp/in2], from psi, gpm and in."""
    got = numbers(("power", hydraulic_power_sheet(pressure, flow), 0.0),
                  ("bit diameter", bit_diameter, 0.4))  # fmt: skip
    return got if isinstance(got, Unknown) else got[0] / (pi / 4 * bit_diameter**2)


def impact_force_sheet(density: float, flow: float, speed: float) -> Answer:
    """Return MW Q v / 1930 [lbf] from ppg, gpm and ft/s."""
    got = numbers(("mud weight", density, 0.0), ("flow", flow, 0.0), ("jet speed", speed, 0.0))
    return got if isinstance(got, Unknown) else density * flow * speed / 1930


def _work(given: Mapping[str, float]) -> Mapping[str, Answer]:
    g = given
    area = nozzle_area([g[f"nozzle_{i}"] for i in range(1, 9)])
    loss = bit_loss(g["density"], g["flow"], area, g["discharge"])
    speed = jet_speed(g["flow"], area)
    power = hydraulic_power(loss, g["flow"])
    return {
        "area": area,
        "loss": loss,
        "jet_speed": speed,
        "power": power,
        "power_per_area": power_per_area(power, g["bit_diameter"]),
        "impact": impact_force(g["density"], g["flow"], speed),
    }


CALCULATIONS: tuple[Calculation, ...] = (
    Calculation(
        "bit-hydraulics",
        "Pressure loss, jet speed, hydraulic power and impact at the bit",
        (
            Input("flow", "flow", "pump rate", low=0.0),
            mud_input("density", "mud weight"),
            Input("bit_diameter", "length", "bit diameter", low=0.01),
            *(
                Input(f"nozzle_{i}", "length", f"nozzle {i} (in32 for a size); 0: none",
                      None if i == 1 else 0.0, low=0.0)
                for i in range(1, 9)
            ),
            Input("discharge", "ratio", "discharge coefficient", DISCHARGE, low=0.1, high=1.5),
        ),
        (
            Output("area", "area", "total flow area"),
            Output("loss", "pressure", "pressure lost at the bit"),
            Output("jet_speed", "speed", "jet speed"),
            Output("power", "power", "hydraulic power at the bit"),
            Output("power_per_area", "power_flux", "hydraulic power per bit area (HSI)"),
            Output("impact", "force", "jet impact force"),
        ),
        "Bourgoyne et al., Applied Drilling Engineering, SPE (1986), ch. 4",
        _work,
    ),
)  # fmt: skip
