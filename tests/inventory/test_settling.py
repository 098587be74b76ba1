"""Problems answered by a person; what answers itself; what has not come for a day."""

from __future__ import annotations

from datetime import timedelta

import pytest

from inventory import audit, intake
from inventory.models import Event, Finding
from inventory.not_arrived import LONG, never_came, still_waiting
from inventory.overviews import open_findings
from inventory.settling import answered_otherwise
from tests.firm import NOW, Firm, element_string
from tests.stories.counting_hands import Hands

BRACKETS = "09521234000020"


def clean() -> bool:
    return [done for done in audit.run() if done.problems] == []


def test_a_manager_answers_a_problem_on_the_page_and_an_undo_asks_again(shop: Firm) -> None:
    """With words of what was done; once; of two problems of one scan the one that is meant."""
    shop.wanda.scan("put", element_string("A1"), target="BIN1")
    shop.wanda.scan("put", "NO-SUCH-CODE", target="BIN1")
    odd, moved = open_findings()
    assert [one.nth for one in (odd, moved)] == [1, 1]
    wanda = Hands(shop.wanda.person).begin("/problems/")
    assert (odd.words in wanda.page.words, "Answer it" in wanda.page.words) == (True, False)
    subject = f"problem:{odd.event.uid}"
    refused = shop.wanda.scan("settle", subject=subject, reason="thrown away")
    bare = shop.mona.scan("settle", subject=subject)
    assert (refused.kind, bare.sentence) == (
        "not_allowed",
        "Say what was found, or what was done about it.",
    )
    mona = Hands(shop.mona.person).begin("/problems/")
    assert mona.press("Answered", near=subject, reason="an old label") == "applied"
    assert mona.said == "Answered: an old label."
    assert list(open_findings()) == [moved]
    again = shop.mona.scan("settle", subject=subject, reason="another")
    assert (again.verdict, again.sentence) == ("noted", "Answered before: an old label")
    shop.mona.scan("undo", reverses=str(odd.answer.event.uid))
    assert [one.words for one in open_findings()] == [odd.words, moved.words]
    assert clean()


@pytest.mark.parametrize(
    ("subject", "number"),
    [("", None), ("problem:", None), ("problem:x", 1), ("kit:J1", 1), ("{known}", 2)],
)
def test_which_problem_has_to_be_said(shop: Firm, subject: str, number: int | None) -> None:
    """One that is there, of an event that is there."""
    shop.wanda.scan("put", "NO-SUCH-CODE", target="BIN1")
    known = f"problem:{Finding.objects.get().event.uid}"
    about = {"subject": subject.format(known=known), "number": number, "reason": "looked"}

    assert shop.mona.scan("settle", **about).sentence == "Say which problem this is about."
    assert Finding.objects.filter(answer=None).count() == 1


def test_what_an_act_of_its_own_answers_is_not_answered_by_words(shop: Firm) -> None:
    """A bin is counted: else nobody ever looks, and the book stays wrong."""
    shop.wanda.scan("count", BRACKETS, target="BIN1", kind="none")
    shop.wanda.scan("put", BRACKETS, start="BIN1", target="VAN1", quantity=3)
    asked = Finding.objects.get(kind="count")
    done = shop.mona.scan("settle", subject=f"problem:{asked.event.uid}", reason="surely there")

    assert done.sentence == "Count it there: the count answers this."
    assert answered_otherwise([asked]) == {asked.pk: "Count it there: the count answers this"}
    shop.wanda.scan("count", BRACKETS, target="BIN1", quantity=2)
    assert not Finding.objects.filter(answer=None).exists()


def test_goods_in_confirms_what_was_scanned_before_it_came(shop: Firm) -> None:
    """Put away unknown, it is provisional; received it is not, wherever it stands; undone it is."""
    shop.wanda.scan("put", element_string("A1"), target="BIN1")
    asked = Finding.objects.get()
    assert shop.unit("A1").provisional
    came = shop.wanda.scan("receive", element_string("A1"), target="DOCK")

    assert (came.verdict, came.sentence) == (
        "applied",
        "Module A1 is received; it went on to Bin 1 before.",
    )
    asked.refresh_from_db()
    assert (shop.unit("A1").provisional, asked.answer.words) == (False, "Goods-in has received it.")
    again = shop.wanda.scan("receive", element_string("A1"), target="DOCK")
    assert (again.verdict, again.sentence) == ("noted", "Module A1 was received before.")
    shop.wanda.scan("undo", reverses=came.id)
    assert shop.unit("A1").provisional
    assert Finding.objects.filter(unit=shop.unit("A1"), answer=None).count() == 1
    assert clean()


def test_what_has_not_come_for_a_day_is_shown(shop: Firm) -> None:
    """Numbers a device skipped; not as long as it may just be out of signal."""
    shop.wanda.line("put", "NEVER-SENT", target="BIN1")
    shop.wanda.line("put", "NEVER-SENT-EITHER", target="BIN1")
    line, yesterday = shop.wanda.line("receive", "BRA", target="DOCK"), NOW - LONG
    intake.take(shop.wanda.person, [line], yesterday)

    assert never_came(NOW - timedelta(hours=1)) == []
    (lost,) = never_came(NOW)
    assert (lost.device, lost.count, lost.since) == (shop.wanda.device, 2, yesterday)
    mona = Hands(shop.mona.person).begin("/problems/")
    assert "2 scans of a device of Wanda never came" in " ".join(mona.page.words.split())
    shop.wanda.seq = 0
    shop.wanda.scan("receive", element_string("B1"), target="DOCK")
    assert [one.count for one in never_came(NOW)] == [1]
    assert not still_waiting(NOW).exists()
    assert Event.objects.count() == 2
