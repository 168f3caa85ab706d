"""How rare a figure is where nothing but chance is at work: the tails of the normal and the chi-square distribution.

Closed forms of a few lines, so that a check need not wait for a statistics library to load.
"""

import math
from functools import lru_cache
from statistics import NormalDist

_NORMAL = NormalDist()
SIGNIFICANCE, POWER = 0.001, 0.8
SETTLED = 1e-12  # of a limit, to which it is found
NOTICEABLE = _NORMAL.inv_cdf(1 - SIGNIFICANCE / 2) + _NORMAL.inv_cdf(POWER)
"""4.132: what a slip must be, in sigmas of what shows of it, to be noticed in four cases of five (Baarda 1968)."""


def two_sided(share: float) -> float:
    """Return how many sigmas a normal figure leaves, to either side, in *share* of all cases.

    >>> [round(two_sided(share), 4) for share in (0.05, 0.01, 0.001)]
    [1.96, 2.5758, 3.2905]
    """
    return _NORMAL.inv_cdf(1 - share / 2)


def beyond(chi2: float, freedom: int) -> float:
    """Return in what share of cases chance makes a chi-square of *freedom* larger than *chi2*.

    Abramowitz and Stegun 26.4.4 and 26.4.5 (from memory): finite sums for whole degrees of freedom. Each term is
    taken by its logarithm, so that none overflows.

    >>> round(beyond(3.841459, 1), 6), round(beyond(18.307038, 10), 6)
    (0.05, 0.05)
    """
    half = chi2 / 2
    if freedom < 1 or half <= 0:
        return 1.0
    odd = freedom % 2
    first = math.erfc(math.sqrt(half)) if odd else 0.0
    powers = [k + 0.5 if odd else float(k) for k in range(freedom // 2)]
    terms = (math.exp(power * math.log(half) - half - math.lgamma(power + 1)) for power in powers)
    return min(1.0, first + math.fsum(terms))


@lru_cache(maxsize=64)
def limit(share: float, freedom: int) -> float:
    """Return the chi-square of *freedom* that chance goes beyond in *share* of cases.

    >>> round(limit(0.05, 47), 2), round(limit(0.05, 42), 2)
    (64.0, 58.12)
    """
    if freedom < 1:
        return 0.0
    low, high = 0.0, freedom + 40.0 * math.sqrt(2 * freedom) + 40
    while high - low > SETTLED * high:
        middle = (low + high) / 2
        low, high = (middle, high) if beyond(middle, freedom) > share else (low, middle)
    return high
