"""What hands changed on several jobs becomes one change of the list, or is told as it is.

The list is the invented tower; its own figures are in tower.md (R7, R55). Common practice, no
source.
"""

from pathlib import Path

import pytest

from kitting.plan import configuration, family, kit
from kitting.plan.amending import ByHand, amend
from tests.kitting.yard import CONFIGURATION

TOWER = Path(__file__).parents[2] / "fixtures" / "families" / "tower.toml"
TEXT = TOWER.read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def tower():
    return family.parse(TEXT, "tower.toml")


def job(*heights):
    gap = {"gap": 300} if len(heights) > 1 else {}
    return {**CONFIGURATION, "stacks": [{"modules": n} for n in heights], **gap}


def amended(tower, key, *changes, thing=None):
    return amend(tower, TEXT, key, [ByHand(job(*hs), n) for hs, n in changes], thing or {})


def given(text, key, *heights):
    changed = family.parse(text, "changed")
    worked = kit.work_out(changed, configuration.parse(job(*heights), changed))
    return sum(line.quantity for line in worked.lines if (line.item, line.step) == key)


def test_another_number_in_the_rule(tower):
    """Two straps a stack where R55 gives one: the number alone is changed."""
    key = ("CT-BONDS", "earth")
    offer = amended(tower, key, ((2,), 2), ((3,), 2))

    assert offer.words == "R55 gives 2 instead of 1. With it: +2 CT-BOLT8, +2 CT-WASH8"
    assert offer.replaces.replace("CT-BONDS = 1", "CT-BONDS = 2") == offer.text
    assert given(TEXT.replace(offer.replaces, offer.text), key, 4) == 2


def test_other_rows_of_a_table(tower):
    """Three brackets for two modules and four for four, by hand: R7's two rows, no other."""
    key = ("CT-BRACKET", "fix")
    offer = amended(tower, key, ((2,), 3), ((4,), 4))

    assert offer.words.startswith("R7 gives 3 for 2 modules, 4 for 4 modules. With it: +")
    changed = TEXT.replace(offer.replaces, offer.text)
    assert [given(changed, key, n) for n in (1, 2, 3, 4)] == [1, 3, 2, 4]


def test_a_line_taken_off_each_time(tower):
    """The label of the stack is dropped: its rule takes nothing, the need stays met."""
    key = ("CT-LABSTK", "label")
    offer = amended(tower, key, ((2,), 0), ((3,), 0))

    assert offer.words.endswith("takes nothing any more")
    assert given(TEXT.replace(offer.replaces, offer.text), key, 2) == 0


def test_something_the_list_does_not_know_gets_a_part_of_its_own(tower):
    """Two wedges a stack, added under a need of the step; the item is entered with them."""
    thing = {"name": "wedge", "tracking": "count", "mass_g": 10}
    key = ("WEDGE", "fix")
    offer = amended(tower, key, ((2,), 2), ((3, 3), 4), thing=thing)

    assert (offer.words, offer.replaces) == ("2 for each stack", "")
    assert '[[item]]\ncode = "WEDGE"' in offer.text
    assert given(f"{TEXT}\n{offer.text}", key, 4, 4, 4) == 6


def test_what_no_single_change_explains_is_told(tower):
    """Three brackets here and four there for the same stack."""
    offer = amended(tower, ("CT-BRACKET", "fix"), ((2,), 3), ((2,), 4))

    assert offer.text == ""
    assert offer.words == "No single change explains it: 2, 2 by the list, 3, 4 by hand."


def test_a_list_that_says_it_already_is_not_changed(tower):
    """Nothing is proposed twice."""
    assert amended(tower, ("CT-BRACKET", "fix"), ((2,), 2), ((4,), 3)) is None
