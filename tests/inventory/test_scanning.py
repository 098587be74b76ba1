"""What a text means here: exactly what is known, or a question."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inventory.models import Item, ItemCode, Unit, UnitAlias
from inventory.moving import nameless
from inventory.one_label import classify
from inventory.pictures.accepting import Code
from inventory.scanning import meaning_themselves, resolve
from tests.firm import Firm, element_string


def known(firm: Firm, serial: str, item: Item | None = None) -> Unit:
    item = item or firm.module
    key = serial.replace(" ", "")
    return Unit.objects.create(item=item, lot=nameless(item), serial=serial, serial_key=key)


def test_a_label_and_the_serial_on_it_mean_the_same_unit(shop: Firm) -> None:
    """As an element string, as plain serial, with blanks, as its alias."""
    unit = known(shop, "AB 12")
    UnitAlias.objects.create(unit=unit, kind="own", text="LBU0000077", key="LBU0000077")

    for text in (element_string("AB12"), "AB12", " AB 12 ", "LBU0000077", "lbu0000077"):
        thing = resolve(text)
        assert (thing.kind, thing.unit) == ("unit", unit), text


def test_a_box_label_means_the_box_of_a_unit(shop: Firm) -> None:
    """It is never the unit's own serial."""
    unit = known(shop, "A1")
    UnitAlias.objects.create(unit=unit, kind="box", text="B-9", key="B-9")

    assert (resolve("B-9").kind, resolve("B-9").unit) == ("box", unit)


def test_a_serial_of_two_things_is_a_question(shop: Firm) -> None:
    """The plain serial decides nothing; the longer code does."""
    other = Item.objects.create(code="OTHER", name="Other", tracking="serial")
    unit = known(shop, "A1")
    known(shop, "A1", other)

    assert resolve("A1").kind == "unknown"
    assert resolve("A1").question == "Two things carry this serial. Scan the longer code beside it."
    assert resolve(element_string("A1")).unit == unit


def test_a_serial_nobody_entered_names_its_item(shop: Firm) -> None:
    """Kind serial: the act decides whether it may be new."""
    thing = resolve(element_string("NEW1"))

    assert (thing.kind, thing.item, thing.serial) == ("serial", shop.module, "NEW1")


def test_a_suppliers_plain_serial_is_known_by_its_pattern(shop: Firm) -> None:
    """The pattern stands with the item; the letters before the number are no part of the serial."""
    pattern = "XM{serial:d8}"
    ItemCode.objects.create(item=shop.module, text=pattern, key=pattern, label_pattern=True)
    thing = resolve("XM00001234")

    assert (thing.kind, thing.item, thing.serial) == ("serial", shop.module, "00001234")
    assert resolve(pattern).kind == "unknown"  # the pattern itself is no code


def test_a_text_of_two_patterns_is_a_question(shop: Firm) -> None:
    """Nothing is guessed."""
    other = Item.objects.create(code="OTHER", name="Other", tracking="serial")
    for item, pattern in ((shop.module, "XM{serial:d8}"), (other, "X{_:a1}{serial:d8}")):
        ItemCode.objects.create(item=item, text=pattern, key=pattern, label_pattern=True)

    assert resolve("XM00001234").question == "Is this Module or Other? Scan the other code on it."


@pytest.mark.parametrize(
    "text",
    ["NOPE-1", "x" * 500, "АВС1", "A1\u200b", "(21)", "]C1", "\x1d", "https://example.com/01/1"],  # noqa: RUF001
)
def test_what_means_nothing_is_a_question_in_words(shop: Firm, text: str) -> None:
    """One near to a known serial means nothing either."""
    known(shop, "ABC1")
    thing = resolve(text)

    assert thing.kind in ("unknown", "none")
    assert thing.kind == "none" or thing.question[-1] in ".?"


def test_four_tables_are_asked_in_one_statement(shop: Firm) -> None:
    """A plain serial costs two statements; an element string, whose parts are looked up, five."""
    known(shop, "A1")
    costs = []
    for text in ("A1", element_string("A1")):
        with CaptureQueriesContext(connection) as asked:
            resolve(text)
        costs.append(len(asked))

    assert costs[0] == 2
    assert costs[1] <= 5


def on_a_label(*texts: str) -> tuple[list[str], list[tuple[str, str]], str]:
    """What is chosen, what the rest is, and the question, all codes being accepted."""
    codes = [Code(text, "Code128", (0, 0, 9, 9), True, "known") for text in texts]
    label = classify(codes)
    rest = [(part.kind, part.words) for part in label.parts if not part.chosen]
    return [part.text for part in label.parts if part.chosen], rest, label.question


def test_of_several_codes_on_a_label_one_thing_is_chosen_or_none(shop: Firm) -> None:
    """Serial before box before article number; two things, or a thing and a place, are asked."""
    unit, other = known(shop, "A1"), known(shop, "B2")
    UnitAlias.objects.create(unit=unit, kind="box", text="B-9", key="B-9")
    several = "Codes of several things are in the photo. Go nearer, to one of them."
    article = "09521234000013"

    assert on_a_label(article, "B-9", "A1", "A1") == (
        ["A1"],
        [("item", "Module"), ("box", f"box of {unit}")],
        "",
    )
    assert on_a_label(article, "B-9")[0] == ["B-9"]
    assert on_a_label(article)[0] == [article]
    assert on_a_label("A1", "B2") == (
        [],
        [("unit", f"serial of {unit}"), ("unit", f"serial of {other}")],
        several,
    )
    assert on_a_label("A1", "09521234000020")[2] == several
    assert on_a_label("A1", "BIN1")[2] == several
    assert on_a_label("9520123456788", element_string("NEW1"), "?") == (
        [],
        [
            ("other", "article number 09520123456788"),
            ("serial", "serial NEW1 of Module, not entered here"),
            ("other", "nothing we know"),
        ],
        "No code we know is in the photo. Go nearer, or type it.",
    )


def test_a_near_miss_is_a_question_and_never_the_thing(shop: Firm) -> None:
    """0 for O, one character wrong or lost, another case; what a decoder read asks nobody."""
    known(shop, "QC0I57")
    for wrong in ("QCO157", "QC0157", "QCI57", "qc0i57", "QC0I5"):
        thing = resolve(wrong, "hand")
        assert (thing.kind, thing.unit) == ("unknown", None)
        assert thing.question == f"Nothing here is called {wrong}. Is it QC0I57? Scan it again."
    assert "QC0I57" not in resolve("QCO157", "symbol").question
    assert "Is it" not in resolve("QX0157", "hand").question


def test_which_codes_of_items_mean_them_is_asked_at_once(shop: Firm) -> None:
    """As many questions for all as for one, and each answer is that of a scan."""
    taken = ["PLAIN", "BIN1", "12345670", "ALIAS-1", "SN-1", "PACK-6", "OTHERS", "lb-x"]
    items = [Item.objects.create(code=code, name=code, tracking="count") for code in taken]
    unit = Unit.objects.create(
        item=shop.module, lot=nameless(shop.module), serial="SN-1", serial_key="SN-1"
    )
    UnitAlias.objects.create(unit=unit, kind="box", text="ALIAS-1", key="ALIAS-1")
    for item, text, pack in ((items[5], "PACK-6", 6), (shop.bracket, "OTHERS", 1)):
        ItemCode.objects.create(item=item, text=text, key=text, pack_quantity=pack)
    with CaptureQueriesContext(connection) as asked:
        found = meaning_themselves([*items, shop.bracket])

    def by_scan(item: Item) -> bool:
        thing = resolve(item.code)
        return (thing.kind, thing.item, thing.pack) == ("item", item, 1)

    assert {item.code for item in items if item.pk in found} == {
        item.code for item in items if by_scan(item)
    }
    assert {"PLAIN"} <= {item.code for item in items if item.pk in found}
    assert shop.bracket.pk in found
    assert len(asked) <= 12  # the eight digits are an article number's, and asked by themselves
