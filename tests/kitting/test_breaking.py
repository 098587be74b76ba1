"""When a job breaks, when what it lacks arrives, and what to order today."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest
from django.test import Client
from django.urls import reverse

from inventory import lead_times, ordering
from inventory.models import Item, OrderLine, Partner
from kitting import breaking, vans_out
from kitting.models import Job, Kit
from kitting.overviews import rows_of
from tests.kitting.yard import DAY, Yard

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
    assert page.index('<th scope="row">Van 1') < page.index('mark-of stop"></span> Will break')
