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
    with pytest.raises(CannotCount) as error:
        counted("allowed_sets", SETS, LEADS, gap=2401)

    assert str(error.value) == (
        "no allowed set reaches 2501 mm; nearest, not taken: 2500 mm by 1 x long;"
        " 1700 mm by 1 x mid + 1 x short; 1200 mm by 1 x mid"
    )


def test_of_two_sets_as_long_the_one_with_fewer_pieces_is_named():
    """Two short leads are as long as one of 1000 mm; the one piece is named."""
    more = SETS.replace("short = 500", "short = 500, one = 1000").replace('["long"]', '["one"]')
    with pytest.raises(CannotCount) as error:
        counted("allowed_sets", more, [*LEADS, thing("one")], gap=2401)

    assert str(error.value) == (
        "no allowed set reaches 2501 mm; nearest, not taken: 1700 mm by 1 x mid + 1 x short;"
        " 1200 mm by 1 x mid; 1000 mm by 1 x one"
    )


def test_every_length_of_a_set_is_a_threshold():
    """The outcome changes where the path passes a set's length."""
    found, _, book = way("allowed_sets", SETS, LEADS)
    figures = {threshold.value for threshold in found.thresholds(book)}

    assert figures == {1000, 1200, 1700, 2500}


@pytest.mark.parametrize(("gap", "couplings"), [(0, 2), (1000, 0), (1500, 2)])
def test_each_further_piece_raises_a_coupling(gap, couplings):
    """Two gaps with a set of two pieces each take two couplings."""
    _, givings = counted("allowed_sets", SETS, LEADS, number=2, gap=gap)

    assert sum(raised.count for given in givings for raised in given.raises) == couplings


def test_a_set_of_an_item_without_length_is_a_fault():
    """Every item of a set has its length beside it."""
    broken = SETS.replace('["mid"]]', '["moon"]]')

    assert "expected items that have a length, got ['moon']" in way("allowed_sets", broken)[1][0]
