"""Chances of spares against scipy's own distributions, which the product does not use for them.

Sources: scipy.stats.betanbinom and nbinom (SciPy 1.17, general-purpose library); the identity
"r good pieces from r + s trials" with the binomial distribution is in any textbook of statistics.
"""

import pytest
from scipy import stats

from kitting.plan.spares import Uncertain, chances

RECORDS = [(1, 199), (3, 997), (0.5, 80), (12, 388), (1, 5199)]
NEEDED = [1, 2, 5, 12, 24, 60]


@pytest.mark.parametrize("needed", NEEDED)
@pytest.mark.parametrize(("lost", "good"), RECORDS)
def test_losses_before_enough_are_good_are_beta_negative_binomial(needed, lost, good):
    """SciPy counts failures before `n` successes, each with a chance from Beta(good, lost)."""
    ours = chances(Uncertain("part", needed, 1, lost, good, bag=0))[:8]
    theirs = stats.betanbinom.cdf(range(len(ours)), needed, good, lost)

    assert ours == pytest.approx(theirs, rel=1e-9)


@pytest.mark.parametrize("needed", NEEDED)
@pytest.mark.parametrize("p", [0.002, 0.01, 0.02, 0.05])
def test_with_a_long_record_they_are_negative_binomial(needed, p):
    """A record of 10,000 million pieces leaves no doubt about p: the plain distributions."""
    record = 1e10
    ours = chances(Uncertain("part", needed, 1, p * record, (1 - p) * record, bag=0))[:6]
    spare = range(len(ours))

    assert ours == pytest.approx(stats.nbinom.cdf(spare, needed, 1 - p), rel=1e-6)
    assert ours == pytest.approx([stats.binom.cdf(s, needed + s, p) for s in spare], rel=1e-6)


@pytest.mark.parametrize(
    ("p", "needed", "wanted"),
    [
        (0.01, 20, (2, 3)),
        (0.02, 24, (3, 4)),
        (0.05, 10, (3, 4)),
        (0.002, 100, (2, 3)),
    ],
)  # fmt: skip
def test_spares_for_99_and_999_per_mille(p, needed, wanted):
    """Smallest numbers of spares at 99 % and 99.9 %: computed independently, not published."""
    record = 1e10
    table = chances(Uncertain("part", needed, 1, p * record, (1 - p) * record, bag=0))

    assert wanted == tuple(
        next(s for s, chance in enumerate(table) if chance >= target) for target in (0.99, 0.999)
    )
