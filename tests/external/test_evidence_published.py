"""The numbers behind contributed evidence, against other implementations and published worked examples."""

from __future__ import annotations

import random

import pytest
from scipy.stats import beta, binomtest

from folioproof.intervals import beta_cdf, beta_interval, beta_quantile, effective


def test_the_beta_distribution_is_that_of_scipy() -> None:
    rng = random.Random(1)
    for _ in range(2000):
        a, b = 10 ** rng.uniform(-2, 4), 10 ** rng.uniform(-2, 4)
        chance = rng.choice([0.05, 0.95, rng.random()])
        found = beta_quantile(chance, a, b)
        assert found == pytest.approx(float(beta.ppf(chance, a, b)), abs=1e-11)
        x = rng.random()
        assert beta_cdf(x, a, b) == pytest.approx(float(beta.cdf(x, a, b)), abs=1e-11)


@pytest.mark.parametrize(
    ("successes", "trials", "low", "high"),
    [(81, 263, 0.2527, 0.3676), (15, 148, 0.0578, 0.1617), (0, 20, 0.0, 0.1684), (1, 29, 0.0009, 0.1776)],
)
def test_exact_intervals_are_those_of_a_published_table(successes: int, trials: int, low: float, high: float) -> None:
    """Newcombe, R. G. (1998) Statistics in Medicine 17:857-872, table I, method 5 (Clopper and Pearson, 95 %).

    The table was read as the test suites of two public statistics packages repeat it, not in the journal. The limits
    are quantiles of two beta distributions.
    """
    lower = beta_quantile(0.025, successes, trials - successes + 1) if successes else 0.0
    upper = beta_quantile(0.975, successes + 1, trials - successes)
    assert (round(lower, 4), round(upper, 4)) == (low, high)
    theirs = binomtest(successes, trials).proportion_ci(0.95, method="exact")
    assert (lower, upper) == pytest.approx((float(theirs.low), float(theirs.high)))


def test_an_interval_leaves_out_the_same_chance_on_either_side() -> None:
    low, high = beta_interval(3.4, 1.7)
    assert (float(beta.cdf(low, 3.4, 1.7)), float(beta.sf(high, 3.4, 1.7))) == pytest.approx((0.05, 0.05))


def test_a_worked_design_effect() -> None:
    """mycalcbuddy.com/statistics/design-effect-calculator: clusters of 20, correlation 0.05, design effect 1.9500.

    The formula is Kish's; rdocumentation.org gives it the name in the package Hmisc (`deff`).
    """
    assert 20 / effective(20, 0.05) == pytest.approx(1.95)
