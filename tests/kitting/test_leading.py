"""A lead lets a stopped scan through: PIN and reason, once; a manager sees it afterwards."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest
from django.test import Client
from django.urls import reverse

from inventory.intake import Result
from inventory.models import Event, Finding, Hold, Unit
from kitting import leading
from kitting.leading import LeadError
from kitting.models import Kit, LeadPin, LeadWord
from tests.inventory.recalls import freeze, letter
from tests.kitting.yard import Yard, about

PIN = "2580"


@pytest.fixture
def aside(yard: Yard) -> Unit:
    """A module that was set aside; Wanda is a lead."""
    unit = yard.box("S1")
    yard.mona.scan("set_aside", "S1", reason="a dent")
    leading.give(yard.wanda.person, PIN, yard.mona.person)
    return unit


def pick(yard: Yard, kit: Kit, text: str = "S1") -> tuple[Result, Event]:
    done = yard.wanda.scan("pick", text, **about(kit))
    return done, Event.objects.get(uid=done.id)


def word(yard: Yard, event: Event, pin: str = PIN, later: timedelta = timedelta()) -> LeadWord:
    now: datetime = event.received_at + later
    by = yard.mona.person
    return leading.say(event, yard.wanda.person, pin, "looked at it", by, now)


def test_a_lead_s_word_lets_the_same_scan_through_once(yard: Yard, kit: Kit, aside: Unit) -> None:
    """Stopped, said, scanned again: it goes along, and a problem tells which stop, who and why."""
    stopped, event = pick(yard, kit)
    assert (stopped.verdict, "set aside: a dent" in stopped.sentence) == ("stopped", True)
    word(yard, event)
    through, _ = pick(yard, kit)
    aside.refresh_from_db()

    assert through.verdict == "problem", through.sentence
    assert through.sentence.endswith("Let through by a lead: looked at it.")
    assert aside.place is not None
    assert aside.place.way_up()[1].subject == kit.subject or aside.place.subject == kit.subject
    told = Finding.objects.get(event__uid=through.id)
    assert "It was stopped: battery module S1 is set aside: a dent." in told.words
    assert leading.said().get().used.event.uid == Event.objects.get(uid=through.id).uid
    assert Hold.objects.filter(release=None).count() == 1  # it stays set aside for all others

    yard.wanda.scan("put_back", "S1", target="BIN1", **about(kit))
    assert pick(yard, kit)[0].verdict == "stopped"


@pytest.mark.parametrize("other", ["another code", "another kit", "too late"])
def test_a_word_is_for_one_code_of_one_kit_and_not_for_long(
    yard: Yard, kit: Kit, aside: Unit, other: str
) -> None:
    """What was not stopped before stops, and so does it once ten minutes are over."""
    _, event = pick(yard, kit)
    early = -timedelta(minutes=11) if other == "too late" else timedelta()
    word(yard, event, later=early)
    if other == "another code":
        yard.box("S2")
        yard.mona.scan("set_aside", "S2", reason="a dent")
    asked = yard.kit() if other == "another kit" else kit
    done, _ = pick(yard, asked, "S2" if other == "another code" else "S1")

    assert done.verdict == "stopped"
    assert not Finding.objects.filter(words__startswith="Let through").exists()


def test_what_a_recall_names_no_lead_lets_through(yard: Yard, kit: Kit, aside: Unit) -> None:
    """Though the same thing is set aside for another reason, and that came first."""
    freeze(yard.mona, letter(yard.mona, "model CT-MODULE; prefix S1"))
    stopped, event = pick(yard, kit)
    word(yard, event)
    again, _ = pick(yard, kit)

    assert (stopped.verdict, again.verdict) == ("stopped", "stopped")
    assert "a dent" not in again.sentence


def test_wrong_pins_are_counted_and_a_lead_s_right_ends(yard: Yard, kit: Kit, aside: Unit) -> None:
    """Five in a row and the right one does not help either; who is no lead says nothing."""
    _, event = pick(yard, kit)
    for _ in range(leading.TRIES):
        with pytest.raises(LeadError, match="not this lead's PIN"):
            word(yard, event, "0000")
    with pytest.raises(LeadError, match="5 wrong PINs in a row"):
        word(yard, event)
    assert LeadPin.objects.get().pin != PIN
    leading.give(yard.wanda.person, "", yard.mona.person)
    with pytest.raises(LeadError, match="not this lead's PIN"):
        word(yard, event)
    with pytest.raises(LeadError, match="4 to 8 digits"):
        leading.give(yard.wanda.person, "12a4", yard.mona.person)
    with pytest.raises(LeadError, match="of the warehouse or the office, got Tariq"):
        leading.give(yard.tariq.person, PIN, yard.mona.person)
    assert not LeadWord.objects.exists()


def test_the_page_asks_pin_and_reason_and_the_manager_reads_it(
    yard: Yard, kit: Kit, aside: Unit
) -> None:
    """A wrong PIN says so; the right one leads back to the walk; the list names the lead."""
    _, event = pick(yard, kit)
    wanda, mona = Client(), Client()
    wanda.force_login(yard.wanda.person)
    mona.force_login(yard.mona.person)
    where = f"{reverse('lead_word')}?event={event.uid}"
    given = {"lead": yard.wanda.person.pk, "pin": "1111", "reason": "only the paint"}
    wrong = wanda.post(where, given)
    right = wanda.post(where, {**given, "pin": PIN})
    listed = mona.get(reverse("leads")).content.decode()

    assert "set aside: a dent" in wanda.get(where).content.decode()
    assert "That is not this lead&#x27;s PIN" in wrong.content.decode()
    assert right["Location"] == reverse("kit_pick", args=[kit.code])
    assert "only the paint" in listed
    assert "nobody scanned it" in listed
    assert wanda.get(reverse("leads")).status_code == 403
    for other in ("", "?event=x", f"?event={aside.uid}"):
        page = wanda.get(reverse("lead_word") + other).content.decode()
        assert "No scan of the bench was stopped" in page
