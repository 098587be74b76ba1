"""Setting aside: a condition of a thing, wherever it stands."""

from inventory.models import Hold, HoldRelease
from inventory.queries import open_hold
from tests.firm import Firm, element_string
from tests.stories.counting_hands import Hands

MODULE = element_string("A1")
BATCH = "]C1010952123400003710LOT7"


def test_a_unit_is_set_aside_where_it_stands_and_released(shop: Firm) -> None:
    """With its reason; only a manager lets it go."""
    shop.wanda.scan("receive", MODULE, target="DOCK")
    shop.wanda.scan("set_aside", MODULE, reason="dented")
    held = open_hold(shop.unit("A1"))
    refused = shop.wanda.scan("release", MODULE)
    freed = shop.mona.scan("release", MODULE)
    again = shop.mona.scan("release", MODULE)

    assert held is not None
    assert held.reason == "dented"
    assert (refused.verdict, freed.verdict, again.verdict) == ("refused", "applied", "noted")
    assert open_hold(shop.unit("A1")) is None
    assert shop.unit("A1").place == shop.dock


def test_a_box_holds_back_what_is_in_it(shop: Firm) -> None:
    """The unit in it is set aside with it."""
    shop.wanda.scan("receive", "BOX-1", target="DOCK", **{"with": MODULE})
    shop.wanda.scan("set_aside", "BOX-1", reason="wet")

    held = open_hold(shop.unit("A1"))
    assert held is not None
    assert held.place is not None
    assert held.place.code == "BOX-1"


def test_a_batch_is_set_aside_and_released(shop: Firm) -> None:
    """By the code that names it."""
    shop.wanda.scan("receive", BATCH, target="DOCK", via="symbol")
    shop.wanda.scan("set_aside", BATCH, reason="recalled", via="symbol")
    shop.mona.scan("release", BATCH, via="symbol")

    assert Hold.objects.get().lot is not None
    assert HoldRelease.objects.count() == 1


def test_a_reason_and_a_thing_are_needed(shop: Firm) -> None:
    """A bin is no thing that could be set aside."""
    shop.wanda.scan("receive", MODULE, target="DOCK")
    silent = shop.wanda.scan("set_aside", MODULE)
    shelf = shop.wanda.scan("set_aside", "BIN1", reason="dirty")

    assert silent.sentence == "Say why it is set aside."
    assert shelf.sentence == "Scan the thing that is to be set aside."
    assert not Hold.objects.exists()


def test_the_page_sets_a_box_and_a_batch_aside_and_frees_them(shop: Firm) -> None:
    """By what is scanned or typed there; the warehouse sets aside, a manager frees."""
    shop.wanda.scan("receive", "BOX-1", target="DOCK", **{"with": MODULE})
    shop.wanda.scan("receive", BATCH, target="BIN1", via="symbol")
    wanda = Hands(shop.wanda.person).begin("/problems/")
    assert "Free that again" not in wanda.page.words
    for text in ("BOX-1", BATCH):
        assert wanda.press("Set it aside", text=text, reason="wet") == "applied", wanda.said
    assert Hold.objects.filter(release=None).count() == 2
    mona = Hands(shop.mona.person).begin("/problems/")
    for text in ("BOX-1", BATCH):
        assert mona.press("Free that again", text=text) == "applied", mona.said
    assert not Hold.objects.filter(release=None).exists()
