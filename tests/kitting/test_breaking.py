"""When a job breaks, when what it lacks arrives, and what to order today."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, timedelta

import pytest
from django.db.models import Count, Sum
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from inventory import lead_times, ordering
from inventory.models import Item, OrderLine, Partner
from kitting import breaking, ticking, vans_out
from kitting.models import Job, Kit
from kitting.overviews import rows_of
from tests.kitting.yard import DAY, Yard, about
from tests.stories.counting_hands import Hands

TODAY = DAY - timedelta(days=3)  # Monday 23 November 2026; the job is on Thursday


@pytest.fixture
def supplier(db: None) -> Partner:
    return Partner.objects.create(code="north", name="North", kind="supplier")


def order(yard: Yard, supplier: Partner, quantity: int, promised: date, entered: date) -> OrderLine:
    return ordering.enter(
        yard.mona.person,
        datetime(entered.year, entered.month, entered.day, 8, tzinfo=UTC),
        supplier=supplier,
        item=Item.objects.get(code="CT-BRACKET"),
        quantity=quantity,
        promised_on=promised,
    )


def told(kits: list[Kit], today: date = TODAY) -> list[tuple[str, str, bool]]:
    """What each kit lacks of brackets, in words."""
    jobs = Job.objects.filter(pk__in=[kit.job_id for kit in kits]).order_by("code")
    return [
        (row.readiness.word, one.words, one.in_time)
        for row in rows_of(jobs, today)
        for one in row.breaks
    ]


@pytest.fixture
def short(yard: Yard) -> Kit:
    """A kit of two brackets of which the book has none left; all else was never booked."""
    yard.shelve("CT-BRACKET", 1)
    kit = yard.kit()
    yard.wanda.scan("pick", "CT-BRACKET", quantity=1, subject=yard.kit().subject)
    return kit


@pytest.mark.parametrize(
    ("promised", "quantity", "words"),
    [
        (DAY + timedelta(1), 2, "breaks Thursday, arrives Friday"),
        (DAY, 2, "breaks Thursday, arrives Thursday"),  # the van has left by then
        (DAY - timedelta(1), 2, "arrives Wednesday, in time"),
        (TODAY - timedelta(5), 2, "arrives Monday, in time"),  # late already: today at the earliest
        (DAY + timedelta(9), 2, "breaks Thursday, arrives Sat 5 Dec"),
        # the rest of it has to be ordered, and the one order there is took ten days
        (DAY - timedelta(1), 1, "breaks Thursday, ordered today it arrives Thu 3 Dec"),
    ],
)
def test_it_is_said_when_a_job_breaks_and_when_it_arrives(
    yard: Yard, short: Kit, supplier: Partner, promised: date, quantity: int, words: str
) -> None:
    """By what is promised, in whole; what comes on the day itself comes too late."""
    entered = promised - timedelta(10)
    order(yard, supplier, quantity, promised, entered)

    [(word, said, in_time)] = told([short])
    assert said == words
    assert in_time == ("in time" in words)
    assert word == ("Goods come first" if in_time else "Will break")


def test_what_is_promised_goes_to_the_kit_released_first(
    yard: Yard, short: Kit, supplier: Partner
) -> None:
    """Two on order are the first kit's; the second has to be ordered for, by the time it takes."""
    second = yard.kit()
    order(yard, supplier, 2, TODAY + timedelta(1), TODAY - timedelta(1))

    assert [said for _, said, _ in told([short, second])] == [
        "arrives Tuesday, in time",
        "breaks Thursday, order it by Monday",
    ]


def test_what_to_order_today_is_listed_with_who_waits(
    yard: Yard, short: Kit, supplier: Partner
) -> None:
    """By the time that three in four of our own orders took; unknown where none was entered."""
    rows = rows_of(Job.objects.filter(pk=short.job_id), TODAY)
    [unknown] = breaking.to_order(rows[0].breaks, TODAY)
    assert (unknown.quantity, unknown.by, unknown.late, unknown.jobs) == (
        2,
        None,
        False,
        (short.job,),
    )
    bracket = unknown.item
    for took in (1, 9, 2, 2):
        day = TODAY - timedelta(60 - took)
        line = order(yard, supplier, 1, day, TODAY - timedelta(60))
        assert line.item == bracket
    assert lead_times.days([bracket.pk]) == {bracket.pk: 2}
    for line in OrderLine.objects.all():
        ordering.close(line, datetime(2026, 11, 23, tzinfo=UTC), yard.mona.person)
    assert lead_times.days([bracket.pk]) == {}
    order(yard, supplier, 1, TODAY + timedelta(3), TODAY - timedelta(1))
    desk = Client()
    desk.force_login(yard.mona.person)
    page = desk.get(reverse("to_order")).content.decode()
    assert bracket.name in page
    assert short.job.code in page


def test_the_week_is_a_board_of_vans_and_days(yard: Yard, short: Kit, supplier: Partner) -> None:
    """A card with shape and word in its van's row; a van out of service says so on its days."""
    order(yard, supplier, 2, DAY + timedelta(1), TODAY)
    vans_out.take_out(yard.firm.van, DAY, DAY, "tyres", {}, yard.mona.person)
    desk = Client()
    desk.force_login(yard.mona.person)
    page = " ".join(desk.get(f"{reverse('week')}?from={TODAY}").content.decode().split())

    assert '<span class="mark-of stop"></span> Will break' in page
    assert "tyres" in page
    needs = page.split("Needs somebody")[1].split('class="legend"')[0]
    assert short.job.code in needs
    assert "blank plug M16: 1 needed, never counted" in needs
    assert page.index('<th scope="row">Van 1') < page.index('mark-of stop"></span> Will break')


def test_an_order_of_an_item_without_a_delivery_time_leads_to_where_that_is_set(
    yard: Yard, short: Kit
) -> None:
    """Order it today; the order's form is filled in, and its promised day is the time from then."""
    desk = Client()
    desk.force_login(yard.mona.person)
    page = desk.get(reverse("to_order")).content.decode()
    form = desk.get(f"{reverse('on_order')}?item=CT-BRACKET&quantity=2").content.decode()
    bracket = Item.objects.get(code="CT-BRACKET")

    assert "No delivery time is known: order it today." in page
    assert f'data-listed value="{bracket.name} (CT-BRACKET)"' in form
    assert 'name="quantity" value="2"' in form


@pytest.mark.parametrize("spares", [0, 1])
def test_what_is_damaged_is_ordered_or_covered_by_what_is_in_stock(yard: Yard, spares: int) -> None:
    """One of both is said: the shelves have another to pack, or a line to order it."""
    kit = yard.kit()
    for serial in ["P1", "P2"][: 1 + spares]:
        yard.box(serial, "CT-POWER")
    yard.wanda.scan("pick", "BOX-P1", subject=kit.subject)
    yard.wanda.scan("load", "BOX-P1", subject=kit.subject)
    yard.tariq.scan("damaged", "P1", photo="d" * 64, reason="wet", subject=kit.subject)
    [row] = rows_of(Job.objects.filter(pk=kit.job_id), TODAY)
    orders = [(one.item.code, one.quantity) for one in breaking.to_order(row.breaks, TODAY)]
    here = [(one.item.code, one.quantity, one.damaged) for one in row.stand_ins]
    desk = Client()
    desk.force_login(yard.mona.person)
    page = desk.get(reverse("to_order")).content.decode()

    if spares:
        assert row.readiness.reasons[0] == "power unit: damaged, another is in stock: pack it"
        assert (orders, here) == ([], [("CT-POWER", 1, True)])
        assert f"Pack another for {kit.code}" in page
        yard.wanda.scan("pick", "BOX-P2", subject=kit.subject)
        [row] = rows_of(Job.objects.filter(pk=kit.job_id), TODAY)
        assert row.stand_ins == ()
    else:
        assert row.readiness.reasons[0] == "power unit: damaged"
        assert row.readiness.reasons[1].startswith("power unit: 1 needed, 0 here: breaks Thursday")
        assert (orders, here) == ([("CT-POWER", 1)], [])
        assert "another is in stock" not in page


@pytest.mark.parametrize("spares", [0, 3])
def test_what_was_packed_and_is_missing_is_ordered_or_covered_too(yard: Yard, spares: int) -> None:
    """Two brackets went along, one of them never came out of the parcel."""
    kit = yard.kit()
    yard.shelve("CT-BRACKET", 2 + spares)
    yard.wanda.scan("pick", "CT-BRACKET", quantity=2, subject=kit.subject)
    parcel = kit.packages.get(kind="parcel").place
    yard.wanda.scan("load", parcel.code, subject=kit.subject)
    yard.tariq.scan("missing", "CT-BRACKET", quantity=1, subject=kit.subject)
    [row] = rows_of(Job.objects.filter(pk=kit.job_id), TODAY)
    orders = [(one.item.code, one.quantity) for one in breaking.to_order(row.breaks, TODAY)]
    here = [(one.item.code, one.quantity, one.damaged) for one in row.stand_ins]

    assert orders == ([] if spares else [("CT-BRACKET", 1)])
    assert here == ([("CT-BRACKET", 1, False)] if spares else [])


def test_a_damaged_one_taken_out_at_the_depot_is_no_trouble_once_another_is_packed(
    yard: Yard,
) -> None:
    """Put back or onto any shelf before it left: it was never seen at the site."""
    kit = yard.kit()
    for serial in ("P1", "P2", "P3"):
        yard.box(serial, "CT-POWER")
    for serial, back in (("P1", {"step": "put_back"}), ("P2", {"step": "put"})):
        yard.wanda.scan("pick", f"BOX-{serial}", subject=kit.subject)
        yard.wanda.scan("damaged", serial, photo="d" * 64, reason="wet", subject=kit.subject)
        about = {"subject": kit.subject} if back["step"] == "put_back" else {}
        done = yard.wanda.scan(back["step"], f"BOX-{serial}", target="BIN1", **about)
        assert done.verdict in ("applied", "problem"), done.sentence
    yard.wanda.scan("pick", "BOX-P3", subject=kit.subject)
    [row] = rows_of(Job.objects.filter(pk=kit.job_id), TODAY)

    assert [reason for reason in row.readiness.reasons if "power unit" in reason] == []
    assert row.stand_ins == ()


def test_an_empty_week_leads_to_the_nearest_ones_with_jobs(yard: Yard) -> None:
    """Before and after; a week with jobs leads nowhere else."""
    job, later = yard.job(), yard.job()
    Job.objects.filter(pk=later.pk).update(date=DAY + timedelta(weeks=5))
    desk = Client()
    desk.force_login(yard.mona.person)
    monday = DAY - timedelta(days=DAY.weekday())
    week = reverse("week")
    empty = desk.get(f"{week}?from={monday + timedelta(weeks=2)}").content.decode()
    full = desk.get(f"{week}?from={monday}").content.decode()

    assert f'href="?from={monday}">Nearest week before' in empty
    assert f'href="?from={monday + timedelta(weeks=5)}">Nearest week after' in empty
    assert "Nearest week" not in full
    assert job.code in full


def test_a_job_whose_day_has_passed_is_said_to_be_overdue(
    yard: Yard, monkeypatch: pytest.MonkeyPatch
) -> None:
    """In its week, on its own pages and in the week of today; closed or cancelled it is not."""
    late, closed, off = yard.kit(), yard.kit(), yard.kit()
    yard.tariq.scan("close_kit", subject=closed.subject)
    Job.objects.filter(pk=off.job_id).update(cancelled_at=timezone.now())
    now = datetime(DAY.year, DAY.month, DAY.day, 8, tzinfo=UTC) + timedelta(weeks=2)
    monkeypatch.setattr(timezone, "now", lambda: now)
    desk, phone = Client(), Client()
    desk.force_login(yard.mona.person)
    phone.force_login(yard.tariq.person)
    then = desk.get(f"{reverse('week')}?from={DAY}").content.decode()
    today = desk.get(reverse("week")).content.decode()
    words = "overdue: the day has passed"

    assert then.count("<span>overdue: not closed</span>") == 1
    assert "nobody has closed it" not in then
    assert "nobody has closed it" in today
    assert [kit.job.code in today for kit in (late, closed, off)] == [True, False, False]
    assert phone.get("/my/").content.decode().count(words) == 1
    assert desk.get("/kits/").content.decode().count("overdue</span>") == 1
    for client, page in ((desk, "/jobs/{}/"), (phone, "/my/{}/")):
        told = [
            words in client.get(page.format(kit.job.code)).content.decode()
            for kit in (late, closed)
        ]
        assert told == [True, False]


def test_what_is_short_is_ordered_in_one_go(yard: Yard, short: Kit, supplier: Partner) -> None:
    """Each with its number as it is short, others than asked as typed; nothing typed is refused."""
    desk = Client()
    desk.force_login(yard.mona.person)
    page = desk.get(reverse("to_order")).content.decode()
    offered = dict(re.findall(r'name="(item-[0-9]+)" value="([0-9]+)"', page))
    bracket = Item.objects.get(code="CT-BRACKET")
    assert offered[f"item-{bracket.pk}"] == "3"
    order = {"supplier": supplier.pk, "promised_on": "2026-11-30", "number": "PO 7"}

    none = desk.post(reverse("to_order"), order | dict.fromkeys(offered, "0"))
    assert "Expected how many of something" in none.content.decode()
    wrong = desk.post(reverse("to_order"), order | offered | {f"item-{bracket.pk}": "two"})
    assert "expected a whole number, got &#x27;two&#x27;" in wrong.content.decode()
    assert not OrderLine.objects.exists()

    done = desk.post(reverse("to_order"), order | offered, follow=True).content.decode()

    lines = OrderLine.objects.order_by("pk")
    assert {f"item-{one.item_id}": str(one.quantity) for one in lines} == offered
    assert {(one.number, str(one.promised_on)) for one in lines} == {("PO 7", "2026-11-30")}
    assert f"3 x {bracket.name}" in done
    assert f": from {supplier} for 30 Nov 2026." in done
    assert 'name="item-' not in done

    late = desk.post(reverse("to_order"), order | offered).content.decode()
    words = f"{bracket.name}: expected nothing, as it is not short any more, got 3."
    assert words in late
    assert OrderLine.objects.count() == len(offered)


def test_the_office_closes_what_the_crew_left_open(
    yard: Yard, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Its day has passed: the rest is back, what is not ticked has its reason, then it is closed.

    Before that day only the crew does, on its own pages.
    """
    kit = yard.kit()
    for step, serial in (("pick", "S1"), ("load", "S1"), ("unbox", "S1"), ("fit", "S1")):
        more = {"position": {"stack": 1, "level": 1}} if step == "fit" else {}
        if step == "pick":
            yard.box(serial)
        yard.tariq.scan(step, yard.label(serial), **about(kit, **more))
    page = f"/jobs/{kit.job.code}/"
    on_it = datetime(DAY.year, DAY.month, DAY.day, 8, tzinfo=UTC)
    monkeypatch.setattr(timezone, "now", lambda: on_it)
    assert "Close it from here" not in Hands(yard.mona.person).begin(page).page.words
    monkeypatch.setattr(timezone, "now", lambda: on_it + timedelta(days=1))

    mona = Hands(yard.mona.person).begin(page)
    assert mona.press(f"Close {kit.code}") == "stopped", mona.said
    mona.press("Small parts were used as planned")
    mona.press("It is all back")
    for one in ticking.unanswered(kit):
        asked = {
            "kind": one.asked.key,
            "number": one.asked.stack,
            "reason": "another trade does it",
        }
        assert yard.mona.scan("tick", subject=kit.subject, **asked).verdict == "problem"
    assert mona.begin(page).press(f"Close {kit.code}") == "applied", mona.said

    assert "Close it from here" not in mona.begin(page).page.words
    kit.refresh_from_db()
    assert kit.closed_by is not None


def test_what_lacks_of_an_item_in_two_steps_is_one_number(yard: Yard, short: Kit) -> None:
    """So it is of the job and of its spares; what lies on a shelf stands before it."""
    desk = Client()
    desk.force_login(yard.mona.person)
    rows = short.lines.filter(unit="piece").values("item__code")
    twice = rows.annotate(n=Count("pk"), whole=Sum("quantity")).filter(n__gt=1)
    told = {}
    for code in twice.values_list("item__code", flat=True):
        page = desk.get(f"/kits/{short.code}/why?item={code}").content.decode()
        told[code] = re.findall("<li>([0-9]+) not in stock by the book</li>", page)

    assert told == {row["item__code"]: [str(row["whole"])] for row in twice} != {}
