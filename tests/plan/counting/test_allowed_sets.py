"""Leads of fixed length: the shortest allowed set that reaches, and no other."""

import pytest

from kitting.plan.given import CannotCount
from tests.plan.small import counted, thing, way

LEADS = [thing("long"), thing("mid"), thing("short")]
SETS = """
path = { fixed = 100, gap = 1 }
lengths = { long = 2500, mid = 1200, short = 500 }
sets = [["long"], ["mid", "short"], ["short", "short"], ["mid"]]
couples = { need = "couple", of = "lead" }
"""


@pytest.mark.parametrize(
    ("gap", "wanted"),
    [
        (0, {"short": 2}),  # one short lead alone is not allowed, two are
        (900, {"short": 2}),  # 1000 reached exactly
        (901, {"mid": 1}),
        (1100, {"mid": 1}),
        (1101, {"mid": 1, "short": 1}),
        (1601, {"long": 1}),
        (2400, {"long": 1}),
    ],
)
def test_the_shortest_allowed_set_is_taken(gap, wanted):
    """The smallest sum that reaches the path wins; mixtures that are not listed do not exist."""
    assert counted("allowed_sets", SETS, LEADS, gap=gap)[0] == wanted


def test_beyond_the_longest_set_nothing_is_made_up():
    """Two long leads would reach, but nobody allowed them."""
    with pytest.raises(CannotCount, match="no allowed set reaches 2501 mm; the longest is 2500"):
        counted("allowed_sets", SETS, LEADS, gap=2401)


@pytest.mark.parametrize(("gap", "couplings"), [(0, 2), (1000, 0), (1500, 2)])
def test_each_further_piece_raises_a_coupling(gap, couplings):
    """Two gaps with a set of two pieces each take two couplings."""
    _, givings = counted("allowed_sets", SETS, LEADS, number=2, gap=gap)

    assert sum(raised.count for given in givings for raised in given.raises) == couplings


def test_a_set_of_an_item_without_length_is_a_fault():
    """Every item of a set has its length beside it."""
    broken = SETS.replace('["mid"]]', '["moon"]]')

    assert "expected items that have a length, got ['moon']" in way("allowed_sets", broken)[1][0]
