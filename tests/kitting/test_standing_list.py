"""What a van always carries: which lists are refused."""

import pytest

from inventory.models import Item
from kitting import standing_list
from kitting.models import Carried
from tests.kitting.yard import Yard


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
