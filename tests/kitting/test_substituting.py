"""What may stand for an item that is short: within its limits, by a person's hand, never silent."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest

from inventory.models import Item
from kitting import by_hand, hand_lines, sourcing, substituting, where_from
from kitting.models import HandLine, Kit, Substitute
from kitting.packing import Refused
from kitting.progress import fold
from tests.kitting.yard import DAY, Yard, about, fresh

WHY = "the wall is thick enough"


def decide(yard: Yard, **limits: Any) -> Substitute:
    """Let the long anchor stand for the short one."""
    item, instead = (Item.objects.get(code=code) for code in ("CT-ANCH75", "CT-ANCH105"))
    given = {"item": item, "instead": instead, "since": DAY - timedelta(9), "reason": WHY}
    return substituting.decide(yard.mona.person, given | limits)


def offered(kit: Kit) -> list[tuple[int, int]]:
    """(so many of the item, so many instead) that the page offers."""
    lines = where_from.lines_of(kit)
    return [(one.quantity, one.more) for line in lines for one in line.instead]


def test_a_substitute_is_offered_where_short_taken_by_hand_and_scanned_for_the_line(
    yard: Yard, kit: Kit
) -> None:
    """Short of the whole line; before it is taken a scan counts and says what may be done."""
    line = kit.lines.get(item__code="CT-ANCH75")
    yard.shelve("CT-ANCH105", line.quantity + 2)
    assert offered(kit) == []
    row = decide(yard, until=DAY)
    early = yard.wanda.scan("pick", "CT-ANCH105", quantity=1, **about(kit))
    assert early.verdict == "problem"
    assert f"it may stand for {line.item.name}, by Mona." in early.sentence
    yard.wanda.scan("undo", reverses=early.id)
    assert [(line.quantity, line.quantity)] == offered(kit)

    substituting.take(kit, line, row, line.quantity, yard.wanda.person, "the shelf is empty")

    kit = fresh(kit)
    [told] = [one for one in by_hand.beside(kit) if one.now]
    assert (told.hand.item.code, told.hand.by) == ("CT-ANCH105", yard.wanda.person)
    assert told.hand.reason == (
        f"instead of {line.item.name}, decided by Mona until 26 Nov 2026: the shelf is empty"
    )
    assert kit.changes.get().by == yard.wanda.person
    done = yard.wanda.scan("pick", "CT-ANCH105", quantity=line.quantity, **about(kit))
    assert done.verdict == "applied", done.sentence
    assert "CT-ANCH75" not in fold(kit).totals
    assert fold(kit).totals["CT-ANCH105"].to_pick == 0
    assert "CT-ANCH105" not in {one.item.code for one in sourcing.shortages(kit)}

    hand_lines.take_back(told.hand, yard.mona.person, "the short ones came")
    anchors = fresh(kit).lines.filter(item__code__startswith="CT-ANCH")
    assert [("CT-ANCH75", line.quantity)] == list(anchors.values_list("item__code", "quantity"))
    assert not HandLine.objects.filter(reverses=None, reversed_by=None).exists()


def test_each_limit_bounds_it(yard: Yard, kit: Kit, settings: Any) -> None:
    """Day, family, parts list, code of the place, purpose, how many, how many for how many."""
    line = kit.lines.get(item__code="CT-ANCH75")
    yard.shelve("CT-ANCH105", 40)
    settings.CODE = "none"
    full = [(line.quantity, line.quantity)]
    need = line.reasons[0]["need"]
    for limits, expected in (
        ({}, full),
        ({"families": ["tower"]}, full),
        ({"families": ["row"]}, []),
        ({"editions": [kit.edition.edition.isoformat()]}, full),
        ({"editions": ["2020-01-01"]}, []),
        ({"regions": ["none"]}, full),
        ({"regions": ["elsewhere"]}, []),
        ({"needs": [need]}, full),
        ({"needs": ["anchor"]}, full),
        ({"needs": ["tie stacks"]}, []),
        ({"since": DAY + timedelta(1)}, []),
        ({"until": DAY - timedelta(1)}, []),
        ({"most": 1}, [(1, 1)]),
        ({"takes": 3, "each": 2}, [(line.quantity, line.quantity * 3 // 2)]),
    ):
        row = decide(yard, **limits)
        assert expected == offered(kit), limits
        substituting.end(row, yard.mona.person, "tried")
    assert offered(kit) == []
    with pytest.raises(Refused, match="ended before"):
        substituting.end(row, yard.mona.person, "again")


def test_no_more_than_the_limit_in_one_kit_and_only_what_lies_there(yard: Yard, kit: Kit) -> None:
    """At most two a kit, taken one by one; a reason is asked; another kit's claim comes first."""
    line = kit.lines.get(item__code="CT-ANCH75")
    row = decide(yard, most=2)
    with pytest.raises(Refused, match="may not be taken here"):
        substituting.take(kit, line, row, 1, yard.wanda.person, WHY)
    yard.shelve("CT-ANCH105", 40)
    with pytest.raises(Refused, match=r"expected 1 to 2 of .*, got 3"):
        substituting.take(kit, line, row, 3, yard.wanda.person, WHY)
    with pytest.raises(Refused, match="expected a reason, got nothing"):
        substituting.take(kit, line, row, 1, yard.wanda.person, " ")
    assert not HandLine.objects.exists()

    for _ in range(2):
        kit = fresh(kit)
        now = kit.lines.get(item__code="CT-ANCH75")
        substituting.take(kit, now, row, 1, yard.wanda.person, WHY)

    kit = fresh(kit)
    assert line.quantity - 2 == kit.lines.get(item__code="CT-ANCH75").quantity
    assert kit.lines.get(item__code="CT-ANCH105").quantity == 2
    assert offered(kit) == []


def test_a_length_stands_for_another_in_one_piece(yard: Yard, kit: Kit) -> None:
    """5.2 m lack: not of two pieces of 3 m, nor of 6 m from which the kit cuts its own 3.8 m."""
    item, instead = (Item.objects.get(code=code) for code in ("CT-AC4", "CT-DATA"))
    assert [kit.lines.get(item=one).pieces for one in (item, instead)] == [[5200], [3800]]
    decide(yard, item=item, instead=instead)
    seen = []
    for mm in (3000, 3000, 6000, 5200):
        yard.wanda.scan("make_piece", "CT-DATA", target="BIN1", kind="remnant", quantity=mm)
        seen.append(offered(kit))

    assert seen == [[], [], [], [(5200, 5200)]]


def test_what_cannot_stand_for_another_is_refused_whole(yard: Yard, kit: Kit) -> None:
    """The same item, another measure, days that end before they begin, no reason: all at once."""
    item, cable = Item.objects.get(code="CT-ANCH75"), Item.objects.get(code="CT-AC4")
    with pytest.raises(Refused) as refusal:
        decide(yard, instead=cable, until=DAY - timedelta(20), reason=" ")
    assert [one.rule for one in refusal.value.reasons] == ["instead", "until", "reason"]
    with pytest.raises(Refused, match="expected another item, got the same"):
        decide(yard, instead=item)
    assert not Substitute.objects.exists()
