"""A cracked module is swapped: planned from the site's page, charged, scanned in pairs."""

from __future__ import annotations

import pytest

from inventory import audit
from inventory.models import Hold, Unit
from kitting import problems, queries
from kitting.models import Job, Kit
from kitting.progress import fold
from tests.kitting import yard as yards
from tests.kitting.test_unboxing import carry
from tests.kitting.yard import about
from tests.stories.counting_hands import Hands
from tests.stories.test_a_stack_grows import put_up

pytestmark = pytest.mark.django_db
PLAN = "Plan it and work out the kit"


def closed(tariq: Hands, kit: Kit) -> None:
    """What has to be ticked is named, ticked, and then the job closes."""
    tariq.begin(f"/my/{kit.job.code}/back")
    assert tariq.press("Close the job") == "stopped"
    assert "Not ticked: stack 1: " in tariq.said
    tariq.follow("Tick them, or say why not")
    tariq.ticks(kit)
    tariq.begin(f"/my/{kit.job.code}/back")
    assert tariq.press("Close the job") == "applied", tariq.said
    assert Kit.objects.get(pk=kit.pk).closed_by is not None


def came_off(mona: Hands) -> None:
    """The claim does not say that what was swapped stays fitted."""
    claim = mona.begin("/claims/C1/").page.words
    assert "It goes back once they have given it." in claim
    assert "it stays fitted" not in claim


def test_a_damaged_module_is_swapped_from_the_site_s_page() -> None:
    """Only the visit is asked; charges are matched, the old one is set aside and comes back."""
    yard = yards.build()
    put_up(yard)
    mona = Hands(yard.mona.person).begin(f"/sites/{yard.site.place.code}/")
    mona.follow("Swap units")
    path = f"/sites/{yard.site.place.code}/start/swap"
    visit = {"date": yards.DAY.isoformat(), "van": str(yard.firm.van.pk)}
    crew = [str(yard.tariq.person.pk)]
    where = mona.submit(path, PLAN, **visit, crew=crew, places=["1/1"])
    job = Job.objects.latest("pk")
    assert where == f"/jobs/{job.code}/", mona.page.words
    assert mona.typed == len(visit["date"]) + len(visit["van"])
    kit = job.kit
    assert fold(kit).totals["CT-MODULE"].needed == 1
    assert not {"CT-POWER", "CT-LABSYS", "CT-BRACKET"} & set(fold(kit).totals)  # what stays stays
    assert "Take the stack apart from the top down to place 1" in mona.page.words
    mona.submit(where, "Release to the warehouse")

    carry(yard, kit, "N1")
    yard.tariq.scan("unbox", "N1", **about(kit))
    yard.box("S9")
    stray = yard.tariq.scan("swap", "N1", **about(kit, **{"with": "S9"}))
    assert stray.verdict == "stopped"
    assert "S9 is not in this stack by the record. Say where it stood" in stray.sentence
    places = dict(Unit.objects.values_list("serial", "place__code"))
    assert (places["N1"], places["S9"]) == (yard.site.place.code, "BOX-S9")
    tariq = Hands(yard.tariq.person).begin(f"/my/{job.code}/")
    tariq.follow("Swap")
    tariq.scan("S1")
    assert tariq.scan("N1") == "stopped"
    assert "charge" in tariq.said
    assert tariq.fill("Enter the charge", text="N1", number="31") == "applied", tariq.said
    tariq.scan("S1")
    assert tariq.scan("N1") == "stopped"
    assert "standing modules" in tariq.said
    assert tariq.fill("Enter the charge", text="S2", number="28") == "applied", tariq.said
    tariq.choose("reason", problems.SIGNS[0])
    tariq.scan("S1")
    assert tariq.scan("N1") == "applied", tariq.said
    assert Hold.objects.get(release=None).reason == problems.SIGNS[0]
    tariq.begin(f"/my/{job.code}/swap")
    assert "new" in tariq.page.words

    expected = [(1, "N1"), (2, "S2"), (3, "P1")]
    assert expected == [(r.level, r.serial) for r in queries.stands_at(yard.site.place)]
    old = Unit.objects.get(serial="S1")
    assert Hold.objects.filter(unit=old, release=None).exists()
    came_off(mona)
    tariq.begin(f"/my/{job.code}/back")
    assert "S1" in tariq.page.words
    assert tariq.press("All that is left goes back on Van 1") == "stopped"
    assert "special provision 376" in tariq.said
    decided = {"kind": "p908", "reason": "cracked case, cold, no leak: by the maker's sheet"}
    assert yard.mona.scan("packing_class", "S1", **decided).verdict == "applied"
    tariq.begin(f"/my/{job.code}/back")
    assert tariq.press("All that is left goes back on Van 1") == "applied", tariq.said
    closed(tariq, kit)
    assert [check.problems for check in audit.run() if check.problems] == []
