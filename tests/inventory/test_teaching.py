"""An unknown code is taught on the spot and confirmed later; an unknown serial is provisional."""

import re
from datetime import timedelta
from importlib import import_module
from unittest import mock

import pytest
from django.apps import apps
from django.db import connection
from django.test import Client

from inventory import catalogue, confirming, teaching
from inventory.models import Finding, FindingAnswer, ItemCode, Unit, guard
from inventory.moving import nameless
from inventory.queries import held
from tests.firm import MODULE_GTIN, NOW, Firm, element_string
from tests.inventory.deliveries import begin

ODD, OTHER = "ODD-BAG-77", "]C10109521234099994"
PHOTO = "ab" * 32
CLOCK = "django.utils.timezone.now"
MIGRATION = import_module("inventory.migrations.0026_finding_code")


def taught(shop: Firm, text: str, **more: object):
    return shop.wanda.scan("teach", text, **{"with": "BRA", **more})


def test_a_code_means_the_item_at_once_and_is_confirmed_later(shop: Firm) -> None:
    """Six in a bag: the next scan counts six; until a manager says so it is a problem."""
    shop.wanda.scan("receive", ODD, target="DOCK")
    assert teaching.unknown_codes("") == [ODD]
    done = taught(shop, ODD, quantity=6)

    assert done.sentence == "ODD-BAG-77 is now Bracket, 6 each. Scan it again."
    assert teaching.unknown_codes("") == []
    assert shop.wanda.scan("receive", ODD, target="DOCK").verdict == "applied"
    assert held(shop.dock, nameless(shop.bracket)) == 6
    assert [one.item for one in teaching.taught()] == [shop.bracket]

    assert shop.wanda.scan("confirm_code", ODD).kind == "not_allowed"
    assert shop.mona.scan("confirm_code", ODD).sentence == "ODD-BAG-77 is Bracket."
    assert not teaching.taught().exists()
    assert shop.mona.scan("confirm_code", ODD).verdict == "noted"
    assert ItemCode.objects.filter(key=ODD, item=shop.bracket).exists()


def test_what_a_manager_teaches_nobody_has_to_confirm(shop: Firm) -> None:
    """It is their word already; undone it means nothing again."""
    shop.wanda.scan("receive", ODD, target="DOCK")
    done = shop.mona.scan("teach", ODD, **{"with": "BRA"})

    assert done.verdict == "applied"
    assert not teaching.taught().exists()
    assert not Finding.objects.filter(answer=None).exists()
    shop.mona.scan("undo", reverses=done.id)
    assert not ItemCode.objects.filter(key=ODD).exists()


@pytest.mark.parametrize("way", ["wrong", "undone"])
def test_what_was_taught_wrong_means_nothing_again(shop: Firm, way: str) -> None:
    """Said by the manager or undone at the bench; what was booked by it stays booked."""
    done = taught(shop, ODD)
    if way == "wrong":
        shop.mona.scan("confirm_code", ODD, kind="wrong")
    else:
        shop.wanda.scan("undo", reverses=done.id)

    assert not ItemCode.objects.filter(key=ODD).exists()
    assert not teaching.taught().exists()
    assert shop.wanda.scan("receive", ODD, target="DOCK").verdict == "problem"


def test_of_a_gs1_label_the_article_number_is_taught(shop: Firm) -> None:
    """Not the batch and serial that stand beside it."""
    done = taught(shop, OTHER + "10LOT-7")

    assert done.verdict == "applied", done.sentence
    assert ItemCode.objects.get(item=shop.bracket, key="09521234099994").pack_quantity == 1
    assert shop.wanda.scan("receive", OTHER + "10LOT-9", target="DOCK").verdict == "applied"


def test_an_unknown_serial_is_entered_with_a_photo_and_as_provisional(shop: Firm) -> None:
    """Without one nothing is entered."""
    bare = shop.wanda.scan("teach", "XZ 4711", **{"with": "MOD"})
    done = shop.wanda.scan("teach", "XZ 4711", photo=PHOTO, **{"with": "MOD"})

    assert bare.sentence == "Module is followed by serial. Photograph its label too."
    assert done.verdict == "applied", done.sentence
    unit = Unit.objects.get(serial="XZ 4711")
    assert (unit.provisional, unit.place) == (True, None)
    assert Finding.objects.get(unit=unit).photo == PHOTO
    assert not ItemCode.objects.filter(text="XZ 4711").exists()


@pytest.mark.parametrize(
    ("text", "with_", "words"),
    [
        ("BRA", "BRA", "This is known: Bracket."),  # the item's own code
        ("BIN1", "BRA", "This is known: Bin 1."),
        (ODD, "", "Say what it is: choose the item."),
        ("N" * 121, "BRA", "Expected a code of 1 to 120 characters."),
    ],
)
def test_what_cannot_be_taught_is_said(shop: Firm, text: str, with_: str, words: str) -> None:
    """What is known stays what it is."""
    done = shop.wanda.scan("teach", text, **{"with": with_})

    assert (done.verdict, done.sentence) == ("stopped", words)


def open_codes() -> list[str]:
    return sorted(confirming.not_known().values_list("event__scan__text", flat=True))


def answers() -> list[str]:
    return list(FindingAnswer.objects.order_by("pk").values_list("words", flat=True))


def test_a_code_entered_at_the_desk_ends_its_problem_when_it_is_scanned_again(shop: Firm) -> None:
    """Nobody has seen the thing since the code was entered: until then the problem stays."""
    shop.wanda.scan("receive", ODD, target="DOCK")
    catalogue.add_code(shop.bracket, ODD, 6)
    assert open_codes() == [ODD]

    shop.wanda.scan("receive", ODD, target="DOCK")

    assert open_codes() == []
    assert answers() == ["It is known now: Bracket, and it was seen."]


def test_a_thing_ends_what_was_asked_about_its_other_label(shop: Firm) -> None:
    """Its bare serial meant nothing; then its label with the article number brought it in."""
    for text in ("SN-0042", "SN-0099"):
        shop.wanda.scan("receive", text, target="DOCK")
    assert open_codes() == ["SN-0042", "SN-0099"]

    done = shop.wanda.scan("receive", element_string("SN-0042"), target="DOCK")

    assert done.verdict == "applied", done.sentence
    assert open_codes() == ["SN-0099"]
    assert answers() == ["It is known now: Module SN-0042, and it was seen."]


def test_a_box_ends_what_was_asked_about_its_code_and_the_serial_in_it(shop: Firm) -> None:
    """Scanned each by itself first, then as a pair."""
    for text in ("BOX-7", "SN-0042"):
        shop.wanda.scan("receive", text, target="DOCK")

    shop.wanda.scan("receive", "BOX-7", target="DOCK", **{"with": element_string("SN-0042")})

    assert open_codes() == []


@pytest.mark.parametrize(("target", "left"), [("BIN1", []), ("BIN2", [ODD])])
def test_an_item_seen_by_another_code_ends_it_only_where_that_lay(
    shop: Firm, target: str, left: list[str]
) -> None:
    """The unknown bag lay in bin 1: brackets in bin 2 say nothing of it."""
    shop.wanda.scan("put", ODD, target="BIN1", start="DOCK")
    shop.wanda.scan("receive", "BRA", target="DOCK", quantity=4)
    catalogue.add_code(shop.bracket, ODD, 6)

    shop.wanda.scan("put", "BRA", target=target, start="DOCK", quantity=1)

    assert open_codes() == left


def test_what_ended_a_problem_and_is_undone_asks_again(shop: Firm) -> None:
    """The thing was not seen after all."""
    shop.wanda.scan("receive", "SN-0042", target="DOCK")
    done = shop.wanda.scan("receive", element_string("SN-0042"), target="DOCK")
    shop.wanda.scan("undo", reverses=done.id)

    assert Finding.objects.get(answer=None).words == "Code SN-0042 is not known."


def test_teaching_ends_what_was_asked_about_other_batches_of_the_article(shop: Firm) -> None:
    """Two labels with one article number and two batches, one of another article."""
    other = "]C1010952123409998710LOT-1"
    for text in (OTHER + "10LOT-7", OTHER + "10LOT-8", other):
        shop.wanda.scan("receive", text, target="DOCK")
    taught(shop, OTHER + "10LOT-7")

    assert open_codes() == [other]


def test_an_article_number_is_no_unknown_code(shop: Firm) -> None:
    """Put away by the article number of what is followed by serial: the serial is asked for."""
    done = shop.wanda.scan("put", MODULE_GTIN, target="BIN1")

    assert (done.verdict, done.sentence) == (
        "stopped",
        "Module is followed by serial. Scan the serial code.",
    )


def test_at_the_dock_it_is_taught_on_the_spot(shop: Firm) -> None:
    """Goods in and the delivery ask what it is; the next day it is a problem among the others."""
    delivery = begin(shop)
    shop.wanda.scan("receive", ODD, target="DOCK")
    shop.wanda.scan("receive", "ODD-BOX-3", target="DOCK", subject=delivery.subject)
    client = Client()
    client.force_login(shop.wanda.person)

    def asks(page: str) -> list[str]:
        return re.findall(r'name="text" value="(ODD[^"]+)"', client.get(page).content.decode())

    with mock.patch(CLOCK, return_value=NOW):
        assert asks("/goods-in/") == [ODD]
        assert asks(f"/deliveries/{delivery.code}/") == ["ODD-BOX-3"]
    with mock.patch(CLOCK, return_value=NOW + timedelta(days=1)):
        assert asks("/goods-in/") == []


def test_an_unknown_code_is_told_by_its_kind_not_by_its_words(shop: Firm) -> None:
    """Other words, the same problem; another problem that reads alike is none."""
    with mock.patch("inventory.teaching.not_known", lambda text: f"Nobody knows {text}"):
        shop.wanda.scan("receive", ODD, target="DOCK")
    shop.wanda.scan("receive", "ODD-2", target="DOCK")
    assert open_codes() == ["ODD-2", ODD]

    connection.check_constraints()  # as after a commit: a migration has a transaction of its own
    schema = connection.schema_editor()
    MIGRATION.back(apps, schema)
    assert open_codes() == []
    MIGRATION.by_their_words(apps, schema)

    assert open_codes() == ["ODD-2"], "of those kept before their words alone can tell"
    assert guard.missing(connection) == []


def test_an_unknown_code_is_taught_on_the_page_of_problems(shop: Firm) -> None:
    """What is not theirs to say any more the next day the office still answers there."""
    shop.wanda.scan("receive", ODD, target="DOCK")
    shop.wanda.scan("receive", "ODD-2", target="DOCK")
    client = Client()
    client.force_login(shop.wanda.person)

    page = client.get("/problems/").content.decode()

    assert re.findall(r'name="text" value="(ODD[^"]*)"', page) == ["ODD-2", ODD]
    assert page.count("Say what it is") == 2
