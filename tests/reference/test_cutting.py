"""Cuts against published lists with known optima, and against the best known of days of cable.

Sources: `tests/reference/instances.py`. `make prove` takes all of them, `make test` the quick ones.
"""

import pytest

from kitting.plan import day_cuts
from kitting.plan.day_cuts import Ready, Stick, Weights
from kitting.plan.day_proof import cost
from kitting.plan.equal_lengths import fewest
from tests.counts import FULL
from tests.reference.instances import instances, named, worked

CLASSIC = named(key="items")
LONG = ("HARD", "Hard28", "Waescher", "Falkenauer_t", "Falkenauer_u5")
"""Those that take from half a second to ten."""
QUICK = [name for name in CLASSIC if not name.startswith(LONG)] + ["Falkenauer_t60_07"]
CABLE = named("cable_", "pieces_cm")
SOME = ["cable_5_tight_3", "cable_10_tight_4", "cable_20_tight_1", "cable_40_tight_3"]
SECONDS = 10.0
"""Of a core, for each list."""
FEW = 45
"""Of 51: so many at least are proven."""


def packed(name):
    """The plan of a list; a lawful one, on the right side of the published optimum."""
    row = instances()[name]
    found = fewest(row["items"], row["capacity"], SECONDS)
    assert sorted(piece for stick in found.sticks for piece in stick) == sorted(row["items"])
    assert max(map(sum, found.sticks)) <= row["capacity"]
    assert found.bound <= row["optimum"] <= len(found.sticks)
    return found


@pytest.mark.parametrize("name", QUICK)
def test_the_fewest_sticks_are_found_and_proven(name):
    """The published optimum, and a bound that meets it."""
    assert packed(name).proven


def test_two_worked_examples():
    """13 widths from 73 rolls of 5.6 m, 11 pieces from four sticks; both from memory."""
    rolls, bins = worked()["cs-1"]["inputs"], worked()["cs-2"]["inputs"]
    widths = [w for w, n in zip(rolls["lengths"], rolls["demand"], strict=True) for _ in range(n)]
    assert len(fewest(widths, rolls["stock_length"]).sticks) == 73
    assert fewest(widths, rolls["stock_length"]).proven
    assert len(fewest(bins["items"], bins["capacity"]).sticks) == 4


@pytest.mark.skipif(not FULL, reason="runs in make prove: two minutes")
def test_nearly_all_classic_lists_are_proven():
    """51 lists of 50 to 500 pieces."""
    assert len(CLASSIC) == 51
    open_ones = [name for name in CLASSIC if not packed(name).proven]
    print("not proven:", ", ".join(open_ones) or "none")
    assert len(open_ones) <= len(CLASSIC) - FEW


def asked(row):
    """A day of cable as the planner takes it, cm instead of mm."""
    price = row["costs"]
    by = Weights(
        useful=row["min_useful_cm"],
        opened=price["open"],
        kept=price["useful"],
        ready=round(1000 * price["ready"]),
        allowance=0,
        missing=10_000,
    )
    reels = [
        Stick(one["length_cm"], True) for one in row["full_reels"] for _ in range(one["quantity"])
    ]
    ready = [Ready(one["length_cm"], one["quantity"]) for one in row["ready_made"]]
    sticks = [*map(Stick, row["remnants_cm"]), *reels]
    return day_cuts.Job(tuple(row["pieces_cm"]), tuple(sticks), tuple(ready), by)


@pytest.mark.parametrize("name", CABLE if FULL else SOME)
def test_a_day_of_cable_is_cut_as_well_as_known(name):
    """No dearer than the best known and 60 cm, and the bound is below all that is known."""
    row = instances()[name]
    job = asked(row)
    found = day_cuts.plan(*job, seconds=1.5 if FULL else 0.2)
    best = row["best_known"]
    print(f"{name}: {found.cost} cm, proven within {found.within} cm (best known {best:g})")

    assert found.missing == ()
    for at, load in found.sticks.items():
        assert sum(job.pieces[piece] for piece in load) <= job.sticks[at].length
    placed = [*found.ready, *(piece for load in found.sticks.values() for piece in load)]
    assert sorted(placed) == list(range(len(job.pieces)))
    assert found.cost == cost(job, found.sticks, found.ready)
    assert found.bound <= found.cost <= best + 60
    assert row["lower_bound"] <= found.cost
    assert found.bound <= best
