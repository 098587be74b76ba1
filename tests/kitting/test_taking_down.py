"""Taking down: the site's record ends, the unit stands loose."""

import pytest

from inventory.models import Unit
from kitting import packing, queries
from kitting.models import AsBuilt, Kit
from kitting.progress import fold
from tests.kitting.test_unboxing import carry
from tests.kitting.yard import Yard, about

FIRST, SECOND = ({"stack": 1, "level": n} for n in (1, 2))


@pytest.fixture
def removal(yard: Yard, kit: Kit) -> Kit:
    """A tower of two modules stands; a kit to remove it is released."""
    carry(yard, kit, "S1", "S2")
    for serial, place in (("S1", FIRST), ("S2", SECOND)):
        yard.tariq.scan("fit", serial, position=place, **about(kit))
    assert queries.before(yard.site) == [{"modules": 2}]
    return yard.kit(yard.job(job="removal"))


def test_the_plan_says_what_comes_back(yard: Yard, removal: Kit) -> None:
    """Both modules are to be taken down; the count follows the scans."""
    yard.tariq.scan("take_down", "S2", **about(removal))

    freed = {entry.code: entry for entry in queries.comes_back(removal)}
    assert (freed["CT-MODULE"].quantity, freed["CT-MODULE"].taken_down) == (2, 1)


def test_a_unit_comes_off_the_wall_and_goes_back(yard: Yard, removal: Kit) -> None:
    """Its position ends, it is loose at the site, then on the van; it is no line of the kit."""
    done = yard.tariq.scan("take_down", "S2", **about(removal))
    again = yard.tariq.scan("take_down", "S2", **about(removal))
    left = [str(thing) for thing in queries.left_of(removal)]
    back = yard.tariq.scan("bring_back", "S2", **about(removal))

    assert (done.verdict, again.verdict, back.verdict) == ("applied", "noted", "applied")
    assert left == ["battery module S2"]
    assert AsBuilt.objects.get(unit__serial="S2").until is not None
    assert "CT-MODULE" not in fold(removal).totals
    assert queries.before(yard.site) == [{"modules": 1}]


def test_a_box_label_is_stopped(yard: Yard, removal: Kit) -> None:
    """The unit on the wall is meant."""
    done = yard.tariq.scan("take_down", "BOX-S2", **about(removal))

    assert done.verdict == "stopped"


def test_undo_stands_it_up_again(yard: Yard, removal: Kit) -> None:
    """The record is as before."""
    done = yard.tariq.scan("take_down", "S2", **about(removal))
    yard.tariq.scan("undo", reverses=done.id)

    assert AsBuilt.objects.get(unit__serial="S2").until is None
    place = Unit.objects.get(serial="S2").place
    assert place is not None
    assert place.kind == "stack"


def test_a_unit_of_another_site_is_a_clash(yard: Yard, removal: Kit) -> None:
    """It stands elsewhere by the book: a person decides."""
    elsewhere = yard.kit(
        yard.job(site=packing.open_site("Another house", "2 Example Lane"), job="removal")
    )
    done = yard.tariq.scan("take_down", "S1", **about(elsewhere))

    assert done.verdict == "dispute"
    assert AsBuilt.objects.filter(until=None).count() == 2
