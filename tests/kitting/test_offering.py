"""Which very things are offered to which kit, and what stops the others."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.utils import timezone

from inventory import charging
from inventory.layers import on_top
from inventory.models import Holding, Item, Lot, Place, Unit
from kitting import (
    as_built,
    families,
    hand_lines,
    offering,
    pinning,
    run_choice,
    sourcing,
    still_needed,
    where_from,
)
from kitting.models import AsBuilt, Kit, RunChoice
from kitting.packing import Refused
from kitting.progress import fold
from tests.kitting.yard import DAY, GTINS, TOWER, Yard, about

FIRST = date(2024, 1, 1)


@pytest.fixture
def strict(yard: Yard) -> Yard:
    """The yard by a list of today in which A bars B and a stack is made within 30 days."""
    text = TOWER.read_text(encoding="utf-8").replace("edition = 2026-11-03", "edition = 2026-11-20")
    text = text.replace('verdict = "allowed"', 'verdict = "barred"').replace(
        "days = 730", "days = 30"
    )
    made = families.load(text, "tower.toml").edition
    families.make_current(made, yard.mona.person)
    return yard


def module(yard: Yard, serial: str, day: int | None = None, revision: str = "") -> Unit:
    """A module in its box in bin 1, made so many days after the first."""
    unit = yard.box(serial, at=yard.firm.bins[0])
    unit.made_on = None if day is None else FIRST + timedelta(day)
    unit.revision = revision
    unit.save(update_fields=["made_on", "revision"])
    return unit


def offers(kit: Kit, code: str = "CT-MODULE") -> list[str]:
    """Serials offered to a kit, in the order of its list."""
    item = Item.objects.get(code=code)
    found = offering.offered(still_needed.needs([item], fold(kit)))
    return [offer.unit.serial for offer in found[kit.pk, item.pk].units]


def why_not(kit: Kit) -> dict[str, str]:
    [found] = [one for one in where_from.units_of(kit) if one.item.code == "CT-MODULE"]
    return {one.unit.serial: one.why for one in found.passed}


def lacks(kit: Kit) -> int:
    shorts = {short.item.code: short.quantity for short in sourcing.shortages(kit)}
    return shorts.get("CT-MODULE", 0)


def test_a_stack_is_offered_one_run_of_revisions_that_may_stand_together(strict: Yard) -> None:
    """Two of one revision made close; each other one says why not, and is stopped when scanned."""
    for serial, day, revision in (
        ("OLD", 0, "A"),
        ("FAR", 60, "A"),
        ("ONE", 100, "B"),
        ("TWO", 120, "B"),
        ("SIX", 110, "A"),
    ):
        module(strict, serial, day, revision)
    kit = strict.kit()

    assert offers(kit) == ["ONE", "TWO"]
    barred = "revision A: Revisions A and B may stand together"
    assert why_not(kit) == dict.fromkeys(("OLD", "FAR", "SIX"), barred)
    assert strict.wanda.scan("pick", "BOX-TWO", **about(kit)).verdict == "applied"
    stopped = strict.wanda.scan("pick", "BOX-SIX", **about(kit))
    assert stopped.verdict == "stopped"
    assert "revision A" in stopped.sentence
    assert offers(kit) == ["ONE"]


def test_made_too_far_apart_is_told_and_what_keeps_the_rule_counts_unproposed(
    strict: Yard,
) -> None:
    """Two are proposed; a third that fits with one counts at once, one of May does not."""
    for serial, day in (("A1", 0), ("A2", 5), ("A3", 20), ("MAY", 130)):
        module(strict, serial, day)
    kit = strict.kit()
    assert offers(kit) == ["A1", "A2"]

    assert strict.wanda.scan("pick", "BOX-A3", **about(kit)).verdict == "applied"
    taken = strict.wanda.scan("pick", "BOX-MAY", **about(kit))
    strict.wanda.scan("undo", reverses=taken.id)

    assert taken.verdict == "problem"
    assert taken.sentence == (
        "Box of battery module: picked. CT-MODULE MAY: made 10 May 2024, more than 30 days apart "
        "from what is packed: Modules of "
        "one stack are made at most two years apart. Take another one, if there is one."
    ).replace("CT-MODULE", kit.lines.get(item__code="CT-MODULE").item.name)
    assert offers(kit) == ["A1"]
    assert strict.wanda.scan("pick", "BOX-A2", **about(kit)).verdict == "applied"


def test_what_fills_up_goes_with_what_is_pinned_and_offered(strict: Yard) -> None:
    """Two stacks of two, one pinned: the one made half a year later goes with none of them."""
    for serial, day in (("PIN", 120), ("ONE", 100), ("TWO", 115), ("LATE", 300)):
        module(strict, serial, day)
    kit = strict.kit(strict.job(stacks=[{"modules": 2}, {"modules": 2}], gap=300))
    pinning.pin(kit, strict.firm.unit("PIN"), strict.mona.person, "the maker asked for it")

    assert sorted(offers(kit)) == ["ONE", "PIN", "TWO"]
    [found] = [one for one in where_from.units_of(kit) if one.item.code == "CT-MODULE"]
    runs = [(run.stack, run.offered, run.needed) for run in found.runs]
    assert (found.lacking, runs) == (1, [(1, 0, 1), (2, 2, 2)])
    assert "not within 30 days" in why_not(kit)["LATE"]
    for serial in ("ONE", "PIN", "TWO"):
        assert strict.wanda.scan("pick", f"BOX-{serial}", **about(kit)).verdict == "applied"
    late = strict.wanda.scan("pick", "BOX-LATE", **about(kit))
    assert (late.verdict, "days apart from" in late.sentence) == ("problem", True)
    strict.wanda.scan("undo", reverses=late.id)
    line = kit.lines.get(item__code="CT-MODULE")
    more = {"item": line.item, "step": line.step, "verb": "add", "quantity": 1}
    hand_lines.put(kit.job, **more, reason="one to spare", by=strict.mona.person)
    module(strict, "FOUR", 110)
    assert strict.wanda.scan("pick", "BOX-FOUR", **about(kit)).verdict == "applied"
    done = strict.wanda.scan("pick", "BOX-LATE", **about(kit))
    assert done.verdict == "applied", done.sentence


def test_an_expansion_goes_with_what_stands(strict: Yard) -> None:
    """What stands is of revision B and of March: only such a module is offered."""
    old = module(strict, "STANDS", 60, "B")
    strict.wanda.scan("put", "BOX-STANDS", target=strict.firm.bins[1].code)
    site = strict.site.place
    event = strict.firm.unit("STANDS").movements.first().event
    AsBuilt.objects.create(site=site, stack=1, level=1, role="unit", unit=old, since=event)
    Unit.objects.filter(pk=old.pk).update(place=as_built.stack_place(site, 1))
    for serial, day, revision in (("WRONG", 61, "A"), ("LATE", 100, "B"), ("FITS", 80, "B")):
        module(strict, serial, day, revision)
    job = strict.job(job="expansion", stacks=[{"modules": 2}], before={"stacks": [{"modules": 1}]})
    kit = strict.kit(job)

    assert offers(kit) == ["FITS"]
    told = why_not(kit)
    assert told["WRONG"] == "revision A: Revisions A and B may stand together"
    assert "more than 30 days apart from what stands there" in told["LATE"]


def test_an_earlier_claim_keeps_its_own_and_a_pin_keeps_one_for_its_kit(yard: Yard) -> None:
    """Nothing is offered twice; a pinned one is offered to its kit alone; another's scan tells."""
    for number in range(5):
        module(yard, f"S{number}", number)
    first, second = yard.kit(), yard.kit()
    assert (offers(first), offers(second)) == (["S0", "S1"], ["S2", "S3"])

    pin = pinning.pin(second, yard.firm.unit("S0"), yard.mona.person, "the maker asked for it")

    assert "S0" in offers(second)
    assert not set(offers(first)) & set(offers(second))
    taken = yard.wanda.scan("pick", "BOX-S0", **about(first))
    assert taken.verdict == "problem"
    assert f"kept for {second.code}: the maker asked for it" in taken.sentence
    yard.wanda.scan("undo", reverses=taken.id)
    assert f"kept for {second.code}: the maker asked for it" == why_not(first)["S0"]
    with pytest.raises(Refused, match=r"pinned to .*Why: expected a reason"):
        pinning.pin(first, yard.firm.unit("S0"), yard.mona.person, " ")
    pinning.take_out(pin, yard.mona.person, "no longer")
    assert offers(first) == ["S0", "S1"]
    with pytest.raises(Refused, match="taken out before"):
        pinning.take_out(pin, yard.mona.person, "again")


def test_what_is_due_first_comes_first_and_what_is_overdue_never(yard: Yard) -> None:
    """Power units have no window: by the day on which they have to be charged."""
    item = Item.objects.get(code="CT-POWER")
    charging.set_rule(item, up_to_c=35, days=200, recharges=None, years=None, source="manual p. 9")
    for serial, on in (("P1", "2026-10-01"), ("P2", "2026-07-01"), ("P3", "2026-01-01")):
        yard.box(serial, "CT-POWER", yard.firm.bins[0])
        yard.wanda.scan("charged", serial, kind=on)
    kit = yard.kit()

    assert offers(kit, "CT-POWER") == ["P2"]
    [found] = [one for one in where_from.units_of(kit) if one.item == item]
    assert [one.unit.serial for one in found.passed] == ["P3"]
    assert "has had to be charged since" in found.passed[0].why

    back = Place.objects.create(
        kind="bin", code="BACK", name="Came back", parent=yard.firm.dock, purpose="returns"
    )
    yard.box("P4", "CT-POWER", back)
    [found] = [one for one in where_from.units_of(kit) if one.item == item]
    told = {one.unit.serial: one.why for one in found.passed}
    assert told["P4"] == "came back, and nobody has looked at it yet"


def test_the_bin_tells_what_lies_on_top(yard: Yard) -> None:
    """Put in one after another: two came after the first, none after the last."""
    units = [module(yard, f"S{number}", number) for number in range(3)]
    yard.box("ELSE", at=yard.firm.bins[1])

    assert on_top(units) == {units[0].pk: 2, units[1].pk: 1, units[2].pk: 0}
    yard.wanda.scan("put", "BOX-S0", target=yard.firm.bins[1].code)
    yard.wanda.scan("put", "BOX-S0", target=yard.firm.bins[0].code)
    assert on_top(units) == {units[0].pk: 0, units[1].pk: 2, units[2].pk: 1}


def test_no_run_is_whole_says_so_and_lacks_what_keeps_apart(strict: Yard) -> None:
    """Two modules a year apart make no stack: one is offered, one is short, and the week knows."""
    module(strict, "Y1", 0)
    module(strict, "Y2", 400)
    kit = strict.kit()
    [found] = [one for one in where_from.units_of(kit) if one.item.code == "CT-MODULE"]

    assert (offers(kit), lacks(kit)) == (["Y1"], 1)
    assert [(r.stack, r.needed, r.offered, r.whole) for r in found.runs] == [(1, 2, 1, False)]
    assert why_not(kit)["Y2"].startswith("made 4 Feb 2025: not within 30 days with those offered")
    module(strict, "UNREAD")
    assert offers(kit) == ["Y1", "UNREAD"]
    assert lacks(kit) == 0
    [stop] = [s for s in sourcing.sources(kit)[kit.lines.get(item__code="CT-MODULE").pk] if s.note]
    assert stop.note == "nobody read when it was made: look at its label"


def test_the_firm_chooses_between_oldest_first_and_most_stacks(strict: Yard) -> None:
    """Three of January and one of February: a stack of three, or the stack of two and a reason."""
    for number, day in enumerate((0, 1, 2, 3, 4)):
        module(strict, f"S{number}", day)
    big = strict.kit(strict.job(stacks=[{"modules": 5}]))
    small, other = strict.kit(), strict.kit()

    assert run_choice.in_force() is None
    [both] = run_choice.side_by_side()
    told = {way.way: (way.whole, [s.kit for s in way.stacks if s.whole]) for way in both.ways}
    assert {"oldest": (1, [big.code]), "most": (2, [small.code, other.code])} == told
    assert [0, (timezone.now().date() - FIRST).days - 4] == [way.age_left for way in both.ways]
    assert len(offers(big)) == 5
    with pytest.raises(Refused, match="expected a reason"):
        run_choice.set_way("most", strict.mona.person, "")
    with pytest.raises(Refused, match="expected oldest or most, got 'best'"):
        run_choice.set_way("best", strict.mona.person, "why not")

    run_choice.set_way("most", strict.mona.person, "two houses wait")

    assert RunChoice.objects.get().by == strict.mona.person
    assert (offers(small), offers(other)) == (["S0", "S1"], ["S2", "S3"])
    assert offers(big) == ["S4"]


def test_a_batch_that_expires_before_the_job_is_not_counted_on(yard: Yard) -> None:
    """Sealant that keeps until the day before is no stock for the job, nor walked to."""
    kit = yard.kit(yard.job(place="garage", vehicle="none"))
    line = kit.lines.get(item__code="CT-SEALANT")
    for number, days in (("OLD", -1), ("NEW", 30)):
        lot = Lot.objects.create(
            item=line.item, number=number, key=number, expires_on=DAY + timedelta(days)
        )
        Holding.objects.create(place=yard.firm.bins[0], lot=lot, quantity=line.quantity // 2)

    parts = [(s.kind, s.lot.number if s.lot else "") for s in sourcing.sources(kit)[line.pk]]
    short = {one.item.code: one.quantity for one in sourcing.shortages(kit)}

    assert parts == [("shelf", "NEW"), ("short", "")]
    assert line.quantity - line.quantity // 2 == short["CT-SEALANT"]


def test_what_the_label_says_is_taken_at_goods_in_or_entered_and_undone(yard: Yard) -> None:
    """The day from the code of the box, the revision from the print; an undo forgets it again."""
    label = f"]C101{GTINS['CT-MODULE']}1124031021GS1"
    done = yard.wanda.scan("receive", "BOX-GS1", target="DOCK", **{"with": label})
    assert done.verdict == "applied", done.sentence
    assert yard.firm.unit("GS1").made_on == date(2024, 3, 10)

    for wrong, words in (
        ({}, "Say when it was made"),
        ({"kind": "10.3.24"}, "expected 2026-11-25, got 10.3.24"),
        ({"kind": "2030-01-01"}, "still to come"),
        ({"reason": "x" * 21}, "at most 20 characters"),
    ):
        stopped = yard.wanda.scan("label_says", "GS1", **wrong)
        assert stopped.verdict == "stopped"
        assert words in stopped.sentence
    for revision in ("A", "B"):
        said = yard.wanda.scan("label_says", "BOX-GS1", kind="2024-03-11", reason=revision)
        assert said.sentence.endswith(f"GS1: made 11 Mar 2024, revision {revision}.")
    last = said.id
    yard.wanda.scan("undo", "", reverses=last)
    assert yard.firm.unit("GS1").revision == "A"
