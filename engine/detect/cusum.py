r"""Sequential statistics of standardised residuals, and how often they give a false alarm.

.. math:: C = \max(0, C + z - k)

alarms above h. All of it takes z as independent and normal with standard deviation 1; `spread`
tells how much wider sums of residuals that hang together are.

References
----------
.. [1] E. S. Page, Continuous inspection schemes, Biometrika 41, 1954, 100-115.
.. [2] D. Brook and D. A. Evans, An approach to the probability distribution of cusum run length,
   Biometrika 59, 1972, 539-549.
.. [3] J. M. Lucas and R. B. Crosier, Fast initial response for cusum quality-control schemes,
   Technometrics 24, 1982, 199-205: the head start and the two-sided run length.
.. [4] D. Siegmund, Sequential Analysis, Springer, 1985: the corrected approximation.
.. [5] S. V. Crowder, A simple method for studying run-length distributions of exponentially
   weighted moving average charts, Technometrics 29, 1987, 401-407.
"""

from __future__ import annotations

from functools import lru_cache
from math import erf, exp, log, log1p, pi, sqrt

import numpy as np

from engine.block import FloatArray

CORRECTION = 1.166
"""Siegmund's: twice the mean overshoot of a normal random walk. [-]"""
NODES = 200
"""Of the quadrature: six figures for limits up to 20. [-]"""


def step_up(sum_: float, z: float, k: float) -> float:
    """Return the upper sum after one more residual; for the lower one, give it -z. [-]"""
    return max(0.0, sum_ + z - k)


def cusum(z: FloatArray, k: float, start: float = 0.0) -> FloatArray:
    """Return the upper sum after each residual, shape (n,). [-]

    Parameters
    ----------
    z : ndarray
        Standardised residuals, shape (n,). [-]
    k : float
        Reference value: half of the shift it is best for. [-]
    start : float
        Sum before the first of them; half of the limit is the head start of [3]_. [-]
    """
    out, sum_ = np.empty(z.size), start
    for i, x in enumerate(z.tolist()):
        out[i] = sum_ = step_up(sum_, x, k)
    return out


def two_sided(z: FloatArray, k: float, start: float = 0.0) -> tuple[FloatArray, FloatArray]:
    """Return the upper and the lower sum after each residual, both positive, shape (n,). [-]"""
    return cusum(z, k, start), cusum(-z, k, start)


def ewma(z: FloatArray, weight: float, start: float = 0.0) -> FloatArray:
    """Return the exponentially weighted mean after each residual, shape (n,). [-]"""
    out, mean = np.empty(z.size), start
    for i, x in enumerate(z.tolist()):
        out[i] = mean = (1 - weight) * mean + weight * x
    return out


def ewma_limit(weight: float, width: float) -> float:
    """Return where a mean of this weight alarms: `width` of its own standard deviations. [-]"""
    return width * sqrt(weight / (2 - weight))


def siegmund(k: float, h: float, shift: float = 0.0) -> float:
    """Return the average run length of a one-sided sum in residuals, by Siegmund's formula. [-]

    It is 1 per cent off for h of 3 and more and a shift of 0 to 2.
    """
    b, drift = h + CORRECTION, shift - k
    if abs(drift) < 1e-9:
        return b * b
    return (exp(-2 * drift * b) + 2 * drift * b - 1) / (2 * drift * drift)


def limit_for(length: float, k: float) -> float:
    """Return the h whose run length without a shift is `length`, by Siegmund's formula. [-]

    Raises
    ------
    ValueError
        If no limit above 0 is so short, or k is not positive.
    """
    if not k > 0 or not siegmund(k, 0.0) < length:
        raise ValueError(f"no limit: run length {length} with k = {k}; both must be larger")
    b = log1p(2 * k * k * length) / (2 * k)
    for _ in range(60):
        before, b = b, log(1 + 2 * k * b + 2 * k * k * length) / (2 * k)
        if b == before:
            break
    return b - CORRECTION


def spread(correlation: float) -> float:
    """Return how much wider sums of residuals are if neighbours are correlated so. [-]

    That of a first-order autoregression, from 0 to 0.9. A sum with reference k and limit h of
    such residuals runs about as long as one of independent residuals with both divided by it; a
    little longer, so a limit found by it is on the safe side (tests hold it against simulation).
    """
    c = min(max(correlation, 0.0), 0.9)
    return sqrt((1 + c) / (1 - c))


@lru_cache(maxsize=64)
def correlated_limit(length: float, k: float, correlation: float) -> float:
    """Return the h for run length `length` of residuals whose neighbours are correlated. [-]"""
    wide = spread(correlation)
    return wide * limit_for(length, k / wide)


def run_length(k: float, h: float, shift: float = 0.0, start: float = 0.0) -> float:
    """Return the exact average run length of a one-sided sum, in residuals. [-]

    The integral equation of the run length is solved at the nodes of a Gauss-Legendre rule
    (Nystroem), with the atom at 0 beside them.

    Parameters
    ----------
    k, h : float
        Reference value and limit. [-]
    shift : float
        Mean of the residuals. [-]
    start : float
        Head start, from 0 to h. [-]
    """
    y, w = _nodes(0.0, h)
    at = np.concatenate(([0.0], y))
    system = np.empty((at.size, at.size))
    system[:, 0] = _normal(k - shift - at)
    system[:, 1:] = w * _density(y + k - shift - at[:, None])
    length = np.linalg.solve(np.eye(at.size) - system, np.ones(at.size))
    if start == 0.0:
        return float(length[0])
    row = np.concatenate(
        (_normal(np.array([k - shift - start])), w * _density(y + k - shift - start))
    )
    return float(1 + row @ length)


def run_length_two_sided(k: float, h: float, shift: float = 0.0, start: float = 0.0) -> float:
    """Return the exact average run length of an upper and a lower sum together. [-] See [3]_."""
    up0, down0 = run_length(k, h, shift), run_length(k, h, -shift)
    up, down = run_length(k, h, shift, start), run_length(k, h, -shift, start)
    return (up * down0 + down * up0 - up0 * down0) / (up0 + down0)


def run_length_ewma(weight: float, width: float, shift: float = 0.0) -> float:
    """Return the exact average run length of a two-sided exponentially weighted mean. [-]"""
    limit = ewma_limit(weight, width)
    y, w = _nodes(-limit, limit)
    kernel = w / weight * _density((y - (1 - weight) * y[:, None]) / weight - shift)
    length = np.linalg.solve(np.eye(y.size) - kernel, np.ones(y.size))
    from_zero = w / weight * _density(y / weight - shift)
    return float(1 + from_zero @ length)


def _nodes(low: float, high: float) -> tuple[FloatArray, FloatArray]:
    x, w = np.polynomial.legendre.leggauss(NODES)
    half = (high - low) / 2
    return low + half * (x + 1), half * w


def _density(x: FloatArray) -> FloatArray:
    out: FloatArray = np.exp(-0.5 * x * x) / sqrt(2 * pi)
    return out


def _normal(x: FloatArray) -> FloatArray:
    return np.array([0.5 * (1 + erf(v / sqrt(2))) for v in x.tolist()])
