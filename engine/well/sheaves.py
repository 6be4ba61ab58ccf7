"""What a dead-line gauge makes of the hook load: sheave friction by direction of travel.

References
----------
.. [1] G. R. Luke and H. C. Juvkam-Wold, The determination of true hook-and-line tension under
   dynamic conditions, SPE Drilling & Completion 8(4), 1993 (from memory): dead-line sheave not
   turning, one efficiency for all rolling sheaves.
"""

from __future__ import annotations


def hoisting_factor(lines: int, efficiency: float) -> float:
    """True hook load over lines times dead-line tension while hoisting. [-]

    Parameters
    ----------
    lines : int
        Lines strung to the block. [-]
    efficiency : float
        Of one rolling sheave, above 0, at most 1. [-]
    """
    if efficiency == 1.0:
        return 1.0
    k = 1 / efficiency
    return float((k**lines - 1) / (lines * (k - 1)))


def lowering_factor(lines: int, efficiency: float) -> float:
    """True hook load over lines times dead-line tension while lowering. [-]

    Parameters
    ----------
    lines : int
        Lines strung to the block. [-]
    efficiency : float
        Of one rolling sheave, above 0, at most 1. [-]
    """
    if efficiency == 1.0:
        return 1.0
    return float((1 - efficiency**lines) / (lines * (1 - efficiency)))
