"""When water boils.

References
----------
.. [1] IAPWS R7-97(2012), Revised Release on the IAPWS Industrial Formulation 1997 for the
   Thermodynamic Properties of Water and Steam, eq. 31 and table 34: good to 1e-3 K in itself.
"""

from __future__ import annotations

from math import sqrt

from engine.well.answer import Answer, Unknown

LOWEST, HIGHEST = 611.213, 22.064e6
"""Pressures for which it holds. [Pa]"""
_N = (
    0.11670521452767e4, -0.72421316703206e6, -0.17073846940092e2, 0.12020824702470e5,
    -0.32325550322333e7, 0.14915108613530e2, -0.48232657361591e4, 0.40511340542057e6,
    -0.23855557567849, 0.65017534844798e3,
)  # fmt: skip


def saturation_temperature(pressure: float) -> Answer:
    """Return the temperature at which water boils. [K]

    Parameters
    ----------
    pressure : float
        Absolute. [Pa]

    Returns
    -------
    float or Unknown
        Unknown outside 611.213 Pa to 22.064 MPa: there is no boiling there.
    """
    if not LOWEST <= pressure <= HIGHEST:
        return Unknown(f"water boils between {LOWEST:g} and {HIGHEST:g} Pa, got {pressure:g}")
    n1, n2, n3, n4, n5, n6, n7, n8, n9, n10 = _N
    b = (pressure / 1e6) ** 0.25
    e = b * b + n3 * b + n6
    f = n1 * b * b + n4 * b + n7
    g = n2 * b * b + n5 * b + n8
    d = 2 * g / (-f - sqrt(f * f - 4 * e * g))
    return float(n10 + d - sqrt((n10 + d) ** 2 - 4 * (n9 + n10 * d))) / 2
