"""Badges and commands among scans: who held the scanner, and that neither is ever a thing."""

from importlib import import_module

import pytest
from django.apps import apps
from django.db import connection

from inventory.badges import badge_of
from inventory.codes.commands import text_of
from inventory.look_back import look_back
from inventory.models import Event, Finding, Held, Movement, Outcome, Scan, guard
from inventory.tracing import chain
from tests import firm
from tests.firm import Firm

LABEL = f"]C101{firm.MODULE_GTIN}21SN-1"
pytestmark = pytest.mark.django_db


@pytest.fixture
def shop() -> Firm:
    return firm.build()


def test_a_badge_says_whose_hands_and_signs_nobody_in(shop: Firm) -> None:
    """The event stays that of who is signed in; the chain names both, the record holds no name."""
    mona = shop.mona.person
    badge = badge_of(mona)
    taken = shop.wanda.scan("badge", badge)
    assert (taken.verdict, taken.sentence) == (
        "applied",
        "This badge has the scanner. Who is signed in stays so.",
    )
    done = shop.wanda.scan("receive", LABEL, kind="seen", target="DOCK", hands=badge)
    assert done.verdict == "applied", done.sentence

    event = Event.objects.get(step="receive")
    assert event.person == shop.wanda.person
    told = chain("SN-1")
    assert told is not None
    assert [link.who for link in told.links] == ["Mona, at the sign-in of Wanda"]
    assert not Outcome.objects.filter(line__icontains="mona").exists()


def test_what_somebody_s_hands_did_stands_on_that_person_s_page(shop: Firm) -> None:
    """By badge and by name: scans at another one's sign-in beside those at the own one."""
    mona = shop.mona.person
    shop.wanda.scan("receive", LABEL, kind="seen", target="DOCK", hands=badge_of(mona))
    shop.wanda.scan("put", "SN-1", target="BIN1")
    shop.mona.scan("put", "SN-1", target="BIN2", hands=badge_of(mona))
    for text in (badge_of(mona), "Mona"):
        told, _ = look_back(text, people=True)
        assert [(link.step, link.who) for link in told.links] == [
            ("receive", "Mona, at the sign-in of Wanda"),
            ("put", "Mona"),
        ]
    assert look_back(badge_of(mona))[0].links == ()
    assert sorted(Held.objects.values_list("event__step", "person__name")) == [
        ("put", "Mona"),
        ("receive", "Mona"),
    ]


@pytest.mark.parametrize("text", ["LBU0000077", "LBN0009991", "wanda", text_of(1)])
def test_hands_that_are_nobody_s_are_refused_by_name(shop: Firm, text: str) -> None:
    """Another label, a number nobody has, a name: nothing moves, and what came is said."""
    done = shop.wanda.scan("receive", LABEL, kind="seen", target="DOCK", hands=text)

    assert (done.verdict, done.kind) == ("refused", "not_allowed")
    assert done.sentence == f"hands: expected the badge of a person here, got {text!r}"
    assert not Event.objects.exists()


def test_a_leaver_s_hands_are_recorded_and_looked_at(shop: Firm) -> None:
    """What happened is never lost: a phone that sends again after somebody left keeps its scans."""
    tariq = shop.tariq.person
    tariq.is_active = False
    tariq.save()
    done = shop.wanda.scan("receive", LABEL, kind="seen", target="DOCK", hands=badge_of(tariq))

    words = f"The badge {badge_of(tariq)} is of somebody who has left."
    assert (done.verdict, done.sentence.endswith(words)) == ("problem", True)
    assert Movement.objects.count() == 1
    assert Finding.objects.get().words == words


def test_hands_of_earlier_events_come_from_their_lines(shop: Firm) -> None:
    """The migration finds what intake notes today; a text that names nobody is left out."""
    badge = badge_of(shop.mona.person)
    for number in (1, 2):
        shop.wanda.scan("receive", f"{LABEL}{number}", kind="seen", target="DOCK", hands=badge)
    shop.wanda.scan("receive", f"{LABEL}3", kind="seen", target="DOCK")
    before = sorted(Held.objects.values_list("event", "person"))
    with guard.lifted(connection):
        Held.objects.all().delete()
        nobody = Event.objects.latest("number")
        line = nobody.line.replace('"via"', '"hands":"LBU0000077","via"')
        Event.objects.filter(pk=nobody.pk).update(line=line)
    import_module("inventory.migrations.0018_held").from_lines(apps, None)

    assert sorted(Held.objects.values_list("event", "person")) == before
    assert len(before) == 2


def test_who_has_left_holds_nothing(shop: Firm) -> None:
    """A leaver's badge and a text that is none are refused aloud; a technician has no bench."""
    tariq = shop.tariq.person
    tariq.is_active = False
    tariq.save()
    for text in (badge_of(tariq), "LBU0000077"):
        done = shop.wanda.scan("badge", text)
        assert done.verdict == "stopped"
        assert "scans are signed as before" in done.sentence
    tariq.is_active = True
    tariq.save()
    assert shop.tariq.scan("badge", badge_of(tariq)).verdict == "refused"


@pytest.mark.parametrize("step", ["receive", "put", "set_aside"])
def test_a_command_and_a_badge_move_nothing(shop: Firm, step: str) -> None:
    """Where a page takes one for a thing, the server says what it is and keeps no problem."""
    for text, words in ((text_of(8), "wall sheet"), (badge_of(shop.mona.person), "a badge")):
        done = shop.wanda.scan(step, text, target="DOCK", reason="x")
        assert (done.verdict, words in done.sentence) == ("stopped", True), done.sentence
    assert not Movement.objects.exists()
    assert not Finding.objects.exists()
    # Neither is a code that nobody could read.
    assert list(Scan.objects.values_list("read_as", flat=True)) == ["command", "badge"]


@pytest.mark.parametrize(
    ("step", "text", "name"),
    [
        ("receive", LABEL, "SN-1"),
        ("receive", "BOX-1", "Box of Module"),
        ("put", "BOX-1", "Box of Module"),
    ],
)
def test_a_number_is_never_of_a_box_or_a_new_serial(
    shop: Firm, step: str, text: str, name: str
) -> None:
    """Five of the next, then a serial nobody knows yet or a box: refused, in words."""
    shop.wanda.scan("receive", "BOX-1", target="DOCK", **{"with": f"{LABEL}9"})
    done = shop.wanda.scan(step, text, target="DOCK", kind="seen", quantity=5)

    assert done.verdict == "stopped"
    assert done.sentence == f"{name} is one, not 5. Scan each by itself."


def test_a_number_is_never_of_a_thing_with_a_serial(shop: Firm) -> None:
    """Five of the next, then a module: nothing moves; one of it does."""
    shop.wanda.scan("receive", LABEL, kind="seen", target="DOCK")
    many = shop.wanda.scan("put", "SN-1", target=shop.bins[0].code, quantity=5)
    one = shop.wanda.scan("put", "SN-1", target=shop.bins[0].code, quantity=1)

    assert (many.verdict, one.verdict) == ("stopped", "applied")
    assert "is one, not 5. Scan each by itself." in many.sentence
