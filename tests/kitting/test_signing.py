"""A trial's open need is signed by a person on each kit, picked, and offered as a rule.

The trial is the invented tower without its rule for the strap from head to foot: one strap a stack
was what the rule gave (tower.md, R55), so one strap a stack is what must come back as a rule.
"""

from typing import Any

import pytest
from django.db import DatabaseError, connection, transaction
from django.test import Client
from django.urls import reverse

from inventory.models import Item
from kitting import changing, families, overviews, packing, proposals, signing
from kitting.models import CheckSigned, FamilyEdition, Kit
from kitting.packing import Refused
from kitting.plan import asking
from kitting.progress import fold
from tests.kitting.yard import TOWER, Yard, about, fresh

ASKED = "check yourself: how is it earthed (head to foot)?"
TEXT = TOWER.read_text(encoding="utf-8").replace("2026-11-03", "2026-12-01")
RULE = TEXT[TEXT.index('[[rule]]\nname = "R55"') : TEXT.index('[[rule]]\nname = "R56"')]
TRIAL = TEXT.replace(RULE, "").replace('"released"', '"trial"')


@pytest.fixture
def trial(yard: Yard) -> FamilyEdition:
    edition = families.load(TRIAL, "trial.toml").edition
    families.make_current(edition)
    return edition


def worked(yard: Yard, *heights: int) -> Kit:
    more: dict[str, Any] = {"stacks": [{"modules": n} for n in heights]}
    more |= {"gap": 300} if len(heights) > 1 else {}
    return packing.work_out_kit(yard.job(**more), yard.mona.person)


def straps(kit: Kit) -> int:
    total = fold(kit).totals.get("CT-BONDS")
    return total.needed if total else 0


def sign(yard: Yard, kit: Kit, quantity: int, **more: Any) -> Kit:
    item = Item.objects.get(code="CT-BONDS")
    given = {"item": item, "quantity": quantity, "words": "", **more}
    return packing.sign_check(kit, ASKED, yard.wanda.person, **given)


def test_a_kit_cannot_leave_before_each_check_is_signed(yard: Yard, trial: FamilyEdition) -> None:
    """Who, when and what; what is taken is on the kit and is picked."""
    kit = worked(yard, 2)
    assert [check.question for check in signing.checks(kit)] == [ASKED]
    with pytest.raises(Refused, match=r"Sign first: How is it earthed \(head to foot\)\?"):
        packing.release(kit, yard.mona.person)
    assert straps(kit) == 0

    signed = sign(yard, kit, 1, words="strap behind the cover")
    (check,) = signing.checks(signed)
    assert check.signed is not None
    assert (check.signed.by.name, check.answer) == (
        "Wanda",
        "1 x bonding strap, strap behind the cover",
    )
    assert check.signed.at is not None
    line = signed.lines.get(item__code="CT-BONDS", step="earth")
    assert line.reasons[0]["arithmetic"] == "1 x bonding strap, signed for this kit"
    packing.release(signed, yard.mona.person)
    assert straps(fresh(signed)) == 1
    with pytest.raises(signing.NotSigned, match="is released"):
        signing.sign(signed, ASKED, yard.mona.person, item=None, quantity=0, words="late")


def test_a_kit_changed_after_its_release_is_signed_again_before_it_loads(
    yard: Yard, trial: FamilyEdition
) -> None:
    """Other answers ask anew: the week says so, loading stops, what is signed is picked too."""
    kit = sign(yard, worked(yard, 2), 1)
    packing.release(kit, yard.mona.person)
    kit = fresh(kit)
    taller = {**kit.snapshot["configuration"], "stacks": [{"modules": 3}]}
    changing.change_kit(kit, taller, yard.mona.person, "one module more")
    kit = fresh(kit)
    assert (len(signing.unsigned(kit)), straps(kit)) == (1, 0)
    said = overviews.readiness(kit.job, kit, fold(kit), ())
    assert (said.word, said.reasons) == (
        "To sign",
        ("Sign first: How is it earthed (head to foot)?",),
    )
    parcel = kit.packages.get(kind="parcel").place.code
    done = yard.wanda.scan("load", parcel, **about(kit))
    assert done.verdict == "stopped"
    assert "was changed. Sign first: How is it earthed" in done.sentence

    client = Client()
    client.force_login(yard.wanda.person)
    given = {"question": ASKED, "item": "CT-BONDS", "quantity": "2"}
    client.post(reverse("kit_checks", args=[kit.code]), given)
    kit = fresh(kit)
    assert (signing.unsigned(kit), straps(kit), kit.changes.count()) == ([], 2, 2)
    assert yard.wanda.scan("load", parcel, **about(kit)).verdict == "applied"


def test_a_signature_is_for_this_list_and_these_answers(yard: Yard, trial: FamilyEdition) -> None:
    """Worked out again it holds; with another answer it is asked anew; it cannot be changed."""
    kit = sign(yard, worked(yard, 2), 1)
    again = packing.work_out_kit(kit.job, yard.mona.person)
    assert (signing.unsigned(again), straps(again)) == ([], 1)
    sign(yard, again, 2)  # of two the later counts
    again = packing.work_out_kit(kit.job, yard.mona.person)
    assert straps(again) == 2

    kit.job.configuration = {**kit.job.configuration, "stacks": [{"modules": 3}]}
    kit.job.save()
    other = packing.work_out_kit(kit.job, yard.mona.person)
    assert (len(signing.unsigned(other)), straps(other)) == (1, 0)
    for words in ("UPDATE kitting_checksigned SET words = ''", "DELETE FROM kitting_checksigned"):
        with pytest.raises(DatabaseError, match="only grows"), transaction.atomic():
            connection.cursor().execute(words)


def test_the_page_takes_a_signature_and_says_what_is_missing(
    yard: Yard, trial: FamilyEdition
) -> None:
    """Nothing said, an unknown item, no number: each is told and nothing is signed."""
    kit = worked(yard, 2)
    desk, where = Client(), f"/kits/{kit.code}/checks"
    desk.force_login(yard.wanda.person)
    asked = {"question": ASKED}
    for given, told in (
        ({}, "Expected an item with how many, or some words"),
        ({"item": "NO-SUCH"}, "expected the code of an item"),
        ({"item": "CT-BONDS"}, "expected 1 or more"),
        ({"words": "x", "question": "how is it held?"}, "Expected a question of"),
    ):
        page = desk.post(where, asked | given).content.decode()
        assert told in page
    assert not CheckSigned.objects.exists()

    answer = desk.post(where, asked | {"item": "ct-bonds", "quantity": "1"})
    assert answer["Location"] == f"/kits/{kit.job.code}-2/checks"
    page = desk.get(answer["Location"]).content.decode()
    assert "1 x bonding strap, Wanda" in page


def test_what_another_job_was_signed_with_is_offered_and_not_taken_over(
    yard: Yard, trial: FamilyEdition
) -> None:
    """The fields hold it, the sentence says from where; unsigned it stays until somebody signs."""
    sign(yard, worked(yard, 2), 1, words="behind the cover")
    kit, desk = worked(yard, 3), Client()
    desk.force_login(yard.wanda.person)
    page = desk.get(f"/kits/{kit.code}/checks").content.decode()

    assert "On J1001-1 it was: 1 x bonding strap, behind the cover." in page
    assert 'value="CT-BONDS"' in page
    assert len(signing.unsigned(kit)) == 1


def test_what_was_signed_becomes_a_rule_that_the_check_accepts(
    yard: Yard, trial: FamilyEdition
) -> None:
    """One strap on one stack, two on two: one a stack; the next trial leaves nothing open."""
    assert proposals.offered() == []
    sign(yard, worked(yard, 2), 1)
    sign(yard, worked(yard, 2, 2), 2)
    (offer,) = proposals.offered()

    assert (offer.proposal.need, offer.proposal.of) == ("bond", "head to foot")
    assert offer.proposal.words == "1 for each stack"
    assert offer.kits == ("J1001-1", "J1002-1")
    added = proposals.add([offer]).edition
    family = families.family_of(added)
    assert asking.unmet(family) == []  # and every stack was proved before it was stored
    assert (added.status, added.current_from) == ("trial", None)
    assert proposals.offered() == []  # the newest list says it
    families.make_current(added)
    kit = worked(yard, 3)
    assert (signing.checks(kit), straps(kit)) == ([], 1)


def test_what_was_only_seen_to_becomes_a_reason(yard: Yard, trial: FamilyEdition) -> None:
    """Nothing is taken on any kit: the rule says why. Taken on one more, none is made up."""
    for heights in ((2,), (3,)):
        given = {"item": None, "words": "the feet are bonded by their screws"}
        sign(yard, worked(yard, *heights), 0, **given)
    (offer,) = proposals.offered()
    assert 'why = "the feet are bonded by their screws"' in offer.proposal.text
    assert offer.about == "How is it earthed (head to foot)?"

    sign(yard, worked(yard, 4), 1)
    (offer,) = proposals.offered()
    assert offer.proposal.text == ""
    assert offer.proposal.words == "Something was taken on some kits, nothing on others."


def test_where_the_kits_differ_no_rule_is_made_up(yard: Yard, trial: FamilyEdition) -> None:
    """One strap here, three there on the same stack: told, and not to be added."""
    sign(yard, worked(yard, 2), 1)
    sign(yard, worked(yard, 2), 3)
    (offer,) = proposals.offered()

    assert (offer.proposal.text, offer.proposal.words) == (
        "",
        "No single way of counting explains what was signed.",
    )


pytestmark = pytest.mark.django_db
