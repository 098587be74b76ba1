"""The same change by hand on three jobs is proposed, judged and stored as a trial.

Two straps a stack where the tower's rule R55 gives one; three wedges that no list knows.
"""

import pytest
from django.test import Client

from inventory.models import Item
from kitting import families, hand_lines, packing, proposals
from kitting.models import FamilyEdition
from tests.kitting.yard import Yard

REASON = "the inspector asks for it"


def by_hand(yard: Yard, code: str, step: str, verb: str, quantity: int) -> None:
    for modules in (2, 3, 4):
        job = yard.job(stacks=[{"modules": modules}])
        packing.work_out_kit(job, yard.mona.person)
        hand_lines.put(
            job,
            item=Item.objects.get(code=code),
            step=step,
            verb=verb,
            quantity=quantity,
            reason=REASON,
            by=yard.mona.person,
        )


def test_a_change_repeated_by_hand_ends_in_the_next_trial(yard: Yard) -> None:
    """Shown with its reason and what it brings, added by a press, proved, and not in use yet."""
    by_hand(yard, "CT-BONDS", "earth", "change", 2)
    (offer,) = proposals.offered()
    assert offer.proposal.words == "R55 gives 2 instead of 1. With it: +2 CT-BOLT8, +2 CT-WASH8"
    assert (offer.why, len(offer.kits)) == ((REASON,), 3)

    office = Client()
    office.force_login(yard.mona.person)
    page = office.get("/lists/proposals").content.decode()
    assert REASON in page
    assert "gives = { CT-BONDS = 2 }" in page
    answer = office.post("/lists/proposals", {"add": offer.key})
    edition = FamilyEdition.objects.get(status="trial")
    assert answer["Location"] == f"/lists/tower/{edition.edition.isoformat()}/"
    assert edition.current_from is None
    assert edition.text.count("CT-BONDS = 2") == 1
    assert proposals.offered() == []
    families.make_current(edition)
    kit = packing.work_out_kit(yard.job(), yard.mona.person)
    assert kit.lines.get(item__code="CT-BONDS", step="earth").quantity == 2


def test_an_item_no_list_knows_gets_its_table(yard: Yard) -> None:
    """On two jobs it is nothing yet, on three it is a part of its own."""
    Item.objects.create(code="WEDGE", name="wedge", tracking="count", mass_g=10)
    by_hand(yard, "WEDGE", "fix", "add", 3)
    (offer,) = proposals.offered()

    assert offer.proposal.words == "3 for each job"
    assert '[[item]]\ncode = "WEDGE"\nname = "wedge"' in offer.proposal.text


pytestmark = pytest.mark.django_db
