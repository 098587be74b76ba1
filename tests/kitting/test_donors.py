"""Another kit as donor: it is short from that very moment, and a manager with a reason does it."""

from __future__ import annotations

from datetime import timedelta

import pytest

from inventory.models import Holding, Item
from kitting import donors, sourcing, where_from
from kitting.models import Job, Kit
from kitting.overviews import rows_of
from kitting.progress import fold
from tests.kitting.yard import DAY, Yard, about, fresh

WHY = "leaves an hour earlier"


@pytest.fixture
def two(yard: Yard) -> tuple[Kit, Kit]:
    """A kit that lacks two modules and three brackets, and one of the day after that has them."""
    giver, taker = yard.kit(), yard.kit()
    for serial in ("S1", "S2"):
        yard.box(serial)
        yard.wanda.scan("pick", f"BOX-{serial}", **about(giver))
    yard.shelve("CT-BRACKET", 2)
    yard.wanda.scan("pick", "CT-BRACKET", quantity=2, **about(giver))
    Job.objects.filter(pk=giver.job_id).update(date=DAY + timedelta(1))
    return fresh(giver), fresh(taker)


def short(kit: Kit) -> dict[str, int]:
    return {one.item.code: one.quantity for one in sourcing.shortages(kit)}


def reasons(kit: Kit) -> str:
    [row] = rows_of(Job.objects.filter(pk=kit.job_id))
    return " ".join([row.readiness.word, *row.readiness.reasons])


def bag(kit: Kit, code: str) -> str:
    held = Holding.objects.filter(lot__item__code=code, quantity__gt=0)
    return str(held.get(place__subject=kit.subject).place.code)


def test_a_unit_goes_over_in_its_box_and_the_donor_is_short_at_once(
    yard: Yard, two: tuple[Kit, Kit]
) -> None:
    """The page offers it with what the donor loses; a scan with a reason moves it; both pages say
    so, the week too; an undo gives it back."""
    giver, taker = two
    [line] = [x for x in where_from.lines_of(taker) if x.row.line.item.code == "CT-MODULE"]
    assert (2, [giver.code]) == (line.short, [one.kit.code for one in line.donors])
    assert (line.donors[0].there, line.donors[0].free) == (2, 0)
    assert "CT-MODULE" not in short(giver)

    done = yard.mona.scan("take_over", "BOX-S1", reason=WHY, **about(taker))

    assert done.verdict == "applied", done.sentence
    assert f"from {giver.code} to {taker.code}. {giver.code} now lacks 1 x" in done.sentence
    assert (short(giver)["CT-MODULE"], short(taker)["CT-MODULE"]) == (1, 1)
    name = Item.objects.get(code="CT-MODULE").name
    assert f"{name}: 1 needed, 0 here" in reasons(giver)
    assert reasons(giver).startswith("Will break")
    [told] = donors.given(giver)
    assert (taker.code, WHY, yard.mona.person) == (told.to, told.reason, told.event.person)
    assert yard.firm.unit("S1").place.parent.subject == taker.subject
    yard.mona.scan("undo", reverses=done.id)
    assert "CT-MODULE" not in short(giver)
    assert donors.given(giver) == []


def test_a_quantity_goes_from_bag_to_bag_and_no_more_than_is_needed(
    yard: Yard, two: tuple[Kit, Kit]
) -> None:
    """Named by the donor's bag; the batch stays the batch; more than either has is stopped."""
    giver, taker = two
    start = bag(giver, "CT-BRACKET")
    before = fold(giver).totals["CT-BRACKET"].picked

    for quantity, expected in ((9, "expected at most 2"), (0, "malformed")):
        wrong = yard.mona.scan(
            "take_over", "CT-BRACKET", quantity=quantity, start=start, reason=WHY, **about(taker)
        )
        assert expected in wrong.sentence or wrong.kind == expected
    assert fold(giver).totals["CT-BRACKET"].picked == before
    done = yard.mona.scan(
        "take_over", "CT-BRACKET", quantity=1, start=start, reason=WHY, **about(taker)
    )

    assert done.verdict == "applied", done.sentence
    picked = [fold(kit).totals["CT-BRACKET"].picked for kit in two]
    assert picked == [before - 1, 1]
    assert Holding.objects.get(place__code=bag(taker, "CT-BRACKET")).quantity == 1


def test_what_may_not_be_taken_is_stopped_with_the_reason(yard: Yard, two: tuple[Kit, Kit]) -> None:
    """No reason, not packed, on the van, not needed, one of the warehouse, set aside."""
    giver, taker = two
    yard.box("FREE")

    def said(phone, text: str, reason: str = WHY, kit: Kit = taker) -> str:
        found = phone.scan("take_over", text, reason=reason, **about(kit))
        assert found.verdict in ("stopped", "refused"), found.sentence
        return str(found.sentence)

    assert "Say why it is taken" in said(yard.mona, "BOX-S1", "")
    assert "packed for no other kit. Pick it" in said(yard.mona, "BOX-FREE")
    assert "You may not do this" in said(yard.wanda, "BOX-S1")
    assert "Say from which kit" in said(yard.mona, "CT-BRACKET")
    yard.mona.scan("set_aside", "S2", reason="cracked")
    assert "set aside: cracked" in said(yard.mona, "BOX-S2")
    yard.wanda.scan("load", "BOX-S1", **about(giver))
    assert f"on its way with {giver.code}. Unload it first" in said(yard.mona, "BOX-S1")
    assert not donors.donors(taker, [Item.objects.get(code="CT-POWER")])


def test_cable_goes_over_in_the_pieces_it_is(yard: Yard) -> None:
    """3 and 6 m are packed, 5.2 m lacking: the 6 m go over whole, no two are added up.

    Where none holds it nothing moves; who gave it lacks its own piece from that moment.
    """
    giver, taker = yard.kit(), yard.kit()
    line = taker.lines.get(item__code="CT-AC4")
    assert line.pieces == [5200]
    for mm in (3000, 6000):
        yard.wanda.scan("pick", "CT-AC4", quantity=mm, **about(giver))
    start, sent = bag(giver, "CT-AC4"), {"reason": WHY, **about(taker)}
    [found] = donors.donors(taker, [line.item])[line.item_id]

    no = yard.mona.scan("take_over", "CT-AC4", start=start, quantity=3000, **sent)
    done = yard.mona.scan("take_over", "CT-AC4", start=start, **sent)

    assert (found.pieces, found.free) == ((3000, 6000), 3000)
    assert no.verdict == "stopped"
    assert "expected a piece of at least 5.2 m" in no.sentence
    assert "has 3 m and 6 m, got 3 m" in no.sentence
    assert done.verdict == "applied", done.sentence
    assert f", 6 m: from {giver.code} to {taker.code}. {giver.code} now lacks 5.2 m" in (
        done.sentence
    )
    totals = [fold(kit).totals["CT-AC4"] for kit in (giver, taker)]
    assert [(total.picked, total.to_pick) for total in totals] == [(3000, 5200), (6000, 0)]
    assert Holding.objects.get(place__code=bag(taker, "CT-AC4")).quantity == 6000
    again = yard.mona.scan("take_over", "CT-AC4", start=start, **sent)
    assert "needs no more of" in again.sentence
