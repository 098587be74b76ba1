"""What is cut from what: against trying every plan there is."""

import random
from itertools import product

import pytest

from kitting.plan import cutting
from kitting.plan.cutting import EXACT, Plan, Stick, plan, weight
from tests.counts import counts


def lawful(pieces, of, sticks):
    """No stick gives more than it holds: what holds of every plan, whoever made it."""
    loads = {}
    for piece, at in zip(pieces, of, strict=True):
        if at is not None:
            loads[at] = loads.get(at, 0) + piece
    return all(load <= sticks[at].length for at, load in loads.items())


@pytest.mark.parametrize(
    ("pieces", "sticks", "of"),
    [
        ([7000], [(4000, "kept"), (4000, "kept")], (None,)),  # one piece, never a sum
        ([3000], [(3000, "kept"), (50_000, "reel")], (0,)),
        ([3000], [(8000, "kept"), (50_000, "reel")], (1,)),  # 5 m would be left of the piece
        ([3000], [(50_000, "new"), (40_000, "reel")], (1,)),
        ([3000, 3000], [(5000, "kept"), (4000, "kept"), (3100, "kept")], (1, 2)),
        ([2000, 1000], [(3000, "kept"), (2100, "kept"), (1100, "kept")], (0, 0)),
        ([2000, 2000, 2000], [(4100, "kept")], None),  # two are cut, one is not met
    ],
)
def test_the_piece_that_wastes_least_is_cut_and_a_reel_only_then(pieces, sticks, of):
    """Worked by hand."""
    made = plan(pieces, [Stick(*stick) for stick in sticks])
    if of is None:
        assert sorted(map(str, made.of)) == ["0", "0", "None"]
    elif pieces == [3000, 3000]:
        assert (set(made.of), made.exact) == (set(of), True)
    else:
        assert made == Plan(of, True)


@pytest.mark.parametrize("seed", range(counts(25, 300)))
def test_no_plan_is_lighter(seed):
    """Every assignment of up to four pieces to up to five sticks is tried."""
    dice = random.Random(seed)
    pieces = [dice.randrange(350, 6000) for _ in range(dice.randint(1, 4))]
    sticks = [
        Stick(dice.randrange(500, 12_000), dice.choice(("kept", "kept", "reel", "new")))
        for _ in range(dice.randint(1, 5))
    ]
    every = product([None, *range(len(sticks))], repeat=len(pieces))
    least = min(weight(pieces, of, sticks) for of in every if lawful(pieces, of, sticks))

    made = plan(pieces, sticks)
    assert made.exact
    assert lawful(pieces, made.of, sticks)
    assert weight(pieces, made.of, sticks) == least


def test_beyond_ten_pieces_the_plan_says_that_it_is_a_guess():
    """Longest first; nothing is cut twice all the same."""
    pieces = [1000 + 10 * n for n in range(EXACT + 1)]
    sticks = [Stick(2100, cutting.KEPT)] * 4 + [Stick(50_000, cutting.REEL)]
    made = plan(pieces, sticks)

    assert not made.exact
    assert lawful(pieces, made.of, sticks)
    assert None not in made.of


def test_of_nothing_nothing_is_cut():
    """No sticks, or no pieces."""
    assert plan([500], []) == Plan((None,), True)
    assert plan([], [Stick(500, cutting.KEPT)]) == Plan((), True)
