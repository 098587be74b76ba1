"""What a van always carries: which lists are refused, what an older kit keeps of it."""

import pytest

from inventory.models import CartonContent, Item
from kitting import standing_list
from kitting.models import Carried
from tests.kitting.yard import DAY, Yard, about


@pytest.mark.parametrize(
    ("code", "least", "up_to", "said"),
    [
        ("CT-BRACKET", 3, 2, "got 3 up to 2"),
        ("CT-BRACKET", -1, 2, "got -1 up to 2"),
        ("CT-BRACKET", 0, standing_list.MOST + 1, f"got 0 up to {standing_list.MOST + 1}"),
        ("CT-MODULE", 1, 1, "expected a tool or what is followed by number or batch"),
    ],
)
def test_a_list_that_cannot_be_is_refused(
    yard: Yard, code: str, least: int, up_to: int, said: str
) -> None:
    """Levels the wrong way round, below nothing, beyond all reason; a thing with a serial."""
    item, mona = Item.objects.get(code=code), yard.mona.person

    with pytest.raises(standing_list.ListError, match=said):
        standing_list.tell(yard.firm.van, item, least, up_to, mona)
    with pytest.raises(standing_list.ListError, match="expected a van, got"):
        standing_list.tell(yard.firm.bins[0], item, 1, 2, mona)
    assert not Carried.objects.exists()


def test_an_older_kit_keeps_its_part_of_the_van(yard: Yard) -> None:
    """What is in its bag counts once; boxes and a site of two kits free nothing for the next.

    Nor does what is missing: it may take that anew from the van.
    """
    code, van = "CT-BRACKET", yard.firm.van
    item = Item.objects.get(code=code)
    yard.shelve(code, 20)
    first = yard.kit()
    asked = sum(line.quantity for line in first.lines.filter(item=item))
    second = yard.kit()
    move = {"from": yard.firm.bins[0].code}
    there = 2 * asked
    assert (
        yard.wanda.scan("put", code, quantity=there, target=van.code, **move).verdict == "applied"
    )

    yard.wanda.scan("pick", code, quantity=1, **about(first))
    assert standing_list.free_for(second, [item.pk]) == {item.pk: there - (asked - 1)}

    module = Item.objects.get(code="CT-MODULE")
    CartonContent.objects.create(box_of=module, item=item, quantity=1, since=DAY)
    yard.shelve(code, 1, at=yard.site.place)
    assert standing_list.free_for(second, [item.pk]) == {item.pk: there - (asked - 1)}

    assert yard.tariq.scan("missing", code, quantity=1, **about(first)).verdict == "problem"
    assert standing_list.free_for(second, [item.pk]) == {item.pk: there - asked}
