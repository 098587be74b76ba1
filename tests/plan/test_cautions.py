"""Cautions belong to the kit, whatever the family says."""

import re

import pytest

from kitting.plan import configuration, kit, lookup
from tests.plan.shipped import NAMES, edition, hand
from tests.plan.small import work_out

DECIDERS = re.compile("manual|local|licensed|competent|data sheet|approval|rules|assessment")
ALWAYS = {"damaged", "lifting", "alone", "drilling", "plugging", "isolation"}


def cautions(name, given):
    known = edition(name)
    found = kit.work_out(known, configuration.parse(given, known))
    return found.cautions


@pytest.mark.parametrize("name", NAMES)
def test_every_kit_carries_its_cautions(name):
    """Lifting, drilling, isolation, working alone, damaged batteries: in every hand-worked kit."""
    for given in hand(name).values():
        assert {caution.key for caution in cautions(name, given)} >= ALWAYS


def test_a_family_cannot_drop_them():
    """The small family words no caution at all, and has them."""
    assert {caution.key for caution in work_out().cautions} == ALWAYS


def test_taking_down_has_its_own():
    """Removed units and damaged batteries: maker's manual, licensed person, transport rules."""
    found = {c.key: c for c in work_out(job="removal").cautions}

    assert (found["removal"].step, found.keys()) == ("down", ALWAYS | {"removal"})


def test_an_expansion_has_its_own():
    """The old stack is live until it is isolated."""
    found = work_out(job="expansion", before={"stacks": [{"modules": 1}]}).cautions

    assert "expansion" in {caution.key for caution in found}


def test_wet_sealant_warns_where_it_is_laid():
    """Outdoors a bead is laid, and the caution stands at its step; indoors there is none."""
    outdoor = next(g for g in hand("tower").values() if g["place"] == "outdoor")
    indoor = next(g for g in hand("tower").values() if g["place"] == "indoor")

    assert ("sealant", "seal") in {(c.key, c.step) for c in cautions("tower", outdoor)}
    assert "sealant" not in {c.key for c in cautions("tower", indoor)}


@pytest.mark.parametrize("name", NAMES)
def test_a_conductor_size_is_never_the_last_word(name):
    """Wherever a cable was sized, at that very step: a licensed electrician and the local code."""
    known = edition(name)
    rules = {rule.name for rule in known.rules if rule.way == "cable"}
    for given in hand(name).values():
        found = kit.work_out(known, configuration.parse(given, known))
        sized = {line.step for line in found.lines for r in line.reasons if r.rule in rules}
        told = {c.step: c.decides for c in found.cautions if c.key == "conductor"}
        assert sized <= told.keys()
        assert sized or given["job"] != "new"
        assert set(told.values()) <= {
            "a licensed electrician under the local code; the maker's manual"
        }


def test_resin_warns_at_every_step_that_uses_it():
    """A hollow wall takes resin where the foot hangs and where brackets are fixed."""
    hollow = [g for g in hand("tower").values() if g["wall"] == "hollow" and g["job"] == "new"]
    steps = {c.step for g in hollow for c in cautions("tower", g) if c.key == "resin"}

    assert hollow
    assert steps <= {"base", "fix"}
    assert "fix" in steps


def test_each_caution_names_who_decides():
    """The maker's manual, the local code or a licensed person decide, never the program."""
    rows = lookup.table("cautions").rows

    assert len(rows) >= 9
    assert [row["key"] for row in rows if not DECIDERS.search(row["decides"])] == []


def test_no_caution_gives_an_all_clear():
    """The barred word stands in no caution."""
    told = " ".join(" ".join(row.values()) for row in lookup.table("cautions").rows)

    assert re.search(r"\bsafe", told, re.IGNORECASE) is None
