"""One-sided bounds of counts and shares, exact, and quantiles of what may be missed.

References
----------
.. [1] F. Garwood, Fiducial limits for the Poisson distribution, Biometrika 28, 1936, 437-442.
.. [2] C. J. Clopper and E. S. Pearson, The use of confidence or fiducial limits illustrated in
   the case of the binomial, Biometrika 26, 1934, 404-413.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import ceil, exp, lgamma, log, log1p

CONFIDENCE = 0.95
_STEPS = 200


def poisson_upper(seen: int, confidence: float = CONFIDENCE) -> float:
    """Return the greatest mean that would still show as few as `seen`, now and then. [-]

    The mean m at which at most `seen` have the probability 1 - `confidence`: 3.00 for 0.
    """
    if seen < 0:
        raise ValueError(f"poisson: a count of {seen}")

    def at_most(mean: float) -> float:
        return sum(exp(k * log(mean) - mean - lgamma(k + 1)) for k in range(seen + 1))

    high = seen + 10.0 * (seen + 1) ** 0.5 + 10.0
    return _fall(at_most, 1 - confidence, 1e-12, high)


def share_lower(hits: int, n: int, confidence: float = CONFIDENCE) -> float:
    """Return the smallest share that would still give `hits` of `n`, now and then. [-]

    0.861 for 20 of 20; 0 for none. Where nothing was tried it is 0 as well.
    """
    if not 0 <= hits <= n:
        raise ValueError(f"share: {hits} of {n}")
    if hits == 0:
        return 0.0

    def fewer(p: float) -> float:
        q = log(p), log1p(-p)
        return sum(
            exp(lgamma(n + 1) - lgamma(k + 1) - lgamma(n - k + 1) + k * q[0] + (n - k) * q[1])
            for k in range(hits)
        )

    return _fall(fewer, confidence, 1e-12, 1 - 1e-15)


def _fall(falling: Callable[[float], float], level: float, low: float, high: float) -> float:
    """Return where a falling function comes down to `level`, by halving."""
    for _ in range(_STEPS):
        middle = (low + high) / 2
        low, high = (middle, high) if falling(middle) > level else (low, middle)
    return (low + high) / 2


def quantile(values: Sequence[float], share: float) -> float | None:
    """Return the smallest of `values` that at least `share` of them do not exceed; None: empty.

    It is one of the values, never between two: of 20, the 95 % quantile is the 19th.
    """
    if not values:
        return None
    return sorted(values)[max(1, ceil(share * len(values) - 1e-9)) - 1]


def precision(recall: float, false_rate: float, base_rate: float) -> float | None:
    """Return the share of calls that are right; None: there would be no calls. [-]

    Parameters
    ----------
    recall : float
        Share of events that are called. [-]
    false_rate, base_rate : float
        False calls and real events in the same time. [-]
    """
    right = recall * base_rate
    return right / (right + false_rate) if right + false_rate > 0 else None
