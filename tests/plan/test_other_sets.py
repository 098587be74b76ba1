"""Other allowed sets that reach: against every mixture written out from the parts list's text."""

import itertools
import tomllib
from collections import Counter

import pytest

from kitting.plan import configuration, family, other_sets
from tests.kitting.yard import CONFIGURATION, TOWER


def asked(family_, **more):
    return configuration.parse({**CONFIGURATION, **more}, family_)


@pytest.fixture(scope="module")
def tower():
    return family.parse(TOWER.read_text(encoding="utf-8"), "tower.toml")


def by_hand(path, ways):
    """Every mixture of listed sets for so many ways of a path, as pieces of each item.

    Written from the text alone: a set is as long as its leads together and counts one coupling
    fewer than it has leads.
    """
    data = tomllib.loads(TOWER.read_text(encoding="utf-8"))
    (rule,) = [r for r in data["rule"] if r["way"] == "allowed_sets"]
    reach = [s for s in rule["sets"] if sum(rule["lengths"][lead] for lead in s) >= path]
    found = set()
    for mixture in itertools.product(reach, repeat=ways):
        pieces = Counter(itertools.chain(*mixture))
        pieces["CT-HCOUP"] = sum(len(one) - 1 for one in mixture)
        found.add(tuple(sorted((item, n) for item, n in pieces.items() if n)))
    return found


@pytest.mark.parametrize(
    ("gap", "stacks"), [(150, 2), (300, 2), (300, 3), (800, 2), (801, 2), (1100, 3), (1200, 2)]
)
def test_each_mixture_that_reaches_is_found_once_with_its_couplings(tower, gap, stacks):
    """What the kit has and what it would have instead are all mixtures and no other."""
    conf = asked(tower, stacks=[{"modules": 2}] * stacks, gap=gap)
    (choice,) = other_sets.choices(tower, conf)
    taken = Counter(itertools.chain(*(items for _, items in choice.taken)))
    taken["CT-HCOUP"] = sum(len(items) - 1 for _, items in choice.taken)
    made = [tuple(sorted((item, n) for item, n in taken.items() if n))]
    for other in choice.others:
        now = Counter(taken)
        for (item, _), change in other.changes:
            now[item] += change
        made.append(tuple(sorted((item, n) for item, n in now.items() if n)))

    assert choice.paths == (400 + gap,) * (stacks - 1)
    assert sorted(made) == sorted(by_hand(400 + gap, stacks - 1))


def test_where_only_one_set_reaches_there_is_no_choice(tower):
    """A single stack has no way between stacks; the widest gap only the longest lead spans."""
    assert other_sets.choices(tower, asked(tower)) == []
    widest = asked(tower, stacks=[{"modules": 2}] * 2, gap=2200)

    assert by_hand(2600, 1) == {(("CT-H26", 1),)}
    assert other_sets.choices(tower, widest) == []


def test_of_an_expansion_only_the_new_way_is_asked_about(tower):
    """Two stacks stand with their harness, a third comes: what stands is no part of the choice."""
    two, three = ([{"modules": 2}] * number for number in (2, 3))
    before = {name: value for name, value in CONFIGURATION.items() if name not in ("family", "job")}
    before |= {"stacks": two, "gap": 300}
    conf = asked(tower, job="expansion", stacks=three, gap=300, before=before)
    (choice,) = other_sets.choices(tower, conf)
    found = [(other.sets, dict(other.changes)[("CT-H06", "connect")]) for other in choice.others]

    assert (choice.paths, choice.taken) == ((700,), ((1200, ("CT-H06", "CT-H06")),))
    assert found == [
        (((1500, ("CT-H15",)),), -2),
        (((2100, ("CT-H06", "CT-H15")),), -1),
        (((2600, ("CT-H26",)),), -2),
    ]
