"""The cuts of a day: pieces of all its kits, from the sticks that lie there, once."""

from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse

from inventory.models import Item
from kitting import cut_drawing, cut_plan
from kitting.models import Job, Kit
from kitting.plan import day_cuts
from tests.busy import comes_later
from tests.kitting.test_lengths import kept, line_of
from tests.kitting.yard import DAY, Yard


@pytest.fixture
def two(yard: Yard, kit: Kit) -> list[Kit]:
    """Two kits of one day, each with one piece of the same cable."""
    return [kit, yard.kit(yard.job(ac_run=4800))]


def test_the_day_s_pieces_come_from_the_sticks_that_lie_there(yard: Yard, two: list[Kit]) -> None:
    """Two pieces, of some 4.5 m and 5.1 m: a remnant that holds both is used up before
    a new reel is opened, where each kit alone would take another."""
    pieces = [line_of(one, "CT-AC4").pieces[0] for one in two]
    yard.shelve("CT-AC4", 50_000)
    both = kept(yard, "CT-AC4", sum(pieces), 1)
    kept(yard, "CT-AC4", pieces[0] + 600, 2)

    (one,) = [one for one in cut_plan.asked(DAY) if one.item.code == "CT-AC4"]
    assert [(piece.mm, piece.kit) for piece in one.pieces] == sorted(
        zip(pieces, two, strict=True), key=lambda pair: -pair[0]
    )
    cuts = cut_plan.worked_out(one, DAY)
    (stick,) = cuts.sticks
    assert stick.stick.spot.lot == both
    assert (stick.left, len(stick.pieces), cuts.missing) == (0, 2, ())
    assert (cuts.plan.cost, cuts.plan.within) == (0, 0)


def test_a_rest_is_scrap_or_goes_back_and_nothing_is_a_sum(yard: Yard, two: list[Kit]) -> None:
    """One piece fits a remnant and leaves too little to keep; the other fits nothing."""
    pieces = [line_of(one, "CT-AC4").pieces[0] for one in two]
    kept(yard, "CT-AC4", min(pieces) + 100)
    kept(yard, "CT-AC4", min(pieces) - 100, 1)

    (one,) = [one for one in cut_plan.asked(DAY) if one.item.code == "CT-AC4"]
    cuts = cut_plan.worked_out(one, DAY)
    assert [(s.left, s.useful) for s in cuts.sticks] == [(100, False)]
    assert [piece.mm for piece in cuts.missing] == [max(pieces)]


def test_what_earlier_days_still_cut_is_gone(yard: Yard, two: list[Kit]) -> None:
    """A kit of the day before takes the only stick; other days and closed kits take nothing."""
    first, second = two
    Job.objects.filter(pk=first.job_id).update(date=DAY - timedelta(days=1))
    kept(yard, "CT-AC4", line_of(second, "CT-AC4").pieces[0] + 10)

    (one,) = [one for one in cut_plan.asked(DAY) if one.item.code == "CT-AC4"]
    assert [piece.kit for piece in one.pieces] == [second]
    cuts = cut_plan.worked_out(one, DAY)
    assert [piece.kit for piece in cuts.missing] == [second]


def test_bars_are_drawn_to_one_scale_and_a_reel_is_cut_off() -> None:
    """4 m fill the width; a reel of 100 m is drawn to half as much beyond what is cut from it."""
    short, reel = cut_drawing.bars([(4000, [1000, 2000]), (100_000, [1600])])
    assert (short.width, short.rest, short.broken) == (640, 160, False)
    assert (reel.width, reel.rest, reel.broken) == (384, 128, True)
    assert [(cut.x, cut.width, cut.number) for cut in short.cuts] == [(0, 160, 1), (160, 320, 2)]


def test_the_page_shows_each_plan_and_how_sure_it_is(yard: Yard, two: list[Kit]) -> None:
    """At first what is cut, then each item's own plan; a strange item or day is not there, and of
    what is not cut on the day the page says so."""
    label = kept(yard, "CT-AC4", 30_000).number
    wanda, where = Client(), reverse("day_cuts")
    wanda.force_login(yard.wanda.person)
    page = wanda.get(where, {"day": str(DAY)}).content.decode()
    cable = Item.objects.get(code="CT-AC4")
    alone = comes_later(wanda, where, page, f"cut-{cable.pk}")
    assert f"Remnant {label}, 30 m" in alone
    assert "Proven: no plan is better." in alone
    assert all(reverse("kit_pick", args=[one.code]) in alone for one in two)
    assert day_cuts.weights().useful == 1500
    shelf = Item.objects.get(code="CT-SHELF")
    none = wanda.get(where, {"day": str(DAY), "item": shelf.code}).content.decode()
    assert f'id="cut-{shelf.pk}"><p>Nothing of {shelf.name} is cut on this day any more' in none
    for asked in ({"day": str(DAY), "item": "CT-NONE"}, {"day": "soon"}, {"day": "9999-12-31"}):
        assert wanda.get(where, asked).status_code == 404
