"""Fitting: which unit stands where, and the number it shows."""

import pytest

from inventory.models import Finding, Hold, Unit
from kitting import as_built, queries
from kitting.models import AsBuilt, Kit
from kitting.progress import fold
from tests.kitting.test_unboxing import carry
from tests.kitting.yard import Yard, about

FIRST, SECOND, TOP = ({"stack": 1, "level": n} for n in (1, 2, 3))


@pytest.fixture
def opened(yard: Yard, kit: Kit) -> Kit:
    """Two modules seen at the site."""
    carry(yard, kit, "S1", "S2")
    for serial in ("S1", "S2"):
        yard.tariq.scan("unbox", serial, **about(kit))
    return kit


def test_a_unit_stands_at_its_position_with_its_number(yard: Yard, opened: Kit) -> None:
    """Place in the stack and number on screen are two things."""
    done = yard.tariq.scan("fit", "S1", position=SECOND, number=7, **about(opened))

    assert done.verdict == "applied"
    row = AsBuilt.objects.get()
    assert (row.stack, row.level, row.number, row.role) == (1, 2, 7, "unit")
    assert row.unit.place is not None
    assert row.unit.place.kind == "stack"
    assert fold(opened).totals["CT-MODULE"].fitted == 1
    assert queries.before(yard.site) == [{"modules": 1}]


def test_a_box_label_is_stopped_at_fitting(yard: Yard, opened: Kit) -> None:
    """A carton scanned for a unit."""
    done = yard.tariq.scan("fit", "BOX-S1", position=FIRST, **about(opened))

    assert done.verdict == "stopped"
    assert done.sentence == "This is the box's label. Scan the label on the thing itself."


@pytest.mark.parametrize(
    ("position", "words"),
    [
        (None, "Say where it stands"),
        ({"stack": 2, "level": 1}, "The plan has no place 1 in stack 2"),
        (TOP, "Place 3 of stack 1 is for CT-POWER"),
    ],
)
def test_a_position_that_cannot_be_is_stopped(
    yard: Yard, opened: Kit, position: dict[str, int] | None, words: str
) -> None:
    """No position, one the plan does not have, one for another thing."""
    more = {"position": position} if position else {}
    done = yard.tariq.scan("fit", "S1", **more, **about(opened))

    assert (done.verdict, words in done.sentence) == ("stopped", True)
    assert not AsBuilt.objects.exists()


def test_a_taken_position_and_a_second_one_are_stopped(yard: Yard, opened: Kit) -> None:
    """One unit per position and one position per unit; the same again is noted."""
    yard.tariq.scan("fit", "S1", position=FIRST, **about(opened))
    taken = yard.tariq.scan("fit", "S2", position=FIRST, **about(opened))
    moved = yard.tariq.scan("fit", "S1", position=SECOND, **about(opened))
    same = yard.tariq.scan("fit", "S1", position=FIRST, **about(opened))

    assert (taken.verdict, moved.verdict, same.verdict) == ("stopped", "stopped", "noted")
    assert "holds battery module S1" in taken.sentence
    assert "Take it down first" in moved.sentence


def test_two_phones_that_disagree_are_shown_to_the_office(yard: Yard, opened: Kit) -> None:
    """One unit at two places, two units at one: nothing moves, each is a problem to look at."""
    mate = yard.firm.phone(yard.tariq.person)
    yard.tariq.scan("fit", "S1", position=FIRST, **about(opened))
    there = mate.scan("fit", "S1", position=SECOND, **about(opened))
    here = mate.scan("fit", "S2", position=FIRST, **about(opened))
    same = mate.scan("fit", "S1", position=FIRST, **about(opened))

    assert (there.verdict, here.verdict, same.verdict) == ("dispute", "dispute", "noted")
    clashes = list(Finding.objects.filter(kind="clash").order_by("pk"))
    assert [clash.unit.serial for clash in clashes] == ["S1", "S2"]
    assert "S1 stands at place 1 of stack 1; another phone has" in clashes[0].words
    assert "Place 1 of stack 1 holds battery module S1; another" in clashes[1].words
    assert AsBuilt.objects.count() == 1


def test_a_damaged_unit_is_not_fitted(yard: Yard, opened: Kit) -> None:
    """Set aside stops it."""
    yard.tariq.scan("damaged", "S1", photo="b" * 64, reason="damaged", **about(opened))
    done = yard.tariq.scan("fit", "S1", position=FIRST, **about(opened))

    assert (done.verdict, "set aside: damaged" in done.sentence) == ("stopped", True)
    assert Hold.objects.count() == 1


def test_fitting_without_unboxing_is_applied_and_marked(yard: Yard, kit: Kit) -> None:
    """The late unboxing fills the mark and moves nothing."""
    carry(yard, kit, "S1")
    early = yard.tariq.scan("fit", "S1", position=FIRST, **about(kit))
    late = yard.tariq.scan("unbox", "S1", **about(kit))

    assert (early.verdict, late.verdict) == ("problem", "noted")
    assert Finding.objects.get(kind="skipped").answer.words == "The scan came later."
    assert Unit.objects.get(serial="S1").evidence == "seen"


def test_starting_notes_number_and_firmware(yard: Yard, opened: Kit) -> None:
    """A number that another unit shows is told."""
    yard.tariq.scan("fit", "S1", position=FIRST, number=1, **about(opened))
    yard.tariq.scan("fit", "S2", position=SECOND, **about(opened))
    good = yard.tariq.scan("commission", "S2", number=2, reason="2.1.0", **about(opened))
    twin = yard.tariq.scan("commission", "S2", number=1, **about(opened))

    row = AsBuilt.objects.get(unit__serial="S2")
    assert (good.verdict, twin.verdict) == ("applied", "problem")
    assert (row.number, row.firmware) == (1, "2.1.0")
    assert "both show number 1" in Finding.objects.get(kind="wrong").words


def test_starting_before_fitting_fits_and_marks_it(yard: Yard, opened: Kit) -> None:
    """With a position it is applied, without one it is stopped."""
    without = yard.tariq.scan("commission", "S1", number=1, **about(opened))
    done = yard.tariq.scan("commission", "S1", number=1, position=FIRST, **about(opened))

    assert (without.verdict, done.verdict) == ("stopped", "problem")
    assert AsBuilt.objects.get().number == 1
    assert "Fitting was not scanned" in Finding.objects.get(kind="skipped").words


def test_undo_of_a_fit_takes_it_off_the_record(yard: Yard, opened: Kit) -> None:
    """The unit is loose at the site again and its place is free."""
    done = yard.tariq.scan("fit", "S1", position=FIRST, number=1, **about(opened))
    yard.tariq.scan("undo", reverses=done.id)
    again = yard.tariq.scan("fit", "S2", position=FIRST, **about(opened))

    assert again.verdict == "applied"
    assert AsBuilt.objects.get().unit.serial == "S2"
    assert Unit.objects.get(serial="S1").place == yard.site.place


def test_the_record_folds_again_from_the_events(yard: Yard, opened: Kit) -> None:
    """Rows made anew are the rows that stood."""
    yard.tariq.scan("fit", "S1", position=FIRST, number=1, **about(opened))
    undone = yard.tariq.scan("fit", "S2", position=SECOND, number=2, **about(opened))
    yard.tariq.scan("undo", reverses=undone.id)
    yard.tariq.scan("fit", "S2", position=SECOND, number=3, **about(opened))
    yard.tariq.scan("commission", "S2", number=4, reason="2.1.0", **about(opened))
    fields = ("stack", "level", "unit__serial", "number", "firmware", "since__number")
    before = list(AsBuilt.objects.values_list(*fields))

    assert as_built.refold(yard.site.place) == 2
    assert list(AsBuilt.objects.values_list(*fields)) == before


def test_a_unit_that_stands_elsewhere_is_a_clash(yard: Yard, opened: Kit) -> None:
    """Fitted at one site and scanned at another: a person decides."""
    from kitting import packing

    yard.tariq.scan("fit", "S1", position=FIRST, **about(opened))
    other = yard.kit(yard.job(site=packing.open_site("Another house", "2 Example Lane")))
    done = yard.tariq.scan("fit", "S1", position=FIRST, **about(other))

    assert done.verdict == "dispute"
    assert Finding.objects.get(kind="clash").unit == Unit.objects.get(serial="S1")
    assert fold(opened).totals["CT-MODULE"].dispute == 1

    subject = f"problem:{Finding.objects.get(kind='clash').event.uid}"
    decided = yard.mona.scan("settle", subject=subject, reason="stays here, the other was misread")
    assert decided.verdict == "applied", decided.sentence
    assert fold(opened).totals["CT-MODULE"].dispute == 0
