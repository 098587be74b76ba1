"""A person's own bag goes along to each job of theirs: levels, refills, what kits print of it.

A person's bag of always the same small parts: common practice, no source.
"""

from datetime import UTC, datetime, timedelta

import pytest
from django.test import Client
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from inventory import audit, catalogue
from inventory.models import Finding, Holding, Item, Lot, Person, Place
from kitting import (
    explaining,
    looking_for,
    nearby,
    sourcing,
    standing_list,
    tools_due,
    van_levels,
    where_near,
)
from kitting.models import Carried, Job, Kit, OwnBag, PartRequest
from kitting.plan.difference import Difference
from kitting.printing import pick
from kitting.progress import fold
from tests.firm import NOW
from tests.kitting.test_van_levels import close, like
from tests.kitting.yard import DAY, Yard, about, fresh
from tests.people import page_of
from tests.printed import Sheet

CODE = "CT-BRACKET"  # each of these kits takes two


def page() -> str:
    return page_of("own_bag", "tariq")


@pytest.fixture
def bag(yard: Yard, monkeypatch: pytest.MonkeyPatch) -> Place:
    """Tariq's bag, with one bracket of one to three; twenty more on the shelf."""
    with monkeypatch.context() as clock:
        clock.setattr(timezone, "now", lambda: NOW - timedelta(days=1))
        bag = standing_list.give_bag(yard.tariq.person, yard.mona.person)
    standing_list.tell(bag, Item.objects.get(code=CODE), 1, 3, yard.mona.person)
    yard.shelve(CODE, 21)
    bring(yard, bag, 1)
    return bag


def bring(yard: Yard, place: Place, quantity: int, code: str = CODE) -> None:
    done = yard.wanda.scan("put", code, start="BIN1", target=place.code, quantity=quantity)
    assert done.verdict == "applied", done.sentence


def on_list(yard: Yard, least: int, up_to: int) -> None:
    """Put the item on the van's list, and the least of it on the van."""
    standing_list.tell(yard.firm.van, Item.objects.get(code=CODE), least, up_to, yard.mona.person)
    bring(yard, yard.firm.van, least)


def counted(kit: Kit) -> tuple[int, int]:
    total = fold(kit).totals[CODE]
    return total.on_van, total.to_pick


def parts(kit: Kit) -> list[tuple[str, str, int]]:
    """Where the brackets of a kit come from."""
    line = kit.lines.get(item__code=CODE)
    return [(one.kind, one.look, one.quantity) for one in sourcing.sources(kit)[line.pk]]


def browser(person: Person) -> Client:
    client = Client()
    client.force_login(person)
    return client


def test_a_manager_gives_a_bag_and_tells_what_is_in_it(yard: Yard) -> None:
    """Once, whoever asks again; then the warehouse sees what to bring, and brings it."""
    desk, bench = browser(yard.mona.person), browser(yard.wanda.person)
    item = Item.objects.get(code=CODE)
    yard.shelve(CODE, 5)
    assert "Give Tariq a bag" in desk.get(page()).content.decode()
    assert "None yet" in bench.get(page()).content.decode()
    assert "Give Tariq a bag" not in bench.get(page()).content.decode()

    for _ in range(2):
        desk.post(page(), {})
    bag = OwnBag.objects.get().place
    assert (bag.name, bag.kind, OwnBag.objects.get().by) == ("Tariq's bag", "bag", yard.mona.person)
    assert standing_list.give_bag(yard.tariq.person, yard.mona.person) == bag
    assert "got 3 up to 2" in desk.post(page(), {"item": item.code, "least": 3, "up_to": 2}).text
    desk.post(page(), {"item": item.code, "least": 2, "up_to": 3})
    assert [(row.place, row.least, row.up_to) for row in Carried.objects.all()] == [(bag, 2, 3)]

    assert 'name="quantity" value="3"' in bench.get(page()).text
    assert "Change its list" not in bench.get(page()).text
    bring(yard, bag, 3)
    assert [(level.there, level.to_bring) for level in standing_list.levels(bag, DAY)] == [(3, 0)]
    assert "Nothing: all of its list is there." in bench.get(page()).text


def test_a_kit_takes_the_bag_first_and_says_so_wherever_it_is_read(
    yard: Yard, kit: Kit, bag: Place, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    """One in the bag, one of the van's list: none is picked; page, printed sheet and reasons."""
    assert counted(kit) == (1, 1)
    on_list(yard, 1, 1)
    assert counted(kit) == (2, 0)
    assert parts(kit) == [("van", "in Tariq's bag", 1), ("van", "on the van", 1)]

    bench = browser(yard.wanda.person)
    with django_assert_max_num_queries(42):
        page = bench.get(f"/kits/{kit.code}/pick").text
    assert "in Tariq&#x27;s bag: look that it is there" in page
    assert "on the van: look that it is there" in page
    together = bench.get(f"/walk/?kit={kit.code}").text
    assert "in Tariq&#x27;s bag: look that it is there" in together
    printed = Sheet(pick.pdf(kit, "A4")).text
    assert "in Tariq's bag: look" in printed
    assert "on the van: look" in printed
    assert "1 in Tariq's bag: look that it is there" in explaining.told(kit, CODE).from_where


def test_it_goes_where_its_person_goes(yard: Yard, kit: Kit, bag: Place) -> None:
    """Not to another crew's job; to any van, to none; what is set aside in it counts nowhere."""
    assert counted(yard.kit(yard.job(crew=yard.tove))) == (0, 2)
    Job.objects.filter(pk=kit.job_id).update(van=None)
    assert counted(fresh(kit)) == (1, 1)
    kit.job.crew.set([yard.tove.person])
    assert counted(fresh(kit)) == (0, 2)
    kit.job.crew.set([yard.tove.person, yard.tariq.person])
    assert counted(fresh(kit)) == (1, 1)

    yard.wanda.scan("set_aside", bag.code, reason="wet")
    assert counted(fresh(kit)) == (0, 2)


def test_another_crew_has_only_what_is_on_the_van(yard: Yard, kit: Kit, bag: Place) -> None:
    """The bag stays with its person though the van carries the same thing."""
    on_list(yard, 1, 1)
    assert counted(kit) == (2, 0)
    kit.job.crew.set([yard.tove.person])

    assert counted(fresh(kit)) == (1, 1)
    assert parts(fresh(kit))[0] == ("van", "on the van", 1)


def test_an_older_kit_keeps_its_part_of_the_bag(yard: Yard, kit: Kit, bag: Place) -> None:
    """It takes from the bag, then from its own van: what the younger one has is what is left.

    Who has the van alone with it rather picks too many: the bag might stay at home.
    """
    bring(yard, bag, 2)
    other = Place.objects.create(kind="van", code="VAN2", name="Van 2")
    job = yard.job()
    job.van = other
    job.save()
    second = yard.kit(job)
    on_list(yard, 2, 2)

    assert counted(kit) == (2, 0)
    assert parts(kit) == [("van", "in Tariq's bag", 2)]
    assert parts(second)[0] == ("van", "in Tariq's bag", 1)
    third = yard.kit(yard.job(crew=yard.tove))
    assert counted(third) == (0, 2)


def test_what_a_closing_job_used_is_on_the_refill_list_unasked(
    yard: Yard, kit: Kit, bag: Place, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    """Two of three are left and one is enough: what the job used is brought all the same."""
    bring(yard, bag, 2)
    assert counted(kit) == (2, 0)
    assert yard.tariq.scan("use", **about(kit)).sentence == "Used as planned: 1 item."

    (level,) = standing_list.levels(bag, DAY)
    assert (level.there, level.is_below, level.used) == (1, False, ((kit.code, 2),))
    assert level.to_bring == 2
    bench = browser(yard.wanda.person)
    with django_assert_max_num_queries(16):
        assert f"{kit.code} used 2" in bench.get(page()).text
    bring(yard, bag, 2)
    (level,) = standing_list.levels(bag, DAY)
    assert (level.there, level.used, level.to_bring) == (3, (), 0)


def test_one_out_of_the_bag_stands_in_for_a_missing_one(yard: Yard, kit: Kit, bag: Place) -> None:
    """The answer names whose bag it was; it is refilled unasked."""
    yard.wanda.scan("pick", CODE, quantity=1, start="BIN1", **about(kit))
    yard.tariq.scan("missing", CODE, quantity=1, **about(kit))
    done = yard.tariq.scan("unbox", CODE, quantity=1, **about(kit))

    assert done.sentence.endswith("It stands in for the one that was reported.")
    assert Finding.objects.get(kind="missing").answer.words == "1 taken from Tariq's bag."
    (level,) = standing_list.levels(bag, DAY)
    assert (level.there, level.used, level.to_bring) == (0, ((kit.code, 1),), 3)


def test_who_has_one_knows_bags(yard: Yard, kit: Kit, bag: Place) -> None:
    """The own bag before the own van; another's bag with the owner's number; desk, site, change."""
    Person.objects.filter(pk=yard.tove.person.pk).update(phone="+1 555 0100")
    bring(yard, standing_list.give_bag(yard.tove.person, yard.mona.person), 4)
    bring(yard, yard.firm.van, 2)
    yard.tariq.scan("request", CODE, kind="missing", quantity=1, **about(kit))

    (one,) = [one for one in looking_for.sought(kit) if one.text == CODE]
    assert [(spot.place, spot.words) for spot in one.travels] == [
        (bag, "Tariq always has it along")
    ]
    assert [(has.words, has.quantity, has.call) for has in one.has] == [
        ("in Tariq's bag, with your crew: scan it on the page Unbox", 1, ()),
        ("Van 1, your own: scan it on the page Unbox", 2, ()),
        ("in Tove's bag", 4, (("Tove", "+1 555 0100"),)),
        ("on the shelf at the depot", 14, ()),
    ]
    told = where_near.of(PartRequest.objects.select_related("kit__job", "item"))
    assert list(told.values()) == [
        [
            "in Tariq's bag, their own: 1",
            "on Van 1, their own: 2",
            "in Tove's bag: 4",
            "Bin 1: 14",
        ]
    ]
    more = tuple(line for line in explaining.lines_of(kit) if line.item == CODE)
    (near,) = nearby.near(kit, Difference(more, ()))
    assert (near.own, [(place.name, some) for place, some in near.elsewhere]) == (
        3,
        [("Tove's bag", 4), ("Bin 1", 14)],
    )


def test_a_tool_in_the_bag_serves_and_its_test_is_named_the_evening_before(
    yard: Yard, kit: Kit, bag: Place
) -> None:
    """It counts while its test holds; one that runs out is named for its person's next job."""
    belt = next(
        line.item for line in kit.lines.select_related("item") if line.item.tracking == "tool"
    )
    lot = Lot.objects.create(item=belt, number="W-7", key="W7", expires_on=DAY)
    Holding.objects.create(place=bag, lot=lot, quantity=1)
    eve = DAY - timedelta(days=1)
    assert fold(kit).totals[belt.code].on_van == 1
    assert tools_due.due(eve) == []

    Lot.objects.filter(pk=lot.pk).update(expires_on=eve)
    assert fold(kit).totals[belt.code].on_van == 0
    assert [(one.place, one.job) for one in tools_due.due(eve)] == [(bag, kit.job)]
    kit.job.crew.set([yard.tove.person])
    assert tools_due.due(eve) == []


def test_its_owner_reads_it_on_the_phone_and_nobody_else_s(yard: Yard, bag: Place) -> None:
    """What is in it, and what it should have; nothing there is pressed or typed."""
    own, other = browser(yard.tariq.person), browser(yard.tove.person)
    shown = own.get("/my/bag").content.decode()
    listed = shown[shown.index("<main") : shown.index("</main>")]

    assert all(words in listed for words in ("1 x wall bracket", "at least 1, up to 3", bag.code))
    assert "<form" not in listed
    assert "to be filled up" not in listed
    assert 'href="/my/bag"' in own.get("/my/").content.decode()
    assert CODE not in other.get("/my/bag").content.decode()
    assert own.get(page()).status_code == 404


def test_a_bag_is_called_as_its_person_is_called_now(yard: Yard, kit: Kit, bag: Place) -> None:
    """Wherever it is named; the other people's bags keep their names."""
    theirs = standing_list.give_bag(yard.tove.person, yard.mona.person)
    tariq = yard.tariq.person
    catalogue.change_person(tariq, name="Tarek", roles=tariq.roles, is_active=True)
    bag.refresh_from_db()
    theirs.refresh_from_db()

    assert (bag.name, theirs.name) == ("Tarek's bag", "Tove's bag")
    assert parts(kit)[0] == ("van", "in Tarek's bag", 1)
    assert [check.name for check in audit.run() if check.problems] == []


@pytest.mark.parametrize("step", ["load", "unbox", "pick", "bring_back", "request", "missing"])
def test_the_label_of_an_own_bag_moves_nothing_of_a_kit(
    yard: Yard, kit: Kit, bag: Place, step: str
) -> None:
    """A scan says what it is, and what to do instead."""
    phone = yard.wanda if step == "pick" else yard.tariq
    done = phone.scan(step, bag.code, kind="missing", **about(kit))

    assert done.sentence == "This is a person's own bag. Scan what you take of it."
    assert (done.verdict, standing_list.levels(bag, DAY)[0].there) == ("stopped", 1)


def test_a_module_in_the_bag_stands_in_as_one_on_the_van_does(
    yard: Yard, kit: Kit, bag: Place
) -> None:
    """Whatever a person put there: a thing with a serial is nobody else's for it."""
    yard.box("S1")
    yard.wanda.scan("put", yard.label("S1"), target=bag.code)
    done = yard.tariq.scan("unbox", yard.label("S1"), **about(kit))

    assert done.verdict == "applied", done.sentence
    assert yard.firm.unit("S1").place == yard.site.place


def test_what_is_in_the_bag_is_not_looked_for_in_the_bay(yard: Yard, kit: Kit, bag: Place) -> None:
    """Loaded by its code: the crew has it along."""
    bring(yard, bag, 1)
    done = yard.tariq.scan("load", CODE, **about(kit))

    assert (done.verdict, done.sentence.endswith("is in Tariq's bag already.")) == ("noted", True)


def test_the_van_s_pages_lead_to_the_bags_that_ride_in_it(yard: Yard, kit: Kit, bag: Place) -> None:
    """On the day of a job of theirs, not on another."""
    bench = browser(yard.wanda.person)

    assert page() in bench.get(f"/vans/VAN1/{DAY}/").text
    assert page() not in bench.get(f"/vans/VAN1/{DAY + timedelta(days=1)}/").text


def test_levels_of_a_bag_follow_what_jobs_took_of_bags(
    yard: Yard, kit: Kit, bag: Place, settings: object
) -> None:
    """Eight jobs: what they took of a bag asks nothing of the van, even where it was missing."""
    settings.KIT_CHANCE = 90
    today = datetime.now(UTC).date()
    bring(yard, bag, 8)
    kits = [like(kit, number) for number in range(2, 10)]
    yard.tariq.scan("missing", CODE, quantity=1, **about(kits[0]))
    for one in kits[:4]:
        assert yard.tariq.scan("unbox", CODE, quantity=2, **about(one)).verdict == "applied"
    close(yard, kits)

    found = van_levels.advice(bag, today)
    assert found is not None
    (row,) = found.rows
    assert (found.jobs, row.item.code, row.asked, row.row.least) == (8, CODE, 8, 1)
    assert row.least > 1
    assert found.chance >= 0.9 > found.now
    assert "What its jobs ask it for" in browser(yard.mona.person).get(page()).text
    van = van_levels.advice(yard.firm.van, today)
    assert (van.jobs, van.rows) == (8, ())

    kit.job.crew.set([yard.tove.person])
    assert van_levels.advice(bag, today).jobs == 0


def test_the_audit_tells_a_bag_of_nobody(yard: Yard, bag: Place) -> None:
    """Its label names a person, and that person has it."""
    assert not [check for check in audit.run() if check.problems]
    Place.objects.filter(pk=bag.pk).update(subject="person:nobody")
    found = [check for check in audit.run() if check.problems]

    assert [check.name for check in found] == ["own bags are their people's"]
    assert len(found[0].problems) == 2
