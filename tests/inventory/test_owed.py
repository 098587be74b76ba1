"""Serials that a box does not show, and serials that a supplier's file names."""

import pytest

from inventory import audit, deliveries, serial_lists
from inventory.arrivals import compared, door
from inventory.models import Unit
from inventory.tracing import chain
from tests.firm import MODULE_GTIN, Firm, element_string
from tests.inventory.deliveries import begin


def clean() -> bool:
    return [done for done in audit.run() if done.problems] == []


def test_a_box_without_a_serial_outside_is_received_and_named_later(shop: Firm) -> None:
    """It stands here as "serial owed"; the box scanned again with its serial names it; undo too."""
    owed = {"with": MODULE_GTIN, "target": "DOCK"}
    article = shop.wanda.scan("receive", "BOX-1", **owed)
    came = shop.wanda.scan("receive", "BOX-1", kind="owed", **owed)
    twice = shop.wanda.scan("receive", "BOX-1", kind="owed", **owed)
    unit = Unit.objects.get()
    assert (article.verdict, came.verdict, twice.verdict) == ("stopped", "applied", "noted")
    assert "leave it closed" in article.sentence
    assert came.sentence == "Module received in its box, serial owed."
    assert (unit.evidence, unit.place.code) == ("owed", "BOX-1")
    assert clean()

    shop.wanda.scan("put", "BOX-1", target="BIN1")
    named = shop.wanda.scan("receive", "BOX-1", target="DOCK", **{"with": element_string("A1")})

    unit.refresh_from_db()
    assert named.sentence == "Module A1: the serial it owed."
    assert (unit.serial, unit.evidence) == ("A1", "box")
    assert [link.sentence for link in chain("A1").links][-1] == named.sentence
    assert unit.place.parent == shop.bins[0]  # nothing moved
    shop.wanda.scan("undo", reverses=named.id)
    unit.refresh_from_db()
    assert (unit.serial, unit.evidence) == ("owed BOX-1", "owed")
    assert clean()


def test_a_box_whose_serial_was_undone_can_be_received_again(shop: Firm) -> None:
    """A wrong serial scanned and undone came in no box: the box still comes, its serial owed."""
    wrong = shop.wanda.scan("receive", "BOX-1", target="DOCK", **{"with": element_string("A1")})
    undone = shop.wanda.scan("undo", reverses=wrong.id)
    owed = {"with": MODULE_GTIN, "target": "DOCK", "kind": "owed"}
    came = shop.wanda.scan("receive", "BOX-1", **owed)

    assert (wrong.verdict, undone.verdict) == ("applied", "applied")
    assert (came.verdict, came.sentence) == ("applied", "Module received in its box, serial owed.")
    assert [unit.serial for unit in Unit.objects.filter(place__code="BOX-1")] == ["owed BOX-1"]
    assert clean()


@pytest.mark.parametrize(
    ("code", "said"), [("B" * 100, "at most 90 characters"), ("КОРОБКА-1", "plain ASCII")]
)
def test_a_code_that_can_be_no_serial_stands_in_for_none(shop: Firm, code: str, said: str) -> None:
    """Stopped with the reason, so that another code on the box is scanned; nothing is kept of it.

    The code alone, with its serial, is none the worse for it.
    """
    owed = {"with": MODULE_GTIN, "target": "DOCK", "kind": "owed"}
    done = shop.wanda.scan("receive", code, **owed)
    assert done.verdict == "stopped"
    assert said in done.sentence
    assert not Unit.objects.exists()
    known = shop.wanda.scan("receive", code, target="DOCK", **{"with": element_string("A1")})
    assert known.verdict == "applied"
    assert clean()


def test_a_serial_of_another_thing_is_not_taken_for_the_owed_one(shop: Firm) -> None:
    """The other stands where it stood; the box still owes its own."""
    owed = {"with": MODULE_GTIN, "target": "DOCK", "kind": "owed"}
    shop.wanda.scan("receive", element_string("A1"), target="BIN1")
    shop.wanda.scan("receive", "BOX-1", **owed)
    done = shop.wanda.scan("receive", "BOX-1", target="DOCK", **{"with": element_string("A1")})

    assert (done.verdict, done.sentence) == ("noted", "Module A1 was received before.")
    assert Unit.objects.filter(evidence="owed").count() == 1


def test_a_box_that_the_file_names_comes_by_one_scan(shop: Firm) -> None:
    """Its serials are known from the file; file and floor are compared both ways."""
    delivery = begin(shop)
    text = f"MOD;L1;BOX-1\nMOD;L2;BOX-1\n{MODULE_GTIN};L3;BOX-2\n"
    judged = serial_lists.judge(text)
    assert judged.errors == ()
    assert (deliveries.enter_list(delivery, judged.rows), 0) == (
        3,
        deliveries.enter_list(delivery, judged.rows),
    )
    about = {"target": "DOCK", "subject": delivery.subject}
    both = shop.wanda.scan("receive", "BOX-1", **about)
    again = shop.wanda.scan("receive", "BOX-1", **about)
    extra = shop.wanda.scan("receive", "BOX-9", **about, **{"with": element_string("X9")})

    assert both.sentence == "Module L1, Module L2 received in its box, by the file."
    assert (again.verdict, extra.verdict) == ("noted", "applied")
    assert {unit.evidence for unit in Unit.objects.filter(serial__startswith="L")} == {"listed"}
    found = compared(delivery)
    assert [line.serial for line in found.not_come] == ["L3"]
    assert [unit.serial for unit in found.not_listed] == ["X9"]
    assert (found.listed, found.came, door(delivery).boxes_in) == (3, 3, 2)
    assert clean()


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("MOD;1.23457E+14", "line 1: expected the serial as printed, got a number '1.23457E+14'"),
        ("MOD;A1\nMOD;A1", "line 2: expected each serial once, got that of line 1"),
        ("BRA;A1", "line 1: expected an item with serials, got 'BRA'"),
        ("MOD", "line 1: expected item, serial and perhaps a box, got 1 columns"),
        ("MOD;", "line 1: expected a serial, got nothing"),
        ("\nMOD;A1\n\n  \nMOD;", "line 5: expected a serial, got nothing"),
        ("MOD;A1\n\nMOD;A1", "line 3: expected each serial once, got that of line 1"),
        ("MOD;12345.0", "line 1: expected the serial as printed, got a number '12345.0'"),
    ],
)
def test_a_spoilt_file_is_told_line_by_line_and_nothing_of_it_counts(
    shop: Firm, text: str, words: str
) -> None:
    """No row is kept where one is wrong."""
    judged = serial_lists.judge(f"{text}\nMOD;GOOD-1")

    assert judged.errors == (words,)
    assert judged.rows == ()
