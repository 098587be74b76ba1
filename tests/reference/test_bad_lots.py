"""Damage by whom: Fisher's test, many tests at once, shrunk rates, against scipy and textbooks.

Sources: `tests/reference/instances.py` (worked examples with their sources); scipy.stats
fisher_exact, false_discovery_control (SciPy 1.17, general-purpose library).
"""

import random

import pytest
from scipy import stats

from kitting.plan.bad_lots import Seen, discoveries, judged, moments, shrunk, tail
from tests.counts import counts
from tests.reference.instances import worked


def test_fisher_s_published_table():
    """[[8, 2], [1, 5]]: both tails together are the published 0.035; one alone is scipy's."""
    (a, b), (c, d) = worked()["q-1"]["inputs"]["table"]
    more = tail([(a, a + b, a + c, a + b + c + d)])
    assert more == pytest.approx(stats.fisher_exact([[a, b], [c, d]], "greater").pvalue, rel=1e-9)
    less = tail([(c, c + d, a + c, a + b + c + d)])
    assert less == pytest.approx(stats.fisher_exact([[c, d], [a, b]], "greater").pvalue, rel=1e-9)
    both = stats.fisher_exact([[a, b], [c, d]]).pvalue
    assert both == pytest.approx(worked()["q-1"]["published"]["p"], rel=1e-9)
    assert more < both


@pytest.mark.parametrize("seed", range(5))
def test_one_group_is_fisher_s_test(seed):
    """Tables drawn from a seed, one-sided, against scipy."""
    dice = random.Random(seed)
    own, others = dice.randint(1, 60), dice.randint(1, 400)
    bad, rest = dice.randint(0, own), dice.randint(0, others)
    table = [[bad, own - bad], [rest, others - rest]]
    theirs = stats.fisher_exact(table, "greater").pvalue
    assert tail([(bad, own, bad + rest, own + others)]) == pytest.approx(theirs, rel=1e-6)


def test_several_groups_are_added_up_exactly():
    """Two groups: every pair of outcomes by scipy's hypergeometric chances."""
    groups = [(3, 10, 5, 40), (1, 4, 6, 9)]
    first, second = (stats.hypergeom(total, bad, own) for _, own, bad, total in groups)
    pairs = ((i, j) for i in range(11) for j in range(5) if i + j >= 4)
    exact = sum(first.pmf(i) * second.pmf(j) for i, j in pairs)
    assert tail(groups) == pytest.approx(exact, rel=1e-9)


@pytest.mark.parametrize("seed", range(5))
def test_many_tests_at_once_are_scipy_s(seed):
    """Which of forty count at 5 %, by Benjamini and Hochberg's adjusted chances."""
    dice = random.Random(seed)
    chances = [dice.random() ** 4 for _ in range(40)]
    adjusted = stats.false_discovery_control(chances)
    assert discoveries(chances, 0.05) == [p <= 0.05 for p in adjusted]


def test_shrunk_rates_of_seventy_groups():
    """Rat tumours in 70 groups: moments and the posterior mean of 4 in 14."""
    example = worked()["q-7"]
    prior = moments(example["inputs"]["counts"], plain=True)
    assert prior == pytest.approx((1.4, 8.6), abs=0.05)
    assert prior[0] / sum(prior) == pytest.approx(example["published"]["mean"], abs=0.0005)
    assert shrunk(*example["inputs"]["new"], prior) == pytest.approx(0.223, abs=0.0006)


def test_chance_alone_spreads_no_rates():
    """40 lots that differ by chance alone are all shown with nearly the rate of all; one of one
    broken is not all of them. The lots are the middles of forty equal parts of scipy's binomial."""
    shares = [(lot + 0.5) / 40 for lot in range(40)]
    counts_ = [(int(bad), 30) for bad in stats.binom.ppf(shares, 30, 0.1)]
    prior = moments(counts_)
    rates = [shrunk(bad, total, prior) for bad, total in counts_]
    assert max(rates) - min(rates) < 0.03
    assert max(bad for bad, _ in counts_) / 30 > 0.2
    assert shrunk(1, 1, moments([(1, 1), (0, 1)])) == pytest.approx(2 / 3)


def test_a_carrier_is_not_blamed_for_its_supplier():
    """North brings only the fragile boxes: beside others it looks bad, within them it does not."""
    seen = [
        Seen("North", "fragile", 30, 100),
        Seen("South", "fragile", 9, 30),
        Seen("South", "sturdy", 1, 300),
    ]
    rows = {row.whose: row for row in judged(seen)}
    assert not rows["North"].watch
    together = {row.whose: row for row in judged(Seen(s.whose, "", s.bad, s.total) for s in seen)}
    assert together["North"].alarm
    alone = judged([Seen("East", "a", 2, 9), Seen("West", "b", 0, 9)])
    assert all(row.alone and row.chance == 1 and not row.alarm for row in alone)


def test_rarely_a_good_lot_is_blamed_and_mostly_a_bad_one_is_found():
    """40 lots of 30 units at 2 %, one at 25 %: the published simulation found it in 89 of 100 runs
    with 0.03 false alarms a run, and 0.04 where none was bad (planning notes, section 6)."""
    dice = random.Random(1)
    runs = counts(8, 150)
    found = false = none = 0
    for _ in range(runs):
        bad = [
            sum(dice.random() < (0.25 if lot == 0 else 0.02) for _ in range(30))
            for lot in range(40)
        ]
        rows = judged(Seen(str(lot), "", n, 30) for lot, n in enumerate(bad))
        found += any(row.alarm for row in rows if row.whose == "0")
        false += sum(row.alarm for row in rows if row.whose != "0")
        good = judged(Seen(str(lot), "", n, 30) for lot, n in enumerate(bad[1:]))
        none += sum(row.alarm for row in good)
    assert found >= 0.75 * runs
    assert false <= 0.2 * runs
    assert none <= 0.2 * runs
