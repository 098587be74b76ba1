"""A van's day: kits wait in a bay overnight, then go in, the last visit first."""

from datetime import UTC, datetime

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from inventory.audit import run
from inventory.models import Place
from kitting import van_loading
from kitting.loading import on_van
from kitting.models import Job, Kit, Package
from tests.kitting.yard import DAY, Yard, about


def leaves(kit: Kit, hour: int) -> Kit:
    Job.objects.filter(pk=kit.job_id).update(leaves_at=datetime(2026, 11, 26, hour, tzinfo=UTC))
    return kit


@pytest.fixture
def two(yard: Yard) -> list[Kit]:
    """A visit at seven with a module in its bay, one at noon; each has a parcel with something."""
    kits = [leaves(yard.kit(), 7), leaves(yard.kit(), 12)]
    yard.box("S1")
    yard.shelve("CT-BRACKET", 9)
    yard.wanda.scan("pick", "S1", **about(kits[0]))
    for kit in kits:
        yard.wanda.scan("pick", "CT-BRACKET", quantity=2, **about(kit))
    return kits


def package(kit: Kit, kind: str) -> Place:
    return Package.objects.select_related("place__parent").get(kit=kit, kind=kind).place


def staging() -> Place:
    dock = Place.objects.get(code="DOCK")
    return Place.objects.create(kind="bay", code="NIGHT1", name="Night bay 1", parent=dock)


def test_a_packed_kit_waits_overnight_by_one_scan_a_parcel(yard: Yard, two: list[Kit]) -> None:
    """The parcel and the kit's bay with the box in it move whole, and the record stays whole."""
    night, kit = staging(), two[0]
    parcel, bay = package(kit, "parcel"), package(kit, "bay")
    done = [yard.wanda.scan("put", place.code, target=night.code) for place in (parcel, bay)]

    assert [one.verdict for one in done] == ["applied", "applied"], done
    assert package(kit, "parcel").parent == night
    assert package(kit, "bay").parent == night
    waits = {one.load.waits for turn in van_loading.turns(yard.firm.van, DAY) for one in turn.loads}
    assert night in waits
    loaded = [yard.wanda.scan("load", text, **about(kit)).verdict for text in (parcel.code, "S1")]
    assert loaded == ["applied", "applied"]
    assert [check for check in run() if check.problems] == []


def test_a_kit_s_bay_leaves_the_depot_only_box_by_box(yard: Yard, two: list[Kit]) -> None:
    """Nor does a bay of the depot move at all, nor what stands on the van come back in one."""
    bay, night = package(two[0], "bay"), staging()
    for text, target in ((bay.code, "VAN1"), (on_van(two[0], yard.firm.van).code, night.code)):
        said = yard.wanda.scan("put", text, target=target)
        assert said.sentence == "Scan the boxes that stand in the bay, one by one."
    said = yard.wanda.scan("put", night.code, target="BIN1")
    assert said.sentence == "Night bay 1 is a bay and stays where it is."


def test_the_last_visit_goes_in_first(yard: Yard, two: list[Kit], client: Client) -> None:
    """Noon stands before seven; the page names every label that may be scanned."""
    turns = van_loading.turns(yard.firm.van, DAY)

    assert [(turn.visit, turn.kit) for turn in turns] == [(2, two[1]), (1, two[0])]
    assert [turn.left for turn in turns] == [1, 2]
    keys = {key for one in turns[1].loads for key in one.keys}
    assert {"S1", "BOX-S1", package(two[0], "parcel").code} <= keys

    client.force_login(yard.wanda.person)
    page = client.get(reverse("van_load", args=["VAN1", "2026-11-26"])).content.decode()
    assert page.index(two[1].code) < page.index(two[0].code)
    assert "the last: it goes in first" in page
    assert client.get(reverse("van_load", args=["VAN1", "2026-02-31"])).status_code == 404
    empty = client.get(reverse("van_load", args=["VAN1", "2026-11-27"])).content.decode()
    assert "No kit that is released and open" in empty


def test_the_crew_takes_the_van_over_once_for_all_its_visits(
    yard: Yard, two: list[Kit], client: Client
) -> None:
    """From either job's page, with one touch from the first screen; what the bench loaded is not
    scanned again, another crew's visit in the same van is not shown."""
    other = leaves(yard.kit(yard.job(crew=yard.tove)), 9)
    first = yard.wanda.scan("load", package(two[0], "parcel").code, target="VAN1", **about(two[0]))
    client.force_login(yard.tariq.person)
    page = client.get(reverse("my_load", args=[two[0].job.code])).content.decode()
    assert f'data-subject="{two[1].subject}"' in page
    assert other.code not in page
    assert page.count("data-waits") == 2  # the module in the bay, the parcel of noon

    again = yard.tariq.scan("load", package(two[0], "parcel").code, target="VAN1", **about(two[0]))
    rest = [
        yard.tariq.scan("load", text, target="VAN1", **about(kit)).verdict
        for text, kit in (("S1", two[0]), (package(two[1], "parcel").code, two[1]))
    ]
    assert (first.verdict, again.verdict, rest) == ("applied", "noted", ["applied", "applied"])
    page = client.get(reverse("my_load", args=[two[1].job.code])).content.decode()
    assert "nothing is scanned a second time" in page
    assert "data-waits" not in page
    day = timezone.localdate()
    Job.objects.filter(pk=two[0].job_id).update(date=day)
    assert reverse("my_load", args=[two[0].job.code]) in client.get("/my/").content.decode()
    alone = client.get(reverse("my_load", args=[two[0].job.code])).content.decode()
    assert "data-turn" not in alone
