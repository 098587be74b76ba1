"""Other allowed sets and ready-made leads by what the shelves hold; one is taken by hand."""

from datetime import date

import pytest
from django.test import Client
from django.urls import reverse

from inventory.models import Item
from kitting import by_hand, families, hand_lines, other_ways, overviews, sourcing
from kitting.models import FamilyEdition, HandLine, Kit
from kitting.packing import Refused
from kitting.plan.errors import FamilyError
from tests.kitting.yard import TOWER, Yard, about, fresh
from tests.stories.reading_pages import Page

TWO = {"stacks": [{"modules": 2}, {"modules": 2}], "gap": 300}  # a way of 400 + 300 mm
COSTS = {"CT-H06": 900, "CT-H15": 1500, "CT-H26": 2100, "CT-HCOUP": 150}


@pytest.fixture
def two(yard: Yard) -> Kit:
    """Two stacks: the list takes two harnesses of 600 and a coupling."""
    for code, cents in COSTS.items():
        Item.objects.filter(code=code).update(cost=cents)
    return yard.kit(yard.job(**TWO))


def listed(kit: Kit) -> dict[str, int]:
    return {
        line.item.code: line.quantity
        for line in kit.lines.filter(item__code__in=COSTS, spare=False).select_related("item")
    }


def ways(kit: Kit) -> list[tuple[str, tuple[str, ...], int | None]]:
    (choice,) = [c for c in other_ways.choices(kit) if "CT-H06" in c.items]
    return [(way.words, way.lacking, way.cost) for way in choice.ways]


def test_what_stock_covers_comes_first_then_the_cheapest(yard: Yard, two: Kit) -> None:
    """One harness of 600 where two are listed: 1500 and 2600 reach, the first costs less."""
    assert listed(two) == {"CT-H06": 2, "CT-HCOUP": 1}
    yard.shelve("CT-H06", 1)
    yard.shelve("CT-HCOUP", 1)
    yard.shelve("CT-H26", 1)
    mixed = "1 x harness 600 + 1 x harness 1500 (2.1 m)"
    # 2600: 2100 - 2 x 900 - 150 = 150; 1500: 1500 - 1950 = -450; both: 1500 - 900 = 600
    assert ways(two) == [
        ("1 x harness 2600 (2.6 m)", (), 150),
        ("1 x harness 1500 (1.5 m)", ("1 x harness 1500",), -450),
        (mixed, ("1 x harness 1500",), 600),
    ]
    yard.shelve("CT-H15", 1)
    assert [found[::2] for found in ways(two)] == [
        ("1 x harness 1500 (1.5 m)", -450),
        ("1 x harness 2600 (2.6 m)", 150),
        (mixed, 600),
    ]
    Item.objects.filter(code="CT-H15").update(cost=0)
    assert [found[2] for found in ways(two)] == [150, None, None]


def test_what_earlier_kits_wait_for_is_not_offered(yard: Yard, two: Kit) -> None:
    """The one harness of 1500 is another's, released before: a gap of 1000 takes it."""
    yard.shelve("CT-H15", 1)
    assert ways(two)[0][:2] == ("1 x harness 1500 (1.5 m)", ())
    older = yard.kit(yard.job(**{**TWO, "gap": 1000}))
    assert listed(older) == {"CT-H15": 1}
    Kit.objects.filter(pk=older.pk).update(released_at=two.released_at.replace(year=2025))

    assert all(lacking for _, lacking, _ in ways(two))


def test_the_office_takes_one_and_both_stand_side_by_side(yard: Yard, two: Kit) -> None:
    """The page says what is short and what is here; taken by hand, then taken back."""
    yard.shelve("CT-H15", 1)
    mona, wanda = Client(), Client()
    mona.force_login(yard.mona.person)
    wanda.force_login(yard.wanda.person)
    picking = Page(wanda.get(reverse("kit_pick", args=[two.code])).content.decode()).words
    where = reverse("kit_sources", args=[two.code])
    page = Page(mona.get(where).content.decode()).words
    why = mona.get(reverse("kit_why", args=[two.code]), {"item": "CT-H06"}).content.decode()
    job = Page(mona.get(reverse("job", args=[two.job.code])).content.decode()).words
    told = "In stock is another that reaches: 1 x harness 1500 (1.5 m)"

    assert "Costs" in page
    assert "4.50 less" in page
    assert [told in words for words in (picking, Page(why).words, job)] == [True, True, True]
    assert "The office chooses" in picking
    key = other_ways.when_short(two, [s.item for s in sourcing.shortages(two)])[0].best.key
    assert mona.post(where, {"way": key}).status_code == 302

    kit = Kit.objects.get(pk=two.pk)
    assert listed(kit) == {"CT-H15": 1}
    beside = {one.hand.item.code: (one.engine, one.now) for one in by_hand.beside(kit)}
    assert beside == {"CT-H06": (2, 0), "CT-H15": (0, 1), "CT-HCOUP": (1, 0)}
    assert kit.changes.count() == 1
    reasons = set(HandLine.objects.values_list("reason", flat=True))
    words = "1 x harness 1500 (1.5 m) in place of 2 x harness 600 (1.2 m) to span 0.7 m"
    assert reasons == {words}
    assert overviews.walk(kit).others == ()
    again = mona.post(where, {"way": key})
    assert "not open any more" in Page(again.content.decode()).words


def test_what_the_hand_changed_is_not_changed_once_more(yard: Yard, two: Kit) -> None:
    """600 + 1500 is on the sheet, 1500 + 1500 is not: taking the first twice would chain it."""
    by_words = {w.words: w for c in other_ways.choices(two) for w in c.ways}
    mixed = by_words["1 x harness 600 + 1 x harness 1500 (2.1 m)"]
    other_ways.take(two, mixed.key, yard.mona.person)
    boss = Client()
    boss.force_login(yard.mona.person)
    page = boss.get(reverse("kit_sources", args=[two.code]))

    assert listed(two) == {"CT-H06": 1, "CT-H15": 1, "CT-HCOUP": 1}
    assert other_ways.choices(fresh(two)) == []
    assert "Take back first what was changed by hand" in Page(page.content.decode()).words
    with pytest.raises(Refused, match="Look at the list again"):
        other_ways.take(two, mixed.key, yard.mona.person)


def test_what_is_packed_needs_no_other_way(yard: Yard, two: Kit) -> None:
    """Offered while one of the two harnesses is still to be picked, and no more after it."""
    yard.shelve("CT-H15", 1)
    offered = []
    for code in ("CT-HCOUP", "CT-H06", "CT-H06"):
        offered.append(len(other_ways.choices(two)))
        yard.wanda.scan("pick", code, quantity=1, **about(two))

    assert offered == [1, 1, 1]
    assert other_ways.choices(two) == []


def test_a_way_that_nobody_offered_changes_nothing(yard: Yard, two: Kit) -> None:
    """A button of an old page, or a made-up one."""
    with pytest.raises(Refused, match="Look at the list again"):
        other_ways.take(two, "CT-H26:connect:9", yard.mona.person)

    assert HandLine.objects.count() == 0


def test_several_lines_are_refused_together_and_each_reason_is_told_once(two: Kit) -> None:
    """Without a reason, and one line is not there: neither of the two lines changes."""
    gone, there = Item.objects.get(code="CT-H26"), Item.objects.get(code="CT-H06")
    step = two.lines.get(item=there, spare=False).step
    wanted = [hand_lines.Change(item, step, 2, 0) for item in (there, gone)]
    with pytest.raises(Refused) as refused:
        hand_lines.put_all(two.job, wanted, " ", two.worked_out_by)

    assert [reason.rule for reason in refused.value.reasons] == ["reason", "item"]
    assert (listed(two)["CT-H06"], HandLine.objects.count()) == (2, 0)


LEADS = """
[[item]]
code = "CT-LEAD5"
name = "mains lead 3x4"
tracking = "count"
mass_g = 1700
ready = { of = "CT-AC4", length = 5000 }

[[item]]
code = "CT-LEAD8"
name = "long mains lead 3x4"
tracking = "count"
mass_g = 2600
ready = { of = "CT-AC4", length = 8000 }
"""


def with_leads() -> FamilyEdition:
    """The tower's next edition, in use, with two ready-made leads."""
    text = TOWER.read_text(encoding="utf-8").replace("edition = 2026-11-03", "edition = 2026-11-20")
    edition = families.load(f"{text}{LEADS}", "tower.toml").edition
    families.make_current(edition)
    return edition


def test_a_lead_with_its_ends_on_stands_in_for_a_cut_piece(yard: Yard) -> None:
    """5.2 m are needed: the lead of 5 m does not reach, the one of 8 m does and is here."""
    assert with_leads().edition == date(2026, 11, 20)
    kit = yard.kit()
    line = kit.lines.get(item__code="CT-AC4")
    assert line.pieces == [5200]
    needed = kit.lines.filter(item__code="CT-FER4").values_list("item__code", "quantity")
    ferrules = dict(needed)
    yard.shelve("CT-LEAD5", 3)
    yard.shelve("CT-LEAD8", 1)
    (choice,) = other_ways.when_short(kit, [line.item])
    assert [(way.words, way.lacking) for way in choice.ways] == [
        ("long mains lead 3x4 (8 m, its ends on)", ())
    ]
    other_ways.take(kit, choice.best.key, yard.mona.person)

    left = dict(kit.lines.filter(step=line.step).values_list("item__code", "quantity"))
    assert ("CT-AC4" in left, left["CT-LEAD8"]) == (False, 1)
    # Its ends are on: six ferrules go with the cable, the plugs of the data cable stay.
    codes = set(kit.lines.values_list("item__code", flat=True))
    assert ferrules == {"CT-FER4": 6}
    assert codes & {"CT-AC4", "CT-FER4", "CT-DPLUG", "CT-LEAD8"} == {"CT-DPLUG", "CT-LEAD8"}


def test_a_way_that_takes_a_length_needs_it_in_one_piece(yard: Yard) -> None:
    """3 m more of a cable are not there in two of 1.5 m, nor in the 5.5 m that an earlier kit and
    this one cut from; they are in a piece that nobody else wants."""
    first, kit = yard.kit(), yard.kit()
    line = kit.lines.get(item__code="CT-AC4")
    more = [hand_lines.Change(line.item, line.step, line.quantity, line.quantity + 3000)]

    def lacking() -> tuple[str, ...]:
        return other_ways.Stock(kit, families.family_of(kit.edition)).way("", more).lacking

    seen = []
    for mm in (1500, 1500, 5500, 5500, 3000):
        yard.wanda.scan("make_piece", "CT-AC4", target="BIN1", kind="remnant", quantity=mm)
        seen.append(lacking())

    assert (first.pk < kit.pk, line.pieces) == (True, [5200])
    assert [len(words) for words in seen] == [1, 1, 1, 1, 0]


@pytest.mark.parametrize(
    ("of", "wrong"),
    [
        ("CT-AC5", "expected a known item, got 'CT-AC5'"),
        ("CT-BOLT6", "expected an item that is cut to length, got 'CT-BOLT6'"),
    ],
)
def test_a_lead_stands_in_for_what_is_cut_only(of: str, wrong: str, yard: Yard) -> None:
    """An edition that says otherwise is refused, with its place."""
    text = TOWER.read_text(encoding="utf-8") + LEADS.replace('of = "CT-AC4"', f'of = "{of}"', 1)
    with pytest.raises(FamilyError) as error:
        families.load(text, "t.toml")

    assert wrong in str(error.value)


def test_what_was_chosen_as_one_is_taken_back_as_one(yard: Yard, two: Kit) -> None:
    """Three lines for one other set: one button, and the list is as before."""
    mona = Client()
    mona.force_login(yard.mona.person)
    before = listed(two)
    way = other_ways.choices(two)[0].ways[0]
    other_ways.take(two, way.key, yard.mona.person)
    where = reverse("job_hand", args=[two.job.code])
    page = mona.get(where).content.decode()
    rows = by_hand.beside(fresh(two))

    assert [(row.together, row.first) for row in rows] == [(3, True), (3, False), (3, False)]
    assert (page.count('name="take_back"'), "Take these 3 back" in page) == (1, True)
    sent = mona.post(where, {"take_back": str(rows[0].hand.uid)})
    assert sent.status_code == 302
    assert listed(Kit.objects.get(pk=two.pk)) == before
    assert list(by_hand.open_ones(two.job)) == []
