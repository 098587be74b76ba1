"""Taking down: the site's record ends, the unit stands loose."""

import pytest
from django.test import Client

from inventory.models import Unit
from kitting import drawing, overviews, packing, queries, travelling
from kitting.models import AsBuilt, Kit
from kitting.progress import fold
from tests.kitting.test_unboxing import carry
from tests.kitting.yard import Yard, about, fresh

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


def test_the_drawing_of_a_removal_says_what_came_off(yard: Yard, removal: Kit) -> None:
    """An empty place needs nothing: it is taken down."""
    yard.tariq.scan("take_down", "S2", **about(removal))
    drawn = drawing.drawing_of(fresh(removal), fold(removal))
    assert drawn is not None
    told = {shape.position: shape.told for shape in drawn.shapes if shape.position}

    assert "needed" not in dict(drawn.states).values()
    assert told["1/2"].endswith("taken down")
    assert ": stands there" in told["1/1"]


def test_what_came_off_the_wall_is_not_said_to_be_on_the_van(yard: Yard, removal: Kit) -> None:
    """It lies at the site until it is brought back; what was never packed is named there too."""
    yard.tariq.scan("take_down", "S2", **about(removal))
    phone = Client()
    phone.force_login(yard.tariq.person)
    html = phone.get(f"/my/{removal.job.code}/load").content.decode()

    assert [load.unit for load in travelling.loads_of(removal) if load.unit] == []
    assert "battery module S2" not in html
    assert "Not on the van" in html


def test_a_recalled_battery_that_comes_off_is_decided_about_before_the_crew_drives(
    yard: Yard, removal: Kit
) -> None:
    """The job asks for it, the phone says it too; decided, it asks no more."""
    yard.mona.scan("set_aside", "S2", reason="swells")

    def stands() -> tuple[str, tuple[str, ...]]:
        told = overviews.readiness(removal.job, removal, fold(removal), ())
        return told.word, told.reasons

    assert stands()[0] != "To decide"  # what is only set aside travels like any other
    damaged = {"photo": "d" * 64, "reason": "swells", **about(removal)}
    assert yard.tariq.scan("damaged", "S1", **damaged).verdict == "problem"
    words = "battery module S1: it comes off, and how it is packed and carried is not decided yet"
    assert stands() == ("To decide", (words,))
    yard.tariq.scan("take_down", "S1", **about(removal))
    assert stands() == ("To decide", (words,))
    assert yard.mona.scan("packing_class", "S1", kind="p908", reason="maker's sheet").verdict
    assert stands()[0] != "To decide"
