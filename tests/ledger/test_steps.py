"""The table of steps, written a second time by hand: step, where the thing stands, what happens.

Expected values come from the day's work (the reason in each row; common practice, no source) and
from the issue's rule: a later step that arrives first is applied, the earlier one then moves
nothing; `waiting` is only for a thing nobody has received; two claims are a person's to settle.
"""

import pytest

from inventory.ledger.steps import TABLE, WAY, Standing, jumped, ruling

CELLS: list[tuple[str, str, str, str]] = [
    ("receive", "nowhere", "apply", "a delivery"),
    ("receive", "outside", "apply", "it was on its way to us"),
    ("receive", "shelf", "late", "somebody received it before"),
    ("receive", "van", "late", "received, and on a van since"),
    ("receive", "parcel", "late", "received, and picked since"),
    ("receive", "other parcel", "late", "received, and picked for another kit since"),
    ("receive", "site", "late", "received, and at its site since"),
    ("receive", "other site", "late", "received, and at another site since"),
    ("receive", "stack", "late", "received, and fitted since"),
    ("receive", "other stack", "late", "received, and fitted elsewhere since"),
    ("receive", "gone", "finding", "it is in the hand, so the book was wrong that it is gone"),
    ("put", "nowhere", "finding", "goods-in was skipped: the hand has it, the office must know"),
    ("put", "outside", "finding", "goods-in was skipped"),
    ("put", "shelf", "apply", "from one shelf to another"),
    ("put", "van", "apply", "the van's own stock back on the shelf"),
    ("put", "parcel", "finding", "taken out of a kit: the kit now lacks it"),
    ("put", "other parcel", "finding", "taken out of a kit: the kit now lacks it"),
    ("put", "site", "finding", "it came back and nobody brought it back"),
    ("put", "other site", "finding", "it came back and nobody brought it back"),
    ("put", "stack", "dispute", "it hangs on a wall by the book and lies here by the hand"),
    ("put", "other stack", "dispute", "it hangs on a wall by the book and lies here by the hand"),
    ("put", "gone", "finding", "the book was wrong that it is gone"),
    ("pick", "nowhere", "finding", "never received, yet in the hand: it goes along, provisional"),
    ("pick", "outside", "finding", "goods-in was skipped"),
    ("pick", "shelf", "apply", "as it should be"),
    ("pick", "van", "apply", "from the van's own stock"),
    ("pick", "parcel", "apply", "into another bag of the same kit"),
    ("pick", "other parcel", "dispute", "two kits claim it"),
    ("pick", "site", "late", "it went along and is there"),
    ("pick", "other site", "dispute", "it lies at another customer's by the book"),
    ("pick", "stack", "late", "it went along and is fitted"),
    ("pick", "other stack", "dispute", "it hangs at another customer's by the book"),
    ("pick", "gone", "finding", "the book was wrong that it is gone"),
    ("load", "nowhere", "waiting", "nobody received it: the scan of goods-in is late"),
    ("load", "outside", "finding", "goods-in and picking were skipped"),
    ("load", "shelf", "finding", "picking was skipped"),
    ("load", "van", "apply", "it stands loose on the van and now belongs to the kit"),
    ("load", "parcel", "apply", "as it should be"),
    ("load", "other parcel", "dispute", "two kits claim it"),
    ("load", "site", "late", "it is at the site already"),
    ("load", "other site", "dispute", "it lies at another customer's by the book"),
    ("load", "stack", "late", "it is fitted already"),
    ("load", "other stack", "dispute", "it hangs at another customer's by the book"),
    ("load", "gone", "finding", "the book was wrong that it is gone"),
    ("unbox", "nowhere", "waiting", "nobody received it: the scan of goods-in is late"),
    ("unbox", "outside", "finding", "three steps were skipped"),
    ("unbox", "shelf", "finding", "picking and loading were skipped"),
    ("unbox", "van", "apply", "from the van's own stock"),
    ("unbox", "parcel", "apply", "as it should be"),
    ("unbox", "other parcel", "dispute", "two kits claim it"),
    ("unbox", "site", "late", "unboxed before"),
    ("unbox", "other site", "dispute", "it lies at another customer's by the book"),
    ("unbox", "stack", "late", "fitted before"),
    ("unbox", "other stack", "dispute", "it hangs at another customer's by the book"),
    ("unbox", "gone", "finding", "the book was wrong that it is gone"),
    ("fit", "nowhere", "waiting", "nobody received it: the scan of goods-in is late"),
    ("fit", "outside", "finding", "every step before was skipped"),
    ("fit", "shelf", "finding", "picking, loading, unboxing were skipped"),
    ("fit", "van", "finding", "unboxing was skipped"),
    ("fit", "parcel", "finding", "unboxing was skipped"),
    ("fit", "other parcel", "dispute", "two kits claim it"),
    ("fit", "site", "apply", "as it should be"),
    ("fit", "other site", "dispute", "it lies at another customer's by the book"),
    ("fit", "stack", "late", "fitted before"),
    ("fit", "other stack", "dispute", "it hangs at another customer's by the book"),
    ("fit", "gone", "finding", "the book was wrong that it is gone"),
    ("commission", "nowhere", "waiting", "nobody received it: the scan of goods-in is late"),
    ("commission", "outside", "finding", "every step before was skipped"),
    ("commission", "shelf", "finding", "it runs, so it was fitted: four steps were skipped"),
    ("commission", "van", "finding", "it runs, so it was fitted: unboxing and fitting skipped"),
    ("commission", "parcel", "finding", "it runs, so it was fitted: unboxing and fitting skipped"),
    ("commission", "other parcel", "dispute", "two kits claim it"),
    ("commission", "site", "finding", "it runs, so it was fitted: fitting was skipped"),
    ("commission", "other site", "dispute", "it lies at another customer's by the book"),
    ("commission", "stack", "apply", "as it should be"),
    ("commission", "other stack", "dispute", "it hangs at another customer's by the book"),
    ("commission", "gone", "finding", "the book was wrong that it is gone"),
    ("take_down", "nowhere", "finding", "it hung there before we kept a book"),
    ("take_down", "outside", "finding", "it hung there though nobody received it"),
    ("take_down", "shelf", "late", "taken down and back before"),
    ("take_down", "van", "late", "taken down and on the van before"),
    ("take_down", "parcel", "late", "taken down and packed before"),
    ("take_down", "other parcel", "dispute", "packed for another kit by the book"),
    ("take_down", "site", "late", "taken down before"),
    ("take_down", "other site", "dispute", "it lies at another customer's by the book"),
    ("take_down", "stack", "apply", "as it should be"),
    ("take_down", "other stack", "dispute", "it hangs at another customer's by the book"),
    ("take_down", "gone", "finding", "the book was wrong that it is gone"),
    ("find_standing", "nowhere", "apply", "others fitted it: we see it for the first time"),
    ("find_standing", "outside", "apply", "it went from its seller to this wall without us"),
    ("find_standing", "shelf", "finding", "by the book on our shelf, by the eye on a wall"),
    ("find_standing", "van", "finding", "fitted from the van without a scan"),
    ("find_standing", "parcel", "dispute", "packed for a kit by the book: a person looks"),
    ("find_standing", "other parcel", "dispute", "packed for another kit by the book"),
    ("find_standing", "site", "finding", "it lay at this site and was fitted without a scan"),
    ("find_standing", "other site", "dispute", "it lies at another customer's by the book"),
    ("find_standing", "stack", "late", "entered or fitted before"),
    ("find_standing", "other stack", "dispute", "it hangs at another customer's by the book"),
    ("find_standing", "gone", "finding", "the book was wrong that it is gone"),
    ("bring_back", "nowhere", "finding", "it comes back though it never went out"),
    ("bring_back", "outside", "finding", "it comes back though nobody received it"),
    ("bring_back", "shelf", "late", "it is back already"),
    ("bring_back", "van", "apply", "from the van to the depot"),
    ("bring_back", "parcel", "apply", "what was not used"),
    ("bring_back", "other parcel", "finding", "another kit now lacks it"),
    ("bring_back", "site", "apply", "what was not used"),
    ("bring_back", "other site", "finding", "fetched from another customer's"),
    ("bring_back", "stack", "finding", "taken down without a scan"),
    ("bring_back", "other stack", "dispute", "it hangs at another customer's by the book"),
    ("bring_back", "gone", "finding", "the book was wrong that it is gone"),
]


@pytest.mark.parametrize(
    ("step", "where", "wanted", "reason"), CELLS, ids=[f"{cell[0]}-{cell[1]}" for cell in CELLS]
)
def test_a_cell(step: str, where: str, wanted: str, reason: str) -> None:
    """What the step does to a thing that stands there."""
    assert ruling(step, Standing(where)) == wanted, reason


def test_the_table_has_no_other_cells() -> None:
    """Each of the ten steps meets each of the eleven standings, once."""
    assert len(CELLS) == 10 * 11
    assert {(step, Standing(where)) for step, where, _, _ in CELLS} == set(TABLE)


@pytest.mark.parametrize(
    ("step", "where", "on_van", "steps"),
    [
        ("pick", "shelf", False, ()),  # nothing comes before
        ("load", "shelf", False, ("pick",)),
        ("unbox", "shelf", False, ("pick", "load")),
        ("fit", "shelf", False, ("pick", "load", "unbox")),
        ("commission", "nowhere", False, ("pick", "load", "unbox", "fit")),
        ("unbox", "parcel", False, ("load",)),  # the parcel stands at the dock
        ("unbox", "parcel", True, ()),  # the parcel was loaded
        ("fit", "parcel", True, ("unbox",)),
        ("fit", "van", False, ("unbox",)),  # the van's own stock is never picked nor loaded
        ("fit", "site", False, ()),
        ("commission", "site", False, ("fit",)),
        ("commission", "stack", False, ()),
        ("put", "shelf", False, ()),  # not on the way of a kit
        ("bring_back", "shelf", False, ()),
    ],
)
def test_what_was_jumped(step: str, where: str, on_van: bool, steps: tuple[str, ...]) -> None:
    """The steps that should have been seen before this one, in their order."""
    assert jumped(step, Standing(where), on_van=on_van) == steps


def test_the_way_is_the_issues() -> None:
    """pick < load < unbox < fit < commission."""
    assert WAY == ("pick", "load", "unbox", "fit", "commission")
