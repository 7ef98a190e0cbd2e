"""How much repeated prints are worth, and the quantiles of the beta distribution. Pure numbers, standard library only.

The continued fraction of the incomplete beta function and the design effect are standard textbook results.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

#: How alike two prints of one person, of one region and of one country are, beyond what all prints of the plant share
#: (intraclass correlation). Nobody measured them: they are our own choice, and tests/benchmarks/evidence_coverage.py
#: shows over which true values the intervals keep their promise.
SAME_PERSON = 0.25
SAME_REGION = 0.04
SAME_COUNTRY = 0.04

_TINY = 1e-300
_EXACT = 1e-14


def effective(number: float, alike: float) -> float:
    """Return how many independent prints `number` prints that share something are worth.

    n / (1 + (n - 1) rho): the design effect of Kish for a cluster of n with intraclass correlation rho (`alike`).
    One print is worth one; however many there are, they are never worth more than 1 / rho.
    """
    return number / (1 + (number - 1) * alike) if number > 0 else 0.0


def beta_cdf(x: float, a: float, b: float) -> float:
    """Return the chance that a beta variable with the positive parameters `a` and `b` is at most `x`."""
    if x <= 0 or x >= 1:
        return 0.0 if x <= 0 else 1.0
    front = math.exp(a * math.log(x) + b * math.log1p(-x) + math.lgamma(a + b) - math.lgamma(a) - math.lgamma(b))
    if x < (a + 1) / (a + b + 2):
        return front * _fraction(x, a, b) / a
    return 1 - front * _fraction(1 - x, b, a) / b


def _fraction(x: float, a: float, b: float) -> float:
    """Return the continued fraction of the incomplete beta function, by the rule of Lentz as Thompson changed it."""
    c, d = 1.0, 1 / _away_from_zero(1 - (a + b) * x / (a + 1))
    result = d
    for m in range(1, 10_000):
        for term in (
            m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m)),
            -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1)),
        ):
            d = 1 / _away_from_zero(1 + term * d)
            c = _away_from_zero(1 + term / c)
            result *= c * d
        if abs(c * d - 1) < _EXACT:
            break
    return result


def _away_from_zero(value: float) -> float:
    return value if abs(value) > _TINY else _TINY


def beta_quantile(chance: float, a: float, b: float) -> float:
    """Return the value that a beta variable stays below with this chance: Newton's steps, held in by bisection."""
    low, high, x = 0.0, 1.0, a / (a + b)
    scale = math.lgamma(a + b) - math.lgamma(a) - math.lgamma(b)
    for _ in range(200):
        missed = beta_cdf(x, a, b) - chance
        low, high = (low, x) if missed > 0 else (x, high)
        if high - low < _EXACT:
            break
        slope = math.exp(scale + (a - 1) * math.log(x) + (b - 1) * math.log1p(-x))
        step = x - missed / slope if slope > 0 else low
        after = step if low < step < high else (low + high) / 2
        if abs(after - x) < _EXACT * x or not 0 < after < 1:
            break
        x = after
    return x


def beta_interval(a: float, b: float, share: float = 0.9) -> tuple[float, float]:
    """Return the interval that leaves out the same chance on either side and holds `share` of it.

    A parameter of zero puts everything at one end.
    """
    if a <= 0 or b <= 0:
        return (0.0, 0.0) if a <= 0 else (1.0, 1.0)
    outside = (1 - share) / 2
    return beta_quantile(outside, a, b), beta_quantile(1 - outside, a, b)


def passed_down(alpha: Sequence[float], alike: float) -> tuple[float, ...]:
    """Return what the Dirichlet distribution of a whole says of one of its members.

    The mean stays. A member scatters about the whole with intraclass correlation `alike`; by the law of total
    variance a concentration K becomes K* with 1 / (K* + 1) = 1 / (K + 1) + K / (K + 1) rho, which is `effective`
    of K + 1.
    """
    total = sum(alpha)
    kept = effective(total + 1, alike) - 1
    return tuple(each * kept / total for each in alpha)
