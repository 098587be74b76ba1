"""One module for each stack that stands already: an assignment, and two known algorithms for it.

Source: Hopcroft and Karp, SIAM Journal on Computing 2 (1973) 225-231 (how many can be matched), and
the assignment problem as solved by Crouse, IEEE Transactions on Aerospace and Electronic Systems 52
(2016) 1679-1696 (at which cost); both as SciPy implements them.
"""

import random
from datetime import date, timedelta

import numpy as np
from scipy.optimize import linear_sum_assignment
from scipy.sparse import csr_array
from scipy.sparse.csgraph import maximum_bipartite_matching

from kitting.plan.made_within import Room
from kitting.plan.one_run import MOST, OLDEST, Stored, Wanted, choose

FIRST, ON, WINDOW = date(2025, 1, 1), date(2026, 11, 26), 20


def test_as_many_and_as_old_as_matching_and_assignment_find() -> None:
    """Three crowded shelves of 60 modules and 40 stacks: same count, same age."""
    for seed in range(3):
        chance = random.Random(seed)
        made = [FIRST + timedelta(chance.randrange(300)) for _ in range(60)]
        stand = [FIRST + timedelta(chance.randrange(60)) for _ in range(40)]
        units = [Stored(n, day) for n, day in enumerate(made)]
        wanted = [
            Wanted(f"J{n}/1", f"J{n}", Room(1, day, day), WINDOW) for n, day in enumerate(stand)
        ]
        fits = np.array([[abs((m - s).days) <= WINDOW for m in made] for s in stand])
        matched = int((maximum_bipartite_matching(csr_array(fits), perm_type="column") >= 0).sum())
        gain = np.where(fits, [(ON - m).days for m in made], 0)
        rows, columns = linear_sum_assignment(gain, maximize=True)

        whole = sum((ON - m).days for m in made)
        assert matched == len(choose(units, wanted, MOST, ON).runs)
        assert whole - int(gain[rows, columns].sum()) == choose(units, wanted, OLDEST, ON).age_left
