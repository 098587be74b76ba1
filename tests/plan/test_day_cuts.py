"""A day's cuts against trying every plan there is, and by hand."""

import random
from itertools import product

import pytest

from kitting.plan import day_cuts
from kitting.plan.day_cuts import Job, Ready, Stick, Weights, plan
from kitting.plan.day_proof import cost
from kitting.plan.equal_lengths import fewest
from tests.counts import counts

BY = Weights(useful=1500, opened=4000, kept=200, ready=300, allowance=0, missing=100_000)


def every(job):
    """The cheapest of all plans, by trying each."""
    ways = [
        *(("stick", at) for at in range(len(job.sticks))),
        *(("ready", at) for at in range(len(job.ready))),
        None,
    ]
    best = None
    for taken in product(ways, repeat=len(job.pieces)):
        sticks, ready = {}, {}
        for piece, way in enumerate(taken):
            if way and way[0] == "stick":
                sticks.setdefault(way[1], []).append(piece)
            elif way:
                ready[piece] = way[1]
        if lawful(job, sticks, ready):
            here = cost(job, sticks, ready)
            best = here if best is None else min(best, here)
    return best


def lawful(job, sticks, ready):
    """Whether no stick gives more than it holds and no ready-made length is cut or taken twice."""
    own = job.weights.allowance
    long = all(
        sum(job.pieces[piece] + own for piece in load) <= job.sticks[at].length
        for at, load in sticks.items()
    )
    fits = all(job.pieces[piece] <= job.ready[at].length for piece, at in ready.items())
    few = all(list(ready.values()).count(at) <= one.stock for at, one in enumerate(job.ready))
    return long and fits and few


@pytest.mark.parametrize("seed", range(counts(8, 100)))
def test_no_plan_is_cheaper(seed):
    """Up to four pieces, four sticks and two ready-made lengths: the proof is right."""
    dice = random.Random(seed)
    pieces = [dice.randrange(350, 6000) for _ in range(dice.randint(1, 4))]
    sticks = [
        Stick(dice.randrange(500, 12_000), dice.random() < 0.3) for _ in range(dice.randint(1, 4))
    ]
    ready = [Ready(dice.randrange(500, 5000), dice.randint(0, 2)) for _ in range(2)]
    by = BY._replace(allowance=dice.choice((0, 30)))
    found = plan(pieces, sticks, ready, by, tries=300 * (seed % 2))

    job = Job(tuple(pieces), tuple(sticks), tuple(ready), by)
    assert lawful(job, found.sticks, found.ready)
    assert (found.cost, found.within) == (every(job), 0)
    assert found.cost == cost(job, found.sticks, found.ready)


@pytest.mark.parametrize(
    ("pieces", "sticks", "cut", "worth"),
    [
        ([3000], [Stick(4000), Stick(9000)], {1: [0]}, 200),  # of 4 m one metre would be scrap
        ([3000], [Stick(3100), Stick(9000)], {0: [0]}, 100),
        ([3000], [Stick(50_000, True), Stick(4400)], {1: [0]}, 1400),  # no new reel is opened
        ([2000, 1000], [Stick(3000), Stick(2000), Stick(9000)], {0: [0, 1]}, 0),
    ],
)
def test_scrap_reels_and_rests_are_weighed(pieces, sticks, cut, worth):
    """Worked by hand: mm of scrap, 4,000 for a reel, 200 for a useful rest."""
    found = plan(pieces, sticks, (), BY)
    assert (found.sticks, found.cost, found.within) == (cut, worth, 0)


def test_a_piece_that_nothing_holds_is_said_to_be_missing():
    """One piece is one piece, never a sum of two."""
    found = plan([7000, 2000], [Stick(4000), Stick(4000)], (), BY)
    assert (found.missing, found.within) == ((0,), 0)


def test_an_allowance_is_taken_by_each_cut_and_by_no_ready_made_length():
    """Two pieces of 2 m do not come from 4 m where a cut takes 30 mm; a ready-made 2 m does."""
    by = BY._replace(allowance=30)
    assert plan([2000, 2000], [Stick(4000)], (), by).missing
    found = plan([2000, 2000], [Stick(4000)], [Ready(2000, 1)], by)
    assert (len(found.ready), found.missing) == (1, ())


def test_the_firm_s_weights_are_the_table_s():
    """The table names every weight once."""
    assert day_cuts.weights() == BY


@pytest.mark.parametrize("pieces", [[13], [5, 0], [-1]])
def test_pieces_that_no_stick_holds_are_refused(pieces):
    """With what was expected and what came."""
    with pytest.raises(ValueError, match="expected pieces of 1 to 12"):
        fewest(pieces, 12)


def test_nothing_wanted_takes_no_stick():
    """An empty day."""
    assert fewest([], 12).proven
    assert plan([], [Stick(4000)], (), BY).cost == 0
