"""Bags made ahead: filled, sourced first, taken whole by one scan, unpacked, opened, returned."""

from datetime import date, timedelta

import pytest
from django.test import Client
from django.urls import reverse

from inventory import audit
from inventory.models import Finding, Item, ItemCode, Lot, Movement, Place
from inventory.queries import held
from inventory.tracing import chain_of_lot
from kitting import bags, overviews, sourcing, where_from
from kitting.bags import BagError
from kitting.models import Kit, MadeBag, Package
from kitting.progress import fold
from tests.kitting.yard import DAY, Yard, about
from tests.stories.reading_pages import Page

ANCHORS = "09521234000044"
HOLDS = {"CT-BRACKET": 2, "CT-ANCH75": 4}  # what a kit of one stack of two takes, or more


def clean() -> bool:
    return [done.problems for done in audit.run() if done.problems] == []


@pytest.fixture
def bag_kind(yard: Yard) -> Item:
    kind = bags.enter_kind("BAG-WALL", "wall bag")
    parts = {Item.objects.get(code=code): count for code, count in HOLDS.items()}
    bags.tell(kind, parts, date(2026, 11, 1), yard.mona.person)
    return kind


def filled(yard: Yard, kind: Item) -> Place:
    """One more bag, filled at the bench, lying in bin 2."""
    (bag,) = bags.enter_labels(1, yard.firm.dock)
    done = yard.wanda.scan("make_bag", bag.code, **{"with": kind.code}, target="BIN2")
    assert done.verdict == "applied", done.sentence
    return Place.objects.get(pk=bag.pk)


def sources(kit: Kit, code: str) -> list[tuple[str, int, str]]:
    found = sourcing.sources(kit)
    return [
        (s.kind, s.quantity, s.place.code if s.place else "")
        for line in kit.lines.filter(item__code=code)
        for s in found[line.pk]
    ]


def stocked(yard: Yard, times: int = 3) -> None:
    for code, count in HOLDS.items():
        yard.shelve(code, count * times)


def test_a_bag_is_filled_from_the_shelves_and_its_batches_stay_known(
    yard: Yard, bag_kind: Item
) -> None:
    """What ends first goes in; the trace of the batch leads into the bag; undone all is loose."""
    item = Item.objects.get(code="CT-ANCH75")
    ItemCode.objects.create(item=item, text=ANCHORS, key=ANCHORS)
    yard.shelve("CT-BRACKET", 5)
    for number, day, count in (("LATE", "280101", 6), ("SOON", "270101", 3)):
        label = f"]C101{ANCHORS}17{day}10{number}"
        yard.wanda.scan("receive", label, via="symbol", target="BIN1", quantity=count)
    bag = filled(yard, bag_kind)

    assert bag.parent == yard.firm.bins[1]
    (whole,) = bags.filled()
    assert {h.lot.key: h.quantity for h in whole.holdings} == {"": 2, "SOON": 3, "LATE": 1}
    assert whole.whole
    assert MadeBag.objects.get().content.bag == bag_kind
    moved = Movement.objects.filter(to_place=bag).select_related("lot__item", "from_place")
    assert {(m.lot.key, m.quantity, m.from_place.code) for m in moved} == {
        ("", 2, "BIN1"),
        ("SOON", 3, "BIN1"),
        ("LATE", 1, "BIN1"),
    }
    client = Client()
    client.force_login(yard.wanda.person)
    story = client.get(reverse("trace"), {"code": f"]C101{ANCHORS}10SOON"}).content.decode()
    assert bag.name in Page(story).words
    again = yard.wanda.scan("make_bag", bag.code, **{"with": bag_kind.code})
    assert again.sentence == f"{bag.name} is full already. Take an empty one."
    assert clean()
    first = MadeBag.objects.get().event
    yard.wanda.scan("undo", reverses=str(first.uid))
    assert not bag.holdings.filter(quantity__gt=0).exists()
    assert bags.filled() == []
    assert clean()


def test_what_the_book_lacks_goes_in_all_the_same(yard: Yard, bag_kind: Item) -> None:
    """The hand wins, and a count is asked for where the rest was taken."""
    yard.shelve("CT-BRACKET", 5)
    yard.shelve("CT-ANCH75", 1)
    (bag,) = bags.enter_labels(1, yard.firm.dock)
    done = yard.wanda.scan("make_bag", bag.code, **{"with": bag_kind.code})

    assert (done.verdict, "The book lacked 3 x" in done.sentence) == ("problem", True)
    found = Finding.objects.get(kind="count")
    assert (found.place, found.quantity) == (yard.firm.bins[0], 3)
    assert clean()


def test_a_kit_takes_the_bag_first_and_loose_parts_for_the_rest(
    yard: Yard, kit: Kit, bag_kind: Item
) -> None:
    """One scan fills both lines; the walk names the bag; what is needed beyond lies loose."""
    needed = {code: fold(kit).totals[code].needed for code in HOLDS}
    stocked(yard)
    bag = filled(yard, bag_kind)
    spare = filled(yard, bag_kind)
    rest = {code: needed[code] - count for code, count in HOLDS.items()}
    for code, count in HOLDS.items():
        loose = [("shelf", rest[code], "BIN1")] if rest[code] else []
        assert sources(kit, code) == [("bag", count, bag.code), *loose]
    told = [(s.kind, s.place) for line in where_from.lines_of(kit) for s in line.sources]
    assert ("bag", bag) in told
    stops = [s for s in overviews.walk(kit).stops if s.source.kind == "bag"]
    assert {s.shelf for s in stops} == {yard.firm.bins[1]}
    client = Client()
    client.force_login(yard.wanda.person)
    page = Page(client.get(reverse("kit_pick", args=[kit.code])).content.decode()).words
    assert f"in {bag.name}, taken whole by one scan" in " ".join(page.split())

    done = yard.wanda.scan("pick", bag.code, **about(kit))
    assert done.verdict == "applied", done.sentence
    totals = fold(kit).totals
    assert {code: totals[code].picked for code in HOLDS} == HOLDS
    parcel = kit.packages.get(kind=Package.Kind.PARCEL).place
    assert Place.objects.get(pk=bag.pk).parent == parcel
    twice = yard.wanda.scan("pick", bag.code, **about(kit))
    assert twice.verdict == "noted"
    more = yard.wanda.scan("pick", spare.code, **about(kit))
    surplus = any(rest[code] < count for code, count in HOLDS.items())
    assert more.verdict == ("problem" if surplus else "applied"), more.sentence
    assert clean()


def test_a_bag_of_which_not_all_is_needed_is_not_offered_and_told_if_taken(
    yard: Yard, kit: Kit
) -> None:
    """One thing in it is on no line, or more than the line: loose parts, last from opened bags."""
    kind = bags.enter_kind("BAG-X", "odd bag")
    parts = {Item.objects.get(code="CT-BRACKET"): 1, Item.objects.get(code="CT-H26"): 1}
    bags.tell(kind, parts, date(2026, 11, 1), yard.mona.person)
    yard.shelve("CT-BRACKET", 1)
    yard.shelve("CT-H26", 1)
    bag = filled(yard, kind)
    assert sources(kit, "CT-BRACKET") == [("shelf", 1, bag.code), ("short", 1, "")]
    whole = yard.wanda.scan("pick", bag.code, **about(kit))

    assert whole.verdict == "problem"
    named = Item.objects.get(code="CT-H26").name
    assert f"{named} in {bag.name} is not in {kit.code}." in whole.sentence
    assert [t.item.code for t in fold(kit).to_put_back] == ["CT-H26"]
    yard.wanda.scan("undo", reverses=whole.id)
    opened = yard.wanda.scan("open_bag", bag.code)
    assert opened.sentence.startswith(f"{bag.name} is opened:")
    assert sources(kit, "CT-BRACKET") == [("shelf", 1, "BIN2"), ("short", 1, "")]
    assert clean()


def test_what_ends_before_the_job_or_is_set_aside_is_not_offered(
    yard: Yard, kit: Kit, bag_kind: Item
) -> None:
    """A batch in the bag ends the day before; a bag that was dropped is set aside."""
    stocked(yard)
    first, second = filled(yard, bag_kind), filled(yard, bag_kind)
    Lot.objects.filter(item__code="CT-ANCH75").update(expires_on=DAY - timedelta(days=1))
    assert [s for s in sources(kit, "CT-BRACKET") if s[0] == "bag"] == []
    taken = yard.wanda.scan("pick", first.code, **about(kit))
    assert taken.verdict == "problem"
    assert f"expires on {DAY - timedelta(days=1)}, before the job." in taken.sentence
    yard.wanda.scan("undo", reverses=taken.id)
    Lot.objects.filter(item__code="CT-ANCH75").update(expires_on=None)
    yard.mona.scan("set_aside", first.code, reason="dropped")

    assert [s[2] for s in sources(kit, "CT-BRACKET") if s[0] == "bag"] == [second.code]


def test_a_content_is_dated_and_a_full_bag_keeps_its_own(yard: Yard, bag_kind: Item) -> None:
    """Told anew from tomorrow: bags made today hold what they held; a day is told once."""
    stocked(yard)
    yard.shelve("CT-H26", 1)
    bag = filled(yard, bag_kind)
    more = {Item.objects.get(code="CT-H26"): 1}
    today = date(2026, 11, 25)  # the day of the firm's scans
    bags.tell(bag_kind, more, today, yard.mona.person)
    newer = filled(yard, bag_kind)
    kinds = {one.place: (one.content.since, one.whole) for one in bags.filled()}

    assert kinds == {bag: (date(2026, 11, 1), True), newer: (today, True)}
    assert {h.lot.item.code for h in newer.holdings.filter(quantity__gt=0)} == {"CT-H26"}
    with pytest.raises(BagError, match="expected a day after 2026-11-25"):
        bags.tell(bag_kind, more, today, yard.mona.person)
    cable = Item.objects.get(code="CT-AC4")
    with pytest.raises(BagError, match="expected 1 or more pieces"):
        bags.tell(bag_kind, {cable: 1}, today + timedelta(days=1), yard.mona.person)


def test_at_the_site_one_scan_unpacks_it_and_left_closed_it_comes_back_whole(
    yard: Yard, kit: Kit, bag_kind: Item
) -> None:
    """Loaded with its parcel; unboxed its parts lie at the site; another comes back as it went."""
    stocked(yard)
    bag, other = filled(yard, bag_kind), filled(yard, bag_kind)
    for one in (bag, other):
        yard.wanda.scan("pick", one.code, **about(kit))
    parcel = kit.packages.get(kind=Package.Kind.PARCEL).place
    assert yard.wanda.scan("load", parcel.code, **about(kit)).verdict == "applied"
    yard.tariq.scan("unbox", parcel.code, **about(kit))
    seen = yard.tariq.scan("unbox", bag.code, **about(kit))
    twice = yard.tariq.scan("unbox", bag.code, **about(kit))
    brought = yard.tariq.scan("bring_back", other.code, **about(kit))

    assert (seen.verdict, twice.verdict) == ("applied", "noted")
    assert brought.verdict == "applied", brought.sentence
    totals = fold(kit).totals
    assert {code: (totals[code].on_site, totals[code].back) for code in HOLDS} == {
        code: (count, count) for code, count in HOLDS.items()
    }
    assert Place.objects.get(pk=other.pk).parent == yard.firm.van
    bracket = Lot.objects.get(item__code="CT-BRACKET")
    assert held(kit.job.site.place, bracket) == HOLDS["CT-BRACKET"]
    # Its batch is followed through the bag, from the bin to the site.
    way = " ".join(str(link) for link in chain_of_lot(bracket).as_json()["links"])
    wanted = ("Bin 1", bag.name, kit.job.site.place.name)
    assert [name for name in wanted if name not in way] == [], way
    assert clean()


def test_put_back_before_loading_it_stands_on_the_shelf_again(
    yard: Yard, kit: Kit, bag_kind: Item
) -> None:
    """Whole, and proposed again; another kit may have it."""
    stocked(yard)
    bag = filled(yard, bag_kind)
    yard.wanda.scan("pick", bag.code, **about(kit))
    done = yard.wanda.scan("put_back", bag.code, target="BIN3", **about(kit))

    assert done.verdict == "applied", done.sentence
    assert sources(kit, "CT-BRACKET")[0] == ("bag", HOLDS["CT-BRACKET"], bag.code)
    missing = yard.wanda.scan("pick", bag.code, **about(kit))
    gone = yard.tariq.scan("missing", bag.code, **about(kit))
    found = yard.tariq.scan("unbox", bag.code, **about(kit))
    assert (missing.verdict, gone.verdict) == ("applied", "problem")
    assert "was missing and is found" in found.sentence
    assert clean()


def test_the_page_tells_kinds_enters_labels_and_names_every_wrong_line(yard: Yard) -> None:
    """A manager tells a kind; the warehouse prints labels; a bag is opened from its row."""
    mona, wanda = Client(), Client()
    mona.force_login(yard.mona.person)
    wanda.force_login(yard.wanda.person)
    where = reverse("made_bags")
    given = {"content": "yes", "code": "BAG-WALL", "name": "wall bag", "since": "2026-11-01"}
    wrong = mona.post(where, {**given, "parts": "CT-BRACKET\nMOON 3\nCT-H26 1\nCT-H26 2"})
    lines = Page(wrong.content.decode()).words
    for words in (
        "line 1: expected a code and a number from 1, got 'CT-BRACKET'",
        "line 2: expected the code of an item, got 'MOON'",
        "line 4: expected each item once, got CT-H26 twice",
    ):
        assert words in lines
    assert wanda.post(where, {**given, "parts": "CT-H26 1"}).status_code == 404
    taken = mona.post(where, {**given, "code": "CT-H26", "parts": "CT-BRACKET 1"})
    assert "expected a code that is not taken" in Page(taken.content.decode()).words
    assert mona.post(where, {**given, "parts": "CT-BRACKET 2\nCT-ANCH75 4"}).status_code == 302
    labels = wanda.post(where, {"labels": "yes", "number": 3, "at": yard.firm.dock.code})
    assert labels.status_code == 302
    assert labels["Location"].startswith(f"{reverse('labels')}?codes=LBG")
    stocked(yard)
    bag = filled(yard, Item.objects.get(code="BAG-WALL"))
    page = Page(wanda.get(where).content.decode()).words

    assert f"wall bag {bag.code} as of 1 Nov 2026" in page
    assert Place.objects.filter(kind="bag", subject="").count() == 4
