"""A kit changes on its way: by the office after picking, by the crew at the house, by hand."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import Any

import pytest
from django.db import transaction

from inventory import audit
from inventory.models import Finding, Item
from kitting.models import Job, Kit
from kitting.overviews import in_trouble, walk
from kitting.progress import fold
from tests.kitting import yard as yards
from tests.kitting.yard import Yard, about, fresh
from tests.stories.counting_hands import Hands
from tests.stories.test_others_fitted import ANSWERS, PLAN, visit

pytestmark = pytest.mark.django_db
THICK = {"about_ac_od": "19", "about_covering": "30"}  # another gland, longer anchors


@pytest.fixture(scope="module")
def packed(django_db_setup: None, django_db_blocker: Any) -> Iterator[tuple[Yard, Kit]]:
    """One firm and one kit with its glands and anchors packed; each test's changes go again."""
    with django_db_blocker.unblock(), transaction.atomic():
        yard = yards.build()
        kit = yard.kit()
        for beginning in ("CT-G", "CT-R32", "CT-ANCH"):
            pick(yard, kit, beginning)
        yield yard, kit
        transaction.set_rollback(True)


@pytest.fixture
def yard(packed: tuple[Yard, Kit]) -> Yard:
    return packed[0]


@pytest.fixture
def kit(packed: tuple[Yard, Kit]) -> Kit:
    return fresh(packed[1])


def pick(yard: Yard, kit: Kit, only: str) -> None:
    """Pick all of the list whose code begins so; nothing was ever counted: the hand wins."""
    found = walk(kit)
    for stop in [*found.stops, *found.short]:
        if stop.line.item.code.startswith(only):
            fields = about(kit, quantity=stop.source.quantity)
            done = yard.wanda.scan("pick", stop.line.item.code, **fields)
            assert done.verdict in ("applied", "problem"), done.sentence


def to_pick(kit: Kit) -> set[str]:
    """Codes of what is not packed yet."""
    return {row.line.item.code for row in fold(kit).lines if row.picked < row.needed}


def parcel(kit: Kit) -> str:
    return str(kit.packages.get(kind="parcel").place.code)


def test_a_kit_is_changed_after_picking_and_worked_through_by_scanning(
    yard: Yard, kit: Kit
) -> None:
    """What is too many is told, goes back by a scan; what is new is picked; complete."""
    still = to_pick(kit)
    where = f"/jobs/{kit.job.code}/"
    mona = Hands(yard.mona.person).begin(where)
    mona.follow("Change the kit")
    mona.submit(f"{where}change", "Show what changes", **THICK)
    assert "gland M32" in mona.page.words
    assert fold(kit).totals["CT-G20"].planned == 1  # only looked at
    mona.submit(f"{where}change", "Change the kit", reason="a thicker cable was bought")
    assert "a thicker cable was bought" in mona.page.words

    kit = fresh(kit)
    assert to_pick(kit) == still | {"CT-G32", "CT-ANCH105"}
    wanda = Hands(yard.wanda.person).begin(f"/kits/{kit.code}/load")
    assert wanda.scan(parcel(kit)) == "problem"
    assert "too many" in wanda.said
    assert wanda.begin(f"/kits/{kit.code}/unload").scan(parcel(kit)) == "applied", wanda.said
    wanda.begin(f"/kits/{kit.code}/pick")
    wanda.follow("Put it back")
    over = {total.item.code: total.left_over for total in fold(kit).to_put_back}
    assert over == {"CT-G20": 2, "CT-R32-20": 2, "CT-ANCH75": 5}  # with a spare of each
    for code in over:
        assert wanda.scan(code) == "applied", wanda.said
    assert wanda.typed == 0
    pack_more: Counter[str] = Counter()
    for stop in walk(kit).short:
        if stop.line.item.code not in still:
            pack_more[stop.line.item.code] += stop.source.quantity
    assert pack_more == {"CT-G32": 2, "CT-ANCH105": 5}
    for code, quantity in pack_more.items():
        yard.shelve(code, quantity)
        wanda.begin(f"/kits/{kit.code}/pick")
        wanda.write("quantity", str(quantity))
        assert wanda.scan(code) == "applied", wanda.said
    assert to_pick(kit) == still
    assert fold(kit).to_put_back == []
    wanda.begin(f"/kits/{kit.code}/load")
    assert wanda.scan(parcel(kit)) == "applied", wanda.said
    assert [check.problems for check in audit.run() if check.problems] == []


def test_the_crew_says_what_differs_and_takes_it_from_the_van(yard: Yard, kit: Kit) -> None:
    """Only the change is shown, the own van first, then who else has it; then it is the list."""
    yard.shelve("CT-G32", 2, at=yard.firm.van)
    yard.shelve("CT-ANCH105", 10)
    yard.wanda.scan("load", parcel(kit), **about(kit))
    yard.tariq.scan("unbox", parcel(kit), **about(kit))
    tariq = Hands(yard.tariq.person).begin(f"/my/{kit.job.code}/")
    tariq.follow("The site differs")
    path = f"/my/{kit.job.code}/differs"
    tariq.submit(path, "Show what changes", **THICK)
    assert "1 x gland M32: 2 along with you" in " ".join(tariq.page.words.split())
    assert "none along with you; 10 at Bin 1" in " ".join(tariq.page.words.split())
    assert "battery module" not in tariq.page.words
    tariq.submit(path, "So it is: change the list")
    assert tariq.touches <= 6

    kit = fresh(kit)
    now = fold(kit)
    assert (now.totals["CT-G32"].needed, now.totals["CT-ANCH105"].needed) == (1, 4)
    assert "CT-G20" not in now.totals
    assert kit.changes.get().get_kind_display() == "the site differs"
    tariq.begin(f"/my/{kit.job.code}/unbox")
    assert tariq.scan("CT-G32") == "applied", tariq.said
    assert fold(kit).totals["CT-G32"].seen == 1


def test_what_was_not_known_goes_along_both_ways_and_comes_back(yard: Yard) -> None:
    """The cable's thickness is not known: parts for each answer are packed, one set is used."""
    mona = Hands(yard.mona.person).begin("/jobs/new")
    asked = {**ANSWERS, "about_ac_od": "unknown", "family": "tower", "job": "new", "stacks": "2"}
    site = {"site": yard.site.place.code}
    where = mona.submit("/jobs/new", PLAN, **asked, **site, **visit(yard))
    assert mona.submit(where, "Release to the warehouse") == ""
    assert "Answer first" in mona.page.words
    assert mona.submit(where, "Take the parts for each answer") == where
    assert mona.submit(where, "Release to the warehouse") == where
    kit = Job.objects.latest("pk").kit
    assert kit is not None
    glands = {"CT-G16", "CT-G20", "CT-G25", "CT-G32"} & set(fold(kit).totals)
    assert len(glands) > 1

    pick(yard, kit, "CT-G")
    yard.wanda.scan("load", parcel(kit), **about(kit))
    yard.tariq.scan("unbox", parcel(kit), **about(kit))
    for package in kit.packages.filter(kind="bag"):
        yard.tariq.scan("unbox", package.place.code, **about(kit))
    path = f"/my/{kit.job.code}/back"
    tariq = Hands(yard.tariq.person).begin(path)
    tariq.follow("Say what it was")
    differs = f"/my/{kit.job.code}/differs"
    tariq.submit(differs, "Show what changes", about_ac_od="12")
    tariq.submit(differs, "So it is: change the list")
    kit = fresh(kit)
    assert "CT-G32" not in fold(kit).totals
    tariq.begin(path)
    assert "Say what it was" not in tariq.page.words
    assert tariq.press("Used as planned") == "applied", tariq.said
    tariq.begin(path)
    assert tariq.press("All that is left goes back on Van 1") == "applied", tariq.said
    now = fold(kit)
    assert (now.totals["CT-G20"].used, now.totals["CT-G20"].back) == (1, 1)  # and its spare
    assert now.others["CT-G32"].back >= 1
    assert in_trouble(now) == []
    assert not Finding.objects.filter(subject=kit.subject, kind="missing").exists()


def test_the_same_line_by_hand_on_three_kits_is_proposed_for_the_list(yard: Yard) -> None:
    """Side by side with the parts list's figure, through working out again, then as a proposal."""
    mona = Hands(yard.mona.person)
    screw = Item.objects.get(code="CT-SCREW5")
    for number in range(3):
        job = yard.job()
        where = f"/jobs/{job.code}/"
        mona.begin(where)
        mona.submit(where, "Work out the kit")
        mona.follow("Lines by hand")
        given = {"verb": "change", "item": screw.code, "step": "fix", "quantity": "12"}
        assert mona.submit(f"{where}hand", "Change it", **given) == ""  # no reason, no change
        mona.submit(f"{where}hand", "Change it", **given, reason=f"three shear off, {number}")
        mona.begin(where)
        mona.submit(where, "Work out again")
        words = " ".join(mona.page.words.split())
        assert f"three shear off, {number}" in words
        kit = Job.objects.get(pk=job.pk).kit
        assert kit is not None
        assert kit.revision == 3
        line = kit.lines.get(item=screw, step="fix")
        assert line.quantity == 12
        assert "9 by the parts list, 12 by hand" in line.reasons[-1]["arithmetic"]
        mona.begin("/lists/proposals")
        assert (screw.name in mona.page.words) == (number == 2)
    mona.begin(f"{where}hand")
    mona.submit(f"{where}hand", "Take it back")
    assert Job.objects.latest("pk").kit.lines.get(item=screw, step="fix").quantity == 9
    mona.begin("/lists/proposals")
    assert screw.name not in mona.page.words
