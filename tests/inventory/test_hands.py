"""Badges and commands among scans: who held the scanner, and that neither is ever a thing."""

import pytest

from inventory.badges import badge_of
from inventory.codes.commands import text_of
from inventory.models import Event, Finding, Movement
from inventory.tracing import chain
from tests import firm
from tests.firm import Firm

LABEL = f"]C101{firm.MODULE_GTIN}21SN-1"
pytestmark = pytest.mark.django_db


@pytest.fixture
def shop() -> Firm:
    return firm.build()


def test_a_badge_says_whose_hands_and_signs_nobody_in(shop: Firm) -> None:
    """The event stays that of who is signed in; the chain names both."""
    mona = shop.mona.person
    badge = badge_of(mona)
    taken = shop.wanda.scan("badge", badge)
    assert (taken.verdict, taken.sentence) == (
        "applied",
        "Mona has the scanner, Wanda is signed in.",
    )
    done = shop.wanda.scan("receive", LABEL, kind="seen", target="DOCK", hands=badge)
    assert done.verdict == "applied", done.sentence

    event = Event.objects.get(step="receive")
    assert event.person == shop.wanda.person
    told = chain("SN-1")
    assert told is not None
    assert [link.who for link in told.links] == ["Mona, at the sign-in of Wanda"]


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


def test_a_number_is_never_of_a_thing_with_a_serial(shop: Firm) -> None:
    """Five of the next, then a module: nothing moves; one of it does."""
    shop.wanda.scan("receive", LABEL, kind="seen", target="DOCK")
    many = shop.wanda.scan("put", "SN-1", target=shop.bins[0].code, quantity=5)
    one = shop.wanda.scan("put", "SN-1", target=shop.bins[0].code, quantity=1)

    assert (many.verdict, one.verdict) == ("stopped", "applied")
    assert "is one, not 5. Scan each by itself." in many.sentence
